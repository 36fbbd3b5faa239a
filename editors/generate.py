"""
The words of the languages for the editors: read from the grammars, written into every editor's files.

Run `python editors/generate.py` after a change of a grammar; `--check` only names the files that are
stale. A list of words stands in an editor's file in one of two ways: as the alternatives after a
comment inside an expression, `(?#verb)filled|gauged`, or between two lines of comment,
`words: verb` and `end of words`, in the form that the file's kind has below.
"""

import re
import sys
from functools import cache
from pathlib import Path

from lark import Lark

FOLDER = Path(__file__).resolve().parent
ROOT = FOLDER.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from cylfile.history.facts import PLACES  # noqa: E402
from cylfile.packs.pack_sentences import HEADERS, LINES, pack_language  # noqa: E402
from cylfile.text.grammar import grammar_folder  # noqa: E402
from cylfile.text.ledger import LEDGER, LINES_OF, TOP  # noqa: E402

FILES = (
    "editors/vscode/syntaxes/cyl.tmLanguage.json",
    "editors/vscode/syntaxes/cylpack.tmLanguage.json",
    "editors/vim/syntax/cyl.vim",
    "editors/vim/syntax/cylpack.vim",
    "editors/emacs/cyl-mode.el",
    "editors/nano/cyl.nanorc",
    "cylfile/show/machine/pygments_lexer.py",
    "editors/gtksourceview/cyl.lang",
    "editors/gtksourceview/cylpack.lang",
    "editors/kate/cyl.xml",
    "editors/kate/cylpack.xml",
    "editors/sublime/cyl.sublime-syntax",
    "editors/sublime/cylpack.sublime-syntax",
)
# Followed by a digit these are figures in any editor: `15 years`, `412 entries`.
_COUNTED = ("year", "years", "entries")


@cache
def words() -> dict[str, tuple[str, ...]]:
    """
    Group -> its words, longer ones before those they begin with.

    `header` opens a block of a ledger, `property` begins a line of a head, `verb` says what
    happened, `value` stands for itself (`pass`, `storage`), `clause` is every other word. The
    groups of packs begin with `pack_`; `place` are the verbs that a rule can stand on.
    """
    groups = _ledger_words()
    pack = pack_language().keywords
    levels = ("danger", "warning", "caution", "notice")
    connectives = ("and", "or", "not", "known")
    groups["pack_header"] = set(HEADERS)
    groups["pack_property"] = {word for lines in LINES.values() for word in lines}
    groups["pack_level"] = set(levels)
    groups["pack_operator"] = set(connectives)
    groups["pack_clause"] = {word for word in pack if word[0].isalpha()} - {*levels, *connectives}
    groups["place"] = set(PLACES)
    return {group: tuple(sorted(found, key=lambda word: (-len(word), word))) for group, found in groups.items()}


def _ledger_words() -> dict[str, set[str]]:
    """The groups of the ledger's keywords, by the rules of the grammar that they begin or stand in."""
    text_of = LEDGER.keyword_terminals
    headers, properties, acts = set(), set(), set()
    expansions: dict[str, list[list[str]]] = {}
    grammar = Path(grammar_folder(), LEDGER.file_name).read_text(encoding="utf-8")
    parser = Lark(
        grammar, parser="lalr", start=[TOP, *dict.fromkeys(LINES_OF.values())], import_paths=[grammar_folder()]
    )
    for rule in parser.rules:
        name, symbols = str(rule.origin.name), [str(symbol.name) for symbol in rule.expansion]
        expansions.setdefault(name, []).append(symbols)
        if len(symbols) == 1 and name == TOP:
            headers.add(symbols[0])
        elif len(symbols) == 1 and name.endswith("_line"):
            properties.add(symbols[0])
        elif "_act{" in name and not symbols[-1].startswith("_"):
            acts.add(symbols[-1])
    groups: dict[str, set[str]] = {group: set() for group in ("header", "property", "verb", "value", "clause")}
    for name, choices in expansions.items():
        for symbols in choices:
            count = next((at for at, symbol in enumerate(symbols) if symbol not in text_of), len(symbols))
            phrase = " ".join(text_of[symbol] for symbol in symbols[:count])
            inner = {text_of[symbol] for symbol in symbols[count:] if symbol in text_of}
            if name in headers:
                group = "header"
            elif name in properties and name != "at_site":
                group = "property"
            elif name in acts:
                group = "verb"
            else:
                group = "value" if count == len(symbols) else "clause"
            if group == "property":
                phrase, *more = phrase.split()
                inner.update(more)
            if phrase:
                groups[group].add(phrase)
            groups["clause"] |= inner
    groups["clause"] -= groups["verb"] | set(_COUNTED)
    # A word that begins a clause may be a value elsewhere, as the name of a pack.
    groups["value"] -= groups["verb"] | groups["clause"]
    return groups


def _alternatives(group: str, blank: str) -> str:
    return "|".join(word.replace(" ", blank) for word in words()[group])


def _wrapped(parts, indent: str) -> str:
    """Words in lines of at most 100 characters."""
    lines, line = [], indent
    for part in parts:
        if len(line) + len(part) > 100:
            lines.append(line.rstrip())
            line = indent
        line += part + " "
    return "\n".join([*lines, line.rstrip()]) + "\n"


def _vim(group: str, indent: str, old: str) -> str:
    alternatives = _alternatives(group, r"\s\+").replace("|", r"\|")
    return f"{indent}let s:{group} = '{alternatives}'\n"


def _emacs(group: str, indent: str, old: str) -> str:
    listed = _wrapped([f'"{word}"' for word in words()[group]], "    ").rstrip("\n")
    return f"(defconst cyl-{group.replace('_', '-')}-words\n  '(\n{listed}))\n"


def _sublime(group: str, indent: str, old: str) -> str:
    return f"{indent}{group}: '{_alternatives(group, BLANK)}'\n"


def _nano(group: str, indent: str, old: str) -> str:
    return re.sub(r"\([^()]*\)", f"({_alternatives(group, ' +')})", old, count=1)


def _pygments(group: str, indent: str, old: str) -> str:
    listed = "".join(f'    "{word}",\n' for word in words()[group])
    return f"{group.upper()} = (\n{listed})\n"


BLANK = r"[ \t]+"
# How the words between two lines of comment are written, by the kind of file: a function of the
# group, the indent, and the lines that stand there.
_FORMS = {".vim": _vim, ".el": _emacs, ".sublime-syntax": _sublime, ".nanorc": _nano, ".py": _pygments}
# What stands between the words of a phrase in an expression; JSON needs the backslash twice.
_BLANKS = {".json": r"[ \\t]+"}
_LISTED = re.compile(
    r"(?P<first>^(?P<indent>[ \t]*)\S+ words: (?P<group>\w+)[^\n]*\n)(?P<old>.*?)(?P<last>^[^\n]*\bend of words\b)",
    re.M | re.S,
)
_INLINE = re.compile(r"\(\?#(?P<group>\w+)\)[^()]*")


def fresh(path: Path) -> str:
    """The text of an editor's file with the words that the grammars have now."""
    text = path.read_text(encoding="utf-8")
    blank = _BLANKS.get(path.suffix, BLANK)
    text = _INLINE.sub(lambda found: f"(?#{found['group']}){_alternatives(found['group'], blank)}", text)
    if path.suffix not in _FORMS:
        if _LISTED.search(text):
            raise SystemExit(
                f"{path.name}: there is no row for {path.suffix} in _FORMS, which says how its words are written"
            )
        return text
    form = _FORMS[path.suffix]
    return _LISTED.sub(
        lambda found: found["first"] + form(found["group"], found["indent"], found["old"]) + found["last"], text
    )


def has_marks(text: str) -> bool:
    """Whether a file has places for the words of the grammars."""
    return bool(_INLINE.search(text) or _LISTED.search(text))


def stale() -> list[str]:
    """The files whose words are not those of the grammars."""
    return [name for name in FILES if (ROOT / name).read_text(encoding="utf-8") != fresh(ROOT / name)]


def main() -> int:
    names = stale()
    for name in names:
        print(name)
        if "--check" not in sys.argv[1:]:
            (ROOT / name).write_text(fresh(ROOT / name), encoding="utf-8")
    return 1 if names and "--check" in sys.argv[1:] else 0


if __name__ == "__main__":
    sys.exit(main())
