"""
What an editor asks about a place in a file: places of the protocol in, places of the protocol out.
"""

from typing import NamedTuple

from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.uris import from_fs_path

from cylfile.files.tree import PACK_ENDING
from cylfile.server import hovering, ledger_completion, names, pack_completion, pack_hovering, pack_names, selection
from cylfile.server.cursor import name_at
from cylfile.server.edited_record import EditedRecord
from cylfile.server.service import Service
from cylfile.server.signature import signature
from cylfile.text.source import Source, Span

_INVALID = -32602
_COMPLETION_KINDS = {
    ledger_completion.WORD: types.CompletionItemKind.Keyword, ledger_completion.NAME: types.CompletionItemKind.Variable,
    ledger_completion.VALUE: types.CompletionItemKind.Value, ledger_completion.ROW: types.CompletionItemKind.Value,
    ledger_completion.SENTENCE: types.CompletionItemKind.Snippet,
}  # fmt: skip


def completion(service: Service, params: types.CompletionParams) -> types.CompletionList | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    module = pack_completion if source.path.endswith(PACK_ENDING) else ledger_completion
    found = module.complete(edited, source, service.offset(source, params.position))
    if not service.knows_snippets:
        found = [item for item in found if item.kind != ledger_completion.SENTENCE]
    items = [
        types.CompletionItem(
            item.label,
            kind=_COMPLETION_KINDS[item.kind],
            detail=item.detail or None,
            documentation=types.MarkupContent(types.MarkupKind.Markdown, item.about) if item.about else None,
            sort_text=f"{number:04}",
            filter_text=source.text[item.start : item.end] or item.label,
            text_edit=types.TextEdit(service.range(source, item.start, item.end), item.text),
            insert_text_format=types.InsertTextFormat.Snippet if item.kind == ledger_completion.SENTENCE else None,
        )
        for number, item in enumerate(found)
    ]
    return types.CompletionList(is_incomplete=len(found) >= ledger_completion.MOST, items=items)


def hover(service: Service, params: types.HoverParams) -> types.Hover | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    offset = service.offset(source, params.position)
    if source.path.endswith(PACK_ENDING):
        found = pack_hovering.hover(edited, source, offset)
    else:
        said = hovering.hover(edited, source, offset)
        found = said and (said[0].start, said[0].end, said[1])
    if not found:
        return None
    start, end, text = found
    return types.Hover(types.MarkupContent(types.MarkupKind.Markdown, text), service.range(source, start, end))


# The kind of a name that a block of the record declares, beside those of what packs name.
_OF_RECORD = ""
_AtPlace = (
    types.DefinitionParams
    | types.ReferenceParams
    | types.DocumentHighlightParams
    | types.PrepareRenameParams
    | types.RenameParams
)


class _Subject(NamedTuple):
    """What a request is about: a name of the record, or what a pack names."""

    edited: EditedRecord
    source: Source
    named: pack_names.Mention

    @property
    def is_of_record(self) -> bool:
        return self.named.kind == _OF_RECORD

    def definitions(self) -> list[Span]:
        if self.is_of_record:
            return names.definitions(self.edited, self.named.name)
        return pack_names.definitions(self.edited, self.source, self.named)

    def references(self) -> list[Span]:
        if self.is_of_record:
            return names.references(self.edited, self.named.name)
        return pack_names.references(self.edited, self.source, self.named)

    def renamed(self, new: str) -> list[Span]:
        """Raises Refused."""
        if self.is_of_record:
            return names.renamed(self.edited, self.named.name, new)
        return pack_names.renamed(self.edited, self.source, self.named, new)


def _subject(service: Service, params: _AtPlace) -> _Subject | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    edited, source = known
    is_pack = source.path.endswith(PACK_ENDING)
    offset = service.offset(source, params.position)
    named = pack_names.mention_at(source, offset, is_pack)
    if named is None and not is_pack:
        name = name_at(source, offset)
        named = name and pack_names.Mention(_OF_RECORD, name.text, name.start, name.end)
    return _Subject(edited, source, named) if named else None


def definition(service: Service, params: types.DefinitionParams) -> list[types.Location] | None:
    subject = _subject(service, params)
    if subject is None:
        return None
    edited, source, named = subject
    if named.kind == pack_names.PACK:
        file = pack_names.file_of_pack(edited, source, named, source.path.endswith(PACK_ENDING))
        start = types.Position(0, 0)
        return [types.Location(from_fs_path(file) or file, types.Range(start, start))] if file else []
    return [service.location(edited, span) for span in subject.definitions()]


def references(service: Service, params: types.ReferenceParams) -> list[types.Location] | None:
    subject = _subject(service, params)
    if subject is None:
        return None
    declared = () if params.context.include_declaration else subject.definitions()
    return [service.location(subject.edited, span) for span in subject.references() if span not in declared]


def highlights(service: Service, params: types.DocumentHighlightParams) -> list[types.DocumentHighlight] | None:
    """The places of this file that say the same name; where it is declared it is as if written."""
    subject = _subject(service, params)
    if subject is None:
        return None
    edited, source, named = subject
    if subject.is_of_record:
        found = names.highlights(edited, source, named.name)
    else:
        found = pack_names.highlights(source, named, source.path.endswith(PACK_ENDING))
    return [
        types.DocumentHighlight(
            service.range(source, span.start, span.end),
            types.DocumentHighlightKind.Write if is_declared else types.DocumentHighlightKind.Read,
        )
        for span, is_declared in found
    ]


def prepare_rename(service: Service, params: types.PrepareRenameParams) -> types.PrepareRenamePlaceholder | None:
    subject = _subject(service, params)
    if subject is None or not subject.definitions():
        return None
    _, source, named = subject
    place = service.range(source, named.start, named.end)
    return types.PrepareRenamePlaceholder(place, source.text[named.start : named.end])


def rename(service: Service, params: types.RenameParams) -> types.WorkspaceEdit:
    subject = _subject(service, params)
    if subject is None or not subject.definitions():
        raise JsonRpcException("this is no name that a block or a pack declares", _INVALID)
    try:
        spans = subject.renamed(params.new_name)
    except names.Refused as refusal:
        raise JsonRpcException(str(refusal), _INVALID) from None
    edits: dict[str, list[tuple[int, int, str]]] = {}
    for span in spans:
        edits.setdefault(span.source.path, []).append((span.start, span.end, params.new_name))
    return service.edits(subject.edited, edits)


def signature_help(service: Service, params: types.SignatureHelpParams) -> types.SignatureHelp | None:
    known = service.ledger(params.text_document.uri)
    if known is None:
        return None
    _, source = known
    found = signature(source, service.offset(source, params.position))
    if found is None:
        return None
    parts = [types.ParameterInformation(part.text, part.about or None) for part in found.parts]
    told = types.SignatureInformation(found.text, parameters=parts, active_parameter=found.active)
    return types.SignatureHelp([told], active_signature=0, active_parameter=found.active)


def selections(service: Service, params: types.SelectionRangeParams) -> list[types.SelectionRange] | None:
    known = service.source(params.text_document.uri)
    if known is None:
        return None
    _, source = known
    found = []
    for position in params.positions:
        around: types.SelectionRange | None = None
        for start, end in reversed(selection.selections(source, service.offset(source, position))):
            around = types.SelectionRange(service.range(source, start, end), around)
        assert around is not None
        found.append(around)
    return found
