"""
The page of findings for people: cylinder by cylinder, worst first, each with its working.
"""

from collections import defaultdict
from collections.abc import Iterator

from cylfile.findings.finding import LEVELS, Finding, severity
from cylfile.judging.fill_verdict import unread_files
from cylfile.judging.heads import Head, natural
from cylfile.judging.report import Report, worst_first
from cylfile.show.terminal.layout import Layout, Line

DO_NOT_FILL = "DO NOT FILL"
CAUTION_LINE = "Checks the record, not the cylinder. The marking, its permit, local code and a qualified person decide."
# Where the texts of findings begin: after the signal word, or under it on a narrow terminal.
_INDENT = 11
_NARROW_INDENT = 4
_NARROW = 50
# Words that all findings in a group's last place are about.
_NO_CYLINDER = "Not about one cylinder"


def findings_page(report: Report, layout: Layout) -> Iterator[Line]:
    """The lines of the page, group by group as they are laid out."""
    page = _Page(report, layout)
    for part in page.parts():
        part()
        yield from layout.lines
        layout.lines.clear()


def findings_alone(report: Report, layout: Layout) -> list[Line]:
    """The lines of the findings themselves, without the head, the groups and the foot of the page."""
    _Page(report, layout).put_findings(worst_first(report.findings))
    return layout.lines


class _Page:
    def __init__(self, report: Report, layout: Layout):
        self.report = report
        self.layout = layout
        self.unread = sorted({fault.span.source.path for fault in unread_files(report.record)})
        self.indent = _INDENT if layout.width >= _NARROW else _NARROW_INDENT

    def parts(self):
        """Functions that lay out one part of the page each."""
        yield self._header
        groups = defaultdict(list)
        for finding in self.report.findings:
            groups[self._group_of(finding)].append(finding)
        rest = groups.pop("", [])
        for name in sorted(groups, key=lambda name: self._rank(name, groups[name])):
            yield lambda name=name: self._group(name, groups[name])
        if rest:
            yield lambda: self._rest(rest)
        unlisted = [head for name, head in self.report.heads.items() if head.is_barred and name not in groups]
        if unlisted and self._can_tell and not self.unread:
            yield lambda: self._barred(sorted(unlisted, key=lambda head: natural(head.name)))
        yield self._foot

    @property
    def _can_tell(self) -> bool:
        """Without rules nothing tells what may be filled, and there is no sense in saying so of each cylinder."""
        return bool(self.report.rules.names)

    def _group_of(self, finding: Finding) -> str:
        subject = finding.subject
        return subject if subject in self.report.heads or subject in self.report.record.air_sources else ""

    def _rank(self, name: str, findings: list[Finding]) -> tuple:
        standing = [severity(finding.level) for finding in findings if finding.waived is None]
        head = self.report.heads.get(name)
        return not (head and head.is_barred), min(standing, default=len(LEVELS)), natural(name)

    # The head and the foot of the page.

    def _header(self) -> None:
        report, layout = self.report, self.layout
        department = report.record.department
        title = department.title if department else "A record without a department"
        packs = f"rules: {', '.join(report.rules.names) or 'none'}"
        facts = [self._counted(report.cylinders, "cylinder"), f"as of {report.as_of}", packs]
        facts[0] += f", {self._counted(report.entries, 'entry', 'entries')}"
        self.layout.put_facts([(title, "strong"), *((fact, "") for fact in facts)])
        for way in report.narrowed:
            layout.put(way, style="strong")
        for rule, reason in report.rules.suspended.items():
            layout.put(f"not judged: {rule}, suspended by the rules: {reason}")

    def _foot(self) -> None:
        report, layout = self.report, self.layout
        layout.blank()
        counts = [(f"{level.upper()} {report.count(level)}", level if report.count(level) else "") for level in LEVELS]
        if report.waived:
            counts.append((f"waived {report.waived}", ""))
        self.layout.put_facts(counts)
        if report.cylinders:
            barred = sorted((head.name for head in report.heads.values() if head.is_barred), key=natural)
            layout.put(self._who_is_barred(barred), style="strong" if barred and self._can_tell else "")
        layout.put(CAUTION_LINE)

    def _who_is_barred(self, names: list[str]) -> str:
        if not self._can_tell:
            return "There are no rules, so nothing here tells which cylinders may be filled."
        if self.unread:
            return f"No cylinder can be cleared for filling: {', '.join(self.unread)} could not be read."
        if not names:
            return "No cylinder is marked DO NOT FILL."
        return f"{self._counted(len(names), 'cylinder')} must not be filled: {', '.join(names)}"

    @staticmethod
    def _counted(number: int, noun: str, nouns: str = "") -> str:
        return f"{number:,} {noun if number == 1 else nouns or noun + 's'}"

    # Groups.

    def _group(self, name: str, findings: list[Finding]) -> None:
        layout, head = self.layout, self.report.heads.get(name)
        layout.blank()
        indent = self.indent if len(name) + 2 < self.indent else len(name) + 3
        if head is None:
            source = self.report.record.air_sources[name]
            layout.put(f"{source.title}, a {source.kind or 'source of air'}", indent, first=[(name, "strong")])
        else:
            mark = DO_NOT_FILL if head.is_barred and self._can_tell else head.gone
            layout.put(
                head.words,
                indent,
                first=[(name, "strong")],
                right=[mark],
                right_style="danger" if head.is_barred else "strong",
            )
            if head.is_barred and self._can_tell:
                self._reasons(head, {finding.text for finding in findings})
        self.put_findings(worst_first(findings))

    def _reasons(self, head: Head, said: set[str]) -> None:
        for reason in head.reasons:
            if reason.text not in said:
                self.layout.put(self._because(reason), self.indent, first=[("  because", "strong")])

    def _because(self, reason) -> str:
        return f"if filled on {self.report.as_of}: {reason.text}" if reason.if_filled else reason.text

    def _rest(self, findings: list[Finding]) -> None:
        self.layout.blank()
        self.layout.put(_NO_CYLINDER, style="strong")
        self.put_findings(worst_first(findings))

    def _barred(self, heads: list[Head]) -> None:
        self.layout.blank()
        self.layout.put("No finding above is about these, and they must not be filled", style="strong")
        indent = max(self.indent, *(len(head.name) + 5 for head in heads))
        for head in heads:
            why = "; ".join(self._because(reason) for reason in head.reasons)
            self.layout.put(why, indent, first=[(f"  {head.name}", "strong")])

    def put_findings(self, findings: list[Finding]) -> None:
        """Findings one under the other. What several in a row would all advise and cite is said once, after the last."""
        for finding, following in zip(findings, [*findings[1:], None]):
            self._finding(finding)
            if following is None or _tail(finding) != _tail(following):
                sources = (*finding.cite, finding.rule)
                self.layout.put(finding.advice, self.indent, right=sources, right_style="faint", narrows=False)

    def _finding(self, finding: Finding) -> None:
        layout, source = self.layout, finding.span.source
        place = f"{source.path}:{source.position(finding.span.start)[0]}"
        word, style = (finding.level.upper(), finding.level) if finding.waived is None else ("waived", "waived")
        text = finding.text
        if not self._group_of(finding) and finding.subject not in text:
            text = f"{finding.subject}: {text}"
        layout.put(text, self.indent, first=[(" ", ""), (f" {word:8}", style)], right=[place])
        if finding.waived is not None:
            layout.put(f"{finding.level.upper()}, waived {finding.waived}", self.indent)
        for line in finding.working:
            layout.put(line, self.indent)
        for span, remark in finding.related:
            layout.put(remark, self.indent, right=[f"{span.source.path}:{span.line}"])


def _tail(finding: Finding) -> tuple:
    return finding.rule, finding.advice, finding.cite, finding.waived is None
