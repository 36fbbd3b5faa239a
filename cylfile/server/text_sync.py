"""
Texts of open files as the editor tells of them: whole, or the stretches that have changed.
"""

from collections.abc import Generator, Sequence
from typing import Any

from lsprotocol import types
from pygls.protocol import LanguageServerProtocol, lsp_method

from cylfile.server.positions import column_offset, line_starts


class TextSync(LanguageServerProtocol):
    """
    The protocol without the library's own copies of the texts.

    Those would take as long at every change as the whole text does, and they end lines where the protocol has none.
    """

    def structure_message(self, data: dict) -> Any:
        """A message as the library has it. Raises ValueError where nobody could answer it."""
        if "jsonrpc" in data:
            if not isinstance(data.get("id", 0), (int, str)):
                raise ValueError("its id is neither a number nor a text")
            if not isinstance(data.get("method", ""), str):
                raise ValueError("its method is no text")
        return super().structure_message(data)

    @lsp_method(types.TEXT_DOCUMENT_DID_OPEN)
    def lsp_text_document__did_open(self, params: types.DidOpenTextDocumentParams) -> Generator[Any, Any, None]:
        yield self.fm.features[types.TEXT_DOCUMENT_DID_OPEN], (params,), None

    @lsp_method(types.TEXT_DOCUMENT_DID_CHANGE)
    def lsp_text_document__did_change(self, params: types.DidChangeTextDocumentParams) -> Generator[Any, Any, None]:
        yield self.fm.features[types.TEXT_DOCUMENT_DID_CHANGE], (params,), None

    @lsp_method(types.TEXT_DOCUMENT_DID_CLOSE)
    def lsp_text_document__did_close(self, params: types.DidCloseTextDocumentParams) -> Generator[Any, Any, None]:
        yield self.fm.features[types.TEXT_DOCUMENT_DID_CLOSE], (params,), None


def changed(text: str, changes: Sequence[types.TextDocumentContentChangeEvent], encoding: str) -> str:
    """
    A text after some changes, each of which speaks of what those before it left.

    Columns are in units of `encoding`; a place beyond the end of its line, or of the text, is that end.
    """
    lines = _lines(text)
    for change in changes:
        if not isinstance(change, types.TextDocumentContentChangePartial):
            lines = _lines(change.text)
            continue
        first, before = _place(lines, change.range.start, encoding)
        last, after = max((first, before), _place(lines, change.range.end, encoding))
        new = lines[first][:before] + change.text + lines[last][after:]
        # A carriage return and a line feed that come to stand together are one end of a line.
        if first and lines[first - 1].endswith("\r"):
            first -= 1
            new = lines[first] + new
        if new.endswith("\r") and last + 1 < len(lines):
            last += 1
            new += lines[last]
        found = _lines(new)
        if not found[-1] and last + 1 < len(lines):
            # The text ends with the end of a line, and the next line is there already.
            del found[-1]
        lines[first : last + 1] = found
    return "".join(lines)


def _lines(text: str) -> list[str]:
    """The lines of a text with their ends; the last one has none."""
    starts = line_starts(text)
    return [text[start:end] for start, end in zip(starts, [*starts[1:], len(text)])]


def _place(lines: list[str], position: types.Position, encoding: str) -> tuple[int, int]:
    if position.line >= len(lines):
        return len(lines) - 1, len(lines[-1])
    return position.line, column_offset(lines[position.line].rstrip("\r\n"), position.character, encoding)
