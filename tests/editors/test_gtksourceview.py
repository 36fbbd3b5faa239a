"""The `.lang` files by GtkSourceView itself, without a display, and against its schema."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from support.editor_corpus import EDITORS, FOLDER, check, rows, write_sample

LANGUAGES = EDITORS / "gtksourceview"
LETTER = {
    "comment": "#", "header": "k", "property": "p", "verb": "v", "value": "w", "level": "w", "clause": "c",
    "date": "d", "quantity": "q", "name": "n", "text": "t", "brace": "b", "struck": "s", "error": "e", "operator": "o",
    "": ".",
}  # fmt: skip
SYSTEM_PYTHON = "/usr/bin/python3"


@pytest.mark.editors
@pytest.mark.parametrize("language, kind", (("ledger", "cyl"), ("pack", "cylpack")))
@pytest.mark.parametrize("version", ("4", "5"))
def test_colors(tmp_path, version, language, kind):
    ready = f"import gi; gi.require_version('GtkSource', '{version}')"
    if not Path(SYSTEM_PYTHON).exists() or subprocess.run([SYSTEM_PYTHON, "-c", ready], capture_output=True).returncode:
        pytest.skip(f"needs the system's Python with GtkSourceView {version}")
    sample = write_sample(tmp_path, language)
    command = [SYSTEM_PYTHON, FOLDER / "gtksource.py", version, LANGUAGES, sample]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    warnings = [line for line in run.stderr.splitlines() if "GtkSource" in line or "language" in line]
    assert warnings == []
    found = json.loads(run.stdout)
    assert found["language"] == kind
    came = ["".join(LETTER[style.rpartition(":")[2]] for style in line) for line in found["lines"]]
    assert [len(line) for line in came[: len(rows(language))]] == [len(row.text) for row in rows(language)]
    check(language, came)


@pytest.mark.editors
@pytest.mark.parametrize("name", ("cyl", "cylpack"))
def test_the_schema_is_met(name):
    schema = Path("/usr/share/gtksourceview-4/language-specs/language2.rng")
    if not shutil.which("xmllint") or not schema.exists():
        pytest.skip("needs xmllint and the schema of GtkSourceView")
    command = ["xmllint", "--noout", "--relaxng", schema, LANGUAGES / f"{name}.lang"]
    run = subprocess.run(command, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr


def test_every_style_maps_to_one_that_exists():
    """A style that maps to an unknown one vanishes without an error."""
    known = Path("/usr/share/gtksourceview-4/language-specs/def.lang")
    if not known.exists():
        pytest.skip("needs the languages of GtkSourceView 4")
    styles = set(re.findall('<style id="([a-z0-9-]+)"', known.read_text(encoding="utf-8")))
    for name in ("cyl", "cylpack"):
        mapped = re.findall('map-to="def:([a-z0-9-]+)"', (LANGUAGES / f"{name}.lang").read_text(encoding="utf-8"))
        assert mapped and set(mapped) <= styles
