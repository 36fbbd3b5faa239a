"""
What an editor can ask and tell, one function a request: places of the protocol in, places of the protocol out.
"""

import os

from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.uris import to_fs_path

from cylfile.files.tree import LEDGER_ENDING, PACK_ENDING
from cylfile.server import actions, diagnostics, formatting, hints, hovering, names, outline
from cylfile.server import ledger_completion as completion
from cylfile.server import pack_features as packs
from cylfile.server.cursor import name_at
from cylfile.server.edited_record import EditedRecord
from cylfile.server.service import Service
from cylfile.text.language import Token
from cylfile.text.source import Source

_INVALID = -32602
_COMPLETION_KINDS = {
    completion.WORD: types.CompletionItemKind.Keyword, completion.NAME: types.CompletionItemKind.Variable,
    completion.VALUE: types.CompletionItemKind.Value, completion.ROW: types.CompletionItemKind.Snippet,
}  # fmt: skip
_SYMBOL_KINDS = {
    "cylinder": types.SymbolKind.Object, "person": types.SymbolKind.Constant, "site": types.SymbolKind.Namespace,
    "source": types.SymbolKind.Package, "tester": types.SymbolKind.Constant, "line": types.SymbolKind.Event,
    "rule": types.SymbolKind.Function, "class": types.SymbolKind.Class, "setting": types.SymbolKind.Property,
}  # fmt: skip
_SHEET = types.SymbolKind.Array


# Life of the server and its files.


def _initialized(service: Service, params: types.InitializedParams) -> None:
    folders = [to_fs_path(uri) for uri in service.workspace.folders]
    if not folders and service.workspace.root_path:
        folders = [service.workspace.root_path]
    for folder in folders:
        if folder and os.path.isdir(folder):
            service.add_folder(os.path.normpath(folder))
    workspace = service.client_capabilities.workspace
    watching = workspace and workspace.did_change_watched_files
    if watching and watching.dynamic_registration:
        watchers = [types.FileSystemWatcher(f"**/*{ending}") for ending in (LEDGER_ENDING, PACK_ENDING)]
        service.client_register_capability(
            types.RegistrationParams(
                [
                    types.Registration(
                        "files", types.WORKSPACE_DID_CHANGE_WATCHED_FILES,
                        types.DidChangeWatchedFilesRegistrationOptions(watchers),
                    )
                ]
            )
        )  # fmt: skip


def _initialize(service: Service, params: types.InitializeParams) -> None:
    _take_settings(service, params.initialization_options)


def _shutdown(service: Service, params: None) -> None:
    service.is_ending = True


def _configured(service: Service, params: types.DidChangeConfigurationParams) -> None:
    settings = params.settings
    section = settings.get("cylfile") if isinstance(settings, dict) else getattr(settings, "cylfile", None)
    _take_settings(service, section)


def _take_settings(service: Service, settings) -> None:
    wanted = settings.get("hints") if isinstance(settings, dict) else getattr(settings, "hints", None)
    if isinstance(wanted, bool):
        service.shows_hints = wanted


def _opened(service: Service, params: types.DidOpenTextDocumentParams) -> None:
    document = params.text_document
    service.open(document.uri, document.text.removeprefix("\ufeff"), document.version)


def _changed(service: Service, params: types.DidChangeTextDocumentParams) -> None:
    document = params.text_document
    if params.content_changes:
        service.open(document.uri, params.content_changes[-1].text.removeprefix("\ufeff"), document.version)


def _closed(service: Service, params: types.DidCloseTextDocumentParams) -> None:
    service.close(params.text_document.uri)


def _saved(service: Service, params: types.DidSaveTextDocumentParams) -> None:
    """Not every editor watches the disk, so whatever else was written meanwhile is looked at now."""
    known = service.belongs(params.text_document.uri)
    if known is not None:
        known[0].look_again(packs=known[1].endswith(PACK_ENDING))
        service.changed(known[0])


def _watched(service: Service, params: types.DidChangeWatchedFilesParams) -> None:
    service.look_again(event.uri for event in params.changes)


def _folders(service: Service, params: types.DidChangeWorkspaceFoldersParams) -> None:
    for folder in params.event.removed:
        service.remove_folder(os.path.normpath(to_fs_path(folder.uri) or ""))
    for folder in params.event.added:
        path = to_fs_path(folder.uri)
        if path and os.path.isdir(path):
            service.add_folder(os.path.normpath(path))


# Questions about a place.


def _completion(service: Service, params: types.CompletionParams) -> types.CompletionList | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    module = packs if source.path.endswith(PACK_ENDING) else completion
    found = module.complete(edited, source, service.offset(source, params.position))
    items = [
        types.CompletionItem(
            item.label,
            kind=_COMPLETION_KINDS[item.kind],
            detail=item.detail or None,
            documentation=types.MarkupContent(types.MarkupKind.Markdown, item.about) if item.about else None,
            sort_text=f"{number:04}",
            filter_text=source.text[item.start : item.end] or item.label,
            text_edit=types.TextEdit(service.range(source, item.start, item.end), item.text),
        )
        for number, item in enumerate(found)
    ]
    return types.CompletionList(is_incomplete=len(found) >= completion.MOST, items=items)


def _hover(service: Service, params: types.HoverParams) -> types.Hover | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    offset = service.offset(source, params.position)
    if source.path.endswith(PACK_ENDING):
        found = packs.hover(edited, source, offset)
    else:
        known = hovering.hover(edited, source, offset)
        found = known and (known[0].start, known[0].end, known[1])
    if not found:
        return None
    start, end, text = found
    return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, text), service.range(source, start, end))


def _name(service: Service, params) -> tuple[EditedRecord, Source, Token] | None:
    """The name that a request is about."""
    known = service.ledger(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    name = name_at(source, service.offset(source, params.position))
    return (edited, source, name) if name else None


def _definition(service: Service, params: types.DefinitionParams) -> list[types.Location] | None:
    known = _name(service, params)
    if known is None:
        return None
    edited, _, name = known
    return [service.location(edited, span) for span in names.definitions(edited, name.text)]


def _references(service: Service, params: types.ReferenceParams) -> list[types.Location] | None:
    known = _name(service, params)
    if known is None:
        return None
    edited, _, name = known
    declared = () if params.context.include_declaration else names.definitions(edited, name.text)
    return [service.location(edited, span) for span in names.references(edited, name.text) if span not in declared]


def _prepare_rename(service: Service, params: types.PrepareRenameParams) -> types.PrepareRenamePlaceholder | None:
    known = _name(service, params)
    if known is None or not names.definitions(known[0], known[2].text):
        return None
    _, source, name = known
    return types.PrepareRenamePlaceholder(service.range(source, name.start, name.end), name.text)


def _rename(service: Service, params: types.RenameParams) -> types.WorkspaceEdit:
    known = _name(service, params)
    if known is None or not names.definitions(known[0], known[2].text):
        raise JsonRpcException("this is no name that a block declares", _INVALID)
    edited, _, name = known
    try:
        spans = names.renamed(edited, name.text, params.new_name)
    except names.Refused as refusal:
        raise JsonRpcException(str(refusal), _INVALID) from None
    edits: dict[str, list] = {}
    for span in spans:
        edits.setdefault(span.source.path, []).append((span.start, span.end, params.new_name))
    return service.edits(edited, edits)


# Questions about a file or the folder.


def _document_symbols(service: Service, params: types.DocumentSymbolParams) -> list | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    return [
        types.DocumentSymbol(
            each.name,
            _SYMBOL_KINDS.get(each.word, _SHEET),
            service.range(source, each.block_start, each.block_end),
            service.range(source, each.start, each.end),
            detail=each.word,
        )
        for each in outline.symbols(source)
    ]


def _workspace_symbols(service: Service, params: types.WorkspaceSymbolParams) -> list[types.WorkspaceSymbol]:
    return [
        types.WorkspaceSymbol(service.location(edited, span), name, _SYMBOL_KINDS[word], container_name=word)
        for edited in service.records.values()
        for word, name, span in outline.search(edited, params.query)
    ]


def _folding(service: Service, params: types.FoldingRangeParams) -> list[types.FoldingRange] | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    _, source = known
    positions = service.positions(source)
    return [
        types.FoldingRange(
            positions.position(start)[0], positions.position(end)[0],
            kind=types.FoldingRangeKind.Comment if is_comment else types.FoldingRangeKind.Region,
        )
        for start, end, is_comment in outline.folds(source)
    ]  # fmt: skip


def _formatting(service: Service, params: types.DocumentFormattingParams) -> list[types.TextEdit] | None:
    known = service.ledger(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    return [
        types.TextEdit(service.range(source, start, end), text)
        for start, end, text in formatting.neatened(edited, source)
    ]


def _code_actions(service: Service, params: types.CodeActionParams) -> list[types.CodeAction] | None:
    known = service.ledger(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    start, end = (service.offset(source, place) for place in (params.range.start, params.range.end))
    only = params.context.only
    return [
        types.CodeAction(
            action.title,
            types.CodeActionKind(action.kind),
            diagnostics=[_shown_as(service, edited, source, action.finding)] if action.finding else None,
            is_preferred=action.is_preferred or None,
            edit=service.edits(edited, {action.path: action.edits}),
        )
        for action in actions.actions(edited, source, start, end)
        if not only
        or any(action.kind == kind or action.kind.startswith(f"{getattr(kind, 'value', kind)}.") for kind in only)
    ]


def _shown_as(service: Service, edited: EditedRecord, source: Source, finding) -> types.Diagnostic:
    return service.diagnostic(edited, source, diagnostics.problem(finding))


def _inlay_hints(service: Service, params: types.InlayHintParams) -> list[types.InlayHint] | None:
    known = service.ledger(params.text_document.uri)
    if not service.shows_hints or known is None:
        return []
    edited, source = known
    start, end = (service.offset(source, place) for place in (params.range.start, params.range.end))
    positions = service.positions(source)
    return [
        types.InlayHint(types.Position(*positions.position(offset)), text, padding_left=True)
        for offset, text in hints.hints(edited, source, start, end)
    ]


# Method -> what answers it, and what the editor is told of it.
HANDLERS = (
    (types.INITIALIZE, _initialize),
    (types.INITIALIZED, _initialized),
    (types.SHUTDOWN, _shutdown),
    (types.WORKSPACE_DID_CHANGE_CONFIGURATION, _configured),
    (types.WORKSPACE_DID_CHANGE_WATCHED_FILES, _watched),
    (types.WORKSPACE_DID_CHANGE_WORKSPACE_FOLDERS, _folders),
    (types.TEXT_DOCUMENT_DID_OPEN, _opened),
    (types.TEXT_DOCUMENT_DID_CHANGE, _changed),
    (types.TEXT_DOCUMENT_DID_CLOSE, _closed),
    (types.TEXT_DOCUMENT_DID_SAVE, _saved),
    (types.TEXT_DOCUMENT_COMPLETION, _completion),
    (types.TEXT_DOCUMENT_HOVER, _hover),
    (types.TEXT_DOCUMENT_DEFINITION, _definition),
    (types.TEXT_DOCUMENT_REFERENCES, _references),
    (types.TEXT_DOCUMENT_PREPARE_RENAME, _prepare_rename),
    (types.TEXT_DOCUMENT_RENAME, _rename, types.RenameOptions(prepare_provider=True)),
    (types.TEXT_DOCUMENT_DOCUMENT_SYMBOL, _document_symbols),
    (types.WORKSPACE_SYMBOL, _workspace_symbols),
    (types.TEXT_DOCUMENT_FOLDING_RANGE, _folding),
    (types.TEXT_DOCUMENT_FORMATTING, _formatting),
    (types.TEXT_DOCUMENT_CODE_ACTION, _code_actions,
     types.CodeActionOptions([types.CodeActionKind.QuickFix, types.CodeActionKind.RefactorRewrite])),
    (types.TEXT_DOCUMENT_INLAY_HINT, _inlay_hints),
)  # fmt: skip
