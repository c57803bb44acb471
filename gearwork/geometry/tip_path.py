"""The way of the mate's tip corner through a tooth space: what the root must leave free."""

from dataclasses import dataclass
from typing import Any, Generic

import numpy as np
from numpy.typing import NDArray

from gearwork.geometry.gear import GearShape, T, plain
from gearwork.geometry.pair import PairShape

SAMPLES = 24
STEPS = np.linspace(0.0, 1.0, SAMPLES)


@dataclass(frozen=True)
class TipPath(Generic[T]):
    """Points the mate's tip corner passes, from the bottom of its path to first contact.

    Attributes
    ----------
    x, y : ndarray, shape (..., n)
        Coordinates from the gear's centre, mm; the x axis runs through the middle of the tooth
        space. The mate is held against the flank on the side of positive y, so that the last
        point lies on that flank.
    active_diameter : float
        d_Nf, where the path meets the flank, mm.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    active_diameter: T


def tip_path(
    gear: GearShape[T], mate: GearShape[T] | None, centre_distance: T | None
) -> TipPath[T]:
    """Return the path of the mate's tip, or where no mate is given that of a rack's."""
    if mate is None or centre_distance is None:
        return rack_tip_path(gear)
    return mate_tip_path(gear, mate, centre_distance)


def mate_tip_path(gear: GearShape[T], mate: GearShape[T], centre_distance: T) -> TipPath[T]:
    """Return the path of the tip corner of `mate` through the tooth space of `gear`.

    The corner stands at the polar angle ν about the mate's centre, measured from the line of
    centres, while the gear rolls with it at the ratio of the tooth counts.
    """
    pair = PairShape(gear, mate, centre_distance)
    active = pair.active_diameters[0]
    tip = spread(mate.tip_diameter / 2)
    distance = spread(centre_distance)
    last = spread(_angle_of_reach(centre_distance, mate.tip_diameter / 2, active / 2))
    corner = STEPS * last
    x, y = distance - tip * np.cos(corner), tip * np.sin(corner)
    half_tip = spread(mate.tip_thickness / mate.tip_diameter)
    play = spread(pair.backlash / pair.working_pitch_diameters[0])
    rolled = spread(mate.teeth / gear.teeth) * (corner - half_tip)
    return _turned(x, y, play - rolled, active)


def rack_tip_path(gear: GearShape[T]) -> TipPath[T]:
    """Return the path of the corner of a rack that runs with the gear.

    A rack reaches deeper into the space than any external mate of the same basic profile. Its
    tip is taken off where it would interfere, as that of every mate that can run must be.
    """
    alpha = np.radians(gear.pressure_angle)
    pitch = gear.reference_diameter / 2
    middle = pitch + gear.profile_shift * gear.module
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


def _angle_of_reach(distance: Any, tip: Any, reach: Any) -> Any:
    """Polar angle about the mate's centre at which its tip circle crosses radius `reach`."""
    cosine = (distance**2 + tip**2 - reach**2) / (2 * distance * tip)
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def spread(value: Any) -> NDArray[np.float64]:
    """Return the value with a last axis, for several points or radii."""
    return np.asarray(value, dtype=float)[..., None]
