"""
README.md is true, and so are the pages for auditors and for a file in a mess: what they show is what happens.

A fenced block of `cyl NAME` or `csv NAME` is a file; one of `console` is a session, whose lines with `$` are
commands and whose other lines are what they print, `...` for any lines. Each section of the
page has a folder of its own.
"""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "README.md").read_text(encoding="utf-8")


def sections() -> list[tuple[str, list[tuple[str, str]]]]:
    """(heading, [(what the fence says, text)]) of every section with something to run."""
    found = []
    others = ((ROOT / "grammar" / name).read_text(encoding="utf-8") for name in ("AUDITORS.md", "MESS.md"))
    for part in (part for page in (PAGE, *others) for part in re.split("^## ", page, flags=re.MULTILINE)[1:]):
        fences = re.findall("^```(console|(?:cyl|csv) [^\n]+)\n(.*?)^```$", part, flags=re.MULTILINE | re.DOTALL)
        if any(kind == "console" for kind, _ in fences):
            found.append((part.split("\n", 1)[0], fences))
    return found


@pytest.fixture
def shell(tmp_path):
    """Runs a command in a folder of its own, with the program on its path and the demo beside it."""
    programs = tmp_path / "bin"
    programs.mkdir()
    program = programs / "cylfile"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m cylfile "$@"\n')
    program.chmod(0o755)
    (tmp_path / "work").mkdir()
    shutil.copytree(ROOT / "examples", tmp_path / "work" / "examples")
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith(("CYLFILE", "GIT_", "XDG_"))},
        "PATH": f"{programs}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "HOME": str(tmp_path),
        "LC_ALL": "C.UTF-8",
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_AUTHOR_NAME": "R. Keeper",
        "GIT_AUTHOR_EMAIL": "keeper@department.example",
        "GIT_COMMITTER_NAME": "R. Keeper",
        "GIT_COMMITTER_EMAIL": "keeper@department.example",
    }

    def run(command: str) -> str:
        if command.startswith("cd "):
            run.folder /= command.removeprefix("cd ")
            return ""
        done = subprocess.run(
            ["bash", "-c", command], cwd=run.folder, env=environment, capture_output=True, text=True, timeout=120
        )
        assert "Traceback" not in done.stderr
        return done.stdout + done.stderr

    run.folder = tmp_path / "work"
    return run


@pytest.mark.parametrize("heading, fences", sections(), ids=lambda value: value if isinstance(value, str) else "")
def test_what_the_page_shows_is_what_happens(heading, fences, shell):
    for kind, text in fences:
        if kind == "console":
            for command, expected in re.findall("^\\$ (.*)\n((?:(?!\\$ ).*\n)*)", text, flags=re.MULTILINE):
                assert_shows(shell(command), expected, command)
        else:
            (shell.folder / kind.split(" ", 1)[1]).write_text(text, encoding="utf-8")


def assert_shows(printed: str, expected: str, command: str) -> None:
    """Whether `printed` is what the page shows, line by line; `...` stands for any lines."""
    lines = [
        re.escape(line.rstrip()) + "[ ]*\n" if line.strip() != "..." else "(?:.*\n)*?"
        for line in expected.split("\n")[:-1]
    ]
    assert re.fullmatch("".join(lines), printed), f"$ {command}\nprinted:\n{printed}\nthe page shows:\n{expected}"


def test_the_page_opens_with_the_job_and_two_commands():
    opening = PAGE.split("\n## ")[0]
    assert opening.count("```") == 4 and "checks the record, not the cylinder" in opening


def test_continuous_integration_runs_the_command_of_the_page():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "README.md" in script and "pip install" not in script
    command = re.search("<!-- test command -->\n```\n(.*)\n```\n<!-- end -->", PAGE).group(1)
    assert command in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_what_is_to_be_installed_is_the_program_of_this_folder_with_extras_that_it_has():
    pages = [PAGE, *(page.read_text(encoding="utf-8") for page in sorted((ROOT / "editors").rglob("*.md")))]
    pages += [file.read_text(encoding="utf-8") for file in sorted((ROOT / "cylfile").rglob("*.py"))]
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    # An index may have something else by the name of the program.
    assert [page for page in pages if "install cylfile" in page] == []
    named = {extra for page in pages for list_ in re.findall(r'"\.\[([a-z,]+)\]"', page) for extra in list_.split(",")}
    assert named >= {"editor", "excel", "pages", "test"} and named <= extras.keys()


def test_the_page_is_short_and_what_it_links_to_is_there():
    assert PAGE.count("\n") <= 250
    links = re.findall(r"\]\(([^)#:]+)\)", PAGE)
    assert len(links) > 4 and [link for link in links if not (ROOT / link).exists()] == []
