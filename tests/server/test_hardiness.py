"""Nothing that is typed and nothing that is sent makes the server fall, or speak out of turn."""

import json
import random
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cylfile.server import actions, formatting, hints, hovering, names, outline
from cylfile.server import ledger_completion as completion
from cylfile.server import pack_features as packs
from cylfile.server.cursor import name_at
from cylfile.server.diagnostics import problem
from support.workspaces import CARDS, HEAD, SHEET, desk_in, write

PACK = 'pack house "Ours"\n  over us-dot\nrule x notice\n  on    filled\n  when  to > 5 psi\n  say   "x {to}"\n  breaks\n    cylinder A\n'
STRAY = '\u202e\x00\r\u2028\ufeff🚒"\\#\t<<<<<<<'


def ask_everything(desk, path: str, offset: int) -> None:
    source = desk.source(path)
    for finding in [finding for found in desk.findings().values() for finding in found]:
        problem(finding)
    if path.endswith(".cylpack"):
        packs.complete(desk, source, offset)
        packs.hover(desk, source, offset)
        return
    completion.complete(desk, source, offset)
    hovering.hover(desk, source, offset)
    name = name_at(source, offset)
    if name is not None:
        names.references(desk, name.text)
        names.definitions(desk, name.text)
    outline.folds(source)
    for symbol in outline.symbols(source):
        assert symbol.block_start <= symbol.start <= symbol.end <= symbol.block_end
    hints.hints(desk, source, 0, len(source.text))
    for action in actions.actions(desk, source, offset, offset):
        assert desk.source(action.path) is not None
    formatting.tidied(desk, source)


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    return desk_in(tmp_path_factory.mktemp("record"))


def test_every_line_can_be_half_typed(desk):
    text = (
        CARDS + SHEET + '2026-03-20  retired H-14 "worn out"\nwaived no-class for H-12 until 2027-01-01 by vance "x"\n'
    )
    for end in range(0, len(text), 5):
        desk.open("new.cyl", text[:end])
        ask_everything(desk, "new.cyl", end)
    desk.close("new.cyl")


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("path, text", (("head.cyl", HEAD), ("cards.cyl", CARDS), ("house.cylpack", PACK)))
def test_every_text_can_be_torn(desk, seed, path, text):
    chance = random.Random(seed)
    for _ in range(6):
        at = chance.randrange(len(text) + 1)
        text = text[:at] + chance.choice(STRAY) * chance.randrange(3) + text[at + chance.randrange(20) :]
        desk.open(path, text)
        ask_everything(desk, path, min(at, len(text)))
    desk.close(path)


@given(st.text(max_size=80), st.integers(0, 80))
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], max_examples=60, deadline=None
)
def test_any_text_at_all(desk, text, offset):
    desk.open("new.cyl", text)
    ask_everything(desk, "new.cyl", min(offset, len(text)))


def frame(message: dict) -> bytes:
    body = json.dumps(message).encode()
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


def frames(output: bytes) -> list[dict]:
    """All messages of an output that holds nothing else."""
    found = []
    while output:
        head, _, rest = output.partition(b"\r\n\r\n")
        lengths = [line for line in head.split(b"\r\n") if line.startswith(b"Content-Length: ")]
        assert len(lengths) == 1, output[:200]
        length = int(lengths[0].removeprefix(b"Content-Length: "))
        found.append(json.loads(rest[:length]))
        output = rest[length:]
    return found


def read_frame(stream) -> dict:
    head = b""
    while not head.endswith(b"\r\n\r\n"):
        head += stream.read(1)
    return json.loads(stream.read(int(head.split(b"Content-Length: ")[1].split(b"\r\n")[0])))


def speak(folder, *messages: dict, end: bool = True, until=None) -> tuple[int, list[dict], bytes]:
    """
    Send messages after the beginning, wait until one comes that is as wanted, then end; the exit
    status, what came, and standard error.
    """
    uri = folder.as_uri()
    begin = {"processId": None, "rootUri": uri, "capabilities": {}, "workspaceFolders": [{"uri": uri, "name": "x"}]}
    sent = [{"id": 1, "method": "initialize", "params": begin}, {"method": "initialized", "params": {}}, *messages]
    last = [{"id": 99, "method": "shutdown"}, {"method": "exit"}] if end else []
    server = subprocess.Popen(
        [sys.executable, "-m", "cylfile", "serve"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    server.stdin.write(b"".join(frame({"jsonrpc": "2.0", **message}) for message in sent))
    server.stdin.flush()
    came = []
    while until is not None and not (came and until(came[-1])):
        came.append(read_frame(server.stdout))
    output, error = server.communicate(b"".join(frame({"jsonrpc": "2.0", **each}) for each in last), timeout=60)
    return server.returncode, [*came, *frames(output)], error


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


def test_an_editor_that_goes_away_ends_the_server(tmp_path):
    write(tmp_path)
    assert speak(tmp_path, {"method": "exit"}, end=False)[::2] == (1, b"")
    assert speak(tmp_path, end=False)[::2] == (1, b"")


def test_without_its_library_it_says_what_to_install(tmp_path):
    (tmp_path / "pygls.py").write_text("raise ModuleNotFoundError(\"No module named 'pygls'\", name='pygls')\n")
    command = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); from cylfile.__main__ import main; sys.exit(main(['serve']))"
    run = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert run.returncode == 2 and "pip install cylfile[editor]" in run.stderr and run.stderr.count("\n") == 1


def test_what_is_installed_besides_is_not_imported_by_other_commands():
    code = "import sys; from cylfile.__main__ import main; main(['--help']); print([m for m in sys.modules if 'pygls' in m])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.stdout.endswith("[]\n")
