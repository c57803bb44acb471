"""Rack: a straight bar with teeth, the segment of a gear of endless diameter (ISO 1122-1).

Every formula of a gear holds for a rack in the limit of endlessly many teeth. A circle of so many
teeth that a tooth of it strays from the limit by less than a millionth of a millimetre stands for
the straight line; what numbers of sixteen digits lose on such a circle is smaller still. So pairs,
cut teeth and checks know one formula for both.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import pairwise
from typing import Any

from gearwork.errors import GearworkError, number
from gearwork.geometry.gear import Gear, GearShape, T

ENDLESS = 1e8
"""Teeth of the circle that stands for the line. Where a curve leaves it by y, two or three modules
from the pitch point, that is y² / (m z): below 2e-7 m; digits lost on its radius take 1e-8 m."""

USUAL_HEIGHT = 5.0
"""From the reference line to the back, modules: the bar below the teeth is then one and a half
times as deep as they are; from 1.2 times on it does not weaken the root (Y_B of ISO 6336-3:2006,
from memory)."""


HOLES_APART = 120.0
"""Of the screws that hold a bar on its bed, at most, mm (common practice)."""

BUTT_GAP = 0.5
"""Left open where two pieces of a bar butt, mm (assumption): pins in the spaces set the pitch there
and screws hold it, not two ends, which come out as much too long or too short as any edge."""

MIN_STRETCH = 5
"""Teeth from butt to butt: room for two screws, each two pitches from a butt."""


class _Straight:
    """What a rack puts in the place of a gear's circle."""

    module: Any

    @property
    def circle_teeth(self) -> Any:
        """Teeth of the circle that stands for the straight line."""
        return ENDLESS + 0.0 * self.module

    @property
    def datum_radius(self) -> Any:
        """Radius of that circle at the reference line, from which a distance counts, mm."""
        return self.module * ENDLESS / 2

    @property
    def shape(self) -> "RackShape[Any]":
        """The same rack as plain formulas, free of the bounds of `Rack`."""
        return RackShape(*(getattr(self, f.name) for f in fields(GearShape)))

    def above(self, diameter: Any) -> Any:
        """Return how far a circle of the gear that stands for it lies above the line, mm."""
        return diameter / 2 - self.datum_radius

    noun = "rack"

    def at_circle(self, diameter: Any) -> str:
        """Return in words where a line of the rack lies."""
        height = float(self.above(diameter))
        return f"{abs(height):.2f} mm {'above' if height >= 0 else 'below'} the reference line"


@dataclass(frozen=True)
class RackShape(_Straight, GearShape[T]):
    """The formulas of a rack, for numbers or for arrays of equal shape."""


@dataclass(frozen=True, repr=False)
class Rack(_Straight, Gear):
    """A rack as designed: the basic rack of ISO 53 cut in a bar.

    Its diameters are those of the circle that stands for the straight line; what a maker needs is
    `pitch`, `length`, `tip_height`, `root_depth` and `back_depth`, from the reference line.

    Parameters
    ----------
    module : float
        m, mm.
    teeth : int
        Whole teeth on the bar, half a space at either end.
    pressure_angle : float
        α, degrees, 14.5 to 30.
    addendum, clearance : float
        h_a* and c*, coefficients of m (ISO 53: 1 and 0.25).
    thinning : float
        Backlash allowance: the tooth is this much thinner on the reference line, mm.
    tip_alteration : float
        k, coefficient of m; negative shortens the tip.
    height : float, optional
        From the reference line to the back of the bar, mm; default five modules.

    Raises
    ------
    GearworkError
        If a value is out of its range, no tooth is left, or the back lies within the teeth.

    Examples
    --------
    >>> rack = Rack(module=5, teeth=40)
    >>> round(rack.pitch, 3), round(rack.length, 2)  # π m, 40 of them
    (15.708, 628.32)
    >>> rack.tip_height, rack.root_depth  # ISO 53: m and 1.25 m
    (5.0, 6.25)
    """

    profile_shift: float = field(default=0.0, init=False)
    height: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        back = number("height of the rack", self.back_depth, unit="mm", above=0.0)
        if back <= self.root_depth:
            raise GearworkError(
                f"height of the rack is {back:g} mm: its teeth go {self.root_depth:g} mm below the"
                " reference line, and the bar must be higher than that"
            )

    def span(self, teeth_spanned: float | None = None) -> float:
        """Refuse: a span is of a gear, whose outer flanks lie parallel to each other."""
        raise GearworkError("a rack has no span: measure over a pin in a space, from its back")

    def over_pins(self, pin_diameter: float) -> float:
        """Refuse: pins are measured over the back of a rack, in one space."""
        raise GearworkError("a rack has no opposite spaces: measure over one pin, from its back")

    @property
    def pitch(self) -> float:
        """P = π m, mm: from tooth to tooth."""
        return math.pi * self.module

    @property
    def length(self) -> float:
        """Of the bar, mm: a pitch for each tooth."""
        return self.teeth * self.pitch

    @property
    def tip_height(self) -> float:
        """h_a, mm: of the tips above the reference line."""
        return self.module * (self.addendum + self.tip_alteration)

    @property
    def root_depth(self) -> float:
        """h_f, mm: of the root below the reference line, as designed."""
        return self.module * (self.addendum + self.clearance)

    @property
    def hole_depth(self) -> float:
        """Of the row of screw holes below the reference line, mm: amid the bar below the teeth."""
        return (self.root_depth + self.back_depth) / 2

    @property
    def hole_places(self) -> tuple[float, ...]:
        """Where screw holes lie along the bar from tooth 0, mm: evenly, each below a space."""
        first, last = 1.5, self.teeth - 2.5
        count = max(math.ceil((last - first) * self.pitch / HOLES_APART), 1)
        spaces = (math.floor(first + (last - first) * i / count) + 0.5 for i in range(count + 1))
        return tuple(space * self.pitch for space in spaces)

    @property
    def back_depth(self) -> float:
        """Of the back below the reference line, mm: the height of the rack."""
        return USUAL_HEIGHT * self.module if self.height is None else self.height


@dataclass(frozen=True)
class BarPiece:
    """A piece of a bar from end to end.

    `first`: its first tooth in the bar; `rack`: of its teeth alone; `holes`: of screws, from its
    first tooth, mm; `short`: by how much it ends before the middle of the outermost spaces, mm.
    """

    first: int
    rack: Rack
    holes: tuple[float, ...]
    short: float = 0.0

    @property
    def length(self) -> float:
        """From end to end, mm."""
        return self.rack.length - 2.0 * self.short


@dataclass(frozen=True)
class Bar:
    """A rack as it is cut: each of its layers whole, or in pieces.

    Two pieces butt in the middle of a space, where no tooth is cut and the pitch runs on. Where a
    layer and the next are both in pieces they are staggered. `butts`: of each layer, before which
    teeth.
    """

    rack: Rack
    butts: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, rack: Rack, longest: Sequence[int]) -> "Bar":
        """Return the bar in the fewest pieces of so many teeth at most, given for each layer."""
        teeth = int(rack.teeth)
        if min(longest) >= teeth:
            return cls(rack, ((),) * len(longest))
        count = max(math.ceil(teeth / most) if most >= MIN_STRETCH else teeth for most in longest)
        butts: list[tuple[int, ...]] = []
        for most in longest:
            # Layer on layer, pieces are set half their length on.
            shift = 0.5 if butts and butts[-1] and butts[-1][0] == round(teeth / count) else 0.0
            places = (round(teeth * (i - shift) / count) for i in range(1, count + (shift > 0)))
            butts.append(() if most >= teeth else tuple(places))
        made = cls(rack, tuple(butts))
        if min(number for _, number in made.stretches) < MIN_STRETCH:
            raise GearworkError(
                f"rack has {teeth} teeth and a sheet room for {min(longest)} of them in one piece:"
                f" pieces need {MIN_STRETCH} teeth from joint to joint, for two screws each; take"
                " a larger sheet or a smaller module"
            )
        return made

    @property
    def jointed(self) -> bool:
        """Whether it is cut in pieces."""
        return any(self.butts)

    @property
    def stretches(self) -> tuple[tuple[int, int], ...]:
        """First tooth and number of teeth from each butt of any layer to the next."""
        ends = sorted({0, int(self.rack.teeth), *(b for layer in self.butts for b in layer)})
        return tuple((first, following - first) for first, following in pairwise(ends))

    @property
    def holes(self) -> tuple[float, ...]:
        """Where screw holes lie along the bar from tooth 0, mm: clear of all layers' butts."""
        return tuple(
            first * self.rack.pitch + hole
            for first, teeth in self.stretches
            for hole in replace(self.rack, teeth=teeth).hole_places
        )

    def pieces(self, layer: int) -> tuple[BarPiece, ...]:
        """Return the pieces of a layer from the first tooth on."""
        butts, pitch = self.butts[layer], self.rack.pitch
        found = []
        for first, following in pairwise((0, *butts, int(self.rack.teeth))):
            low, high = (first - 0.5) * pitch, (following - 0.5) * pitch
            holes = tuple(round(x - first * pitch, 6) for x in self.holes if low < x < high)
            own = replace(self.rack, teeth=following - first)
            found.append(BarPiece(first, own, holes, BUTT_GAP / 2 if butts else 0.0))
        return tuple(found)
