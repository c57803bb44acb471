"""check_pair: everything that can be said of one pair before it is cut."""

from typing import Literal

from gearwork.checks.check import CheckReport, Subject
from gearwork.checks.tooth.load_case import Service, load_cases
from gearwork.checks.tooth.mesh import CutPair, mesh_checks
from gearwork.checks.tooth.strength import (
    THICKEST,
    WeakestRoot,
    beam_roots,
    strength_checks,
    tooth_limits,
)
from gearwork.errors import GearworkError, number
from gearwork.geometry.pair import GearPair, Side
from gearwork.geometry.tooth import Cutter
from gearwork.stock.laminate import Panel


def check_pair(
    pair: GearPair,
    bit: Cutter,
    sheet: Panel,
    face_width: float | None = None,
    torque: float = 0.0,
    speed: float = 0.0,
    *,
    starting_torque: float | None = None,
    stall_torque: float | None = None,
    service: Service | None = None,
    detail: Literal["beam", "elastic"] = "beam",
) -> CheckReport:
    """Return all checks of a pair: mesh, tooth as cut, strength.

    Parameters
    ----------
    pair : GearPair
        The gears.
    bit : Bit
        What cuts them.
    sheet : Plywood or Stack
        What they are cut from.
    face_width : float, optional
        b, mm; default the thickness of the sheet or stack.
    torque : float
        Running torque on the pinion, N·m.
    speed : float
        Of the pinion, rpm.
    starting_torque, stall_torque : float, optional
        Greatest torque on the pinion when starting, and when the drive stalls, N·m.
    service : Service, optional
        How the machine is used.
    detail : {"beam", "elastic"}
        Stress at the root by beam theory, in milliseconds, or by finite elements in a second or
        two a gear. The beam is the more cautious one, by up to a third.

    Returns
    -------
    CheckReport
        Named "pair 14/38, module 5 mm" and the like.

    Raises
    ------
    GearworkError
        If a number is out of its range or the detail unknown.

    Examples
    --------
    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> report = check_pair(pair, gw.Bit(3.0), gw.plywood("birch", 12), face_width=24, torque=1.0)
    >>> report.ok
    True
    """
    width = number(
        "face width",
        sheet.thickness if face_width is None else face_width,
        unit="mm",
        above=0.0,
        at_most=THICKEST,
    )
    cases = load_cases(torque, speed, service or Service(), starting_torque, stall_torque)
    cut = CutPair.by(pair, bit)
    limits = tooth_limits(cut, sheet, width, cases, _roots(cut, sheet, detail))
    teeth = f"{pair.pinion.teeth:g}/{pair.wheel.teeth:g}"
    return CheckReport(
        Subject("pair", f"pair {teeth}, module {pair.pinion.module:g} mm"),
        mesh_checks(cut) + strength_checks(limits, width),
    )


def _roots(cut: CutPair, sheet: Panel, detail: str) -> dict[Side, WeakestRoot]:
    if detail == "beam":
        return beam_roots(cut, sheet)
    if detail == "elastic":
        from gearwork.checks.tooth.elastic import elastic_roots

        return elastic_roots(cut, sheet)
    raise GearworkError(f'detail is {detail!r}: it must be "beam" or "elastic"')
