"""What else an editor can ask over the wire: how a text looks, where names lead, and what a line may be."""

import asyncio
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from lsprotocol import types

from cylfile.server.file_requests import TOKENS
from support.editor_session import change, open_, place, shown
from support.workspaces import CARDS, HEAD, SHEET

PACK = """\
pack house "Ours"
  over  us-dot

setting least-charge  3000 psi

rule low-fill  notice
  on    filled
  when  to < least-charge
  say   "filled to less than {least-charge}"
  breaks  "too little"
    cylinder A-1
      class  dot-3aa
      2020-01-01  filled  to 90 psi  # here
      2020-01-02  filled  to 80 psi
        struck 2020-01-03 by zed "x"

level test-overdue  danger
"""
OPTIONS = types.FormattingOptions(tab_size=2, insert_spaces=True)


def at(text: str, mark: str, after: int = 0) -> dict:
    return {"position": place(text, mark, after)}


def texts(document: str, ranges) -> list[str]:
    lines = document.split("\n")
    return [lines[each.start.line][each.start.character : each.end.character] for each in ranges]


async def looks(client, document, text: str) -> list[tuple[str, str]]:
    """The stretches that look other than their words, and how."""
    told = await client.text_document_semantic_tokens_full_async(types.SemanticTokensParams(document))
    found, line, column, lines = [], 0, 0, text.split("\n")
    for step in range(0, len(told.data), 5):
        down, right, length, kind, _ = told.data[step : step + 5]
        line, column = line + down, right if down else column + right
        found.append((TOKENS.token_types[kind], lines[line][column : column + length]))
    return found


@pytest.mark.asyncio
async def test_what_cannot_be_read_looks_wrong_and_what_is_struck_is_dimmed(one_client):
    card = (
        "cylinder H-20\n  class  carbon-wrapped\n  2026-03-01  filled  to 80 F\n  2026-03-02  filled\n    to 44 psi\n"
        '      struck 2026-03-03 by vance "x"  # gone\n  2026-03-04  filled  to 4400 PSI  struck 2026-03-05 by vance "y"\n'
        '  life  5 years  struck 2026-03-03 by vance "z"\n'
    )
    document = open_(one_client, "new.cyl", card)
    assert await looks(one_client, document, card) == [
        ("wrong", "80 F"),
        ("comment", "2026-03-02  filled"),
        ("comment", "to 44 psi"),
        ("wrong", "4400 PSI"),
        ("comment", "life  5 years"),
    ]
    pack = PACK.replace("to < least-charge", "to < nonsense")
    document = open_(one_client, "house.cylpack", pack)
    assert await looks(one_client, document, pack) == [
        ("wrong", "nonsense"), ("comment", "2020-01-02  filled  to 80 psi"),
    ]  # fmt: skip


@pytest.mark.asyncio
async def test_a_name_is_shown_wherever_it_stands_and_the_selection_grows_from_the_word(one_client):
    text = CARDS + "\n" + SHEET
    document = open_(one_client, "cards.cyl", text)
    asked = types.DocumentHighlightParams(document, **at(text, "H-12", 1))
    found = await one_client.text_document_document_highlight_async(asked)
    assert [(each.range.start.line, each.kind) for each in found] == [
        (0, types.DocumentHighlightKind.Write), (21, types.DocumentHighlightKind.Read),
    ]  # fmt: skip
    asked = types.SelectionRangeParams(document, [place(text, '"cracked"', 3)])
    (selection,) = await one_client.text_document_selection_range_async(asked)
    grown = []
    while selection is not None:
        grown.append(selection.range)
        selection = selection.parent
    assert texts(text, grown[:3]) == ["cracked", '"cracked"', '2026-01-02  retired  "cracked"']
    assert [(each.start.line, each.end.line) for each in grown[3:]] == [(12, 12), (7, 12), (0, 23)]


@pytest.mark.asyncio
async def test_a_part_is_neatened_by_itself_and_a_line_when_it_is_whole(one_client):
    not_neat = SHEET.replace("09:42  H-12  from", "09:42 H-12 from").replace("09:58  H-14  to", "09:58   H-14 to")
    document = open_(one_client, "sheet.cyl", not_neat)
    asked = types.DocumentRangeFormattingParams(
        document, types.Range(types.Position(2, 0), types.Position(2, 9)), OPTIONS
    )
    (edit,) = await one_client.text_document_range_formatting_async(asked)
    assert edit.range.start.line == 2 and "09:58  H-14" in edit.new_text
    typed = not_neat.replace("\n  09:58   H-14 to", "\n  \n  09:58   H-14 to")
    change(one_client, document, typed)
    asked = types.DocumentOnTypeFormattingParams(document, types.Position(2, 2), "\n", OPTIONS)
    (edit,) = await one_client.text_document_on_type_formatting_async(asked)
    assert edit.range.start.line == 1 and "09:42  H-12" in edit.new_text
    pack = open_(one_client, "house.cylpack", PACK.replace("  on    filled", "   on   filled"))
    (edit,) = await one_client.text_document_formatting_async(types.DocumentFormattingParams(pack, OPTIONS))
    assert (edit.range.start.line, edit.new_text) == (6, "  on    filled\n")
    # A line that cannot be read yet stays as it is.
    change(one_client, document, typed.replace("09:42 H-12 from 900 psi", "09:42 H-12 from 900"), 3)
    assert not await one_client.text_document_on_type_formatting_async(asked)


@pytest.mark.asyncio
async def test_the_sentence_of_a_verb_is_shown_with_the_clause_that_is_written(one_client):
    async def said(text: str):
        document = open_(one_client, "new.cyl", text)
        position = types.Position(text.count("\n"), len(text) - text.rfind("\n") - 1)
        told = await one_client.text_document_signature_help_async(types.SignatureHelpParams(document, position))
        if told is None:
            return None
        (sentence,) = told.signatures
        active = told.active_parameter
        return sentence.label, None if active is None else sentence.parameters[active].label

    label, active = await said("cylinder H-20\n  2026-03-15  filled  ")
    assert label.startswith(
        "DAY [TIME] filled [from PRESSURE] to PRESSURE [at TEMPERATURE] [over DURATION] [by PERSON]"
    )
    assert active == "to PRESSURE"
    assert (await said("cylinder H-20\n  2026-03-15  filled  from 9"))[1] == "[from PRESSURE]"
    assert (await said("cylinder H-20\n  2026-03-15  filled  to 4400 psi  at "))[1] == "[at TEMPERATURE]"
    assert (await said("cylinder H-20\n  2026-03-15  filled  to 4400 psi  at st"))[1] == "[at SITE]"
    assert (await said("cylinder H-20\n  2026-03-15  hydro pass  struck 2026-03-16 by "))[1].startswith("[struck DAY")
    assert (await said("fill sheet 2026-03-15\n  09:40  H-12  "))[0].startswith("[TIME] NAME [from PRESSURE] to")
    assert (await said("2026-03-15 visual H-12 "))[0].startswith(
        "DAY [TIME] visual NAME pass|fail [by PERSON-OR-TESTER]"
    )
    assert await said("cylinder H-20\n  serial ") is None
    document = open_(one_client, "new.cyl", "cylinder H-20\n  2026-03-15  emp")
    found = await one_client.text_document_completion_async(types.CompletionParams(document, types.Position(1, 17)))
    assert [(each.label, each.insert_text_format) for each in found.items] == [
        ("emptied", None), ("emptied, with its clauses", types.InsertTextFormat.Snippet),
    ]  # fmt: skip


@pytest.mark.asyncio
async def test_the_outline_has_entries_and_examples_and_the_search_serials_and_tags(one_client):
    cards = CARDS.replace(
        "  class  carbon-wrapped\n", "  class  carbon-wrapped\n  serial  NC-88213\n  tag  E2003412\n", 1
    )
    document = open_(one_client, "cards.cyl", cards)
    found = await one_client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
    assert found[0].name == "H-12"
    assert [each.name for each in found[0].children] == [
        "2019-08-02 entered service at st1",
        "2024-06-20 hydro pass by Z999",
    ]
    assert all(
        found[0].range.start <= each.range.start and each.range.end <= found[0].range.end for each in found[0].children
    )
    document = open_(one_client, "house.cylpack", PACK)
    found = await one_client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
    (rule,) = [each for each in found if each.name == "low-fill"]
    assert [each.name for each in rule.children] == ['breaks  "too little"']
    for query in ("88213", "e2003412"):
        found = await one_client.workspace_symbol_async(types.WorkspaceSymbolParams(query))
        assert [each.name for each in found] == ["H-12"]


def file_of(uri: str) -> tuple[Path, int]:
    parts = urlsplit(uri)
    return Path(unquote(parts.path)), int(parts.fragment.removeprefix("L") or 0)


@pytest.mark.asyncio
async def test_rules_lead_to_packs_and_findings_to_the_texts_of_their_rules(one_client):
    client = one_client
    (client.folder / "house.cylpack").write_text(PACK)
    head = HEAD.replace("rules  us-dot", 'rules  us-dot\n  rules  "house.cylpack"')
    document = open_(client, "head.cyl", head)
    found = await client.text_document_document_link_async(types.DocumentLinkParams(document))
    assert texts(head, [each.range for each in found]) == ["us-dot", "house.cylpack"]
    assert file_of(found[0].target)[0].read_text().count("pack us-dot") == 1
    assert file_of(found[1].target)[0] == client.folder / "house.cylpack"
    sheet = SHEET.replace("to 4400 psi", "to 90 psi") + "  broken\n"
    found = await shown(
        client,
        open_(client, "sheet.cyl", sheet),
        lambda found: {"low-fill", "unreadable-line"} <= {each.code for each in found},
    )
    for each in found:
        file, line = file_of(each.code_description.href)
        assert each.code in file.read_text().split("\n")[line - 1]
    pack = open_(client, "house.cylpack", PACK)
    (link,) = await client.text_document_document_link_async(types.DocumentLinkParams(pack))
    assert texts(PACK, [link.range]) == ["us-dot"]


@pytest.mark.asyncio
async def test_names_of_packs_are_found_and_changed_in_packs_and_ledgers(one_client):
    client = one_client
    head = HEAD.replace("rules  us-dot", 'rules  us-dot\n  rules  "house.cylpack"')
    waiver = 'waived low-fill for H-12 from 2026-03-15 until 2026-04-01 by vance "x"\n'
    pack, ledger = open_(client, "house.cylpack", PACK), open_(client, "head.cyl", head)
    waived = open_(client, "waivers.cyl", waiver)

    async def leads(document, text, mark, after=1):
        found = await client.text_document_definition_async(types.DefinitionParams(document, **at(text, mark, after)))
        return [(Path(file_of(each.uri)[0]).name, each.range.start.line) for each in found]

    assert await leads(waived, waiver, "low-fill") == [("house.cylpack", 5)]
    assert await leads(pack, PACK, "to < least-charge", 8) == [("house.cylpack", 3)]
    assert await leads(pack, PACK, "{least-charge", 3) == [("house.cylpack", 3)]
    assert await leads(ledger, head, '"house.cylpack"', 4) == [("house.cylpack", 0)]
    assert [name for name, _ in await leads(pack, PACK, "dot-3aa")] == ["us-dot.cylpack"]
    assert [name for name, _ in await leads(pack, PACK, "level test-overdue", 8)] == ["vessel.cylpack"]

    async def renamed(document, text, mark, new):
        edit = await client.text_document_rename_async(types.RenameParams(document, place(text, mark, 1), new))
        files = edit.changes or {each.text_document.uri: each.edits for each in edit.document_changes}
        return {uri.rpartition("/")[2]: [each.range.start.line for each in edits] for uri, edits in files.items()}

    assert await renamed(waived, waiver, "low-fill", "too-little") == {"house.cylpack": [5], "waivers.cyl": [0]}
    assert await renamed(pack, PACK, "least-charge", "enough") == {"house.cylpack": [3, 7, 8]}
    for mark, new, why in (
        ("least-charge", "test-due", "is taken"), ("low-fill", "no-class", "is taken"), ("low-fill", "Low fill", "small letters"),
        ("dot-3aa", "dot-x", "comes with the program"),
    ):  # fmt: skip
        with pytest.raises(Exception, match=why):
            await renamed(pack, PACK, mark, new)


@pytest.mark.asyncio
async def test_only_what_has_changed_is_sent(client):
    """Columns count as the editor counts them, and a line ends where the protocol ends it."""
    assert client.capabilities is not None
    text = SHEET + '  10:04  H-14  to 4400 psi  remark "🚒\u2028 a"\n'
    document = open_(client, "sheet.cyl", text)
    general = client.capabilities.general
    units = {"utf-8": 4, "utf-16": 2, "utf-32": 1}[(general and general.position_encodings or ["utf-16"])[0]]
    end = text.split("\n")[3].index("🚒") + units

    def typed(line: int, first: int, last: int, new: str):
        return types.TextDocumentContentChangePartial(
            types.Range(types.Position(line, first), types.Position(line, last)), new
        )

    changes = [typed(3, end, end, "  "), typed(4, 0, 0, "  10:06  H-12  to 80 F\n"), typed(0, 26, 29, "st9")]
    client.text_document_did_change(
        types.DidChangeTextDocumentParams(types.VersionedTextDocumentIdentifier(2, document.uri), changes)
    )
    found = await shown(
        client, document, lambda found: {"unreadable-line", "unknown-name"} <= {each.code for each in found}
    )
    wrong, unknown = (next(each for each in found if each.code == code) for code in ("unreadable-line", "unknown-name"))
    assert "80 F" in wrong.message and wrong.range.start == types.Position(4, 18)
    assert "st9" in unknown.message


@pytest.mark.asyncio
async def test_while_a_large_record_is_read_the_editor_is_told_how_much_of_it(one_client):
    """The record of this session is small, so it is one more folder that is large, by comments that cost no time."""
    client = one_client
    large = client.folder / "large"
    large.mkdir()
    (large / "head.cyl").write_text(HEAD)
    for number in range(3):
        (large / f"{number}.cyl").write_text(f"# {'x' * 60}\n" * 8_000 + f'site s{number} "S"\n')
    added = types.WorkspaceFoldersChangeEvent([types.WorkspaceFolder(large.as_uri(), "large")], [])
    client.workspace_did_change_workspace_folders(types.DidChangeWorkspaceFoldersParams(added))
    told = []
    for _ in range(1_200):
        told = [each for reports in client.progress_reports.values() for each in reports]
        if told and told[-1].kind == "end":
            break
        await asyncio.sleep(0.05)
    assert [each.kind for each in told] == ["begin", *["report"] * 4, "end"]
    shares = [each.percentage for each in told[:-1]]
    assert "large" in told[0].title and shares == sorted(shares) and shares[-1] == 40
