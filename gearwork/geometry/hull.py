"""The convex hull of circles as one path of arcs and lines.

Points of the plane are complex numbers inside.
"""

from collections.abc import Sequence

import numpy as np

from gearwork.geometry.measure import Circle
from gearwork.geometry.outline import Array, Complex, Outline


def circle_hull(circles: Sequence[Circle]) -> Outline:
    """Return the tightest band round circles: arcs and the lines tangent to them.

    Parameters
    ----------
    circles : sequence of ((float, float), float)
        Centre and diameter of each, mm; at least one, with a diameter above 0.

    Returns
    -------
    Outline
        Counter-clockwise.
    """
    centre = np.array([complex(*place) for place, _ in circles])
    radius = np.array([diameter for _, diameter in circles]) / 2
    first = int(np.lexsort((-radius, -centre.imag, -np.round(centre.real + radius, 9)))[0])
    steps = _band(centre, radius, first)
    if not steps:
        return Outline.circle(2 * radius[first], (centre[first].real, centre[first].imag))
    points, bulges = [], []
    before = steps[-1][0] - 2 * np.pi
    for angle, circle in steps:
        if (angle - before) * radius[circle] > 1e-9:
            points.append(centre[circle] + radius[circle] * np.exp(1j * before))
            bulges.append(np.tan((angle - before) / 4))
        points.append(centre[circle] + radius[circle] * np.exp(1j * angle))
        bulges.append(0.0)
        before = angle
    return Outline(points, bulges)


def _band(centre: Complex, radius: Array, first: int) -> list[tuple[float, int]]:
    """Angle of the normal at which the band leaves each circle in turn, radians up to 2π.

    Circle j reaches farther than i from the angle on at which (c_j − c_i)·u = r_i − r_j.
    """
    steps: list[tuple[float, int]] = []
    current, angle = first, 0.0
    for _ in range(2 * len(centre)):
        way = centre - centre[current]
        apart = np.abs(way)
        shorter = radius[current] - radius
        others = apart > np.abs(shorter) + 1e-9
        if not others.any():
            break
        safe = np.where(others, apart, 1.0)
        leave = np.angle(way) - np.arccos(np.where(others, shorter / safe, 0.0))
        turn = np.where(others, (leave - angle + 1e-9) % (2 * np.pi) - 1e-9, np.inf)
        after = int(np.lexsort((-apart, np.round(turn, 9)))[0])
        if angle + turn[after] > 2 * np.pi + 1e-9:
            break
        angle += float(turn[after])
        steps.append((angle, current))
        current = after
    return steps
