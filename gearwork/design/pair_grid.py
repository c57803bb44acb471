"""The grid of pairs that a search tries, drawn as arrays of gears in mesh."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.mesh import least_backlash
from gearwork.design.hub_table import HubTable
from gearwork.design.search_space import Limits, SearchSpace
from gearwork.geometry.gear import GearShape
from gearwork.geometry.involute import involute
from gearwork.geometry.pair import (
    PairShape,
    distance_at,
    full_thickness,
    working_involute,
)

Array = NDArray[np.float64]

BACKLASH_SHARE = 1.5
"""Of the least backlash: what the check of the pair wants for plywood."""

DISTANCE_STEP = 10.0
"""The least backlash is reckoned at the next full step of centre distance, mm."""


@dataclass(frozen=True)
class DrawnPairs:
    """Pairs in mesh, not yet judged.

    Attributes
    ----------
    pair : PairShape
        Thinned for backlash, tips shortened; not a number where the gears cannot mesh.
    least_tip : ndarray
        The lesser tip thickness of both gears before their tips are shortened, mm.
    """

    pair: PairShape[Array]
    least_tip: Array


@dataclass(frozen=True, eq=False)
class PairGrid:
    """Every module with every two tooth counts and every two profile shifts.

    Attributes
    ----------
    space, limits : SearchSpace, Limits
        As given to the search.
    teeth : ndarray, shape (n, 2)
        Tooth counts of driving and driven gear.
    hubs : tuple of HubTable
        What the fixings hold, for each panel; none: not asked.
    """

    space: SearchSpace
    limits: Limits
    teeth: Array
    hubs: tuple[HubTable, ...] = ()

    def __len__(self) -> int:
        return math.prod(self._shape)

    @property
    def _shape(self) -> tuple[int, int, int]:
        return len(self.space.modules), len(self.teeth), len(self._shifts)

    @property
    def _shifts(self) -> Array:
        """Profile shifts of driving and driven gear; the latter open at a fixed distance."""
        if self.limits.fixed_distance is None:
            return self.space.shift_pairs
        driving = np.array(sorted(set(self.space.pinion_shifts)), dtype=float)
        return np.column_stack([driving, np.full(len(driving), np.nan)])

    def drawn(self, start: int, stop: int) -> DrawnPairs:
        """Return a part of the pairs, from `start` to just before `stop`."""
        module, teeth, shift = np.unravel_index(np.arange(start, stop), self._shape)
        modules = np.array(self.space.modules, dtype=float)
        return self._draw(modules[module], self.teeth[teeth].T, self._shifts[shift].T)

    def _draw(self, module: Array, teeth: Array, shift: Array) -> DrawnPairs:
        pinion, wheel = (self._gears(module, teeth[i], shift[i]) for i in (0, 1))
        if self.limits.fixed_distance is None:
            closest = working_involute(pinion, wheel, full_thickness(pinion, wheel))
            distance = distance_at(pinion, wheel, closest)
        else:
            distance = np.full(len(module), float(self.limits.fixed_distance))
            wheel = replace(wheel, profile_shift=shift_sum(pinion, wheel, distance) - shift[0])
        thinning = thinning_for(module, distance, self.space.pressure_angle)
        pinion, wheel = (replace(gear, thinning=thinning) for gear in (pinion, wheel))
        least_tip = np.minimum(pinion.tip_thickness, wheel.tip_thickness)
        return DrawnPairs(PairShape.assembled(pinion, wheel, distance), least_tip)

    def _gears(self, module: Array, teeth: Array, shift: Array) -> GearShape[Array]:
        space = self.space
        profile = (space.pressure_angle, space.addendum, space.clearance, 0.0, 0.0)
        return GearShape(module, teeth, shift, *(np.full(len(module), p) for p in profile))


def shift_sum(pinion: GearShape[Array], wheel: GearShape[Array], distance: Array) -> Array:
    """Return x1 + x2 of a mesh without backlash at a given centre distance.

    (z1 + z2) (inv α_w − inv α) / (2 tan α), ISO 21771-1; not a number where the base circles do
    not reach.
    """
    alpha = np.radians(pinion.pressure_angle)
    working = np.radians(PairShape(pinion, wheel, distance).working_pressure_angle)
    opened = involute(working) - involute(alpha)
    total: Array = (pinion.teeth + wheel.teeth) * opened / (2 * np.tan(alpha))
    return total


def thinning_for(module: Array, distance: Array, pressure_angle: float) -> Array:
    """Return the thinning of each tooth with which the backlash check holds, mm.

    Rounded up to 0.01 mm; the least backlash is that of the next full 10 mm of centre distance.

    Parameters
    ----------
    module, distance : ndarray, shape (n,)
        Module and centre distance, mm.
    pressure_angle : float
        Degrees.
    """
    far = np.ceil(np.nan_to_num(distance, posinf=0.0) / DISTANCE_STEP) * DISTANCE_STEP
    kinds, back = np.unique(np.stack([module, far]), axis=1, return_inverse=True)
    least = np.array([least_backlash(*kind) for kind in kinds.T.tolist()])
    each = BACKLASH_SHARE * least / (2 * np.cos(np.radians(pressure_angle)))
    rounded: Array = (np.ceil(100 * each) / 100)[back.ravel()]
    return rounded
