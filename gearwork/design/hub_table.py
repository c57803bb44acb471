"""What hubs and rods hold, as numbers that a search can look up."""

from dataclasses import dataclass
from math import pi, sqrt
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.hub import best_fixing
from gearwork.checks.links import Factors
from gearwork.checks.shaft import YIELD_SAFETY
from gearwork.stock.hardware import Rod
from gearwork.stock.laminate import Panel

Array = NDArray[np.float64]
Size = TypeVar("Size", float, Array)

WALL = 4.0
"""Wood left between the hub and the root of the teeth, mm (assumption)."""

ANY_TORQUE = 1e9
"""More than any fixing holds, N·m."""

ROOMS = np.concatenate([np.arange(12.0, 60.0), np.geomspace(60.0, 400.0, 80)])
"""Diameters at which fixings are rated, mm; between them the next smaller one counts."""


def hub_room(root_diameter: Size) -> Size:
    """Return the diameter within which the face of a gear is whole wood, mm."""
    return root_diameter - 2 * WALL


def rod_torque(rod: Rod) -> float:
    """Return the torque a rod bears where nothing bends it, N·m.

    Core of the thread, von Mises, with the safety of `check_shaft` against yielding.
    """
    shear = rod.grade.yield_strength / (YIELD_SAFETY * sqrt(3.0))
    return 1e-3 * shear * pi * rod.core_diameter**3 / 16


@dataclass(frozen=True)
class HubTable:
    """The greatest torque that any fixing on a rod holds, against the room for it.

    Attributes
    ----------
    torque : ndarray, shape (n + 1,)
        N·m, with less room than the least and with that of each of `ROOMS`.
    """

    torque: Array

    @classmethod
    def of(cls, panel: Panel, rod: Rod, bit_diameter: float, factors: Factors) -> "HubTable":
        """Rate the fixings of a gear cut from `panel`."""
        found = [
            best_fixing(
                panel,
                ANY_TORQUE,
                rod,
                room_diameter=room,
                bit_diameter=bit_diameter,
                factors=factors,
            )
            for room in ROOMS.tolist()
        ]
        return cls(np.array([0.0, *(rated.design_torque if rated else 0.0 for rated in found)]))

    def holds(self, room: Array) -> Array:
        """Return the torque held with so much room, N·m, of the shape of `room` (mm)."""
        return self.torque[np.searchsorted(ROOMS, room, side="right")]
