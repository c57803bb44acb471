"""Rim and spokes of a gear with lightening windows, and the weight they save.

The edge stresses of the frame of rim and spokes pass through the same steps as those of a tooth:
the notch factor at the windows' corners, then the sheet in its worst direction. At the tooth's root
the greater of the rim's bending and the rim factor K_B of AGMA 2001-D04 counts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, log
from typing import Any, Literal

import numpy as np

from gearwork.checks.load_case import LoadCase
from gearwork.checks.mesh import CutPair
from gearwork.checks.strength import (
    ToothLimit,
    WeakestRoot,
    line_load,
    root_basis,
    weakest_place,
)
from gearwork.checks.tooth_stress import SheetRose, Utilisation
from gearwork.checks.verdict import Check, CheckReport
from gearwork.checks.wheel_stress import WheelStress, rim_ratio, tooth_depth, wheel_stress
from gearwork.errors import GearworkError
from gearwork.geometry.mass import Heft, polar_moment, taken_off
from gearwork.geometry.pair import Side
from gearwork.geometry.tooth import CutTooth
from gearwork.geometry.toothed_edge import tooth_outline
from gearwork.geometry.windows import Windows
from gearwork.rounding import figures_down, round_up
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import Factor, design_value

LEAST_RIM = 0.5
WANTED_RIM = 1.2
"""Rim thickness in tooth depths, AGMA 2001-D04 (from memory)."""

FRAME = "plane frame of rim and spokes, notch factor ISO 6336-3, stiffness of the sheet"

Part = Literal["spoke", "rim"]
PARTS: dict[Part, str] = {"spoke": "spokes", "rim": "rim between the spokes"}
GROWTHS = (1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0)
"""Tried for the remedy."""
SIZES: dict[Part, str] = {"spoke": "spoke_width", "rim": "rim_thickness"}


def rim_factor(ratio: float) -> float:
    """Return K_B, by which a thin rim raises the stress at the tooth's root.

    Parameters
    ----------
    ratio : float
        m_B, see `rim_ratio`.

    References
    ----------
    AGMA 2001-D04, annex B (from memory): 1 from m_B = 1.2 on, below it 1.6 ln(2.242 / m_B).
    Derived for steel.
    """
    return max(1.0, 1.6 * log(2.242 / ratio))


def windows_save(
    cut: CutTooth[float], windows: Windows, panel: Panel, face_width: float
) -> tuple[Heft, Heft]:
    """Return mass and inertia of the gear without windows, and what they take off.

    Parameters
    ----------
    cut : CutTooth
        The gear's tooth.
    windows : Windows
        Its windows.
    panel : Plywood or Stack
        Its density counts.
    face_width : float
        mm.
    """
    edge = tooth_outline(cut)
    volume, polar = 1e-9 * edge.area * face_width, 1e-15 * polar_moment(edge) * face_width
    saved = taken_off(windows.cuts(cut, cut.root_diameter), face_width, panel.density)
    return Heft(volume * panel.density, polar * panel.density), saved


def rim_checks(
    cut: CutPair,
    side: Side,
    windows: Windows,
    panel: Panel,
    face_width: float,
    limits: Sequence[ToothLimit],
) -> CheckReport:
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

    Returns
    -------
    CheckReport
        Rim thickness, teeth on their rim, spokes and rim in every load case; the title tells the
        weight saved.

    Raises
    ------
    GearworkError
        If the windows do not fit the gear or the bit.

    Examples
    --------
    >>> import gearwork as gw
    >>> cut = gw.CutPair.by(gw.GearPair(gw.Gear(5, 14, 0.25), gw.Gear(5, 38)), gw.Bit(3.0))
    >>> sheet = gw.plywood("birch", 12)
    >>> limits = gw.tooth_limits(cut, sheet, 24.0, gw.load_cases(1.0, 150.0, gw.Service()))
    >>> windows = gw.Windows(
    ...     count=6, hub_diameter=60, rim_thickness=20, spoke_width=20, corner_diameter=12
    ... )
    >>> rim_checks(cut, "wheel", windows, sheet, 24.0, limits).ok
    True
    """
    tooth = cut.tooth_of(side)
    own = [limit for limit in limits if limit.side == side and limit.kind != "contact"]
    wheel = _Wheel(cut, side, windows, panel, face_width, SheetRose.of(panel))
    whole, saved = windows_save(tooth, windows, panel, face_width)
    return CheckReport(
        f"{side} with {windows.count} windows, which save {saved.mass:.3g} kg of"
        f" {whole.mass:.3g} kg and {saved.inertia / whole.inertia:.0%} of the inertia",
        (
            _thickness_check(tooth, side, windows),
            *(wheel.root_check(limit) for limit in own),
            *(wheel.check(part, limit.case) for part in PARTS for limit in own),
        ),
    )


def _thickness_check(cut: CutTooth[float], side: Side, windows: Windows) -> Check:
    return Check(
        name=f"rim thickness, {side}",
        value=rim_ratio(cut, windows),
        limit=LEAST_RIM,
        wanted=WANTED_RIM,
        unit="tooth depths",
        sense="at least",
        why="A rim thinner than its teeth are high bends with them and breaks below them.",
        remedy=(
            f"Make the rim {round_up(WANTED_RIM * tooth_depth(cut), 1):g} mm thick, now"
            f" {windows.rim_thickness:g} mm."
        ),
        source="AGMA 2001-D04 (from memory); derived for steel",
    )


@dataclass(frozen=True)
class _Wheel:
    """A gear with windows, and the checks of its rim and spokes in one load case."""

    cut: CutPair
    side: Side
    windows: Windows
    panel: Panel
    face_width: float
    rose: SheetRose

    @property
    def tooth(self) -> CutTooth[float]:
        return self.cut.tooth_of(self.side)

    @cached_property
    def stress(self) -> WheelStress:
        return wheel_stress(self.tooth, self.windows)

    def root_check(self, limit: ToothLimit) -> Check:
        """Return the check of the tooth's root on a rim that bends."""
        used = self._root_used(limit)
        torque = limit.case.torque / used if used else np.inf
        return Check(
            name=f"tooth bending on its rim, {self.side}, {limit.case.name}",
            value=used * limit.strength,
            limit=limit.strength,
            unit="MPa",
            sense="at most",
            why=(
                "The rim bends under the tooth, which adds to the stress at the tooth's root; the"
                f" pinion may be given {torque:.3g} N·m in this case, it is given"
                f" {limit.case.torque:.3g} N·m."
            ),
            remedy=self._mended("rim_thickness", used, torque, lambda w: w._root_used(limit)),
            source=f"{limit.source}; {FRAME}; at least K_B of AGMA 2001-D04 (from memory)",
            basis=limit.basis,
        )

    def check(self, part: Part, case: LoadCase) -> Check:
        """Return the check of the windows' edge."""
        place, factors = self._place(part), self._factors(case)
        design, used = design_value(place.strength, *factors), self._used(part, case)
        torque = case.torque / used if used else np.inf
        return Check(
            name=f"{PARTS[part]}, {self.side}, {case.name}",
            value=used * design,
            limit=design,
            unit="MPa",
            sense="at most",
            why=(
                f"{place.kind.capitalize()} at the edge of a window, whichever tooth carries the"
                f" load and however the sheet lies; the pinion may be given {torque:.3g} N·m in"
                f" this case, it is given {case.torque:.3g} N·m."
            ),
            remedy=self._mended(SIZES[part], used, torque, lambda w: w._used(part, case)),
            source=FRAME,
            basis=root_basis(place, self.panel, factors),
        )

    def _root_used(self, limit: ToothLimit) -> float:
        """Share of the design strength used at the tooth's root."""
        alone = limit.stress / limit.strength
        rim = self._load(limit.case) * self.stress.root * self.rose.worst_compression
        return max(rim_factor(rim_ratio(self.tooth, self.windows)) * alone, alone + rim)

    def _used(self, part: Part, case: LoadCase) -> float:
        """Share of the design strength used at the windows' edge."""
        return self._load(case) * self._place(part).share

    def _place(self, part: Part) -> WeakestRoot:
        """Where the part breaks first."""
        rose = self.rose
        edge, shear = (float(getattr(self.stress, name)) for name in (part, f"{part}_shear"))
        share = Utilisation(
            edge * rose.worst_tension, edge * rose.worst_compression, shear * rose.worst_shear
        )
        return weakest_place(share, self.panel, rose, FRAME)

    def _load(self, case: LoadCase) -> float:
        """Normal force per mm of face width, over what is left of the strength, N/mm."""
        load = line_load(self.cut.pair.pinion, case.torque, self.face_width)
        return float(case.application_factor * load / design_value(1.0, *self._factors(case)))

    def _factors(self, case: LoadCase) -> tuple[Factor, ...]:
        return case.factors(self.tooth.gear, self.cut.pair.pinion)  # type: ignore[arg-type]

    def _mended(
        self, field: str, used: float, torque: float, again: Callable[["_Wheel"], float]
    ) -> str:
        """Say what size would be enough, and what torque."""
        size = "" if used <= 1.0 else self._enough(field, again)
        return f"{size}Keep the pinion's torque to {figures_down(torque):.10g} N·m."

    def _enough(self, field: str, again: Callable[["_Wheel"], float]) -> str:
        for growth in GROWTHS:
            wider: dict[str, Any] = {field: float(ceil(growth * getattr(self.windows, field)))}
            try:
                other = replace(self, windows=replace(self.windows, **wider))
                if again(other) <= 1.0:
                    return f"Make the {field.replace('_', ' ')} {wider[field]:g} mm, or: "
            except GearworkError:
                break
        return "No window of this kind leaves enough wood: leave them out, or: "
