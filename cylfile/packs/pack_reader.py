"""
Case one pack file: from its lines to what they say. Nothing here raises on what a user wrote.
"""

from itertools import islice

from cylfile.findings.core_rules import CORE_RULES
from cylfile.history.facts import FACTS, PLACES
from cylfile.history.figures import NO_LIMIT
from cylfile.packs.examples import read_example
from cylfile.packs.marking import Pattern, PatternRefused
from cylfile.packs.pack import ClassSheet, LevelChange, Named, Pack, RuleSheet, RuleSource, Setting, Suspension
from cylfile.packs.pack_lines import Block, Line, read_lines
from cylfile.packs.pack_sentences import HEADERS, HOW, LINES, NAMES, SentenceReader
from cylfile.packs.suggest import did_you_mean, nearest
from cylfile.text.phrases import either
from cylfile.text.source import Fault, Source, Span, clip
from cylfile.text.spelling import american

_REPEATABLE = ("over", "marked", "working", "cite", "breaks", "keeps")
_NEEDED = ("on", "when", "say")

# Words that mean something in an expression, so that no setting may have them for a name.
_RESERVED = ("yes", "no", "times")
_MOST_FORBIDDEN = 20


def read_pack(source: Source) -> tuple[Pack, list[Fault]]:
    """
    What a pack file says, and what of it cannot be read.

    A line that cannot be read changes no other; a rule without a readable `when` is not among the
    pack's rules. Facts, settings and dimensions are checked when packs are laid over each other.
    """
    reader = PackReader(source)
    reader.read()
    return reader.pack, reader.faults


class PackReader(SentenceReader):
    """One pass over one pack."""

    def __init__(self, source: Source):
        super().__init__(source)
        self.pack = Pack(source)

    def read(self) -> None:
        for offset in islice(self.source.forbidden(), _MOST_FORBIDDEN):
            text = f"U+{ord(self.source.text[offset]):04X}, a character that can hide what a line says"
            self.fault(offset, offset + 1, text, "Remove it; it shows in no editor.")
        blocks, faults = read_lines(self.source)
        self.faults += faults
        for block in blocks:
            self._block(block)
        if not self.pack.name and not any(block.header.word == "pack" for block in blocks):
            self.fault(0, 0, "no line says which pack this is", 'Begin with `pack NAME "what it is for"`.')
        self.faults.sort(key=lambda fault: fault.span.start)

    # Blocks.

    def _block(self, block: Block) -> None:
        header = block.header
        if header.word not in HEADERS:
            cure = did_you_mean(
                header.word,
                HEADERS,
                "A line in column 1 begins with `pack`, `class`, `setting`, `rule`, `level`, `suspend` or `cite`.",
            )
            more = "; the lines under it are not read" if block.lines else ""
            self.fault(
                header.start,
                header.start + len(header.word),
                f"`{clip(header.word)}` begins no line in column 1{more}",
                cure,
                nearest(header.word, HEADERS),
            )
            return
        sentence = self.sentence(header, HEADERS[header.word])
        if header.word in LINES:
            getattr(self, f"_{header.word}")(sentence, header, block.lines)
            return
        if sentence is not None:
            getattr(self, f"_{header.word}")(*sentence)
        for line in block.lines:
            self.fault_word(line, f"nothing is allowed under a `{header.word}` line", "Start the line in column 1.")

    def _pack(self, sentence, header: Line, lines: list[Line]) -> None:
        pack = self.pack
        if pack.name:
            self.fault_word(header, "a second `pack` line", "One file is one pack; write another file.")
        elif (name := self.named(sentence)) is not None:
            pack.name, pack.title = name.name, self.text(sentence[1][1])
        for line, _, words in self._lines(lines, "pack"):
            if line.word == "over":
                below = self.text(words[0]) if words[0].type == "TEXT" else words[0].text
                pack.over.append(Named(below, Span(self.source, words[0].start, words[0].end)))
            else:
                self._put_figure(pack, line, words)

    def _class(self, sentence, header: Line, lines: list[Line]) -> None:
        sheet = self._class_sheet(sentence, header, lines)
        if sheet is None:
            return
        if sheet.name in self.pack.classes:
            self.fault_at(
                sheet.span, f"class `{sheet.name}` is in this pack already", "Put all its figures in one place."
            )
        else:
            self.pack.classes[sheet.name] = sheet

    def class_sheet(self, block: Block) -> ClassSheet | None:
        """A `class` block that stands in an example; None, and a fault, where its name cannot be read."""
        return self._class_sheet(self.sentence(block.header, "class"), block.header, block.lines)

    def _class_sheet(self, sentence, header: Line, lines: list[Line]) -> ClassSheet | None:
        name = self.named(sentence)
        sheet = ClassSheet("", "", Span(self.source, header.start, header.end))
        if name is not None:
            sheet = ClassSheet(name.name, self.text(sentence[1][1]) if len(sentence[1]) > 1 else "", name.span)
        for line, _, words in self._lines(lines, "class"):
            if line.word == "marked":
                self._put_pattern(sheet, self.text(words[0]))
            elif line.word == "cite":
                rule = Named(american(words[0].text), Span(self.source, words[0].start, words[0].end))
                sheet.cited_rules.append(rule)
                sheet.rule_cites.setdefault(rule.name, []).append(self.text(words[1]))
            else:
                self._put_figure(sheet, line, words)
        return sheet if name else None

    def _put_pattern(self, sheet: ClassSheet, written: str) -> None:
        try:
            sheet.patterns.append(Pattern(written))
        except PatternRefused as refusal:
            text = f"marking `{clip(written)}` of class `{sheet.name}`: {refusal}"
            self.fault_at(sheet.span, text, "Write it as it is stamped.")

    def _put_figure(self, of: Pack | ClassSheet, line: Line, words) -> None:
        """Put the figure of a line into a pack's header or a class, and its source."""
        figures_of, field = of.figures, line.word.replace("-", "_")
        of.where[line.word] = Span(self.source, line.start, line.end)
        if words and words[-1].type == "TEXT":
            of.cites[line.word] = self.text(words[-1])
        if line.word in NAMES:
            figures_of[field] = self._listed(line.word, [word for word in words if word.type == "NAME"])
        elif line.word == "to-the-day":
            figures_of[field] = True
        elif not words or words[0].type == "TEXT":
            # `none`, which fills no slot, perhaps with its source.
            figures_of[field] = NO_LIMIT
        elif words[0].type == "NAME":
            if words[0].text in ("yes", "no"):
                figures_of[field] = words[0].text == "yes"
            else:
                self.fault_word(
                    words[0],
                    f"`{clip(words[0].text)}` is neither yes nor no",
                    "Write `yes` or `no`.",
                )
        else:
            value = self.figure(words[0])
            if value is not None:
                figures_of[field] = value.value

    def _listed(self, of: str, words: list) -> tuple[str, ...]:
        """The names of a line that lists some, without those that mean nothing there."""
        listed = []
        for word in words:
            if word.text in NAMES[of]:
                listed.append(word.text)
            else:
                otherwise = f"It may be {', '.join(NAMES[of])}."
                cure = did_you_mean(word.text, NAMES[of], otherwise)
                text = f"`{clip(word.text)}` is none of the {of.replace('-', ' ')}"
                self.fault_word(word, text, cure, nearest(word.text, NAMES[of]))
        return tuple(dict.fromkeys(listed))

    def _rule(self, sentence, header: Line, lines: list[Line]) -> None:
        name = self.named(sentence)
        level = sentence[0].children[1].data if name else ""
        sheet = RuleSheet(
            name.name if name else "", level, name.span if name else Span(self.source, header.start, header.end)
        )
        for line, tree, words in self._lines(lines, "rule"):
            self._rule_line(sheet, line, tree, words)
        if name is None:
            return
        written = [line.word for line in lines]
        for word in _NEEDED:
            if word not in written:
                self.fault_at(
                    name.span, f"rule `{name.name}` has no `{word}` line", f"Write it under the rule: {HOW[word]}."
                )
        if name.name in CORE_RULES:
            self.fault_at(name.span, f"`{name.name}` is a rule of the reader itself", "Choose another name.")
        elif name.name in self.pack.rules:
            self.fault_at(name.span, f"rule `{name.name}` is in this pack already", "Choose another name.")
        elif sheet.when is not None and sheet.say is not None and sheet.on:
            self.pack.rules[name.name] = sheet
        else:
            self.pack.unreadable_rules.add(name.name)

    def _rule_line(self, sheet: RuleSheet, line: Line, tree, words) -> None:
        match line.word:
            case "on":
                sheet.on = self._places(tree, words)
            case "when":
                sheet.when = self.formula(self.language.words(self.source.text, line.rest, line.end))
            case "once":
                if words[0].text == "cylinder":
                    sheet.once = True
                else:
                    self.fault_word(
                        words[0],
                        "a rule reports at every entry, or once a cylinder",
                        "Write `once  cylinder`.",
                    )
            case "say":
                sheet.say = self.template(words[0])
            case "working":
                sheet.working.append(self.template(words[0]) or ())
            case "advice":
                sheet.advice = self.template(words[0]) or ()
            case "why":
                sheet.why = self.text(words[0])
            case "cite":
                sheet.cite.append(self.text(words[0]))
            case _:
                example = read_example(self, line, words)
                if example is not None:
                    (sheet.breaks if example.breaks else sheet.keeps).append(example)

    def _places(self, tree, words) -> tuple[str, ...]:
        """The places of an `on` line that exist."""
        places = []
        for verb in tree.children:
            inside = [words[slot.index] for slot in verb.children]
            place = " ".join(word.text for word in inside)
            if place in PLACES:
                places.append(place)
            else:
                cure = did_you_mean(place, PLACES, f"A rule is asked on {either(PLACES)}.")
                self.fault(
                    inside[0].start,
                    inside[-1].end,
                    f"a rule cannot be asked on `{clip(place)}`",
                    cure,
                    nearest(place, PLACES),
                )
        return tuple(dict.fromkeys(places))

    # Headers of one line.

    def _setting(self, tree, words) -> None:
        name = self.named((tree, words))
        value = self.figure(words[1])
        if name is None or value is None:
            return
        taken = "a fact" if name.name in FACTS else "a word of the language" if name.name in _RESERVED else ""
        if taken:
            self.fault_at(
                name.span, f"`{name.name}` is {taken}, so no setting can have its name", "Choose another name."
            )
        elif name.name in self.pack.settings:
            self.fault_at(name.span, f"setting `{name.name}` is in this pack already", "Keep one of the two.")
        else:
            cite = self.text(words[-1]) if words[-1].type == "TEXT" else ""
            self.pack.settings[name.name] = Setting(name.name, value._replace(setting=name.name), cite, name.span)

    def _level(self, tree, words) -> None:
        name = self.named((tree, words))
        if name is not None:
            self.pack.levels.append(LevelChange(name, tree.children[1].data))

    def _suspend(self, tree, words) -> None:
        name = self.named((tree, words))
        if name is not None:
            self.pack.suspensions.append(Suspension(name, self.text(words[1])))

    def _cite(self, tree, words) -> None:
        name = self.named((tree, words))
        if name is not None:
            self.pack.sources.append(RuleSource(name, self.text(words[1])))

    # Properties.

    def _lines(self, lines: list[Line], kind: str):
        """The property lines of a block that can be read: the line, its tree and the words of its slots."""
        known, seen = LINES[kind], set()
        for line in lines:
            if line.word not in known:
                cure = did_you_mean(
                    line.word, known, f"Under a `{kind}` line may be {', '.join(f'`{word}`' for word in known)}."
                )
                text = f"`{clip(line.word)}` is no property of a {kind}"
                self.fault(line.start, line.start + len(line.word), text, cure, nearest(line.word, known))
                continue
            if line.word in seen and line.word not in _REPEATABLE:
                self.fault_word(line, f"`{line.word}` is given twice", "Keep one of the two.")
                continue
            seen.add(line.word)
            sentence = self.sentence(line, known[line.word])
            if sentence is not None:
                yield line, *sentence
