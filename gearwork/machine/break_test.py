"""The break test: teeth of a gear broken one after the other by a lever that ends in the mate's.

A sector of the gear is bolted to a plate by its axis and a second bolt, at the design's centre
distance from the pivot of the lever. Of the mate the lever has one tooth, where contact begins: on
the tip of the tested tooth, so that the force lies on the line of action. Turned by one step the
sector offers its next tooth, in another direction to the grain. `broken_in` reads what broke.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from gearwork.checks.hub.johansen import bolt_embedment, wood_to_wood, yield_moment
from gearwork.checks.tooth.break_readings import DURATION, broken_teeth, direction_break
from gearwork.checks.tooth.breaking import breaking_shares, expected_break
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import beam_roots, line_load
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.errors import Bound, GearworkError, check_given
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline, as_complex, depth_inside
from gearwork.geometry.pair import SIDES, Side
from gearwork.geometry.part import Cut, Part
from gearwork.geometry.rack import Rack
from gearwork.geometry.toolpath import SMOOTH
from gearwork.geometry.tooth import CutTooth
from gearwork.machine.load import GRAVITY
from gearwork.machine.stage import LAYERS, TORQUE, Stage
from gearwork.machine.testpiece import some_teeth
from gearwork.numbers import Complexes, Floats, round_up
from gearwork.stock.bit import BIT, Bit
from gearwork.stock.hardware import nut, rod, washer
from gearwork.stock.plywood import Plywood

COPIES = 5
"""Sectors to cut: as many teeth of each direction."""

STEP, SPAN = 30.0, 80.0
"""Degrees between tested directions, about, and from the first to the last at least: a fillet's
edge turns through some eighty, so that some tooth is pulled hard along each direction."""

MIDDLE = 112.0
"""Middle of the tested directions, degrees: the first and the last are then pulled hardest where
the edge runs along the face grain and across it, the places at which most teeth break."""

SCALE = 20.0
"""What the scale should show at the strongest tooth, kg: luggage scales go to 40 or 50."""

ARM = (150.0, 900.0)
"""Length of the lever, mm."""

MAX_SHOWN = 60.0
"""What may be pulled by hand or hung up in a bucket, kg: above that the test is not offered."""

ENDS = 75.0
"""Room for both ends of the lever beyond its arm, mm."""

BOLTS = ("M6", "M8", "M10", "M12")
BOLT_STRENGTH = 400.0
"""MPa: of class 4.6, the weakest that is sold; a stronger bolt does no harm."""

BESIDE = 1.75
"""Wood beside the middle of a hole in bolt diameters; 3 between holes (EN 1995-1-1 table 8.4, from
memory: 3 d to a loaded edge is not kept, for a load of a minute)."""

HELD = 70.0
"""Height of the plate's foot, for a vice or clamps, mm."""


class ExpectedReading(NamedTuple):
    """What to expect of one tooth: its direction, degrees; torque on its gear, N·m, from .. to."""

    direction: float
    torque: float
    low: float
    high: float


class Held(NamedTuple):
    """Something that must outlast the tooth, and the share of its strength used when it breaks."""

    what: str
    share: float


@dataclass(frozen=True)
class BreakTest:
    """A sector, a plate and a lever, all of the gears' sheet.

    `cut`: the pair; `side`: whose teeth are broken; `thread`: of the bolts; `arm`: from pivot to
    hook, mm; `steps`: of how many teeth one is cut; `count`: how many are cut.
    """

    cut: CutPair
    side: Side
    sheet: Plywood
    thread: str
    arm: float
    steps: int
    count: int

    # -- the gears

    @property
    def tooth(self) -> CutTooth[float]:
        """The tested tooth."""
        return self.cut.tooth_of(self.side)

    @property
    def lever_tooth(self) -> CutTooth[float]:
        """The mate's, on the lever."""
        return self.cut.tooth_of("wheel" if self.side == "pinion" else "pinion")

    @property
    def gear(self) -> Gear:
        """Whose teeth are broken."""
        return self.cut.pair.pinion if self.side == "pinion" else self.cut.pair.wheel

    @property
    def mate(self) -> Gear:
        """Whose tooth stands on the lever."""
        return self.cut.pair.wheel if self.side == "pinion" else self.cut.pair.pinion

    @property
    def step(self) -> float:
        """From one tested tooth to the next, degrees."""
        return 360.0 * self.steps / self.gear.teeth

    @cached_property
    def contact(self) -> complex:
        """Where the lever touches the tested tip; gear's axis 0, pivot above it on the y axis, mm.

        Contact of the pair begins there where the lever drives, turning clockwise.
        """
        angle = np.radians(self.cut.pair.working_pressure_angle)
        pitch = self.gear.base_diameter / 2 / np.cos(angle)
        beyond = self.gear.tip_curvature - pitch * np.sin(angle)
        return complex(1j * pitch + beyond * np.exp(1j * angle))

    @property
    def push(self) -> complex:
        """Direction of the force on the tested tooth, along the line of action; of length 1."""
        return complex(-np.exp(1j * np.radians(self.cut.pair.working_pressure_angle)))

    @property
    def pivot(self) -> complex:
        """Of the lever, mm."""
        return 1j * self.cut.pair.centre_distance

    @property
    def tested(self) -> float:
        """Angle of the middle of the tested tooth, from x, degrees."""
        tip = self.gear.tip_diameter
        return float(np.degrees(np.angle(self.contact) + self.gear.thickness_at(tip) / tip))

    @property
    def lever_angle(self) -> float:
        """Angle of the middle of the lever's tooth about the pivot, from x, degrees."""
        at = self.contact - self.pivot
        size = 2 * abs(at)
        return float(np.degrees(np.angle(at) + self.mate.thickness_at(size) / size))

    @property
    def places(self) -> Floats:
        """Angles of the sector's teeth as it is drawn, degrees from x, in the order of breaking.

        The lever swings on over the tooth that broke, so the next one stands behind it.
        """
        last = (self.count - 1) / 2
        return 90.0 + self.step * np.linspace(last, -last, self.count)

    @property
    def directions(self) -> Floats:
        """Of the teeth in the order of breaking, whole degrees from the face grain."""
        found: Floats = np.round(self.places - 90.0 + MIDDLE) % 180.0
        return found

    # -- force and torque

    @property
    def ratio(self) -> float:
        """Torque on the tested gear over that on the lever: one force on both base circles."""
        return self.gear.base_diameter / self.mate.base_diameter

    @property
    def per_kilogram(self) -> float:
        """Torque on the tested gear for a kilogram at the hook, N·m."""
        return GRAVITY * self.arm / 1000.0 * self.ratio

    @cached_property
    def own_weight(self) -> float:
        """Torque on the tested gear by the weight of the lever, arm level, N·m."""
        points = self.lever.outer.points(0.1)
        after = np.roll(points, -1, axis=0)
        cross = points[:, 0] * after[:, 1] - points[:, 1] * after[:, 0]
        moment = float((points[:, 0] + after[:, 0]) @ cross / 6)  # of the area about the pivot, mm³
        return moment * self.sheet.thickness * self.sheet.density * 1e-12 * GRAVITY * self.ratio

    def shown(self, torque: float) -> float:
        """Return what the scale shows at a torque on the tested gear, N·m, kg."""
        return max(torque - self.own_weight, 0.0) / self.per_kilogram

    @cached_property
    def readings(self) -> tuple[ExpectedReading, ...]:
        """What to expect of each tooth, in the order of breaking."""
        per_torque = line_load(self.gear, 1.0, self.sheet.thickness)
        found = (direction_break(self.tooth, self.sheet, d) / per_torque for d in self.directions)
        return tuple(
            ExpectedReading(float(d), *map(float, torques))
            for d, torques in zip(self.directions, found, strict=True)
        )

    @property
    def high(self) -> float:
        """The greatest torque that is expected, on the tested gear, N·m."""
        return max(reading.high for reading in self.readings)

    @property
    def tooth_force(self) -> float:
        """Between the teeth at that torque, N."""
        return 2000.0 * self.high / self.gear.base_diameter

    @cached_property
    def outlasting(self) -> tuple[Held, ...]:
        """What must outlast the tooth at the greatest expected torque, by characteristic strengths.

        The lever's tooth, touched near its root, by means, one and a half times: that is 2.4 of the
        spreads of 17 % in which both lie.
        """
        force, thick = self.tooth_force, self.sheet.thickness
        at = 2 * abs(self.contact - self.pivot)
        rose = SheetPolar.of(self.sheet)
        share = float(breaking_shares(self.lever_tooth, at, rose).max)
        own = float(expected_break(share, self.lever_tooth.fillet_diameter / 2).mean)
        mean = max(r.torque for r in self.readings) / self.high * force / thick
        hook = force * self.mate.base_diameter / 2 / self.arm
        bolt = self.bolt_strength
        return (
            Held("the lever's tooth", 1.5 * mean / own),
            Held("the lever's arm", hook * self._arm_stress / self.sheet.tension[0]),
            Held("the bolt of the pivot", (force + hook) / bolt),
            Held("the bolts of the sector", (force + 1000 * self.high / self.locks) / bolt),
        )

    @property
    def bolt_strength(self) -> float:
        """Characteristic strength of one bolt between two of these sheets, N."""
        d, t = self.hole, self.sheet.thickness
        embedment = bolt_embedment(d, self.sheet.characteristic_density)
        modes = wood_to_wood((embedment,) * 2, (t, t), d, yield_moment(BOLT_STRENGTH, d))
        return min(modes.values())

    @property
    def bolts(self) -> str:
        """What to buy."""
        n, w = nut(self.thread), washer(self.thread)
        length = 2 * self.sheet.thickness + 2 * w.thickness + 1.3 * n.height
        return f"3 bolts {self.thread} × {5 * np.ceil(length / 5):g}, each with 2 washers and a nut"

    # -- pieces

    @property
    def hole(self) -> float:
        """Of the bolts, which must be snug: drilled to the nominal size, mm."""
        return rod(self.thread).diameter

    @property
    def edge(self) -> float:
        """Wood from the middle of a hole to an edge, mm."""
        return round_up(BESIDE * self.hole, 0)

    @property
    def locks(self) -> float:
        """Distance of the sector's second bolt from its axis, mm."""
        apart = 3 * self.hole / (2 * np.sin(np.radians(self.step / 2)))
        return float(round_up(max(apart, 2 * BESIDE * self.hole), 0))

    @property
    def parts(self) -> tuple[Part, Part, Part]:
        """What to cut: sectors, plate and lever."""
        return self.sector, self.plate, self.lever

    @cached_property
    def _sector_edge(self) -> tuple[Complexes, list[float], float, float]:
        """Vertices and bulges of the sector's teeth, and both ends of its round, radians."""
        path, bulges = _toothed(self.tooth, self.places[::-1], (True, True))
        reach = self._reach
        beside = self.edge / reach
        turns = np.radians(self._lock_angles)
        first, last = float(turns.min() - beside), float(turns.max() + beside)
        if abs(path[0]) > reach:  # where the sides would meet the round below inwards they touch it
            sideways = np.arccos(reach / abs(path[0]))
            first = max(first, np.angle(path[-1]) % (2 * np.pi) + sideways)
            last = min(last, np.angle(path[0]) % (2 * np.pi) + 2 * np.pi - sideways)
        return path, bulges, first, last

    @property
    def closes(self) -> bool:
        """Whether a bit finds room between the ends of the root circle and the round below."""
        path, _, first, last = self._sector_edge
        ends = ((path[-1], first), (path[0], last))
        return all(
            abs(self._reach * np.exp(1j * angle) - _bend(corner, self._corner)) > self._corner
            for corner, angle in ends
        )

    @cached_property
    def sector(self) -> Part:
        """The teeth, the gear's axis at 0."""
        path, bulges, first, last = self._sector_edge
        left, left_bulges = _leaving(path[-1], self._reach * np.exp(1j * first), 0.0, self._corner)
        right, right_bulges = _leaving(
            _mirrored(path[0]), _mirrored(self._reach * np.exp(1j * last)), 0.0, self._corner
        )
        outer = Outline(
            np.concatenate([path, left, _mirrored(right[::-1])]),
            [*bulges, *left_bulges, np.tan((last - first) / 4), *right_bulges[::-1]],
        )
        holes = [0j, *(self.locks * np.exp(1j * np.radians(self._lock_angles)))]
        numbers = ", ".join(f"{i}: {d:g}" for i, d in enumerate(self.directions, 1))
        notes = (
            "teeth from the left in the order of breaking, degrees to the grain:",
            numbers,
            "push on the right flank of each",
        )
        return self._part("sector", outer, holes, notes, (90.0 - MIDDLE) % 180.0, COPIES)

    @property
    def wood(self) -> float:
        """Least wood between a hole of the sector and its edge, mm."""
        edges = [cut.outline.points(0.1) for cut in self.sector.cuts]
        return float(depth_inside(np.concatenate(edges), self.sector.outer, 0.1).min())

    @cached_property
    def plate(self) -> Part:
        """What holds both, the gear's axis at 0."""
        wide = max(6 * self.edge, 80.0)
        low, top = -self.locks - 2 * self.edge - HELD, round_up(self.pivot.imag + self.edge, 0)
        corners = np.array([-wide / 2 + 1j * low, wide / 2 + 1j * low])
        corners = np.append(corners, corners[::-1].real + 1j * top)
        notes = (
            f"pivot {self.pivot.imag:.2f} mm above the axis of the sector",
            f"hold the lowest {HELD:g} mm in a vice or in clamps, upright",
        )
        holes = [0j, -1j * self.locks, self.pivot]
        return self._part("plate", Outline(corners, np.zeros(4)), holes, notes, 90.0)

    @cached_property
    def lever(self) -> Part:
        """The mate's tooth and the arm, the pivot at 0."""
        path, bulges, arm, arcs = self._lever_edge
        notes = (
            f"arm {self.arm:g} mm: 1 kg at it is {self.per_kilogram:.3f} N m on the {self.side}",
            "wax the tooth",
        )
        outer = Outline(np.concatenate([path, arm]), [*bulges, *arcs])
        return self._part("lever", outer, [0j, complex(self.arm)], notes)

    @cached_property
    def _lever_edge(self) -> tuple[Complexes, list[float], Complexes, list[float]]:
        """Vertices and bulges of the lever's tooth and of its arm."""
        path, bulges = _toothed(self.lever_tooth, np.array([self.lever_angle]), (True, False))
        head, end = min(1.5 * self.edge, 0.9 * abs(path[0])), self.edge
        low, low_bulges = _leaving(path[-1], complex(self.arm), end, self._corner)
        normal = np.arccos((head - end) / self.arm)  # of the upper edge, touching both rounds
        back = np.angle(path[0]) - np.arccos(head / abs(path[0]))
        start = np.angle(low[-1] - self.arm)
        turns = [(normal - start) % (2 * np.pi), (back - normal) % (2 * np.pi)]
        top = [self.arm + end * np.exp(1j * normal), head * np.exp(1j * normal)]
        arm = np.array([*low, *top, head * np.exp(1j * back)])
        arcs = [*low_bulges, np.tan(turns[0] / 4), 0.0, np.tan(turns[1] / 4), 0.0]
        return path, bulges, arm, arcs

    @property
    def _arm_stress(self) -> float:
        """Greatest bending stress in the arm for 1 N at its hook, MPa, less the pivot's hole."""
        path, _, arm, _ = self._lever_edge
        low, high, head = arm[-4], arm[-3], arm[-2]
        x = np.linspace(0.0, 0.9 * self.arm, 50)
        under = np.interp(x, [path[-1].real, low.real], [path[-1].imag, low.imag])
        over = np.interp(x, [head.real, high.real], [head.imag, high.imag])
        wood = over - under - np.where(x < self.hole, self.hole, 0.0)
        return float((6 * (self.arm - x) / (self.sheet.thickness * wood**2)).max())

    @property
    def _lock_angles(self) -> Floats:
        """Angles of the sector's second bolt for each tooth, degrees from x."""
        return 270.0 - self.tested + self.places

    @property
    def _reach(self) -> float:
        """Of the sector's round below, from its axis, mm."""
        return self.locks + self.edge

    @property
    def _corner(self) -> float:
        """Radius of inward corners, mm: twice the bit's."""
        return float(self.cut.bit.cut_diameter)

    def _part(
        self,
        name: str,
        outer: Outline,
        holes: list[complex],
        notes: tuple[str, ...],
        grain: float = 0.0,
        count: int = 1,
    ) -> Part:
        cuts = tuple(Cut.drilled(self.hole, (at.real, at.imag)) for at in holes)
        told = (*notes, f"drill {self.hole:g} mm, snug for {self.thread} bolts")
        thick = self.sheet.thickness
        return Part(f"break test {name}", outer, thick, cuts, count, grain, told)


def make_break_test(
    cut: CutPair, sheet: Plywood, side: Side | None = None, longest: float = ARM[1]
) -> BreakTest:
    """Return the break test of a pair.

    Parameters
    ----------
    cut : CutPair
        The gears and the bit.
    sheet : Plywood
        What they are cut from.
    side : {"pinion", "wheel"}, optional
        Whose teeth to break; default those that break first.
    longest : float
        Arm for which the sheet as bought has room, mm.

    Returns
    -------
    BreakTest
        Its `parts` are what to cut, its `readings` what to expect of each tooth.

    Raises
    ------
    GearworkError
        If the bolts would not fit, or something would break before the tooth.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> cut = CutPair(GearPair(Gear(5, 16), Gear(5, 44)), Bit(3.0))
    >>> test = make_break_test(cut, plywood("birch", 9))
    >>> test.side, test.directions.tolist()
    ('pinion', [157.0, 134.0, 112.0, 90.0, 67.0])
    """
    if isinstance(cut.pair.wheel, Rack):
        raise GearworkError("a rack turns about no axis: its teeth cannot be broken on a lever")
    for each in SIDES:
        cut.running(each)
    if side is None:
        roots = beam_roots(cut, sheet)
        weaker: Side = "pinion" if roots["pinion"].share > roots["wheel"].share else "wheel"
        return make_break_test(cut, sheet, weaker, longest)
    teeth = (cut.pair.pinion if side == "pinion" else cut.pair.wheel).teeth
    steps = max(1, round(STEP * teeth / 360.0))
    count = int(np.ceil(SPAN * teeth / 360.0 / steps - 0.02)) + 1
    smallest = min(cut.pinion.root_diameter, cut.wheel.root_diameter) / 2
    for thread, fewer in product(BOLTS, (0, 1)):
        test = BreakTest(cut, side, sheet, thread, ARM[0], steps, count - fewer)
        torque = test.high / test.ratio
        arm = min(max(1000 * torque / (GRAVITY * SCALE), ARM[0]), max(longest, ARM[0]))
        test = replace(test, arm=round_up(arm, -1))
        if smallest < 1.3 * test.hole:
            break
        if test.shown(test.high) > MAX_SHOWN:
            raise GearworkError(
                f"teeth of module {cut.pair.pinion.module:g} mm take {test.shown(test.high):.0f} kg"
                f" on a lever of {test.arm:g} mm to break: that is too much for a scale or a bucket"
            )
        fits = test.closes and test.wood >= 0.7 * test.hole
        if fits and all(held.share <= 1.0 for held in test.outlasting):
            return test
    raise GearworkError(
        f"teeth of module {cut.pair.pinion.module:g} mm cannot be broken on a lever of their own"
        " sheet: its bolts do not fit its gears, or would give way first"
    )


def _toothed(
    tooth: CutTooth[float], places: Floats, more: tuple[bool, bool]
) -> tuple[Complexes, list[float]]:
    """Vertices and bulges of single teeth at rising angles, degrees, with root circle between.

    `more`: whether the root goes on by one and a half modules before the first, after the last.
    """
    edge, teeth = tooth_outline(tooth), int(tooth.gear.teeth)
    corners, arcs = some_teeth(edge, teeth, 1)
    single, half = as_complex(corners), 180.0 / teeth
    root = abs(single[0])
    room = np.degrees(1.5 * tooth.gear.module / root)
    points: list[complex] = []
    bulges: list[float] = []
    gaps = [*(np.diff(places) - 2 * half), room if more[1] else 0.0]
    if more[0]:
        points.append(root * np.exp(1j * np.radians(places[0] - half - room)))
        bulges.append(float(np.tan(np.radians(room) / 4)))
    for place, gap in zip(places, gaps, strict=True):
        points += list(single * np.exp(1j * np.radians(place - 90.0)))
        bulges += arcs.tolist()
        if gap < 1e-6:
            points.pop()  # the next tooth begins there
            continue
        bulges.append(float(np.tan(np.radians(gap) / 4)))
    end = places[-1] + half + (room if more[1] else 0.0)
    points.append(root * np.exp(1j * np.radians(end)))
    return np.array(points), bulges


def _leaving(
    corner: complex, target: complex, radius: float, inward: float
) -> tuple[Complexes, list[float]]:
    """The way from the end of a root circle about 0 to a round about a target, of radius 0 to it.

    Vertices after the corner, and bulges from it on but for the last. An inward corner is rounded.
    """
    along = 1j * corner / abs(corner)  # the way the root circle goes
    for bend in (0.0, inward):
        centre = _bend(corner, bend)
        way = target - centre
        side = np.angle(way) + np.arccos((bend + radius) / abs(way))
        turn = float((side - np.pi / 2 - np.angle(along) + np.pi) % (2 * np.pi) - np.pi)
        if bend == 0.0 and turn > -np.radians(SMOOTH):
            return np.array([target - radius * np.exp(1j * side)]), [0.0]
    start = centre + bend * np.exp(1j * side)
    end = target - radius * np.exp(1j * side)
    return np.array([start, end]), [float(np.tan(turn / 4)), 0.0]


def _bend(corner: complex, radius: float) -> complex:
    """Centre of the round in a corner of a root circle about 0, which it touches from outside."""
    return corner * (1 + radius / abs(corner))


def _mirrored(points: Any) -> Any:
    return -np.conj(points)


class StageBreakTest(NamedTuple):
    """A break test, and the number of the stage whose teeth it breaks."""

    stage: int
    test: BreakTest


def broken_in(
    sheet: Plywood,
    stage: Stage,
    of_sheet: str,
    gear: Literal["pinion", "wheel"],
    bit_diameter: Annotated[float, BIT],
    torque: Annotated[Sequence[float], TORQUE],
    direction: Annotated[Sequence[float], Bound("°", at_least=0.0, at_most=180.0)],
    duration: Annotated[float, DURATION],
    layers: Annotated[int, LAYERS] = 1,
) -> Plywood:
    """Return the sheet with what its broken teeth showed.

    Parameters
    ----------
    sheet : Plywood
        Of the gears.
    stage : Stage
        The pair whose teeth were broken.
    of_sheet : str
        Name of the sheet they were cut from: readings of another say nothing of this one.
    gear : {"pinion", "wheel"}
        Whose teeth they were.
    bit_diameter : float
        What the bit cut, mm.
    torque, direction : sequence of float
        On that gear, N·m, and degrees from the face grain, as drawn, of every broken tooth.
    duration : float
        From the first pull to the break, of the quickest tooth, s.
    layers : int
        Sheets, all alike, that the teeth were thick.

    Raises
    ------
    GearworkError
        If the readings are of another sheet, too few, or cannot be.
    """
    if of_sheet != sheet.name:
        raise GearworkError(
            f"of_sheet is {of_sheet!r} and the gears are of {sheet.name!r}: broken teeth tell of"
            " their own sheet alone; break some of this one, or take the table out"
        )
    check_given(broken_in, locals())
    cut = CutPair(stage.pair, Bit(bit_diameter))
    shown = broken_teeth(cut, gear, sheet, layers, torque, direction, duration)
    return replace(sheet, broken_teeth=shown)
