"""The syntax files, settings and the compiler by Vim and Neovim themselves."""

import os
import shutil
import stat
import subprocess

import pytest

from support.editor_corpus import EDITORS, FOLDER, check, rows, write_sample

LETTER = {
    "Comment": "#", "Header": "k", "RecordHeader": "k", "Property": "p", "Verb": "v", "Value": "w", "Level": "w",
    "Clause": "c", "Date": "d", "Quantity": "q", "Name": "n", "Text": "t", "Brace": "b", "Struck": "s", "Error": "e",
    "Operator": "o",
}  # fmt: skip
COMMANDS = {
    "vim": ["vim", "-es", "-u", "NONE", "-i", "NONE", "-S"],
    "nvim": ["nvim", "--headless", "-u", "NONE", "-i", "NONE", "-S"],
}


def run(editor: str, script, **variables) -> None:
    if not shutil.which(editor):
        pytest.skip(f"needs {editor}")
    environment = {
        **os.environ,
        "RUNTIME": str(EDITORS / "vim"),
        **{name: str(each) for name, each in variables.items()},
    }
    subprocess.run([*COMMANDS[editor], script], env=environment, timeout=60, capture_output=True, check=False)


@pytest.mark.editors
@pytest.mark.parametrize("language, kind", (("ledger", "cyl"), ("pack", "cylpack")))
@pytest.mark.parametrize("editor", COMMANDS)
def test_colors_and_settings(tmp_path, editor, language, kind):
    dump = tmp_path / "dump.txt"
    run(editor, FOLDER / "dump.vim", SAMPLE=write_sample(tmp_path, language), DUMP=dump)
    *lines, settings = dump.read_text(encoding="utf-8").rstrip("\n").split("\n")
    came = []
    for row, line in zip(rows(language), lines):
        names = [name.removeprefix("cylpack").removeprefix("cyl") for name in line.split()]
        came.append("".join(LETTER.get(name, ".") for name in names))
        assert len(came[-1]) == len(row.text)
    check(language, came)
    assert settings == f"{kind} # %s 2 1 indent @,48-57,.,_,/,-"


QUICKFIX = """
set nocompatible
let &runtimepath = $RUNTIME . ',' . &runtimepath
filetype plugin on
execute 'edit' fnameescape($SAMPLE)
silent make
let s:found = []
for s:each in getqflist()
  call add(s:found, join([bufname(s:each.bufnr), s:each.lnum, s:each.col, s:each.type, s:each.text]))
endfor
call writefile(s:found, $DUMP)
qa!
"""


@pytest.mark.editors
@pytest.mark.parametrize("editor", COMMANDS)
def test_make_fills_the_quickfix_list(tmp_path, monkeypatch, editor):
    program = tmp_path / "bin" / "cylfile"
    program.parent.mkdir()
    program.write_text(
        '#!/bin/sh\n[ "$*" = "lint --as lines" ] || exit 2\n'
        "echo 'day.cyl:4:3: danger: filled-past-test: filled past its test'\n"
        "echo 'day.cyl:5:1: caution: cannot-judge: no temperature: read twice'\n"
        "echo 'Checks the record, not the cylinder.'\n"
        "echo 'other.cyl:7:2: notice: test-due-soon: due soon'\nexit 1\n"
    )
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    script, dump, sample = tmp_path / "quickfix.vim", tmp_path / "dump.txt", tmp_path / "day.cyl"
    script.write_text(QUICKFIX)
    sample.write_text("# a record\n")
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")
    run(editor, script, SAMPLE=sample, DUMP=dump)
    assert dump.read_text().splitlines() == [
        "day.cyl 4 3 E filled-past-test: filled past its test",
        "day.cyl 5 1 W cannot-judge: no temperature: read twice",
        "other.cyl 7 2 I test-due-soon: due soon",
    ]
