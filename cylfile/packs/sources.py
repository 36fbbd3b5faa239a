"""
Where the figures that a rule reads come from: which properties of a class a fact goes back to.
"""

from collections.abc import Iterable

from cylfile.history.figures import Figures

# Property of a class -> the facts whose values go back to it.
FACTS_OF = {
    "rated": (
        "rated", "fill-limit", "hot-limit", "proof-pressure", "test-pressure-required", "over-limit", "over-hot-limit",
        "over-test-pressure", "test-pressure-short", "charge",
    ),
    "test-every": ("test-every", "test-due", "due-month", "test-needed", "days-to-test"),
    "first-test-every": ("test-every", "test-due", "due-month", "days-to-test"),
    "star-test-every": ("test-every", "test-due", "due-month", "days-to-test", "star-allowed"),
    "test-factor": ("proof-pressure", "test-pressure-required", "over-test-pressure", "test-pressure-short"),
    "test-pressure": ("proof-pressure", "test-pressure-required", "over-test-pressure", "test-pressure-short"),
    "plus-fill": ("fill-limit", "hot-limit", "plus-allowed", "over-limit", "over-hot-limit", "charge"),
    "expansion-limit": ("expansion-limit",),
    "ree-marked": ("ree-marked",),
    "methods": ("method-allowed", "methods"),
    "crack-examination": ("crack-examination",),
    "life": ("life-end", "days-to-life-end"),
    "life-extendable": ("life-extendable", "latest-extension"),
    "life-step": ("latest-extension",),
    "visual-every": ("visual-every", "visual-due", "days-to-visual"),
    "cycle-limit": ("cycle-limit",),
    "aluminum": ("aluminum",),
    "export-only": ("export-only",),
    "reference": ("reference-temperature", "settled", "over-limit", "charge"),
    "hot": ("hot-temperature", "hot", "over-hot-limit"),
    "hot-factor": ("hot-limit", "over-hot-limit"),
    "hot-at-test-pressure": ("hot-limit", "over-hot-limit"),
    "gauge-allowance": ("gauge-allowance",),
    "until-emptied": ("may-be-used",),
}  # fmt: skip


def properties_behind(facts: Iterable[str]) -> tuple[str, ...]:
    """The properties of a class that some facts go back to."""
    asked = set(facts)
    return tuple(word for word, of in FACTS_OF.items() if asked.intersection(of))


def sources_of(properties: Iterable[str], life) -> list[str]:
    """The sources of the figures in use of a cylinder, as its class and its packs give them."""
    figures: Figures = life.figures
    return [figures.cites[word] for word in properties if word in figures.cites and _is_used(word, life)]


def _is_used(word: str, life) -> bool:
    """The ten years of a star and the tenth of a plus count only where the last test earned them."""
    match word:
        case "first-test-every":
            return life.last_test is None
        case "star-test-every":
            return life.last_test is not None and life.test_every != life.figures.test_every
        case "test-every":
            return life.test_every == life.figures.test_every
        case "plus-fill":
            return life.fill_limit != life.rated
    return True
