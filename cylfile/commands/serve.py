"""
`cylfile serve`: the language server, on standard input and output.
"""

from cylfile.cannot import CannotDo, extra_missing
from cylfile.command_line.options import Options

_PURPOSE = "Answer an editor in the language server protocol, on standard input and output."


def run(arguments: list[str]) -> int:
    make_options().read(arguments)
    try:
        from cylfile.server.serving import serve
    except ModuleNotFoundError as missing:
        if missing.name and missing.name.split(".")[0] in ("pygls", "lsprotocol", "attrs", "cattrs"):
            raise CannotDo(extra_missing("`serve`", "editor")) from None
        raise
    return serve()


def make_options() -> Options:
    options = Options("serve", _PURPOSE, "Editors start this by themselves; see the folder editors of the project.")
    options.add_argument("--stdio", action="store_true", help="said by some editors; it is the only way there is")
    return options
