"""What damaged input has found once, and that the search for it finds what it is there for."""

from pathlib import Path

import pytest

from cylfile.text import ledger
from support import hostile_trials
from support.hostile_trials import LONGEST, TRIALS, Hang, at_most

CORPUS = sorted(Path(__file__).with_name("corpus").iterdir())
LEDGER = b"cylinder K-1\n  class  dot-3aa\n  2024-01-01  gauged  4000 psi\n      at 68 F\n  2024-01-02  emptied\n"


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.name)
def test_what_was_found_once_is_found_no_more(path):
    """The ending of a file is the trial that found it."""
    with at_most(LONGEST):
        TRIALS[path.suffix[1:]](path.read_bytes())


def test_a_planted_exception_is_found(monkeypatch):
    def stumble(source):
        raise KeyError("planted")

    monkeypatch.setattr(hostile_trials, "read_pack", stumble)
    with pytest.raises(KeyError):
        TRIALS["pack"](b"pack own\n")


def test_a_planted_hang_is_found_whatever_catches_exceptions(monkeypatch):
    def hang(source):
        while True:
            try:
                sum(range(1000))
            except Exception:
                pass

    monkeypatch.setattr(hostile_trials, "read_pack", hang)
    with pytest.raises(Hang), at_most(0.05):
        TRIALS["pack"](b"pack own\n")


@pytest.mark.parametrize("name", ["_line", "_continuation", "_own_line"])
def test_a_planted_loss_is_found(monkeypatch, name):
    """A line that is passed over in the block finder, one that goes on with another, one of a block."""
    TRIALS["ledger-read"](LEDGER)
    monkeypatch.setattr(ledger.LedgerReader, "blocks", _slow_blocks)
    real = getattr(ledger.LedgerReader, name)

    def pass_over(reader, at, *more):
        if (
            at
            and "at 68" in reader.text[at : reader.source.line_end(at)]
            or name == "_own_line"
            and "emptied" in reader.text[at : more[0]]
        ):
            return reader._after(at)
        return real(reader, at, *more)

    monkeypatch.setattr(ledger.LedgerReader, name, pass_over)
    with pytest.raises(AssertionError, match="lost"):
        TRIALS["ledger-read"](LEDGER)


def _slow_blocks(reader, start=0, end=None):
    """The blocks between two offsets, each line looked at by itself."""
    at, end = start, len(reader.text) if end is None else end
    while at < end:
        at = reader._line(at)
        if reader._whole is not None:
            yield reader._whole
            reader._whole = None
    yield reader.block


def test_a_planted_loss_of_a_row_is_found(monkeypatch):
    real = hostile_trials.take_in
    monkeypatch.setattr(hostile_trials, "take_in", lambda rows, *more: real(rows[1:], *more))
    with pytest.raises(AssertionError, match="1 rows are lost"):
        TRIALS["table"](hostile_trials._EXPORT)
