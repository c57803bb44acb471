"""Surface: the ground under a wheel."""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from gearwork.errors import GearworkError
from gearwork.stock.tables import table


@dataclass(frozen=True)
class Surface:
    """Ground to roll on.

    Attributes
    ----------
    name : str
        What it is called in a design file.
    least_resistance, greatest_resistance : float
        Published range of the coefficient of rolling resistance (pull over weight).
    tyre_friction : float
        Friction coefficient of a rubber tyre on it.
    source : str
        Where the figures come from.
    """

    name: str
    least_resistance: float
    greatest_resistance: float
    tyre_friction: float
    source: str

    @property
    def rolling_resistance(self) -> float:
        """The coefficient to design with: the upper end of the range, as wheels here are small."""
        return self.greatest_resistance


@cache
def surfaces() -> tuple[Surface, ...]:
    """Return every surface in the table, in its order."""
    return tuple(
        Surface(
            name=row["name"],
            least_resistance=row["rolling_resistance"][0],
            greatest_resistance=row["rolling_resistance"][1],
            tyre_friction=row["tyre_friction"],
            source=row["source"],
        )
        for row in table("surfaces")["surface"]
    )


def surface(name: str) -> Surface:
    """Return the surface of that name.

    Raises
    ------
    GearworkError
        If there is none; the text lists the names and the nearest one.
    """
    known = {row.name: row for row in surfaces()}
    if name in known:
        return known[name]
    near = get_close_matches(str(name), known, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise GearworkError(f"surface is {name!r}: it must be one of {', '.join(known)}{hint}")
