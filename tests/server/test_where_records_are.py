"""Which record a file belongs to, whatever the editor has open, and what is said where there is none."""

import shutil
import threading

from support.language_client import opens, speak, told_of
from support.workspaces import CARDS, HEAD, SHEET, write

OVERFILLED = "fill sheet 2026-03-15  at st1  on B2  by vance\n  09:42  H-12  to 9000 psi\n"


def rules_of(diagnostics: list[dict]) -> set[str]:
    return {each["code"] for each in diagnostics}


def shows(end_of_uri: str, rule: str):
    """Whether a message shows a finding of a rule in a file."""
    return lambda message: rule in rules_of(told_of([message], end_of_uri))


def on_screen(came: list[dict]) -> list[str]:
    return [each["params"]["message"] for each in came if each.get("method") == "window/showMessage"]


def test_a_file_in_a_subfolder_is_judged_with_the_record_above(tmp_path):
    """Without a folder of the editor and without git, as in a new record whose sheet is opened by a double click."""
    write(tmp_path)
    (tmp_path / "fills").mkdir()
    sheet = tmp_path / "fills" / "day.cyl"
    sheet.write_text(OVERFILLED)
    status, came, error = speak(
        None, opens(sheet.as_uri(), OVERFILLED), until=shows("day.cyl", "filled-over-test-pressure")
    )
    assert status == 0 and error == b""
    (over,) = [each for each in told_of(came, "day.cyl") if each["code"] == "filled-over-test-pressure"]
    assert over["severity"] == 1 and "unknown-name" not in rules_of(told_of(came, "day.cyl"))
    assert on_screen(came) == []


def test_files_of_one_record_are_one_record(tmp_path):
    """Whichever of them are open, and in whatever folder: what is typed in one is known in the other."""
    write(tmp_path)
    (tmp_path / "people").mkdir()
    (tmp_path / "people" / "more.cyl").write_text("")
    text = SHEET.replace("by vance", "by newby")
    _, came, _ = speak(
        None,
        opens((tmp_path / "sheet.cyl").as_uri(), text),
        opens((tmp_path / "people" / "more.cyl").as_uri(), 'person newby "Ada Newby"\n  fills  2020-01-01\n  x\n'),
        until=shows("more.cyl", "unreadable-line"),
    )
    assert "unknown-name" not in rules_of(told_of(came, "sheet.cyl"))


def test_where_there_is_no_record_it_is_said_on_the_screen(tmp_path):
    alone = tmp_path / "alone.cyl"
    alone.write_text(OVERFILLED)
    (tmp_path / "other.cyl").write_text('site st1 "Beside, and no part of it"\n')
    (tmp_path / ".git").mkdir()
    _, came, _ = speak(None, opens(alone.as_uri(), OVERFILLED), until=shows("alone.cyl", "no-rules"))
    (said,) = on_screen(came)
    assert said.startswith("alone.cyl: no file beside it or above declares the department")
    (no_rules,) = [each for each in told_of(came, "alone.cyl") if each["code"] == "no-rules"]
    assert "no file beside it or above declares the department" in no_rules["message"]
    assert "unknown-name" in rules_of(told_of(came, "alone.cyl"))


def test_a_department_that_is_typed_makes_the_record(tmp_path):
    """The files beside it, which stood alone until then, belong to it."""
    sheet, head = tmp_path / "sheet.cyl", tmp_path / "head.cyl"
    write(tmp_path, head="")
    change = {"uri": head.as_uri(), "version": 2}
    _, came, _ = speak(
        None,
        opens(sheet.as_uri(), OVERFILLED),
        opens(head.as_uri(), ""),
        {"method": "textDocument/didChange", "params": {"textDocument": change, "contentChanges": [{"text": HEAD}]}},
        until=shows("sheet.cyl", "filled-over-test-pressure"),
    )
    assert "unknown-name" not in rules_of(told_of(came, "sheet.cyl"))


def test_a_text_that_was_never_saved_is_a_record_of_its_own(tmp_path):
    write(tmp_path)
    _, came, _ = speak(tmp_path, opens("untitled:Untitled-1", OVERFILLED), until=shows("Untitled-1", "unknown-name"))
    assert any("`H-12`" in each["message"] for each in told_of(came, "Untitled-1"))
    text = HEAD + "cylinder H-12\n  class  carbon-wrapped\n  rated  4500 psi\n  made  2019-06\n" + OVERFILLED
    _, came, _ = speak(
        tmp_path, opens("untitled:Untitled-1", text), until=shows("Untitled-1", "filled-over-test-pressure")
    )
    assert not any("is taken" in each["message"] for each in told_of(came, "Untitled-1"))


def test_what_is_no_file_is_judged_by_nobody(tmp_path):
    """An old revision beside the file would declare everything twice."""
    write(tmp_path)
    uri = "git:" + (tmp_path / "cards.cyl").as_uri().removeprefix("file:") + "?ref=HEAD"
    asked = {"textDocument": {"uri": uri}, "position": {"line": 0, "character": 10}}
    _, came, _ = speak(
        tmp_path,
        opens(uri, "cylinder H-12\n  broken\n"),
        {"id": 2, "method": "textDocument/hover", "params": asked},
        opens((tmp_path / "sheet.cyl").as_uri(), SHEET + "  broken\n"),
        until=shows("sheet.cyl", "unreadable-line"),
    )
    assert told_of(came, uri) == []
    assert next(each for each in came if each.get("id") == 2)["result"] is None
    assert "name-taken" not in rules_of(told_of(came, "cards.cyl"))


def test_a_folder_that_was_renamed_on_disk_is_read_again(tmp_path):
    """By an editor that does not say what has changed, at the next save."""
    write(tmp_path)
    sheet = (tmp_path / "sheet.cyl").as_uri()
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "more.cyl").write_text("broken\n")
    seen = []

    def renamed(message: dict) -> bool:
        if shows("old/more.cyl", "unreadable-line")(message):
            (tmp_path / "old").rename(tmp_path / "new")
            seen.append(message)
        return bool(seen)

    saved = {"method": "textDocument/didSave", "params": {"textDocument": {"uri": sheet}}}
    _, came, _ = speak(
        tmp_path, opens(sheet, SHEET), until=renamed, then=(saved, shows("new/more.cyl", "unreadable-line"))
    )
    assert told_of(came, "old/more.cyl") == [] and "unreadable-line" in rules_of(told_of(came, "new/more.cyl"))


def test_a_folder_that_was_deleted_in_the_editor_shows_nothing_more(tmp_path):
    write(tmp_path)
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "more.cyl").write_text("broken\n")
    seen = []

    def deleted(message: dict) -> bool:
        if shows("old/more.cyl", "unreadable-line")(message):
            shutil.rmtree(tmp_path / "old")
            seen.append(message)
        return bool(seen)

    def is_clear(message: dict) -> bool:
        params = message.get("params", {})
        return params.get("uri", "").endswith("old/more.cyl") and not params["diagnostics"]

    files = {"files": [{"uri": (tmp_path / "old").as_uri()}]}
    speak(tmp_path, until=deleted, then=({"method": "workspace/didDeleteFiles", "params": files}, is_clear))


def test_what_was_pulled_under_open_files_is_read_when_the_editor_says_nothing(tmp_path):
    """Another file that is new, and one that is open: what the editor has of it counts, until it is read again there."""
    write(tmp_path)
    sheet = tmp_path / "sheet.cyl"
    seen = []

    def pulled(message: dict) -> bool:
        if shows("cards.cyl", "test-record-incomplete")(message) and not seen:
            # So late that the disk has been looked at once.
            timer = threading.Timer(4, lambda: [path.write_text("broken\n") for path in (sheet, tmp_path / "new.cyl")])
            timer.start()
            seen.append(message)
        return bool(seen)

    then = (None, shows("new.cyl", "unreadable-line"))
    _, came, _ = speak(tmp_path, opens(sheet.as_uri(), SHEET), until=pulled, then=then)
    assert "unreadable-line" not in rules_of(told_of(came, "sheet.cyl"))


def test_what_was_written_to_the_disk_is_read_when_a_file_is_opened(tmp_path):
    write(tmp_path)
    cards, sheet = (tmp_path / "cards.cyl").as_uri(), (tmp_path / "sheet.cyl").as_uri()
    opened = []

    def pulled(message: dict) -> bool:
        if shows("cards.cyl", "test-record-incomplete")(message) and not opened:
            (tmp_path / "pulled.cyl").write_text("broken\n")
            opened.append(message)
        return bool(opened)

    then = (opens(sheet, SHEET), shows("pulled.cyl", "unreadable-line"))
    _, came, _ = speak(tmp_path, opens(cards, CARDS), until=pulled, then=then)
    assert "unreadable-line" in rules_of(told_of(came, "pulled.cyl"))


def test_what_is_refused_is_an_answer_and_no_fault_of_the_program(tmp_path):
    write(tmp_path)
    sheet = (tmp_path / "sheet.cyl").as_uri()
    at = {"textDocument": {"uri": sheet}, "position": {"line": 1, "character": 10}}
    _, came, _ = speak(
        tmp_path,
        opens(sheet, SHEET),
        {"id": 2, "method": "textDocument/rename", "params": {**at, "newName": "H-13"}},
        {"id": 3, "method": "no/such/method", "params": {}},
        {"method": "$/no/such/message", "params": {}},
    )
    answers = {message["id"]: message for message in came if "id" in message}
    assert answers[2]["error"]["message"] == "`H-13` is taken"
    assert answers[3]["error"]["code"] == -32601
    assert not [each for each in came if "fault of the program" in str(each.get("params"))]
