"""The TextMate grammars by the engine of VS Code (npm vscode-textmate)."""

import json
import re
import shutil
import subprocess

import pytest

from cylfile.record.reader import read_record
from cylfile.text.source import Source
from support.editor_corpus import EDITORS, FOLDER, check, rows, write_sample

EXTENSION = EDITORS / "vscode"
GRAMMARS = [EXTENSION / "syntaxes" / f"{name}.tmLanguage.json" for name in ("cyl", "cylpack")]
MODULES = EXTENSION / "node_modules"

# Scope without its last word -> letter.
LETTER = {
    "comment.line.number-sign": "#", "markup.strikethrough.struck": "s", "keyword.control.block": "k",
    "entity.name.section": "n", "variable.other.name": "n", "variable.other.fact": "n",
    "support.type.property-name": "p", "entity.name.function.verb": "v", "constant.language": "w",
    "keyword.other.clause": "c", "constant.other.date": "d", "constant.other.date.time": "d",
    "constant.numeric.quantity": "q", "string.quoted.double": "t", "keyword.operator": "o",
    "keyword.operator.word": "o", "constant.other.placeholder": "b",
}  # fmt: skip


def letter_of(scope: str) -> str:
    return "e" if scope.startswith("invalid.illegal.") else LETTER.get(scope.rpartition(".")[0], ".")


@pytest.mark.editors
@pytest.mark.parametrize("language, scope", (("ledger", "source.cyl"), ("pack", "source.cylpack")))
def test_colors(tmp_path, language, scope):
    if not shutil.which("node") or not (MODULES / "vscode-textmate").is_dir():
        pytest.skip("needs node, and `npm install` in editors/vscode")
    sample = write_sample(tmp_path, language)
    run = subprocess.run(
        ["node", FOLDER / "tokens.mjs", MODULES, scope, sample, *GRAMMARS], capture_output=True, text=True, check=True
    )
    came = []
    for row, tokens in zip(rows(language), json.loads(run.stdout)):
        letters = [" "] * (len(row.text) + 1)
        for start, end, scope_here in tokens:
            letters[start:end] = letter_of(scope_here) * (min(end, len(letters)) - start)
        came.append("".join(letters))
    check(language, came)


def manifest() -> dict:
    return json.loads((EXTENSION / "package.json").read_text(encoding="utf-8"))


def started(settings: dict, *fails: str) -> dict:
    """What the extension asks of the editor and its client when it is activated, set anew and stopped."""
    if not shutil.which("node"):
        pytest.skip("needs node")
    command = ["node", FOLDER / "start.cjs", EXTENSION / "extension.js", json.dumps(settings), *fails]
    return json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def defaults() -> dict:
    return {name: each["default"] for name, each in manifest()["contributes"]["configuration"]["properties"].items()}


@pytest.mark.editors
def test_the_client_starts_the_server_and_stops_it():
    asked = started(defaults())
    assert [start["server"] for start in asked["starts"]] == [{"command": "cylfile", "args": ["serve"]}] * 2
    selectors = asked["starts"][0]["client"]["documentSelector"]
    languages = {language["id"] for language in manifest()["contributes"]["languages"]}
    assert {(each["language"], each["scheme"]) for each in selectors} == {
        (language, scheme) for language in languages for scheme in ("file", "untitled")
    }
    assert asked["starts"][0]["client"]["initializationOptions"] == {"hints": False}
    assert asked["stops"] == 2 and asked["warnings"] == []
    assert set(asked["commands"]) == {each["command"] for each in manifest()["contributes"]["commands"]}


@pytest.mark.editors
def test_a_missing_server_is_said_once_and_nothing_breaks():
    asked = started(defaults(), "fails")
    assert len(asked["warnings"]) == 2 and "with its extra `editor`" in asked["warnings"][0]
    assert asked["stops"] == 0


@pytest.mark.editors
def test_a_server_that_ends_is_started_again_but_not_for_ever():
    asked = started(defaults(), "", "6")
    assert asked["closed"] == [True] * 4 + [False] * 2
    assert [text.partition(",")[0] for text in asked["warnings"]] == [
        *["`cylfile serve` has ended"] * 4, *["`cylfile serve` has ended again and again"] * 2,
    ]  # fmt: skip


@pytest.mark.editors
def test_no_server_is_started_where_none_is_wanted():
    assert started({**defaults(), "cylfile.serve": False})["starts"] == []


@pytest.mark.editors
def test_the_package_holds_what_the_editor_needs(tmp_path):
    vsce = MODULES / ".bin" / "vsce"
    if not vsce.exists():
        pytest.skip("needs `npm install` in editors/vscode")
    listed = subprocess.run(
        [vsce, "ls", "--no-dependencies"], cwd=EXTENSION, capture_output=True, text=True, check=True
    ).stdout.split()
    # One script, with the client in it; it is made anew whenever a package is.
    assert set(listed) - {"dist/extension.js"} == {
        "README.md", "icon.png", "language-configuration.json", "package.json", "snippets.json",
        "syntaxes/cyl.tmLanguage.json", "syntaxes/cylpack.tmLanguage.json",
    }  # fmt: skip
    script = tmp_path / "extension.js"
    bundle = manifest()["scripts"]["bundle"].replace("dist/extension.js", str(script)).split()
    subprocess.run([MODULES / ".bin" / bundle[0], *bundle[1:]], cwd=EXTENSION, capture_output=True, check=True)
    builtin = json.loads(
        subprocess.run(["node", "-p", 'JSON.stringify(require("module").builtinModules)'], capture_output=True).stdout
    )
    needed = set(re.findall(r'require\("([^"]+)"\)', script.read_text(encoding="utf-8")))
    assert {"vscode", "child_process"} <= needed <= {"vscode", *builtin}


@pytest.mark.parametrize("level", ("danger", "warning", "caution", "notice"))
def test_the_problem_matchers_read_the_lines_of_lint(level):
    line = f"fills/2026-07.cyl:214:3: {level}: filled-past-test: filled 12 days after its test fell due (2026-06-30)"
    found = {
        each["name"]: match
        for each in manifest()["contributes"]["problemMatchers"]
        if (match := re.search(each["pattern"]["regexp"], line))
    }
    assert list(found) == [f"cylfile-{level}"]
    assert found[f"cylfile-{level}"].groups() == (
        "fills/2026-07.cyl", "214", "3", "filled-past-test", "filled 12 days after its test fell due (2026-06-30)",
    )  # fmt: skip


def test_enter_accepts_nothing_that_nobody_typed():
    contributes = manifest()["contributes"]
    for language in contributes["languages"]:
        assert contributes["configurationDefaults"][f"[{language['id']}]"]["editor.acceptSuggestionOnEnter"] == "off"


def test_the_version_is_that_of_the_package():
    from cylfile import __version__

    assert manifest()["version"] == __version__


def test_what_looks_wrong_has_a_color_of_the_grammars():
    from cylfile.server.semantic_tokens import STRUCK, WRONG

    contributes = manifest()["contributes"]
    assert [each["id"] for each in contributes["semanticTokenTypes"]] == [WRONG]
    # Those of the grammars, so that both look the same in every theme.
    known = GRAMMARS[0].read_text(encoding="utf-8")
    for each in contributes["semanticTokenScopes"]:
        assert set(each["scopes"]) == {WRONG, STRUCK, f"{STRUCK}.deprecated"}
        assert all(f'"{".".join(scope.split(".")[:2])}.' in known for (scope,) in each["scopes"].values())


def test_blocks_say_nothing_of_what_is_left_open():
    """Every stop that nobody has filled in leaves a line that is refused, but for titles and texts."""
    blocks = json.loads((EXTENSION / "snippets.json").read_text(encoding="utf-8"))
    for block in blocks.values():
        body = "\n".join(block["body"])
        day = body.replace("${CURRENT_YEAR}-${CURRENT_MONTH}-${CURRENT_DATE}", "2026-03-15")
        day = re.sub(r"\$\{[0-9]:\$CURRENT_YEAR[^}]*\}", "2026-03-15", day)
        lines = [line for line in day.split("\n") if re.search(r'(?<!")\$[1-9]', line)]
        assert lines
        for line in lines:
            empty = re.sub(r"\$[0-9]", "", line)
            header = day.split("\n")[0].replace("$1", "x", 1) if line.startswith(" ") else ""
            record = read_record([Source("x.cyl", f"{header}\n{empty}\n")])
            assert any(fault.rule == "unreadable-line" for fault in record.faults), line
