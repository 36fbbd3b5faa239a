"""
What lint finds that it would not have found at an earlier revision.
"""

from cylfile.cannot import CannotDo
from cylfile.files.git.repository import Repository
from cylfile.files.git.revisions import States, judged_like, notes_on, title_bytes
from cylfile.files.tree import STANDARD_INPUT
from cylfile.findings.new_findings import new_findings
from cylfile.judging.judge import Judgement
from cylfile.judging.report import Report
from cylfile.judging.whole_record import judge_record
from cylfile.text.phrases import counted


def keep_what_is_new(report: Report, judgement: Judgement, options, jobs: int) -> list[str]:
    """
    Leave in a report only what is new since the revision that `options.since` names, and count the rest.

    `judgement` is all of now, and the report is narrowed down from it. Both states are
    judged for the same day by the rules of now, in so many `jobs`. Gives `notes_on` the earlier state. Raises CannotDo where git
    cannot tell.
    """
    if STANDARD_INPUT in options.paths:
        raise CannotDo("what comes from standard input has no earlier revision; name files or folders with --since")
    case = judgement.case
    repository = Repository(case.folder)
    title = title_bytes(case.record.department)
    state = States().at(repository, repository.revision(options.since), case.folder, title)
    then = judge_record(judged_like(state, case, options), jobs, with_heads=False)
    news = {id(finding) for finding in new_findings(then.findings, judgement.findings)}
    kept = [finding for finding in report.findings if id(finding) in news]
    report.since, report.known = state.label, len(report.findings) - len(kept)
    report.findings = kept
    known = counted(report.known, "finding")
    report.narrowed.append(f"only what is new since {state.label}; {known} from before left out")
    return notes_on(state)
