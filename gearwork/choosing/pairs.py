"""All pairs of gears that may make a stage, as arrays: one row a pair, one column a quantity.

Geometry, cut teeth and strength are those of `Gear`, `GearPair`, `CutPair` and `tooth_limits`:
the same functions, given arrays.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import lru_cache
from math import pi, sqrt
from typing import Any, TypeVar, cast

import numpy as np

from gearwork.checks.hub.fixing import FixingName
from gearwork.checks.hub.hub import ROOMS, cheapest_fixing, rooms_within
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.shaft.alignment import tooth_depth
from gearwork.checks.shaft.shaft import YIELD_SAFETY
from gearwork.checks.tolerance import Drawn, draw
from gearwork.checks.tooth.breaking import RootPeaks
from gearwork.checks.tooth.friction import mesh_loss
from gearwork.checks.tooth.mesh import MIN_CLEARANCE, MIN_CONTACT_RATIO, MIN_TIP, min_backlash
from gearwork.checks.tooth.strength import Capacity
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.choosing.space import Limits, SearchSpace
from gearwork.choosing.tally import Demands, Tally, judge
from gearwork.geometry.gear import Gear, GearShape
from gearwork.geometry.involute import involute
from gearwork.geometry.pair import (
    GearPair,
    PairShape,
    distance_at,
    full_thickness,
    working_involute,
)
from gearwork.geometry.tooth import CutTooth, cut_tooth
from gearwork.machine.brief import Tolerances
from gearwork.machine.stage import MountedGear, hub_room
from gearwork.numbers import FUZZ, Floats, Ints
from gearwork.stock.hardware import Rod
from gearwork.stock.laminate import Panel

R = TypeVar("R")


def taken(record: R, rows: Ints | slice) -> R:
    """Return some rows of a dataclass of arrays; fields that are no arrays stay."""
    return cast("R", _mapped(lambda array: array[rows], [record]))


def joined(records: Sequence[R]) -> R:
    """Return the rows of several dataclasses of arrays one after the other."""
    return cast("R", _mapped(lambda *arrays: np.concatenate(arrays), records))


def _mapped(function: Callable[..., Any], records: Sequence[Any]) -> Any:
    first = records[0]
    if is_dataclass(first) and not isinstance(first, type):
        names = [field.name for field in fields(first)]
        parts = {name: _mapped(function, [getattr(r, name) for r in records]) for name in names}
        return replace(first, **parts)
    return function(*records) if isinstance(first, np.ndarray) else first


Size = TypeVar("Size", float, Floats)

ANY_TORQUE = 1e9
"""More than any fixing holds, N·m."""


def rod_torque(rod: Rod) -> float:
    """Return the torque a rod bears where nothing bends it, N·m.

    Core of the thread, von Mises, with the safety of `check_shaft` against yielding.
    """
    shear = rod.grade.yield_strength / (YIELD_SAFETY * sqrt(3.0))
    return 1e-3 * shear * pi * rod.core_diameter**3 / 16


@dataclass(frozen=True)
class HubTable:
    """The greatest torque that any fixing, or such a one, of a gear of a panel holds on a rod.

    Rated at the `ROOMS` that are asked for, each once; with less room than the least none holds.
    """

    panel: Panel
    rod: Rod
    bit_diameter: float
    use: JointUse
    fixing: FixingName | None = None

    def holds(self, room: Floats) -> Floats:
        """Return the torque held with so much room, N·m, of the shape of `room` (mm)."""
        places, back = np.unique(rooms_within(room), return_inverse=True)
        return self._held(places)[back] if len(places) else np.zeros(room.shape)

    def _held(self, places: Ints) -> Floats:
        """At some rooms, in order; as more holds no less, what is alike at both ends is between."""
        first, last = (self._strongest(int(places[end])) for end in (0, -1))
        if first == last:
            return np.full(len(places), first)
        half = len(places) // 2
        return np.concatenate([self._held(places[:half]), self._held(places[half:])])

    def _strongest(self, place: int) -> float:
        """What the strongest fixing holds in a room, N·m; 0 before the first."""
        if not place:
            return 0.0
        found = cheapest_fixing(
            self.panel, ANY_TORQUE, self.rod, room_diameter=float(ROOMS[place - 1]),
            bit_diameter=self.bit_diameter, use=self.use, or_strongest=True, kind=self.fixing,
        )  # fmt: skip
        return found.design_torque if found else 0.0


BACKLASH_SHARE = 1.5
"""Of the least backlash: what the check of the pair wants for plywood."""

SURE = 0.7
"""Share of the accepted chance of binding that teeth are thinned for: it is known to a fifteenth,
and teeth away from the pitch point come nearer than the small errors say (assumption)."""

DISTANCE_STEP = 10.0
"""The least backlash is reckoned at the next full step of centre distance, mm."""


@dataclass(frozen=True)
class DrawnPairs:
    """Pairs in mesh, not yet judged."""

    pair: PairShape[Floats]  # thinned for backlash, tips shortened; NaN: they cannot mesh
    min_tip: Floats  # lesser tip thickness of both before their tips are shortened, mm


@dataclass(frozen=True, eq=False)
class PairGrid:
    """Every module with every two tooth counts and every two profile shifts."""

    space: SearchSpace
    limits: Limits
    teeth: Floats  # tooth counts of driving and driven gear, shape (n, 2)
    hubs: tuple[HubTable, ...] = ()  # what fixings hold, for each panel; none: not asked

    def __len__(self) -> int:
        return math.prod(self._shape)

    @property
    def _shape(self) -> tuple[int, int, int]:
        return len(self.space.modules), len(self.teeth), len(self._shifts)

    @property
    def _shifts(self) -> Floats:
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

    def _draw(self, module: Floats, teeth: Floats, shift: Floats) -> DrawnPairs:
        pinion, wheel = (self._gears(module, teeth[i], shift[i]) for i in (0, 1))
        if self.limits.fixed_distance is None:
            closest = working_involute(pinion, wheel, full_thickness(pinion, wheel))
            # as it will be written, 0.01 mm
            distance = np.ceil(100.0 * distance_at(pinion, wheel, closest) - 1e-6) / 100.0
        else:
            distance = np.full(len(module), float(self.limits.fixed_distance))
            wheel = replace(wheel, profile_shift=shift_sum(pinion, wheel, distance) - shift[0])
        given = self.limits.tolerance
        thinning = thinning_for(module, distance, self.space.pressure_angle, given)
        pinion, wheel = (replace(gear, thinning=thinning) for gear in (pinion, wheel))
        min_tip = np.minimum(pinion.tip_thickness, wheel.tip_thickness)
        return DrawnPairs(PairShape.assembled(pinion, wheel, distance), min_tip)

    def _gears(self, module: Floats, teeth: Floats, shift: Floats) -> GearShape[Floats]:
        space = self.space
        profile = (space.pressure_angle, space.addendum, space.clearance, 0.0, 0.0)
        return GearShape(module, teeth, shift, *(np.full(len(module), p) for p in profile))


def shift_sum(pinion: GearShape[Floats], wheel: GearShape[Floats], distance: Floats) -> Floats:
    """Return x1 + x2 of a mesh without backlash at a given centre distance.

    (z1 + z2) (inv α_w − inv α) / (2 tan α), ISO 21771-1; not a number where the base circles do
    not reach.
    """
    alpha = np.radians(pinion.pressure_angle)
    working = np.radians(PairShape(pinion, wheel, distance).working_pressure_angle)
    opened = involute(working) - involute(alpha)
    total: Floats = (pinion.teeth + wheel.teeth) * opened / (2 * np.tan(alpha))
    return total


def thinning_for(
    module: Floats, distance: Floats, pressure_angle: float, tolerance: Tolerances
) -> Floats:
    """Return the thinning of each tooth with which the checks of backlash and binding hold, mm.

    Of module and centre distance in mm, both of shape (n,), and pressure angle in degrees. Rounded
    up to 0.01 mm.
    """
    far = np.ceil(np.nan_to_num(distance, posinf=0.0) / DISTANCE_STEP) * DISTANCE_STEP
    # both in one complex number, which is sorted in a tenth of the time that columns take
    kinds, back = np.unique(module + 1j * far, return_inverse=True)
    least = np.array([min_backlash(kind.real, kind.imag) for kind in kinds.tolist()])
    lost = np.array([_play_lost(far, pressure_angle, tolerance) for far in kinds.imag.tolist()])
    each = np.maximum(BACKLASH_SHARE * least, lost) / (2 * np.cos(np.radians(pressure_angle)))
    rounded: Floats = (np.ceil(100 * each) / 100)[back]
    return rounded


@lru_cache(maxsize=1024)
def _play_lost(distance: float, pressure_angle: float, tolerance: Tolerances) -> float:
    """Normal backlash that the workshop and the weather take, oftener only than is accepted, mm.

    Errors as `check_tolerance` draws them for gears trued on their rods; wood too much on four
    flanks, and shafts that come nearer by swing, error and swelling: 2 sin α of that (ISO 21771-1,
    for small errors).
    """
    drawn = _drawn(tolerance)
    closer = 2 * np.sin(np.radians(pressure_angle))
    of_wood = 2 * drawn.flanks.sum(axis=0)
    nearer = drawn.eccentricities.sum(axis=0) - drawn.shafts
    swollen = drawn.gear_growth - drawn.frame_growth
    share = 1.0 - SURE * tolerance.accepted_chance
    return float(np.quantile(of_wood + closer * (nearer + distance * swollen), share))


@lru_cache(maxsize=4)
def _drawn(tolerance: Tolerances) -> Drawn:
    return draw(tolerance, tolerance.samples)


CHUNK = 20_000
"""Pairs drawn at once."""

CUT_AT_ONCE = 1024
"""Teeth cut at once: 24 points each at a time, so that they stay in the processor's cache."""

MAX_SHIFT = 1.0
"""Greatest profile shift that a fixed centre distance may ask of the wheel."""


@dataclass(frozen=True)
class PairTable:
    """Pairs that keep to all limits of a single pair; every column has the shape (n,)."""

    module: Floats
    pinion_teeth: Floats
    wheel_teeth: Floats
    pinion_shift: Floats
    wheel_shift: Floats
    thinning: Floats
    centre_distance: Floats
    pinion_tip: Floats  # tip diameters as cut, mm
    wheel_tip: Floats
    contact_ratio: Floats
    interference: Floats  # this and the next three: the less of both gears, mm, as in the checks
    tip_thickness: Floats
    flank_reserve: Floats
    root_clearance: Floats
    backlash: Floats  # normal, mm
    play: Floats  # backlash at the working pitch circles, mm
    tooth_depth: Floats  # of the deeper teeth, mm
    loss: Floats  # H: times the friction it is the share of the power that is lost
    face_width: Floats
    pinion_mass: Floats  # kg, with bores for the rods if the limits give their diameter
    wheel_mass: Floats
    pinion_room: Floats  # diameter within which the faces are whole wood, mm
    wheel_room: Floats
    pinion_hub: Floats  # torque that the strongest fixing with room holds, N·m; inf: not asked
    wheel_hub: Floats
    panel: Ints  # which of the panels of the search space
    capacity: Capacity
    thin_share: Floats  # of it that is left with the sheet at its thinnest; 1: not asked
    room_apart: Floats  # by how much bent rods may part the gears, mm, and bring them nearer
    room_nearer: Floats

    def __len__(self) -> int:
        return len(self.module)

    @property
    def ratio(self) -> Floats:
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

    pair: PairShape[Floats]
    pinion: CutTooth[Floats]
    wheel: CutTooth[Floats]
    pinion_stress: RootPeaks
    wheel_stress: RootPeaks


def pairs_in(grid: PairGrid, span: tuple[int, int]) -> tuple[PairTable, Tally]:
    """Return the pairs in a part of a grid that can make a stage, and what ruled out the others.

    `span`: its first pair, and the one after its last.
    """
    space, limits = grid.space, grid.limits
    drawn = grid.drawn(*span)
    kept, tally = judge(_mesh_demands(drawn, limits), len(drawn.min_tip))
    pair = taken(drawn.pair, np.flatnonzero(kept))
    parts = [slice(i, i + CUT_AT_ONCE) for i in range(0, max(kept.sum(), 1), CUT_AT_ONCE)]
    cut = joined([_cut(taken(pair, part), space.bit.cut_diameter) for part in parts])
    flank, clearance = _reserves(cut)  # kept, the contact ratio is that of whole flanks
    runs, more = judge(
        {
            "flank above the bit's fillet": (flank, 0.0),
            "root clearance": (clearance / cut.pair.pinion.module, MIN_CLEARANCE),
        },
        len(flank),
    )
    cut = taken(cut, np.flatnonzero(runs))
    room = _mesh_room(cut.pair)
    tables = [_table(cut, grid, index, room) for index in range(len(space.panels))]
    nearest = more.nearest if more.tried else tally.nearest
    return joined(tables), Tally(tally.tried, (tally + more).counts, nearest)


def _mesh_demands(drawn: DrawnPairs, limits: Limits) -> Demands:
    """What a pair must meet before its teeth are worth cutting."""
    pair, distance = drawn.pair, drawn.pair.centre_distance
    pinion, wheel = pair.pinion, pair.wheel
    largest = np.maximum(pinion.tip_diameter, wheel.tip_diameter)
    room = limits.demands(largest, distance)
    demands: Demands = {name: (values, limit) for name, values, limit, _ in room}
    if limits.fixed_distance is not None:
        # where no shift reaches the distance, what is missing in modules stands for it
        plain = (pinion.reference_diameter + wheel.reference_diameter) / 2
        shift = wheel.profile_shift
        near = np.where(np.isnan(shift), (distance - plain) / pinion.module, shift)
        demands["wheel shift at the fixed distance"] = (np.abs(near), MAX_SHIFT)
    if limits.frame is not None and limits.parts is not None:
        hub, seat = limits.parts.hub_diameter, limits.parts.seat_diameter
        if limits.rod is not None:  # how it is held, by nuts or glue, is known with the train
            hub = limits.parts.rod_diameter
        beside = distance - np.maximum(largest, hub) / 2 - hub / 2
        demands["room beside the hub"] = (beside, limits.frame.clearance)
        demands["wood between bearing seats"] = (distance - seat, limits.frame.seat_wood)
    tip = np.minimum(pinion.tip_thickness, wheel.tip_thickness)
    demands |= {
        "contact ratio": (pair.contact_ratio, limits.contact_ratio),
        "interference": (np.minimum(*pair.interference_reserve), 0.0),
        "pointed tip": (drawn.min_tip, 0.0),
        "tip thickness": (tip / pinion.module, MIN_TIP),
    }
    if limits.stock is not None:
        demands["stock size"] = (largest, min(limits.stock))
    if limits.coprime:
        factor = np.gcd(pinion.teeth.astype(int), wheel.teeth.astype(int))
        demands["coprime teeth"] = (factor, 1)
    return demands


def _cut(pair: PairShape[Floats], cut_diameter: float) -> _Cut:
    pinion, wheel = (
        cut_tooth(gear, cast("Floats", cut_diameter), mate, pair.centre_distance)
        for gear, mate in ((pair.pinion, pair.wheel), (pair.wheel, pair.pinion))
    )
    stresses = (RootPeaks.of(tooth, tooth.gear.tip_diameter) for tooth in (pinion, wheel))
    return _Cut(pair, pinion, wheel, *stresses)


def _reserves(cut: _Cut) -> tuple[Floats, Floats]:
    """Involute below the active flank, and least way of the mate's tip above the root, mm."""
    teeth = cut.pinion, cut.wheel
    flank = np.minimum(*((tooth.active_diameter - tooth.form_diameter) / 2 for tooth in teeth))
    return flank, np.minimum(*(tooth.fillet_clearance for tooth in teeth))


def _mesh_room(pair: PairShape[Floats]) -> tuple[Floats, Floats]:
    """By how much bent rods may part whole flanks, and bring them nearer, mm, as the check says.

    Apart until ε_α = 1, which is where the path of contact is one base pitch long (ISO 21771-1).
    """
    distance = pair.centre_distance
    closest = pair.distance_for_backlash(np.maximum(pair.backlash, 0.0) / 2.0)
    tolerance = np.floor(100.0 * np.maximum(distance - closest, 0.0) + FUZZ) / 100.0
    action = sum(pair.tip_curvatures) - MIN_CONTACT_RATIO * pair.pinion.base_pitch
    radii = (pair.pinion.base_diameter + pair.wheel.base_diameter) / 2.0
    farthest = np.hypot(np.maximum(action, 0.0), radii)
    return np.maximum(farthest - distance - tolerance, 0.0), tolerance / 2.0


def _table(cut: _Cut, grid: PairGrid, index: int, room: tuple[Floats, Floats]) -> PairTable:
    limits, panel, pair = grid.limits, grid.space.panels[index], cut.pair
    pinion, wheel = pair.pinion, pair.wheel
    bore = 0.0 if limits.parts is None else limits.parts.rod_diameter
    flank, clearance = _reserves(cut)
    capacity = _capacity(cut, panel, limits)
    rooms = hub_room(cut.pinion.root_diameter), hub_room(cut.wheel.root_diameter)
    share = np.ones(len(pinion.module))
    if limits.reserve:
        thin = _capacity(cut, panel.thinned, limits)
        left = [
            np.asarray(getattr(thin, part)) / getattr(capacity, part)
            for part in ("pinion", "wheel", "contact")
        ]
        share = np.min(left, axis=0)
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
        play=pair.backlash,
        tooth_depth=tooth_depth(pair),
        loss=mesh_loss(pair),
        face_width=np.full(len(pinion.module), panel.thickness),
        pinion_mass=_mass(pinion, panel, bore),
        wheel_mass=_mass(wheel, panel, bore),
        pinion_room=rooms[0],
        wheel_room=rooms[1],
        pinion_hub=_hub(rooms[0], grid, index),
        wheel_hub=_hub(rooms[1], grid, index),
        panel=np.full(len(pinion.module), index),
        capacity=capacity,
        thin_share=share,
        room_apart=room[0],
        room_nearer=room[1],
    )


def _capacity(cut: _Cut, panel: Panel, limits: Limits) -> Capacity:
    rose = SheetPolar.of_teeth(panel)
    pinion, wheel = (s.shares(rose).max for s in (cut.pinion_stress, cut.wheel_stress))
    deviation = limits.tolerance.deviation
    return Capacity.of(cut.pair, (pinion, wheel), panel, panel.thickness, deviation)


def _hub(room: Floats, grid: PairGrid, index: int) -> Floats:
    return grid.hubs[index].holds(room) if grid.hubs else np.full(len(room), np.inf)


def _mass(gear: GearShape[Floats], panel: Panel, bore: float) -> Floats:
    mounted = MountedGear("", cast("Gear", gear), 0, 0, 0, 0.0, panel.thickness, 0.0, bore)
    return cast("Floats", mounted.mass(panel.sheet.density))
