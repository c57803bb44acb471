"""Rim and spokes of a gear with lightening windows, and the weight they save.

A plane frame of straight beams stands for rim and spokes, clamped to the hub where the windows
begin and loaded at a tooth's tip. Its sections are judged as a tooth is: tension by the peak at the
windows' corners, notch counted, in the sheet's worst direction; compression, which yields, by the
whole section; shear. Finite elements on ten wheels of birch plywood with 3 to 10 spokes give 0.46
to 1.02 of the peaks found this way (two such wheels are among the tests).

The rim's bending also adds to the stress at the tooth's root, on the pushed side: by finite
elements on eleven wheels up to min(1, 0.72 / m_B) of the rim's own edge stress. It is counted on
the pulled side too, where a tooth breaks; or the rim factor K_B of steel gears, if that is more.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import ceil, log
from typing import Any, Literal

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject, Way
from gearwork.checks.tooth.breaking import YIELDED, breaking_shares
from gearwork.checks.tooth.load_case import LoadCase
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.speed import DEVIATION
from gearwork.checks.tooth.strength import (
    PARAMETERS,
    Capacity,
    ToothLimit,
    WeakestRoot,
    asked,
    line_load,
    root_basis,
    speed_factors,
    weakest_place,
    what_is_given,
)
from gearwork.checks.tooth.stress import SheetPolar, Utilisation, notch_factor
from gearwork.errors import GearworkError
from gearwork.geometry.features import Windows
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.pair import Side
from gearwork.geometry.part import Heft, prism, taken_off
from gearwork.geometry.tooth import CutTooth, load_at
from gearwork.numbers import Floats, Ints, last_that, round_up
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor, design_value

SHEAR_SHARE = 5 / 6  # of a rectangle's section (Timoshenko)
ROOT_SHARE = 0.75  # over m_B, at most 1: what of the rim's edge stress arrives at the tooth's root
PIECES = 8  # beams of the rim from spoke to spoke
SHEAR_RATIO = 1 / 2.6  # G/E of an isotropic sheet: its own directions come in afterwards
MIN_RIM, WANTED_RIM = 0.5, 1.2  # tooth depths, AGMA 2001-D04 (from memory)
FRAME = "plane frame of rim and spokes, notch factor ISO 6336-3, stiffness of the sheet"

Part = Literal["spoke", "rim"]
PARTS: dict[Part, tuple[str, str]] = {
    "spoke": ("spokes", "spoke_width"),
    "rim": ("rim between the spokes", "rim_thickness"),
}
GROWTHS = (1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0)  # tried for the remedy


@dataclass(frozen=True)
class PlaneFrame:
    """Beams between nodes by the direct stiffness method, all per mm of thickness.

    Beams bend, stretch and shear (Timoshenko), joints are stiff; nodes that are held neither move
    nor turn. Only ratios of stiffness count: `shear_ratio` is shear over Young's modulus.
    """

    nodes: Floats  # mm, (n, 2)
    beams: Ints  # node numbers of start and end, (e, 2)
    depth: Floats  # height of each beam's section in the plane, mm, (e,)
    held: Ints
    shear_ratio: float

    def section_forces(self, loads: Floats) -> Floats:
        """Return what acts at start and end of each beam, (e, 2, 3, k) for k cases.

        Force along it from start to end and across it in N/mm, moment in N·mm/mm. Loads are
        forces in x and y and moment on each node, (n, 3, k).
        """
        count = 3 * len(self.nodes)
        run = self.nodes[self.beams[:, 1]] - self.nodes[self.beams[:, 0]]
        length = np.hypot(*run.T)
        x, y = (run / length[:, None]).T
        none, one = np.zeros(len(x)), np.ones(len(x))
        turn = np.moveaxis(np.array([[x, y, none], [-y, x, none], [none, none, one]]), -1, 0)
        turns = np.kron(np.eye(2), turn)  # from the frame's axes to each beam's, (e, 6, 6)
        parts = self._stiffness(length)
        places = (3 * self.beams[:, :, None] + np.arange(3)).reshape(-1, 6)
        matrix = np.zeros((count, count))
        turned = np.swapaxes(turns, 1, 2) @ parts @ turns
        np.add.at(matrix, (places[:, :, None], places[:, None, :]), turned)
        held = 3 * self.held[:, None] + np.arange(3)
        free = np.setdiff1d(np.arange(count), held)
        given = loads.reshape(count, -1)
        moved = np.zeros(given.shape)
        moved[free] = np.linalg.solve(matrix[np.ix_(free, free)], given[free])
        forces = parts @ (turns @ moved[places])
        return np.asarray(forces.reshape(len(self.beams), 2, 3, -1))

    def _stiffness(self, length: Floats) -> Floats:
        """(e, 6, 6) stiffness of each beam in its own axes, for a Young's modulus of 1."""
        depth = self.depth
        shear = depth**2 / (SHEAR_SHARE * self.shear_ratio * length**2)
        bend = depth**3 / (12 * length**3 * (1 + shear))
        near, far = (4 + shear) * length**2, (2 - shear) * length**2
        result = np.zeros((len(length), 6, 6))
        stretch = np.array([[1.0, -1.0], [-1.0, 1.0]])
        result[:, 0::3, 0::3] = (depth / length)[:, None, None] * stretch
        one, arm = np.full(len(length), 12.0), 6 * length
        rows = [
            [one, arm, -one, arm],
            [arm, near, -arm, far],
            [-one, -arm, one, -arm],
            [arm, far, -arm, near],
        ]
        across = np.array([1, 2, 4, 5])
        result[:, across[:, None], across] = (
            np.moveaxis(np.array(rows), -1, 0) * bend[:, None, None]
        )
        return result


@dataclass(frozen=True)
class WheelStress:
    """Stress in a wheel with windows for 1 N of normal force per mm of face width, MPa."""

    spoke: float  # along the windows' edge in an isotropic sheet, notch counted
    rim: float
    root: float  # what the rim's bending adds at the tooth's root
    spoke_push: float  # of a section that yields all over
    rim_push: float
    spoke_shear: float  # largest of the parabola across the section
    rim_shear: float


def tooth_depth(cut: CutTooth[float]) -> float:
    """Return the depth of the tooth as cut, mm."""
    return (cut.gear.tip_diameter - cut.root_diameter) / 2


def rim_ratio(cut: CutTooth[float], windows: Windows) -> float:
    """Return m_B, thickness of the rim below the root circle over the tooth's depth as cut."""
    return windows.rim_thickness / tooth_depth(cut)


@lru_cache(maxsize=256)
def wheel_stress(cut: CutTooth[float], windows: Windows) -> WheelStress:
    """Return the largest stress in spokes and rim, whichever tooth and flank carries the load."""
    window = windows.cuts(cut, cut.root_diameter)[0].outline
    start = float(np.hypot(*window.points(0.05).T).min())
    end = cut.root_diameter / 2 - windows.rim_thickness
    # Rim nodes first, then the spokes' ends at the hub, then at the rim's inner edge.
    count, pieces = windows.count, PIECES * windows.count
    round_, spokes = (np.exp(2j * np.pi / n * np.arange(n)) for n in (pieces, count))
    nodes = np.concatenate(
        [(end + windows.rim_thickness / 2) * round_, start * spokes, end * spokes]
    )
    around, spoke = np.arange(pieces), np.arange(count)
    at_hub, inside = pieces + spoke, pieces + count + spoke
    outward = np.column_stack([at_hub, inside, inside, PIECES * spoke]).reshape(-1, 2)
    depths = [np.full(pieces, windows.rim_thickness), np.full(2 * count, windows.spoke_width)]
    frame = PlaneFrame(
        nodes=np.column_stack([nodes.real, nodes.imag]),
        beams=np.vstack([np.column_stack([around, np.roll(around, -1)]), outward]),
        depth=np.concatenate(depths),
        held=at_hub,
        shear_ratio=SHEAR_RATIO,
    )
    forces = frame.section_forces(_loads(cut, frame, count))
    rim, inner = forces[:pieces], forces[pieces::2]
    corner, reach = windows.corner_diameter / 2, (end - start) / 2
    wide, thick = windows.spoke_width, windows.rim_thickness
    at_spokes = rim[::PIECES, 0], rim[PIECES - 1 :: PIECES, 1]
    beside = np.stack([_edge(forces, thick) for forces in at_spokes])
    plain = float(_edge(rim, thick).max())
    return WheelStress(
        spoke=float(_edge(inner, wide).max() * notch_factor(wide, reach, corner)),
        rim=float(max(plain, beside.max() * notch_factor(thick, reach, corner))),
        root=plain * min(1.0, ROOT_SHARE / rim_ratio(cut, windows)),
        spoke_push=float(_edge(inner, wide, YIELDED).max()),
        rim_push=float(_edge(rim, thick, YIELDED).max()),
        spoke_shear=float(1.5 * np.abs(inner[:, :, 1]).max() / wide),
        rim_shear=float(1.5 * np.abs(rim[:, :, 1]).max() / thick),
    )


def _loads(cut: CutTooth[float], frame: PlaneFrame, count: int) -> Floats:
    """Either flank of teeth that stand from one spoke on to the middle of a window."""
    gear = cut.gear
    angle = np.radians(load_at(gear, gear.tip_diameter).angle)
    half = gear.thickness_at(gear.tip_diameter) / gear.tip_diameter
    tip, push = gear.tip_diameter / 2 * np.exp(1j * half), -(np.sin(angle) + 1j * np.cos(angle))
    loads = np.zeros((len(frame.nodes), 3, 2 * (PIECES // 2 + 1)))
    for node in range(PIECES // 2 + 1):
        turn = np.exp(2j * np.pi * node / (PIECES * count))
        for flank, (place, force) in enumerate([(tip, push), (np.conj(tip), np.conj(push))]):
            arm = place * turn - complex(*frame.nodes[node])
            moment = (np.conj(arm) * force * turn).imag
            loads[node, :, 2 * node + flank] = (force * turn).real, (force * turn).imag, moment
    return loads


def _edge(forces: Floats, depth: float, bent: float = 1.0) -> Floats:
    """Largest stress at the edges of a section; the second last axis is force, shear, moment.

    `bent`: share of the bending stress that counts, 1 where nothing yields.
    """
    along, moment = np.abs(forces[..., 0, :]), np.abs(forces[..., 2, :])
    return np.asarray(along / depth + bent * 6 * moment / depth**2)


def rim_factor(ratio: float) -> float:
    """Return K_B, by which a thin rim raises the stress at the tooth's root.

    AGMA 2001-D04, annex B (from memory): 1 from m_B = 1.2 on, below it 1.6 ln(2.242 / m_B).
    Derived for steel.
    """
    return max(1.0, 1.6 * log(2.242 / ratio))


def windows_save(
    cut: CutTooth[float], windows: Windows, panel: Panel, face_width: float
) -> tuple[Heft, Heft]:
    """Return mass and inertia of the gear without windows, and what they take off."""
    edge = tooth_outline(cut)
    saved = taken_off(windows.cuts(cut, cut.root_diameter), face_width, panel.sheet.density)
    return prism(edge, face_width, panel.sheet.density), saved


@dataclass(frozen=True)
class RimReport(CheckReport):
    """The checks of a gear's rim and spokes, and in words what its windows save."""

    saving: str


def rim_checks(
    cut: CutPair,
    side: Side,
    windows: Windows,
    panel: Panel,
    face_width: float,
    limits: Sequence[ToothLimit],
    deviation: float = DEVIATION,
    asks: Mapping[str, str] = PARAMETERS,
) -> RimReport:
    """Return the checks of a gear's rim and spokes.

    Parameters
    ----------
    cut : CutPair
        The pair as cut.
    side : {"pinion", "wheel"}
        Which of its gears has the windows.
    windows : Windows
        The windows.
    panel : Plywood or Stack
        What the gear is cut from.
    face_width : float
        b, mm.
    limits : sequence of ToothLimit
        Of the pair, from `tooth_limits`: they bring the load cases.
    deviation : float
        Of base pitch and profile as cut, mm.
    asks : mapping
        What gives the torque of each case, and "speed"; nothing where drive and load do.

    Returns
    -------
    RimReport
        Rim thickness, teeth on their rim, spokes and rim in every load case; the title tells the
        weight saved.

    Raises
    ------
    GearworkError
        If the windows do not fit the gear or the bit.

    Examples
    --------
    >>> import gearwork as gw
    >>> cut = gw.CutPair(gw.GearPair(gw.Gear(5, 14, 0.25), gw.Gear(5, 38)), gw.Bit(3.0))
    >>> sheet = gw.plywood("birch", 12)
    >>> cases = gw.checks.load_cases(1.0, 150.0, gw.Service())
    >>> limits = gw.checks.tooth_limits(cut, sheet, 24.0, cases)
    >>> windows = gw.Windows(
    ...     count=6, hub_diameter=60, rim_thickness=20, spoke_width=20, corner_diameter=12
    ... )
    >>> rim_checks(cut, "wheel", windows, sheet, 24.0, limits).ok
    True
    """
    tooth = cut.tooth_of(side)
    own = [limit for limit in limits if limit.side == side and limit.kind != "contact"]
    wheel = _Wheel(cut, side, windows, panel, face_width, SheetPolar.of(panel), deviation, asks)
    whole, saved = windows_save(tooth, windows, panel, face_width)
    saving = (
        f"{windows.count} windows, which save {saved.mass:.3g} kg of {whole.mass:.3g} kg and"
        f" {100 * saved.inertia / whole.inertia:.0f} % of the inertia"
    )
    thicker = (_sized("rim_thickness", round_up(WANTED_RIM * tooth_depth(tooth), 1)),)
    checks = (
        Check(
            judged="rim thickness",
            part=side,
            value=rim_ratio(tooth, windows),
            limit=MIN_RIM,
            wanted=WANTED_RIM,
            unit="tooth depths",
            sense="at least",
            why="A rim thinner than its teeth are high bends with them and breaks below them.",
            ways=thicker,
            source="AGMA 2001-D04 (from memory); derived for steel",
        ),
        *(wheel.root_check(limit) for limit in own),
        *(wheel.check(part, limit.case) for part in PARTS for limit in own),
    )
    return RimReport(Subject("rim", f"{side} with {saving}"), checks, saving)


@dataclass(frozen=True)
class _Wheel:
    """A gear with windows, and the checks of its rim and spokes in one load case."""

    cut: CutPair
    side: Side
    windows: Windows
    panel: Panel
    face_width: float
    rose: SheetPolar
    deviation: float
    asks: Mapping[str, str]

    @property
    def tooth(self) -> CutTooth[float]:
        return self.cut.tooth_of(self.side)

    @cached_property
    def stress(self) -> WheelStress:
        return wheel_stress(self.tooth, self.windows)

    def root_check(self, limit: ToothLimit) -> Check:
        """Return the check of the tooth's root on a rim that bends."""
        used = self._root_used(limit.case)
        torque = limit.case.torque / used if used else np.inf
        ways = self._mended("rim_thickness", limit.case, used, _Wheel._root_used)
        return Check(
            judged="tooth bending on its rim",
            part=self.side,
            case=limit.case.name,
            kind=limit.case.kind,
            value=_stress(used, limit.strength),
            limit=limit.strength,
            unit="MPa",
            sense="at most",
            meaning=(
                "The rim bends under the tooth, which adds to the stress at the tooth's root.",
            ),
            why=what_is_given(torque, limit.case),
            ways=ways,
            source=f"{limit.source}; {FRAME}; at least K_B of AGMA 2001-D04 (from memory)",
            basis=limit.basis,
        )

    def check(self, part: Part, case: LoadCase) -> Check:
        """Return the check of the windows' edge."""
        place = self._place(part)
        factors = self._factors(case, place.share, "shear")
        design, used = design_value(place.strength, *factors), self._used(part, case)
        judged, size = PARTS[part]
        torque = case.torque / used if used else np.inf
        ways = self._mended(size, case, used, lambda w, c: w._used(part, c))
        return Check(
            judged=judged,
            part=self.side,
            case=case.name,
            kind=case.kind,
            value=_stress(used, design),
            limit=design,
            unit="MPa",
            sense="at most",
            meaning=(
                f"{place.kind.capitalize()} at the edge of a window, whichever tooth carries the"
                " load and however the sheet lies.",
            ),
            why=what_is_given(torque, case),
            ways=ways,
            source=FRAME,
            basis=root_basis(place, self.panel, factors),
        )

    def _root_used(self, case: LoadCase) -> float:
        teeth, tip = SheetPolar.of_teeth(self.panel), self.tooth.gear.tip_diameter
        alone, rim = breaking_shares(self.tooth, tip, teeth), self.stress.root
        share = max(
            rim_factor(rim_ratio(self.tooth, self.windows)) * float(alone.max),
            float(alone.tension) + rim * self.rose.worst_tension,
            float(alone.compression) + rim * self.rose.worst_compression,
        )
        return self._used_by(case, share, "tension")

    def _used(self, part: Part, case: LoadCase) -> float:
        return self._used_by(case, self._place(part).share, "shear")

    def _place(self, part: Part) -> WeakestRoot:
        rose = self.rose
        edge, push, shear = (
            float(getattr(self.stress, f"{part}{what}")) for what in ("", "_push", "_shear")
        )
        share = Utilisation(
            edge * rose.worst_tension, push * rose.worst_compression, shear * rose.worst_shear
        )
        return weakest_place(share, rose, FRAME)

    def _used_by(self, case: LoadCase, share: float, kind: str) -> float:
        """Part of the design strength used where 1 N/mm uses a share of the characteristic one."""
        load = line_load(self.cut.pair.pinion, case.torque, self.face_width)
        left = design_value(1.0, *self._factors(case, share, kind))
        used = float(case.application_factor * load * share)
        return used / left if left > 0.0 else np.inf

    def _factors(self, case: LoadCase, share: float, kind: str) -> tuple[Factor, ...]:
        """Factors of a place with such a share; windows tire as in shear, which tires soonest."""
        capacity = Capacity.of(
            self.cut.pair, (share, share), self.panel, self.face_width, self.deviation
        )
        return speed_factors(self.cut, self.side, capacity, case, float(capacity.pinion), kind)

    def _mended(
        self, field: str, case: LoadCase, used: float, again: Callable[["_Wheel", LoadCase], float]
    ) -> tuple[Way, ...]:
        """What size would be enough, and what torque or, where none is allowed, what speed."""
        if used <= 1.0:
            return ()
        ways = asked(self.asks, case.name, case.torque / used if used < np.inf else 0.0)
        if used == np.inf:  # deviations alone use the strength up at this speed
            slow = last_that(
                lambda rpm: again(self, replace(case, speed=rpm)) <= 1.0, 0.0, case.speed, 30
            )
            ways = asked(self.asks, "speed", slow)
        for growth in GROWTHS:
            wider: dict[str, Any] = {field: float(ceil(growth * getattr(self.windows, field)))}
            try:
                other = replace(self, windows=replace(self.windows, **wider))
                if again(other, case) <= 1.0:
                    return (_sized(field, wider[field]), *ways)
            except GearworkError:
                break
        return ((("stage.windows", None),), *ways)


def _sized(field: str, size: float) -> Way:
    return ((f"stage.windows.{field}", size),)


def _stress(used: float, strength: float) -> float:
    """The stress that uses so much of a strength, MPa; of none that speed leaves, without end."""
    return used * strength if strength > 0.0 else np.inf
