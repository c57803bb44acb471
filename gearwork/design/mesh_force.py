"""What teeth press on each other, and what that puts on the shafts."""

import math
from dataclasses import dataclass

import numpy as np

from gearwork.design.arrangement import Point
from gearwork.geometry.pair import GearPair


@dataclass(frozen=True)
class MeshForce:
    """What the teeth of one stage press on each other, at its pitch point.

    Attributes
    ----------
    stage : int
        Which stage.
    at : (float, float)
        The pitch point, mm.
    tangential, radial : float
        F_t = 2000 T / d_w and F_r = F_t tan α_w, N, both as magnitudes.
    on_wheel : (float, float)
        Force on the wheel, N; the pinion feels the opposite.
    """

    stage: int
    at: Point
    tangential: float
    radial: float
    on_wheel: Point

    @property
    def on_pinion(self) -> Point:
        """Force on the pinion, N."""
        return -self.on_wheel[0], -self.on_wheel[1]


@dataclass(frozen=True)
class GearForce:
    """Force on one gear of a shaft: where along z, mm, and its components, N."""

    gear: str
    position: float
    force: Point


def mesh_force(
    stage: int, pair: GearPair, centres: tuple[Point, Point], torque: float, direction: int
) -> MeshForce:
    """Return the force between the teeth of one pair.

    Parameters
    ----------
    stage : int
        Which stage it is.
    pair : GearPair
        The gears.
    centres : two of (float, float)
        Axes of pinion and wheel, mm.
    torque : float
        T on the pinion, N·m; negative where the pinion brakes.
    direction : {1, -1}
        1 where the pinion turns counter-clockwise.
    """
    pinion, wheel = np.array(centres)
    along = (wheel - pinion) / np.hypot(*(wheel - pinion))
    across = direction * np.array([-along[1], along[0]])
    pitch = pair.working_pitch_diameters[0]
    tangential = 2000.0 * torque / pitch
    radial = abs(tangential) * math.tan(math.radians(pair.working_pressure_angle))
    x, y = pinion + pitch / 2 * along
    to_x, to_y = tangential * across + radial * along
    at, on_wheel = (float(x), float(y)), (float(to_x), float(to_y))
    return MeshForce(stage, at, abs(tangential), radial, on_wheel)
