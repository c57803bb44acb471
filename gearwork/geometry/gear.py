"""Gear: the nominal geometry of one external spur gear (ISO 21771-1, symbols of ISO 701).

The formulas stand in `GearShape` once, for numbers and for arrays of equal shape alike:
`Gear` is one validated gear, `GearShape` of arrays is what a search works with.
"""

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any, Generic, TypeVar

import numpy as np

from gearwork.errors import Bound, GearworkError, whole_number
from gearwork.geometry.involute import inverse_involute, involute
from gearwork.numbers import Floats

T = TypeVar("T", float, Floats)

MIN_TEETH = 5
MAX_TEETH = 1000

MODULE = Bound("mm", above=0.0, at_most=100.0)
TEETH = Bound(at_least=MIN_TEETH, at_most=MAX_TEETH)
BOUNDS = {
    "profile_shift": Bound(at_least=-2.0, at_most=2.0),
    "pressure_angle": Bound("degrees", at_least=14.5, at_most=30.0),
    "addendum": Bound(at_least=0.3, at_most=2.0),
    "clearance": Bound(at_least=0.0, at_most=1.0),
    "thinning": Bound("mm", at_least=0.0),
    "tip_alteration": Bound(at_least=-1.5, at_most=0.5),
}
"""What shapes a gear beside its module and teeth."""


def plain(value: Any) -> Any:
    """Return a single number of numpy as the Python number it stands for, an array as it is."""
    return value.item() if getattr(value, "ndim", 1) == 0 else value


def either(condition: Any, yes: Any, no: Any) -> Any:
    """Return `np.where`, of a single gear the one or the other: a twentieth of the time."""
    if isinstance(condition, np.ndarray):
        return np.where(condition, yes, no)
    return yes if condition else no


@dataclass(frozen=True)
class GearShape(Generic[T]):
    """The formulas of a gear, for numbers or for arrays of equal shape."""

    module: T
    teeth: T
    profile_shift: T
    pressure_angle: T
    addendum: T
    clearance: T
    thinning: T
    tip_alteration: T

    @property
    def _alpha(self) -> T:
        return np.radians(self.pressure_angle)

    @property
    def circle_teeth(self) -> T:
        """Teeth that a whole circle of this curvature holds: z, of a rack beyond all count."""
        return self.teeth

    @property
    def datum_radius(self) -> Any:
        """Radius of the circle from which a centre distance counts, mm: 0, the gear's axis."""
        return 0.0

    noun = "gear"

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return f"{self.noun} of {self.teeth:g} teeth, module {self.module:g} mm"

    def at_circle(self, diameter: Any) -> str:
        """Return in words where a circle of the gear lies."""
        return f"{diameter:.2f} mm diameter"

    @cached_property
    def reference_diameter(self) -> T:
        """d = m z, mm."""
        return self.module * self.circle_teeth

    @cached_property
    def base_diameter(self) -> T:
        """d_b = d cos α, mm."""
        return plain(self.reference_diameter * np.cos(self._alpha))

    @property
    def base_pitch(self) -> T:
        """p_b = π m cos α, mm: the distance of neighbouring flanks along the line of action."""
        return plain(np.pi * self.module * np.cos(self._alpha))

    @cached_property
    def tip_diameter(self) -> T:
        """d_a = d + 2 m (x + h_a* + k), mm."""
        height = self.profile_shift + self.addendum + self.tip_alteration
        return self.reference_diameter + 2 * self.module * height

    @cached_property
    def root_diameter(self) -> T:
        """d_f = d + 2 m (x − h_a* − c*), mm: as designed; a bit may leave it shallower."""
        depth = self.profile_shift - self.addendum - self.clearance
        return self.reference_diameter + 2 * self.module * depth

    @property
    def tooth_depth(self) -> T:
        """h = (d_a − d_f) / 2, mm."""
        return (self.tip_diameter - self.root_diameter) / 2

    @property
    def tooth_thickness(self) -> T:
        """s = m (π/2 + 2 x tan α) − thinning, mm of arc on the reference circle."""
        shifted = np.pi / 2 + 2 * self.profile_shift * np.tan(self._alpha)
        return plain(self.module * shifted - self.thinning)

    @cached_property
    def half_angle_at_base(self) -> T:
        """Half the tooth thickness angle on the base circle, ψ_b = s/d + inv α, radians."""
        return plain(self.tooth_thickness / self.reference_diameter + involute(self._alpha))

    def pressure_angle_at(self, diameter: T) -> T:
        """Return α_y with cos α_y = d_b / d_y, degrees; not a number below the base circle."""
        with np.errstate(invalid="ignore"):
            return plain(np.degrees(np.arccos(self.base_diameter / diameter)))

    def thickness_at(self, diameter: T) -> T:
        """Return the tooth thickness as an arc on the circle of that diameter d_y, mm.

        Below the base circle there is no involute and the result is not a number.
        """
        angle = involute(np.radians(self.pressure_angle_at(diameter)))
        return plain(diameter * (self.half_angle_at_base - angle))

    @property
    def tip_thickness(self) -> T:
        """s_a, mm of arc on the tip circle; negative where the flanks cross below it."""
        return self.thickness_at(self.tip_diameter)

    @cached_property
    def tip_curvature(self) -> T:
        """Radius of curvature of the flank at the tip, mm: length of the base tangent there."""
        with np.errstate(invalid="ignore"):
            return plain(np.sqrt(self.tip_diameter**2 - self.base_diameter**2) / 2)

    @property
    def pointed_diameter(self) -> T:
        """Diameter at which the flanks meet in a point, mm."""
        return plain(self.base_diameter / np.cos(inverse_involute(self.half_angle_at_base)))

    @property
    def min_shift(self) -> T:
        """Profile shift below which a rack undercuts the tooth, x = h_a* − z sin² α / 2."""
        return plain(self.addendum - self.circle_teeth * np.sin(self._alpha) ** 2 / 2)

    @property
    def undercut(self) -> Any:
        """Whether a rack or hob would undercut the generated tooth; a bit need not."""
        return self.profile_shift < self.min_shift

    @property
    def default_teeth_spanned(self) -> T:
        """k at which the calipers touch at about mid-height, rounded half up."""
        at_middle = self.teeth / (self.teeth + 2 * self.profile_shift) * np.cos(self._alpha)
        touch = np.arccos(np.clip(at_middle, 0.0, 1.0))
        angle = np.tan(touch) - involute(self._alpha)
        shift = 2 * self.profile_shift / self.teeth * np.tan(self._alpha)
        count = self.teeth / np.pi * (angle - shift) + 0.5
        return plain(np.maximum(np.floor(count + 0.5 + 1e-9), 1.0))

    def span(self, teeth_spanned: T | None = None) -> T:
        """Return the span measurement W_k over k teeth, mm; k by default `default_teeth_spanned`.

        W_k = m cos α [(k − ½) π + z inv α + 2 x tan α] − thinning cos α.
        """
        k = self.default_teeth_spanned if teeth_spanned is None else teeth_spanned
        gaps = (k - 1) * self.base_pitch
        return plain(gaps + self.base_diameter * self.half_angle_at_base)

    def over_pins(self, pin_diameter: T) -> T:
        """Return the dimension over two pins of D_M mm in opposite spaces, M_dR, mm.

        inv α_M = ψ_b + D_M/d_b − π/z; M_dR = d_b/cos α_M + D_M, the first term times cos(90°/z)
        for odd z. Not a number for pins too thin to rest on both flanks.
        """
        half_space = np.pi / self.teeth - self.half_angle_at_base
        alpha = inverse_involute(pin_diameter / self.base_diameter - half_space)
        odd = np.cos(np.pi / 2 / self.teeth * (self.teeth % 2))
        return plain(self.base_diameter / np.cos(alpha) * odd + pin_diameter)

    @property
    def shape(self) -> "GearShape[T]":
        """The same gear as plain formulas, free of the bounds of `Gear`."""
        return GearShape(*(getattr(self, field.name) for field in fields(GearShape)))

    def offset(self, distance: Any) -> "GearShape[T]":
        """Return the gear whose every edge lies `distance` mm outside its line.

        The parallel of an involute is the same involute turned, so that both flanks thicken the
        tooth by 2 distance / cos α on the reference circle; tip and root move outward.
        """
        moved = distance / self.module
        return replace(
            self.shape,
            thinning=self.thinning - 2 * distance / np.cos(self._alpha),
            tip_alteration=self.tip_alteration + moved,
            clearance=self.clearance - moved,
        )


@dataclass(frozen=True)
class Gear(GearShape[float]):
    """An external spur gear as designed.

    Parameters
    ----------
    module : float
        m, mm.
    teeth : int
        z.
    profile_shift : float
        x, coefficient of m.
    pressure_angle : float
        α, degrees, 14.5 to 30.
    addendum, clearance : float
        h_a* and c*, coefficients of m (ISO 53: 1 and 0.25).
    thinning : float
        Backlash allowance: the tooth is this much thinner, mm of arc on the reference circle.
    tip_alteration : float
        k, coefficient of m; negative shortens the tip (ISO 21771-1).

    Raises
    ------
    GearworkError
        If a value is out of its range, or the tooth would come to a point below its tip.

    Examples
    --------
    >>> gear = Gear(module=5, teeth=14, profile_shift=0.25)
    >>> gear.reference_diameter, gear.tip_diameter, gear.root_diameter
    (70.0, 82.5, 60.0)
    """

    module: float
    teeth: float
    profile_shift: float = 0.0
    pressure_angle: float = 20.0
    addendum: float = 1.0
    clearance: float = 0.25
    thinning: float = 0.0
    tip_alteration: float = 0.0

    def __post_init__(self) -> None:
        checked = {
            "module": MODULE.number("module", self.module),
            "teeth": whole_number("teeth", self.teeth, at_least=MIN_TEETH, at_most=MAX_TEETH),
        }
        for name, bound in BOUNDS.items():
            checked[name] = bound.number(name.replace("_", " "), getattr(self, name))
        for name, value in checked.items():
            object.__setattr__(self, name, value)
        self._refuse_impossible()

    def _refuse_impossible(self) -> None:
        if self.tooth_thickness <= 0:
            raise GearworkError(
                f"thinning is {self.thinning:g} mm: no tooth is left, it must be below"
                f" {self.tooth_thickness + self.thinning:.3f} mm"
            )
        if self.root_diameter <= 0 or self.tip_diameter <= self.base_diameter:
            raise GearworkError(
                f"profile shift is {self.profile_shift:g} on {self.teeth} teeth: the tooth lies"
                " inside its base circle or beyond the centre; take a larger shift or more teeth"
            )
        if self.tip_diameter <= self.root_diameter:
            least = self.tip_alteration - self.tooth_depth / self.module
            raise GearworkError(
                f"tip alteration is {self.tip_alteration:g}: no tooth is left above the root"
                f" circle of {self.root_diameter:.3f} mm, it must be above {least:.3f}"
            )
        if self.tip_thickness <= 0.0:
            # of every mm off the tooth as much goes off its tip as that circle is larger
            unthinned = self.thinning * self.tip_diameter / self.reference_diameter
            if self.tip_thickness + unthinned > 0.0:
                thinner = self.tip_thickness * self.reference_diameter / self.tip_diameter
                raise GearworkError(
                    f"thinning is {self.thinning:g} mm: the flanks already meet in a point at"
                    f" {self.at_circle(self.pointed_diameter)}, and the tip is at"
                    f" {self.at_circle(self.tip_diameter)}; it must be below"
                    f" {self.thinning + thinner:.3f} mm"
                )
            largest = self.addendum + (self.pointed_diameter - self.tip_diameter) / 2 / self.module
            raise GearworkError(
                f"tip is at {self.at_circle(self.tip_diameter)}: the flanks already meet in a"
                f" point at {self.at_circle(self.pointed_diameter)}; take an addendum below"
                f" {largest:.3f}, a smaller profile shift or more teeth"
            )

    def __repr__(self) -> str:
        given = ", ".join(
            f"{f.name}={getattr(self, f.name):g}"
            for f in fields(self)
            if f.name in ("module", "teeth") or getattr(self, f.name) != f.default
        )
        return f"{type(self).__name__}({given})"
