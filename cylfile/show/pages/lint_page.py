"""
The page of findings for people: what endangers today first, then cylinder by cylinder, worst first, with the working.

What one rule finds on one cylinder is told as one, what it finds on several in the same words is told
once, and so is what to do and by which text.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import chain

from cylfile.findings.finding import LEVELS, Finding, severity
from cylfile.judging.fill_verdict import Reason
from cylfile.judging.heads import Head, natural
from cylfile.judging.report import Report, worst_first
from cylfile.show.pages.citations import Notes, in_short_form, texts_of
from cylfile.show.pages.gathered import Gathered, RowGroup, Shared, gather, group_rows, share, side_by_side
from cylfile.show.pages.missing_facts import missing_together
from cylfile.show.pages.reasons import DO_NOT_FILL, in_full, in_short
from cylfile.show.terminal.heading import folder_of, path_in, place_in, put_foot, put_heading
from cylfile.show.terminal.layout import Layout, Line
from cylfile.text.phrases import counted

# Where the lines under a finding begin.
_INDENT = 2
# How many cylinders and sources can be read one by one. Where there are more, the findings of one rule stand together.
_FEW = 6
# How many rows need not be counted.
_AT_A_GLANCE = 3
# Between two sentences of an advice.
_SENTENCE_END = re.compile("(?<=[.]) (?=[A-Z])")
# Rows of more subjects than this are put by their files.
_MANY = 12
# What stands in a row for what is not told of its subject.
_NONE = "-"
# The place of a state of the day that the record is judged for.
_TODAY = "today"
# The heading of what is about no cylinder and no source.
_NO_CYLINDER = "Not about one cylinder"


def findings_page(report: Report, layout: Layout) -> Iterator[Line]:
    """The lines of the page, part by part as they are laid out."""
    page = _Page(report, layout)
    for part in page.parts():
        part()
        yield from layout.lines
        layout.lines.clear()


def findings_alone(report: Report, layout: Layout) -> list[Line]:
    """The lines of the findings themselves, without the head, the groups and the foot of the page."""
    page = _Page(report, layout)
    for each in gather(worst_first(report.findings), report.rules):
        page.put_finding(each, "")
    return layout.lines


class _Page:
    def __init__(self, report: Report, layout: Layout):
        self.report = report
        self.layout = layout
        self.folder = folder_of(report.record)
        self.unread = sorted({fault.span.source.path for fault in report.record.unread_files})
        # Subject -> the rules that have a finding about it.
        self.rules_broken: dict[str, set[str]] = defaultdict(set)
        for finding in report.findings:
            self.rules_broken[finding.subject].add(finding.rule)
        # What a rule advises and each text that it cites, once it stands on the page.
        self.told: set[tuple[str, str]] = set()
        # The subject and what was said of it already, of the findings that stand together.
        self.said: set[tuple[str, str]] = set()
        # The sources, where they are told at the foot.
        self.notes: Notes | None = None

    def parts(self) -> Iterator[Callable[[], None]]:
        """Functions that lay out one part of the page each."""
        report = self.report
        yield self._header
        gathered = gather(worst_first(filter(report.shows, report.findings)), report.rules, report.each)
        is_long = len({each.first.subject for each in gathered}) > _FEW
        if is_long and not report.each:
            self.notes = Notes(chain.from_iterable(each.cites for each in gathered))
        shared, single = ([], gathered) if report.each else share(gathered, only_worthwhile=not is_long)
        groups: dict[str, list[Gathered]] = defaultdict(list)
        for each in single if report.each else missing_together(single):
            groups[self._group_of(each.first)].append(each)
        rest = groups.pop("", [])
        several: list[Shared | Gathered] = [*shared]
        if is_long and not report.each:
            # A heading is needed where it tells more than the findings do.
            several, rest = [*several, *rest], []
            for name in [name for name in groups if not self._untold(name)]:
                several += groups.pop(name)
        # What says no rule's name is told right after what does.
        place = {one.first.rule: number for number, one in reversed([*enumerate(several)])}
        several.sort(key=lambda one: (not one.first.stands, severity(one.first.level), place[one.first.rule]))
        dangers = [one for one in several if _is_danger(one.first)]
        others = [one for one in several if not _is_danger(one.first)]
        told = {each.first.subject for each in gathered}
        silent = [head for name, head in report.heads.items() if head.is_barred and name not in told]
        if self._can_tell:
            yield self._in_use
        if dangers:
            yield lambda: self._shared(dangers)
        if groups:
            yield self.layout.blank
        for name in sorted(groups, key=lambda name: self._rank(name, groups[name])):
            yield partial(self._group, name, groups[name])
        if others:
            yield lambda: self._shared(others)
        if rest:
            yield lambda: self._rest(rest)
        if silent and self._can_tell and not self.unread:
            yield lambda: self._silent(sorted(silent, key=lambda head: natural(head.name)))
        if self.notes is not None and self.notes.groups:
            yield self._sources
        yield self._foot

    @property
    def _can_tell(self) -> bool:
        """Without rules nothing tells what may be filled, and there is no sense in saying so of each cylinder."""
        return bool(self.report.rules.names)

    def _untold(self, name: str) -> list[Reason]:
        """Why a cylinder must not be filled, as far as no finding tells it."""
        head = self.report.heads.get(name)
        if head is None or not head.is_barred:
            return []
        found = self.rules_broken[name]
        return [reason for reason in head.reasons if reason.rule not in found and not (head.in_use and reason.rule)]

    def _group_of(self, finding: Finding) -> str:
        subject = finding.subject
        return subject if subject in self.report.heads or subject in self.report.record.air_sources else ""

    def _rank(self, name: str, gathered: list[Gathered]) -> tuple:
        standing = [severity(each.first.level) for each in gathered if each.first.stands]
        head = self.report.heads.get(name)
        return not (head and head.is_barred), min(standing, default=len(LEVELS)), natural(name)

    # The head and the foot of the page.

    def _header(self) -> None:
        report, layout = self.report, self.layout
        counts = f"{counted(report.cylinders, 'cylinder')}, {counted(report.entries, 'entry', 'entries')}"
        put_heading(layout, report.record, report.rules, [counts, f"as of {report.as_of}"])
        for way in report.narrowed:
            layout.put(way, style="strong")

    def _foot(self) -> None:
        report, layout = self.report, self.layout
        layout.blank()
        counts = [(f"{level.upper()} {report.count(level)}", level if report.count(level) else "") for level in LEVELS]
        excused = {"waived": report.waived, "answered": report.answered}
        counts += ((f"{word} {count}", "") for word, count in excused.items() if count)
        layout.put_facts(counts)
        hidden = sum(not report.shows(finding) for finding in report.findings)
        if hidden:
            layout.put(f"{counted(hidden, 'finding')} below {report.least_shown} not shown: --show {LEVELS[-1]}")
        if report.cylinders:
            barred = sorted((head.name for head in report.heads.values() if head.is_barred), key=natural)
            layout.put(self._who_is_barred(barred), style="strong" if barred and self._can_tell else "")
        put_foot(layout, report.record, report.rules)

    def _who_is_barred(self, names: list[str]) -> str:
        if not self._can_tell:
            return "There are no rules, so it cannot be told which cylinders may be filled."
        if self.unread:
            return (
                f"No cylinder can be cleared for filling: {', '.join(map(self._path, self.unread))} could not be read."
            )
        if not names:
            return "No cylinder is marked DO NOT FILL."
        told = f"{counted(len(names), 'cylinder')} must not be filled"
        in_use = [name for name in names if self.report.heads[name].in_use]
        if len(in_use) <= _FEW:
            return f"{told}: {', '.join(names)}"
        return f"{told}: {', '.join([f'the {len(in_use)} in use, which stand at the head', *(name for name in names if name not in in_use)])}"

    # What endangers today.

    def _in_use(self) -> None:
        heads = [head for head in self.report.heads.values() if head.is_barred and head.in_use]
        if not heads:
            return
        self.layout.blank()
        title = f" {DO_NOT_FILL} "
        self.layout.put(
            f"in use today, and must not be filled: {counted(len(heads), 'cylinder')}",
            len(title) + 1,
            "strong",
            first=[(title, "danger")],
        )
        reasons: dict[str, list[str]] = defaultdict(list)
        for head in heads:
            for reason in dict.fromkeys(in_short(reason) for reason in head.reasons):
                reasons[reason].append(head.name)
        lines = [
            (reason, f": {', '.join(sorted(names, key=natural))}")
            for reason, names in sorted(reasons.items(), key=lambda item: -len(item[1]))
        ]
        # Where lines are short, several reasons share one.
        for together in [lines] if self.layout.wraps else [[line] for line in lines]:
            self.layout.put_items(together, _INDENT)

    # Groups.

    def _group(self, name: str, gathered: list[Gathered]) -> None:
        layout, head = self.layout, self.report.heads.get(name)
        if head is None:
            source = self.report.record.air_sources[name]
            layout.put(f"{source.title}, a {source.kind or 'source of air'}", len(name) + 3, first=[(name, "strong")])
        else:
            mark = DO_NOT_FILL if head.is_barred and self._can_tell else head.gone
            style = "danger" if head.is_barred else "strong"
            layout.put(head.in_short, len(name) + 3, first=[(name, "strong")], right=[mark], right_style=style)
            if head.is_barred and self._can_tell:
                self._reasons(head, gathered)
        for each in gathered:
            self.put_finding(each, name)

    def _reasons(self, head: Head, gathered: list[Gathered]) -> None:
        """Why it must not be filled, where no finding tells that, or more than one would tell it again."""
        untold = self._untold(head.name)
        for reason in head.reasons:
            key = (head.name, reason.text)
            told = sum(each.text.endswith(f": {reason.text}") for each in gathered)
            if key not in self.said and (told > 1 or reason in untold):
                self.layout.put(in_full(reason), _INDENT)
            if told > 1:
                self.said.add(key)

    def _shared(self, several: Sequence[Shared | Gathered]) -> None:
        self.layout.blank()
        for together in side_by_side(several):
            for one in together:
                if isinstance(one, Gathered):
                    self.put_finding(one, "")
                else:
                    self._put_shared(one, has_rows=len(together) == 1)
            if len(together) > 1:
                self._rows_side_by_side([one for one in together if isinstance(one, Shared)])

    def _put_shared(self, one: Shared, has_rows: bool) -> None:
        """What is told of several, and the row of each where it `has_rows` of its own."""
        same_and_rows = [(group.same, self._rows(group)) for group in group_rows(one)] if has_rows else []
        whom = self._whom(one)
        if has_rows and not any(told for _, rows in same_and_rows for _, told in rows):
            # Then the names can stand in the sentence.
            whom, same_and_rows = ", ".join(name for _, rows in same_and_rows for name, _ in rows), []
        text = f"{one.text}: {whom}" if whom else one.text
        self._put(one.first, text, "", one.working, one.advice, one.cites)
        for same, rows in same_and_rows:
            title = [("", f"{', '.join(same)}:")] if same else []
            self.layout.put_items([*title, *rows], _INDENT, goes_on=len(same_and_rows) == 1)

    def _rows_side_by_side(self, several: Sequence[Shared]) -> None:
        """A row for each subject of several that are told of nearly the same, with its words of each of them."""
        of_each = [{each.first.subject: (each, own) for each, own in one.rows} for one in several]
        path = ""
        rows = [("", f"{'; '.join(one.first.rule for one in several)}, or all:")]
        every = {subject: [row_of.get(subject) for row_of in of_each] for row_of in of_each for subject in row_of}
        for subject, found in sorted(every.items(), key=lambda item: _order_of_row(*item[1])):
            alike = {row and (*row[1], row[0].first.span, row[0].last.span, len(row[0].findings)) for row in found}
            told = []
            for row in found if len(alike) > 1 else found[:1]:
                words, path = self._row(*row, path) if row else ([_NONE], path)
                told.append(", ".join(words))
            rows.append((subject, f": {'; '.join(told)}"))
        self.layout.put_items(rows, _INDENT)

    def _whom(self, one: Shared) -> str:
        """How many cylinders and sources, and how often, where they are more than a glance tells."""
        if len(one.rows) <= _AT_A_GLANCE:
            return ""
        sources = sum(each.first.subject in self.report.record.air_sources for each, _ in one.rows)
        kinds = ((len(one.rows) - sources, "cylinder"), (sources, "source"))
        subjects = " and ".join(counted(number, noun) for number, noun in kinds if number)
        count = sum(len(each.findings) for each, _ in one.rows)
        return subjects if count == len(one.rows) else f"{subjects}, {count} times"

    def _rows(self, group: RowGroup) -> list[tuple[str, str]]:
        """Each subject, and its own words and places; a file is not named again right after itself."""
        rows, path = [], ""
        joint = "; " if any("," in word for _, own in group.rows for word in own) else ", "
        for each, own in sorted(
            group.rows, key=lambda row: _order_of_row(row) if len(group.rows) > _MANY else natural(row[0].first.subject)
        ):
            words, path = self._row(each, own, path)
            rows.append((each.first.subject, f": {joint.join(words)}" if words else ""))
        return rows

    def _row(self, each: Gathered, own: list[str], path: str) -> tuple[list[str], str]:
        """The own words and the places of a subject after a row that named the file at the `path`; the path that is named now."""
        first, last = each.first.span.source, each.last.span.source
        # A state of today stands at the head of the card.
        place = self._places(each, path) if len(each.findings) > 1 or each.first.about else ""
        words = [_within(word) if each.advice.endswith(word) else word for word in own if not self._is_said(each, word)]
        return list(filter(None, [*words, place])), last.path if place and last is first else ""

    def _is_said(self, each: Gathered, text: str) -> bool:
        """Whether a bar, or what clears it, that the rule passes on has been told of this subject; from now on it has."""
        subject = each.first.subject
        key = (subject, text)
        head = self.report.heads.get(subject)
        if head is None or not any(text in (reason.text, reason.advice) for reason in head.reasons if reason.kind):
            return False
        is_said = key in self.said
        self.said.add(key)
        return is_said

    def _rest(self, gathered: list[Gathered]) -> None:
        self.layout.blank()
        self.layout.put(_NO_CYLINDER, style="strong")
        for each in gathered:
            self.put_finding(each, "")

    def _silent(self, heads: list[Head]) -> None:
        self.layout.blank()
        self.layout.put("No finding above is about these, and they must not be filled", style="strong")
        indent = max(len(head.name) + 5 for head in heads)
        for head in heads:
            why = "; ".join(in_full(reason) for reason in head.reasons)
            self.layout.put(why, indent, first=[(f"  {head.name}", "strong")])

    def _sources(self) -> None:
        """The sources by their numbers."""
        assert self.notes is not None
        groups = [
            [*([(title, ":")] if title else []), *((f"[{note.number}]", f" {note.text}") for note in group)]
            for title, group in self.notes.groups
        ]
        self.layout.blank()
        # Where lines are short, the groups share them.
        lines = [[*chain.from_iterable(groups)]] if self.layout.wraps else groups
        lines[0].insert(0, ("Sources", ""))
        for items in lines:
            self.layout.put_items(items, _INDENT)

    # One finding.

    def put_finding(self, each: Gathered, group: str) -> None:
        finding = each.first
        text, advice = each.text, each.advice
        for passed_on in each.passed_on:
            if self._is_said(each, passed_on):
                text = text.removesuffix(f": {passed_on}")
                advice = advice.removesuffix(passed_on).rstrip()
        if finding.subject != group and finding.sentence != finding.text:
            text = f"{finding.subject}: {text}"
        working = [*self._not_said(each), *self._related(each)]
        self._put(finding, text, self._places(each), working, advice, each.cites)

    def _not_said(self, each: Gathered) -> list[str]:
        """The working, without what a finding above of the same subject says to the letter."""
        working = []
        for sentence in each.working:
            parts = [(each.first.subject, part) for part in sentence.split("; ")]
            working.append("; ".join(part[1] for part in parts if part not in self.said))
            self.said.update(parts)
        return list(filter(None, working))

    def _related(self, each: Gathered) -> list[str]:
        """The remarks on other places, each with its places, but for those that the text names."""
        places: dict[str, list[str]] = defaultdict(list)
        for span, remark in (related for one in each.findings if not one.names_related for related in one.related):
            places[remark].append(place_in(self.folder, span))
        return [f"{remark}: {', '.join(named)}" for remark, named in places.items()]

    def _put(self, finding: Finding, text: str, right: str, working: list[str], advice: str, cites: list[str]) -> None:
        """
        A finding: its sentence, the working, and, once a page, what to do and by which text.

        Where lines are short, what is under the sentence is one paragraph.
        """
        word, style = (
            (finding.level.upper(), finding.level) if finding.stands else (finding.excuse.split()[0], "waived")
        )
        excuse = [] if finding.stands else [f"{finding.level.upper()}, {finding.excuse}"]
        under = [*excuse, *working]
        advice, source = self._not_told(finding.rule, advice, cites)
        joint = "; " if under else ". "
        if self.layout.wraps and under:
            sentence = "; ".join(under)
            end = "." if advice or source else ""
            under = [" ".join(filter(None, [f"{sentence}{end}", advice]))]
        elif advice:
            under.append(advice)
        before = [(f" {word} ", style), (" ", "")]
        self.layout.put_flow(before, text, _INDENT, right, under, joint, source)

    def _not_told(self, rule: str, advice: str, cites: list[str]) -> tuple[str, str]:
        """What to do, and the name and the sources of the rule, as far as they do not stand on the page."""
        sentences = [each for each in _SENTENCE_END.split(advice) if (rule, each) not in self.told]
        new = [cite for cite in texts_of(cites) if (rule, cite) not in self.told]
        is_named = new or (rule, "") not in self.told
        self.told.update((rule, text) for text in ("", *sentences, *new))
        if self.notes is not None:
            named = " ".join(filter(None, [rule, self.notes.numbered(new)]))
        else:
            named = "; ".join([rule, *in_short_form(new)])
        return " ".join(sentences), f"({named})" if is_named else ""

    def _places(self, each: Gathered, near: str = "") -> str:
        """Where the findings are, unless the text says it; a file that is `near` is not named again."""
        first, last = each.first.span, each.last.span
        is_one = all(finding.span == first for finding in each.findings)
        if is_one and each.first.names_related and place_in(self.folder, first) in each.text:
            return ""
        path = "" if first.source.path == near else self._path(first.source.path)
        if is_one:
            return f"{path}:{first.line}"
        last_path = "" if last.source is first.source else self._path(last.source.path)
        # A state of the day stands at the head of the card, which tells nothing.
        end = f"{last_path}:{last.line}" if each.last.about else _TODAY
        return f"{len(each.findings)} x {path}:{first.line} to {end}"

    def _path(self, path: str) -> str:
        return path_in(self.folder, path)


def _is_danger(finding: Finding) -> bool:
    return finding.stands and finding.level == LEVELS[0]


def _order_of_row(*found: tuple[Gathered, list[str]] | None) -> tuple:
    """By the files of what is found of a subject, so that these have to be named least, then by its name."""
    gathered = [row[0] for row in found if row]
    files = [finding.span.source.path for each in gathered for finding in (each.first, each.last)]
    return files, natural(gathered[0].first.subject)


def _within(sentence: str) -> str:
    """A sentence as part of a row."""
    return f"{sentence[:1].lower()}{sentence[1:]}".removesuffix(".")
