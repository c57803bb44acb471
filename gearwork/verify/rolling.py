"""Two cut outlines turned through their mesh: play, clearance, transmission error, contacts.

Cut outlines judged as they will be cut, alone and turned against each other.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.tooth.mesh import (
    LEAST_CONTACT_RATIO,
    WANTED_CONTACT_RATIO,
    CutPair,
    need_cut_pair,
)
from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.gear_outline import gear_outline
from gearwork.geometry.outline import Outline
from gearwork.numbers import Floats
from gearwork.verify.flanks import FreeTurn, ToothedEdge, free_turn, mesh_of, tip_clearance
from gearwork.verify.outline import Expected, outline_checks

FEWEST_STEPS = 40
"""Positions for each tooth, so that the contact ratio is good to two or three hundredths."""


class Touch(NamedTuple):
    """A place of contact.

    Attributes
    ----------
    pinion_tooth, wheel_tooth : int
        Counted counter-clockwise from 0, see `roll`.
    pinion_angle : float
        Nominal turn of the pinion, degrees.
    x, y : float
        From the pinion's centre, mm; the wheel's centre lies on +x.
    """

    pinion_tooth: int
    wheel_tooth: int
    pinion_angle: float
    x: float
    y: float


@dataclass(frozen=True, eq=False)
class Rolling:
    """Two outlines through a full turn of the one with more teeth.

    Attributes
    ----------
    centre_distance : float
        mm.
    pinion_angle : ndarray, shape (n,)
        Nominal turn of the pinion at each position, degrees.
    forward, backward : ndarray, shape (n,)
        How far the pinion can turn from there counter-clockwise and clockwise until it touches
        the wheel, mm of arc on its working pitch circle; negative where it overlaps already,
        infinite where it meets nothing.
    flank_clearance : ndarray, shape (n,)
        Distance of the flanks with the pinion in the middle of its play, mm; negative where
        they overlap however it is turned. To first order in the play where an edge is nearest.
    tip_clearances : tuple of float
        Least distance of pinion tip and wheel tip to the mate's root, the highest tooth over
        the shallowest space, mm; negative where they overlap.
    contact_ratio : float
        Tooth pairs whose flanks, not the edges of their tips, are within
        `first_contact.COMPLIANCE` of touching, on average; the worse way of turning. Coarse
        outlines touch at an edge too early, which takes up to 0.05, more below a module of 2.
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
    def least_backlash(self) -> float:
        """Least j_wt through the turn, mm."""
        return float(self.backlash.min())

    @property
    def least_clearance(self) -> float:
        """Least distance of the outlines through the turn, the pinion amid its play, mm."""
        return float(min(self.flank_clearance.min(), *self.tip_clearances))

    @property
    def collides(self) -> bool:
        """Whether the outlines overlap somewhere however the pinion is turned in its play."""
        return self.least_clearance < 0.0

    @property
    def transmission_errors(self) -> tuple[Floats, Floats]:
        """Lead of a driving pinion over the ratio of teeth, counter-clockwise and clockwise.

        µm of arc on the working pitch circle against the mean of the turn, shapes (n,); infinite
        where the pinion meets nothing.
        """
        return _deviation(self.forward), _deviation(self.backward)

    @property
    def transmission_error_span(self) -> float:
        """Peak to peak transmission error, µm, the worse way of turning."""
        if not np.isfinite(self.backlash).all():
            return np.inf
        return float(max(np.ptp(error) for error in self.transmission_errors))


def _deviation(way: Floats) -> Floats:
    meets = np.isfinite(way)
    mean = way[meets].mean() if meets.any() else 0.0
    return np.where(meets, 1000.0 * (way - mean), np.inf)


def roll(cut: CutPair, positions: int = 720) -> Rolling:
    """Turn the outlines of a pair as cut through their mesh, in equal steps over a turn.

    Parameters
    ----------
    cut : CutPair
        The gears and the bit.
    positions : int
        Least number of steps; rounded up to a whole number for each tooth, `FEWEST_STEPS` or
        more.

    Returns
    -------
    Rolling
        Play and clearance at every position, mm. At the start tooth 0 of the pinion points at
        the wheel, and the space before tooth 0 of the wheel at the pinion.

    Raises
    ------
    GearworkError
        If it is no `CutPair`, or its gears cannot be cut to run.

    Examples
    --------
    Two outlines turn with the play their gears were designed with, give or take their tolerance.

    >>> import gearwork as gw
    >>> pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
    >>> rolling = roll(gw.CutPair(pair, gw.Bit(3.0)))
    >>> rolling.collides, bool(abs(rolling.backlash - pair.backlash).max() < 0.02)
    (False, True)
    """
    need_cut_pair("roll", cut)
    distance = cut.pair.centre_distance
    pinion, wheel = (
        gear_outline(gear, cut.bit, mate, distance) for _, gear, mate, _ in cut.sides()
    )
    teeth = int(cut.pair.pinion.teeth), int(cut.pair.wheel.teeth)
    return roll_outlines(pinion, wheel, distance, teeth, positions)


def roll_outlines(
    pinion: Outline,
    wheel: Outline,
    centre_distance: float,
    teeth: tuple[int, int],
    positions: int = 720,
) -> Rolling:
    """Turn two outlines about the origin through their mesh; as `roll`.

    Tooth 0 is the one nearest the x axis. Refuses outlines without such teeth, and a gear that
    would reach the other's centre.
    """
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
    pitch = max(FEWEST_STEPS, -(-positions // larger))
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


def _first_touch(
    ways: tuple[FreeTurn, FreeTurn], angle: Floats, teeth: tuple[int, int]
) -> Touch | None:
    """The contact that comes earliest against the middle of its way of turning."""
    finite = [np.where(np.isfinite(way.angle), way.angle, np.nan) for way in ways]
    if any(np.isnan(way).all() for way in finite):
        return None
    early = [way - np.nanmedian(way) for way in finite]
    side = int(np.nanmin(early[1]) < np.nanmin(early[0]))
    at = int(np.nanargmin(early[side]))
    way, sign = ways[side], 1 - 2 * side
    return Touch(
        int(sign * way.pinion_tooth[at]) % teeth[0],
        int(sign * way.wheel_tooth[at]) % teeth[1],
        float(angle[at]),
        float(way.place[at].real),
        float(sign * way.place[at].imag),
    )


__all__ = ["Rolling", "Touch", "check_rolling", "roll", "roll_outlines"]

DISTANCE_TOLERANCE = 0.1
"""How exactly shafts are set, mm either way (assumption)."""

BACKLASH_TOLERANCE = 0.03
"""Between the design's backlash and that of the outlines, mm: two outlines stray 0.005 mm each
on both flanks (sum 0.02), and half as much again."""

LARGEST_ERROR, WANTED_ERROR = 50.0, 20.0
"""Transmission error that the outlines alone may have, µm peak to peak: well below what cutting
a plywood tooth adds (assumption)."""

TRIES = 8
"""Settings tried for a remedy."""

Turn = Callable[[float], Rolling]
"""Turns the two outlines at a centre distance, mm."""

TAN_20 = float(np.tan(np.radians(20.0)))
"""For remedies: outlines do not tell their pressure angle."""


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

    Parameters
    ----------
    pinion, wheel : Outline
        Toothed edges about the origin, as read back from the files.
    centre_distance : float
        As the shafts will stand, mm.
    teeth : tuple of int
        Tooth counts of pinion and wheel.
    tolerance : float
        The shafts may stand this much nearer or farther, mm.
    bit_diameter : float, optional
        What the bit cuts, mm; without it inside corners are not judged.
    tip_diameters : tuple of float, optional
        As designed, mm. Without them the size is judged by the working pitch circles, which
        must run through the teeth.
    backlash : float, optional
        j_wt of the design at the nominal distance, mm; without it only its sign is judged.
    names : tuple of str
        What to call the two parts.

    Returns
    -------
    CheckReport
        Outlines that are no sound gears of this size are not turned.

    Raises
    ------
    GearworkError
        If a number is out of its range.
    """
    distance = number("centre distance", centre_distance, unit="mm", above=0.0)
    spread = number("tolerance of the centre distance", tolerance, unit="mm", at_least=0.0)
    tips = tip_diameters or (None, None)
    expected = [
        Expected(name, z, 2 * distance * z / sum(teeth), tip, bit_diameter)
        for name, z, tip in zip(names, teeth, tips, strict=True)
    ]
    alone = [outline_checks(o, e) for o, e in zip((pinion, wheel), expected, strict=True)]
    checks = [check for each, _ in alone for check in each]
    first, second = (edge for _, edge in alone)
    if first is not None and second is not None:
        closest = max(first.reach, second.reach)
        pitch = 2 * np.pi * distance / sum(teeth)
        if distance - spread < closest:
            checks.append(_reach_check(distance - spread, closest, names))
        else:
            for label, shift in _settings(spread):
                turn = partial(roll_edges, first, second)
                rolling = turn(distance + shift)
                where = f"{label} {distance + shift:.3f} mm"
                checks += _mesh_checks(rolling, where, names, pitch, turn)
                if backlash is not None and shift == 0.0:
                    checks.append(_design_check(rolling, backlash, names))
    return CheckReport(Subject("pair", f"{names[0]} and {names[1]} as cut"), tuple(checks))


def _settings(spread: float) -> tuple[tuple[str, float], ...]:
    if spread == 0.0:
        return (("nominal", 0.0),)
    return ("nominal", 0.0), ("tightest", -spread), ("widest", spread)


def _mesh_checks(
    rolling: Rolling, where: str, names: tuple[str, str], pitch: float, turn: Turn
) -> tuple[Check, ...]:
    """Checks of one turn; `pitch` is that of the working pitch circles, mm."""
    return (
        _backlash_check(rolling, where, names, turn),
        _tip_check(rolling, where, names),
        _contact_check(rolling, where, pitch, turn),
        _error_check(rolling, where, names),
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


def _backlash_check(rolling: Rolling, where: str, names: tuple[str, str], turn: Turn) -> Check:
    def missing(rolling: Rolling) -> float:
        return max(-rolling.least_backlash, 0.0) / (2 * TAN_20)

    least, way = rolling.least_backlash, _moved(rolling, missing, 1, turn)
    some = "Set the shafts {:g} mm farther apart, or, if only some teeth are tight,"
    apart = "Look up the centre distance, or" if way is None else some.format(way)
    return Check(
        judged="backlash",
        case=where,
        kind="file",
        value=least,
        limit=0.0,
        unit="mm",
        sense="at least",
        why=f"Least play through a full turn of {names[0]} and {names[1]}."
        f" {_touch_words(rolling, names)}",
        remedy=f"{apart} write the files again.",
        source="the outlines turned against each other",
    )


def _tip_check(rolling: Rolling, where: str, names: tuple[str, str]) -> Check:
    side = int(np.argmin(rolling.tip_clearances))
    least = rolling.tip_clearances[side]
    return Check(
        judged="tip clearance",
        case=where,
        kind="file",
        value=least,
        limit=0.0,
        unit="mm",
        sense="at least",
        why=f"Least room over the tips, that of the {names[side]} in the root of the"
        f" {names[1 - side]}.",
        remedy=f"Set the shafts {np.ceil(max(-least, 0.0) * 100 + 1) / 100:g} mm farther apart or"
        f" shorten the tips of the {names[side]} by as much.",
        source="highest tip over shallowest root of the outlines",
    )


def _contact_check(rolling: Rolling, where: str, pitch: float, turn: Turn) -> Check:
    ratio = rolling.contact_ratio

    def missing(rolling: Rolling, goal: float = LEAST_CONTACT_RATIO) -> float:
        return max(goal - rolling.contact_ratio, 0.0) * pitch * TAN_20 / (1 + TAN_20**2)

    nearer = "Look up the centre distance, or write the files again."
    if ratio >= LEAST_CONTACT_RATIO:
        about = missing(rolling, WANTED_CONTACT_RATIO)
        nearer = f"Set the shafts about {about:.2f} mm nearer."
    elif (way := _moved(rolling, missing, -1, turn)) is not None:
        nearer = f"Set the shafts {way:g} mm nearer."
    return Check(
        judged="contact ratio",
        case=where,
        kind="file",
        value=ratio,
        limit=LEAST_CONTACT_RATIO,
        wanted=WANTED_CONTACT_RATIO,
        unit="",
        sense="at least",
        why="This many tooth pairs carry on average, by the flanks of the outlines themselves.",
        remedy=nearer,
        source="the outlines turned against each other; limits as for the design",
    )


def _error_check(rolling: Rolling, where: str, names: tuple[str, str]) -> Check:
    return Check(
        judged="transmission error",
        case=where,
        kind="file",
        value=rolling.transmission_error_span,
        limit=LARGEST_ERROR,
        wanted=WANTED_ERROR,
        unit="µm",
        sense="at most",
        why="How unevenly the outlines hand on the motion, along the working pitch circle."
        f" {_touch_words(rolling, names)}",
        remedy="Write the files again, with a tolerance of the outlines of 0.005 mm or less.",
        source="the outlines turned against each other; limit an assumption",
    )


def _design_check(rolling: Rolling, wanted: float, names: tuple[str, str]) -> Check:
    found = rolling.backlash
    strays = float(max(found.max() - wanted, wanted - found.min()))
    apart = (wanted - float(np.median(found))) / (2 * TAN_20)
    return Check(
        judged="backlash against the design",
        kind="file",
        value=strays,
        limit=BACKLASH_TOLERANCE,
        unit="mm",
        sense="at most",
        why=f"The play of {names[0]} and {names[1]} at {rolling.centre_distance:.3f} mm runs from"
        f" {found.min():.3f} to {found.max():.3f} mm; the design has {wanted:.3f} mm.",
        remedy=f"Look whether the centre distance {rolling.centre_distance:.3f} mm is the design's:"
        f" about {rolling.centre_distance + apart:.2f} mm would give its play.",
        source="the outlines turned against each other",
    )


def _reach_check(distance: float, reach: float, names: tuple[str, str]) -> Check:
    return Check(
        judged="centre distance",
        kind="file",
        value=distance,
        limit=reach,
        unit="mm",
        sense="at least",
        why=f"Nearer than this the larger of {names[0]} and {names[1]} reaches the other's centre.",
        remedy=f"Look up the centre distance: it is more than {reach:.2f} mm.",
        source="tip diameter of the outlines",
    )
