"""Editors that speak with the server, one of them or each in turn."""

import pytest_lsp
from pytest_lsp import ClientServerConfig, LanguageClient

from support.editor_session import PROFILES, SERVER, session


@pytest_lsp.fixture(config=ClientServerConfig(server_command=SERVER), params=PROFILES)
async def client(request, lsp_client: LanguageClient, tmp_path):
    """Each of the editors in turn, for what depends on what an editor can do."""
    await session(lsp_client, tmp_path, request.param)
    yield
    await lsp_client.shutdown_session()


@pytest_lsp.fixture(config=ClientServerConfig(server_command=SERVER))
async def one_client(lsp_client: LanguageClient, tmp_path):
    """One editor, for all else."""
    await session(lsp_client, tmp_path, PROFILES[0])
    yield
    await lsp_client.shutdown_session()
