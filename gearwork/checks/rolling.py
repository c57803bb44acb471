"""Cut outlines judged as they will be cut, alone and turned against each other."""

from collections.abc import Callable
from functools import partial

import numpy as np

from gearwork.checks.cut_outline import Expected, outline_checks
from gearwork.checks.mesh import LEAST_CONTACT_RATIO, WANTED_CONTACT_RATIO
from gearwork.checks.turning import Rolling, Touch, roll, roll_edges
from gearwork.checks.verdict import Check, CheckReport
from gearwork.errors import number
from gearwork.geometry.outline import Outline

__all__ = ["Rolling", "Touch", "check_rolling", "roll"]

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
    return CheckReport(f"{names[0]} and {names[1]} as cut", tuple(checks))


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
        name=f"backlash, {where}",
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
        name=f"tip clearance, {where}",
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
        name=f"contact ratio, {where}",
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
        name=f"transmission error, {where}",
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
        name="backlash against the design",
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
        name="centre distance",
        value=distance,
        limit=reach,
        unit="mm",
        sense="at least",
        why=f"Nearer than this the larger of {names[0]} and {names[1]} reaches the other's centre.",
        remedy=f"Look up the centre distance: it is more than {reach:.2f} mm.",
        source="tip diameter of the outlines",
    )
