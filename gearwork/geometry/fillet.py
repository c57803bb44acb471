"""Points along the root fillet of a cut tooth: where a loaded tooth breaks."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gearwork.geometry.gear import GearShape
from gearwork.geometry.tooth import CutTooth

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Fillet:
    """Points of one fillet from flank to root, tooth centred on the x axis, y positive.

    Attributes
    ----------
    x, y : ndarray, shape (..., n)
        mm from the gear's centre; the tooth is 2 y thick there.
    slope : ndarray, shape (..., n)
        Direction of the edge, degrees from the tooth's axis, 0 along it and −90 across.
    """

    x: Array
    y: Array
    slope: Array

    @property
    def thickness(self) -> Array:
        """Chord across the tooth at each point, mm."""
        return 2 * self.y


def fillet_points(cut: CutTooth[Any], count: int = 24) -> Fillet:
    """Return points at equal turns of the edge along a fillet.

    Parameters
    ----------
    cut : CutTooth
        One tooth or arrays of teeth.
    count : int
        Points along the fillet.
    """
    gear = cut.gear
    middle = np.asarray(np.pi / gear.teeth - cut.centre_angle)[..., None]
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
    """A force of 1 N normal to the flank at some diameter, in the tooth's axes.

    Attributes
    ----------
    angle : float or ndarray
        Of the force to the perpendicular of the tooth's axis, degrees (α_F).
    apex : float or ndarray
        Where its line crosses the tooth's axis, mm from the gear's centre.
    """

    angle: Any
    apex: Any


def load_at(gear: GearShape[Any], diameter: Any) -> FlankLoad:
    """Return the normal force on the flank at the circle of the given diameter, mm."""
    alpha = np.radians(gear.pressure_angle_at(diameter))
    angle = alpha - gear.thickness_at(diameter) / diameter
    return FlankLoad(np.degrees(angle), gear.base_diameter / 2 / np.cos(angle))
