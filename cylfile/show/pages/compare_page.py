"""
The page of a comparison: first what was altered or removed, old beside new, then the rest cylinder by cylinder.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from cylfile.compare import block_changes as block_kinds
from cylfile.compare import entry_changes as kinds
from cylfile.compare.block_changes import BlockChange
from cylfile.compare.entry_changes import EntryChange
from cylfile.compare.signed_between import SIGNED_KINDS, signed_between
from cylfile.compare.states import Comparison
from cylfile.compare.steps import Step
from cylfile.findings.finding import LEVELS, Finding
from cylfile.judging.heads import natural
from cylfile.judging.report import worst_first
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import Declared
from cylfile.record.entries import Answer, plain_form, write_text
from cylfile.show.terminal.heading import put_foot, put_unread
from cylfile.show.terminal.layout import Layout, Line, cells
from cylfile.text.lookalikes import told_apart, told_from
from cylfile.text.phrases import counted

_INDENT = 12
_NARROW_INDENT = 4
_NARROW = 50
# From this width on old and new stand beside each other.
_WIDE = 80
# As many findings of one rule are listed one by one; of more, the first stands for all.
_FEW = 3
NOTHING = "(nothing)"
_BLOCK_WORDS = {block_kinds.ADDED: "new", block_kinds.REMOVED: "gone", block_kinds.CHANGED: "says"}


@dataclass
class ComparisonReport:
    """
    A comparison and how it came about: what the states are called, the day and the rules each was judged by.

    With `every`, the page lists each entry that was added in the order of days, else it counts them.
    """

    comparison: Comparison
    old: str
    new: str
    as_of: date
    old_rules: Ruleset
    rules: Ruleset
    every: bool = False
    # Of what was signed between, these kinds and nothing else are listed, where somebody asked for that.
    only: tuple[str, ...] = ()
    # What the revisions between did, where somebody asked for that, and how many they are.
    steps: Sequence[Step] = ()
    walked: int | None = None

    @property
    def title(self) -> str:
        department = self.comparison.new.department or self.comparison.old.department
        return department.title if department else "A record without a department"


def comparison_page(report: ComparisonReport, layout: Layout) -> Iterator[Line]:
    page = _Page(report, layout)
    parts = (page.altered, page.rules, page.revisions, page.subjects, page.rest, page.findings)
    for part in (page.head, page.summary, *([page.signatures] if report.only else parts), page.foot):
        part()
        yield from layout.lines
        layout.lines.clear()


def _by_level(findings: Sequence[Finding]) -> str:
    counts = Counter(finding.level for finding in findings)
    each = [f"{counts[level]:,} {level}" for level in LEVELS if counts[level]]
    return f"{len(findings):,}" + (f" ({', '.join(each)})" if each else "")


def _in_order(change: EntryChange) -> bool:
    """Whether an entry was added as work goes on."""
    return change.kind == kinds.ADDED and change.sealed is None


class _Page:
    def __init__(self, report: ComparisonReport, layout: Layout):
        self.report = report
        self.comparison = report.comparison
        self.layout = layout
        self.every = report.every
        self.indent = _INDENT if layout.width >= _NARROW else _NARROW_INDENT
        self.blocks = defaultdict(list)
        for change in self.comparison.blocks:
            self.blocks[change.name if change.word in ("cylinder", "source") else ""].append(change)

    def _heading(self, text: str, style: str = "strong") -> None:
        self.layout.blank()
        self.layout.put(text, style=style)

    def _named(self, name: str, text: str, right: str, style: str = "") -> None:
        self.layout.put(text, self.indent, style, first=[(f"  {name} ", "strong")], right=[right])

    # What was altered or removed.

    def head(self) -> None:
        report, layout = self.report, self.layout
        layout.put(report.title, style="strong")
        for word, label, record in (
            ("old", report.old, self.comparison.old),
            ("new", report.new, self.comparison.new),
        ):
            layout.put(label, self.indent, first=[(word, "")])
            put_unread(layout, record)
        packs, before = (", ".join(rules.names) or "none" for rules in (report.rules, report.old_rules))
        same = report.rules.digests == report.old_rules.digests and packs == before
        by = f"by the rules {packs}" if same else f"each by its own rules: old {before}; new {packs}"
        layout.put(f"both judged as of {report.as_of}, {by}")
        if report.walked is not None:
            told = f"what {len(report.steps):,} of them did is told below" if report.steps else "none is to be told of"
            layout.put(f"walked {counted(report.walked, 'revision')} between them; {told}")

    @property
    def as_far_as_read(self) -> str:
        unread = self.comparison.old.unread or self.comparison.new.unread
        return ", as far as they could be read" if unread else ""

    def summary(self) -> None:
        """All that happened, in a few lines, before any of it is told."""
        comparison, layout = self.comparison, self.layout
        if comparison.is_empty:
            return
        layout.blank()
        if comparison.grave:
            layout.put(f" ALTERED OR REMOVED {sum(comparison.grave.values())} ", style="danger")
            for what, count in comparison.grave.items():
                layout.put(f"{what}: {count:,}", self.indent)
        else:
            said = "all that was there is there, or is struck, and no rule asks for less"
            layout.put(f"Nothing was altered or removed{self.as_far_as_read}: {said}.")
        self.counts()

    def altered(self) -> None:
        comparison = self.comparison
        changes, lines = comparison.altered_entries, comparison.altered_lines
        if not (changes or lines or comparison.order or comparison.altered_blocks or comparison.broken):
            return
        self._heading("Altered or removed", "danger")
        self.layout.put("These were altered or removed. A wrong line should stay, and be struck.")
        self._altered(comparison)
        for finding in comparison.broken:
            self.layout.blank()
            self._named("seal", finding.text, finding.span.place)

    def _altered(self, comparison: Comparison) -> None:
        for change in comparison.altered_entries:
            self.layout.blank()
            if change.kind == kinds.REMOVED:
                self._named(change.subject, "removed", f"was {change.was.place}")
                self.layout.put(plain_form(change.was), self.indent)
            else:
                self._named(change.subject, plain_form(change.was), change.now.place)
                self._beside([("", "old", "new"), *change.clauses])
            self._seal_note(change)
        for line in comparison.altered_lines:
            self.layout.blank()
            self._named(line.what, "removed", f"was {line.span.place}")
            others = [other.text for other in comparison.lines if other.what == line.what and not other.is_altered]
            self.layout.put(told_from(line.text, others), self.indent)
            anew = (
                new for new in comparison.lines if not new.is_altered and new.text.split()[:2] == line.text.split()[:2]
            )
            for new in anew if line.what == "seal" else ():
                self.layout.put("and sealed anew:", self.indent, right=[new.span.place])
                self.layout.put(new.text, self.indent)
        for block in comparison.altered_blocks:
            self.layout.blank()
            self._named(block.name or block.word, ", ".join(block.altered) or "removed", block.span.place)
            self._properties(block)
        for order in comparison.order:
            self.layout.blank()
            what = "stand the other way round" if order.turned else "stand so that nothing tells their order"
            self._named(order.subject, f"two lines of {order.first.day} {what} now", order.second.place)
            for entry in (order.first, order.second):
                self.layout.put(plain_form(entry), self.indent)

    def rules(self) -> None:
        if self.comparison.rules:
            self._heading("Rules")
            self._rules(self.comparison)

    def _rules(self, comparison: Comparison) -> None:
        for change in comparison.rules:
            word = "LAXER" if change.laxer else "other"
            self.layout.put(
                change.text,
                self.indent,
                first=[(f"  {word}", "strong")],
                right=[change.span.place if change.span else ""],
            )

    # What was signed.

    def signatures(self) -> None:
        signatures = signed_between(self.comparison, self.report.only)
        self._heading(f"Signed between the two: {len(signatures)}, only what is {' or '.join(self.report.only)}")
        for one in signatures:
            self.layout.blank()
            day = str(one.day) if one.day != date.min else "no day"
            rule = f"{one.rule}: " if one.rule else ""
            back = f"   BACKDATED: the old state tells of {self.comparison.since}" if one.backdated else ""
            text = f"{one.kind} by {one.by}: {rule}{write_text(one.text)}{back}"
            self.layout.put(text, self.indent, first=[(day, "strong")], right=[one.span.place])
            about = one.about if one.name in one.about else f"{one.name}: {one.about}"
            self.layout.put(about, self.indent)

    # What the revisions between did.

    def revisions(self) -> None:
        for step in self.report.steps:
            self._step(step)

    def _step(self, step: Step) -> None:
        commit, comparison, layout = step.commit, step.comparison, self.layout
        if commit is None:
            self._heading("In no commit yet", "danger")
        else:
            self._heading(f"{commit.day}  {commit.author} <{commit.address}>", "danger")
            layout.put(f"commit {commit.id}")
            layout.put(write_text(commit.subject), 7)
            if (commit.committer, commit.committed) != (commit.author, commit.day):
                layout.put(f"committed {commit.committed} by {commit.committer}", 7)
        if step.unseen:
            layout.put(
                f"came and went: {step.unseen} of these that neither the old nor the new state shows", 7, "strong"
            )
        for why in step.unread:
            layout.put(f"could not be read: {why}", 7, "danger")
        self._altered(comparison)
        self._rules(comparison)
        listed = [change for change in comparison.grave_entries if not change.is_altered]
        backdated = [c for c in comparison.all_changes if c.kind == kinds.BACKDATED and c not in listed]
        if listed or backdated:
            layout.blank()
        for change in listed:
            self._entry(change, comparison.since)
        if backdated:
            self._counted(backdated, "backdated", "dated before what the old state tells, without `late`")
        for line in comparison.backdated_lines:
            self._row("new", line.text, line.span.place)
            layout.put(f"BACKDATED: the state before tells of {comparison.since}", self.indent)

    def _seal_note(self, change: EntryChange) -> None:
        if change.sealed is not None:
            self.layout.put(f"in the period sealed through {change.sealed}", self.indent, "strong")

    def _beside(self, rows: list[tuple[str, str, str]]) -> None:
        """Rows of a name and two values: beside each other where there is room, else under each other."""
        widths = [max(cells(row[column]) for row in rows) for column in (0, 1)]
        rows = [(name, *told_apart(old or NOTHING, new or NOTHING)) for name, old, new in rows]
        widths[1] = max(widths[1], cells(NOTHING))
        longest = max(cells(new) for _, _, new in rows)
        indent = self.indent + widths[0] + (3 if widths[0] else 0)
        room = indent + widths[1] + 3 + longest <= self.layout.width
        if self.layout.wraps and (self.layout.width < _WIDE or not room):
            for name, old, new in rows[1:]:
                self.layout.put(f"{old}  became  {new}", indent, first=[(f"{' ' * self.indent}{name}", "")])
            return
        for number, (name, old, new) in enumerate(rows):
            style = "faint" if number == 0 else ""
            pad = " " * (widths[1] - cells(old) + 3)
            first = f"{' ' * self.indent}{name}"
            self.layout.put_pieces([(first.ljust(indent), ""), (old, style), (pad, ""), (new, style)])

    # By cylinder, then source.

    def subjects(self) -> None:
        comparison = self.comparison
        declared: dict[str, Declared] = {**comparison.old.declared, **comparison.new.declared}
        names = dict.fromkeys((*comparison.entries, *(name for name in self.blocks if name)))
        if not self.every:
            names = {
                name: None for name in names if name in self.blocks or not all(map(_in_order, comparison.entries[name]))
            }
        groups: dict[str, list[str]] = {"Cylinders": [], "Sources of air": [], "Names that no block declares": []}
        for name in names:
            thing = declared.get(name)
            word = thing.word if thing else ""
            group = {"cylinder": "Cylinders", "source": "Sources of air"}.get(word, "Names that no block declares")
            if any(not block.is_altered for block in self.blocks.get(name, ())) or any(
                not change.is_altered for change in comparison.entries.get(name, ())
            ):
                groups[group].append(name)
        for heading, members in groups.items():
            if members:
                self._heading(heading)
                for name in sorted(members, key=natural):
                    self._subject(name)

    def _subject(self, name: str) -> None:
        self.layout.put(name, 2, "strong")
        for block in self.blocks.get(name, ()):
            if not block.is_altered:
                self._block(block)
        changes = [change for change in self.comparison.entries.get(name, ()) if not change.is_altered]
        in_order = list(filter(_in_order, changes))
        listed = changes if self.every else [change for change in changes if change not in in_order]
        for change in listed:
            self._entry(change, self.comparison.since)
        if in_order and not self.every:
            self._counted(in_order)

    def _entry(self, change: EntryChange, since: date) -> None:
        entry = change.now
        self._row(change.kind, plain_form(entry._replace(struck=None, late=None, answers=None)), entry.place)
        if change.kind == kinds.BACKDATED:
            dated = "entry that is" if change.dated_before == 1 else "entries that are"
            self.layout.put(
                f"backdated: {change.dated_before} {dated} dated after it, and it has no `late`", self.indent
            )
        for signed in kinds.new_signatures(change):
            rule = f"{signed.rule} " if isinstance(signed, Answer) else ""
            late = f", BACKDATED: the old state tells of {since}" if signed.day < since else ""
            self.layout.put(f"{rule}on {signed.day} by {signed.by}: {write_text(signed.text)}{late}", self.indent)
        self._seal_note(change)

    def _counted(self, changes: list[EntryChange], word: str = "added", how: str = "in the order of days") -> None:
        verbs = Counter(change.now.verb for change in changes)
        days = sorted(change.now.day for change in changes)
        span = f"{days[0]} to {days[-1]}" if days[0] != days[-1] else f"{days[0]}"
        each = ", ".join(f"{count} {verb}" for verb, count in verbs.most_common())
        self._row(word, f"{len(changes)} {how}, {span}: {each}", "")

    def _row(self, word: str, text: str, right: str) -> None:
        self.layout.put(text, self.indent, first=[(f"    {word}", "")], right=[right])

    def _block(self, change: BlockChange) -> None:
        place = change.span.place
        if change.kind == block_kinds.CHANGED:
            self._row("says", f"{change.header}: other properties", place)
            self._properties(change)
            return
        values = ((word, old or new) for word, old, new in change.properties)
        said = "; ".join(f"{word} {', '.join(texts)}" for word, texts in values)
        what = "is new" if change.kind == block_kinds.ADDED else "is gone"
        self._row(_BLOCK_WORDS[change.kind], f"{change.header} {what}{': ' if said else ''}{said}", place)

    def _properties(self, change: BlockChange) -> None:
        rows = [(word, ", ".join(a), ", ".join(b)) for word, a, b in change.properties]
        if rows:
            self._beside([("", "old", "new"), *rows])
        for line in change.struck:
            self.layout.put(line, self.indent, first=[("    struck", "")])

    # The rest of the record, and findings.

    def rest(self) -> None:
        lines = [line for line in self.comparison.lines if not line.is_altered]
        blocks = [block for block in self.blocks.get("", ()) if not block.is_altered]
        if not blocks and not lines:
            return
        self._heading("The rest of the record")
        for change in blocks:
            self._block(change)
        for line in lines:
            gone = [other.text for other in self.comparison.altered_lines if other.what == line.what]
            self._row(_BLOCK_WORDS[line.kind], told_from(line.text, gone), line.span.place)
            if line in self.comparison.backdated_lines:
                self.layout.put(f"BACKDATED: the old state tells of {self.comparison.since}", self.indent)

    def findings(self) -> None:
        for heading, findings in (
            ("What the new rules say of the old state, and its own did not", self.comparison.by_rules[0]),
            ("What the old rules said of the old state, and the new do not", self.comparison.by_rules[1]),
            ("Findings that are new", self.comparison.appeared),
            ("Findings that are gone", self.comparison.gone),
        ):
            if findings:
                self._heading(f"{heading}: {len(findings)}")
                counts = Counter(finding.rule for finding in findings)
                for finding in worst_first(findings):
                    count = counts.pop(finding.rule, 0)
                    if self.every or 0 < count <= _FEW:
                        counts[finding.rule] = count
                        self._finding(finding)
                    elif count:
                        self._finding(finding, f", and {count - 1:,} more of this rule")

    def _finding(self, finding: Finding, more: str = "") -> None:
        right = [finding.span.place, finding.rule]
        self.layout.put(
            f"{finding.sentence}{more}", self.indent, first=[(f"  {finding.level.upper()}", "")], right=right
        )

    def foot(self) -> None:
        self.layout.blank()
        if self.comparison.is_empty:
            self.layout.put(f"Both say the same{self.as_far_as_read}.")
        put_foot(self.layout, self.comparison.new, self.report.rules)

    def counts(self) -> None:
        comparison = self.comparison
        # Who strikes a line on the day on which it is written has signed too.
        signed = Counter(one.kind for one in signed_between(comparison))
        counts = [
            *(f"{kind} {signed[kind]:,}" for kind in SIGNED_KINDS),
            *(f"{kind} {comparison.count(kind):,}" for kind in (kinds.BACKDATED, kinds.ADDED)),
            f"cards and other blocks {len(comparison.blocks):,}",
        ]
        findings = [f"findings new {_by_level(comparison.appeared)}", f"gone {_by_level(comparison.gone)}"]
        for facts in (counts, findings):
            self.layout.put_facts([(fact, "strong") for fact in facts])
        in_order = list(filter(_in_order, comparison.all_changes))
        if in_order:
            self._counted(in_order)
