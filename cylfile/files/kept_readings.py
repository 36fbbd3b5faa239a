"""
What long files of a record say, kept from one run of the program to the next, so that a question of the day need not wait
until twenty years are read again.

It is kept for whoever runs the program, in the folder that the system has for what may be deleted at any time. A reading
is believed only for the very text that it was made of, by the very program that made it, and only where nothing of it has
changed since. Who checks a record reads what is written there: `lint`, `seal`, `compare` and `publish` know of no kept reading.
"""

import os
import sys
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from hashlib import sha256

from cylfile.record.file_reader import FileReader
from cylfile.text.grammar import read_grammar
from cylfile.text.ledger import LEDGER
from cylfile.text.made import program_of
from cylfile.text.source import Source

# Shorter ones are read as fast as they are looked for.
_LONG = 20_000
# So many are kept at most; then the older half goes.
_MOST = 5_000
_DIGEST = 32


def add_kept(readings: dict[Source, FileReader], sources: Iterable[Source]) -> None:
    """Add what each long one of some sources says, where it is not among `readings`: as it was kept, else read and kept from now on."""
    wanted = [source for source in sources if len(source.text) >= _LONG and source not in readings]
    folder = _folder() if wanted else None
    if folder is None:
        return
    # Many records have no long file.
    from cylfile.record.packing import pack

    for source in wanted:
        path = os.path.join(folder, sha256(os.path.abspath(source.path).encode(errors="surrogateescape")).hexdigest())
        key = sha256(_program() + source.text.encode(errors="surrogatepass")).digest()
        reading = _kept(path, key, source)
        if reading is None:
            reading = FileReader(source).read()
            _keep(path, key, pack(reading, [source]))
        readings[source] = reading


def _kept(path: str, key: bytes, source: Source) -> FileReader | None:
    """The reading that stands in a file, where it is that of the source and whole."""
    from cylfile.record.packing import OF_FILES, unpack

    try:
        with open(path, "rb") as file:
            if file.read(_DIGEST) != key:
                return None
            digest, packed = file.read(_DIGEST), file.read()
    except OSError:
        return None
    if sha256(key + packed).digest() != digest:
        return None
    try:
        reading = unpack(packed, [source], OF_FILES)
    except Exception:
        # Somebody made it up: whatever is wrong with it, the source is read.
        return None
    return reading if isinstance(reading, FileReader) else None


def _keep(path: str, key: bytes, packed: bytes) -> None:
    """Put a reading in its place, whole; where that cannot be done, the next run reads the source again."""
    unfinished = f"{path}.{os.getpid()}"
    with suppress(OSError):
        _make_room(os.path.dirname(path))
        with open(unfinished, "xb") as file:
            file.write(key + sha256(key + packed).digest() + packed)
        os.replace(unfinished, path)


def _make_room(folder: str) -> None:
    if len(os.listdir(folder)) >= _MOST:
        with os.scandir(folder) as found:
            by_age = sorted(found, key=lambda each: each.stat().st_mtime)
        for each in by_age[: _MOST // 2]:
            os.remove(each.path)


def _folder() -> str | None:
    """Where readings are kept; None where nothing can be, or where others than whoever runs the program may write."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or os.path.expanduser("~")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    folder = os.path.join(base, "cylfile", "readings")
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        made = os.stat(folder)
    except OSError:
        return None
    is_ours = sys.platform == "win32" or (made.st_uid == os.getuid() and not made.st_mode & 0o022)
    return folder if is_ours else None


@cache
def _program() -> bytes:
    """What a reading hangs on besides the text: all that reads, the grammar, and the Python that runs it."""
    grammar = map(read_grammar, ("words.lark", LEDGER.file_name))
    return sha256(b"".join((sys.version.encode(), *map(program_of, ("text", "record")), *grammar))).digest()
