"""
Measures the language server's work as ratios to a full lint, all in one run. Not a test: the figures are for readers.

    python tests/bench/measure_server.py

The record has 100,000 fills in 120 files, and the file that is typed in has 2,000 lines. A keystroke is
timed from the text with it to the list of findings; what the protocol adds is measured apart.
"""

import asyncio
import json
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

FILLS, FILES, LINES, STROKES = 100_000, 120, 2_000, 15


def write_record(folder: Path) -> Path:
    """Write the record; the file of `LINES` lines."""
    from make_record import ROWS_A_SHEET, fill_rows, make_record

    head, *cards = make_record(0).split("\ncylinder ")
    (folder / "head.cyl").write_text(head + "\n")
    for number in range(10):
        text = "".join(f"cylinder {card}\n" for card in cards[number::10])
        (folder / f"cards-{number}.cyl").write_text(text.partition("fill sheet")[0])
    sheets = [f"fill sheet {day}  at st1  on C1  by rowe\n" + "".join(rows) for day, rows in fill_rows(FILLS)]
    big = LINES // (ROWS_A_SHEET + 1) + 1
    typed = folder / "typed.cyl"
    typed.write_text("".join(sheets[-big:]))
    rest, count = sheets[:-big], FILES - 12
    for number in range(count):
        part = rest[len(rest) * number // count : len(rest) * (number + 1) // count]
        (folder / f"fills-{number:03}.cyl").write_text("".join(part))
    return typed


def rows(lines: list[str]) -> list[int]:
    """The numbers of some rows of sheets, from the first to the last."""
    found = [number for number, line in enumerate(lines) if line.startswith(" ")]
    return found[:: len(found) // STROKES][:STROKES]


def full_lint(folder: Path) -> float:
    """Seconds of the processor to read and judge all of it, once the modules are there."""
    from cylfile.server.edited_record import EditedRecord
    from cylfile.server.follow import settle

    start = time.process_time()
    edited = EditedRecord(str(folder))
    assert len(settle(*edited.question()).findings) > 0
    return time.process_time() - start


def keystrokes(folder: Path, typed: Path) -> list[float]:
    """Seconds of the processor from a changed text to all findings, in different lines of the file."""
    from cylfile.server.edited_record import EditedRecord
    from cylfile.server.follow import settle

    edited = EditedRecord(str(folder))
    edited.answer(settle(*edited.question()))
    lines, seconds = typed.read_text().split("\n"), []
    for at in rows(lines):
        lines[at] += "x"
        text = "\n".join(lines)
        start = time.process_time()
        edited.open("typed.cyl", text)
        assert edited.findings()["typed.cyl"]
        seconds.append(time.process_time() - start)
    return seconds


async def over_the_wire(folder: Path, typed: Path) -> tuple[float, list[float]]:
    """Seconds from the start of the server to the first findings, and from each keystroke to those it makes."""
    server = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "cylfile", "serve", cwd=ROOT, limit=1 << 30,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip

    def send(message: dict) -> None:
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        server.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))

    async def until(ready) -> dict:
        while True:
            head = await server.stdout.readuntil(b"\r\n\r\n")
            length = int(head.split(b"Content-Length: ")[1].split(b"\r\n")[0])
            message = json.loads(await server.stdout.readexactly(length))
            if ready(message):
                return message

    start = time.perf_counter()
    send(
        {"id": 1, "method": "initialize", "params": {"processId": None, "rootUri": folder.as_uri(), "capabilities": {}}}
    )
    await until(lambda message: message.get("id") == 1)
    send({"method": "initialized", "params": {}})
    uri, text = typed.as_uri(), typed.read_text()
    send(
        {
            "method": "textDocument/didOpen",
            "params": {"textDocument": {"uri": uri, "languageId": "cyl", "version": 0, "text": text}},
        }
    )
    await until(lambda message: message.get("method") == "textDocument/publishDiagnostics")
    ready, seconds, lines = time.perf_counter() - start, [], text.split("\n")
    for number, at in enumerate(rows(lines), 1):
        lines[at] += "x"
        changed = "\n".join(lines)
        start = time.perf_counter()
        send({"method": "textDocument/didChange",
              "params": {"textDocument": {"uri": uri, "version": number}, "contentChanges": [{"text": changed}]}})  # fmt: skip
        await until(
            lambda message, at=at: (
                message.get("params", {}).get("uri") == uri
                and any(each["range"]["start"]["line"] == at for each in message["params"]["diagnostics"])
            )
        )
        seconds.append(time.perf_counter() - start)
    send({"id": 2, "method": "shutdown"})
    send({"method": "exit"})
    await server.wait()
    return ready, seconds


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        typed = write_record(folder)
        print(
            f"{len(list(folder.iterdir()))} files, {typed.read_text().count(chr(10))} lines in the one that is typed in"
        )
        full_lint(folder)
        lint = full_lint(folder)
        strokes = statistics.median(keystrokes(folder, typed))
        ready, wire = asyncio.run(over_the_wire(folder, typed))
        print(f"full lint                          1      ({lint:.2f} s)")
        print(f"keystroke to findings              1/{lint / strokes:.0f}   ({strokes * 1000:.0f} ms)")
        print(
            f"keystroke to findings in the editor 1/{lint / statistics.median(wire):.0f}   ({statistics.median(wire) * 1000:.0f} ms)"
        )
        print(f"from the start to the first findings {ready / lint:.2f}   ({ready:.2f} s)")


if __name__ == "__main__":
    main()
