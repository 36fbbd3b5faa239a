"""
The program `cylfile`: finds the command that was asked for, runs it, and gives its exit status.

Status 0 is nothing found, 1 something found, 2 that the job could not be done. A user is never
shown a traceback. `--version` is answered before anything else is imported.
"""

import gc
import os
import sys

from cylfile import __version__

# What shells give for a program that was stopped by the end of its pipe or by Ctrl-C.
BROKEN_PIPE = 141
INTERRUPTED = 130
CANNOT = 2


def program() -> int:
    """Be the process that ends with `main`: what it leaves behind is not looked through for garbage once more."""
    status = main()
    gc.freeze()
    return status


def main(argv: list[str] | None = None) -> int:
    """Run the program with the arguments after its name, those of the process by default; its exit status."""
    try:
        status = _run(sys.argv[1:] if argv is None else argv)
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except BrokenPipeError:
        _abandon_output()
        return BROKEN_PIPE
    except KeyboardInterrupt:
        _abandon_output()
        return INTERRUPTED
    except Exception as trouble:
        _abandon_output()
        if os.environ.get("CYLFILE_DEBUG"):
            import traceback

            for line in traceback.format_exc().rstrip("\n").split("\n"):
                _say(line)
        _say(_words_for(trouble))
        return CANNOT


def _run(arguments: list[str]) -> int:
    if arguments == ["--version"]:
        print(f"cylfile {__version__}")
        return 0
    from cylfile.command_line.registry import find_command, overview

    # Whatever the terminal cannot write is written as an escape, in place of a failure halfway.
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    if not arguments or arguments[0] in ("-h", "--help") or arguments == ["help"]:
        print(overview(), end="")
        if not arguments:
            _say("no command was given; name one of those above")
        return 0 if arguments else CANNOT
    if arguments[0] == "help":
        arguments = [arguments[1], "--help"]
    command = find_command(arguments[0])
    try:
        return command.run(arguments[1:])
    except SystemExit as end:
        # That is how argparse ends after it has printed the help of a command.
        return int(end.code or 0)


def _words_for(trouble: Exception) -> str:
    """One line that says what to do about what went wrong."""
    from cylfile.cannot import CannotDo

    if isinstance(trouble, CannotDo):
        return str(trouble)
    if isinstance(trouble, OSError) and trouble.strerror:
        where = f" ({trouble.filename})" if trouble.filename else ""
        return f"the system says: {trouble.strerror.lower()}{where}; correct that and run it again"
    kind = type(trouble).__name__
    return f"a fault of the program ({kind}); please report it, with the command and what CYLFILE_DEBUG=1 prints"


def _say(text: str) -> None:
    from cylfile.show.visible import visible

    if sys.stderr is not None:
        try:
            print(f"cylfile: {visible(text)}", file=sys.stderr, flush=True)
        except OSError:
            # Nobody is there to be told; the exit status still says it.
            pass


def _abandon_output() -> None:
    """Let what is not yet written to standard output go nowhere, so that ending does not fail on it again."""
    try:
        sys.stdout.flush()
    except (OSError, AttributeError, ValueError):
        try:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except (OSError, AttributeError, ValueError):
            # There is no such stream at all.
            pass


if __name__ == "__main__":
    sys.exit(program())
