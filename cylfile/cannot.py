"""
When a command cannot do its job: a wrong option, a file that is not there, nothing to read.
"""


class CannotDo(Exception):
    """
    The job cannot be done, for a reason outside the record; exit status 2.

    The message is one line that says what is wrong and what to do. A record that is wrong is
    never a reason: that is what findings are for.
    """


def extra_missing(what: str, extra: str) -> str:
    """What to do where the libraries that `what` needs are not installed, which an `extra` of the package brings."""
    return (
        f'{what} needs the extra `{extra}`; install the program once more, with ".[{extra}]" for "." as README.md says'
    )
