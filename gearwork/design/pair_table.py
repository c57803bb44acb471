"""All pairs of gears that may make a stage, as arrays: one row a pair, one column a quantity.

Geometry, cut teeth and strength are those of `Gear`, `GearPair`, `CutPair` and `tooth_limits`:
the same functions, given arrays.
"""

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from gearwork.checks.mesh import LEAST_CLEARANCE, LEAST_TIP
from gearwork.checks.strength import Capacity
from gearwork.checks.tooth_stress import RootStress, SheetRose, root_stress, weakest_tooth
from gearwork.design.hub_table import hub_room
from gearwork.design.pair_grid import Array, DrawnPairs, PairGrid
from gearwork.design.records import joined, taken
from gearwork.design.search_space import Limits, SearchSpace
from gearwork.design.stage import MountedGear
from gearwork.design.tally import Tally, judge
from gearwork.geometry.gear import Gear, GearShape
from gearwork.geometry.pair import GearPair, PairShape
from gearwork.geometry.tooth import CutTooth, cut_tooth
from gearwork.stock.laminate import Panel

CHUNK = 20_000
"""Pairs drawn at once."""

CUT_AT_ONCE = 256
"""Teeth cut at once: some 800 points each, so that they stay in the processor's cache."""

WIDEST_SHIFT = 1.0
"""Greatest profile shift that a fixed centre distance may ask of the wheel."""


@dataclass(frozen=True)
class PairTable:
    """Pairs that keep to all limits of a single pair; every column has the shape (n,).

    Attributes
    ----------
    module, thinning, centre_distance, face_width : ndarray
        mm.
    pinion_teeth, wheel_teeth, pinion_shift, wheel_shift : ndarray
        As designed.
    pinion_tip, wheel_tip : ndarray
        Tip diameters as cut, mm.
    contact_ratio : ndarray
        Of the teeth as cut.
    interference, tip_thickness, flank_reserve, root_clearance : ndarray
        The less of both gears, mm, as in the checks of a mesh.
    backlash : ndarray
        Normal, mm.
    pinion_mass, wheel_mass : ndarray
        kg, with bores for the rods if the limits give their diameter.
    pinion_hub, wheel_hub : ndarray
        Torque that the strongest fixing with room in the gear holds, N·m; infinite if not asked.
    panel : ndarray of int
        Which of the panels of the search space.
    capacity : Capacity
        Of as many pairs.
    """

    module: Array
    pinion_teeth: Array
    wheel_teeth: Array
    pinion_shift: Array
    wheel_shift: Array
    thinning: Array
    centre_distance: Array
    pinion_tip: Array
    wheel_tip: Array
    contact_ratio: Array
    interference: Array
    tip_thickness: Array
    flank_reserve: Array
    root_clearance: Array
    backlash: Array
    face_width: Array
    pinion_mass: Array
    wheel_mass: Array
    pinion_hub: Array
    wheel_hub: Array
    panel: NDArray[np.int64]
    capacity: Capacity

    def __len__(self) -> int:
        return len(self.module)

    @property
    def ratio(self) -> Array:
        """u = z2 / z1."""
        return self.wheel_teeth / self.pinion_teeth

    def pair(self, row: int, space: SearchSpace) -> GearPair:
        """Return one pair as the single gear API makes it."""
        pinion, wheel = (
            Gear(
                float(self.module[row]),
                float(teeth[row]),
                float(shift[row]),
                space.pressure_angle,
                space.addendum,
                space.clearance,
                float(self.thinning[row]),
            )
            for teeth, shift in (
                (self.pinion_teeth, self.pinion_shift),
                (self.wheel_teeth, self.wheel_shift),
            )
        )
        return GearPair(pinion, wheel, float(self.centre_distance[row]))


@dataclass(frozen=True)
class _Cut:
    """Pairs as cut: both teeth and the stresses at their roots."""

    pair: PairShape[Array]
    pinion: CutTooth[Array]
    wheel: CutTooth[Array]
    pinion_stress: RootStress
    wheel_stress: RootStress


def pairs_in(grid: PairGrid, span: tuple[int, int]) -> tuple[PairTable, Tally]:
    """Return the pairs in a part of a grid that can make a stage, and what ruled out the others.

    Parameters
    ----------
    grid : PairGrid
        The pairs to try.
    span : (int, int)
        Its first pair, and the one after its last.
    """
    space, limits = grid.space, grid.limits
    drawn = grid.drawn(*span)
    kept, tally = judge(_mesh_demands(drawn, limits))
    pair = taken(drawn.pair, np.flatnonzero(kept))
    parts = [slice(i, i + CUT_AT_ONCE) for i in range(0, max(kept.sum(), 1), CUT_AT_ONCE)]
    cut = joined([_cut(taken(pair, part), space.bit.cut_diameter) for part in parts])
    runs, more = judge(_root_demands(cut))
    cut = taken(cut, np.flatnonzero(runs))
    tables = [_table(cut, grid, index) for index in range(len(space.panels))]
    return joined(tables), Tally(tally.tried, (tally + more).counts)


def _mesh_demands(drawn: DrawnPairs, limits: Limits) -> dict[str, tuple[Any, Any]]:
    """What a pair must meet before its teeth are worth cutting."""
    pair = drawn.pair
    pinion, wheel = pair.pinion, pair.wheel
    largest = np.maximum(pinion.tip_diameter, wheel.tip_diameter)
    tip = np.minimum(pinion.tip_thickness, wheel.tip_thickness)
    demands = _distance_demands(pair, largest, limits) | {
        "contact ratio": (pair.contact_ratio, limits.contact_ratio),
        "interference": (np.minimum(*pair.interference_reserve), 0.0),
        "pointed tip": (drawn.least_tip, 0.0),
        "tip thickness": (tip / pinion.module, LEAST_TIP),
    }
    if limits.greatest_diameter is not None:
        demands["greatest diameter"] = (largest, limits.greatest_diameter)
    if limits.stock is not None:
        demands["stock size"] = (largest, min(limits.stock))
    if limits.coprime:
        factor = np.gcd(pinion.teeth.astype(int), wheel.teeth.astype(int))
        demands["coprime teeth"] = (factor, 1)
    return demands


def _distance_demands(
    pair: PairShape[Array], largest: Array, limits: Limits
) -> dict[str, tuple[Any, Any]]:
    distance = pair.centre_distance
    demands: dict[str, tuple[Any, Any]] = {}
    if limits.least_distance is not None:
        demands["least centre distance"] = (distance, limits.least_distance)
    if limits.greatest_distance is not None:
        demands["greatest centre distance"] = (distance, limits.greatest_distance)
    if limits.fixed_distance is not None:
        module, shift = pair.pinion.module, pair.wheel.profile_shift
        plain = (pair.pinion.reference_diameter + pair.wheel.reference_diameter) / 2
        near = np.where(np.isnan(shift), (distance - plain) / module, shift)
        demands["wheel shift at the fixed distance"] = (np.abs(near), WIDEST_SHIFT)
    if limits.frame is not None and limits.parts is not None:
        hub, seat = limits.parts.hub_diameter, limits.parts.seat_diameter
        beside = distance - np.maximum(largest, hub) / 2 - hub / 2
        demands["room beside the hub"] = (beside, limits.frame.clearance)
        wood = limits.frame.plate_thickness / 2
        demands["wood between bearing seats"] = (distance - seat, wood)
    return demands


def _cut(pair: PairShape[Array], cut_diameter: float) -> _Cut:
    pinion, wheel = (
        cut_tooth(gear, cast("Array", cut_diameter), mate, pair.centre_distance)
        for gear, mate in ((pair.pinion, pair.wheel), (pair.wheel, pair.pinion))
    )
    stresses = (root_stress(tooth, tooth.gear.tip_diameter) for tooth in (pinion, wheel))
    return _Cut(pair, pinion, wheel, *map(_greatest, stresses))


def _greatest(stress: RootStress) -> RootStress:
    """The greatest stresses alone: all that the weakest tooth depends on."""
    tops = {
        n: getattr(stress, n).max(axis=-1)[:, None] for n in ("tension", "compression", "shear")
    }
    return RootStress(**tops, slope=np.zeros_like(tops["shear"]))


def _reserves(cut: _Cut) -> tuple[Array, Array]:
    """Involute below the active flank, and least way of the mate's tip above the root, mm."""
    teeth = cut.pinion, cut.wheel
    flank = np.minimum(*((tooth.active_diameter - tooth.form_diameter) / 2 for tooth in teeth))
    return flank, np.minimum(*(tooth.fillet_clearance for tooth in teeth))


def _root_demands(cut: _Cut) -> dict[str, tuple[Any, Any]]:
    """What both teeth must meet as cut; the contact ratio is then that of the whole flanks."""
    flank, clearance = _reserves(cut)
    return {
        "flank above the bit's fillet": (flank, 0.0),
        "root clearance": (clearance / cut.pair.pinion.module, LEAST_CLEARANCE),
    }


def _table(cut: _Cut, grid: PairGrid, index: int) -> PairTable:
    limits, panel, pair = grid.limits, grid.space.panels[index], cut.pair
    pinion, wheel = pair.pinion, pair.wheel
    rose, bore = SheetRose.of(panel), 0.0 if limits.parts is None else limits.parts.rod_diameter
    shares = tuple(weakest_tooth(s, rose).greatest for s in (cut.pinion_stress, cut.wheel_stress))
    flank, clearance = _reserves(cut)
    return PairTable(
        module=pinion.module,
        pinion_teeth=pinion.teeth,
        wheel_teeth=wheel.teeth,
        pinion_shift=pinion.profile_shift,
        wheel_shift=wheel.profile_shift,
        thinning=pinion.thinning,
        centre_distance=pair.centre_distance,
        pinion_tip=pinion.tip_diameter,
        wheel_tip=wheel.tip_diameter,
        contact_ratio=pair.contact_ratio,
        interference=np.minimum(*pair.interference_reserve),
        tip_thickness=np.minimum(pinion.tip_thickness, wheel.tip_thickness),
        flank_reserve=flank,
        root_clearance=clearance,
        backlash=pair.normal_backlash,
        face_width=np.full(len(pinion.module), panel.thickness),
        pinion_mass=_mass(pinion, panel, bore),
        wheel_mass=_mass(wheel, panel, bore),
        pinion_hub=_hub(cut.pinion, grid, index),
        wheel_hub=_hub(cut.wheel, grid, index),
        panel=np.full(len(pinion.module), index),
        capacity=Capacity.of(pair, (shares[0], shares[1]), panel, panel.thickness),
    )


def _hub(tooth: CutTooth[Array], grid: PairGrid, index: int) -> Array:
    room = hub_room(tooth.root_diameter)
    return grid.hubs[index].holds(room) if grid.hubs else np.full(len(room), np.inf)


def _mass(gear: GearShape[Array], panel: Panel, bore: float) -> Array:
    mounted = MountedGear("", cast("Gear", gear), 0, 0, 0, 0.0, panel.thickness, 0.0, bore)
    return cast("Array", mounted.mass(panel.density))
