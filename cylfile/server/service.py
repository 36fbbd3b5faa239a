"""
One editor's server: its desks, places in the protocol's terms, and the findings that it pushes.

Findings are pushed, for open files and for the others of the folder; they are never offered to be
pulled, so that no editor shows them twice.
"""

import asyncio
import gc
import os
from collections.abc import Callable
from operator import is_
from typing import NamedTuple

from lsprotocol import types
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path

from cylfile import __version__
from cylfile.findings.finding import Finding
from cylfile.server import diagnostics
from cylfile.server.follow import settle
from cylfile.server.positions import Positions
from cylfile.server.workspace import Desk, record_folders
from cylfile.text.source import Source, Span

# How long the record is left alone before findings are shown, and before all of it is judged.
AT_ONCE, AT_REST = 0.01, 0.7


class Shown(NamedTuple):
    """What an editor shows of one file: the findings, the text that they are of, and how they look."""

    findings: list[Finding]
    text: str
    problems: list[diagnostics.Problem]


class Service(LanguageServer):
    """One editor's server: a desk for each folder of the editor, and for each folder of a file outside them."""

    def __init__(self):
        super().__init__("cylfile", __version__, text_document_sync_kind=types.TextDocumentSyncKind.Full)
        self.desks: dict[str, Desk] = {}
        self.shows_hints = False
        # Folder of the editor -> the folders of the records that it leads to.
        self._leads_to: dict[str, list[str]] = {}
        # Whether the editor has said that it will end this.
        self.is_ending = False
        # What the editor shows, by folder and path.
        self._shown: dict[str, dict[str, Shown]] = {}
        self._positions: dict[str, tuple[Source, Positions]] = {}
        self._timers: dict[tuple[str, str], asyncio.TimerHandle] = {}
        self._settling: set[str] = set()
        # Version and address of the open files: editors differ in how they write an address.
        self.versions: dict[str, int | None] = {}
        self.uris: dict[tuple[str, str], str] = {}

    def report_server_error(self, error: Exception, source):
        """What goes wrong on the way is said in one line, where the editor keeps its log."""
        self.say(f"a fault of the program ({type(error).__name__}): {error}")

    def say(self, text: str) -> None:
        self.window_log_message(types.LogMessageParams(types.MessageType.Warning, text.split("\n")[0]))

    # Folders and files.

    def desk_of(self, uri: str) -> tuple[Desk, str]:
        """The desk that a file belongs to, and its path there."""
        file = os.path.normpath(to_fs_path(uri) or uri)
        desk = self._desk_around(file)
        if desk is None:
            self.add_folder(os.path.dirname(file))
            desk = self._desk_around(file)
        if desk is None:
            desk = Desk(os.path.dirname(file))
            self._add_desk(desk)
        return desk, desk.path_of(file)

    def _desk_around(self, file: str) -> Desk | None:
        inside = [folder for folder in self.desks if file.startswith(os.path.join(folder, ""))]
        return self.desks[max(inside, key=len)] if inside else self.desks.get(os.path.dirname(file))

    def add_folder(self, folder: str) -> None:
        """Have a desk for each record that a folder leads to."""
        self._leads_to[folder] = record_folders(folder)
        for each in self._leads_to[folder]:
            if each not in self.desks:
                self._add_desk(Desk(each))

    def remove_folder(self, folder: str) -> None:
        """Have no more desks for the records that a folder led to, and show nothing of them."""
        kept = {each for other, folders in self._leads_to.items() if other != folder for each in folders}
        for each in set(self._leads_to.pop(folder, ())) - kept:
            desk = self.desks.pop(each)
            for path in self._shown.pop(each, {}):
                self._push(desk, path, Shown([], "", []))

    def _add_desk(self, desk: Desk) -> None:
        self.desks[desk.folder] = desk
        # What is read and judged here stays, so looking for garbage among it, now or later, would be
        # time wasted; it would be felt at a keystroke.
        gc.disable()
        desk.search()
        desk.follow()
        gc.freeze()
        gc.enable()
        self.changed(desk)

    def source(self, uri: str) -> tuple[Desk, Source | None]:
        desk, path = self.desk_of(uri)
        return desk, desk.source(path)

    def uri_of(self, desk: Desk, path: str) -> str:
        """The address of a file, as the editor writes it where it has done so."""
        return self.uris.get((desk.folder, path)) or from_fs_path(desk.file_of(path)) or path

    # Places.

    def positions(self, source: Source) -> Positions:
        known = self._positions.get(source.path)
        if known is None or known[0].text is not source.text:
            encoding = self.workspace.position_encoding or "utf-16"
            encoding = getattr(encoding, "value", encoding)
            known = self._positions[source.path] = source, Positions(source.text, encoding)
        return known[1]

    def offset(self, source: Source, position: types.Position) -> int:
        return self.positions(source).offset(position.line, position.character)

    def range(self, source: Source, start: int, end: int) -> types.Range:
        positions = self.positions(source)
        return types.Range(types.Position(*positions.position(start)), types.Position(*positions.position(end)))

    def location(self, desk: Desk, span: Span) -> types.Location:
        return types.Location(self.uri_of(desk, span.source.path), self.range(span.source, span.start, span.end))

    def edits(self, desk: Desk, edits: dict[str, list[tuple[int, int, str]]]) -> types.WorkspaceEdit:
        """Texts to put in place of stretches, by path."""
        documents = []
        for path, changes in edits.items():
            source, uri = desk.source(path), self.uri_of(desk, path)
            text_edits = [types.TextEdit(self.range(source, start, end), text) for start, end, text in changes]
            identifier = types.OptionalVersionedTextDocumentIdentifier(uri, self.versions.get(uri))
            documents.append(types.TextDocumentEdit(identifier, text_edits))
        workspace = self.client_capabilities.workspace
        if workspace and workspace.workspace_edit and workspace.workspace_edit.document_changes:
            return types.WorkspaceEdit(document_changes=documents)
        return types.WorkspaceEdit(changes={each.text_document.uri: each.edits for each in documents})

    # Findings.

    def changed(self, desk: Desk) -> None:
        """Something at a desk has changed: show what is found soon, and all of it when it is at rest."""
        self._later(desk, "show", AT_ONCE, self.show)

    def _later(self, desk: Desk, what: str, seconds: float, do: Callable) -> None:
        key = desk.folder, what
        if key in self._timers:
            self._timers.pop(key).cancel()

        def run():
            self._timers.pop(key, None)
            if self.desks.get(desk.folder) is not desk:
                return
            try:
                do(desk)
            except Exception as trouble:
                self.report_server_error(trouble, type(trouble))

        self._timers[key] = asyncio.get_running_loop().call_later(seconds, run)

    def show(self, desk: Desk) -> None:
        """Push the findings of every file of which there are others now."""
        found, shown = desk.findings(), self._shown.setdefault(desk.folder, {})
        for path in sorted(found.keys() | shown.keys()):
            findings = found.get(path, [])
            before = shown.get(path)
            if (
                before is not None
                and len(before.findings) == len(findings)
                and all(map(is_, before.findings, findings))
            ):
                continue
            text = findings[0].span.source.text if findings else ""
            now = Shown(findings, text, [diagnostics.problem(finding) for finding in findings])
            if before is None or (before.text, before.problems) != (now.text, now.problems):
                self._push(desk, path, now)
            if findings:
                shown[path] = now
            else:
                del shown[path]
        if not desk.is_settled:
            self._later(desk, "settle", AT_REST, self._settle)

    def _push(self, desk: Desk, path: str, shown: Shown) -> None:
        uri = self.uri_of(desk, path)
        told = [
            self.diagnostic(desk, finding.span.source, problem)
            for finding, problem in zip(shown.findings, shown.problems)
        ]
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, told, self.versions.get(uri)))

    def diagnostic(self, desk: Desk, source: Source, problem: diagnostics.Problem) -> types.Diagnostic:
        return types.Diagnostic(
            self.range(source, problem.start, problem.end),
            problem.text,
            types.DiagnosticSeverity(problem.severity),
            problem.rule,
            source="cylfile",
            related_information=[
                types.DiagnosticRelatedInformation(self.location(desk, span), remark)
                for span, remark in problem.related
            ]
            or None,
        )

    def _settle(self, desk: Desk) -> None:
        """Judge the whole record beside all else; what comes of it counts if nothing has changed meanwhile."""
        if desk.folder in self._settling:
            self._later(desk, "settle", AT_REST, self._settle)
            return
        self._settling.add(desk.folder)
        done = asyncio.get_running_loop().run_in_executor(None, settle, *desk.question())

        def take(future) -> None:
            self._settling.discard(desk.folder)
            if future.canceled() or future.exception() is not None:
                return
            if desk.answer(future.result()):
                self.show(desk)
            else:
                self._later(desk, "settle", AT_REST, self._settle)

        done.add_done_callback(take)
