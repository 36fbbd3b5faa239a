"""
A session at the fill station: fills that are written into a record one by one, each as soon as it was made.

The record is read once. After that only what a fill touches is judged again, and files are read again only where
another station or an editor has written to them.
"""

import argparse
import time
from collections.abc import Callable
from datetime import date, datetime
from typing import NamedTuple

from cylfile.cannot import CannotDo
from cylfile.files.neighbors import Neighbors, county_of
from cylfile.files.records import the_record
from cylfile.files.rules_and_day import case_of, zone_of
from cylfile.files.stored_record import StoredFile, StoredRecord, folder_to_write, read_stored
from cylfile.files.writing import TRIED_AGAIN, ChangedMeanwhile, locked, write_file
from cylfile.findings.finding import Finding
from cylfile.findings.new_findings import added
from cylfile.findings.signatures import answer_findings, signed_entries
from cylfile.findings.waivers import cover
from cylfile.history.order import told
from cylfile.history.sources.air_log import AirLog
from cylfile.history.standing import standing
from cylfile.judging.by_itself import Verdict, air_log, judge_cylinder
from cylfile.judging.case import Case
from cylfile.judging.fill_answer import FillAnswer, answer
from cylfile.judging.fill_verdict import fill_in_mind, reason_of, said_of_a_fill
from cylfile.judging.heads import Head, head_of
from cylfile.judging.judge import at_two_places
from cylfile.judging.new_entry import Written, refusing, refusing_fill, signed_for
from cylfile.packs.suggest import did_you_mean
from cylfile.record.blocks import Cylinder
from cylfile.record.called import cylinder_called
from cylfile.record.entries import Entry, plain_form
from cylfile.record.one_sentence import read_entry
from cylfile.record.record import Record
from cylfile.rewriting.insertion import NoPlace
from cylfile.rewriting.open_sheet import OpenSheet, Row, open_sheet
from cylfile.text.source import Source


class SheetHead(NamedTuple):
    """What all rows of a session have in common: who fills, from which source of air, where; None where nobody says."""

    by: str | None
    on: str | None
    at: str | None

    @property
    def words(self) -> str:
        said = {"at": self.at, "on": self.on, "by": self.by}
        return " ".join(f"{word} {name}" for word, name in said.items() if name)


class Override(NamedTuple):
    """Who answers for a fill that is written although it is refused, and why."""

    by: str
    why: str


class FillSession:
    """
    The record in the folder that `paths` lead to, the sheet that is open, and what the rules say.

    `clock` gives the present moment in a zone. `as_of` is the day of the sheet where somebody names one: then rows have no time.
    """

    def __init__(
        self,
        paths: list[str],
        as_of: date | None = None,
        rules: list[str] | None = None,
        into: str | None = None,
        clock: Callable = datetime.now,
    ):
        self.paths = paths
        self.folder = folder_to_write(paths)
        self.into = into
        self.head = SheetHead(None, None, None)
        self._day, self._rules = as_of, rules
        self._clock = clock
        # What the neighbors were asked for: the day, and serial numbers.
        self._asked: tuple[date, frozenset[str]] | None = None
        # The row that is being written, and its file with it.
        self._putting: tuple[Row, bytes] | None = None
        self._read(None)

    # The record.

    def _read(self, earlier: StoredRecord | None) -> None:
        self.stored = read_stored(self.paths, earlier)
        self._data = {path: file.data for path, file in self.stored.files.items()}
        asked = argparse.Namespace(as_of=self._day or self._now().date(), rules=self._rules)
        self.case: Case = case_of(self.stored.folder, self.record, asked)
        self._ask_neighbors()
        self.air: AirLog = air_log(self.record, self.case.rules, self.as_of)
        # Opened with the first row where it is not yet.
        self._sheet: OpenSheet | None = None
        # The rows of it that are in the record.
        self._rows: list[Entry] = []
        self._last: tuple[str, Verdict] | None = None
        self._of_today: dict[str, list[Entry]] = {}
        for name, entries in self.record.entries.items():
            today = [entry for entry in entries if entry.day == self.as_of]
            if today:
                self._of_today[name] = today

    def _ask_neighbors(self) -> None:
        """Read what other records of the county have against the cylinders of this one: once a day, and where there are new ones."""
        cards, folder = self.record.cylinders.values(), self.stored.folder
        asked = self.as_of, frozenset(card.serial for card in cards if card.serial)
        if asked != self._asked:
            self._asked = asked
            self.neighbors = Neighbors(county_of([folder]), folder, cards, self.as_of, self._rules or [])

    @property
    def record(self) -> Record:
        return self.stored.record

    @property
    def as_of(self) -> date:
        return self.case.as_of

    def _now(self) -> datetime:
        return self._clock(zone_of(self.record)[0])

    def look_again(self) -> None:
        """Read again what another has written meanwhile, and go on to the next day at midnight."""
        found = the_record(self.paths)
        shown = found.tree.shown
        is_same = not found.troubles and {shown(path): data for path, data in found.contents()} == self._data
        if not is_same or (self._day is None and self._now().date() != self.as_of):
            self._read_again()

    def _read_again(self) -> None:
        # What was written here is read as what others wrote: by its file.
        known = {path: file for path, file in self.stored.files.items() if file.data == self._data.get(path)}
        self._read(self.stored._replace(files=known))

    def begin(self, head: SheetHead) -> None:
        """
        Have all rows from now on in common what a head says.

        Raises CannotDo where it names nobody, where the day is closed, and where no sheet can be told for it.
        """
        self._look_at(head)
        if head != self.head and self._sheet is not None:
            self._read_again()
        self.head = head
        cylinders = self.record.cylinders
        if cylinders and self._sheet is None:
            # So that the first row need not wait for it.
            try:
                self._open(self.fill(next(iter(cylinders)), "to 1 psi"))
            except NoPlace as reason:
                raise CannotDo(f"{reason}. Nothing was written.") from None

    def _look_at(self, head: SheetHead) -> None:
        """Raise CannotDo where a head names nobody, or where the day is closed."""
        record = self.record
        for name, known, what in (
            (head.by, record.people, "person"),
            (head.on, record.air_sources, "source"),
            (head.at, record.sites, "site"),
        ):
            if name is not None and name not in known:
                raise CannotDo(
                    f"no block declares the {what} `{name}`. {did_you_mean(name, known, 'Correct the name.')}"
                )
        closed = max((seal.day for seal in record.seals if seal.day >= self.as_of), default=None)
        if closed is not None:
            raise CannotDo(f"the record is sealed through {closed}, so no sheet of {self.as_of} can be added to")

    # What is asked.

    def cylinder(self, word: str) -> Cylinder | None:
        """The cylinder that somebody means by a word; None where that is not one."""
        return cylinder_called(self.record, word, self.as_of, self.record.marks)

    def answer(self, word: str) -> tuple[FillAnswer, Head | None]:
        """Whether the cylinder that goes by a word may be filled, and what it is, by the record as it is now."""
        self.look_again()
        card = self.cylinder(word)
        asked = card.name if card else word
        case, names = self.case, () if card else tuple(self.record.cylinders)
        verdict = self._verdict(card.name) if card else None
        elsewhere = self.neighbors.reasons(self.record, card) if card else []
        found = answer(
            self.record, case.rules, self.as_of, asked, None, case.faults, names, elsewhere=elsewhere, verdict=verdict
        )
        found.asked = self.record.marks.meant(word)
        self._judge_head(found)
        return found, head_of(self.record, case.rules, found.life, []) if found.life is not None else None

    def _judge_head(self, found: FillAnswer) -> None:
        """Add to an answer what forbids a fill by this person, from this source, at this site."""
        life, rules, head = found.life, self.case.rules, self.head
        if life is None or not found.stop:
            return
        fill = fill_in_mind(life, found.stop)._replace(by=head.by, on=head.on, at_site=head.at)
        told = {(reason.rule, reason.text) for reason in found.reasons}
        for finding in said_of_a_fill(life, rules, fill):
            if finding.level == "danger" and (finding.rule, finding.text) not in told:
                found.reasons.append(reason_of(finding, True))

    # What is written.

    def write(self, cylinder: str, clauses: str, signed: Override | None = None) -> Written:
        """
        Write a fill of a cylinder, `clauses` in the words of the language, unless it is refused and nobody signs for it.

        Raises CannotDo where it cannot be read or placed. Nobody else writes while it is judged and written.
        """
        with locked(self.folder):
            until = time.monotonic() + TRIED_AGAIN
            while True:
                self.look_again()
                self._look_at(self.head)
                if cylinder not in self.record.cylinders:
                    raise CannotDo(f"there is no card for {cylinder} any more; see cylfile lint. Nothing was written.")
                fill = self.fill(cylinder, clauses)
                row, findings, refused = self._judged(fill)
                if signed is not None:
                    row, findings, _ = self._judged(signed_for(fill, signed.by, signed.why))
                elif refused:
                    return Written(row.entry, "", findings, refused)
                try:
                    self._put(row)
                except ChangedMeanwhile:
                    # Somebody saved the file with an editor, which knows of no lock.
                    if time.monotonic() > until:
                        raise
                    continue
                return Written(row.entry, row.place, findings, [])

    def place_of_last(self) -> str:
        """The place of a row whose writing was broken off, where it is in its file all the same; else empty."""
        if self._putting is None:
            return ""
        row, after = self._putting
        found = the_record(self.paths)
        there = {found.tree.shown(path): data for path, data in found.contents()}
        return row.place if there.get(row.source.path) == after else ""

    def fill(self, cylinder: str, clauses: str) -> Entry:
        """The fill that clauses tell of, with the head of the sheet. Raises CannotDo."""
        clock = "" if self._day is not None else f" {self._now():%H:%M}"
        sentence = f"{self.as_of}{clock} filled {cylinder} {clauses} {self.head.words}".rstrip()
        entry, faults = read_entry(Source("", sentence))
        if entry is None:
            raise CannotDo(f"{faults[0].text}. {faults[0].cure}")
        return entry

    def _judged(self, fill: Entry) -> tuple[Row, list[Finding], list[Finding]]:
        """The fill in its row, what is wrong only with it there, and for what of that it is refused."""
        row = self._row(fill)
        record, rules, name = self.record, self.case.rules, fill.subject
        refused = refusing_fill(record, rules, row.entry, self.air)
        card = record.cylinders[name]
        refused += [there.finding(card, rules) for there in self.neighbors.against(record, card)]
        before = self._findings(name, self._verdict(name))
        with self.air.with_entry(row.entry, {name: self._with_rows(row, name)}):
            after = self._findings(name, judge_cylinder(record, rules, card, self.as_of, self.air))
        new = added(before, after)
        return row, new, refusing(fill, new) or refused

    def _verdict(self, name: str) -> Verdict:
        """What the rules say of a cylinder by itself, worked out once until something is written."""
        if self._last is None or self._last[0] != name:
            card = self.record.cylinders[name]
            self._last = name, judge_cylinder(self.record, self.case.rules, card, self.as_of, self.air)
        return self._last[1]

    def _findings(self, name: str, verdict: Verdict) -> list[Finding]:
        """What is found of a cylinder by itself, and of where it and who filled it were on the day of the sheet."""
        record, rules = self.record, self.case.rules
        found = list(verdict.findings)
        today = [entry for entry in record.entries[name] if entry.day == self.as_of]
        found += at_two_places(record, rules, self.as_of, {**self._of_today, name: today})
        answer_findings(signed_entries([record.entries[name]]), found, self.as_of, rules.level_of)
        cover(found, record.waivers, self.as_of)
        return found

    def _row(self, fill: Entry) -> Row:
        try:
            sheet = self._sheet or self._open(fill)
            row = sheet.with_row(self.record, fill)
        except NoPlace as reason:
            raise CannotDo(f"{reason}. Nothing was written.") from None
        stand = standing(self._with_rows(row, fill.subject), self.as_of)
        others = (each for each in stand if each is not row.entry and each.verb != "remarked")
        untold = next((each for each in others if told(each, row.entry) is None), None)
        if untold is not None:
            place = untold.place
            raise CannotDo(
                f"nothing tells whether this came before or after `{plain_form(untold)}` ({place}). Write the time "
                f'on that line, or this fill on the card: cylfile enter "{plain_form(fill)}". Nothing was written.'
            )
        return row

    def _open(self, like: Entry) -> OpenSheet:
        """Open the sheet that a fill like one goes to."""
        self._sheet = sheet = open_sheet(self.record, like, self.into)
        file = self.stored.files.get(sheet.path)
        if file is not None and not file.is_whole:
            raise CannotDo(f"`{sheet.path}` is not UTF-8 text, so nothing can be written in it; save it as UTF-8 first")
        self._rows = [
            entry
            for entries in self._of_today.values()
            for entry in entries
            if not sheet.is_new and entry.source.path == sheet.path and entry.block == len(sheet.before)
        ]
        return sheet

    def _with_rows(self, row: Row, name: str) -> list[Entry]:
        """The entries of a cylinder with the rows of the sheet as they are with a new one."""
        old = set(map(id, self._rows))
        kept = [entry for entry in self.record.entries[name] if id(entry) not in old]
        return kept + [entry for entry in row.entries if entry.subject == name]

    def _put(self, row: Row) -> None:
        """Write the file of a row, and take the row into the record."""
        path, text = row.source.path, row.source.text
        file: StoredFile | None = self.stored.files.get(path)
        before, after = self._data.get(path), file.encoded(text) if file else text.encode("utf-8")
        self._putting = row, after
        write_file(path if file is None else file.path, before, after)
        self._putting = None
        self._data[path] = after
        self.air.take_in(row.entry)
        record = self.record
        for name in {entry.subject for entry in row.entries}:
            record.entries[name] = self._with_rows(row, name)
            self._of_today[name] = [entry for entry in record.entries[name] if entry.day == self.as_of]
        record.sources[:] = [source for source in record.sources if source.path != path] + [row.source]
        self._sheet, self._rows, self._last = row.sheet, row.entries, None
