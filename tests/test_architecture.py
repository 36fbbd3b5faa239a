"""
The rules of the house: imports go one way, and the core prints nothing, opens nothing and asks no clock.
"""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "cylfile"

# Package -> packages of cylfile that it may import. `judge.py` and `fillable.py` are the way
# through and stand above the core; the edges at the end may import anything.
MAY_IMPORT = {
    "text": {"text"},
    "air": {"air"},
    "record": {"record", "text"},
    "history": {"history", "record", "air", "text"},
    # The levels and the core rules are the vocabulary of findings.
    "packs": {"packs", "text", "record", "history", "findings"},
    "findings": {"findings", "record", "text"},
    "compare": {"compare", "findings", "record", "text"},
    "intake": {"intake", "record", "packs", "text"},
    "show": {
        "show",
        "findings",
        "history",
        "record",
        "text",
        "packs",
        "compare",
        "intake",
        "judge",
        "fillable",
        "answering",
    },
}
EDGES = {"commands", "server", "git"}
CORE = ("text", "air", "record", "history", "packs", "findings", "compare", "intake")
# The only modules of the core that open a file: they read what the package itself carries.
READS_PACKAGE_DATA = {"text/grammar.py", "packs/shipped.py"}
# The packs import these from the histories and the record: the vocabulary, not the folding.
PACKS_MAY_IMPORT = {
    "cylfile.history.facts",
    "cylfile.history.figures",
    "cylfile.record.quantities",
    "cylfile.record.dates",
}

MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def imports_of(path: Path) -> set[str]:
    """Every module that a file imports, in whatever scope."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def core_modules():
    return [path for path in MODULES if path.relative_to(PACKAGE).parts[0] in CORE]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_go_one_way(path):
    package = path.relative_to(PACKAGE).parts[0]
    ours = {name.split(".")[1] for name in imports_of(path) if name.startswith("cylfile.")}
    if package in MAY_IMPORT:
        allowed = MAY_IMPORT[package]
        assert ours - {"__version__"} <= allowed, f"{name_of(path)} may only import {sorted(allowed)}"
    elif package not in EDGES and package not in ("__main__.py", "building.py"):
        assert not ours & EDGES, f"{name_of(path)} imports an edge"


@pytest.mark.parametrize("path", [path for path in MODULES if "packs" in path.parts], ids=name_of)
def test_packs_know_only_the_vocabulary(path):
    ours = {name for name in imports_of(path) if name.startswith(("cylfile.history", "cylfile.record"))}
    strange = {name for name in ours if not any(name == a or name.startswith(f"{a}.") for a in PACKS_MAY_IMPORT)}
    assert not strange - {"cylfile.history", "cylfile.record"}


@pytest.mark.parametrize("path", core_modules(), ids=name_of)
def test_core_prints_nothing_opens_nothing_and_asks_no_clock(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
    asked = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert not called & {"print", "input", "exec", "eval"} - (
        {"exec"} if name_of(path) == "packs/compiling.py" else set()
    )
    if name_of(path) not in READS_PACKAGE_DATA:
        assert "open" not in called and not asked & {"read_text", "read_bytes", "write_text", "write_bytes"}
    assert not asked & {"today", "now", "utcnow", "time_ns", "environ"}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_only_show_uses_rich(path):
    uses = any(name == "rich" or name.startswith("rich.") for name in imports_of(path))
    assert not uses or path.relative_to(PACKAGE).parts[0] == "show"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_only_the_server_uses_its_library(path):
    uses = any(name.split(".")[0] in ("pygls", "lsprotocol") for name in imports_of(path))
    assert not uses or path.relative_to(PACKAGE).parts[0] == "server"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_every_module_says_what_it_is(path):
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", core_modules(), ids=name_of)
def test_digits_are_ascii_and_lines_end_at_line_feeds(path):
    """`\\d` takes Arabic digits, and `splitlines` ends lines where no editor does."""
    text = path.read_text(encoding="utf-8")
    assert "\\d" not in text and "splitlines" not in text
