"""Judge and rate a pair on the bench: everything that can be said of it before it is cut."""

from functools import cache
from typing import Literal

from gearwork.checks.check import CheckReport, Subject
from gearwork.checks.tooth import strength
from gearwork.checks.tooth.elements import elastic_roots
from gearwork.checks.tooth.load_case import Service, load_cases
from gearwork.checks.tooth.mesh import CutPair, mesh_checks, need_cut_pair
from gearwork.errors import GearworkError, need, number
from gearwork.geometry.pair import Side
from gearwork.geometry.rack import Rack
from gearwork.stock.laminate import USUAL_ANGLES, Panel, glued, need_panel

Detail = Literal["beam", "elastic"]

ROOTS = {"beam": strength.beam_roots, "elastic": elastic_roots}


def check_pair(
    cut: CutPair,
    sheet: Panel,
    torque: float = 0.0,
    speed: float = 0.0,
    *,
    face_width: float | None = None,
    starting_torque: float | None = None,
    stall_torque: float | None = None,
    service: Service | None = None,
    detail: Detail = "beam",
) -> CheckReport:
    """Return all checks of a pair: mesh, tooth as cut, strength.

    Parameters
    ----------
    cut : CutPair
        The gears and the bit.
    sheet : Plywood or Stack
        What they are cut from.
    torque : float
        Running torque on the pinion, N·m. Strength is judged in those cases alone whose torque is
        given: without any the mesh is judged and no more.
    speed : float
        Of the pinion, rpm.
    face_width : float, optional
        b, mm; default the thickness of the sheet or stack.
    starting_torque, stall_torque : float, optional
        Greatest torque on the pinion when starting, and when the drive stalls, N·m.
    service : Service, optional
        How the machine is used.
    detail : {"beam", "elastic"}
        Stress at the root by beam theory, in milliseconds, or by finite elements in a second or
        two a gear, there with single veneers counted; the beam is mostly the more cautious one.

    Returns
    -------
    CheckReport
        Named "pair 14/38, module 5 mm" and the like.

    Raises
    ------
    GearworkError
        If something is not what it must be, a number out of its range or the detail unknown.

    Examples
    --------
    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> sheet = gw.plywood("birch", 12)
    >>> check_pair(gw.CutPair(pair, gw.Bit(3.0)), gw.Stack(sheet, (0, 45)), torque=1.0).ok
    True
    """
    width, roots = _bench("check_pair", cut, sheet, face_width, detail)
    given = load_cases(torque, speed, _service(service), starting_torque, stall_torque)
    cases = tuple(case for case in given if case.torque > 0.0)
    limits = strength.tooth_limits(cut, sheet, width, cases, roots)
    angles = sheet.layers if len(sheet.layers) > 1 else USUAL_ANGLES

    @cache
    def layered(count: int) -> tuple[strength.ToothLimit, ...]:
        thick = glued(sheet.sheet, count, angles)
        return strength.tooth_limits(cut, thick, thick.thickness, cases, ROOTS[detail](cut, thick))

    checks = mesh_checks(cut) + strength.strength_checks(
        limits, width / sheet.sheet.thickness, layered
    )
    return CheckReport(Subject("pair", _title(cut)), checks)


def rate_pair(
    cut: CutPair,
    sheet: Panel,
    speed: float,
    *,
    face_width: float | None = None,
    service: Service | None = None,
    detail: Detail = "beam",
) -> strength.Rating:
    """Return the greatest torque a pair may be given running, starting and stalled.

    Parameters
    ----------
    cut, sheet, face_width, service, detail
        As in `check_pair`.
    speed : float
        Of the pinion, rpm.

    Returns
    -------
    Rating
        A row for each of "running", "starting" and "stall"; ``rating["stall"].torque`` in N·m.

    Raises
    ------
    GearworkError
        If something is not what it must be, or face width or speed out of range.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> cut = CutPair(GearPair(Gear(5, 14, 0.25), Gear(5, 38)), Bit(3.0))
    >>> rating = rate_pair(cut, plywood("birch", 12), speed=150)
    >>> rating["running"].torque < rating["stall"].torque  # what is seldom may be more
    True
    """
    width, roots = _bench("rate_pair", cut, sheet, face_width, detail)
    # What a pair may be given does not depend on what it is given; any torque will do.
    cases = load_cases(
        1.0, number("speed", speed, unit="rpm", above=0.0), _service(service), 1.0, 1.0
    )
    limits = strength.tooth_limits(cut, sheet, width, cases, roots)
    return strength.Rating.of(limits, f"{_title(cut)}, {width:g} mm thick")


def _bench(
    caller: str, cut: CutPair, sheet: Panel, face_width: float | None, detail: str
) -> tuple[float, dict[Side, strength.WeakestRoot]]:
    """Refuse what cannot be; face width in mm, and where the weakest teeth break."""
    need_cut_pair(caller, cut)
    need_panel(caller, sheet)
    width = sheet.thickness if face_width is None else face_width
    width = number("face width", width, unit="mm", above=0.0, at_most=strength.THICKEST)
    if detail not in ROOTS:
        raise GearworkError(f'detail is {detail!r}: it must be "beam" or "elastic"')
    return width, ROOTS[detail](cut, sheet)


def _service(given: Service | None) -> Service:
    found = Service() if given is None else given
    need("service", found, Service, "a Service", "gw.Service(running_hours=100)")
    return found


def _title(cut: CutPair) -> str:
    pinion, wheel = cut.pair.pinion, cut.pair.wheel
    if isinstance(wheel, Rack):
        return f"pinion {pinion.teeth:g} and rack {wheel.teeth:g}, module {pinion.module:g} mm"
    return f"pair {pinion.teeth:g}/{wheel.teeth:g}, module {pinion.module:g} mm"
