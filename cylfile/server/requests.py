"""
What an editor can ask and tell, and which function answers it.
"""

from lsprotocol import types

from cylfile.server import file_requests as files
from cylfile.server import place_requests as places
from cylfile.server import session_requests as session

# Method -> what answers it, and what the editor is told of it.
HANDLERS = (
    (types.INITIALIZE, session.initialize),
    (types.INITIALIZED, session.initialized),
    (types.SHUTDOWN, session.shutdown),
    (types.WORKSPACE_DID_CHANGE_CONFIGURATION, session.configured),
    (types.WORKSPACE_DID_CHANGE_WATCHED_FILES, session.watched),
    (types.WORKSPACE_DID_CHANGE_WORKSPACE_FOLDERS, session.folders_changed),
    (types.WORKSPACE_DID_CREATE_FILES, session.files_moved, session.FILE_OPERATIONS),
    (types.WORKSPACE_DID_RENAME_FILES, session.files_moved, session.FILE_OPERATIONS),
    (types.WORKSPACE_DID_DELETE_FILES, session.files_moved, session.FILE_OPERATIONS),
    (types.TEXT_DOCUMENT_DID_OPEN, session.opened),
    (types.TEXT_DOCUMENT_DID_CHANGE, session.changed),
    (types.TEXT_DOCUMENT_DID_CLOSE, session.closed),
    (types.TEXT_DOCUMENT_DID_SAVE, session.saved),
    (types.TEXT_DOCUMENT_COMPLETION, places.completion),
    (types.TEXT_DOCUMENT_HOVER, places.hover),
    (types.TEXT_DOCUMENT_DEFINITION, places.definition),
    (types.TEXT_DOCUMENT_REFERENCES, places.references),
    (types.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT, places.highlights),
    (types.TEXT_DOCUMENT_PREPARE_RENAME, places.prepare_rename),
    (types.TEXT_DOCUMENT_RENAME, places.rename, types.RenameOptions(prepare_provider=True)),
    (types.TEXT_DOCUMENT_SIGNATURE_HELP, places.signature_help, types.SignatureHelpOptions([" "])),
    (types.TEXT_DOCUMENT_SELECTION_RANGE, places.selections),
    (types.TEXT_DOCUMENT_DOCUMENT_SYMBOL, files.document_symbols),
    (types.WORKSPACE_SYMBOL, files.workspace_symbols),
    (types.TEXT_DOCUMENT_FOLDING_RANGE, files.folding),
    (types.TEXT_DOCUMENT_FORMATTING, files.formatting),
    (types.TEXT_DOCUMENT_RANGE_FORMATTING, files.range_formatting),
    (types.TEXT_DOCUMENT_ON_TYPE_FORMATTING, files.on_type_formatting, types.DocumentOnTypeFormattingOptions("\n")),
    (types.TEXT_DOCUMENT_DOCUMENT_LINK, files.links),
    (types.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, files.tokens, files.TOKENS),
    (types.TEXT_DOCUMENT_CODE_ACTION, files.code_actions,
     types.CodeActionOptions([types.CodeActionKind.QuickFix, types.CodeActionKind.RefactorRewrite])),
    (types.TEXT_DOCUMENT_INLAY_HINT, files.inlay_hints),
)  # fmt: skip
