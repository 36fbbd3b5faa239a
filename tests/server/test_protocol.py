"""
The server over the wire, by pytest-lsp, as three editors would speak with it.
"""

import pytest
from lsprotocol import types

from support.editor_session import change, open_, place, shown
from support.workspaces import SHEET


@pytest.mark.asyncio
async def test_findings_are_pushed_and_cleared(client):
    broken = SHEET.replace("to 4400 psi", "to 4400 PSI")
    document = open_(client, "sheet.cyl", broken)
    found = await shown(client, document, lambda found: any(each.code == "unreadable-line" for each in found))
    (unreadable,) = [each for each in found if each.code == "unreadable-line"]
    assert unreadable.source == "cylfile" and unreadable.severity == types.DiagnosticSeverity.Error
    assert unreadable.range == types.Range(types.Position(2, 18), types.Position(2, 26))
    change(client, document, SHEET)
    await shown(client, document, lambda found: not any(each.code == "unreadable-line" for each in found))


@pytest.mark.asyncio
async def test_files_that_are_not_open_have_findings_too(one_client):
    client = one_client
    cards = types.TextDocumentIdentifier((client.folder / "cards.cyl").as_uri())
    await shown(client, cards, lambda found: any(each.code == "test-record-incomplete" for each in found))


@pytest.mark.asyncio
async def test_completion_hover_and_outline(one_client):
    client = one_client
    text = SHEET + "  10:04  H-14  "
    document = open_(client, "sheet.cyl", text)
    end = types.Position(3, 15)
    result = await client.text_document_completion_async(types.CompletionParams(document, end))
    assert result.items[0].label == "to"
    assert result.items[0].text_edit.range == types.Range(end, end)
    # Nothing that Enter could accept unasked: no list comes up behind a blank, and none has an item chosen beforehand.
    assert not client.server.capabilities.completion_provider.trigger_characters
    assert not any(item.preselect or item.commit_characters for item in result.items)
    hover = await client.text_document_hover_async(types.HoverParams(document, place(text, "H-12", 2)))
    assert hover.contents.kind == types.MarkupKind.Markdown and "next test due by 2029" in hover.contents.value
    symbols = await client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
    assert [symbol.name for symbol in symbols] == ["fill sheet 2026-03-15"]
    found = await client.workspace_symbol_async(types.WorkspaceSymbolParams("H-1"))
    assert [symbol.name for symbol in found] == ["H-12", "H-13", "H-14"]
    folds = await client.text_document_folding_range_async(types.FoldingRangeParams(document))
    assert [(fold.start_line, fold.end_line) for fold in folds] == [(0, 3)]
    hints = await client.text_document_inlay_hint_async(
        types.InlayHintParams(document, types.Range(types.Position(0, 0), types.Position(9, 0)))
    )
    assert hints[0].label.startswith("settles at 4")


@pytest.mark.asyncio
async def test_names_are_found_and_changed_in_every_file(client):
    document = open_(client, "sheet.cyl", SHEET)
    at = place(SHEET, "H-12", 1)
    (definition,) = await client.text_document_definition_async(types.DefinitionParams(document, at))
    assert definition.uri.endswith("cards.cyl") and definition.range.start == types.Position(0, 9)
    asked = types.ReferenceParams(types.ReferenceContext(include_declaration=False), document, at)
    (reference,) = await client.text_document_references_async(asked)
    assert reference.uri == document.uri
    ready = await client.text_document_prepare_rename_async(types.PrepareRenameParams(document, at))
    assert ready.placeholder == "H-12"
    edit = await client.text_document_rename_async(types.RenameParams(document, at, "H-99"))
    files = edit.changes or {each.text_document.uri: each.edits for each in edit.document_changes}
    assert {uri.rpartition("/")[2]: [each.new_text for each in edits] for uri, edits in files.items()} == {
        "cards.cyl": ["H-99"], "sheet.cyl": ["H-99"],
    }  # fmt: skip
    with pytest.raises(Exception, match="is taken"):
        await client.text_document_rename_async(types.RenameParams(document, at, "H-13"))
    verb = types.PrepareRenameParams(document, place(SHEET, "from", 1))
    assert await client.text_document_prepare_rename_async(verb) is None


@pytest.mark.asyncio
async def test_actions_put_right_what_was_found(client):
    text = 'cylinder H-20\n  2026-03-15  remarked "🚒"  fild\n'
    document = open_(client, "new.cyl", text)
    at = types.Position(1, 24)
    asked = types.CodeActionParams(document, types.Range(at, at), types.CodeActionContext([]))
    found = await client.text_document_code_action_async(asked)
    assert found is not None
    text = "cylinder H-20\n  2026-03-15  filed to 4500 psi\n"
    change(client, document, text)
    at = place(text, "filed", 2)
    found = await client.text_document_code_action_async(
        types.CodeActionParams(document, types.Range(at, at), types.CodeActionContext([]))
    )
    (fix,) = [action for action in found if action.is_preferred]
    edits = fix.edit.changes or {each.text_document.uri: each.edits for each in fix.edit.document_changes}
    assert edits[document.uri][0].new_text == "filled" and fix.diagnostics[0].code == "unreadable-line"


@pytest.mark.asyncio
async def test_neatening_is_a_few_lines(one_client):
    client = one_client
    not_neat = SHEET.replace("  09:58  H-14  to", "  09:58   H-14 to")
    document = open_(client, "sheet.cyl", not_neat)
    options = types.FormattingOptions(tab_size=2, insert_spaces=True)
    edits = await client.text_document_formatting_async(types.DocumentFormattingParams(document, options))
    assert [edit.range.start.line for edit in edits][-1] == 2 and len(edits) <= 2


@pytest.mark.asyncio
async def test_columns_are_those_of_the_encoding(client):
    text = SHEET + '  10:04  H-14  to 4400 psi  remark "🚒"  bad\n'
    document = open_(client, "sheet.cyl", text)
    found = await shown(client, document, lambda found: any(each.code == "unreadable-line" for each in found))
    (bad,) = [each for each in found if each.code == "unreadable-line"]
    before = text.split("\n")[3].partition("bad")[0]
    general = client.capabilities.general
    encoding = (general and general.position_encodings or ["utf-16"])[0]
    units = {"utf-8": len(before.encode()), "utf-16": len(before) + 1, "utf-32": len(before)}[encoding]
    assert bad.range.start == types.Position(3, units)


@pytest.mark.asyncio
async def test_a_file_that_is_closed_is_what_it_is_on_disk(one_client):
    client = one_client
    document = open_(client, "sheet.cyl", SHEET + "  broken line here\n")
    await shown(client, document, lambda found: any(each.code == "unreadable-line" for each in found))
    client.text_document_did_close(types.DidCloseTextDocumentParams(document))
    await shown(client, document, lambda found: not any(each.code == "unreadable-line" for each in found))
    (client.folder / "sheet.cyl").write_text(SHEET + "  broken line here\n")
    client.workspace_did_change_watched_files(
        types.DidChangeWatchedFilesParams([types.FileEvent(document.uri, types.FileChangeType.Changed)])
    )
    await shown(client, document, lambda found: any(each.code == "unreadable-line" for each in found))


@pytest.mark.asyncio
async def test_packs_are_read_as_they_are_typed(one_client):
    client = one_client
    uri = (client.folder / "house.cylpack").as_uri()
    text = 'pack house "Ours"\nrule x notice\n  on    filled\n  when  to > nonsense\n  say   "x"\n'
    client.text_document_did_open(types.DidOpenTextDocumentParams(types.TextDocumentItem(uri, "cylpack", 1, text)))
    document = types.TextDocumentIdentifier(uri)
    found = await shown(client, document, lambda found: any("nonsense" in each.message for each in found))
    assert all(each.severity == types.DiagnosticSeverity.Error for each in found)
    result = await client.text_document_completion_async(types.CompletionParams(document, place(text, "nonsense")))
    assert "test-due" in [item.label for item in result.items]
    hover = await client.text_document_hover_async(types.HoverParams(document, place(text, "to >", 1)))
    assert "pressure" in hover.contents.value


@pytest.mark.asyncio
async def test_a_folder_that_is_taken_away_shows_nothing_more(one_client):
    client = one_client
    cards = types.TextDocumentIdentifier((client.folder / "cards.cyl").as_uri())
    await shown(client, cards, lambda found: len(found) > 0)
    gone = types.WorkspaceFoldersChangeEvent(
        added=[], removed=[types.WorkspaceFolder(client.folder.as_uri(), "record")]
    )
    client.workspace_did_change_workspace_folders(types.DidChangeWorkspaceFoldersParams(gone))
    await shown(client, cards, lambda found: not found)
