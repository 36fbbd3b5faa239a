"""
What the fill station is told of one cylinder and of one row, in as few lines as will do.
"""

from cylfile.findings.finding import Finding
from cylfile.judging.new_entry import Written
from cylfile.record.entries import plain_form
from cylfile.show.pages.citations import cited
from cylfile.show.pages.may_fill_page import MAY_BE_FILLED, Asked
from cylfile.show.pages.reasons import DO_NOT_FILL, in_full
from cylfile.show.terminal.layout import Layout

_INDENT = 6
# As far in as what stands beside the longest signal word.
_FURTHER_IN = 11


def put_verdict(layout: Layout, asked: Asked, source: str | None) -> None:
    """Whether a cylinder may be filled from a source, and where the gauge has to stop; what to compare with it, and why not."""
    found, head = asked.answer, asked.head
    name = found.name or found.asked
    if found.may:
        layout.put(f" {name}  {MAY_BE_FILLED}, stop at {found.stop} ", style="safe")
    else:
        layout.put(f" {name}  {DO_NOT_FILL} ", style="danger")
    if found.life is not None:
        serial = found.life.cylinder.serial
        rated = head.rated if head is not None and head.rated else "pressure not known"
        _put(layout, f"serial {serial or 'not on the card'}, rated {rated}: must be what is stamped on it", "strong")
    for reason in found.reasons:
        _put(layout, in_full(reason), first="-")
        for line in reason.working:
            _put(layout, line)
    if found.life is None:
        for remedy in found.remedies:
            _put(layout, remedy)
    if found.may and found.colder:
        _put(layout, "colder gas: " + ", ".join(f"{stop} at {warm}" for warm, stop in found.colder))
    if found.may and source in found.exceeded_by:
        _put(layout, f"{source} can give more than that: stay at the gauge")
    put_findings(layout, found.remarks)


def put_row(layout: Layout, written: Written) -> None:
    """Where a fill was written and what is wrong with it; or why it was refused."""
    if written.place:
        layout.put(f"{written.place}  {plain_form(written.entry)}", _INDENT, first=[("  ", "")])
    put_findings(layout, written.refusing or written.findings)


def put_findings(layout: Layout, findings: list[Finding]) -> None:
    for finding in findings:
        layout.put(finding.text, _FURTHER_IN, first=[("  ", ""), (finding.level.upper(), finding.level)])
        for line in (*finding.working, finding.advice):
            if line:
                layout.put(line, _FURTHER_IN)
        if finding.cite:
            layout.put(cited(finding.cite), _FURTHER_IN, "faint")


def _put(layout: Layout, text: str, style: str = "", first: str = "") -> None:
    layout.put(text, _INDENT, style, first=[(first.rjust(_INDENT - 2) + ("  " if first else ""), "")])
