"""
What falls due for all cylinders and sources of a record, by the rules that it goes by.
"""

from collections.abc import Iterable, Iterator

from cylfile.history.due import Due, Untold, coming, coming_of_sources
from cylfile.history.life import Life
from cylfile.history.sources.air_log import AirLog
from cylfile.packs.ruleset import Ruleset


def all_coming(lives: Iterable[Life], rules: Ruleset, air: AirLog) -> Iterator[Due | Untold]:
    """What comes for each of the cylinders, then for the sources of air."""
    for life in lives:
        yield from coming(life)
    yield from coming_of_sources(air, *(_period(rules, name) for name in ("sample-every", "cartridge-age-limit")))


def _period(rules: Ruleset, name: str) -> int | None:
    """A period that the rules set, in months."""
    setting = rules.settings.get(name)
    return setting.value if setting is not None and setting.dimension == "period" else None
