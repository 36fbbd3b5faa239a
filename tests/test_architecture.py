"""
The rules of the house: imports go one way, and the core prints nothing, opens nothing and asks no clock.
"""

import ast
import re
from collections import Counter
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent / "cylfile"

# Package -> packages that it may import besides itself. Every package stands here.
MAY_IMPORT = {
    "text": set(),
    "air": set(),
    "record": {"text"},
    "history": {"record", "air", "text"},
    "findings": {"record", "history", "text"},
    # The levels and the core rules are the vocabulary of findings.
    "packs": {"findings", "history", "record", "text"},
    "judging": {"packs", "findings", "history", "record", "text"},
    "rewriting": {"judging", "history", "record", "text"},
    "compare": {"judging", "packs", "findings", "history", "record", "text"},
    "importing": {"rewriting", "judging", "packs", "history", "record", "text"},
    "files": {"compare", "rewriting", "judging", "packs", "findings", "history", "record", "text"},
    "show": {"importing", "compare", "judging", "packs", "findings", "history", "record", "text"},
}
MAY_IMPORT["server"] = {*MAY_IMPORT, "command_line"}
MAY_IMPORT["command_line"] = set(MAY_IMPORT) - {"server"}
MAY_IMPORT["commands"] = set(MAY_IMPORT)
# The modules beside the packages: how the program begins, how it is built, and how it says that it cannot.
MAY_IMPORT["__main__"] = {"command_line", "show", "cannot"}
MAY_IMPORT["building"] = {"command_line", "packs", "text"}
MAY_IMPORT["cannot"] = set()
# Whoever looks at the world outside may have to say that it is not as it should be.
SAY_CANNOT = {"files", "command_line", "commands", "server", "judging"}

CORE = ("text", "air", "record", "history", "packs", "findings", "judging", "rewriting", "compare", "importing")
# The only modules of the core that open a file: they read what the package itself carries.
READS_PACKAGE_DATA = {"text/grammar.py", "text/made.py", "packs/shipped.py"}
# It starts processes, which do their shares apart and send back what they find.
STARTS_PROCESSES = {"judging/processes.py"}
# The packs import these from the histories and the record: the vocabulary, not the folding.
PACKS_MAY_IMPORT = ("history.facts", "history.figures", "record.quantities", "record.dates")

TREES = {
    path.relative_to(PACKAGE).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
    for path in sorted(PACKAGE.rglob("*.py"))
}


def package_of(name: str) -> str:
    return name.split("/")[0].removesuffix(".py")


def imports_of(name: str) -> set[str]:
    """Every module that a file imports, in whatever scope, and what it takes from modules of ours."""
    found = set()
    for node in ast.walk(TREES[name]):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def ours(name: str) -> set[str]:
    """The modules of this program that a file imports, without the name of the program."""
    return {found.removeprefix("cylfile.") for found in imports_of(name) if found.startswith("cylfile.")}


def test_every_package_has_its_place_in_the_order_of_imports():
    assert {package_of(name) for name in TREES} - {"__init__"} == set(MAY_IMPORT)


def test_imports_go_one_way():
    strange = {}
    for name in TREES:
        package = package_of(name)
        allowed = (
            MAY_IMPORT.get(package, set()) | {package, "__version__"} | ({"cannot"} if package in SAY_CANNOT else set())
        )
        wrong = {found for found in ours(name) if found.split(".")[0] not in allowed}
        if wrong:
            strange[name] = wrong
    assert strange == {}


def test_what_is_kept_of_packs_is_known_by_all_that_may_have_a_part_in_it():
    from cylfile.packs.shipped import MAKERS

    makers = {"packs"}
    for _ in MAY_IMPORT:
        makers |= set().union(*(MAY_IMPORT[package] for package in makers))
    assert set(MAKERS) == makers and MAY_IMPORT["text"] == set()


def test_nothing_imports_a_command():
    importing = [
        name for name in TREES if package_of(name) != "commands" and any(f.startswith("commands") for f in ours(name))
    ]
    assert importing == []


def test_commands_are_the_table_of_commands():
    from cylfile.command_line.registry import COMMANDS

    modules = {name.removeprefix("commands/").removesuffix(".py") for name in TREES if package_of(name) == "commands"}
    assert modules - {"__init__"} == {command.module for command in COMMANDS}


def test_packs_know_only_the_vocabulary():
    strange = {}
    for name in TREES:
        if package_of(name) == "packs":
            asked = {
                found for found in ours(name) if found.startswith(("history.", "record.")) and found.count(".") == 1
            }
            wrong = {found for found in asked if not found.startswith(PACKS_MAY_IMPORT)}
            if wrong:
                strange[name] = wrong
    assert strange == {}


def test_core_prints_nothing_opens_nothing_and_asks_no_clock():
    strange = {}
    for name, tree in TREES.items():
        if package_of(name) not in CORE or name in STARTS_PROCESSES:
            continue
        called = {
            node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        asked = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
        wrong = called & {"print", "input", "exec", "eval"}
        if name not in READS_PACKAGE_DATA:
            wrong |= (called & {"open"}) | (asked & {"read_text", "read_bytes", "write_text", "write_bytes"})
        wrong |= asked & {"today", "now", "utcnow", "time_ns", "environ"}
        if wrong:
            strange[name] = wrong
    assert strange == {}


def test_commands_speak_by_forms_or_by_what_is_told():
    """What a command shows is a row of `show/forms.py`, all else it says goes by `show/told.py`: nothing leaves raw."""
    strange = {}
    for name, tree in TREES.items():
        if package_of(name) != "commands":
            continue
        said = [node for node in ast.walk(tree) if isinstance(node, ast.Name) and node.id == "print"]
        said += [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Attribute)
            and node.attr in ("write", "writelines", "buffer")
            and isinstance(node.value, ast.Attribute)
            and node.value.attr in ("stdout", "stderr")
        ]
        if said:
            strange[name] = [node.lineno for node in said]
    assert strange == {}


def test_each_library_has_its_one_place():
    places = {
        "rich": "show",
        "pygls": "server",
        "lsprotocol": "server",
        "pygments": "show",
        "jinja2": "show",
        "markupsafe": "show",
        "segno": "show",
        "distributed": "judging",
    }
    strange = [
        (name, found)
        for name in TREES
        for found in imports_of(name)
        if places.get(found.split(".")[0], package_of(name)) != package_of(name)
    ]
    assert strange == []


def test_every_module_says_what_it_is():
    assert [name for name, tree in TREES.items() if not ast.get_docstring(tree)] == []


def test_no_two_modules_have_one_name():
    """Commands have the names of what they do, and so may meet a package or what they rest on."""
    stems = Counter(Path(name).stem for name in TREES if package_of(name) != "commands")
    assert {stem for stem, count in stems.items() if count > 1} == {"__init__"}


def test_digits_are_ascii_and_lines_end_at_line_feeds():
    """`\\d` takes Arabic digits, and `splitlines` ends lines where no editor does."""
    strange = [
        name
        for name in TREES
        if package_of(name) in CORE
        and any(bad in (PACKAGE / name).read_text(encoding="utf-8") for bad in ("\\d", "splitlines"))
    ]
    assert strange == []


GUIDE = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_code_map_names_every_package():
    packages = {name.rpartition("/")[0] for name in TREES if name.count("/")}
    assert {package for package in packages if f"| `cylfile/{package}/` |" not in GUIDE} == {
        "show/terminal",
        "show/pages",
        "show/machine",
    }


def test_what_the_code_map_says_to_look_at_is_there():
    rows = re.findall(
        r"^\| `(?:cylfile|grammar|editors|tests/support)/([\w/]*)` \| .* \| (.*) \|$", GUIDE, re.MULTILINE
    )
    named = {word for _, looked_at in rows for word in re.findall(r"`([\w./]+)`", looked_at)}
    places = (PACKAGE, *(PACKAGE.parent / place for place in ("grammar", "editors", "tests/support")))
    files = {path.name: path for place in places for path in place.rglob("*") if path.is_file()}
    files["conftest.py"] = PACKAGE.parent / "tests" / "conftest.py"
    assert len(named) > 30
    for word in sorted(named):
        module, _, thing = word.rpartition("/")[2].partition(".")
        if f"{module}.{thing}" not in files:
            text = files[f"{module}.py"].read_text(encoding="utf-8")
            assert re.search(rf"^(?:def |class )?{thing}\b", text, re.MULTILINE), word


def test_what_holds_an_invariant_is_there():
    named = re.findall(r"`(tests/[\w/.]+)(?:::(\w+))?`", GUIDE)
    assert len(named) > 20
    for path, test in named:
        place = PACKAGE.parent / path
        assert place.exists(), path
        assert not test or f"def {test}(" in place.read_text(encoding="utf-8"), test
