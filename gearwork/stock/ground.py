"""Surface: the ground under a wheel.

The module has another name than the function, which `gearwork.stock` must not hide behind it.
"""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from gearwork.errors import GearworkError
from gearwork.stock import table


@dataclass(frozen=True)
class Surface:
    """Ground to roll on."""

    name: str  # in a design file
    rolling_resistance: float  # pull over weight, upper end of its range: wheels here are small
    tyre_friction: float  # of a rubber tyre on it, to count on
    max_friction: float  # the most there may be, dry and clean
    source: str


@cache
def surfaces() -> tuple[Surface, ...]:
    """Return every surface in the table, in its order."""
    return tuple(
        Surface(**row | {"rolling_resistance": max(row["rolling_resistance"])})
        for row in table("surfaces")["surface"]
    )


def surface(name: str) -> Surface:
    """Return the surface of that name; the error lists the names and the nearest one."""
    known = {row.name: row for row in surfaces()}
    if name in known:
        return known[name]
    near = get_close_matches(str(name), known, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise GearworkError(f"surface is {name!r}: it must be one of {', '.join(known)}{hint}")
