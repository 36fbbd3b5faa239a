"""
cylfile works from a wheel, from a bare checkout and installed in place.
"""

import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib import import_module
from pathlib import Path

import pytest

import cylfile
from cylfile.command_line.manual import VARIABLES
from cylfile.command_line.options import help_of_option
from cylfile.command_line.registry import COMMANDS

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
# What no command imports that reads a usual record and judges it by shipped packs: each takes milliseconds.
NOT_NEEDED = {
    "ast",
    "cylfile.packs.compiling",
    "cylfile.packs.laxer",
    "cylfile.packs.pack_reader",
    "cylfile.record.packing",
    "dataclasses",
    "decimal",
    "difflib",
    "inspect",
    "json",
    "lark",
    "random",
    "rich",
    "shutil",
    "subprocess",
    "tempfile",
}


def copied(folder: Path) -> Path:
    """A copy of what git would hand out."""
    pytest.importorskip("setuptools")
    copy = folder / "copy"
    copy.mkdir()
    for name in ("cylfile", "grammar"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", "made"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, copy)
    return copy


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """A wheel, built with the build tools at hand here."""
    folder = tmp_path_factory.mktemp("wheel")
    build = ["wheel", "--quiet", "--no-deps", "--no-build-isolation", "--wheel-dir", folder, copied(folder)]
    subprocess.run([sys.executable, "-m", "pip", *build], check=True, capture_output=True, cwd=folder)
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture
def checkout(tmp_path) -> Path:
    """A checkout that was installed in place, as far as that concerns the checkout."""
    copy = copied(tmp_path)
    install = f"from setuptools.build_meta import build_editable; build_editable({str(tmp_path)!r})"
    subprocess.run([sys.executable, "-c", install], check=True, capture_output=True, cwd=copy)
    return copy


def lint(
    python_path: Path, folder: Path, *options: str, command: tuple[str, ...] = ("lint",)
) -> subprocess.CompletedProcess:
    (folder / "one.cyl").write_text(
        'department "Small"\n  rules us-dot\ncylinder K-1\n  marked "DOT-3AA1800"\n  made 2020-01\n  expansion-limit 9 %\n'
    )
    environment = {**os.environ, "PYTHONPATH": str(python_path)}
    whole = [sys.executable, *options, "-m", "cylfile", *command, "--as-of", "2021-01-01", "one.cyl"]
    return subprocess.run(whole, capture_output=True, text=True, cwd=folder, env=environment)


def imported(done: subprocess.CompletedProcess) -> set[str]:
    """All modules that a process with `-X importtime` has imported."""
    return {line.rpartition("|")[2].strip() for line in done.stderr.split("\n")}


def test_a_wheel_carries_grammars_tables_and_packs(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    for grammar in ("ledger", "pack"):
        assert f"cylfile/grammar/{grammar}.lark" in names
        assert f"cylfile/made/{grammar}.lark.table" in names
    packs = {path.name for path in (ROOT / "cylfile" / "packs").glob("*.cylpack")}
    assert {name for name in packs if {f"cylfile/packs/{name}", f"cylfile/made/{name}.read"} <= {*names}} == packs
    assert not [name for name in names if name.endswith(".pyc")]
    modules = {path.relative_to(ROOT).as_posix() for path in (ROOT / "cylfile").rglob("*.py")}
    assert modules <= set(names)


def test_a_wheel_brings_the_manual_with_all_that_help_says(wheel):
    with zipfile.ZipFile(wheel) as file:
        (name,) = (name for name in file.namelist() if name.endswith("share/man/man1/cylfile.1"))
        page = file.read(name).decode("ascii")
    plain = (
        re.sub(r"\\f[BR]", "", page)
        .replace("\\-", "-")
        .replace("\\(ti", "~")
        .replace("\\(ga", "`")
        .replace("\\(aq", "'")
    )
    for command in COMMANDS:
        options = import_module(f"cylfile.commands.{command.module}").make_options()
        assert options.synopsis in plain and options.description in plain and command.purpose in plain
        for action in options.said_actions():
            assert help_of_option(action) in plain, (command.name, action.option_strings)
    # No line of a text is taken for a request of the formatter.
    requests = {line.split(" ")[0] for line in page.split("\n") if line.startswith((".", "'"))}
    assert requests <= {".TH", ".nh", ".ad", ".SH", ".SS", ".TP", ".PP", ".nf", ".fi", ".B"}


def test_the_manual_tells_of_the_variables_that_the_program_asks_for():
    modules = (path for path in (ROOT / "cylfile").rglob("*.py") if path.name != "manual.py")
    program = "".join(path.read_text(encoding="utf-8") for path in modules)
    told = {name for names in VARIABLES for name in names.split(", ")}
    assert [name for name in told if f'"{name}"' not in program] == []
    assert set(re.findall('"(CYLFILE_[A-Z]+)"', program)) <= told


def test_a_wheel_works_and_reads_its_tables(wheel, tmp_path):
    place = tmp_path / "place"
    with zipfile.ZipFile(wheel) as file:
        file.extractall(place)
    whole = lint(place, tmp_path)
    assert whole.returncode == 0 and "1 cylinder" in whole.stdout
    # Sentences are read without lark, and the conditions of shipped rules are compiled.
    for command in (("may-fill", "K-1"), ("card", "K-1"), ("lint",), ("due",)):
        modules = imported(lint(place, tmp_path, "-X", "importtime", command=command))
        assert "cylfile.packs.judges" in modules and not modules & NOT_NEEDED, command
    # A pack that says something else than when it was read is read anew.
    pack = place / "cylfile" / "packs" / "us-dot.cylpack"
    says = pack.read_text(encoding="utf-8")
    pack.write_text(says.replace('"[DOT-]3AA{psi}"', '"[DOT-]3AQ{psi}"'), encoding="utf-8")
    assert says != pack.read_text(encoding="utf-8") and "no-class" in lint(place, tmp_path).stdout
    pack.write_text(says, encoding="utf-8")
    # Tables that lark cannot have made are not used; with none at all the grammar is.
    kept = [*(place / "cylfile" / "made").iterdir()]
    for tables in kept:
        tables.write_bytes(b"0" * 64 + b"\n")
    assert lint(place, tmp_path).stdout == whole.stdout
    for tables in kept:
        tables.unlink()
    assert lint(place, tmp_path).stdout == whole.stdout


def test_a_checkout_installed_in_place_reads_its_tables_until_anything_is_changed(checkout, tmp_path):
    assert "/cylfile/made/" in (ROOT / ".gitignore").read_text().splitlines()
    whole = lint(checkout, tmp_path, "-X", "importtime")
    assert whole.stdout == lint(ROOT, tmp_path).stdout and not imported(whole) & NOT_NEEDED
    package, grammar = checkout / "cylfile", checkout / "grammar"
    lark, reader, compiler = "lark", "cylfile.packs.pack_reader", "cylfile.packs.compiling"
    # What is changed, what takes its place, what is imported to make anew what was made of it, and what is said then.
    for path, was, now, needed, said in (
        (package / "text" / "parse_table.py", "\n", "\n\n", {lark, reader, compiler}, whole.stdout),
        (package / "air" / "contents.py", "\n", "\n\n", {reader, compiler}, whole.stdout),
        (package / "commands" / "lint.py", "\n", "\n\n", set(), whole.stdout),
        (package / "packs" / "us-dot.cylpack", '"[DOT-]3AA{psi}"', '"[DOT-]3AQ{psi}"', {reader}, "no-class"),
        (grammar / "pack.lark", '"caution"', '"watch"', {lark, reader, compiler}, "DANGER"),
        (grammar / "ledger.lark", '"marked" TEXT', '"stamped" TEXT', {lark}, "marked"),
    ):
        before = path.read_text(encoding="utf-8")
        path.write_text(before.replace(was, now, 1), encoding="utf-8")
        done = lint(checkout, tmp_path, "-X", "importtime")
        assert imported(done) & {lark, reader, compiler} == needed and said in done.stdout, path
        path.write_text(before, encoding="utf-8")
    assert not imported(lint(checkout, tmp_path, "-X", "importtime")) & NOT_NEEDED


def test_a_bare_checkout_works(tmp_path):
    assert lint(ROOT, tmp_path).returncode == 0


def test_every_package_is_listed():
    folders = {
        path.parent.relative_to(ROOT).as_posix().replace("/", ".") for path in (ROOT / "cylfile").rglob("__init__.py")
    }
    assert folders | {"cylfile.grammar"} == set(PROJECT["tool"]["setuptools"]["packages"])


def test_the_version_is_one():
    assert PROJECT["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "cylfile.__version__"}
    program = subprocess.run([sys.executable, "-m", "cylfile", "--version"], capture_output=True, text=True, cwd=ROOT)
    assert program.stdout == f"cylfile {cylfile.__version__}\n"


def test_only_three_libraries_are_needed_to_run():
    needed = {line.split(";")[0].rstrip("0123456789.,<>= ") for line in PROJECT["project"]["dependencies"]}
    assert needed == {"lark", "rich", "python-dateutil", "tzdata"}
