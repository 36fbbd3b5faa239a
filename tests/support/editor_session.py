"""An editor's session with the server over the wire, by pytest-lsp."""

import asyncio
import sys

from lsprotocol import types
from pytest_lsp import LanguageClient, client_capabilities

from support.workspaces import write

SERVER = [sys.executable, "-m", "cylfile", "serve"]
PROFILES = ("visual-studio-code", "neovim", "emacs")


async def session(lsp_client: LanguageClient, tmp_path, profile: str) -> None:
    """Begin to speak as the editor of a profile, about the record of `support.workspaces` in a folder."""
    write(tmp_path)
    uri = tmp_path.as_uri()
    lsp_client.feature(types.CLIENT_REGISTER_CAPABILITY)(lambda params: None)
    lsp_client.server = await lsp_client.initialize_session(
        types.InitializeParams(
            capabilities=client_capabilities(profile), root_uri=uri,
            workspace_folders=[types.WorkspaceFolder(uri, "record")],
            initialization_options={"hints": True},
        )
    )  # fmt: skip
    lsp_client.folder = tmp_path


def open_(client, name: str, text: str) -> types.TextDocumentIdentifier:
    uri = (client.folder / name).as_uri()
    client.text_document_did_open(types.DidOpenTextDocumentParams(types.TextDocumentItem(uri, "cyl", 1, text)))
    return types.TextDocumentIdentifier(uri)


def change(client, document, text: str, version: int = 2) -> None:
    client.text_document_did_change(
        types.DidChangeTextDocumentParams(
            types.VersionedTextDocumentIdentifier(version=version, uri=document.uri),
            [types.TextDocumentContentChangeWholeDocument(text)],
        )
    )


async def shown(client, document, ready) -> list[types.Diagnostic]:
    """The findings of a file once they are as wanted."""
    for _ in range(1_200):
        found = client.diagnostics.get(document.uri, [])
        if ready(found):
            return found
        await asyncio.sleep(0.05)
    raise AssertionError(found)


def place(text: str, mark: str, after: int = 0) -> types.Position:
    """The position of a mark in a text of plain letters."""
    before = text[: text.index(mark) + after]
    return types.Position(before.count("\n"), len(before) - before.rfind("\n") - 1)
