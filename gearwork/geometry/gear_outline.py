"""The toothed edge of a gear or rack as one closed path of lines and arcs.

Points of the plane are complex numbers here: turning is a product.
"""

import cmath
import math
from typing import Any, cast

import numpy as np

from gearwork.errors import GearworkError, need, number
from gearwork.geometry.gear import Gear
from gearwork.geometry.involute import flank_points
from gearwork.geometry.outline import DEFAULT_TOLERANCE, Outline
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter, CutTooth, TipPath, need_bit, tip_path, tooth_for
from gearwork.numbers import Complexes, Floats, round_down, round_up

PAIR_FIT = 315.0
"""Two arcs over the length Δt of the base tangent stray by Δt³ / (324 r_b²) from the involute
when their legs are as 5 t_0 + t_1 to t_0 + 5 t_1; both found by minimising the distance
numerically, and kept to 2 % up to Δt = r_b."""

_LOST = "leaves a fillet up to the tip, {tip}"

DECIMALS = 7
"""To which the largest bit is sought, of four modules."""

SHORTEST = 1e-4
"""Pieces shorter than this are left out, mm: no control of a router keeps their ends apart."""

FAINT = 1.5e-4
"""Corner that may be left by a piece left out, radians: `toolpath.SMOOTH` counts it as none."""


def gear_outline(
    gear: Gear,
    bit: Cutter,
    mate: Gear | None = None,
    centre_distance: float | None = None,
    tolerance: float = DEFAULT_TOLERANCE,
) -> Outline:
    """Return the toothed edge of a gear, or the bar of a rack, as a router bit can cut it.

    Parameters
    ----------
    gear : Gear or Rack
        As it will be cut: from a `GearPair`, whose tips are shortened where needed.
    bit : Bit
        Its `cut_diameter` counts.
    mate : Gear or Rack, optional
        What it runs with; by default the root clears a rack and so every mate.
    centre_distance : float, optional
        a_w, mm; default that of a pair without backlash beyond the thinning.
    tolerance : float
        Largest distance from the true curve, mm.

    Returns
    -------
    Outline
        Counter-clockwise, centre (0, 0), tooth 0 centred on the x axis. A rack has its reference
        line on the x axis, its teeth upwards and tooth 0, the first on the left, on the y axis.

    Raises
    ------
    GearworkError
        If the bit does not fit the tooth space, its fillet reaches into the active flank, or
        the mate interferes.

    Examples
    --------
    >>> from gearwork import Bit, Gear
    >>> outline = gear_outline(Gear(module=5, teeth=20), Bit(3.0))
    >>> round(outline.bounds[2], 3)  # half the tip diameter, (z + 2) m / 2
    55.0
    """
    need("gear_outline", gear, Gear, "a gear", "gw.Gear(module=5, teeth=20)")
    need_bit("gear_outline", bit)
    cut = fitting_tooth(gear, bit, mate, centre_distance)
    return tooth_outline(cut, number("tolerance", tolerance, unit="mm", at_least=1e-5, at_most=1.0))


def fitting_tooth(
    gear: Gear, bit: Cutter, mate: Gear | None = None, centre_distance: float | None = None
) -> CutTooth[float]:
    """Return the tooth as cut, or refuse it as `gear_outline` does where it could not run."""
    diameter = number("bit diameter", bit.cut_diameter, unit="mm", above=0.0)
    if mate is not None:
        # The pinion comes first: a rack is always the mate.
        both = (mate, gear) if isinstance(gear, Rack) else (gear, mate)
        pair = GearPair(*both, centre_distance)
        centre_distance = pair.centre_distance
        _refuse_interference(pair)
    path = tip_path(gear, mate, centre_distance)
    return _running(tooth_for(gear, diameter, path), path)


def running_tooth(pair: GearPair, cut: CutTooth[float], path: TipPath[float]) -> CutTooth[float]:
    """Return a tooth of a pair that is cut already, or refuse it where it could not run.

    `path`: of the mate's tip, of an idler those of both mates.
    """
    _refuse_interference(pair)
    return _running(cut, path)


def _running(cut: CutTooth[float], path: TipPath[float]) -> CutTooth[float]:
    if not cut.runs:
        raise GearworkError(f"{cut.gear.label}: {misfit(cut, path)}")
    return cut


def misfit(cut: CutTooth[float], path: TipPath[float]) -> str:
    """Return in words how far a bit misses the tooth space and which bit or module would fit."""
    given = f"a bit that cuts {cut.cut_diameter:g} mm"
    excess = (cut.form_diameter - cut.active_diameter) / 2
    if cut.form_diameter >= cut.gear.tip_diameter:
        fault = _LOST.format(tip=cut.gear.at_circle(cut.gear.tip_diameter))
    elif excess > 0:
        fault = f"leaves a fillet that reaches {excess:.3f} mm into the active flank"
    else:
        fault = f"leaves a root that the mate's tip cuts into by {-cut.fillet_clearance:.3f} mm"
    largest = largest_bit(cut, path)
    if largest < 0.1:
        return f"{given} {fault}, as would any other bit; shorten the mate's tip or shift the gear"
    module = cut.gear.module * cut.cut_diameter / largest
    return (
        f"{given} {fault}; the largest bit that fits cuts {round_down(largest, 2):g} mm,"
        f" the smallest module for this bit is {round_up(module, 2):g} mm"
    )


def largest_bit(cut: CutTooth[float], path: TipPath[float]) -> float:
    """Return the cutting diameter up to which the tooth can be cut and run, mm."""
    low, high = 0.0, 4 * cut.gear.module
    for _ in range(DECIMALS):
        steps = np.linspace(low, high, 11)
        runs = tooth_for(cut.gear, cast("float", steps[1:-1]), path).runs
        first = int(np.argmin(np.append(runs, False)))
        low, high = steps[first], steps[first + 1]
    return float(low)


def _refuse_interference(pair: GearPair) -> None:
    if not pair.interferes:
        return
    on_pinion, on_wheel = pair.interference_reserve
    sufferer, other = (
        (pair.pinion, pair.wheel) if on_pinion < on_wheel else (pair.wheel, pair.pinion)
    )
    tip = float(np.hypot(2 * pair.line_of_action, other.base_diameter))
    raise GearworkError(
        f"{sufferer.label}: the mate's tip runs {-min(on_pinion, on_wheel):.3f} mm past the base"
        f" tangent point and would dig into the flank; shorten the mate's tip to {tip:.2f} mm"
        f" diameter or take a profile shift of {sufferer.min_shift:.2f}"
    )


def tooth_outline(cut: CutTooth[float], tolerance: float = DEFAULT_TOLERANCE) -> Outline:
    """Return the closed path of a gear whose teeth are all cut like this one."""
    if cut.form_diameter >= cut.gear.tip_diameter:
        fault = _LOST.format(tip=cut.gear.at_circle(cut.gear.tip_diameter))
        raise GearworkError(
            f"{cut.gear.label}: a bit that cuts {cut.cut_diameter:g} mm {fault}; take a smaller one"
        )
    if isinstance(cut.gear, Rack):
        return bar_outline(cut.gear, cut)
    points, bulges = _tooth(cut, tolerance)
    teeth = int(cut.gear.teeth)
    turned = np.exp(2j * np.pi / teeth * np.arange(teeth))[:, None] * points
    return Outline(turned.ravel(), np.repeat(bulges[None], teeth, axis=0).ravel())


def bar_outline(rack: Rack, cut: CutTooth[float], short: float = 0.0) -> Outline:
    """Return the bar of a rack: teeth from right to left, down the left end, along the back, up.

    Both ends stand in the middle of a space, or `short` mm before it.
    """
    down, bulges = _falling_side(cut, DEFAULT_TOLERANCE)
    # From the circle that stands for the rack's line, turned upright: tip, end of flank, bottom.
    side = np.round(1j * (down[[0, -2, -1]] - rack.datum_radius), 6)
    tooth = np.append(-side[::-1].conj(), side)
    curved = np.array([bulges[-1], 0.0, 0.0, 0.0, bulges[-1], 0.0])
    left, right = -rack.pitch / 2, rack.length - rack.pitch / 2
    bottom = 1j * side[-1].imag
    flat = _is_worth(side[-1].real - left, cut)
    if not flat:  # one arc from flank to flank, its two halves meet in the middle of the space
        tooth[0] = rack.pitch / 2 + bottom
        tooth, curved = tooth[:-1], curved[:-1]
    teeth = (rack.pitch * np.arange(rack.teeth)[::-1, None] + tooth).ravel()
    turns = np.tile(curved, int(rack.teeth))
    end = left + bottom
    if flat and side[-1].real - left > short:
        end += short
        teeth, turns = np.append(right - short + bottom, teeth), np.append(0.0, turns)
    elif short:  # the ends stand in the outermost fillets
        end, bend = _cut_off(side[1], side[2] if flat else end, float(bulges[-1]), left + short)
        teeth[0], turns[0] = rack.length - rack.pitch - end.conjugate(), bend
        if flat:
            teeth, turns = teeth[:-1], turns[:-1]
        turns[-1] = bend
    back = np.array([left + short, right - short]) - 1j * rack.back_depth
    path = np.concatenate([teeth, [end], back])
    return Outline(path, np.concatenate([turns, np.zeros(3)]))


def _cut_off(start: complex, end: complex, bulge: float, x: float) -> tuple[complex, float]:
    """Return where the lower half of an arc passes x, and the bulge of what leads there."""
    centre = (start + end) / 2 + 0.5j * (end - start) * (1 - bulge**2) / (2 * bulge)
    radius = abs(start - centre)
    found = complex(x, centre.imag - np.sqrt(radius**2 - (x - centre.real) ** 2))
    turn = np.angle((found - centre) / (start - centre))
    return found, float(np.tan(turn / 4))


def _tooth(cut: CutTooth[float], tolerance: float) -> tuple[Complexes, Floats]:
    """Vertices and bulges of one tooth, from the root before it to the root after it."""
    down, down_bulges = _falling_side(cut, tolerance)
    up, up_bulges = np.conj(down[::-1]), down_bulges[::-1]
    tip = math.tan(cmath.phase(down[0]) / 2)
    if _is_worth(cut.centre_angle * cut.root_diameter, cut):
        root = [math.tan(cut.centre_angle / 2)]
        return np.concatenate([up, down]), np.concatenate([up_bulges, [tip], down_bulges, root])
    whole = np.tan(2 * np.arctan(down_bulges[-1]))
    bulges = np.concatenate([up_bulges[1:], [tip], down_bulges[:-1], [whole]])
    return np.concatenate([up[1:], down[:-1]]), bulges


def _falling_side(cut: CutTooth[float], tolerance: float) -> tuple[Complexes, Floats]:
    """Vertices and bulges from the tip corner down the upper flank to the root."""
    gear = cut.gear
    base = gear.base_diameter / 2
    flank, flank_bulges = _flank(gear, cut.contact, tolerance)
    distance, radius = cut.centre_distance, cut.fillet_diameter / 2
    way = cmath.rect(1.0, np.pi / gear.circle_teeth - cut.centre_angle)
    centre, bottom = distance * way, (distance - radius) * way
    below, straight = [complex(flank[-1])], list[float]()
    if cut.contact == 0 and _is_worth(base - cut.fillet_end, cut):
        below.append(cmath.rect(cut.fillet_end, gear.half_angle_at_base))
        straight.append(0.0)
    sweep = cmath.phase((bottom - centre) / (below[-1] - centre))
    vertices = np.concatenate([flank, [*below[1:], bottom]])
    return vertices, np.concatenate([flank_bulges, [*straight, math.tan(sweep / 4)]])


def _is_worth(length: float, cut: CutTooth[float]) -> bool:
    """Whether a piece beside the fillet is long enough to be kept."""
    return length > min(SHORTEST, FAINT * cut.fillet_diameter / 2)


def _flank(gear: Gear | Any, contact: float, tolerance: float) -> tuple[Complexes, Floats]:
    """Pairs of arcs down the involute from the tip, each pair tangent to it at both ends."""
    base = gear.base_diameter / 2
    tip = gear.tip_curvature
    # How much of the base tangent one pair of arcs may take: its error grows with the cube.
    widest = math.cbrt(PAIR_FIT * base**2 * tolerance)
    pairs = math.ceil((tip - contact) / widest)
    tangent = tip + (contact - tip) / pairs * np.arange(pairs + 1)
    roll = tangent / base
    curve = flank_points(gear.base_diameter, roll).conj()
    points = curve * cmath.rect(1.0, gear.half_angle_at_base)
    inward = -np.exp(1j * (gear.half_angle_at_base - roll))
    joints, bulges = _arc_pairs(points, inward, tangent)
    vertices = np.empty(2 * len(points) - 1, dtype=complex)
    vertices[::2], vertices[1::2] = points, joints
    return vertices, bulges


def _arc_pairs(points: Complexes, ways: Complexes, tangent: Floats) -> tuple[Complexes, Floats]:
    """Joints and bulges of two arcs between neighbours, along the given directions there."""
    start, end = ways[:-1], ways[1:]
    # Of the legs from start and end to the pair's control points; see PAIR_FIT.
    legs = (5 * tangent[:-1] + tangent[1:]) / (tangent[:-1] + 5 * tangent[1:])
    chord = points[1:] - points[:-1]
    both = legs * start + end
    along = (chord * np.conj(both)).real
    square = np.abs(chord) ** 2
    reach = square / (along + np.sqrt(along**2 + ((1 + legs) ** 2 - np.abs(both) ** 2) * square))
    first, last = points[:-1] + legs * reach * start, points[1:] - reach * end
    joints = (first + legs * last) / (1 + legs)
    # The bulge of an arc is tan θ/2 for the angle θ between its tangent and its chord.
    halves = np.empty((len(joints), 2), dtype=complex)
    halves[:, 0], halves[:, 1] = (joints - points[:-1]) / start, end / (points[1:] - joints)
    return joints, np.tan(np.angle(halves) / 2).ravel()


def tooth_profile(cut: CutTooth[float], tolerance: float = DEFAULT_TOLERANCE) -> Floats:
    """Return points along one tooth, from mid-root over the tip to mid-root, shape (n, 2), mm.

    Counter-clockwise, tooth centred on the x axis; the tolerance is of chords, mm.
    """
    down, bulges = _falling_side(cut, tolerance)
    half_pitch = np.pi / cut.gear.circle_teeth
    if _is_worth(cut.centre_angle * cut.root_diameter, cut):
        down = np.append(down, cut.root_diameter / 2 * np.exp(1j * half_pitch))
        bulges = np.append(bulges, np.tan(cut.centre_angle / 4))
    tip = np.tan(np.angle(down[0]) / 2)
    path = np.concatenate([np.conj(down[::-1]), down])
    closed = np.concatenate([bulges[::-1], [tip], bulges, [0.0]])
    return Outline(path, closed).points(tolerance)
