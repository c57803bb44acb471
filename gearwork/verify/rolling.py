"""Cut outlines judged as they will be cut: alone, and turned against each other.

Whether an outline is the toothed edge it should be, simple, whole, alike and of its size; and the
play, clearance, transmission error and contacts of two outlines turned through their mesh.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.tooth import mesh
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import Outline, as_complex
from gearwork.geometry.pair import SIDES
from gearwork.geometry.rack import BarPiece, Rack
from gearwork.numbers import Bools, Complexes, Floats
from gearwork.verify.bar import PinionEdge, Push, ToothedBar, pushes
from gearwork.verify.flanks import (
    SKIN,
    FlankTable,
    FreeTurn,
    ToothedEdge,
    free_turn,
    mesh_of,
    tip_clearance,
)

MAX_DEVIATION = 0.01  # between teeth of one outline, mm: twice the outlines' default tolerance
SIZE_TOLERANCE = 0.02  # on diameters read back, mm: four times that tolerance (assumption)
ROUNDING = 0.002
"""Share by which an arc read back may be tighter than the bit: coordinates rounded to 1e-5 mm
move the radius of a short flat arc this much."""

CHORD = 0.01  # chord error in the search for crossings, mm
MIN_STEPS = 40  # positions for each tooth: the contact ratio is good to two or three hundredths
DISTANCE_TOLERANCE = 0.1  # how exactly shafts are set, mm either way (assumption)
BACKLASH_TOLERANCE = 0.03
"""Between the design's backlash and that of the outlines, mm: two outlines stray 0.005 mm each
on both flanks (sum 0.02), and half as much again."""

MAX_ERROR, WANTED_ERROR = 50.0, 20.0
"""Transmission error that the outlines alone may have, µm peak to peak: well below what cutting
a plywood tooth adds (assumption)."""

TRIES = 8  # settings tried for a remedy
TAN_20 = float(np.tan(np.radians(20.0)))  # for remedies: outlines tell no pressure angle


class Touch(NamedTuple):
    """A place of contact: teeth counted as in `roll`, nominal turn of the pinion, degrees.

    x and y are mm from the pinion's centre; the wheel's centre lies on +x.
    """

    pinion_tooth: int
    wheel_tooth: int
    pinion_angle: float
    x: float
    y: float


@dataclass(frozen=True, eq=False)
class Rolling:
    """Two outlines through a full turn of the one with more teeth.

    Play is mm of arc on the working pitch circle of the pinion; negative where the outlines
    overlap already, infinite where they meet nothing.

    Attributes
    ----------
    centre_distance : float
        mm.
    pinion_angle : ndarray, shape (n,)
        Nominal turn of the pinion at each position, degrees.
    forward, backward : ndarray, shape (n,)
        How far the pinion can turn from there counter-clockwise and clockwise.
    flank_clearance : ndarray, shape (n,)
        Distance of the flanks with the pinion in the middle of its play, mm; negative where
        they overlap however it is turned. To first order in the play where an edge is nearest.
    tip_clearances : tuple of float
        Smallest distance of pinion tip and wheel tip to the mate's root, the highest tooth over
        the shallowest space, mm; negative where they overlap.
    contact_ratio : float
        Tooth pairs whose flanks, not the edges of their tips, are within 0.02 mm of touching, on
        average; the worse way of turning. Coarse outlines touch at an edge too early, which takes
        up to 0.05, more below a module of 2.
    first_touch : Touch, optional
        Where the pinion is stopped earliest, whichever way it turns.
    """

    centre_distance: float
    pinion_angle: Floats
    forward: Floats
    backward: Floats
    flank_clearance: Floats
    tip_clearances: tuple[float, float]
    contact_ratio: float
    first_touch: Touch | None

    @property
    def backlash(self) -> Floats:
        """j_wt at each position, mm, shape (n,)."""
        return self.forward + self.backward

    @property
    def min_backlash(self) -> float:
        """Smallest j_wt through the turn, mm."""
        return float(self.backlash.min())

    @property
    def min_clearance(self) -> float:
        """Smallest distance of the outlines through the turn, the pinion amid its play, mm."""
        return float(min(self.flank_clearance.min(), *self.tip_clearances))

    @property
    def collides(self) -> bool:
        """Whether the outlines overlap somewhere however the pinion is turned in its play."""
        return self.min_clearance < 0.0

    @property
    def transmission_errors(self) -> tuple[Floats, Floats]:
        """Lead of a driving pinion over the ratio of teeth, counter-clockwise and clockwise.

        µm of arc on the working pitch circle against the mean of the turn, shapes (n,); infinite
        where the pinion meets nothing.
        """

        def deviation(way: Floats) -> Floats:
            meets = np.isfinite(way)
            mean = way[meets].mean() if meets.any() else 0.0
            return np.where(meets, 1000.0 * (way - mean), np.inf)

        return deviation(self.forward), deviation(self.backward)

    @property
    def transmission_error_span(self) -> float:
        """Peak to peak transmission error, µm, the worse way of turning."""
        if not np.isfinite(self.backlash).all():
            return np.inf
        return float(max(np.ptp(error) for error in self.transmission_errors))


def roll(
    cut: mesh.CutPair, outlines: tuple[Outline, Outline] | None = None, *, positions: int = 720
) -> Rolling:
    """Turn two cut outlines through their mesh, in equal steps over a turn of the larger.

    At the start tooth 0 of the pinion, the one nearest the x axis, points at the wheel, and the
    space before tooth 0 of the wheel at the pinion.

    Parameters
    ----------
    cut : CutPair
        The pair as cut, at its centre distance.
    outlines : tuple of Outline, optional
        Toothed edges of pinion and wheel about the origin, e.g. as read back from files. Default:
        as the bit leaves them.
    positions : int
        Smallest number of steps; rounded up to a whole number for each tooth, 40 or more.

    Returns
    -------
    Rolling
        Play and clearance at every position, mm.

    Raises
    ------
    GearworkError
        If it is no `CutPair`, or its gears cannot be cut to run, or an outline has no such teeth.

    Examples
    --------
    Two outlines turn with the play their gears were designed with, give or take their tolerance.

    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> rolling = gw.roll(gw.CutPair(pair, gw.Bit(3.0)))
    >>> rolling.collides, bool(abs(rolling.backlash - pair.backlash).max() < 0.02)
    (False, True)
    """
    mesh.need_cut_pair("roll", cut)
    distance = cut.pair.centre_distance
    pinion, wheel = outlines or (tooth_outline(cut.running(side)) for side in SIDES)
    teeth = int(cut.pair.pinion.teeth), int(cut.pair.wheel.teeth)
    if isinstance(cut.pair.wheel, Rack):
        pitch = cut.pair.wheel.pitch
        edge, bar = PinionEdge.of(pinion, teeth[0], pitch), ToothedBar.of(wheel, teeth[1], pitch)
        return roll_along(edge, bar, distance)
    return roll_outlines(pinion, wheel, distance, teeth, positions)


def roll_outlines(
    pinion: Outline,
    wheel: Outline,
    centre_distance: float,
    teeth: tuple[int, int],
    positions: int = 720,
) -> Rolling:
    """Turn two outlines of so many teeth at a distance, mm; as `roll`."""
    edges = ToothedEdge.of(pinion, teeth[0]), ToothedEdge.of(wheel, teeth[1])
    distance = number("centre distance", centre_distance, unit="mm", above=0.0)
    count = whole_number("positions", positions, at_least=1)
    reach = max(edge.reach for edge in edges)
    if distance <= reach:
        raise GearworkError(
            f"centre distance is {distance:g} mm: a gear of {2 * reach:.3f} mm tip diameter would"
            " reach the other's centre; are both outlines in millimetres?"
        )
    return roll_edges(*edges, distance, count)


def roll_edges(
    pinion: ToothedEdge, wheel: ToothedEdge, distance: float, positions: int = 720
) -> Rolling:
    """Turn two outlines whose flanks are tabulated; as `roll`."""
    larger = max(pinion.teeth, wheel.teeth)
    pitch = max(MIN_STEPS, -(-positions // larger))
    steps = np.arange(larger * pitch)
    angle = steps.astype(np.float64) * (360.0 / pitch / pinion.teeth)
    ways = (
        free_turn(mesh_of(pinion.front, wheel.front, distance, steps, pitch, 0), len(steps)),
        free_turn(mesh_of(pinion.back, wheel.back, distance, -steps, pitch, 1), len(steps)),
    )
    radius = distance * pinion.teeth / (pinion.teeth + wheel.teeth)
    lever = np.minimum(ways[0].lever, ways[1].lever)
    return Rolling(
        centre_distance=distance,
        pinion_angle=angle,
        forward=radius * ways[0].angle,
        backward=radius * ways[1].angle,
        flank_clearance=(ways[0].angle + ways[1].angle) / 2 * lever,
        tip_clearances=(
            tip_clearance(pinion, wheel, distance),
            tip_clearance(wheel, pinion, distance),
        ),
        contact_ratio=float(min(way.carrying.mean() for way in ways)),
        first_touch=_first_touch(ways, angle, (pinion.teeth, wheel.teeth)),
    )


def roll_along(pinion: PinionEdge, bar: ToothedBar, distance: float) -> Rolling:
    """Turn a pinion along a bar at a distance of its axis from the reference line, mm.

    From the last space but one to the second, as the pinion pushes the bar up, again and again
    until every tooth of the pinion has met it. Play counts along the bar; forward of the pinion is
    down of the bar.
    """
    run = bar.teeth - 4
    laps, pitches = range(-(-pinion.teeth // run)), np.arange(run * MIN_STEPS, -1, -1) / MIN_STEPS
    turned = [(lap * run, -1.0 - pitch) for lap in laps for pitch in pitches.tolist()]
    found = [pushes(pinion, bar, distance, on * bar.pitch, first) for first, on in turned]
    down, up = zip(*found, strict=True)
    forward, backward = (np.array([push.way for push in way]) for way in (down, up))
    across = np.minimum([push.across for push in down], [push.across for push in up])
    contacts = [float(np.mean([push.carrying for push in way])) for way in (down, up)]
    angle = 360.0 / pinion.teeth * np.array([on - first for first, on in turned])
    return Rolling(
        centre_distance=distance,
        pinion_angle=angle,
        forward=forward,
        backward=backward,
        flank_clearance=(forward + backward) / 2 * across,
        tip_clearances=(
            distance - pinion.tip - float(bar.root.max() - SKIN),
            distance - float(bar.tip.max() + SKIN) - pinion.highest_root,
        ),
        contact_ratio=min(contacts),
        first_touch=_first_push(down, up, angle),
    )


def _earliest(ways: Sequence[Floats]) -> tuple[int, int] | None:
    """Which way of turning is stopped earliest against the middle of its play, and where on it."""
    if not all(np.isfinite(way).any() for way in ways):
        return None
    early = [way - np.median(way[np.isfinite(way)]) for way in ways]
    side = int(early[1].min() < early[0].min())
    return side, int(early[side].argmin())


def _first_push(down: Sequence[Push], up: Sequence[Push], angle: Floats) -> Touch | None:
    """The contact with the bar that comes earliest against the middle of its way."""
    found = _earliest([np.array([push.way for push in way]) for way in (down, up)])
    if found is None:
        return None
    side, at = found
    push = (down, up)[side][at]
    place = push.place
    return Touch(push.pinion_tooth, push.rack_tooth, float(angle[at]), place.real, place.imag)


def _first_touch(
    ways: tuple[FreeTurn, FreeTurn], angle: Floats, teeth: tuple[int, int]
) -> Touch | None:
    """The contact that comes earliest against the middle of its way of turning."""
    found = _earliest([way.angle for way in ways])
    if found is None:
        return None
    side, at = found
    way, sign = ways[side], 1 - 2 * side
    return Touch(
        int(sign * way.pinion_tooth[at]) % teeth[0],
        int(sign * way.wheel_tooth[at]) % teeth[1],
        float(angle[at]),
        float(way.place[at].real),
        float(sign * way.place[at].imag),
    )


Turn = Callable[[float], Rolling]  # turns two outlines at a centre distance, mm


def check_rolling(
    pinion: Outline,
    wheel: Outline,
    centre_distance: float,
    teeth: tuple[int, int],
    *,
    tolerance: float = DISTANCE_TOLERANCE,
    bit_diameter: float | None = None,
    tip_diameters: tuple[float, float] | None = None,
    backlash: float | None = None,
    names: tuple[str, str] = ("pinion", "wheel"),
) -> CheckReport:
    """Judge two outlines as they will be cut, alone and turned against each other.

    `centre_distance` is as the shafts will stand, mm, give or take `tolerance`; `teeth` and the
    rest are as designed. Without the bit's diameter inside corners are not judged, without tip
    diameters the size is judged by the working pitch circles, which must run through the teeth,
    without the backlash j_wt only its sign is judged. Outlines that are no sound gears of this
    size are not turned.
    """
    distance = number("centre distance", centre_distance, unit="mm", above=0.0)
    spread = number("tolerance of the centre distance", tolerance, unit="mm", at_least=0.0)
    checks: list[Check] = []
    edges = []
    tips = tip_diameters or (None, None)
    for name, outline, z, tip in zip(names, (pinion, wheel), teeth, tips, strict=True):
        found, edge = _alone(outline, name, z, 2 * distance * z / sum(teeth), tip, bit_diameter)
        checks += found
        edges.append(edge)
    first, second = edges
    subject = Subject("pair", f"{names[0]} and {names[1]} as cut")
    if first is None or second is None:
        return CheckReport(subject, tuple(checks))
    reach = max(first.reach, second.reach)
    if distance - spread < reach:
        why = (
            f"Nearer than this the larger of {names[0]} and {names[1]} reaches the other's centre."
        )
        remedy = f"Look up the centre distance: it is more than {reach:.2f} mm."
        source = "tip diameter of the outlines"
        near = distance - spread
        checks.append(
            Check(
                "centre distance", near, reach, "mm", "at least", why, source, remedy, kind="file"
            )
        )
        return CheckReport(subject, tuple(checks))
    turn = partial(roll_edges, first, second)
    settings = (("nominal", 0.0), ("tightest", -spread), ("widest", spread))
    for label, shift in settings if spread else settings[:1]:
        rolling = turn(distance + shift)
        case = f"{label} {distance + shift:.3f} mm"
        pitch = 2 * np.pi * distance / sum(teeth)
        checks += (replace(c, case=case) for c in _mesh_checks(rolling, names, pitch, turn))
        if backlash is not None and shift == 0.0:
            checks.append(_design_check(rolling, backlash, names))
    return CheckReport(subject, tuple(checks))


def check_bar_rolling(
    pinion: Outline,
    bar: Outline,
    cut: mesh.CutPair,
    piece: BarPiece,
    *,
    tolerance: float = DISTANCE_TOLERANCE,
    names: tuple[str, str] = ("pinion", "rack"),
) -> CheckReport:
    """Judge the outlines of a pinion and a bar as they will be cut, as `check_rolling` does.

    Of `cut` come distance, tips, backlash and bit; `piece` is what the bar is of the rack.
    """
    pair, bit = cut.pair, cut.bit.cut_diameter
    distance, teeth = pair.centre_distance, int(pair.pinion.teeth)
    checks, edge = _alone(
        pinion, names[0], teeth, pair.working_pitch_diameters[0], pair.pinion.tip_diameter, bit
    )
    own, toothed = _bar_alone(bar, names[1], piece, bit)
    checks = (*checks, *own)
    subject = Subject("pair", f"{names[0]} and {names[1]} as cut")
    if edge is None or toothed is None:
        return CheckReport(subject, checks)
    turn = partial(roll_along, PinionEdge.of(pinion, teeth, piece.rack.pitch), toothed)
    for label, shift in (("nominal", 0.0), ("tightest", -tolerance), ("widest", tolerance)):
        rolling = turn(distance + shift)
        case = f"{label} {distance + shift:.3f} mm"
        found = _mesh_checks(rolling, names, piece.rack.pitch, turn)
        checks = (*checks, *(replace(check, case=case) for check in found))
        if shift == 0.0:
            checks = (*checks, _design_check(rolling, pair.backlash, names))
    return CheckReport(subject, checks)


def _bar_alone(
    bar: Outline, name: str, piece: BarPiece, bit: float
) -> tuple[tuple[Check, ...], ToothedBar | None]:
    """The checks of one bar, and its flanks where it is fit to be turned along."""
    rack, toothed, problem = piece.rack, None, ""
    teeth = int(rack.teeth)
    height = bar.points(CHORD)[:, 1]
    high = height > (max(-rack.root_depth, height.min()) + height.max()) / 2
    rises = int(np.count_nonzero(high & ~np.roll(high, 1)))
    try:
        toothed = ToothedBar.of(bar, teeth, rack.pitch)
    except GearworkError as error:
        problem = str(error)
    sound = [
        _crossing_check(bar, name, teeth),
        _count_check(rises, problem, name, teeth),
        _bar_size_check(bar, name, piece),
    ]
    checks = [*sound, _corner_check(bar, name, bit)]
    if toothed is not None:
        checks.append(_alike_teeth(toothed.deviations, name, "from the left, the first"))
    named = tuple(replace(check, part=name) for check in checks)
    return named, toothed if all(check.ok for check in sound) else None


def _bar_size_check(bar: Outline, name: str, piece: BarPiece) -> Check:
    rack = piece.rack
    left, low, right, high = bar.bounds
    length, height = right - left, high - low
    wanted = piece.length, rack.tip_height + rack.back_depth
    return Check(
        "size",
        max(abs(length - wanted[0]), abs(height - wanted[1]), abs(high - rack.tip_height)),
        SIZE_TOLERANCE,
        "mm",
        "at most",
        f"The {name} is {length:.3f} mm long and {height:.3f} mm high; the design has"
        f" {wanted[0]:.3f} and {wanted[1]:.3f} mm.",
        f"Scale the {name} by {wanted[0] / length:.5g}, or write its file again.",
        "size as designed; four times the outlines' tolerance (assumption)",
        kind="file",
    )


def _alone(
    outline: Outline,
    name: str,
    teeth: int,
    pitch_diameter: float,
    tip_diameter: float | None,
    bit: float | None,
) -> tuple[tuple[Check, ...], ToothedEdge | None]:
    """The checks of one outline, and its flanks where it is fit to be turned."""
    found, problem, edge = count_teeth(outline), "", None
    try:
        edge = ToothedEdge.of(outline, teeth)
    except GearworkError as error:
        problem = str(error)
    sound = [
        _crossing_check(outline, name, teeth),
        _count_check(found, problem, name, teeth),
        _size_check(outline, name, pitch_diameter, tip_diameter),
    ]
    checks = list(sound)
    if edge is not None and found == teeth:
        checks.append(_alike_check(outline, edge, name))
    if bit is not None:
        checks.append(_corner_check(outline, name, bit))
    named = tuple(replace(check, part=name) for check in checks)
    return named, edge if all(check.ok for check in sound) else None


def crossing(outline: Outline) -> complex | None:
    """Return a point where the path crosses itself, mm, or None.

    Pieces that cross are seen under the same angle from the origin: sorted by angle, each is
    held only against those that overlap it.
    """
    start = as_complex(outline.points(CHORD))
    count = len(start)
    way = np.roll(start, -1) - start
    turn = np.angle(np.roll(start, -1) * np.conj(start))
    low = (np.angle(start) + np.minimum(turn, 0.0)) % (2 * np.pi)
    again = np.flatnonzero(low < np.abs(turn).max())
    low = np.concatenate([low, low[again] + 2 * np.pi])
    order = np.argsort(low, kind="stable")
    piece = np.concatenate([np.arange(count), again])[order]
    low, high = low[order], low[order] + np.abs(turn)[piece]
    first = np.arange(len(piece) - 1)
    for shift in range(1, len(piece)):
        first = first[: np.searchsorted(first, len(piece) - shift)]
        first = first[low[first + shift] <= high[first]]
        if not len(first):
            break
        one, other = piece[first], piece[first + shift]
        apart = (one - other) % count
        strangers = (apart > 1) & (apart < count - 1)
        one, other = one[strangers], other[strangers]
        meets = _cross(start[one], way[one], start[other], way[other])
        if meets.any():
            one, other = one[meets][0], other[meets][0]
            along = _sine(start[other] - start[one], way[other]) / _sine(way[one], way[other])
            return complex(start[one] + along * way[one])
    return None


def _cross(start: Complexes, way: Complexes, other: Complexes, other_way: Complexes) -> Bools:
    """Whether two pieces cross between their ends."""
    area = _sine(way, other_way)
    first = _sine(other - start, other_way) * np.sign(area)
    second = _sine(other - start, way) * np.sign(area)
    inside: Bools = (np.minimum(first, second) > 0) & (np.maximum(first, second) < np.abs(area))
    return inside


def _sine(a: Complexes, b: Complexes) -> Floats:
    product: Floats = (np.conj(a) * b).imag
    return product


def count_teeth(outline: Outline) -> int:
    """How often the path rises past the middle between its lowest and highest point."""
    radius = np.abs(as_complex(outline.points(CHORD)))
    high = radius > (radius.min() + radius.max()) / 2
    return int(np.count_nonzero(high & ~np.roll(high, 1)))


def deviations(outline: Outline, edge: ToothedEdge) -> Floats:
    """Return how far each tooth strays from the typical one, mm, shape (z,).

    By its flanks, and by its vertices where these are the same on most teeth.
    """
    mirrored = -np.arange(edge.teeth) % edge.teeth
    flanks = np.maximum(_flank_deviations(edge.front), _flank_deviations(edge.back)[mirrored])
    return np.maximum(flanks, _vertex_deviations(as_complex(outline.vertices), edge.teeth))


def _vertex_deviations(vertices: Complexes, teeth: int) -> Floats:
    """Largest distance of a tooth's vertices from where the other teeth have theirs."""
    strays = np.zeros(teeth)
    if len(vertices) % teeth:
        return strays
    own = vertices.reshape(teeth, -1)
    onwards = np.sign(np.angle(own[1, 0] / own[0, 0])) * 2 * np.pi / teeth
    own = own * np.exp(-1j * onwards * np.arange(teeth))[:, None]
    shift = np.abs(own - np.median(own.real, axis=0) - 1j * np.median(own.imag, axis=0))
    if np.mean(shift < MAX_DEVIATION) > 0.5:
        nearest = np.rint(np.angle(vertices) * (teeth / (2 * np.pi))).astype(int) % teeth
        np.maximum.at(strays, nearest, shift.ravel())
    return strays


def _flank_deviations(flanks: FlankTable) -> Floats:
    """Largest distance square to the typical flank, or in height, mm, one a tooth."""
    teeth, typical = np.arange(len(flanks.tip))[:, None], flanks.typical
    radius = np.linspace(flanks.root[typical], flanks.tip[typical], 200)[None, :]
    one = np.full_like(radius, typical, dtype=np.int64)
    course, slope = flanks.course(one, radius)
    turned = np.abs(flanks.direction(teeth, radius) - course) * radius
    across = turned / np.hypot(1.0, radius * slope)
    across = np.where(flanks.beyond(teeth, radius), 0.0, across).max(axis=1)
    height = [np.abs(ends - ends[typical]) for ends in (flanks.root, flanks.tip)]
    deviation: Floats = np.max([across, *height], axis=0)
    return deviation


def _crossing_check(outline: Outline, name: str, teeth: int) -> Check:
    at = crossing(outline)
    why = f"The path of the {name} is simple: it has an inside and an outside."
    if at is not None:
        tooth = round(float(np.angle(at)) * teeth / (2 * np.pi)) % teeth
        why = (
            f"The path of the {name} crosses itself near ({at.real:.2f}, {at.imag:.2f})"
            f" mm at tooth {tooth}: the router would cut into the part."
        )
    remedy = f"Write the file of the {name} again."
    source = "a cut path must be a simple closed curve"
    return Check(
        "self-crossing", float(at is not None), 0.0, "", "at most", why, source, remedy, kind="file"
    )


def _count_check(found: int, problem: str, name: str, teeth: int) -> Check:
    why = f"The {name} has {found} teeth, as designed."
    if found != teeth:
        why = f"The {name} has {found} teeth about (0, 0), the design {teeth}."
    elif problem:
        why = f"The {name} is no gear of {teeth} teeth: {problem}"
    remedy = f"Write the file of the {name} again with {teeth} teeth."
    source = "the path's rises past its middle height"
    off = float(abs(found - teeth)) or (np.inf if problem else 0.0)
    return Check(
        "teeth missing or added", off, 0.0, "teeth", "at most", why, source, remedy, kind="file"
    )


def _size_check(outline: Outline, name: str, pitch: float, designed: float | None) -> Check:
    radius = np.abs(as_complex(outline.points(CHORD)))
    tip, root = 2 * float(radius.max()), 2 * float(radius.min())
    if designed is not None:
        value, limit = abs(tip - designed), SIZE_TOLERANCE
        wanted, doubt = f"the design has {designed:.3f} mm", ""
        scale = tip / designed
        source = "tip diameter as designed; four times the outlines' tolerance (assumption)"
    else:
        value, limit = max(root - pitch, pitch - tip, 0.0), (tip - root) / 4
        wanted = f"the working pitch circle of this mesh has {pitch:.3f} mm"
        doubt = " Or the centre distance is not the design's."
        scale = (tip + root) / 2 / pitch
        source = "the working pitch circle runs through the teeth or near them (assumption)"
    why = f"The {name}'s tip circle has {tip:.3f} mm, its root {root:.3f} mm; {wanted}."
    if value > limit:
        why = f"{why} That is {scale:.4g} times as large."
        if abs(abs(np.log(scale)) - np.log(25.4)) < 0.1:
            why = f"{why} Inches were taken for millimetres or the other way round."
    remedy = f"Scale the {name} by {1 / scale:.5g}, or write its file again.{doubt}"
    return Check("size", value, limit, "mm", "at most", why, source, remedy, kind="file")


def _alike_check(outline: Outline, edge: ToothedEdge, name: str) -> Check:
    way = "counter-clockwise from the one nearest the x axis"
    return _alike_teeth(deviations(outline, edge), name, way)


def _alike_teeth(strays: Floats, name: str, way: str) -> Check:
    """Check that no tooth strays from the others, mm; `way` in which they are counted."""
    worst = int(strays.argmax())
    odd = np.flatnonzero(strays > MAX_DEVIATION)
    why = f"All teeth of the {name} have the same shape."
    if len(odd):
        listed = ", ".join(map(str, odd[:6])) + (" and others" if len(odd) > 6 else "")
        why = (
            f"Tooth {listed} of the {name}, counted {way} as 0,"
            f" {'is' if len(odd) == 1 else 'are'} not like the others; tooth {worst}"
            " strays most."
        )
    remedy = f"Write the file of the {name} again; tooth {worst} was changed in it."
    source = "distance square to the flank and from vertex to vertex; twice the tolerance"
    stray = float(strays[worst])
    return Check(
        "teeth alike", stray, MAX_DEVIATION, "mm", "at most", why, source, remedy, kind="file"
    )


def _corner_check(outline: Outline, name: str, bit: float) -> Check:
    tightest = outline.inside_corner_diameter
    why = f"A bit that cuts {bit:g} mm leaves wood in every tighter inside corner of the {name}."
    remedy = (
        f"Take a bit of at most {np.floor(tightest * 100) / 100:g} mm, or write the file of"
        f" the {name} for this bit."
        if tightest > 0
        else f"The path has a sharp inside corner: write the file of the {name} again."
    )
    source = "largest circle that can follow the path"
    limit = bit * (1 - ROUNDING)
    return Check(
        "inside corner", tightest, limit, "mm", "at least", why, source, remedy, kind="file"
    )


def _mesh_checks(
    rolling: Rolling, names: tuple[str, str], pitch: float, turn: Turn
) -> tuple[Check, ...]:
    """Checks of one turn; `pitch` is that of the working pitch circles, mm."""
    return (
        _backlash_check(rolling, names, turn),
        _tip_check(rolling, names),
        _contact_check(rolling, pitch, turn),
        _error_check(rolling, names),
    )


def _touch_words(rolling: Rolling, names: tuple[str, str]) -> str:
    touch = rolling.first_touch
    if touch is None:
        return f"The {names[0]} does not reach the {names[1]}."
    diameter = 2 * np.hypot(touch.x, touch.y)
    return (
        f"First to touch are tooth {touch.pinion_tooth} of the {names[0]}, at {diameter:.2f} mm"
        f" diameter, and tooth {touch.wheel_tooth} of the {names[1]}."
    )


def _moved(
    rolling: Rolling, missing: Callable[[Rolling], float], sign: int, turn: Turn
) -> float | None:
    """How far the shafts must move until nothing is missing, tried out, mm; None if never."""
    start, way = rolling.centre_distance, 0.0
    for _ in range(TRIES):
        step = missing(rolling)
        if step == 0.0:
            return round(way, 2)
        if not np.isfinite(step):
            return None
        way += np.ceil(step * 100 + 1) / 100
        if way >= start / 2:
            return None
        rolling = turn(start + sign * way)
    return None


def _backlash_check(rolling: Rolling, names: tuple[str, str], turn: Turn) -> Check:
    def missing(rolling: Rolling) -> float:
        return max(-rolling.min_backlash, 0.0) / (2 * TAN_20)

    least, way = rolling.min_backlash, _moved(rolling, missing, 1, turn)
    some = "Set the shafts {:g} mm farther apart, or, if only some teeth are tight,"
    apart = "Look up the centre distance, or" if way is None else some.format(way)
    why = (
        f"Least play through a full turn of {names[0]} and {names[1]}."
        f" {_touch_words(rolling, names)}"
    )
    remedy = f"{apart} write the files again."
    source = "the outlines turned against each other"
    return Check("backlash", least, 0.0, "mm", "at least", why, source, remedy, kind="file")


def _tip_check(rolling: Rolling, names: tuple[str, str]) -> Check:
    side = int(np.argmin(rolling.tip_clearances))
    least = rolling.tip_clearances[side]
    why = (
        f"Least room over the tips, that of the {names[side]} in the root of the {names[1 - side]}."
    )
    remedy = (
        f"Set the shafts {np.ceil(max(-least, 0.0) * 100 + 1) / 100:g} mm farther apart or"
        f" shorten the tips of the {names[side]} by as much."
    )
    source = "highest tip over shallowest root of the outlines"
    return Check("tip clearance", least, 0.0, "mm", "at least", why, source, remedy, kind="file")


def _contact_check(rolling: Rolling, pitch: float, turn: Turn) -> Check:
    ratio = rolling.contact_ratio

    def missing(rolling: Rolling, goal: float = mesh.MIN_CONTACT_RATIO) -> float:
        return max(goal - rolling.contact_ratio, 0.0) * pitch * TAN_20 / (1 + TAN_20**2)

    nearer = "Look up the centre distance, or write the files again."
    if ratio >= mesh.MIN_CONTACT_RATIO:
        about = missing(rolling, mesh.WANTED_CONTACT_RATIO)
        nearer = f"Set the shafts about {about:.2f} mm nearer."
    elif (way := _moved(rolling, missing, -1, turn)) is not None:
        nearer = f"Set the shafts {way:g} mm nearer."
    why = "This many tooth pairs carry on average, by the flanks of the outlines themselves."
    source = "the outlines turned against each other; limits as for the design"
    low, wanted = mesh.MIN_CONTACT_RATIO, mesh.WANTED_CONTACT_RATIO
    return Check(
        "contact ratio", ratio, low, "", "at least", why, nearer, source, wanted, kind="file"
    )


def _error_check(rolling: Rolling, names: tuple[str, str]) -> Check:
    why = (
        "How unevenly the outlines hand on the motion, along the working pitch circle."
        f" {_touch_words(rolling, names)}"
    )
    remedy = "Write the files again, with a tolerance of the outlines of 0.005 mm or less."
    source = "the outlines turned against each other; limit an assumption"
    span, limit, wanted = rolling.transmission_error_span, MAX_ERROR, WANTED_ERROR
    return Check(
        "transmission error", span, limit, "µm", "at most", why, source, remedy, wanted, kind="file"
    )


def _design_check(rolling: Rolling, wanted: float, names: tuple[str, str]) -> Check:
    found = rolling.backlash
    # of a ratio below 1 play also grows where no flanks touch, as it was designed
    widest = found.min() if rolling.contact_ratio < 1.0 else found.max()
    strays = float(max(widest - wanted, wanted - found.min()))
    apart = (wanted - float(np.median(found))) / (2 * TAN_20)
    why = (
        f"The play of {names[0]} and {names[1]} at {rolling.centre_distance:.3f} mm runs from"
        f" {found.min():.3f} to {found.max():.3f} mm; the design has {wanted:.3f} mm."
    )
    remedy = (
        f"Look whether the centre distance {rolling.centre_distance:.3f} mm is the design's:"
        f" about {rolling.centre_distance + apart:.2f} mm would give its play."
    )
    source = "the outlines turned against each other"
    judged, limit = "backlash against the design", BACKLASH_TOLERANCE
    return Check(judged, strays, limit, "mm", "at most", why, source, remedy, kind="file")
