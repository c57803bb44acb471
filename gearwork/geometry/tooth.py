"""The tooth as a round bit leaves it: exact involute flanks and the root this bit can cut.

The root is one arc across the space where the space is narrow, otherwise a fillet at each
flank and the root circle between them. Below the base circle, where there is no involute, the
flank goes on radially; no mate that is free of interference reaches that line.

A circle of radius ρ that touches an involute has its centre on another involute of the same
base circle, turned by ρ/r_b. That makes the fillet a matter of closed formulas, for one gear
and for arrays of gears alike.
"""

from dataclasses import dataclass, replace
from typing import Any, Generic, Protocol

import numpy as np

from gearwork.geometry.gear import GearShape, T, plain
from gearwork.geometry.involute import inverse_involute
from gearwork.geometry.tip_path import TipPath, spread, tip_path

FILLET_CLEARANCE = 0.4
"""Share of the tip clearance c that a fillet widened beyond the bit's radius leaves free along
the mate's tip path. Our own choice: a tenth of the module for the usual c* of 0.25."""

RANKS = np.arange(17)
TRIED = RANKS / RANKS[-1]
"""Fillet radii tried, from the bit's to that of one arc across the space."""


class Cutter(Protocol):
    """Anything that cuts a slot of a known width."""

    @property
    def cut_diameter(self) -> float:
        """Width of the slot it cuts, mm."""


@dataclass(frozen=True)
class CutTooth(Generic[T]):
    """One tooth as cut, or arrays of them.

    Attributes
    ----------
    gear : Gear
        The gear it belongs to.
    cut_diameter : float
        Of the bit, mm.
    fillet_diameter : float
        2 ρ of the root fillet, mm; never below the bit.
    root_diameter : float
        d_f as cut, mm; above the gear's own where the bit does not reach the bottom.
    centre_angle : float
        Of the fillet's centre from the middle of the space, radians; 0 where one arc spans it.
    contact : float
        Length of the base tangent to where fillet and involute meet, mm; 0 where they do not
        because the fillet ends below the base circle.
    active_diameter : float
        d_Nf, where the mate's tip first meets the flank, mm.
    fillet_clearance : float
        Least distance between the root and the way of the mate's tip, mm; negative where the
        mate would cut into the fillet.
    """

    gear: GearShape[T]
    cut_diameter: T
    fillet_diameter: T
    root_diameter: T
    centre_angle: T
    contact: T
    active_diameter: T
    fillet_clearance: T

    @property
    def centre_distance(self) -> T:
        """Distance of the fillet's centre from the gear's centre, mm."""
        return (self.root_diameter + self.fillet_diameter) / 2

    @property
    def fillet_end(self) -> T:
        """Distance from the gear's centre at which the fillet leaves the flank, mm."""
        along_radius = np.sqrt(self.centre_distance**2 - self.fillet_diameter**2 / 4)
        along_involute = np.hypot(self.gear.base_diameter / 2, self.contact)
        return plain(np.where(self.contact > 0, along_involute, along_radius))

    @property
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
    """Return the tooth a bit leaves, with the widest fillet the mate allows.

    Parameters
    ----------
    gear : Gear
        Or arrays of gears.
    cut_diameter : float
        Of the bit, mm.
    mate : Gear, optional
        With `centre_distance`; by default the root clears a rack and so every mate.
    centre_distance : float, optional
        Of gear and mate, mm.

    Returns
    -------
    CutTooth
        Also where the bit does not fit; `form_diameter` above `active_diameter` or a negative
        `fillet_clearance` tell.
    """
    return tooth_for(gear, cut_diameter, tip_path(gear, mate, centre_distance))


def tooth_for(gear: GearShape[T], cut_diameter: T, path: TipPath[T]) -> CutTooth[T]:
    """Return the tooth a bit leaves, with the widest fillet that a tip path allows.

    Parameters
    ----------
    gear : Gear
        Or arrays of gears.
    cut_diameter : float
        Of the bit, mm; or an array, for one gear cut by several bits.
    path : TipPath
        Of the mate, from `tip_path`.
    """
    space = _Space.of(gear)
    smallest = cut_diameter / 2
    largest = space.spanning_radius()
    narrow = largest < smallest
    if np.any(narrow):
        shallower = space.spanning_centre(smallest) - smallest
        space = replace(space, root=np.where(narrow, shallower, space.root))
        largest = np.maximum(largest, smallest)
    wanted = FILLET_CLEARANCE * gear.clearance * gear.module
    radius, clearance = _widest_radius(space, path, wanted, smallest, largest)
    return CutTooth(
        gear=gear,
        cut_diameter=cut_diameter,
        fillet_diameter=plain(2 * radius),
        root_diameter=plain(2 * space.root),
        centre_angle=plain(np.where(narrow, 0.0, space.centre_angle(radius))[()]),
        contact=plain(space.contact(radius)),
        active_diameter=path.active_diameter,
        fillet_clearance=plain(clearance),
    )


@dataclass(frozen=True)
class _Space:
    """Half a tooth space: base and root radius, and the angle to the flank at the base circle."""

    base: Any
    root: Any
    free: Any

    @classmethod
    def of(cls, gear: GearShape[Any]) -> "_Space":
        free = np.pi / gear.teeth - gear.half_angle_at_base
        return cls(gear.base_diameter / 2, gear.root_diameter / 2, free)

    def spread(self) -> "_Space":
        """The same space with a last axis for several radii."""
        return _Space(spread(self.base), spread(self.root), spread(self.free))

    def tangent(self, radius: Any) -> Any:
        """Length of the base tangent from the centre of a circle on the root."""
        return np.sqrt(np.maximum((self.root + radius) ** 2 - self.base**2, 0.0))

    def contact(self, radius: Any) -> Any:
        """Length of the base tangent where the circle meets the involute, 0 if below it."""
        return np.maximum(self.tangent(radius) - radius, 0.0)

    def flank_to_centre(self, radius: Any, tangent: Any = None) -> Any:
        """Angle from flank to centre of a circle that stands on the root and touches it."""
        roll = (self.tangent(radius) if tangent is None else tangent) / self.base
        turn = radius / self.base
        on_radius = np.arcsin(radius / (self.root + radius))
        return np.where(roll > turn, turn - roll + np.arctan(roll), on_radius)

    def centre_angle(self, radius: Any) -> Any:
        """Angle of that centre from the middle of the space."""
        return np.maximum(self.free - self.flank_to_centre(radius), 0.0)

    def spanning_radius(self) -> Any:
        """Radius of the one arc that touches both flanks and the root circle.

        Newton's method; the angle left falls with the radius and is convex, so that at most the
        first step overshoots.
        """
        radius = np.maximum(self.free * self.root, 0.0)
        for _ in range(25):
            centre = self.root + radius
            tangent = self.tangent(radius)
            along_involute = self.base * centre / (centre - tangent)
            along_radius = centre * np.sqrt(centre**2 - radius**2) / self.root
            slope = np.where(tangent > radius, along_involute, along_radius)
            step = (self.free - self.flank_to_centre(radius, tangent)) * slope
            radius = np.maximum(radius + step, 0.0)
            if not np.any(np.abs(step) > 1e-10 * self.root):
                break
        return radius

    def spanning_centre(self, radius: Any) -> Any:
        """Distance from the gear's centre at which a circle touches both flanks."""
        alpha = inverse_involute(np.maximum(radius / self.base - self.free, 0.0))
        with np.errstate(divide="ignore"):
            on_radius = np.abs(radius / np.sin(self.free))
        return np.where(self.base * np.tan(alpha) > radius, self.base / np.cos(alpha), on_radius)


def _widest_radius(
    space: _Space, path: TipPath[Any], wanted: Any, smallest: Any, largest: Any
) -> tuple[Any, ...]:
    """Largest fillet radius with the wanted clearance, or the smallest; and its clearance."""
    space = space.spread()
    points = replace(path, x=path.x[..., None, :], y=path.y[..., None, :])
    reach = spread(path.active_diameter / 2) ** 2 - space.base**2
    tried = spread(smallest) + spread(largest - smallest) * TRIED
    clearance = _clearance(space, points, tried)
    fits = (space.contact(tried) ** 2 <= reach) & (clearance >= spread(wanted))
    best = np.where(fits, RANKS, 0).max(axis=-1, keepdims=True)
    return tuple(np.take_along_axis(v, best, axis=-1)[..., 0] for v in (tried, clearance))


def _clearance(space: _Space, path: TipPath[Any], radius: Any) -> Any:
    """Least distance from the mate's tip path to root circle and fillet, inside positive."""
    contact = space.contact(radius)
    distance = space.root + radius
    angle = space.centre_angle(radius)
    c, s = np.cos(angle), np.sin(angle)
    beside = path.y * spread(c) - path.x * spread(s)
    over = path.x * spread(c) + path.y * spread(s) - spread(distance)
    to_fillet = spread(radius) - np.hypot(beside, over)
    to_root = np.hypot(path.x, path.y) - spread(space.root)
    normal = space.free + contact / space.base
    foot = np.where(contact > 0, space.base, np.sqrt(distance**2 - radius**2))
    height = path.x * spread(np.cos(normal)) + path.y * spread(np.sin(normal)) - spread(foot)
    to_flank = np.where(height > 0, np.inf, to_fillet)
    return np.where(beside < 0, to_root, to_flank).min(axis=-1)
