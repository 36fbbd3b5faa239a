"""
What an editor asks about a file, a stretch of it, or the folder.
"""

from lsprotocol import types
from pygls.uris import from_fs_path

from cylfile.files.tree import PACK_ENDING
from cylfile.server import actions, hints, outline, pack_names, semantic_tokens
from cylfile.server import formatting as neatening
from cylfile.server.diagnostics import problem
from cylfile.server.rule_texts import RuleTexts
from cylfile.server.service import Service
from cylfile.text.source import Source

_SYMBOL_KINDS = {
    "cylinder": types.SymbolKind.Object, "person": types.SymbolKind.Constant, "site": types.SymbolKind.Namespace,
    "source": types.SymbolKind.Package, "tester": types.SymbolKind.Constant, "line": types.SymbolKind.Event,
    "rule": types.SymbolKind.Function, "class": types.SymbolKind.Class, "setting": types.SymbolKind.Property,
    "entry": types.SymbolKind.Event, "breaks": types.SymbolKind.Event, "keeps": types.SymbolKind.Event,
}  # fmt: skip
_SHEET = types.SymbolKind.Array


def document_symbols(service: Service, params: types.DocumentSymbolParams) -> list[types.DocumentSymbol] | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    _, source = known
    found = outline.pack_symbols(source) if source.path.endswith(PACK_ENDING) else outline.symbols(source)
    return [_symbol(service, source, each) for each in found]


def _symbol(service: Service, source: Source, symbol: outline.Symbol) -> types.DocumentSymbol:
    named = whole = service.range(source, symbol.start, symbol.end)
    if (symbol.block_start, symbol.block_end) != (symbol.start, symbol.end):
        whole = service.range(source, symbol.block_start, symbol.block_end)
    return types.DocumentSymbol(
        symbol.name,
        _SYMBOL_KINDS.get(symbol.word, _SHEET),
        whole,
        named,
        detail=symbol.word,
        children=[_symbol(service, source, each) for each in symbol.inside] or None,
    )


def workspace_symbols(service: Service, params: types.WorkspaceSymbolParams) -> list[types.WorkspaceSymbol]:
    return [
        types.WorkspaceSymbol(service.location(edited, span), name, _SYMBOL_KINDS[word], container_name=word)
        for edited in service.records.values()
        for word, name, span in outline.search(edited, params.query)
    ]


def folding(service: Service, params: types.FoldingRangeParams) -> list[types.FoldingRange] | None:
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


def formatting(service: Service, params: types.DocumentFormattingParams) -> list[types.TextEdit] | None:
    known = service.source(params.text_document.uri)
    return _text_edits(service, known[1], neatening.neatened(*known)) if known else None


def range_formatting(service: Service, params: types.DocumentRangeFormattingParams) -> list[types.TextEdit] | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    start, end = (service.offset(source, place) for place in (params.range.start, params.range.end))
    return _text_edits(service, source, neatening.neatened_between(edited, source, start, end))


def on_type_formatting(service: Service, params: types.DocumentOnTypeFormattingParams) -> list[types.TextEdit] | None:
    """Behind a new line: the line above it, which is whole now."""
    known = service.source(params.text_document.uri)
    if known is None or not params.position.line:
        return None
    edited, source = known
    above = service.offset(source, types.Position(params.position.line - 1, 0))
    return _text_edits(service, source, neatening.neatened_line(edited, source, above))


def _text_edits(service: Service, source: Source, edits: list[tuple[int, int, str]]) -> list[types.TextEdit]:
    return [types.TextEdit(service.range(source, start, end), text) for start, end, text in edits]


def links(service: Service, params: types.DocumentLinkParams) -> list[types.DocumentLink] | None:
    """From the places that name a rule pack to its file."""
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    is_pack = source.path.endswith(PACK_ENDING)
    found = []
    for each in pack_names.packs_named(source, is_pack):
        file = pack_names.file_of_pack(edited, source, each, is_pack)
        if file is not None:
            place = service.range(source, each.start, each.end)
            found.append(types.DocumentLink(place, from_fs_path(file), f"the rule pack {each.name}"))
    return found


# What semantic tokens are told by, in the order of their numbers.
TOKENS = types.SemanticTokensLegend([semantic_tokens.STRUCK, semantic_tokens.WRONG], ["deprecated"])


def tokens(service: Service, params: types.SemanticTokensParams) -> types.SemanticTokens | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    is_pack = source.path.endswith(PACK_ENDING)
    found = (semantic_tokens.pack_tokens if is_pack else semantic_tokens.ledger_tokens)(edited, source)
    positions, data = service.positions(source), []
    line = column = 0
    for start, end, kind in found:
        its_line, its_column = positions.position(start)
        if its_line != line:
            line, column, lines = its_line, 0, its_line - line
        else:
            lines = 0
        length = positions.position(end)[1] - its_column
        data += [
            lines,
            its_column - column,
            length,
            TOKENS.token_types.index(kind),
            int(kind == semantic_tokens.STRUCK),
        ]
        column = its_column
    return types.SemanticTokens(data)


def code_actions(service: Service, params: types.CodeActionParams) -> list[types.CodeAction] | None:
    known = service.ledger(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    start, end = (service.offset(source, place) for place in (params.range.start, params.range.end))
    only, texts = params.context.only, RuleTexts(edited)
    return [
        types.CodeAction(
            action.title,
            types.CodeActionKind(action.kind),
            diagnostics=[service.diagnostic(edited, source, problem(action.finding), texts)]
            if action.finding
            else None,
            is_preferred=action.is_preferred or None,
            edit=service.edits(edited, {action.path: action.edits}),
        )
        for action in actions.actions(edited, source, start, end)
        if not only
        or any(action.kind == kind or action.kind.startswith(f"{getattr(kind, 'value', kind)}.") for kind in only)
    ]


def inlay_hints(service: Service, params: types.InlayHintParams) -> list[types.InlayHint] | None:
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
