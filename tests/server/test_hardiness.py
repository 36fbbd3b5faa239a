"""Nothing that is typed and nothing that is sent makes the server fall, or speak out of turn."""

import io
import json
import random
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cylfile.cannot import CannotDo
from cylfile.server import (
    actions,
    formatting,
    hints,
    hovering,
    names,
    outline,
    pack_completion,
    pack_hovering,
    pack_names,
    selection,
    semantic_tokens,
)
from cylfile.server import ledger_completion as completion
from cylfile.server.cursor import name_at
from cylfile.server.diagnostics import problem
from cylfile.server.serving import _Messages
from cylfile.server.signature import signature
from support.language_client import frame, read_frame, speak
from support.workspaces import CARDS, HEAD, SHEET, edited_in, write

PACK = 'pack house "Ours"\n  over us-dot\nrule x notice\n  on    filled\n  when  to > 5 psi\n  say   "x {to}"\n  breaks\n    cylinder A\n'
STRAY = '\u202e\x00\r\u2028\ufeff🚒"\\#\t<<<<<<<'


def one_after_the_other(source, stretches) -> None:
    at = 0
    for start, end, _ in stretches:
        assert at <= start < end and "\n" not in source.text[start:end]
        at = end


def ask_everything(edited, path: str, offset: int) -> None:
    source = edited.source(path)
    for finding in [finding for found in edited.findings().values() for finding in found]:
        problem(finding)
    is_pack = path.endswith(".cylpack")
    named = pack_names.mention_at(source, offset, is_pack)
    if named is not None:
        pack_names.highlights(source, named, is_pack)
        pack_names.references(edited, source, named)
    for each in pack_names.packs_named(source, is_pack):
        pack_names.file_of_pack(edited, source, each, is_pack)
    inner = (offset, offset)
    for stretch in selection.selections(source, offset):
        assert stretch[0] <= inner[0] and inner[1] <= stretch[1]
        inner = stretch
    if is_pack:
        pack_completion.complete(edited, source, offset)
        pack_hovering.hover(edited, source, offset)
        outline.pack_symbols(source)
        one_after_the_other(source, semantic_tokens.pack_tokens(edited, source))
        return
    one_after_the_other(source, semantic_tokens.ledger_tokens(edited, source))
    signature(source, offset)
    completion.complete(edited, source, offset)
    hovering.hover(edited, source, offset)
    name = name_at(source, offset)
    if name is not None:
        names.references(edited, name.text)
        names.definitions(edited, name.text)
    outline.folds(source)
    for symbol in outline.symbols(source):
        assert symbol.block_start <= symbol.start <= symbol.end <= symbol.block_end
        for inside in symbol.inside:
            assert symbol.block_start <= inside.start <= inside.end <= symbol.block_end
    hints.hints(edited, source, 0, len(source.text))
    for action in actions.actions(edited, source, offset, offset):
        assert edited.source(action.path) is not None
    formatting.neatened(edited, source)
    formatting.neatened_line(edited, source, offset)


@pytest.fixture(scope="module")
def edited(tmp_path_factory):
    return edited_in(tmp_path_factory.mktemp("record"))


def test_every_line_can_be_half_typed(edited):
    text = (
        CARDS + SHEET + '2026-03-20  retired H-14 "worn out"\nwaived no-class for H-12 until 2027-01-01 by vance "x"\n'
    )
    for end in range(0, len(text), 5):
        edited.open("new.cyl", text[:end])
        ask_everything(edited, "new.cyl", end)
    edited.close("new.cyl")


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("path, text", (("head.cyl", HEAD), ("cards.cyl", CARDS), ("house.cylpack", PACK)))
def test_every_text_can_be_torn(edited, seed, path, text):
    chance = random.Random(seed)
    for _ in range(6):
        at = chance.randrange(len(text) + 1)
        text = text[:at] + chance.choice(STRAY) * chance.randrange(3) + text[at + chance.randrange(20) :]
        edited.open(path, text)
        ask_everything(edited, path, min(at, len(text)))
    edited.close(path)


@given(st.text(max_size=80), st.integers(0, 80))
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], max_examples=60, deadline=None
)
def test_any_text_at_all(edited, text, offset):
    edited.open("new.cyl", text)
    ask_everything(edited, "new.cyl", min(offset, len(text)))


def test_the_output_is_frames_and_nothing_else(tmp_path):
    write(tmp_path)
    uri = (tmp_path / "sheet.cyl").as_uri()
    document = {"uri": uri, "languageId": "cyl", "version": 1, "text": "\x00\ud83d\ude92 \u202e\n" + SHEET[:70]}
    strange = {"textDocument": {"uri": "untitled:x"}, "position": {"line": 9999, "character": 9999}}
    status, came, error = speak(
        tmp_path,
        {"method": "textDocument/didOpen", "params": {"textDocument": document}},
        {"id": 2, "method": "textDocument/hover", "params": strange},
        {"id": 3, "method": "textDocument/completion", "params": {**strange, "textDocument": {"uri": uri}}},
        {"id": 4, "method": "no/such/method", "params": {}},
        {"id": 5, "method": "textDocument/formatting", "params": {"textDocument": {"uri": uri}, "options": {"tabSize": 2, "insertSpaces": True}}},
    )  # fmt: skip
    assert status == 0 and error == b""
    answers = {message["id"]: message for message in came if "id" in message}
    assert answers[2]["result"] is None and "error" in answers[4]
    assert "result" in answers[3] and "result" in answers[5]
    assert "Traceback" not in json.dumps(came)


def test_an_address_is_written_as_the_editor_writes_it(tmp_path):
    """Two ways to write one file's address would be two files to the editor, one of them with findings for ever."""
    write(tmp_path)
    uri = (tmp_path / "sheet.cyl").as_uri().replace("sheet.cyl", "sh%65et.cyl")
    document = {"uri": uri, "languageId": "cyl", "version": 7, "text": SHEET + "  broken\n"}
    told = []

    def is_of_sheet(message: dict) -> bool:
        params = message.get("params", {})
        if message.get("method") == "textDocument/publishDiagnostics" and params["uri"].endswith("et.cyl"):
            told.append(params)
        return any(each["code"] == "unreadable-line" for params in told for each in params["diagnostics"])

    speak(tmp_path, {"method": "textDocument/didOpen", "params": {"textDocument": document}}, until=is_of_sheet)
    assert told[-1]["uri"] == uri and told[-1]["version"] == 7


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ("Content-Length: 99999999999\r\n\r\n{}", "a message of 99999999999 bytes, and the longest has 268,435,456"),
        (f"content-length:{'9' * 5000}\r\n\r\n{{}}", "where a message begins|bytes, and the longest"),
        ('Content-Type: x\r\n\r\n{"id": 1}', "a message without its Content-Length; start the server again"),
        ("Content-Length: -5\r\n\r\n{}", "a message without its Content-Length"),
        ('{"jsonrpc": "2.0"}\n', 'sends b\'{"jsonrpc": "2.0"}\' where a message begins'),
    ],
)
def test_where_no_message_begins_it_ends_with_a_word(sent, told):
    messages = _Messages(io.BytesIO(sent.encode()))
    with pytest.raises(CannotDo, match=told):
        while messages.readline():
            pass


def test_a_head_is_read_in_any_letters():
    messages = _Messages(io.BytesIO(b"content-type: x\r\ncontent-length:2\r\n\r\n{}"))
    lines = [messages.readline() for _ in range(3)]
    assert lines == [b"content-type: x\r\n", b"Content-Length: 2\r\n", b"\r\n"] and messages.read(2) == b"{}"


def test_an_editor_that_goes_away_ends_the_server(tmp_path):
    write(tmp_path)
    assert speak(tmp_path, {"method": "exit"}, end=False)[::2] == (1, b"")
    assert speak(tmp_path, end=False)[::2] == (1, b"")


def test_an_editor_that_is_killed_ends_the_server_though_its_line_is_held_open(tmp_path):
    write(tmp_path)
    editor = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    server = subprocess.Popen([sys.executable, "-m", "cylfile", "serve"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    begin = {"processId": editor.pid, "capabilities": {}, "rootUri": tmp_path.as_uri()}
    server.stdin.write(frame({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": begin}))
    server.stdin.flush()
    assert read_frame(server.stdout)["id"] == 1 and server.poll() is None
    editor.kill()
    editor.wait()
    assert server.wait(timeout=60) == 1
    server.stdin.close()
    server.stdout.close()


def test_without_its_library_it_says_what_to_install(tmp_path):
    (tmp_path / "pygls.py").write_text("raise ModuleNotFoundError(\"No module named 'pygls'\", name='pygls')\n")
    command = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); from cylfile.__main__ import main; sys.exit(main(['serve']))"
    run = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert run.returncode == 2 and "extra `editor`" in run.stderr and run.stderr.count("\n") == 1


def test_what_is_installed_besides_is_not_imported_by_other_commands():
    code = "import sys; from cylfile.__main__ import main; main(['--help']); print([m for m in sys.modules if 'pygls' in m])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.stdout.endswith("[]\n")
