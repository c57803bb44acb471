"""Whether one outline is the toothed edge it should be: simple, whole, alike, of its size."""

from typing import NamedTuple

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, as_complex
from gearwork.numbers import Bools, Complexes, Floats
from gearwork.verify.flanks import FlankTable, ToothedEdge

LARGEST_DEVIATION = 0.01
"""Between teeth of one outline, mm: twice the default tolerance of outlines."""

SIZE_TOLERANCE = 0.02
"""On diameters read back, mm: four times the default tolerance of outlines (assumption)."""

ROUNDING = 0.002
"""Share by which an arc read back may be tighter than the bit: coordinates rounded to 1e-5 mm
move the radius of a short flat arc this much."""

CHORD = 0.01
"""Chord error in the search for crossings, mm."""


class Expected(NamedTuple):
    """What one outline should be.

    Attributes
    ----------
    name : str
        What to call the part.
    teeth : int
        z.
    working_pitch_diameter : float
        d_w, mm.
    tip_diameter, bit_diameter : float or None
        As designed and as cut, mm, where known.
    """

    name: str
    teeth: int
    working_pitch_diameter: float
    tip_diameter: float | None
    bit_diameter: float | None


def outline_checks(
    outline: Outline, expected: Expected
) -> tuple[tuple[Check, ...], ToothedEdge | None]:
    """Return the checks of one outline, and its flanks where it is fit to be turned."""
    found, problem = count_teeth(outline), ""
    edge = None
    try:
        edge = ToothedEdge.of(outline, expected.teeth)
    except GearworkError as error:
        problem = str(error)
    sound = [
        _crossing_check(outline, expected),
        _count_check(found, problem, expected),
        _size_check(outline, expected),
    ]
    checks = list(sound)
    if edge is not None and found == expected.teeth:
        checks.append(_alike_check(outline, edge, expected.name))
    if expected.bit_diameter is not None:
        checks.append(_corner_check(outline, expected.name, expected.bit_diameter))
    return tuple(checks), edge if all(check.ok for check in sound) else None


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
    """Return how often the path rises past the middle between its lowest and highest point."""
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
    if np.mean(shift < LARGEST_DEVIATION) > 0.5:
        nearest = np.rint(np.angle(vertices) * (teeth / (2 * np.pi))).astype(int) % teeth
        np.maximum.at(strays, nearest, shift.ravel())
    return strays


def _flank_deviations(flanks: FlankTable) -> Floats:
    """Largest distance square to the typical flank, or in height, mm, one a tooth."""
    teeth, typical = np.arange(len(flanks.tip))[:, None], flanks.typical
    radius = np.linspace(flanks.root[typical], flanks.tip[typical], 200)[None, :]
    one = np.full_like(radius, typical, dtype=np.int64)
    turned = np.abs(flanks.direction(teeth, radius) - flanks.direction(one, radius)) * radius
    across = turned / np.hypot(1.0, radius * flanks.slope(one, radius))
    across = np.where(flanks.beyond(teeth, radius), 0.0, across).max(axis=1)
    height = [np.abs(ends - ends[typical]) for ends in (flanks.root, flanks.tip)]
    deviation: Floats = np.max([across, *height], axis=0)
    return deviation


def _crossing_check(outline: Outline, expected: Expected) -> Check:
    at = crossing(outline)
    why = f"The path of the {expected.name} is simple: it has an inside and an outside."
    if at is not None:
        tooth = round(float(np.angle(at)) * expected.teeth / (2 * np.pi)) % expected.teeth
        why = (
            f"The path of the {expected.name} crosses itself near ({at.real:.2f}, {at.imag:.2f})"
            f" mm at tooth {tooth}: the router would cut into the part."
        )
    return Check(
        judged="self-crossing",
        part=expected.name,
        kind="file",
        value=float(at is not None),
        limit=0.0,
        unit="",
        sense="at most",
        why=why,
        remedy=f"Write the file of the {expected.name} again.",
        source="a cut path must be a simple closed curve",
    )


def _count_check(found: int, problem: str, expected: Expected) -> Check:
    wanted = expected.teeth
    why = f"The {expected.name} has {found} teeth, as designed."
    if found != wanted:
        why = f"The {expected.name} has {found} teeth where the design has {wanted}."
    elif problem:
        why = f"The {expected.name} is no gear of {wanted} teeth: {problem}"
    return Check(
        judged="teeth missing or added",
        part=expected.name,
        kind="file",
        value=float(abs(found - wanted)) or (np.inf if problem else 0.0),
        limit=0.0,
        unit="teeth",
        sense="at most",
        why=why,
        remedy=f"Write the file of the {expected.name} again with {wanted} teeth.",
        source="the path's rises past its middle height",
    )


def _size_check(outline: Outline, expected: Expected) -> Check:
    radius = np.abs(as_complex(outline.points(CHORD)))
    tip, root = 2 * float(radius.max()), 2 * float(radius.min())
    if expected.tip_diameter is not None:
        value, limit = abs(tip - expected.tip_diameter), SIZE_TOLERANCE
        wanted, doubt = f"the design has {expected.tip_diameter:.3f} mm", ""
        scale = tip / expected.tip_diameter
        source = "tip diameter as designed; four times the outlines' tolerance (assumption)"
    else:
        pitch = expected.working_pitch_diameter
        value, limit = max(root - pitch, pitch - tip, 0.0), (tip - root) / 4
        wanted = f"the working pitch circle of this mesh has {pitch:.3f} mm"
        doubt = " Or the centre distance is not the design's."
        scale = (tip + root) / 2 / pitch
        source = "the working pitch circle runs through the teeth or near them (assumption)"
    why = f"The {expected.name}'s tip circle has {tip:.3f} mm, its root {root:.3f} mm; {wanted}."
    if value > limit:
        why = f"{why} That is {scale:.4g} times as large."
        if abs(abs(np.log(scale)) - np.log(25.4)) < 0.1:
            why = f"{why} Inches were taken for millimetres or the other way round."
    return Check(
        judged="size",
        part=expected.name,
        kind="file",
        value=value,
        limit=limit,
        unit="mm",
        sense="at most",
        why=why,
        remedy=f"Scale the {expected.name} by {1 / scale:.5g}, or write its file again.{doubt}",
        source=source,
    )


def _alike_check(outline: Outline, edge: ToothedEdge, name: str) -> Check:
    strays = deviations(outline, edge)
    worst = int(strays.argmax())
    odd = np.flatnonzero(strays > LARGEST_DEVIATION)
    why = f"All teeth of the {name} have the same shape."
    if len(odd):
        listed = ", ".join(map(str, odd[:6])) + (" and others" if len(odd) > 6 else "")
        why = (
            f"Tooth {listed} of the {name}, counted counter-clockwise from the one nearest the x"
            f" axis as 0, {'is' if len(odd) == 1 else 'are'} not like the others; tooth {worst}"
            " strays most."
        )
    return Check(
        judged="teeth alike",
        part=name,
        kind="file",
        value=float(strays[worst]),
        limit=LARGEST_DEVIATION,
        unit="mm",
        sense="at most",
        why=why,
        remedy=f"Write the file of the {name} again; tooth {worst} was changed in it.",
        source="distance square to the flank and from vertex to vertex; twice the tolerance",
    )


def _corner_check(outline: Outline, name: str, bit: float) -> Check:
    tightest = outline.inside_corner_diameter
    return Check(
        judged="inside corner",
        part=name,
        kind="file",
        value=tightest,
        limit=bit * (1 - ROUNDING),
        unit="mm",
        sense="at least",
        why=f"A bit that cuts {bit:g} mm leaves wood in every tighter inside corner of the {name}.",
        remedy=(
            f"Take a bit of at most {np.floor(tightest * 100) / 100:g} mm, or write the file of"
            f" the {name} for this bit."
            if tightest > 0
            else f"The path has a sharp inside corner: write the file of the {name} again."
        ),
        source="largest circle that can follow the path",
    )
