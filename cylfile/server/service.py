"""
One editor's server: its records, places in the protocol's terms, and the findings that it pushes.

Findings are pushed, for open files and for the others of the folder; they are never offered to be
pulled, so that no editor shows them twice.
"""

import asyncio
import gc
import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import lru_cache
from time import monotonic
from typing import Any, NamedTuple

from lsprotocol import types
from pygls.exceptions import FeatureNotificationError, FeatureRequestError, JsonRpcException
from pygls.lsp.server import LanguageServer
from pygls.protocol import default_converter
from pygls.uris import from_fs_path, to_fs_path

from cylfile import __version__
from cylfile.cannot import CannotDo
from cylfile.files.ledger_files import real_path
from cylfile.files.open_files import OpenFiles, Unsaved
from cylfile.files.records import find_records, home_of
from cylfile.files.tree import FILE, FOLDER, PACK_ENDING, is_within
from cylfile.findings.finding import Finding
from cylfile.server import diagnostics
from cylfile.server.disk_marks import marks
from cylfile.server.edited_record import EditedRecord
from cylfile.server.follow import Overtaken, settle
from cylfile.server.positions import Positions
from cylfile.server.reading_shown import ReadingShown
from cylfile.server.rule_texts import RuleTexts
from cylfile.server.text_sync import TextSync, changed
from cylfile.text.source import Source, Span

# How long the record is left alone before findings are shown, and before all of it is judged.
AT_ONCE, AT_REST = 0.01, 0.7
# How long an editor says nothing before the disk is looked at, and how many times as long as that look takes pass
# before the next one. How often it is looked whether the editor is still there.
IDLE, LOOKS_APART = 2.0, 20
ALIVE = 2.0
# What the library calls the troubles that it has with messages.
_OF_MESSAGES = (FeatureRequestError, FeatureNotificationError)


class Shown(NamedTuple):
    """What an editor shows of one file: the findings, the text that they are of, and how they look."""

    findings: list[Finding]
    text: str
    problems: list[diagnostics.Problem]


# Asked for every finding of a file, and of few files.
_address = lru_cache(maxsize=4_096)(from_fs_path)


def _is_alive(process: int) -> bool:
    if os.name == "nt":
        # There, asking would end it.
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        # It is somebody else's, or a number that no process has, which tells nothing of the editor.
        pass
    return True


def _converter() -> Any:
    """The library's, which leaves diagnostics as they were made."""
    converter = default_converter()
    converter.register_unstructure_hook(types.Diagnostic, lambda told: told)
    return converter


class Service(LanguageServer):
    """One editor's server, with a record for all files that belong together."""

    def __init__(self) -> None:
        super().__init__(
            "cylfile",
            __version__,
            types.TextDocumentSyncKind.Incremental,
            protocol_cls=TextSync,
            converter_factory=_converter,
        )
        # By the folder of the record, or by the file where that is a record of its own.
        self.records: dict[str, EditedRecord] = {}
        self.shows_hints = False
        self.reading = ReadingShown(self)
        # Whether the editor has begun as it has to, and whether it has said that it will end this.
        self.is_begun = False
        self.is_ending = False
        # The texts of all open files, by their paths on disk; the folders that the editor has open.
        self._texts: dict[str, str] = {}
        self._folders: list[str] = []
        # Address of a file -> its record, and its path there.
        self._belongs: dict[str, tuple[EditedRecord, str]] = {}
        # The records as they were dealt out before, while they are dealt out again.
        self._before: dict[str, EditedRecord] = {}
        # What the editor shows, by record and path.
        self._shown: dict[EditedRecord, dict[str, Shown]] = {}
        self._positions: dict[str, tuple[Source, Positions]] = {}
        self._timers: dict[tuple[EditedRecord, str], asyncio.TimerHandle] = {}
        self._settling: set[EditedRecord] = set()
        self._told: set[str] = set()
        # Text and version of each open file, by its address, and the address as the editor writes it, for editors differ.
        self._open: dict[str, str] = {}
        self.versions: dict[str, int | None] = {}
        # When the editor last said something, and what the disk was like when it was last looked at.
        self._idle_from = 0.0
        self._marks: frozenset[tuple[str, int, int]] = frozenset()
        self._uris: dict[tuple[EditedRecord, str], str] = {}

    def report_server_error(self, error: Exception, source):
        """What goes wrong on the way is said in one line, where the editor keeps its log; an answer is no fault."""
        if source is JsonRpcException or (source in _OF_MESSAGES and not isinstance(error, JsonRpcException)):
            self.say(f"a message of the editor cannot be understood, and was passed over ({error})")
        elif not isinstance(error, JsonRpcException):
            self.say(f"a fault of the program ({type(error).__name__}): {error}")

    def say(self, text: str) -> None:
        self.window_log_message(types.LogMessageParams(types.MessageType.Warning, text.split("\n")[0]))

    # Folders and files.

    def belongs(self, uri: str) -> tuple[EditedRecord, str] | None:
        """
        The record that a file belongs to, and its path there.

        None for what is neither a file nor a text that was never saved, such as an old revision: nobody judges it.
        """
        known = self._belongs.get(uri)
        if known is None:
            scheme = uri.partition(":")[0]
            if scheme == "untitled":
                known = (
                    self._record(
                        uri, lambda: EditedRecord("", Unsaved(self._texts), (uri, FILE), reading=self.reading.of)
                    ),
                    uri,
                )
            elif scheme == "file" and "\0" not in (to_fs_path(uri) or ""):
                file = os.path.normpath(to_fs_path(uri) or uri)
                record = self._around(file)
                known = record, record.path_of(file)
            else:
                return None
            self._belongs[uri] = known
        return known

    def _around(self, file: str) -> EditedRecord:
        """The record around a file; where there is none, that of the editor's folder, or the file by itself."""
        real, folder = real_path(file), os.path.dirname(file)
        home = home_of(OpenFiles(self._texts), real)
        if home is not None:
            # By the way that the editor goes, where links lead there.
            while real_path(folder) != home and os.path.dirname(folder) != folder:
                folder = os.path.dirname(folder)
            return self._in_folder(folder if real_path(folder) == home else home)
        around = [each for each in self._folders if is_within(real, real_path(each))]
        if around:
            return self._in_folder(max(around, key=len))
        place = None if file.endswith(PACK_ENDING) else (real, FILE)
        return self._record(file, lambda: self._new(folder, real_path(folder), place))

    def _in_folder(self, folder: str) -> EditedRecord:
        real = real_path(folder)
        return self._record(real, lambda: self._new(folder, real, (real, FOLDER)))

    def _new(self, folder: str, real: str, place: tuple[str, str] | None) -> EditedRecord:
        return EditedRecord(folder, OpenFiles(self._texts, real), place, reading=self.reading.of)

    def _record(self, key: str, make: Callable[[], EditedRecord]) -> EditedRecord:
        if key not in self.records:
            known = self._before.get(key)
            self.records[key] = record = make() if known is None else known
            record.search()
            self.changed(record)
        return self.records[key]

    def add_folder(self, folder: str) -> None:
        """The editor has a folder open: have each record that it leads to."""
        if folder not in self._folders:
            self._folders.append(folder)
            self.arrange()

    def remove_folder(self, folder: str) -> None:
        """The editor has a folder open no more: show nothing of what only it led to."""
        if folder in self._folders:
            self._folders.remove(folder)
            self.arrange()

    def arrange(self) -> None:
        """Deal all files out to records again: the folders, or what declares a department, are not what they were."""
        self._before, self.records, self._belongs = self.records, {}, {}
        for record in self._before.values():
            record.let_go()
        for folder in self._folders:
            with suppress(CannotDo):
                for each in find_records(OpenFiles(self._texts), [(real_path(folder), FOLDER)]):
                    self._in_folder(each.path if each.department else folder)
        for uri, text in self._open.items():
            if (known := self.belongs(uri)) is not None:
                self._put(uri, text, *known)
        for key, record in self._before.items():
            shown = self._shown.get(record, {})
            is_kept = key in self.records
            for path in [path for path in shown if not is_kept or record.source(path) is None]:
                del shown[path]
                self._push(record, path, Shown([], "", []), RuleTexts(record))
        self._before = {}

    def open(self, uri: str, text: str, version: int | None) -> None:
        """A file is open in the editor with this text, or has this text now."""
        known = self.belongs(uri)
        if known is not None:
            if uri not in self._open:
                # Not every editor watches the disk.
                known[0].look_again(packs=False)
            self._open[uri], self.versions[uri] = text, version
            if self._put(uri, text, *known):
                self.arrange()

    def _put(self, uri: str, text: str, record: EditedRecord, path: str) -> bool:
        self._uris[record, path] = uri
        self.changed(record)
        return record.open(path, text.removeprefix("\ufeff"))

    def change(self, uri: str, changes: Sequence[types.TextDocumentContentChangeEvent], version: int) -> None:
        """The text of an open file has changed."""
        if uri in self._open:
            self.open(uri, changed(self._open[uri], changes, self._encoding), version)

    def close(self, uri: str) -> None:
        """A file is no longer open: what is on disk counts."""
        known = self._belongs.pop(uri, None)
        if self._open.pop(uri, None) is not None and known is not None:
            record, path = known
            del self.versions[uri]
            record.close(path)
            if record.folder:
                self.changed(record)
            else:
                self.arrange()

    def look_again(self, uris: Iterable[str]) -> None:
        """These files on disk may be others than those that were read, and so may what lies beside them."""
        uris = [uri for uri in uris if uri not in self._open]
        if uris:
            for record in self.records.values():
                record.look_again(packs=any(uri.endswith(PACK_ENDING) for uri in uris))
            self.arrange()

    def look_everywhere(self, packs: bool) -> None:
        """Any ledger on disk, or `packs` as well, may be other than what was read."""
        for record in self.records.values():
            record.look_again(packs)
        self.arrange()

    def look_when_idle(self) -> None:
        """
        Look at the disk from now on whenever the editor says nothing for a while.

        Not every editor watches the disk, and none tells of the files in a folder that was renamed or deleted.
        """
        self._idle_from = monotonic()
        asyncio.get_running_loop().call_later(IDLE, self._look_if_idle, IDLE)

    def heard(self) -> None:
        """The editor has said something."""
        self._idle_from = monotonic()

    def _look_if_idle(self, pause: float) -> None:
        loop, begun = asyncio.get_running_loop(), monotonic()
        if begun - self._idle_from < IDLE:
            loop.call_later(IDLE, self._look_if_idle, IDLE)
            return
        folders = {*self._folders, *(record.folder for record in self.records.values() if record.has_department)}
        looked = loop.run_in_executor(None, marks, folders)

        def compare(found: asyncio.Future) -> None:
            differing, self._marks = self._marks ^ found.result(), found.result()
            if differing:
                self.look_everywhere(any(path.endswith(PACK_ENDING) for path, *_ in differing))
            pause = max(IDLE, LOOKS_APART * (monotonic() - begun))
            loop.call_later(pause, self._look_if_idle, pause)

        looked.add_done_callback(compare)

    def end_with(self, process: int | None) -> None:
        """End when the editor's process has: its end of the line may be held open by another."""
        if process is not None and _is_alive(process):
            self._end_without(process)

    def _end_without(self, process: int) -> None:
        if not _is_alive(process):
            # A thread waits for what the editor says next; it would not let the program end.
            os._exit(1)
        asyncio.get_running_loop().call_later(ALIVE, self._end_without, process)

    @property
    def knows_snippets(self) -> bool:
        """Whether the editor can put in texts with stops."""
        asked = self.client_capabilities.text_document
        item = asked.completion.completion_item if asked and asked.completion else None
        return bool(item and item.snippet_support)

    def source(self, uri: str) -> tuple[EditedRecord, Source] | None:
        """The record of a file and the text of the file; None where there is none."""
        known = self.belongs(uri)
        source = known[0].source(known[1]) if known else None
        return (known[0], source) if known and source else None

    def ledger(self, uri: str) -> tuple[EditedRecord, Source] | None:
        """The same, where the file is no rule pack."""
        known = self.source(uri)
        return None if known is None or known[1].path.endswith(PACK_ENDING) else known

    def uri_of(self, record: EditedRecord, path: str) -> str:
        """The address of a file, as the editor writes it where it has done so."""
        return self._uris.get((record, path)) or _address(record.file_of(path)) or path

    # Places.

    @property
    def _encoding(self) -> str:
        encoding = self.workspace.position_encoding or "utf-16"
        return getattr(encoding, "value", encoding)

    def positions(self, source: Source) -> Positions:
        known = self._positions.get(source.path)
        if known is None or known[0].text is not source.text:
            known = self._positions[source.path] = source, Positions(source.text, self._encoding)
        return known[1]

    def offset(self, source: Source, position: types.Position) -> int:
        return self.positions(source).offset(position.line, position.character)

    def range(self, source: Source, start: int, end: int) -> types.Range:
        positions = self.positions(source)
        return types.Range(types.Position(*positions.position(start)), types.Position(*positions.position(end)))

    def location(self, record: EditedRecord, span: Span) -> types.Location:
        shipped = record.shipped_file(span.source)
        uri = from_fs_path(shipped) if shipped else self.uri_of(record, span.source.path)
        return types.Location(uri, self.range(span.source, span.start, span.end))

    def edits(self, record: EditedRecord, edits: dict[str, list[tuple[int, int, str]]]) -> types.WorkspaceEdit:
        """Texts to put in place of stretches, by path."""
        documents: list[types.TextDocumentEdit] = []
        plain: dict[str, list[types.TextEdit]] = {}
        for path, changes in edits.items():
            source, uri = record.source(path), self.uri_of(record, path)
            assert source is not None, path
            text_edits = [types.TextEdit(self.range(source, start, end), text) for start, end, text in changes]
            identifier = types.OptionalVersionedTextDocumentIdentifier(uri, self.versions.get(uri))
            documents.append(types.TextDocumentEdit(identifier, text_edits))
            plain[uri] = text_edits
        workspace = self.client_capabilities.workspace
        if workspace and workspace.workspace_edit and workspace.workspace_edit.document_changes:
            return types.WorkspaceEdit(document_changes=documents)
        return types.WorkspaceEdit(changes=plain)

    # Findings.

    def changed(self, record: EditedRecord) -> None:
        """Something at a record has changed: show what is found soon, and all of it when it is at rest."""
        self._later(record, "show", AT_ONCE, self.show)

    def _later(self, record: EditedRecord, what: str, seconds: float, do: Callable) -> None:
        key = record, what
        if key in self._timers:
            self._timers.pop(key).cancel()

        def run():
            self._timers.pop(key, None)
            if record not in self.records.values():
                return
            try:
                do(record)
            except Exception as trouble:
                self.report_server_error(trouble, type(trouble))

        self._timers[key] = asyncio.get_running_loop().call_later(seconds, run)

    def show(self, record: EditedRecord) -> None:
        """Push the findings of every file of which there are others now."""
        if self.reading.is_awaited(record.unread):
            self.changed(record)
            return
        alone = record.without_department
        if alone and alone not in self._told:
            self._told.add(alone)
            self.window_show_message(types.ShowMessageParams(types.MessageType.Warning, alone))
        found, shown, texts = record.findings(), self._shown.setdefault(record, {}), RuleTexts(record)
        for path in sorted(found.keys() | shown.keys()):
            findings = found.get(path, [])
            before = shown.get(path)
            if before is not None and before.findings is findings:
                continue
            text = findings[0].span.source.text if findings else ""
            now = Shown(findings, text, [diagnostics.problem(finding) for finding in findings])
            if before is None or before.text != text or not diagnostics.are_same(before.problems, now.problems):
                self._push(record, path, now, texts)
            if findings:
                shown[path] = now
            else:
                del shown[path]
        if not record.is_settled:
            self._later(record, "settle", AT_REST, self._settle)

    def _push(self, record: EditedRecord, path: str, shown: Shown, texts: RuleTexts) -> None:
        uri = self.uri_of(record, path)
        told = [
            self.diagnostic(record, finding.span.source, problem, texts)
            for finding, problem in zip(shown.findings, shown.problems)
        ]
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, told, self.versions.get(uri)))

    def diagnostic(self, record: EditedRecord, source: Source, problem: diagnostics.Problem, texts: RuleTexts) -> Any:
        """A finding as the protocol has it, and not in the library's objects: a word of a source may bring tens of thousands."""
        positions, place = self.positions(source), texts.place(problem.rule)
        ends = ((end, positions.position(at)) for end, at in (("start", problem.start), ("end", problem.end)))
        told = {
            "range": {end: {"line": line, "character": column} for end, (line, column) in ends},
            "severity": problem.severity,
            "code": problem.rule,
            "source": "cylfile",
            "message": problem.text,
        }
        if place:
            told["codeDescription"] = {"href": f"{_address(place[0])}#L{place[1]}"}
        if problem.related:
            told["relatedInformation"] = [
                types.DiagnosticRelatedInformation(self.location(record, span), remark)
                for span, remark in problem.related
            ]
        return told

    def _settle(self, record: EditedRecord) -> None:
        """Judge the whole record beside all else; what comes of it counts if nothing has changed meanwhile."""
        if record in self._settling:
            self._later(record, "settle", AT_REST, self._settle)
            return
        self._settling.add(record)
        done = asyncio.get_running_loop().run_in_executor(None, settle, *record.question())
        # Nearly all that is made now is made to stay, and looking for garbage among it takes a tenth of the time.
        gc.disable()

        def take(future) -> None:
            self._settling.discard(record)
            try:
                if record.answer(future.result()):
                    self.show(record)
                    # What is known now stays; looking for garbage among it would be felt at a keystroke.
                    gc.freeze()
                else:
                    self._later(record, "settle", AT_REST, self._settle)
            except (asyncio.CancelledError, Overtaken):
                # The next one is on its way, or nobody waits for any.
                pass
            except Exception as trouble:
                self.report_server_error(trouble, type(trouble))
            finally:
                gc.enable()

        done.add_done_callback(take)
