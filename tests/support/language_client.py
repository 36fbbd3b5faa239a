"""The least client of the language server: frames on its input and output, and nothing else."""

import contextlib
import json
import subprocess
import sys
import threading


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
        one = stream.read(1)
        assert one, "the server ended, or what was waited for did not come in time"
        head += one
    return json.loads(stream.read(int(head.split(b"Content-Length: ")[1].split(b"\r\n")[0])))


def speak(folder, *messages: dict, end: bool = True, until=None, then=None) -> tuple[int, list[dict], bytes]:
    """
    Send messages after the beginning, wait until one comes that is as wanted, then end; the exit
    status, what came, and standard error. `folder` is the one that the editor has open, None for none.
    `then` are one more message, None for none, and what is waited for after it.
    """
    begin: dict = {"processId": None, "capabilities": {}, "rootUri": None, "workspaceFolders": None}
    if folder is not None:
        uri = folder.as_uri()
        begin |= {"rootUri": uri, "workspaceFolders": [{"uri": uri, "name": "x"}]}
    sent = [{"id": 1, "method": "initialize", "params": begin}, {"method": "initialized", "params": {}}, *messages]
    last = [{"id": 99, "method": "shutdown"}, {"method": "exit"}] if end else []
    server = subprocess.Popen(
        [sys.executable, "-m", "cylfile", "serve"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    limit = threading.Timer(120, server.kill)
    limit.start()
    server.stdin.write(b"".join(frame({"jsonrpc": "2.0", **message}) for message in sent))
    server.stdin.flush()
    came = []
    while until is not None and not (came and until(came[-1])):
        came.append(read_frame(server.stdout))
    if then is not None:
        message, wanted = then
        if message is not None:
            server.stdin.write(frame({"jsonrpc": "2.0", **message}))
            server.stdin.flush()
        while not wanted(came[-1]):
            came.append(read_frame(server.stdout))
    # Not `communicate`: it would pass over what came beside the last message and waits in the buffer.
    with contextlib.suppress(BrokenPipeError):
        server.stdin.write(b"".join(frame({"jsonrpc": "2.0", **each}) for each in last))
        server.stdin.close()
    output, error = server.stdout.read(), server.stderr.read()
    server.wait(timeout=60)
    limit.cancel()
    return server.returncode, [*came, *frames(output)], error


def opens(uri: str, text: str, language: str = "cyl") -> dict:
    """The message that a file is open."""
    document = {"uri": uri, "languageId": language, "version": 1, "text": text}
    return {"method": "textDocument/didOpen", "params": {"textDocument": document}}


def told_of(came: list[dict], end_of_uri: str) -> list[dict]:
    """The findings of a file that were shown last."""
    told = [each["params"] for each in came if each.get("method") == "textDocument/publishDiagnostics"]
    return next((each["diagnostics"] for each in reversed(told) if each["uri"].endswith(end_of_uri)), [])
