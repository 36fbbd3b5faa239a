"""What Helix is told of the languages; the editor itself is run nowhere, and its page says so."""

import tomllib

from cylfile.files.tree import LEDGER_ENDING, PACK_ENDING
from support.editor_corpus import EDITORS


def test_both_languages_have_the_server():
    told = tomllib.loads((EDITORS / "helix" / "languages.toml").read_text(encoding="utf-8"))
    assert told["language-server"] == {"cylfile": {"command": "cylfile", "args": ["serve"]}}
    endings = [f".{ending}" for language in told["language"] for ending in language["file-types"]]
    assert endings == [LEDGER_ENDING, PACK_ENDING]
    assert all(language["language-servers"] == ["cylfile"] for language in told["language"])
