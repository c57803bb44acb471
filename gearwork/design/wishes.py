"""Room and Wishes: what a design file leaves to the search, and what that must keep to."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

from gearwork.checks.mesh import WANTED_CONTACT_RATIO
from gearwork.design.search_space import SearchSpace
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.tooth import Cutter
from gearwork.stock.laminate import Panel

MOST_LAYERS = 12
"""Sheets that can be glued to one gear."""

MOST_PAIRS = 1_000_000
"""Pairs that a design file may have tried: a minute or two."""


@dataclass(frozen=True)
class Room:
    """How much room there is for the gears.

    Attributes
    ----------
    greatest_diameter : float, optional
        Of any gear over its tips, mm.
    least_distance, greatest_distance : float, optional
        Of the centres of any pair, mm.
    fixed_distance : float, optional
        Centre distance of every pair, mm, e.g. of a frame that is there already.

    Raises
    ------
    GearworkError
        If a size is not above 0.
    """

    greatest_diameter: float | None = None
    least_distance: float | None = None
    greatest_distance: float | None = None
    fixed_distance: float | None = None

    def __post_init__(self) -> None:
        for name, size in vars(self).items():
            if size is not None:
                number(name.replace("_", " "), size, unit="mm", above=0.0)


@dataclass(frozen=True)
class Wishes:
    """What the search may choose from where a design file gives no stage.

    Attributes
    ----------
    ratio : tuple of float, optional
        Least and greatest ratio of the train; default what drive and load ask for.
    stages : tuple of int
        Numbers of stages to try, 1 to 3.
    modules : tuple of float
        mm.
    pinion_teeth, wheel_teeth : tuple of int
        Fewest and most teeth of the driving and of the driven gear.
    pinion_shifts, returned_shares : tuple of float
        As in `SearchSpace`.
    pressure_angle : float
        Degrees.
    most_layers : int
        Sheets glued to one gear, at most.
    contact_ratio : float
        The least.
    coprime : bool
        Whether the tooth counts of a pair may share no factor.
    same_gears : bool
        Whether all stages must be of one and the same pair.

    Raises
    ------
    GearworkError
        If the number of layers cannot be; the rest is judged by `space`.
    """

    ratio: tuple[float, ...] | None = None
    stages: tuple[int, ...] = SearchSpace.stages
    modules: tuple[float, ...] = SearchSpace.modules
    pinion_teeth: tuple[int, ...] = SearchSpace.pinion_teeth
    wheel_teeth: tuple[int, ...] = SearchSpace.wheel_teeth
    pinion_shifts: tuple[float, ...] = SearchSpace.pinion_shifts
    returned_shares: tuple[float, ...] = SearchSpace.returned_shares
    pressure_angle: float = SearchSpace.pressure_angle
    most_layers: int = 2
    contact_ratio: float = WANTED_CONTACT_RATIO
    coprime: bool = False
    same_gears: bool = False

    def __post_init__(self) -> None:
        whole_number("most layers", self.most_layers, at_least=1, at_most=MOST_LAYERS)

    def space(self, bit: Cutter, panels: Sequence[Panel]) -> SearchSpace:
        """Return what the search may choose from, with this bit and these sheets and stacks.

        Raises
        ------
        GearworkError
            If a wish cannot be.
        """
        space = SearchSpace(
            bit,
            tuple(panels),
            ratio=self.ratio,  # type: ignore[arg-type]
            stages=self.stages,
            modules=self.modules,
            pinion_teeth=self.pinion_teeth,  # type: ignore[arg-type]
            wheel_teeth=self.wheel_teeth,  # type: ignore[arg-type]
            pinion_shifts=self.pinion_shifts,
            returned_shares=self.returned_shares,
            pressure_angle=self.pressure_angle,
        )
        counts = (b - a + 1 for a, b in (space.pinion_teeth, space.wheel_teeth))
        pairs = prod((*counts, len(space.modules), len(space.shift_pairs), len(space.panels)))
        if pairs > MOST_PAIRS:
            raise GearworkError(
                f"{pairs} pairs of gears would have to be tried: at most {MOST_PAIRS} are; wish for"
                " fewer tooth counts, modules or profile shifts"
            )
        return space
