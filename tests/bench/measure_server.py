"""
Measures what a keystroke costs the language server, over the wire: a real `cylfile serve` on pipes. Not a test.

    python tests/bench/measure_server.py                   the varied record at 10,000 and 100,000 entries
    python tests/bench/measure_server.py --entries 30000 --only "sheet row" "person"

In the largest file of each sort a letter is typed that makes a line wrong, and taken back, at several places; each is
sent as an editor does, and counts until its findings have come. Then a figure is changed, and nothing is typed until
the server has judged all that this concerns and does no more. Figures are milliseconds of the server's processor, of
all its threads, and of the clock: the median and the worst of the keystrokes, and from the change of the figure to the
last message. At last 2,000 rows are pasted, taken back, and a file of 2,000 lines is formatted. Linux only.
"""

import argparse
import asyncio
import json
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from varied import write  # noqa: E402

# What is typed in: the files of which the largest is taken, and where in it, at the group of an expression.
PLACES = {
    "sheet row": ("fills/*.cyl", r"^  .*? to ()\d+ psi"),
    "sheet header": ("fills/*.cyl", r"^fill sheet \d+-\d+-()\d+"),
    "loose line": ("loose/*.cyl", r"^2.* to ()\d+ psi"),
    "card head": ("cards/*.cyl", r"^  made +20()\d\d-"),
    "card name": ("cards/*.cyl", r"^cylinder K-()\d+"),
    "card entry": ("cards/*.cyl", r"^  2.*filled.* to ()\d+ psi"),
    "person": ("department.cyl", r"^  fills +20()\d+-"),
    "source entry": ("air.cyl", r"^  2.*air sample pass.* CO2 ()\d+ ppm"),
    "source fill": ("air.cyl", r"^  2.*filled  to ()\d+ psi"),
    "source head": ("air.cyl", r"^  rated +()\d+"),
}
STROKES_AT = 5
# Nothing is going on where the processor was hardly used for so many seconds.
QUIET = 1.0
LINES = 2_000


class Server:
    """A server on pipes, and what it has said."""

    async def start(self, folder: Path) -> None:
        self.process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "cylfile", "serve", cwd=ROOT, limit=1 << 30,
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
        )  # fmt: skip
        # The clock of the processor's time of another process, as `clock_getcpuclockid` has it.
        self._clock = (~self.process.pid << 3) | 2
        self.arrived: asyncio.Queue[dict] = asyncio.Queue()
        self._reading = asyncio.create_task(self._read())
        self._requests = 0
        await self.ask("initialize", {"processId": None, "rootUri": folder.as_uri(), "capabilities": {}})
        self.tell("initialized", {})

    async def _read(self) -> None:
        while True:
            head = await self.process.stdout.readuntil(b"\r\n\r\n")
            length = int(head.split(b"Content-Length: ")[1].split(b"\r\n")[0])
            message = json.loads(await self.process.stdout.readexactly(length))
            message["came"] = time.perf_counter()
            self.arrived.put_nowait(message)

    def _send(self, message: dict) -> None:
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))

    def tell(self, method: str, params: dict) -> None:
        self._send({"method": method, "params": params})

    async def ask(self, method: str, params: dict | None) -> object:
        self._requests += 1
        number = self._requests
        self._send({"id": number, "method": method, "params": params})
        return (await self.until(lambda message: message.get("id") == number and "method" not in message))["result"]

    async def until(self, ready: Callable[[dict], bool]) -> dict:
        while True:
            message = await self.arrived.get()
            if ready(message):
                return message

    async def findings(self, uri: str, version: int) -> None:
        """Until the findings of this version of a file have come."""

        def are_they(message: dict) -> bool:
            params = message.get("params") or {}
            is_of = message.get("method") == "textDocument/publishDiagnostics" and params["uri"] == uri
            return is_of and params.get("version") == version

        await self.until(are_they)

    def processor(self) -> float:
        """Seconds of the processor that it has taken until now."""
        return time.clock_gettime(self._clock)

    async def rest(self) -> float:
        """Until it does no more; the moment when the last message came, or that of the question."""
        last = time.perf_counter()
        used, since = self.processor(), time.perf_counter()
        while time.perf_counter() - since < QUIET:
            await asyncio.sleep(0.05)
            if (now := self.processor()) - used > 0.01:
                used, since = now, time.perf_counter()
        while not self.arrived.empty():
            last = self.arrived.get_nowait()["came"]
        return last

    async def end(self) -> None:
        await self.ask("shutdown", None)
        self.tell("exit", {})
        await self.process.wait()
        self._reading.cancel()


class File:
    """A file that is open, and typed in."""

    def __init__(self, server: Server, path: Path, text: str | None = None):
        self.server, self.uri, self.version = server, path.as_uri(), 0
        self.text = path.read_text() if text is None else text

    async def open(self) -> None:
        item = {"uri": self.uri, "languageId": "cyl", "version": 0, "text": self.text}
        self.server.tell("textDocument/didOpen", {"textDocument": item})
        await self.server.rest()

    def _position(self, offset: int) -> dict:
        start = self.text.rfind("\n", 0, offset) + 1
        return {"line": self.text.count("\n", 0, offset), "character": offset - start}

    def change(self, start: int, end: int, new: str) -> None:
        """Replace a stretch."""
        self.version += 1
        place = {"start": self._position(start), "end": self._position(end)}
        self.text = self.text[:start] + new + self.text[end:]
        changes = [{"range": place, "text": new}]
        document = {"uri": self.uri, "version": self.version}
        self.server.tell("textDocument/didChange", {"textDocument": document, "contentChanges": changes})

    async def put(self, start: int, end: int, new: str) -> tuple[float, float]:
        """Replace a stretch; the seconds of the processor and of the clock until its findings have come."""
        processor, clock = self.server.processor(), time.perf_counter()
        self.change(start, end, new)
        await self.server.findings(self.uri, self.version)
        return self.server.processor() - processor, time.perf_counter() - clock


def largest(folder: Path, pattern: str) -> Path:
    return max(folder.glob(pattern), key=lambda path: path.read_text().count("\n"))


def row(name: str, figures: list[tuple[float, float]], at_rest: tuple[float, float] | None = None) -> str:
    processor, clock = ([1000 * each for each in one] for one in zip(*figures))
    cells = [f"{statistics.median(processor):.0f}", f"{max(processor):.0f}"]
    cells += [f"{statistics.median(clock):.0f}", f"{max(clock):.0f}"]
    cells += [f"{1000 * each:.0f}" for each in at_rest or ()]
    return f"{name:16}" + "".join(f"{cell:>9}" for cell in cells)


async def typed_in(server: Server, folder: Path, name: str) -> str:
    """Type at the places of one sort; the row of the table."""
    files, expression = PLACES[name]
    file = File(server, largest(folder, files))
    await file.open()
    places = [found.start(1) for found in re.finditer(expression, file.text, re.MULTILINE)]
    strokes = []
    for at in places[len(places) // 10 :: max(1, len(places) // STROKES_AT)][:STROKES_AT]:
        strokes += [await file.put(at, at, "x"), await file.put(at, at + 1, "")]
    await server.rest()
    figure, processor, clock = file.text[at], server.processor(), time.perf_counter()
    file.change(at, at + 1, "1" if figure == "2" else "2")
    last = await server.rest()
    paused = server.processor() - processor, max(0.0, last - clock)
    file.change(at, at + 1, figure)
    await server.rest()
    return row(name, strokes, paused)


async def large_edits(server: Server, folder: Path) -> list[str]:
    """Paste 2,000 rows into the largest sheet file, take them back, and format a file of as many lines."""
    file = File(server, largest(folder, "fills/*.cyl"))
    await file.open()
    head, *rows = re.findall(r"^fill sheet.*\n|^  .*\d psi.*\n", file.text, re.MULTILINE)
    block = "".join([head, *(row for row in rows if row[0] == " ")][: LINES + 1])
    end, rows_of_table = len(file.text), []
    for name, change in (("paste of 2,000", (end, end, block)), ("undo of it", (end, end + len(block), ""))):
        figures = await file.put(*change)
        processor, clock = server.processor(), time.perf_counter()
        last = await server.rest()
        rows_of_table.append(row(name, [figures], (server.processor() - processor, max(0.0, last - clock))))
    lines = file.text.splitlines(keepends=True)[:LINES]
    untidy = File(server, folder / "untidy.cyl", "".join(line.replace("  to ", "    to ") for line in lines))
    await untidy.open()
    asked = {"textDocument": {"uri": untidy.uri}, "options": {"tabSize": 2, "insertSpaces": True}}
    processor, clock = server.processor(), time.perf_counter()
    edits = await server.ask("textDocument/formatting", asked)
    figures = server.processor() - processor, time.perf_counter() - clock
    return [*rows_of_table, row(f"format, {len(edits or ()):,} edits", [figures])]


async def measure(entries: int, names: list[str]) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        write(folder, entries, seed=1, wrong=0.04)
        server, clock = Server(), time.perf_counter()
        await server.start(folder)
        await server.until(lambda message: message.get("method") == "textDocument/publishDiagnostics")
        ready, processor = time.perf_counter() - clock, server.processor()
        await server.rest()
        print(f"{entries:,} entries: first findings after {ready:.1f} s, {processor:.1f} s of the processor")
        print(f"{'milliseconds':16}{'processor':>9}{'worst':>9}{'clock':>9}{'worst':>9}{'at rest':>9}{'clock':>9}")
        for name in names:
            print(await typed_in(server, folder, name), flush=True)
        for line in await large_edits(server, folder):
            print(line, flush=True)
        print()
        await server.end()


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[1])
    options.add_argument("--entries", type=int, nargs="+", default=[10_000, 100_000])
    options.add_argument("--only", nargs="+", default=list(PLACES), choices=list(PLACES), metavar="PLACE")
    asked = options.parse_args()
    for entries in asked.entries:
        asyncio.run(measure(entries, asked.only))


if __name__ == "__main__":
    main()
