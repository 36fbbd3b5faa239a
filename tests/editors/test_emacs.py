"""The Emacs modes by Emacs itself."""

import os
import shutil
import stat
import subprocess

import pytest

from support.editor_corpus import EDITORS, FOLDER, check, rows, write_sample
from support.workspaces import put_on_path, write_with_overfill

MODE = EDITORS / "emacs"
LETTER = {
    "font-lock-comment-face": "#", "font-lock-comment-delimiter-face": "#", "font-lock-string-face": "t",
    "cyl-header": "k", "cyl-property": "p", "cyl-verb": "v", "cyl-value": "w", "cyl-clause": "c", "cyl-date": "d",
    "cyl-quantity": "q", "cyl-name": "n", "cyl-struck": "s", "cyl-error": "e", "cyl-operator": "o",
    "cyl-expression": "b",
}  # fmt: skip


def emacs(*arguments, **variables) -> subprocess.CompletedProcess:
    if not shutil.which("emacs"):
        pytest.skip("needs emacs")
    environment = {**os.environ, "MODE": str(MODE), **{name: str(each) for name, each in variables.items()}}
    return subprocess.run(
        ["emacs", "-Q", "--batch", *arguments],
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


@pytest.mark.editors
@pytest.mark.parametrize("language, mode", (("ledger", "cyl-mode"), ("pack", "cyl-pack-mode")))
def test_colors(tmp_path, language, mode):
    run = emacs("-l", FOLDER / "dump.el", SAMPLE=write_sample(tmp_path, language))
    assert run.returncode == 0, run.stderr
    *lines, settings = run.stdout.rstrip("\n").split("\n")
    came = ["".join(LETTER.get(name, ".") for name in line.split()) for line in lines]
    assert [len(line) for line in came] == [len(row.text) for row in rows(language)]
    check(language, came)
    assert settings == f"{mode} #  nil"


@pytest.mark.editors
def test_it_compiles_without_a_warning(tmp_path):
    shutil.copy(MODE / "cyl-mode.el", tmp_path)
    run = emacs("--eval", "(setq byte-compile-error-on-warn t)", "-f", "batch-byte-compile", tmp_path / "cyl-mode.el")
    assert run.returncode == 0, run.stderr


@pytest.fixture
def record(tmp_path, monkeypatch):
    """A file of a record, and a stand-in for the program that says three things of it and its neighbor."""
    program = tmp_path / "bin" / "cylfile"
    program.parent.mkdir()
    program.write_text(
        '#!/bin/sh\n[ "$*" = "lint --as lines" ] || exit 2\n'
        "echo 'days/day.cyl:2:3: danger: filled-past-test: filled past its test'\n"
        "echo 'days/day.cyl:1:10: notice: test-due-soon: due soon'\n"
        "echo 'other.cyl:7:2: caution: cannot-judge: read twice'\nexit 1\n"
    )
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", f"{program.parent}{os.pathsep}{os.environ['PATH']}")
    (tmp_path / ".git").mkdir()
    (tmp_path / "days").mkdir()
    sample = tmp_path / "days" / "day.cyl"
    sample.write_text("cylinder H-1\n  2026-01-01  filled  to 4500 psi\n")
    return sample


FLYMAKE = """
(add-to-list 'load-path (getenv "MODE"))
(require 'cyl-mode)
(find-file (getenv "SAMPLE"))
(flymake-mode 1)
(flymake-start)
(with-timeout (20) (while (not (flymake-diagnostics)) (accept-process-output nil 0.1)))
(dolist (each (sort (flymake-diagnostics) (lambda (a b) (< (flymake-diagnostic-beg a) (flymake-diagnostic-beg b)))))
  (princ (format "%s|%s|%s\n" (flymake-diagnostic-type each)
                 (buffer-substring (flymake-diagnostic-beg each) (flymake-diagnostic-end each))
                 (flymake-diagnostic-text each))))
"""


@pytest.mark.editors
def test_flymake_shows_what_is_said_of_this_file_in_its_record(tmp_path, monkeypatch):
    """Without git, from a file in a subfolder of the record."""
    put_on_path(tmp_path, monkeypatch)
    (tmp_path / "a record").mkdir()
    sheet = write_with_overfill(tmp_path / "a record")
    (tmp_path / "flymake.el").write_text(FLYMAKE)
    run = emacs("-l", tmp_path / "flymake.el", SAMPLE=sheet)
    told = run.stdout.splitlines()
    assert any(line.startswith(":error|09|filled-over-test-pressure: read 9000 psi") for line in told), run.stderr
    assert not [line for line in told if "unknown-name" in line or "no-rules" in line or "test-record" in line]


COMPILE = """
(add-to-list 'load-path (getenv "MODE"))
(require 'cyl-mode)
(setq compilation-skip-threshold 0)
(let ((default-directory (getenv "ROOT")))
  (with-current-buffer (compile "cylfile lint --as lines")
    (with-timeout (30)
      (while (not (save-excursion (goto-char (point-min)) (re-search-forward "^Compilation exited" nil t)))
        (accept-process-output nil 0.1)))
    (compilation--ensure-parse (point-max))
    (goto-char (point-min))
    (condition-case nil
        (while t
          (compilation-next-error 1)
          (let* ((message (get-text-property (point) 'compilation-message))
                 (place (compilation--message->loc message)))
            (princ (format "%s:%s:%s %s\n" (caar (compilation--loc->file-struct place))
                           (compilation--loc->line place) (compilation--loc->col place)
                           (compilation--message->type message)))))
      (error nil))))
"""


@pytest.mark.editors
def test_compile_jumps_to_the_findings(tmp_path, record):
    (tmp_path / "compile.el").write_text(COMPILE)
    run = emacs("-l", tmp_path / "compile.el", ROOT=f"{tmp_path}/")
    assert run.stdout.splitlines() == ["days/day.cyl:2:3 2", "days/day.cyl:1:10 0", "other.cyl:7:2 1"], run.stderr
