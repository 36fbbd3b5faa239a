"""
Prints, for every line of a file, the style of every character, as GtkSourceView highlights it.

Run with the system's Python, which has its bindings. Arguments: the version of GtkSourceView (4 or
5), the folder of the languages, and the file. Styles are told apart by colors of a scheme made here.
"""

import json
import sys
import tempfile
from pathlib import Path

import gi

version, languages, sample = sys.argv[1:]
gi.require_version("GtkSource", version)
from gi.repository import GtkSource  # noqa: E402

STYLES = (
    "cyl:comment cyl:header cyl:property cyl:verb cyl:value cyl:clause cyl:date cyl:quantity cyl:name cyl:text "
    "cyl:struck cyl:error cylpack:header cylpack:property cylpack:verb cylpack:level cylpack:clause cylpack:quantity "
    "cylpack:text cylpack:operator cylpack:brace"
).split()

if version == "5":
    GtkSource.init()
scheme = '<style-scheme id="corpus" name="Corpus" version="1.0">'
scheme += "".join(f'<style name="{style}" foreground="#0000{at + 1:02x}"/>' for at, style in enumerate(STYLES))
with tempfile.TemporaryDirectory() as folder:
    (Path(folder) / "corpus.xml").write_text(scheme + "</style-scheme>", encoding="utf-8")
    schemes = GtkSource.StyleSchemeManager()
    schemes.set_search_path([folder])
    manager = GtkSource.LanguageManager()
    manager.set_search_path([languages, f"/usr/share/gtksourceview-{version}/language-specs"])
    buffer = GtkSource.Buffer.new_with_language(manager.guess_language(sample, None))
    buffer.set_style_scheme(schemes.get_scheme("corpus"))
text = Path(sample).read_text(encoding="utf-8")
buffer.set_text(text)
buffer.ensure_highlight(*buffer.get_bounds())

lines = [[]]
place = buffer.get_start_iter()
for character in text:
    style = ""
    for tag in place.get_tags():
        color = tag.props.foreground_rgba
        if color is not None and tag.props.foreground_set:
            style = STYLES[round(color.blue * 255) - 1]
    if character == "\n":
        lines.append([])
    else:
        lines[-1].append(style)
    place.forward_char()
print(json.dumps({"language": buffer.get_language().get_id(), "lines": lines}))
