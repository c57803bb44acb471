"""What the torques say at which teeth were broken on a lever.

A tooth is pulled along its whole fillet, whose edge turns through some eighty degrees. The stress
there goes with the load, by the same beam as in the rating; so the load at which it broke is so
many times the table's strength in each direction of the edge, most where the rating expects the
break. That replaces the table's value there.
"""

from collections.abc import Sequence

import numpy as np

from gearwork.checks.tooth.breaking import PEAK, RootPeaks, expected_break
from gearwork.checks.tooth.friction import FRICTION, driving_tooth
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import line_load
from gearwork.checks.tooth.stress import DIRECTIONS, SheetPolar, notch_factor, root_stress
from gearwork.errors import Bound, GearworkError, number
from gearwork.geometry.pair import Side
from gearwork.geometry.tooth import CutTooth, fillet_points, load_at
from gearwork.numbers import Floats
from gearwork.stock.broken_teeth import (
    FOLDED,
    MIN_TESTS,
    Broken,
    BrokenTeeth,
    characteristic_value,
    log_spread,
)
from gearwork.stock.plywood import Plywood
from gearwork.stock.timber import k_mod

STANDARD, SHORTEST = 180.0, 30.0
DURATION = Bound("s", at_least=SHORTEST, at_most=3600.0)
"""s from the first pull to the break: of the standard's tests, EN 408 (300 ± 120 s, from memory),
and what a test takes at least. A quicker one is worth k_mod of an instantaneous load less."""

PLAUSIBLE = 5.0
"""Times a torque may differ from the expected one before it is taken for a slip (assumption)."""

SLIPS = {
    9.81: "kilograms and newtons mistaken for each other",
    100.0: "centimetres or newton centimetres taken for metres",
    1000.0: "millimetres taken for metres, or grams for kilograms",
}
"""What makes a torque so many times too great or too small."""

OWN = 0.95
"""From this part of its greatest use on, a place counts as the one where a tooth broke."""


def edge_use(tooth: CutTooth[float], sheet: Plywood, direction: float) -> Floats:
    """Return the share of the table's tension strength that 1 N/mm uses, by edge (`FOLDED`).

    At the tip of a tooth that stands at `direction`, degrees counter-clockwise from the face grain,
    pushed on its clockwise flank. 0 where its fillet has no such edge.
    """
    stress = root_stress(tooth, tooth.gear.tip_diameter)
    slope, pull = stress.slope[::-1], PEAK * stress.tension[::-1]  # rising
    turns = 180.0 * np.arange(-1.0, 3.0)
    wanted = direction + np.stack([FOLDED, -FOLDED])[..., None] - turns
    found = np.interp(wanted, slope, pull, left=0.0, right=0.0).max(axis=(0, 2))
    rose = SheetPolar.of(sheet)
    use: Floats = found * rose.edge_factor(FOLDED) / sheet.tension_at(FOLDED)
    return use


def direction_break(tooth: CutTooth[float], sheet: Plywood, direction: float) -> Floats:
    """Return where a tooth of this direction is expected to break, N/mm: mean, low, high."""
    share = float(edge_use(tooth, sheet, direction).max())
    found = expected_break(share, tooth.fillet_diameter / 2)
    return np.array([found.mean, found.low, found.high])


def friction_left(cut: CutPair, side: Side, friction: float = FRICTION["waxed"].moving) -> float:
    """Return what friction at the touched tip may leave of a reading, at least.

    The lever drives; friction that drags the tooth's flank inwards relieves its root, by the same
    statics by which it adds to the root of a driving tooth, and takes from the lever's torque.
    """
    tooth = cut.tooth_of(side)
    mate = cut.pair.wheel if side == "pinion" else cut.pair.pinion
    tip = tooth.gear.tip_diameter
    load, fillet = load_at(tooth.gear, tip), fillet_points(tooth)
    arm = np.maximum(load.apex - fillet.x, 1e-9)
    notch = notch_factor(fillet.thickness, arm, tooth.fillet_diameter / 2)

    def pull(coefficient: float) -> float:
        moment, push = driving_tooth(arm, tooth.gear.thickness_at(tip) / 2, load.angle, coefficient)
        return float(((6 * moment / fillet.thickness**2 - push / fillet.thickness) * notch).max())

    along = cut.pair.line_of_action - tooth.gear.tip_curvature  # from the mate's base tangent point
    inwards = 1.0 - friction * along / (mate.base_diameter / 2)
    return pull(-friction) / pull(0.0) / inwards


def duration_share(duration: float) -> float:
    """Return what counts of a strength found in so many seconds, by k_mod of EN 1995-1-1."""
    DURATION.number("duration of the test", duration)
    return 1.0 if duration >= STANDARD else 1.0 / k_mod(1, "instantaneous").value


def broken_teeth(
    cut: CutPair,
    side: Side,
    sheet: Plywood,
    layers: int,
    torques: Sequence[float],
    directions: Sequence[float],
    duration: float,
) -> BrokenTeeth:
    """Return what broken teeth say of their sheet.

    Parameters
    ----------
    cut : CutPair
        The gears whose teeth they are.
    side : {"pinion", "wheel"}
        Whose tooth was broken; the other's stood on the lever.
    sheet : Plywood
        What they were cut from.
    layers : int
        Sheets, all alike, that each tooth was thick.
    torques, directions : sequence of float
        On the gear, N·m, and the tooth's direction, degrees, of each broken tooth.
    duration : float
        From the first pull to the break, of the quickest, s.

    Returns
    -------
    BrokenTeeth
        For ``dataclasses.replace(sheet, broken_teeth=...)``: such a sheet is rated by them.

    Raises
    ------
    GearworkError
        If there are fewer than three teeth of a direction, or a torque or direction cannot be.

    Examples
    --------
    Five teeth at 112° to the grain: 9.6 N·m on average, of which 6.7 count.

    >>> from gearwork import Bit, CutPair, Gear, GearPair, plywood
    >>> cut = CutPair(GearPair(Gear(5, 16), Gear(5, 44)), Bit(3.0))
    >>> torques = [9.1, 10.2, 9.6, 8.9, 10.4]
    >>> shown = broken_teeth(cut, "pinion", plywood("birch", 9), 1, torques, 5 * [112.0], 300.0)
    >>> round(shown.weakest.mean, 1), round(shown.weakest.characteristic, 1)
    (9.6, 6.7)
    """
    if len(torques) != len(directions):
        raise GearworkError(
            f"there are {len(torques)} torques and {len(directions)} directions: give one of each"
            " for every broken tooth"
        )
    if not torques:
        raise GearworkError("no torque is given: break some teeth, or leave the table out")
    angles = [
        number("direction of a tooth", angle, unit="°", at_least=0.0, at_most=180.0)
        for angle in directions
    ]
    tooth = cut.tooth_of(side)
    per_torque = float(line_load(tooth.gear, 1.0, layers * sheet.thickness))
    counts = friction_left(cut, side) * duration_share(duration)
    found, uses = [], []
    for angle in sorted({round(angle) % 180 for angle in angles}):
        own = [t for t, a in zip(torques, angles, strict=True) if round(a) % 180 == angle]
        use = edge_use(tooth, sheet, angle)
        expected = float(direction_break(tooth, sheet, angle)[0]) / per_torque
        for torque in own:
            _refuse_slip(torque, expected, angle)
        if len(own) < MIN_TESTS:
            raise GearworkError(
                f"{len(own)} of the broken teeth stand at {angle}° to the grain: at least"
                f" {MIN_TESTS} of a direction are needed for a characteristic value; break"
                " more of them, or leave these out"
            )
        bears = counts * float(characteristic_value(own))
        factor = bears * per_torque * float(use.max())
        mean = float(np.exp(np.log(own).mean()))
        spread = float(log_spread(own))
        found.append(Broken(angle, len(own), mean, spread, bears, expected, factor))
        uses.append(use)
    return _on_table(tooth, sheet, found, uses, per_torque)


def _refuse_slip(torque: float, expected: float, angle: float) -> None:
    """Refuse a torque far from what is expected, and name the slip that would explain it."""
    off = number("torque of a broken tooth", torque, unit="N·m", above=0.0) / expected
    if 1.0 / PLAUSIBLE < off < PLAUSIBLE:
        return
    times = max(off, 1.0 / off)
    near = min(SLIPS, key=lambda slip: abs(np.log(times / slip)))
    raise GearworkError(
        f"torque of a tooth at {angle}° is {torque:g} N·m: {times:.3g} times"
        f" {'more' if off > 1 else 'less'} than the {expected:.3g} N·m expected there; probably"
        f" {SLIPS[near]}. It is to be the torque on the gear whose tooth broke, in N·m"
    )


def _on_table(
    tooth: CutTooth[float],
    sheet: Plywood,
    found: Sequence[Broken],
    uses: Sequence[Floats],
    per_torque: float,
) -> BrokenTeeth:
    """Factors on the table by direction of the edge.

    A place is as strong as the use of it by any tooth that held until its break, but where a tooth
    may have broken no stronger than that tooth. What none used as far keeps the table's value,
    less where the weakest tooth fell short of its own.
    """
    loads = [broken.characteristic * per_torque for broken in found]
    borne = np.stack([load * use for load, use in zip(loads, uses, strict=True)])
    shown = borne.max(axis=0)
    for own in borne:
        broke = own >= OWN * own.max()
        shown[broke] = np.minimum(shown[broke], own[broke])
    weakest = min(broken.factor for broken in found)
    tension = np.maximum(shown, min(1.0, weakest))
    rose = SheetPolar.of(sheet)
    edge = rose.edge_factor(FOLDED) / np.asarray(sheet.tension_at(FOLDED))
    raised = float(edge.max() / (edge / tension).max())
    # every tooth bore push and shear as well, at least those that its break asked for
    peaks, least = RootPeaks.of(tooth, tooth.gear.tip_diameter), min(loads)
    covers = raised >= OWN * weakest
    compression, shear = (
        max(1.0, least * float(peak) / float(np.max(strength_at(DIRECTIONS)))) if covers else 1.0
        for peak, strength_at in (
            (peaks.compression, sheet.compression_at),
            (peaks.shear, sheet.shear_at),
        )
    )
    return BrokenTeeth(tuple(found), tuple(tension.tolist()), compression, shear, covers)
