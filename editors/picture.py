"""
Makes `picture.svg`: what a record looks like in Neovim with the files of this folder and `cylfile serve`.

    python editors/picture.py

It needs tmux and a Neovim of 0.11 or later, `nvim` or that of .ci/editors, and cylfile with its extra
`editor`. The picture is the editor's own screen, written down character by character.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from html import escape
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
ROOT = FOLDER.parent
RECORD, FILE, FIRST_LINE, ON_NAME = ROOT / "examples" / "faulty", "2024.cyl", 27, (37, 11)
COLUMNS, ROWS = 112, 27
WIDTH, HEIGHT, MARGIN = 8.0, 17, 10
BACKGROUND, FOREGROUND = "#1c1c1c", "#bcbcbc"

SCRIPT = """
vim.o.termguicolors = true
vim.cmd("colorscheme habamax")
vim.o.number = true
vim.o.wrap = false
vim.o.laststatus = 0
vim.o.ruler = false
vim.o.cmdheight = 0
vim.o.shortmess = vim.o.shortmess .. "FI"
vim.g.cylfile_command = { "%(python)s", "-m", "cylfile" }
vim.cmd("set runtimepath^=%(folder)s/vim,%(folder)s/neovim")
vim.cmd("syntax on | filetype plugin on | runtime! plugin/cylfile.lua ftdetect/cylfile.vim")
vim.diagnostic.config({ virtual_text = { prefix = "-", format = function(each) return each.message:match("^[^\\n]*") end } })
vim.cmd("edit %(file)s")
vim.defer_fn(function()
  vim.fn.cursor(%(first)d, 1)
  vim.cmd("normal! zt")
  vim.fn.cursor(%(line)d, %(column)d)
  vim.lsp.buf.hover()
end, 9000)
"""


def screen() -> str:
    """What Neovim shows, with its colors as escapes."""
    neovim = shutil.which("nvim", path=ROOT / ".venv-editors" / "bin") or shutil.which("nvim")
    line, column = ON_NAME
    with tempfile.TemporaryDirectory() as name:
        script, socket = Path(name) / "show.lua", f"{name}/tmux"
        script.write_text(
            SCRIPT
            % {
                "python": sys.executable,
                "folder": FOLDER,
                "file": FILE,
                "first": FIRST_LINE,
                "line": line,
                "column": column,
            }
        )
        (Path(name) / "tmux.conf").write_text(
            'set -g default-terminal "tmux-256color"\nset -as terminal-features ",*:RGB"\n'
        )
        tmux = ["tmux", "-S", socket, "-f", f"{name}/tmux.conf"]
        shell = (
            f"stty rows {ROWS} cols {COLUMNS}; cd {RECORD} && exec {neovim} -u NONE -i NONE -n -c 'luafile {script}'"
        )
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "COLORTERM": "truecolor", "LC_ALL": "C.UTF-8"}
        start = [*tmux, "new-session", "-d", "-x", str(COLUMNS), "-y", str(ROWS), shell]
        subprocess.run(start, check=True, env=environment)
        try:
            time.sleep(16)
            return subprocess.run(
                [*tmux, "capture-pane", "-peN"], capture_output=True, check=True, encoding="utf-8"
            ).stdout
        finally:
            subprocess.run([*tmux, "kill-server"], check=False)


def runs(text: str):
    """(row, column, text, foreground, background, classes) of each stretch of a screen that looks the same."""
    fore, back, marks = None, None, set()
    for row, line in enumerate(text.split("\n")[:ROWS]):
        column = 0
        for part in re.split("(\x1b\\[[0-9;:]*m)", line):
            if not part.startswith("\x1b["):
                if part:
                    yield row, column, part, fore, back, frozenset(marks)
                column += len(part)
                continue
            codes = part[2:-1].replace("38:2::", "38;2;").split(";")
            while codes:
                code = codes.pop(0)
                if code in ("", "0"):
                    fore, back, marks = None, None, set()
                elif code in ("38", "48") and codes[:1] == ["2"]:
                    color = "#{:02x}{:02x}{:02x}".format(*map(int, codes[1:4]))
                    codes = codes[4:]
                    fore, back = (color, back) if code == "38" else (fore, color)
                elif code in ("39", "49"):
                    fore, back = (None, back) if code == "39" else (fore, None)
                elif code in ("1", "3", "4", "9"):
                    marks.add(code)
                elif code in ("22", "23", "24", "29"):
                    marks.discard({"22": "1", "23": "3", "24": "4", "29": "9"}[code])


_STYLES = {
    "1": "font-weight:bold",
    "3": "font-style:italic",
    "4": "text-decoration:underline",
    "9": "text-decoration:line-through",
}


def picture(text: str) -> str:
    """The screen as an SVG that loads nothing from elsewhere."""
    width, height = COLUMNS * WIDTH + 2 * MARGIN, ROWS * HEIGHT + 2 * MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" font-size="13.3" fill="{FOREGROUND}" '
        "font-family=\"ui-monospace, SFMono-Regular, Menlo, Consolas, 'DejaVu Sans Mono', monospace\">",
        "<title>A record with findings and a hover, in Neovim</title>",
        f'<rect width="100%" height="100%" rx="6" fill="{BACKGROUND}"/>',
    ]
    for row, column, piece, fore, back, marks in runs(text):
        left, top = MARGIN + column * WIDTH, MARGIN + row * HEIGHT
        if back and back != BACKGROUND:
            parts.append(
                f'<rect x="{left:g}" y="{top}" width="{len(piece) * WIDTH:g}" height="{HEIGHT}" fill="{back}"/>'
            )
        if piece.strip():
            indent = len(piece) - len(piece.lstrip())
            style = ";".join(_STYLES[mark] for mark in sorted(marks))
            parts.append(
                f'<text x="{left + indent * WIDTH:g}" y="{top + 13}" textLength="{len(piece.strip()) * WIDTH:g}"'
                + (f' fill="{fore}"' if fore else "")
                + (f' style="{style}"' if style else "")
                + f' xml:space="preserve">{escape(piece.strip())}</text>'
            )
    return "\n".join([*parts, "</svg>"]) + "\n"


if __name__ == "__main__":
    (FOLDER / "picture.svg").write_text(picture(screen()), encoding="utf-8")
