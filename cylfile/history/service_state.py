"""
The state of a cylinder in one word, the same on pages, in options and in forms for machines.
"""

from cylfile.history.life import Life

IN_SERVICE = "in-service"
# What `state_of` gives, the best first.
STATES = (IN_SERVICE, "not-entered", "out-of-service", "failed", "damaged", "over-pressurized", "condemned", "retired")


def state_of(life: Life) -> str:
    """The state of a cylinder on the as-of day: of several that hold, the one that is hardest to get out of."""
    for day, state in (
        (life.retired_day, "retired"),
        (life.condemned_day, "condemned"),
        (life.over_pressurized_day, "over-pressurized"),
        (life.damaged_day, "damaged"),
        (life.failed_day, "failed"),
        (life.out_of_service_day, "out-of-service"),
    ):
        if day is not None:
            return state
    return IN_SERVICE if life.in_service else "not-entered"
