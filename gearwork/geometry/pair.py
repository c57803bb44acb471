"""GearPair: two external spur gears, or a gear and a rack, at a centre distance (ISO 21771-1).

As with gears, the formulas stand once in `PairShape`, for numbers and for arrays alike.
Distances along the line of action are measured from the pinion's base tangent point, so that
each is the radius of curvature of the pinion's flank at that contact.
"""

from dataclasses import dataclass, replace
from typing import Any, Generic, Literal, get_args

import numpy as np

from gearwork.errors import GearworkError, need, number
from gearwork.geometry.gear import Gear, GearShape, T, plain
from gearwork.geometry.involute import inverse_involute, involute
from gearwork.geometry.rack import Rack

Side = Literal["pinion", "wheel"]
SIDES: tuple[Side, ...] = get_args(Side)

NOTHING = 1e-7
"""Tips are not shortened by less, modules: it is rounding."""


def working_involute(pinion: GearShape[T], wheel: GearShape[T], thickness: T) -> T:
    """Return inv α_w of a mesh whose teeth, `thickness` together, leave no backlash."""
    teeth = pinion.circle_teeth + wheel.circle_teeth
    free = np.pi - thickness / pinion.module
    return plain(involute(np.radians(pinion.pressure_angle)) - free / teeth)


def base_distance(pinion: GearShape[T], wheel: GearShape[T]) -> T:
    """Return the centre distance at which the base circles touch, the least there is, mm."""
    bases = (pinion.base_diameter + wheel.base_diameter) / 2
    return plain(bases - pinion.datum_radius - wheel.datum_radius)


def distance_at(pinion: GearShape[T], wheel: GearShape[T], inv_working: T) -> T:
    """Return the centre distance at which the working pressure angle has this involute, mm."""
    bases = (pinion.base_diameter + wheel.base_diameter) / 2
    axes = bases / np.cos(inverse_involute(inv_working))
    return plain(axes - pinion.datum_radius - wheel.datum_radius)


def full_thickness(pinion: GearShape[T], wheel: GearShape[T]) -> T:
    """Return the sum of both tooth thicknesses before thinning, mm."""
    return pinion.tooth_thickness + wheel.tooth_thickness + pinion.thinning + wheel.thinning


@dataclass(frozen=True)
class PairShape(Generic[T]):
    """The formulas of a pair, for numbers or for arrays of equal shape.

    A centre distance counts from a gear's axis and from a rack's reference line.
    """

    pinion: GearShape[T]
    wheel: GearShape[T]
    centre_distance: T

    @classmethod
    def assembled(
        cls, pinion: GearShape[T], wheel: GearShape[T], centre_distance: T
    ) -> "PairShape[T]":
        """Return the pair with both tips shortened where the mate's root needs the clearance."""
        return cls(
            _shortened(pinion, wheel, centre_distance),
            _shortened(wheel, pinion, centre_distance),
            centre_distance,
        )

    @property
    def gear_ratio(self) -> T:
        """u = z_wheel / z_pinion; turns of the pinion over all teeth of a rack."""
        return self.wheel.teeth / self.pinion.teeth

    @property
    def axis_distance(self) -> T:
        """Distance of the axes, mm; a rack's is as good as endlessly far."""
        return self.centre_distance + self.pinion.datum_radius + self.wheel.datum_radius

    @property
    def _alpha_w(self) -> T:
        bases = (self.pinion.base_diameter + self.wheel.base_diameter) / 2
        with np.errstate(invalid="ignore"):
            return np.arccos(bases / self.axis_distance)

    @property
    def working_pressure_angle(self) -> T:
        """α_w with cos α_w = (d_b1 + d_b2) / 2 a_w, degrees."""
        return plain(np.degrees(self._alpha_w))

    @property
    def working_pitch_diameters(self) -> tuple[T, T]:
        """d_w of pinion and wheel, mm."""
        first, second = self.pinion.circle_teeth, self.wheel.circle_teeth
        share = 2 * self.axis_distance / (first + second)
        return share * first, share * second

    @property
    def travel_per_turn(self) -> T:
        """π d_w1, mm: how far the pitch circles roll in a turn of the pinion; travel of a rack."""
        return plain(np.pi * self.working_pitch_diameters[0])

    @property
    def backlash(self) -> T:
        """j_wt: play along the working pitch circle, mm; negative where teeth overlap."""
        teeth = self.pinion.circle_teeth + self.wheel.circle_teeth
        thickness = self.pinion.tooth_thickness + self.wheel.tooth_thickness
        free = np.pi - thickness / self.pinion.module
        opened = involute(self._alpha_w) - involute(np.radians(self.pinion.pressure_angle))
        return plain(2 * self.axis_distance * (free / teeth + opened))

    @property
    def normal_backlash(self) -> T:
        """j_bn = j_wt cos α_w: what a feeler gauge between the flanks measures, mm."""
        return plain(self.backlash * np.cos(self._alpha_w))

    @property
    def line_of_action(self) -> T:
        """Distance of the two base tangent points, a_w sin α_w, mm."""
        return plain(self.axis_distance * np.sin(self._alpha_w))

    @property
    def tip_curvatures(self) -> tuple[T, T]:
        """Radius of curvature of each gear's flank at its tip, mm."""
        return self.pinion.tip_curvature, self.wheel.tip_curvature

    @property
    def contact_limits(self) -> tuple[T, T]:
        """Where contact really starts and ends along the line of action, mm.

        Tips end it, and so do the base tangent points: beyond them there is no flank to meet.
        """
        pinion_tip, wheel_tip = self.tip_curvatures
        line = self.line_of_action
        return plain(np.maximum(line - wheel_tip, 0.0)), plain(np.minimum(pinion_tip, line))

    @property
    def path_of_contact(self) -> T:
        """g_α, real length of the path of contact, mm; 0 where the gears do not reach."""
        start, end = self.contact_limits
        return plain(np.maximum(end - start, 0.0))

    @property
    def contact_ratio(self) -> T:
        """ε_α from the real limits of contact."""
        return self.path_of_contact / self.pinion.base_pitch

    @property
    def formula_contact_ratio(self) -> T:
        """ε_α by the usual formula, which counts contact beyond the base tangent points too.

        Equal to `contact_ratio` unless the pair interferes; then it means nothing.
        """
        pinion_tip, wheel_tip = self.tip_curvatures
        return (pinion_tip + wheel_tip - self.line_of_action) / self.pinion.base_pitch

    @property
    def interference_reserve(self) -> tuple[T, T]:
        """Radius of curvature left where the mate's tip meets pinion and wheel flank, mm.

        Negative where the mate's tip runs below the base tangent point: interference.
        """
        pinion_tip, wheel_tip = self.tip_curvatures
        return self.line_of_action - wheel_tip, self.line_of_action - pinion_tip

    @property
    def interferes(self) -> Any:
        """Whether either gear's tip meets the mate's flank below its base tangent point."""
        on_pinion, on_wheel = self.interference_reserve
        return plain(np.minimum(on_pinion, on_wheel) < 0.0)

    @property
    def active_diameters(self) -> tuple[T, T]:
        """d_Nf of pinion and wheel: where the active profile starts, mm."""
        start, end = self.contact_limits
        return (
            _diameter_at(self.pinion, start),
            _diameter_at(self.wheel, self.line_of_action - end),
        )

    @property
    def single_contact_diameters(self) -> tuple[T, T]:
        """Highest diameter of pinion and wheel at which one tooth carries alone, mm."""
        start, end = self.contact_limits
        pitch = self.pinion.base_pitch
        highest = np.minimum(start + pitch, end)
        lowest = np.maximum(end - pitch, start)
        return (
            _diameter_at(self.pinion, highest),
            _diameter_at(self.wheel, self.line_of_action - lowest),
        )

    @property
    def tip_clearances(self) -> tuple[T, T]:
        """c between the tip of pinion and wheel and the mate's root as designed, mm."""
        return (
            self.axis_distance - self.pinion.tip_diameter / 2 - self.wheel.root_diameter / 2,
            self.axis_distance - self.wheel.tip_diameter / 2 - self.pinion.root_diameter / 2,
        )

    @property
    def specific_sliding(self) -> tuple[T, T]:
        """ζ at the start of the active profile of pinion and wheel; −∞ at a base circle.

        ζ = 1 − ρ_mate ω_mate / (ρ ω), ISO 21771-1.
        """
        start, end = self.contact_limits
        line = self.line_of_action
        ratio = self.wheel.circle_teeth / self.pinion.circle_teeth
        with np.errstate(divide="ignore"):
            return (
                plain(1 - np.divide(line - start, start) / ratio),
                plain(1 - np.divide(end, line - end) * ratio),
            )

    def distance_for_backlash(self, backlash: T) -> T:
        """Return the centre distance that gives the circumferential backlash j_wt, mm.

        Backlash counts on the working pitch circle of the new distance. Where teeth are too thin
        for so little of it the least distance there is, at which the base circles touch.
        """
        thickness = self.pinion.tooth_thickness + self.wheel.tooth_thickness
        closest = working_involute(self.pinion, self.wheel, thickness)
        distance = distance_at(self.pinion, self.wheel, np.maximum(closest, 1e-9))
        least = base_distance(self.pinion, self.wheel)
        for _ in range(60):
            pair = PairShape(self.pinion, self.wheel, distance)
            # From j_wt = 2 a (const + inv α_w) and a = const / cos α_w.
            slope = pair.backlash / pair.axis_distance + 2 * np.tan(pair._alpha_w)
            step = (backlash - pair.backlash) / slope
            further = np.maximum(distance + step, least)
            moved = np.abs(further - distance)
            distance = further
            if not (moved > 1e-13 * distance).any():
                break
        return plain(distance)


def _shortened(gear: GearShape[T], mate: GearShape[T], distance: T) -> GearShape[T]:
    axes = distance + gear.datum_radius + mate.datum_radius
    room = axes - mate.root_diameter / 2 - mate.clearance * gear.module
    excess = (gear.tip_diameter / 2 - room) / gear.module
    shortened = np.where(excess > NOTHING, gear.tip_alteration - excess, gear.tip_alteration)
    return replace(gear, tip_alteration=plain(shortened[()]))


def _diameter_at(gear: GearShape[T], curvature: T) -> T:
    return plain(np.sqrt(gear.base_diameter**2 + 4 * curvature**2))


@dataclass(frozen=True, init=False)
class GearPair(PairShape[float]):
    """Two external spur gears in mesh, or a gear and a rack.

    Parameters
    ----------
    pinion : Gear
        As designed, like the wheel; the attributes of the same name are the gears as they will be
        cut, their tips shortened where the mate's root clearance needs it.
    wheel : Gear or Rack
        The mate.
    centre_distance : float, optional
        a_w, mm; to the reference line of a rack. Default: no backlash beyond what the thinning
        gives.

    Raises
    ------
    GearworkError
        If modules or pressure angles differ, the pinion is a rack, or the centre distance is too
        small to assemble or so large that the teeth do not meet.

    Examples
    --------
    >>> from gearwork import Gear
    >>> pair = GearPair(Gear(module=3, teeth=12, profile_shift=0.6),
    ...                 Gear(module=3, teeth=24, profile_shift=0.36))
    >>> round(pair.centre_distance, 4), round(pair.working_pressure_angle, 4)
    (56.4999, 26.0886)

    The same pinion stands with its shift above the reference line of a rack.

    >>> from gearwork import Rack
    >>> pair = GearPair(Gear(module=3, teeth=12, profile_shift=0.6), Rack(module=3, teeth=20))
    >>> round(pair.centre_distance, 4), round(pair.travel_per_turn, 3)  # (12/2 + 0.6) 3; π 3 12
    (19.8, 113.097)
    """

    pinion: Gear
    wheel: Gear
    centre_distance: float

    def __init__(self, pinion: Gear, wheel: Gear, centre_distance: float | None = None) -> None:
        for one in (pinion, wheel):
            need("GearPair", one, Gear, "two gears", "gw.Gear(module=5, teeth=20)")
        if isinstance(pinion, Rack):
            raise GearworkError(
                f"pinion is {pinion!r}: a rack is the mate of a pinion; give the gear first"
            )
        for name, unit in (("module", " mm"), ("pressure_angle", "°")):
            one, other = getattr(pinion, name), getattr(wheel, name)
            if one != other:
                raise GearworkError(
                    f"{name.replace('_', ' ')} is {one:g}{unit} on the pinion and {other:g}{unit}"
                    " on the wheel: gears that mesh share one; give both the same"
                )
        if centre_distance is None:
            closest = working_involute(pinion, wheel, full_thickness(pinion, wheel))
            if closest < 0:
                raise GearworkError(
                    f"profile shifts {pinion.profile_shift:g} and {wheel.profile_shift:g}:"
                    " the teeth are too thin to meet without backlash at any centre distance;"
                    " take larger shifts or give the centre distance"
                )
            distance = distance_at(pinion, wheel, closest)
            if isinstance(wheel, Rack):
                distance = round(distance, 6)  # what a rack's great circle loses of the digits
        else:
            distance = number("centre distance", centre_distance, unit="mm", above=0.0)
            _refuse_overlap(pinion, wheel, distance)
        pair = PairShape.assembled(pinion, wheel, distance)
        _refuse_apart(pair)
        for name in ("pinion", "wheel", "centre_distance"):
            object.__setattr__(self, name, getattr(pair, name))

    @property
    def as_given(self) -> tuple[Gear, Gear, float | None]:
        """Pinion, wheel and distance that make it, without what it works out by itself."""
        pinion, wheel = (replace(gear, tip_alteration=0.0) for gear in (self.pinion, self.wheel))
        try:
            moved = self.centre_distance != GearPair(pinion, wheel).centre_distance
        except GearworkError:  # teeth so thin that there is no distance but a given one
            moved = True
        distance = self.centre_distance if moved else None
        plain = GearPair(pinion, wheel, distance)
        if self.pinion.tip_alteration != plain.pinion.tip_alteration:
            pinion = self.pinion
        if self.wheel.tip_alteration != plain.wheel.tip_alteration:
            wheel = self.wheel
        return pinion, wheel, distance

    def called(self, side: Side) -> str:
        """Return what a gear of the pair is called: a rack is no wheel."""
        return "rack" if side == "wheel" and isinstance(self.wheel, Rack) else side

    def __repr__(self) -> str:
        return f"GearPair({self.pinion!r}, {self.wheel!r}, {self.centre_distance:.4f})"


def _refuse_overlap(pinion: Gear, wheel: Gear, distance: float) -> None:
    thickness = pinion.tooth_thickness + wheel.tooth_thickness
    closest = max(working_involute(pinion, wheel, thickness), 0.0)
    least = distance_at(pinion, wheel, closest)
    if distance < least - 1e-6:
        raise GearworkError(
            f"centre distance is {distance:.4f} mm: the teeth would overlap, it must be at least"
            f" {least:.4f} mm; move the shafts apart, thin the teeth or lower the profile shifts"
        )


def _refuse_apart(pair: PairShape[float]) -> None:
    tips = (pair.pinion.tip_diameter + pair.wheel.tip_diameter) / 2
    between = pair.axis_distance - tips
    if between > 1e-6:
        raise GearworkError(
            f"centre distance is {pair.centre_distance:.4f} mm: the teeth do not meet,"
            f" {between:.2f} mm lie between their tips; it must be below"
            f" {pair.centre_distance - between:.2f} mm"
        )
