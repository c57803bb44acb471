"""Rack: a straight bar with teeth, the segment of a gear of endless diameter (ISO 1122-1).

Every formula of a gear holds for a rack in the limit of endlessly many teeth. A circle of so many
teeth that a tooth of it strays from the limit by less than a millionth of a millimetre stands for
the straight line; what numbers of sixteen digits lose on such a circle is smaller still. So pairs,
cut teeth and checks know one formula for both.
"""

import math
from dataclasses import dataclass, field, fields
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
