"""What a design file says of the workshop: how exactly it works, and how it cuts."""

import math
from dataclasses import dataclass

from gearwork.checks.sampling import Scatter
from gearwork.checks.tolerance import ACCEPTED
from gearwork.errors import number, whole_number
from gearwork.geometry.bit_path import Tabs
from gearwork.rounding import round_up

FEWEST_SAMPLES, FEWEST_BAD = 20_000, 20


@dataclass(frozen=True)
class Tolerances(Scatter):
    """How far the workshop misses what is drawn, and which chance of a bad mesh is put up with.

    The attributes of `Scatter`, and:

    Attributes
    ----------
    accepted_chance : float
        Chance that a pair binds, and chance that it loses overlap, to put up with.

    Raises
    ------
    GearworkError
        If a figure cannot be.
    """

    accepted_chance: float = ACCEPTED

    def __post_init__(self) -> None:
        super().__post_init__()
        number("accepted chance", self.accepted_chance, at_least=0.0001, at_most=0.5)

    @property
    def edge_tolerance(self) -> float:
        """How far an edge may lie from its line, mm: three standard deviations, at least 0.01.

        Of 1000 edges 3 lie farther off and are cut again.
        """
        return max(round_up(3 * math.hypot(self.cutting_error, self.bit_diameter / 2), 2), 0.01)

    @property
    def samples(self) -> int:
        """How many pairs to sample: at the accepted chance, at least 20 of them are bad.

        The chance is then known to about a quarter of itself; at the default, where 200 are bad,
        to a fourteenth.
        """
        return max(FEWEST_SAMPLES, math.ceil(FEWEST_BAD / self.accepted_chance))


@dataclass(frozen=True)
class Cutting:
    """How the parts are cut where no program makes the paths.

    Attributes
    ----------
    bit_paths : bool
        Whether to write files of the path of the bit's centre.
    tabs : int
        How many bridges hold a piece at its outer edge; 0: none.
    tab_width : float
        Of each, mm.
    tab_height : float
        Of each, above the underside of the sheet, mm.

    Raises
    ------
    GearworkError
        If a figure cannot be.
    """

    bit_paths: bool = False
    tabs: int = Tabs.count
    tab_width: float = Tabs.width
    tab_height: float = Tabs.height

    def __post_init__(self) -> None:
        whole_number("tabs", self.tabs, at_least=0, at_most=50)
        Tabs(max(self.tabs, 1), self.tab_width, self.tab_height)

    @property
    def bridges(self) -> Tabs | None:
        """The tabs to leave, None for none."""
        return Tabs(self.tabs, self.tab_width, self.tab_height) if self.tabs else None
