"""What a search may choose from, what it must keep to, and what counts most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Literal, get_args

import numpy as np

from gearwork.checks.hub.coupling import CouplingName
from gearwork.checks.hub.fixing import FixingName
from gearwork.checks.tooth.mesh import MIN_CONTACT_RATIO, WANTED_CONTACT_RATIO
from gearwork.errors import Bound, GearworkError, check_values, number, one_of, shown
from gearwork.geometry.gear import BOUNDS, MODULE, TEETH
from gearwork.geometry.tooth import Cutter
from gearwork.machine.brief import Room, Tolerances
from gearwork.machine.cradle import Cradle
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.numbers import Floats
from gearwork.stock.hardware import Bearing, Rod
from gearwork.stock.laminate import Panel

CaseName = Literal["running", "starting", "stall", "braking"]
MAX_STAGES = 3


Ratios = Annotated[
    tuple[float, float] | None, Bound(at_least=0.001, at_most=10_000.0, entries=("from", "to"))
]
Stages = Annotated[tuple[int, ...], Bound(at_least=1, at_most=MAX_STAGES)]
Modules = Annotated[tuple[float, ...], MODULE]
Teeth = Annotated[tuple[int, int], replace(TEETH, entries=("from", "to"))]
Shares = Annotated[tuple[float, ...], Bound(at_least=-1.0, at_most=1.0)]
Overlap = Annotated[float, Bound(at_least=MIN_CONTACT_RATIO)]
Reserve = Annotated[float, Bound(at_least=0.0, at_most=1.0)]
Weight = Annotated[float, Bound(at_least=0.0)]


@dataclass(frozen=True)
class SearchSpace:
    """What the search may choose from.

    Attributes
    ----------
    bit : Bit
        What cuts all gears.
    panels : tuple of Plywood or Stack
        What a gear may be cut from: the sheet, stacks of two layers, of three and so on. Face
        width is the thickness of the panel; both gears of a pair are of one panel.
    ratio : tuple of float, optional
        Lowest and highest ratio of the train, whatever the duty asks for.
    stages : tuple of int
        Numbers of stages to try, 1 to 3.
    modules : tuple of float
        Those to try, mm.
    pinion_teeth, wheel_teeth : tuple of int
        From how many to how many teeth of the driving and of the driven gear.
    pinion_shifts : tuple of float
        Profile shifts of the driving gear, coefficients of the module.
    returned_shares : tuple of float
        What share of that shift the wheel gives back: x2 = −share · x1. With a fixed centre
        distance the wheel's shift follows from it instead.
    pressure_angle, addendum, clearance : float
        As of `Gear`, for all gears.

    Raises
    ------
    GearworkError
        If a choice is empty or a value cannot be.

    Examples
    --------
    >>> import gearwork as gw
    >>> space = SearchSpace(gw.Bit(3.0), (gw.plywood("birch", 12),), pinion_teeth=(12, 13),
    ...                     wheel_teeth=(30, 32))
    >>> space.teeth_pairs.shape  # 2 counts of the pinion with 3 of the wheel
    (6, 2)
    """

    bit: Cutter
    panels: tuple[Panel, ...]
    ratio: Ratios = None
    stages: Stages = (1, 2)
    modules: Modules = (4.0, 5.0, 6.0, 8.0)
    pinion_teeth: Teeth = (10, 24)
    wheel_teeth: Teeth = (20, 100)
    pinion_shifts: Shares = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
    returned_shares: Shares = (0.0, 1.0)
    pressure_angle: Annotated[float, BOUNDS["pressure_angle"]] = 20.0
    addendum: Annotated[float, BOUNDS["addendum"]] = 1.0
    clearance: Annotated[float, BOUNDS["clearance"]] = 0.25

    def __post_init__(self) -> None:
        for name in ("panels", "stages", "modules", "pinion_shifts", "returned_shares"):
            _choices(name.replace("_", " "), getattr(self, name))
        check_values(self)
        for name in ("ratio", "pinion_teeth", "wheel_teeth"):
            _in_order(name.replace("_", " "), getattr(self, name))

    @property
    def teeth_pairs(self) -> Floats:
        """All tooth counts of driving and driven gear, shape (n, 2)."""
        driving, driven = (np.arange(a, b + 1.0) for a, b in (self.pinion_teeth, self.wheel_teeth))
        return np.stack(np.meshgrid(driving, driven, indexing="ij"), axis=-1).reshape(-1, 2)

    @property
    def shift_pairs(self) -> Floats:
        """All profile shifts of driving and driven gear, each pair once, shape (n, 2)."""
        both = {(x, 0.0 - s * x) for x in self.pinion_shifts for s in self.returned_shares}
        return np.array(sorted(both))


@dataclass(frozen=True)
class Limits(Room):
    """What a train must keep to: the attributes of `Room`, and more.

    Attributes
    ----------
    max_diameter, min_distance, max_distance, fixed_distance : float, optional
        As of `Room`, mm.
    ratio : tuple of float, optional
        Lowest and highest ratio of the train, beside what the duty asks for.
    contact_ratio : float
        Lowest contact ratio of the teeth as cut.
    stock : tuple of float, optional
        Width and height of the sheet, margins taken off, mm: each gear must find room on it.
    coprime : bool
        Whether the tooth counts of a pair may share no factor, so that every tooth meets every
        other.
    same_gears : bool
        Whether all stages must be of one and the same pair.
    rod : Rod, optional
        Of every shaft: it and some fixing on it must hold the greatest torque.
    coupling : str, optional
        How drill or motor take hold of the first rod, as of the design file. Default: by any that
        holds.
    fixing : {"spring clamp", "epoxy", "glued rod", "nut pockets", "bolts"}, optional
        The only kind that may hold it.
    bearing : Bearing, optional
        At both ends of every shaft. With rod, frame and parts it takes forces and bending into
        account: what `check_shaft` asks, and the load on the edge of the teeth.
    cradle : Cradle
        Of the drive; one without a diameter is none.
    frame, parts : Frame and ShaftParts, optional
        Of every shaft, both or neither. A gear must not foul the next shaft, the hub beside it or
        the ground; bearing seats must leave wood between them.
    overhangs : tuple of float
        Of drive and load beyond the plates, mm; they make the rods softer in a jam.
    tolerance : Tolerances
        How exactly the workshop works: teeth are thinned so that they bind no oftener than it
        accepts, and their deviations load them.
    cases : tuple of {"running", "starting", "stall", "braking"}
        Load cases that the teeth must bear.
    reserve : float
        Share by which all that is loaded must bear more than it has to; teeth bear what they have
        to from the sheet at its thinnest as well. 0: neither.

    Raises
    ------
    GearworkError
        If a limit cannot be.

    Examples
    --------
    >>> Limits(max_diameter=250.0, coprime=True).contact_ratio
    1.2
    """

    ratio: Ratios = None
    contact_ratio: Overlap = WANTED_CONTACT_RATIO
    stock: tuple[float, float] | None = None
    coprime: bool = False
    same_gears: bool = False
    rod: Rod | None = None
    fixing: FixingName | None = None
    coupling: CouplingName | None = None
    bearing: Bearing | None = None
    frame: Frame | None = None
    parts: ShaftParts | None = None
    cradle: Cradle = Cradle()  # noqa: RUF009  (frozen)
    overhangs: tuple[float, float] = (0.0, 0.0)
    tolerance: Tolerances = Tolerances()  # noqa: RUF009  (frozen)
    cases: tuple[CaseName, ...] = get_args(CaseName)
    reserve: Reserve = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        _in_order("ratio", self.ratio)
        if self.stock is not None:
            for side in _pair("stock", self.stock):
                number("width or height of the stock", side, unit="mm", above=0.0)
        if (self.frame is None) != (self.parts is None):
            missing = "frame" if self.frame is None else "parts"
            raise GearworkError(
                f"{missing} is missing: room at the shafts takes both the frame and the parts of"
                " the shafts; give both or neither"
            )
        for case in _choices("cases", self.cases):
            if case not in get_args(CaseName):
                raise GearworkError(
                    f"load case {case!r} is not known; there are: {', '.join(get_args(CaseName))}"
                )


Word = Literal["small", "light", "strong", "little wood", "few different gears", "quiet and slow"]
WORDS: Mapping[Word, str] = dict(
    zip(get_args(Word), ("size", "mass", "margin", "sheet", "gears", "speed"), strict=True)
)
"""Each word and the weight it raises, in the order of the weighed quantities."""

WORD_WEIGHT = 4.0
"""Of what a word names: 1 % less of it is worth 4 % of what weighs 1 (our choice)."""


@dataclass(frozen=True)
class Weights:
    """What counts how much when candidates are ranked.

    A candidate's score is the product of its quantities, each to the power of its weight: at
    equal weights 1 % less of one thing is worth 1 % more of another. 0: does not count.

    Attributes
    ----------
    words : tuple of str
        What counts before all else: each is one of the weights below, in their order, which is 4
        then.
    size : float
        Length of the train with its shafts in line.
    mass : float
        Of all gears.
    margin : float
        Allowable over acting torque, of the weakest tooth in the hardest load case; more is
        better.
    sheet : float
        Area of sheet used.
    gears : float
        Number of different gears.
    speed : float
        Of the teeth at the pitch circle, of the fastest pair: what slow gears are quiet by.

    Raises
    ------
    GearworkError
        If a weight is negative or all are 0, or a word is not known.

    Examples
    --------
    Strength counts double, the number of different gears not at all.

    >>> Weights(margin=2.0, gears=0.0).values.tolist()
    [1.0, 1.0, 2.0, 1.0, 0.0, 0.0]

    >>> Weights(("small", "quiet and slow")).values.tolist()
    [4.0, 1.0, 1.0, 1.0, 0.5, 4.0]
    """

    words: tuple[Word, ...] = ()
    size: Weight = 1.0
    mass: Weight = 1.0
    margin: Weight = 1.0
    sheet: Weight = 1.0
    gears: Weight = 0.5
    speed: Weight = 0.0

    def __post_init__(self) -> None:
        check_values(self)
        for word in self.words:
            if word not in WORDS:
                raise GearworkError(f"words: {shown(word)} is not known; {one_of(WORDS)} is needed")
        if not any(self.values):
            raise GearworkError("all weights are 0: nothing ranks the candidates; raise one")

    @property
    def values(self) -> Floats:
        """The six weights in the order of the attributes."""
        named = {WORDS[word] for word in self.words}
        weighed = WORDS.values()
        return np.array([WORD_WEIGHT if name in named else getattr(self, name) for name in weighed])


Band = tuple[float, float]


def in_reach(teeth: Floats, bands: dict[int, Band]) -> Floats:
    """Return the tooth counts with which some train can come into its band of ratios.

    Parameters
    ----------
    teeth : ndarray, shape (n, 2)
        Tooth counts of driving and driven gear.
    bands : dict of int to (float, float)
        Least and greatest ratio for each number of stages.
    """
    ratio = teeth[:, 1] / teeth[:, 0]
    least, greatest = ratio.min(), ratio.max()
    useful = np.zeros(len(ratio), dtype=bool)
    for stages, band in bands.items():
        low, high = widened(band)
        others = stages - 1
        useful |= (ratio * greatest**others >= low) & (ratio * least**others <= high)
    return teeth[useful]


def widened(band: Band) -> Band:
    """Return a band that rounding of a product of ratios does not leave."""
    return band[0] * (1 - 1e-9), band[1] * (1 + 1e-9)


def _choices(name: str, values: Sequence[object]) -> Sequence[object]:
    if not isinstance(values, tuple | list) or not values:
        raise GearworkError(f"{name}: {values!r}; a list of at least one is needed")
    return values


def _in_order(name: str, band: tuple[float, float] | None) -> None:
    if band is not None and band[0] > band[1]:
        raise GearworkError(f"{name} is {list(band)}: the first must be no larger than the second")


def _pair(name: str, values: Sequence[object]) -> Sequence[object]:
    if not isinstance(values, tuple | list) or len(values) != 2:
        raise GearworkError(f"{name} is {values!r}: two numbers are needed")
    return values
