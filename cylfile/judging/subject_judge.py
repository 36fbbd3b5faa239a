"""
The judges of one cylinder and of one source: entry by entry, by what was known before each.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from cylfile.findings.finding import Finding, known_by
from cylfile.findings.order_not_told import Way, order_not_told
from cylfile.findings.order_of_life import Conduct, Remark, doubles
from cylfile.history.facts import (
    AIR_SAMPLE,
    FACTS,
    ITSELF,
    SIGNER,
    SOURCE,
    STORAGE_FILLED,
    Fact,
)
from cylfile.history.fold import bars_alone, copy_of, let_be, stricter
from cylfile.history.hydro_test import figures_lacking
from cylfile.history.life import Life
from cylfile.history.order import Order, Untold, in_order
from cylfile.history.sources.supply import Supply
from cylfile.history.standing import standing, to_come
from cylfile.packs.resolution import Resolution
from cylfile.packs.rule import Rule
from cylfile.packs.ruleset import Ruleset
from cylfile.record.blocks import AirSource, Cylinder
from cylfile.record.entries import Entry, Filled, write_text
from cylfile.record.record import Record
from cylfile.text.source import Span

if TYPE_CHECKING:
    from cylfile.judging.fills_as_before import Asked

# The rule by which the figures of a test condemn, which asks passed tests alone.
EXPANSIONS = "expansion-over-limit"


class _Judge:
    """Gathers the findings of one cylinder or one source, whose block is `block`."""

    def __init__(self, rules: Ruleset, life: Any, block: Cylinder | AirSource):
        self.rules = rules
        self.life = life
        self.block = block
        self.findings: list[Finding] = []
        self.hits: list = []
        # Fact -> (rules that lacked it, the entry where it was lacked first).
        self.lacking: dict[str, tuple[set[str], Entry | None]] = {}
        self.lacks_seen: set[tuple] = set()
        # Of rules that are said once: the entries of which they hold.
        self.once: defaultdict[Rule, list[Entry | None]] = defaultdict(list)
        # Day -> what the one order of its entries means and what the other, where nothing tells it.
        self.not_told: dict[date, tuple[Way, Way]] = {}

    def _in_order(self, entries: Sequence[Entry]) -> Order:
        """The order of those that stand on the as-of day. Those to come are a finding."""
        as_of = self.life.as_of
        stand = standing(entries, as_of)
        if len(stand) < len(entries):
            self._future(to_come(entries, as_of))
        return in_order(stand)

    def _remark(self, remarks: Iterable[Remark]) -> None:
        for entry, rule, text, other, names_other in remarks:
            related = [(other.span, "other entry")] if other is not None else []
            self._core(rule, self._place_of(entry), text, entry, related)
            self.findings[-1].names_related = names_other

    def _future(self, entries: list[Entry]) -> None:
        if entries:
            first = entries[0]
            more = f", and {len(entries) - 1} more after it" if len(entries) > 1 else ""
            text = f"dated {first.day}, after the day judged for ({self.life.as_of}){more}"
            advice = "Correct the day; no effect until then."
            self._core("future-entry", first.span, text, first, advice=advice)

    def judge_entry(self, entry: Entry | None, verb: str) -> None:
        """Judge one entry, or, with None and `status`, the cylinder on the as-of day."""
        judge_verb = self.rules.judge_of(verb)
        if judge_verb is not None:
            supply = judge_verb(self.life, entry, self.hits)
            if self.hits:
                self._take_hits(entry, verb, supply)

    def _take_hits(self, entry: Entry | None, verb: str, supply: Supply | None) -> None:
        # The order of air and the fills of it may not be told.
        if entry is None or not (supply is None or supply.is_certain):
            self._keep_what_is_told(entry, verb)
        for rule, unknown in self.hits:
            if unknown:
                self._lack(rule, unknown, entry)
            elif rule.once:
                self.once[rule].append(entry)
            else:
                self.find(rule, entry)
        self.hits.clear()

    def find(self, rule: Rule, entry: Entry | None, times: int = 1, last_day: date | None = None) -> None:
        """
        Say that a rule holds of an entry, or, with None, on the as-of day.

        Of what is said once, it is the first entry of so many, of which the last is of `last_day`.
        """
        finding = self._finding(rule, entry, times)
        finding.times, finding.last_day = times, last_day
        self.findings.append(finding)

    def _keep_what_is_told(self, entry: Entry | None, verb: str) -> None:
        """
        Take out of the hits what the rules say in one order only of the source's entries and the fill.

        The hits are those of the order that does harm; see `AirLog`.
        """
        life, air = self.life, self.life.air
        held = life.suspicion if entry is None else None
        if entry is None and held is None:
            return
        untold = air.untold_of(held) if held else air.untold(entry)
        if not untold:
            return
        told: list = []
        life.air = air.lenient
        judge_verb = self.rules.judge_of(verb)
        assert judge_verb is not None, "it has just been asked"
        judge_verb(life, entry, told)
        life.air = air
        in_one = [hit for hit in self.hits if hit not in told]
        if in_one:
            entries = list(untold) if entry is None else [entry, *(each for each in untold if each is not entry)]
            alone = [self._finding(rule, entry, 1) for rule, unknown in in_one if not unknown]
            self._note_untold(Way(entries, alone, []), Way(entries, [], []))
            self.hits[:] = [hit for hit in self.hits if hit in told or hit[1]]

    def _note_untold(self, bars_first: Way, clears_first: Way) -> None:
        """Keep what depends on an order that nothing tells, with all else of that day."""
        day = bars_first.entries[0].day
        known = self.not_told.setdefault(day, (Way([], [], []), Way([], [], [])))
        for way, more in zip(known, (bars_first, clears_first)):
            way.take(more)

    def _lack(self, rule: Rule, unknown: tuple[str, ...], entry: Entry | None) -> None:
        if (rule.name, unknown) in self.lacks_seen:
            return
        self.lacks_seen.add((rule.name, unknown))
        for name in unknown:
            for root in self._roots(name, entry):
                self.lacking.setdefault(root, (set(), entry))[0].add(rule.name)

    def _roots(self, name: str, entry: Entry | None) -> list[str]:
        """The facts at the bottom of an unknown one: what somebody has to write down."""
        deeper = [
            root for part in FACTS[name].derived_from if self._unknown(part, entry) for root in self._roots(part, entry)
        ]
        return list(dict.fromkeys(deeper)) or [name]

    def _unknown(self, name: str, entry: Entry | None) -> bool:
        return FACTS[name].value(self.life, entry) is None

    def end(self) -> list[Finding]:
        """All findings, those too that stand once a cylinder and need all its entries."""
        for rule, entries in self.once.items():
            last = entries[-1]
            self.find(rule, entries[0], len(entries), last.day if last is not None else None)
        for day, ways in self.not_told.items():
            untold = order_not_told(day, self.block.name, ways, self.rules.level_of)
            if untold is not None:
                self.findings.append(untold)
        for name, (rules, entry) in self.lacking.items():
            text = f"{name} not known; not judged: {', '.join(sorted(rules))}"
            span = self._place_of(entry)
            advice = f"Write {FACTS[name].write}." if FACTS[name].write else ""
            self._core("cannot-judge", span, text, advice=advice, about=name)
            self.findings[-1].unjudged = tuple(sorted(rules))
            self.findings[-1].in_lines_of = self._whose_lines(FACTS[name], entry)
        return self.findings

    def _whose_lines(self, fact: Fact, entry: Entry | None) -> tuple[str, ...]:
        """The names of those whose lines tell a fact."""
        own, signer, source = self.block.name, getattr(entry, "by", None), getattr(entry, "on", None)
        names = {
            ITSELF: (own,),
            SIGNER: (signer,),
            SOURCE: (source, own if isinstance(self.block, AirSource) else None),
        }
        return tuple(filter(None, names.get(fact.lines_of, ())))

    def _place_of(self, entry: Entry | None) -> Span:
        """Where an entry stands; of the as-of day, the head of the block."""
        return entry.span if entry is not None else self.block.span

    def _finding(self, rule: Rule, entry: Entry | None, times: int) -> Finding:
        life = self.life
        finding = Finding(
            rule.name,
            rule.level,
            self.block.name,
            self._place_of(entry),
            rule.say(life, entry, times),
            rule.working(life, entry),
            rule.advice(life, entry),
            rule.sources(life),
            entry.day if entry is not None else life.as_of,
            known_by(entry) if entry is not None else "",
        )
        finding.hands = hands_of(entry)
        return finding

    def _core(
        self,
        rule: str,
        span: Span,
        text: str,
        entry: Entry | None = None,
        related: Iterable[tuple[Span, str]] = (),
        advice: str = "",
        about: str = "",
    ) -> None:
        about = known_by(entry) if entry is not None else about
        day = entry.day if entry is not None else None
        finding = Finding(rule, self.rules.level_of(rule), self.block.name, span, text, [], advice, [], day, about)
        finding.related += related
        finding.hands = hands_of(entry)
        self.findings.append(finding)


class BothWays(NamedTuple):
    """
    What the rules say of a stretch whose order nothing tells: what the two `ways` say alone, and what both say, as the judge
    keeps it: the facts `lacking`, each with the rules that lacked it and the entry where that was.
    """

    ways: tuple[Way, Way]
    findings: list[Finding]
    once: dict[Rule, list[Entry | None]]
    lacking: list[tuple[str, set[str], Entry | None]]
    lacks_seen: set[tuple]


_ALL_CLASSES = "See `cylfile rules classes`."


class CylinderJudge(_Judge):
    life: Life
    block: Cylinder

    conduct: Conduct

    @property
    def asked(self) -> "Asked | None":
        """What it asked of the fills, where it keeps that."""
        return None

    def judge_card(self, resolved: Resolution) -> None:
        """Whether the card and the marking tell what kind of cylinder it is, and agree."""
        card, rules, kind = self.block, self.rules, resolved.kind
        if kind.figures.class_name is None and rules.names:
            marked = " and ".join(map(write_text, kind.marked))
            if card.class_name is not None:
                text = f"no rule pack has a class {card.class_name}"
            elif not kind.marked:
                text = "neither `class` nor `marked` tells what kind of cylinder it is"
            elif kind.fits:
                text = f"the marking {marked} fits more than one class: {', '.join(kind.fits)}"
            else:
                text = f"the marking {marked} fits no class"
            nearest = f"Nearest: {', '.join(kind.nearest)}. " if kind.nearest else ""
            advice = f"Write `class` by its marking. {nearest}{_ALL_CLASSES}"
            self._core("no-class", card.where.get("class", card.span), text, advice=advice)
            self.findings[-1].in_lines_of = (card.name,)
        if resolved.disagrees:
            span = card.where.get("marked", card.span)
            advice = "Look at the marking."
            self._core("marking-disagrees", span, resolved.disagrees, advice=advice)
        for word, text in resolved.laxer:
            advice = "Correct it; a permit that allows it makes it another class."
            self._core("laxer-than-class", card.where.get(word, card.span), text, advice=advice)
        if card.made is not None and card.made > self.life.as_of:
            text = f"made {card.made}, after the day judged for ({self.life.as_of})"
            span = card.where.get("made", card.span)
            self._core("future-entry", span, text, advice="Correct `made`: its test and its life are counted from it.")

    def judge_entries(self, entries: Sequence[Entry]) -> None:
        """Judge entries in the order in which they happened, and take each into the life."""
        order = self._in_order(entries)
        self.life.entries = order.entries
        self.conduct = Conduct(self.block, order.entries)
        done = 0
        for untold in order.untold:
            self._walk(order.entries[done : untold.first])
            self._judge_both_ways(untold)
            done = untold.last
        self._walk(order.entries[done:])
        if EXPANSIONS in self.rules.rules and EXPANSIONS not in self.rules.suspended:
            for name, entry in figures_lacking(self.life).items():
                self.lacking.setdefault(name, (set(), entry))[0].add(EXPANSIONS)
        for remark in self.conduct.end():
            self._remark([remark])
            self.findings[-1].in_lines_of = (self.block.name,)
        self._remark(doubles(order.full_days))

    def _judge_of_fills(self) -> Callable | None:
        """What judges a fill; see `Ruleset.judge_of`."""
        return self.rules.judge_of("filled")

    def _walk(self, entries: list[Entry]) -> None:
        life, conduct = self.life, self.conduct
        hits, filled = self.hits, self._judge_of_fills()
        for entry in entries:
            # A fill of a cylinder that is going about its life is what nearly every entry is.
            if entry.__class__ is Filled:
                if not conduct.settled:
                    self._remark(conduct.look(entry))
                if filled is not None:
                    supply = filled(life, entry, hits)
                    if hits:
                        self._take_hits(entry, "filled", supply)
            else:
                self._remark(conduct.look(entry))
                self.judge_entry(entry, entry.verb)
            life.take_in(entry)

    def _judge_both_ways(self, untold: Untold) -> None:
        """Judge a stretch whose order nothing tells in both its orders, and go on with the stricter life."""
        said, lives, self.conduct = self._both_ways(untold)
        self._note_untold(*said.ways)
        self.findings += said.findings
        for rule, entries in said.once.items():
            self.once[rule] += entries
        for fact, rules, entry in said.lacking:
            self.lacking.setdefault(fact, (set(), entry))[0].update(rules)
        self.lacks_seen |= said.lacks_seen
        let_be(self.life, stricter(*lives))

    def _both_ways(self, untold: Untold) -> tuple[BothWays, list[Life], Conduct]:
        """What is said of such a stretch, the lives after its two orders, and how it was conducted."""
        orders = (untold.bars_first, untold.clears_first)
        one, other = judges = [self._going_one_way(entries) for entries in orders]
        one_says, other_says = one.keys(), other.keys()
        ways = (
            Way(orders[0], one.alone(other_says), bars_alone(one.life, other.life)),
            Way(orders[1], other.alone(one_says), bars_alone(other.life, one.life)),
        )
        findings = [finding for finding in one.findings if (finding.rule, finding.span) in other_says]
        once = {
            rule: both
            for rule, held in one.once.items()
            if (both := [entry for entry in held if (rule.name, id(entry)) in other_says])
        }
        lacking = [(fact, *lacked) for judge in judges for fact, lacked in judge.lacking.items()]
        said = BothWays(ways, findings, once, lacking, one.lacks_seen | other.lacks_seen)
        return said, [one.life, other.life], one.conduct

    def _going_one_way(self, entries: list[Entry]) -> "CylinderJudge":
        """A judge who takes the entries in this order, from what is known now."""
        judge = CylinderJudge(self.rules, copy_of(self.life), self.block)
        judge.conduct = self.conduct.copy()
        judge.lacks_seen |= self.lacks_seen
        judge.not_told = self.not_told
        judge._walk(entries)
        return judge

    def alone(self, said: set[tuple]) -> list[Finding]:
        """The findings so far that are not among what was `said`, each by itself."""
        found = [finding for finding in self.findings if (finding.rule, finding.span) not in said]
        for rule, held in self.once.items():
            found += (self._finding(rule, entry, 1) for entry in held if (rule.name, id(entry)) not in said)
        return found

    def keys(self) -> set[tuple]:
        """What was said so far: rule and place of each finding, and of what is said once rule and entry."""
        found: set[tuple] = {(finding.rule, finding.span) for finding in self.findings}
        found.update((rule.name, id(entry)) for rule, held in self.once.items() for entry in held)
        return found


class SourceJudge(_Judge):
    def judge_entries(self, entries: Sequence[Entry]) -> None:
        """Judge entries in the order in which they happened."""
        order = self._in_order(entries)
        for entry in order.entries:
            if entry.verb == AIR_SAMPLE:
                self.judge_entry(entry, entry.verb)
            elif entry.verb == "filled":
                self.judge_entry(entry, STORAGE_FILLED)
        self._remark(doubles(order.full_days))


def hands_of(entry: Entry | None) -> tuple[str, ...]:
    """Whose doing an entry is: the person who signs it, and the source of the air."""
    return tuple(filter(None, (getattr(entry, "by", None), getattr(entry, "on", None))))


def are_hands(record: Record, names: Collection[str]) -> bool:
    """Whether an entry has one of some names for that of who signs it, or of the source of its air."""
    return any(name in names for of_name in record.entries.values() for entry in of_name for name in hands_of(entry))
