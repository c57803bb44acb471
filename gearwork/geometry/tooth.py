"""One tooth as a round bit leaves it: exact involute flanks and the root this bit can cut.

The root is one arc across the space where the space is narrow, otherwise a fillet at each
flank and the root circle between them. Below the base circle, where there is no involute, the
flank goes on radially; no mate that is free of interference reaches that line. What the root
must leave free is the way of the mate's tip corner through the tooth space.

A circle of radius ρ that touches an involute has its centre on another involute of the same
base circle, turned by ρ/r_b. That makes the fillet a matter of closed formulas, for one gear
and for arrays of gears alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from typing import Any, Generic, Protocol, runtime_checkable

import numpy as np

from gearwork.errors import need
from gearwork.geometry.gear import GearShape, T, either, plain
from gearwork.geometry.involute import inverse_involute
from gearwork.geometry.pair import PairShape
from gearwork.numbers import Bools, Floats, Ints

SAMPLES = 24
STEPS = np.linspace(0.0, 1.0, SAMPLES)


@dataclass(frozen=True)
class TipPath(Generic[T]):
    """Points the mate's tip corner passes, from the bottom of its path to first contact.

    The x axis runs through the middle of the tooth space. The mate is held against the flank on the
    side of positive y, so that the last point lies on that flank.
    """

    x: Floats  # shape (..., n), mm from the gear's centre
    y: Floats
    active_diameter: T  # d_Nf, where the path meets the flank, mm


def tip_path(
    gear: GearShape[T], mate: GearShape[T] | None, centre_distance: T | None
) -> TipPath[T]:
    """Return the path of the mate's tip, or where no mate is given that of a rack's."""
    if mate is None or centre_distance is None:
        return rack_tip_path(gear)
    return mate_tip_path(gear, mate, centre_distance)


def widest_path(paths: Sequence[TipPath[T]]) -> TipPath[T]:
    """Return what the tips of all mates of a gear pass: of an idler there are two."""
    x, y = (np.concatenate([getattr(path, axis) for path in paths], axis=-1) for axis in "xy")
    lowest = reduce(np.minimum, [np.asarray(path.active_diameter) for path in paths])
    return TipPath(x, y, plain(lowest[()]))


def mate_tip_path(gear: GearShape[T], mate: GearShape[T], centre_distance: T) -> TipPath[T]:
    """Return the path of the tip corner of `mate` through the tooth space of `gear`."""
    pair = PairShape(gear, mate, centre_distance)
    active = pair.active_diameters[0]
    tip = spread(mate.tip_diameter / 2)
    distance = spread(pair.axis_distance)
    # The corner stands at this angle about the mate's centre, from the line of centres up to
    # where its circle meets the active flank; the gear rolls with it at the ratio of teeth.
    corner = STEPS * spread(half_lens(mate.tip_diameter / 2, active / 2, pair.axis_distance))
    x, y = distance - tip * np.cos(corner), tip * np.sin(corner)
    half_tip = spread(mate.tip_thickness / mate.tip_diameter)
    play = spread(pair.backlash / pair.working_pitch_diameters[0])
    rolled = spread(mate.circle_teeth / gear.circle_teeth) * (corner - half_tip)
    return _turned(x, y, play - rolled, active)


def rack_tip_path(gear: GearShape[T]) -> TipPath[T]:
    """Return the path of the corner of a rack that runs with the gear.

    A rack reaches deeper into the space than any external mate of the same basic profile.
    """
    alpha = np.radians(gear.pressure_angle)
    pitch = gear.reference_diameter / 2
    middle = pitch + gear.profile_shift * gear.module
    # Its tip ends at the base tangent point, as that of every mate that can run must.
    tip = np.maximum(middle - gear.addendum * gear.module, pitch * np.cos(alpha) ** 2)
    contact = pitch * np.sin(alpha) - (pitch - tip) / np.sin(alpha)
    active = np.sqrt(gear.base_diameter**2 + 4 * np.maximum(contact, 0.0) ** 2)
    half_tip = gear.module * np.pi / 4 - (middle - tip) * np.tan(alpha)
    reach = np.sqrt(np.maximum(active**2 / 4 - tip**2, 0.0))
    y = STEPS * spread(reach)
    x = spread(tip)
    rolled = (y - spread(half_tip)) / spread(pitch)
    play = spread(gear.thinning / gear.reference_diameter)
    return _turned(x, y, play - rolled, plain(active))


def _turned(x: Any, y: Any, angle: Any, active_diameter: Any) -> TipPath[Any]:
    c, s = np.cos(angle), np.sin(angle)
    return TipPath(c * x - s * y, s * x + c * y, active_diameter)


def half_lens(tip: Any, other: Any, distance: Any) -> Any:
    """Angle from the line of centres to where two circles cross, seen from the first, radians."""
    # By half the angle: its cosine is 1 to the last digit where one circle is a rack's line.
    apart = distance - tip
    square = (other - apart) * (other + apart) / (4 * distance * tip)
    return 2 * np.arcsin(np.sqrt(np.clip(square, 0.0, 1.0)))


def spread(value: Any) -> Any:
    """Return an array with a last axis, for several points or radii; a number fits them so."""
    return value[..., None] if isinstance(value, np.ndarray) else value


FILLET_CLEARANCE = 0.4
"""Share of the tip clearance c that a fillet widened beyond the bit's radius leaves free along
the mate's tip path. Our own choice: a tenth of the module for the usual c* of 0.25."""

FINE = 16
RANKS = np.arange(FINE + 1)
"""Fillet radii tried, in sixteenths from the bit's to that of one arc across the space; of many
teeth by halving. A wider fillet leaves wood wherever a narrower one does, and so more of the way
is never free."""


@runtime_checkable
class Cutter(Protocol):
    """Anything that cuts a slot of a known width."""

    @property
    def cut_diameter(self) -> float:
        """Width of the slot it cuts, mm."""


def need_bit(caller: str, bit: object) -> None:
    """Refuse anything but a bit, in the name of who was called."""
    need(caller, bit, Cutter, "a bit", "gw.Bit(diameter=3.0)")


@dataclass(frozen=True)
class CutTooth(Generic[T]):
    """One tooth as cut, or arrays of them."""

    gear: GearShape[T]
    cut_diameter: T  # of the bit, mm
    fillet_diameter: T  # 2 ρ of the root fillet, mm; never below the bit
    root_diameter: T  # d_f as cut, mm; above the gear's own where the bit does not reach the bottom
    centre_angle: T  # of the fillet's centre from the middle of the space, radians
    contact: T  # base tangent to where fillet and involute meet, mm; 0: fillet ends below the base
    active_diameter: T  # d_Nf, where the mate's tip first meets the flank, mm
    fillet_clearance: T  # least from the root to the mate's tip path, mm; negative: cut into

    @property
    def centre_distance(self) -> T:
        """Distance of the fillet's centre from the gear's centre, mm."""
        return (self.root_diameter + self.fillet_diameter) / 2

    @cached_property
    def fillet_end(self) -> T:
        """Distance from the gear's centre at which the fillet leaves the flank, mm."""
        along_radius = np.sqrt(self.centre_distance**2 - self.fillet_diameter**2 / 4)
        along_involute = np.hypot(self.gear.base_diameter / 2, self.contact)
        return plain(either(self.contact > 0, along_involute, along_radius))

    @cached_property
    def form_diameter(self) -> T:
        """d_Ff: where the exact involute ends, mm."""
        return plain(np.maximum(2 * self.fillet_end, self.gear.base_diameter))

    @property
    def runs(self) -> Any:
        """Whether the mate finds all its active flank, below the tip, and clears the root."""
        on_flank = self.form_diameter <= self.active_diameter * (1 + 1e-12)
        on_flank = on_flank & (self.form_diameter < self.gear.tip_diameter)
        return on_flank & (self.fillet_clearance >= 0.0)


def cut_tooth(
    gear: GearShape[T],
    cut_diameter: T,
    mate: GearShape[T] | None = None,
    centre_distance: T | None = None,
) -> CutTooth[T]:
    """Return the tooth a bit leaves, with the widest fillet the mate allows; without one, a rack.

    Also where the bit does not fit: `runs` tells. Gears, diameters and distances may be arrays.
    """
    return tooth_for(gear, cut_diameter, tip_path(gear, mate, centre_distance))


def tooth_for(gear: GearShape[T], cut_diameter: T, path: TipPath[T]) -> CutTooth[T]:
    """Return the tooth a bit leaves, with the widest fillet that a tip path allows.

    The bit's diameter, mm, may be an array, for one gear cut by several bits.
    """
    free = np.pi / gear.circle_teeth - gear.half_angle_at_base
    space = _Space(gear.base_diameter / 2, gear.root_diameter / 2, free)
    smallest = cut_diameter / 2
    largest = space.spanning_radius()
    narrow = largest < smallest  # the bit stands on both flanks before it is at the bottom
    if np.any(narrow):
        shallower = space.spanning_centre(smallest) - smallest
        space = replace(space, root=either(narrow, shallower, space.root))
        largest = np.maximum(largest, smallest)
    wanted = FILLET_CLEARANCE * gear.clearance * gear.module
    radius, clearance = _widest_radius(space, path, wanted, smallest, largest)
    tangent = space.tangent(radius)
    return CutTooth(
        gear=gear,
        cut_diameter=cut_diameter,
        fillet_diameter=plain(2 * radius),
        root_diameter=plain(2 * space.root),
        centre_angle=plain(either(narrow, 0.0, space.centre_angle(radius, tangent))),
        contact=plain(space.contact(radius, tangent)),
        active_diameter=path.active_diameter,
        fillet_clearance=plain(clearance),
    )


@dataclass(frozen=True)
class _Space:
    """Half a tooth space: base and root radius, and the angle to the flank at the base circle."""

    base: Any
    root: Any
    free: Any

    def tangent(self, radius: Any) -> Any:
        """Length of the base tangent from the centre of a circle on the root."""
        return np.sqrt(np.maximum((self.root + radius) ** 2 - self.base**2, 0.0))

    def contact(self, radius: Any, tangent: Any) -> Any:
        """Length of the base tangent where the circle meets the involute, 0 if below it."""
        return np.maximum(tangent - radius, 0.0)

    def flank_to_centre(self, radius: Any, tangent: Any) -> Any:
        """Angle from flank to centre of a circle that stands on the root and touches it."""
        roll, turn = tangent / self.base, radius / self.base
        on_radius = np.arcsin(radius / (self.root + radius))
        return either(roll > turn, turn - roll + np.arctan(roll), on_radius)

    def centre_angle(self, radius: Any, tangent: Any) -> Any:
        """Angle of that centre from the middle of the space."""
        return np.maximum(self.free - self.flank_to_centre(radius, tangent), 0.0)

    def spanning_radius(self) -> Any:
        """Radius of the one arc that touches both flanks and the root circle."""
        radius = np.maximum(self.free * self.root, 0.0)
        # Newton's method: the angle left falls with the radius and is convex, so that at most
        # the first step overshoots.
        for _ in range(25):
            centre = self.root + radius
            tangent = self.tangent(radius)
            along_involute = self.base * centre / (centre - tangent)
            along_radius = centre * np.sqrt(centre**2 - radius**2) / self.root
            slope = either(tangent > radius, along_involute, along_radius)
            step = (self.free - self.flank_to_centre(radius, tangent)) * slope
            radius = np.maximum(radius + step, 0.0)
            if not (np.abs(step) > 1e-6 * self.free * self.root).any():
                break
        return radius

    def spanning_centre(self, radius: Any) -> Any:
        """Distance from the gear's centre at which a circle touches both flanks."""
        alpha = inverse_involute(np.maximum(radius / self.base - self.free, 0.0))
        with np.errstate(divide="ignore"):
            on_radius = np.abs(radius / np.sin(self.free))
        return either(self.base * np.tan(alpha) > radius, self.base / np.cos(alpha), on_radius)


def _widest_radius(
    space: _Space, path: TipPath[Any], wanted: Any, smallest: Any, largest: Any
) -> tuple[Any, ...]:
    """Largest fillet radius with the wanted clearance, or the smallest; and its clearance."""
    space = _Space(spread(space.base), spread(space.root), spread(space.free))
    x, y = path.x[..., None, :], path.y[..., None, :]
    to_root = np.sqrt(x * x + y * y) - spread(space.root)
    reach = spread(path.active_diameter / 2) ** 2 - space.base**2
    smallest, wanted, step = spread(smallest), spread(wanted), spread(largest - smallest) / FINE

    def tried(ranks: Ints) -> tuple[Any, Bools, Floats]:
        """Radii, whether they fit, and the least distance of the path from root and fillet."""
        radius = smallest + step * ranks
        tangent = space.tangent(radius)
        contact, angle = space.contact(radius, tangent), space.centre_angle(radius, tangent)
        lean = np.tan(space.free + contact / space.base - angle)  # of the flank's normal there
        c, s = np.cos(angle)[..., None], np.sin(angle)[..., None]
        beside = y * c - x * s
        over = x * c + y * s - (space.root + radius)[..., None]
        to_fillet = radius[..., None] - np.sqrt(beside * beside + over * over)
        # The fillet counts up to where it leaves the flank: below that normal, which passes
        # through its centre. Where the corner stays above it, the middle of the tip is nearest.
        above = over + lean[..., None] * beside > 0.0
        clearance = np.where(above | (beside < 0), to_root, to_fillet).min(axis=-1)
        # The fillet must end on the flank before the mate's tip comes there: t² = r² − r_b².
        return radius, (contact**2 <= reach) & (clearance >= wanted), clearance

    if np.ndim(step) == 0:  # one tooth alone is sooner asked for all radii at once
        radius, fits, clearance = tried(RANKS)
        fits[0] = True  # the bit's own radius whether it fits or not
        widest = FINE - int(fits[::-1].argmax())
        return radius[widest], clearance[widest]
    best, clearance = np.zeros(np.shape(step), dtype=int), np.full(np.shape(step), np.nan)
    beyond = np.full_like(best, FINE + 1)
    for _ in range((FINE + 1).bit_length()):
        rank = (best + beyond) // 2  # at last the best once more: the bit's own if none other fits
        _, fits, found = tried(rank)
        fits |= rank == 0
        best, beyond = np.where(fits, rank, best), np.where(fits, beyond, rank)
        clearance = np.where(fits, found, clearance)
    return (smallest + step * best)[..., 0], clearance[..., 0]


@dataclass(frozen=True)
class Fillet:
    """Points (..., n) of one fillet from flank to root; tooth centred on the x axis, y positive."""

    x: Floats  # mm from the gear's centre
    y: Floats  # mm; the tooth is 2 y thick there
    slope: Floats  # of the edge, degrees: 0 along the tooth's axis, −90 across

    @property
    def thickness(self) -> Floats:
        """Chord across the tooth at each point, mm."""
        return 2 * self.y


def fillet_points(cut: CutTooth[Any], count: int = 24) -> Fillet:
    """Return points at equal turns of the edge along the fillet of one or many teeth."""
    gear = cut.gear
    middle = np.asarray(np.pi / gear.circle_teeth - cut.centre_angle)[..., None]
    radius = np.asarray(cut.fillet_diameter / 2)[..., None]
    distance = np.asarray(cut.centre_distance)[..., None]
    first = np.asarray(gear.half_angle_at_base - 2 * cut.contact / gear.base_diameter)[..., None]
    slope = first + (middle - np.pi / 2 - first) * np.linspace(0.0, 1.0, count)
    return Fillet(
        x=distance * np.cos(middle) + radius * np.sin(slope),
        y=distance * np.sin(middle) - radius * np.cos(slope),
        slope=np.degrees(slope),
    )


@dataclass(frozen=True)
class FlankLoad:
    """A force of 1 N normal to the flank at some diameter, in the tooth's axes."""

    angle: Any  # of the force to the perpendicular of the tooth's axis, degrees (α_F)
    apex: Any  # where its line crosses the tooth's axis, mm from the gear's centre


def load_at(gear: GearShape[Any], diameter: Any) -> FlankLoad:
    """Return the normal force on the flank at the circle of the given diameter, mm."""
    alpha = np.radians(gear.pressure_angle_at(diameter))
    angle = alpha - gear.thickness_at(diameter) / diameter
    return FlankLoad(np.degrees(angle), gear.base_diameter / 2 / np.cos(angle))
