"""
How a session with an editor goes: its beginning and end, its settings, its folders, and the files it has open.
"""

import os
from typing import Any

from lsprotocol import types
from pygls.uris import to_fs_path

from cylfile.files.tree import LEDGER_ENDING, PACK_ENDING
from cylfile.server.service import Service


def initialized(service: Service, params: types.InitializedParams) -> None:
    service.reading.prepare()
    service.look_when_idle()
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


def initialize(service: Service, params: types.InitializeParams) -> None:
    service.is_begun = True
    _take_settings(service, params.initialization_options)
    service.end_with(params.process_id)


def shutdown(service: Service, params: None) -> None:
    service.is_ending = True


def configured(service: Service, params: types.DidChangeConfigurationParams) -> None:
    settings = params.settings
    section = settings.get("cylfile") if isinstance(settings, dict) else getattr(settings, "cylfile", None)
    _take_settings(service, section)


def _take_settings(service: Service, settings: Any) -> None:
    wanted = settings.get("hints") if isinstance(settings, dict) else getattr(settings, "hints", None)
    if isinstance(wanted, bool):
        service.shows_hints = wanted


def opened(service: Service, params: types.DidOpenTextDocumentParams) -> None:
    document = params.text_document
    service.open(document.uri, document.text, document.version)


def changed(service: Service, params: types.DidChangeTextDocumentParams) -> None:
    service.change(params.text_document.uri, params.content_changes, params.text_document.version)


def closed(service: Service, params: types.DidCloseTextDocumentParams) -> None:
    service.close(params.text_document.uri)


def saved(service: Service, params: types.DidSaveTextDocumentParams) -> None:
    """Not every editor watches the disk, so whatever else was written meanwhile is looked at now."""
    known = service.belongs(params.text_document.uri)
    if known is not None:
        known[0].look_again(packs=known[1].endswith(PACK_ENDING))
        service.changed(known[0])


def watched(service: Service, params: types.DidChangeWatchedFilesParams) -> None:
    service.look_again(event.uri for event in params.changes)


def files_moved(
    service: Service, params: types.CreateFilesParams | types.RenameFilesParams | types.DeleteFilesParams
) -> None:
    """Files or whole folders were made, renamed or deleted in the editor; a folder may hold packs."""
    uris = [each.old_uri if isinstance(each, types.FileRename) else each.uri for each in params.files]
    service.look_everywhere(packs=not all(uri.endswith(LEDGER_ENDING) for uri in uris))


# Of which of them an editor tells: all, since a folder has any name.
FILE_OPERATIONS = types.FileOperationRegistrationOptions(
    [types.FileOperationFilter(types.FileOperationPattern("**/*"), "file")]
)


def folders_changed(service: Service, params: types.DidChangeWorkspaceFoldersParams) -> None:
    for folder in params.event.removed:
        service.remove_folder(os.path.normpath(to_fs_path(folder.uri) or ""))
    for folder in params.event.added:
        path = to_fs_path(folder.uri)
        if path and os.path.isdir(path):
            service.add_folder(os.path.normpath(path))
