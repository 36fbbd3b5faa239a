"""
What git has to be told so that it shows changes of a record in plain forms, with the cylinder in their headings.
"""

# For the file .gitattributes, which is kept with the record. `merge=text` says that two branches
# are merged line by line and that where they meet somebody has to look: see `merge=union` in the
# manual of git for what is asked for instead, and why not to.
ATTRIBUTES = "*.cyl  text  diff=cylfile  merge=text"

# For the configuration of each clone, since git takes no programs to run from a repository.
CONFIGURATION = {
    # What is compared in place of the file itself.
    "diff.cylfile.textconv": "cylfile plain",
    # What heads a hunk, and what `git log -L :K-1:FILE` looks for: any line that begins a block.
    "diff.cylfile.xfuncname": "^([a-z].*)$",
    # What is one word for `git diff --word-diff`: a text in quotation marks is.
    "diff.cylfile.wordRegex": '"([^"\\\\]|\\\\.)*"|[^[:space:]]+',
}


def setup_lines() -> list[str]:
    """The lines to put into .gitattributes, and the commands to run once in each clone, for a shell."""
    commands = (f"git config {key} {_quoted(value)}" for key, value in CONFIGURATION.items())
    return ["# In .gitattributes, kept with the record:", ATTRIBUTES, "# Once in each clone:", *commands]


def _quoted(value: str) -> str:
    return "'" + value.replace("'", "'\\''") + "'"
