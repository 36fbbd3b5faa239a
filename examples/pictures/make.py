"""
Makes the pictures of README.md: what the program prints of the demo, on light and on dark ground.

    python examples/pictures/make.py
"""

import io
import os
import subprocess
import sys
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

FOLDER = Path(__file__).resolve().parent
ROOT = FOLDER.parent.parent
COLUMNS = 88
# Name of the picture -> the command.
SHOWN = {
    "may-fill": "cylfile may-fill 106 --as-of 2026-11-25 examples/faulty",
    "briefing": "cylfile briefing --as-of 2026-11-25 examples/faulty",
}
_ANSI = ((0, 0, 0), (200, 16, 46), (0, 122, 51), (200, 140, 0), (0, 87, 184), (140, 60, 140), (0, 120, 130))
THEMES = {
    "light": TerminalTheme((255, 255, 255), (36, 36, 36), [*_ANSI, (120, 120, 120)]),
    "dark": TerminalTheme((28, 28, 28), (208, 208, 208), [*_ANSI, (160, 160, 160)]),
}
# One screen and nothing round it: no frame of a window, and no letters from elsewhere.
_SVG = """\
<svg xmlns="http://www.w3.org/2000/svg" width="{terminal_width}" height="{terminal_height}" viewBox="0 0 {terminal_width} {terminal_height}" role="img">
<style>
.{unique_id}-matrix {{ font-family: ui-monospace, Menlo, Consolas, "DejaVu Sans Mono", monospace; font-size: {char_height}px; line-height: {line_height}px; }}
{styles}
</style>
<defs><clipPath id="{unique_id}-clip-terminal"><rect width="100%" height="100%"/></clipPath>
{lines}
</defs>
<rect width="100%" height="100%" rx="8" fill="GROUND" stroke="#888888"/>
<g transform="translate(10, 8)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""


def printed(command: str) -> str:
    """What a command prints in color, after the command itself; without the commit, which is another every day."""
    words = [sys.executable, "-m", *command.split(), "--color", "always"]
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": str(COLUMNS), "TERM": "xterm-256color", "COLORTERM": "truecolor",
        "PYTHONIOENCODING": "utf-8",
    }  # fmt: skip
    done = subprocess.run(words, capture_output=True, cwd=ROOT, env=environment, encoding="utf-8", check=False)
    said = done.stdout.rstrip("\n")
    last = Text.from_ansi(said).plain.find("\ncylfile ")
    lines = said.split("\n")
    kept = lines if last < 0 else lines[: Text.from_ansi(said).plain[: last + 1].count("\n")]
    return "\n".join([f"$ {command}", *kept])


def picture(name: str, theme: str, said: str) -> str:
    """What was printed, as an SVG that loads nothing from elsewhere."""
    console = Console(
        record=True,
        width=COLUMNS + 2,
        file=io.StringIO(),
        force_terminal=True,
        color_system="truecolor",
        legacy_windows=False,
    )
    console.print(Text.from_ansi(said), "", sep="\n", soft_wrap=True)
    ground = "#{:02x}{:02x}{:02x}".format(*THEMES[theme].background_color)
    text = console.export_svg(theme=THEMES[theme], code_format=_SVG.replace("GROUND", ground), unique_id=name)
    return "\n".join(line.rstrip() for line in text.split("\n") if line.strip()) + "\n"


def main() -> None:
    for name, command in SHOWN.items():
        said = printed(command)
        for theme in THEMES:
            (FOLDER / f"{name}-{theme}.svg").write_text(picture(name, theme, said), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
