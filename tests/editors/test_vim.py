"""The syntax files, settings and the compiler by Vim and Neovim themselves."""

import os
import shutil
import subprocess

import pytest

from support.editor_corpus import EDITORS, FOLDER, check, rows, write_sample
from support.workspaces import put_on_path, write_with_overfill

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


# Writes the quickfix list down.
DUMP = """
let s:found = []
for s:each in getqflist()
  call add(s:found, join([bufname(s:each.bufnr), s:each.lnum, s:each.col, s:each.type, s:each.text]))
endfor
call writefile(s:found, $DUMP)
qa!
"""
QUICKFIX = """
set nocompatible
let &runtimepath = $RUNTIME . ',' . &runtimepath
filetype plugin on
execute 'edit' fnameescape($SAMPLE)
silent make
"""


@pytest.mark.editors
@pytest.mark.parametrize("editor", COMMANDS)
def test_make_fills_the_quickfix_list_with_the_record_of_the_file(tmp_path, monkeypatch, editor):
    """From whatever folder, and without git: the danger, and no name that the file by itself would not know."""
    put_on_path(tmp_path, monkeypatch)
    record = tmp_path / "a record"
    record.mkdir()
    sheet = write_with_overfill(record)
    script, dump = tmp_path / "quickfix.vim", tmp_path / "dump.txt"
    script.write_text(QUICKFIX + DUMP)
    run(editor, script, SAMPLE=sheet, DUMP=dump)
    lines = dump.read_text().splitlines()
    (over,) = [line for line in lines if "filled-over-test-pressure" in line]
    assert over.startswith(f"{sheet} 2 3 E ") or over.startswith(f"{sheet.relative_to(tmp_path)} 2 3 E ")
    assert any("test-record-incomplete" in line and "cards.cyl" in line and " W " in line for line in lines)
    assert not [line for line in lines if "unknown-name" in line or "no-rules" in line or "Checks the record" in line]


KINDS = """
compiler! cylfile
cgetexpr readfile($SAMPLE)
"""


@pytest.mark.editors
@pytest.mark.parametrize("editor", COMMANDS)
def test_levels_are_errors_warnings_and_notes(tmp_path, editor):
    script, dump, sample = tmp_path / "kinds.vim", tmp_path / "dump.txt", tmp_path / "lines.txt"
    script.write_text("set nocompatible\nlet &runtimepath = $RUNTIME . ',' . &runtimepath\n" + KINDS + DUMP)
    sample.write_text(
        "day.cyl:4:3: danger: filled-past-test: filled past its test\n"
        "day.cyl:5:1: caution: cannot-judge: no temperature: read twice\n"
        "Checks the record, not the cylinder.\n"
        "other.cyl:7:2: notice: test-due-soon: due soon\n"
    )
    run(editor, script, SAMPLE=sample, DUMP=dump)
    assert dump.read_text().splitlines() == [
        "day.cyl 4 3 E filled-past-test: filled past its test",
        "day.cyl 5 1 W cannot-judge: no temperature: read twice",
        "other.cyl 7 2 I test-due-soon: due soon",
    ]
