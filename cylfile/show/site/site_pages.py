"""
The pages of a record, by their paths in the folder, and that of a county above them.
"""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import segno
from jinja2 import Environment
from markupsafe import Markup

from cylfile.findings.finding import Finding
from cylfile.history.due import KINDS, Due, Untold
from cylfile.history.sources.suspect_air import way_of
from cylfile.history.standing import late_on, stands, struck_on
from cylfile.judging.heads import natural
from cylfile.packs.wording import in_words
from cylfile.record.dates import month_end
from cylfile.record.entries import Entry
from cylfile.show.pages.briefing_page import must_come_out, must_not_be_filled, of_each_source
from cylfile.show.pages.card_page import Card, card_of, marks_on, said_of, totals_of, working_of
from cylfile.show.pages.due_page import OVERDUE, by_month, lack, named, why_then
from cylfile.show.pages.reasons import in_full
from cylfile.show.site.air_picture import air_picture, filled_from, suspect_ways
from cylfile.show.site.life_picture import legend, life_picture, readings
from cylfile.show.site.page_names import page_names
from cylfile.show.site.published import Published, Row
from cylfile.show.site.rendering import templates
from cylfile.show.site.wall_sheet import density
from cylfile.show.terminal.heading import path_in, title_of
from cylfile.text.phrases import counted

INDEX = "index.html"
# Kinds of answers, the one that matters most first, and what they are called.
_ANSWERS = {
    "barred": "do not fill",
    "untold": "cannot be told",
    "open": "nothing against it",
    "gone": "condemned or retired",
}
# The list of all cylinders is there in each of these orders: file, what it is sorted by, and the key.
_ORDERS = (
    (INDEX, "cylinder", lambda row: ()),
    ("by-answer.html", "answer", lambda row: (list(_ANSWERS).index(row.mark.kind), row.why)),
    ("by-state.html", "state", lambda row: row.state),
    ("by-site.html", "site", lambda row: natural(row.site)),
    ("by-class.html", "class", lambda row: row.head.class_name),
    ("by-next-test.html", "next test", lambda row: (not row.next_test, row.next_test)),
    ("by-end-of-life.html", "life ends", lambda row: (not row.life_ends, row.life_ends)),
)
# The tabs of every page of a record.
_PAGES = (
    (INDEX, "Cylinders"),
    ("due.html", "Due"),
    ("sources.html", "Air"),
    ("wall.html", "Wall sheet"),
    ("fill-sheet.html", "Fill sheet"),
    ("labels.html", "Labels"),
)
# Blank rows below the cylinders of a site, for those that are visiting.
_BLANK_ROWS = 6
NAME, TAG = "name", "tag"
# More have pages of their own, so that none grows too large for a phone.
_ENTRIES_A_PAGE = 1_500
# What is written of a source, and told by itself.
_TOLD_APART = ("air sample", "cartridge changed", "filled")


class LabelStyle(NamedTuple):
    """The size of a label in mm, and whether its code says the name or the tag."""

    wide: float = 90
    high: float = 38
    code: str = NAME


class EntryRow(NamedTuple):
    """An entry as its page lists it. `kind` is struck, late, to come or empty; `findings` are their levels."""

    day: str
    said: str
    settled: str
    place: str
    kind: str
    levels: list[str]


class Site:
    """Makes the pages of one record."""

    def __init__(self, published: Published, labels: LabelStyle, environment: Environment | None = None):
        self.published = published
        self.labels = labels
        self.environment = environment or templates()

    def files(self) -> Iterator[tuple[str, bytes]]:
        """Path and contents of each page."""
        yield from self._lists()
        for row in self.published.rows:
            yield from self._cylinder(row)
        yield "due.html", self._page("due.html", "due.html", **self._due())
        yield "sources.html", self._page("sources.html", "sources.html", **self._sources())
        yield "wall.html", self._page("wall.html", "wall.html", **self._wall())
        yield (
            "fill-sheet.html",
            self._page("fill-sheet.html", "fill-sheet.html", sites=self._sheets(), blank=_BLANK_ROWS),
        )
        yield "labels.html", self._page("labels.html", "labels.html", labels=self._labels(), size=self.labels)

    def _page(self, template: str, path: str, **told: Any) -> bytes:
        root = "../" * path.count("/")
        text = self.environment.get_template(template).render(
            site=self.published, path=path, root=root, tabs=_PAGES, as_of=self.published.as_of, **told
        )
        return text.encode("utf-8")

    # The list of all cylinders.

    def _lists(self) -> Iterator[tuple[str, bytes]]:
        published, brief = self.published, self.published.brief
        rows = published.rows
        sites = {site: number for number, site in enumerate(sorted({row.site for row in rows}, key=natural))}
        kinds = [kind for kind in _ANSWERS if any(row.mark.kind == kind for row in rows)]
        due = [(called, [each for each in brief.due if each.kind == kind]) for kind, called in KINDS.items()]
        told = {
            "come_out": must_come_out(brief),
            "out_count": len({name for _, names in must_come_out(brief) for name in names}),
            "not_filled": must_not_be_filled(brief),
            "due": [(called, sorted(group, key=lambda each: natural(each.subject))) for called, group in due if group],
            "sources": of_each_source(brief),
            "sites": sites,
            "answers": [(kind, _ANSWERS[kind], sum(row.mark.kind == kind for row in rows)) for kind in kinds],
            "orders": [(path, called) for path, called, _ in _ORDERS],
            "others": published.other_findings,
        }
        for path, called, key in _ORDERS:
            yield path, self._page("index.html", path, rows=sorted(rows, key=key), sorted_by=called, **told)

    # A cylinder.

    def _cylinder(self, row: Row) -> Iterator[tuple[str, bytes]]:
        published = self.published
        card = card_of(published.judgement, row.name)
        life, as_of = card.life, published.as_of
        flagged = {place for place, found in card.beside.items() if any(map(_is_of_pressure, found))}
        read = [(entry, entry.place) for entry in card.entries if hasattr(entry, "reading") and stands(entry, as_of)]
        reached = readings(life, read, flagged)
        kelvin = life.figures.reference
        reference = in_words(kelvin, "temperature", life.pressure_unit) if kelvin is not None else ""
        entries = [self._entry(entry, card) for entry in card.entries]
        # The latest ones stand on the page itself.
        first = max(len(entries) - 1, 0) // _ENTRIES_A_PAGE
        parts = [entries[at : at + _ENTRIES_A_PAGE] for at in range(0, len(entries), _ENTRIES_A_PAGE)]
        earlier = [(f"earlier/{_stem(row.page)}-{number + 1}.html", parts[number]) for number in range(first)]
        for path, rows in earlier:
            yield path, self._page("earlier.html", path, row=row, entries=rows, reference=reference)
        yield row.page, self._page(
            "cylinder.html", row.page, row=row, card=card, life=life, marks=list(marks_on(life)),
            reasons=[] if row.head.gone and not row.head.is_barred else [(in_full(each), each) for each in row.head.reasons],
            picture=life_picture(life, card.line, reached), legend=list(legend(card.line, reached)),
            coming=list(self._coming(card)), totals=list(totals_of(card)), findings=published.findings_about(row.name),
            entries=parts[-1] if parts else [], earlier=earlier, count=len(entries), reference=reference,
        )  # fmt: skip

    def _coming(self, card: Card) -> Iterator[tuple[str, str, str, bool]]:
        """What comes, by which day, why then, and whether that day is past."""
        known = [each for each in card.coming if isinstance(each, Due)]
        for due in sorted(known, key=lambda due: due.day):
            yield KINDS[due.kind], f"by {due.day}", working_of(due), due.day < card.life.as_of
        for each in card.coming:
            if isinstance(each, Untold):
                yield KINDS[each.kind], "day not known", lack(each), False

    def _entry(self, entry: Entry, card: Card) -> EntryRow:
        life, as_of = card.life, self.published.as_of
        kind = "late" if late_on(entry, as_of) else ""
        kind = "to come" if entry.day > as_of else "struck" if struck_on(entry, as_of) else kind
        settled = life.settled(entry) if hasattr(entry, "reading") else None
        return EntryRow(
            str(entry.day),
            said_of(entry),
            "" if settled is None else in_words(settled, "pressure", life.pressure_unit),
            path_in(self.published.folder, entry.place),
            kind,
            list(dict.fromkeys(each.level for each in card.beside.get(entry.place, ()) if each.stands)),
        )

    # What falls due, and the air.

    def _due(self) -> dict[str, Any]:
        listed = self.published.due
        months = [
            (month, month == OVERDUE, [self._due_row(due) for due in due_list]) for month, due_list in by_month(listed)
        ]
        return {
            "listed": listed,
            "months": months,
            "untold": [(each, KINDS[each.kind], lack(each)) for each in listed.untold],
        }

    def _due_row(self, due: Due) -> tuple[str, str, str, str, str, str]:
        listed = self.published.due
        page = self.published.pages.get(
            due.subject, f"sources.html#{self._source_ids[due.subject]}" if due.subject in self._source_ids else ""
        )
        return (
            page,
            named(due, listed.at_tester_since),
            title_of(self.published.record, due.site),
            KINDS[due.kind],
            str(due.day),
            why_then(due),
        )

    @property
    def _source_ids(self) -> dict[str, str]:
        return {name: f"s-{word}" for name, word in page_names(self.published.record.air_sources).items()}

    def _sources(self) -> dict[str, Any]:
        coming = {name: (said, late) for name, said, late in of_each_source(self.published.brief)}
        each = [
            (self._source_ids[name], source, *coming[name], self.published.findings_about(name), *self._own(name))
            for name, source in self.published.record.air_sources.items()
        ]
        ways = []
        for way in suspect_ways(self.published.judgement):
            holders = [
                (name, way_of(next(held for held in fills if held.let_out is None))) for name, fills in way.holders
            ]
            holding = {name for name, _ in holders}
            let_out = [name for name, _ in way.cylinders if name not in holding]
            ways.append((way, air_picture(way), holders, let_out))
        return {"sources": each, "ways": ways}

    def _own(self, name: str) -> Iterator[Any]:
        """What is written of a source: samples, cartridges, how often it was filled itself, and the rest."""
        own = sorted(self.published.record.entries.get(name, ()), key=lambda entry: entry.day)
        yield [self._of_source(entry) for entry in own if entry.verb == "air sample"]
        yield list(self._cartridges(name, own))
        fills = [entry for entry in own if entry.verb == "filled" and stands(entry, self.published.as_of)]
        yield f"{counted(len(fills), 'fill')} of it, from {fills[0].day} to {fills[-1].day}" if fills else ""
        yield [self._of_source(entry) for entry in own if entry.verb not in _TOLD_APART]

    def _of_source(self, entry: Entry) -> EntryRow:
        as_of = self.published.as_of
        kind = "late" if late_on(entry, as_of) else ""
        kind = "to come" if entry.day > as_of else "struck" if struck_on(entry, as_of) else kind
        place = path_in(self.published.folder, entry.place)
        return EntryRow(str(entry.day), said_of(entry), "", place, kind, [])

    def _cartridges(self, name: str, own: list[Entry]) -> Iterator[tuple[EntryRow, str, str, str]]:
        """Each cartridge: its change, until when it was in, the fills with it, and the free air that they took."""
        published, air = self.published, self.published.judgement.air
        changes = [entry for entry in own if entry.verb == "cartridge changed"]
        standing = [entry for entry in changes if stands(entry, published.as_of)]
        fills = filled_from(published.judgement, name) if standing else []
        rated = published.record.air_sources[name].rated
        unit = "psi" if rated is None or rated.unit == "psi" else "bar"
        for change in changes:
            after = next((other.day for other in standing if other.day > change.day), None)
            took = [fill for fill in fills if fill.day >= change.day and (after is None or fill.day < after)]
            volumes = [air.free_air_of(fill) for fill in took] if change in standing else []
            known = sum(max(volume, 0.0) for volume in volumes if volume is not None)
            unknown = volumes.count(None)
            words = f"about {in_words(known, 'volume', unit)} of free air" if len(volumes) > unknown else ""
            words += f", {counted(unknown, 'fill')} not counted that do not say enough" if unknown and words else ""
            yield self._of_source(change), str(after or ""), counted(len(volumes), "fill"), words

    # Paper.

    def _wall(self) -> dict[str, Any]:
        published = self.published
        record, as_of = published.record, published.as_of
        end = month_end(as_of)
        due = [each for each in published.found if isinstance(each, Due) and each.day <= end]
        by_kind = [(called, [each for each in due if each.kind == kind]) for kind, called in KINDS.items()]
        groups = [
            (
                f"{called}, {len(group)}",
                [
                    (word, names)
                    for word, is_over in ((OVERDUE.upper(), True), ("", False))
                    if (names := sorted((each.subject for each in group if (each.day < as_of) is is_over), key=natural))
                ],
            )
            for called, group in by_kind
            if group
        ]
        people = sorted(
            person.title or person.name
            for name, person in record.people.items()
            if record.authority.may_fill(name, as_of)
        )
        style = density(
            [(row.name, row.why) for row in published.barred],
            [(title, [", ".join([word, *names]) for word, names in said]) for title, said in groups],
            people,
        )
        return {"barred": published.barred, "density": style, "due": groups, "month_end": end, "people": people,
                "sheets": ("letter", "a4")}  # fmt: skip

    def _sheets(self) -> list[tuple[str, list[Row], list[Row]]]:
        """By site: the cylinders to fill in, and those that are left out since they must not be filled."""
        sites: dict[str, tuple[list[Row], list[Row]]] = {}
        for row in self.published.rows:
            if not row.is_gone:
                sites.setdefault(row.site, ([], []))[row.head.is_barred].append(row)
        return [(site, *sites[site]) for site in sorted(sites, key=natural)]

    def _labels(self) -> list[tuple[Row, Markup]]:
        return [(row, _code(self._coded(row))) for row in self.published.rows if not row.is_gone]

    def _coded(self, row: Row) -> str:
        """What the code of a label says: what `may-fill` and `enter` take for the cylinder."""
        tags = row.life.cylinder.tags_on(self.published.as_of)
        return tags[0] if self.labels.code == TAG and tags else row.name


def _stem(page: str) -> str:
    return page.rpartition("/")[2].removesuffix(".html")


def _is_of_pressure(finding: Finding) -> bool:
    return finding.rule in ("filled-over-limit", "filled-hot-over", "read-over-limit", "holds-over-limit")


def _code(words: str) -> Markup:
    """A QR code as an SVG element."""
    made = segno.make(words, micro=False, error="m")
    return Markup(made.svg_inline(scale=1, border=2, omitsize=True, svgclass="qr", lineclass=None))


class CountyRow(NamedTuple):
    """A record of a county: the folder of its pages, and the record."""

    folder: str
    published: Published


def county_page(rows: Sequence[CountyRow], environment: Environment) -> bytes:
    """The page above those of several records."""
    text = environment.get_template("county.html").render(rows=rows, stale=min(each.published.stale for each in rows))
    return text.encode("utf-8")
