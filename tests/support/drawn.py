"""Areas of pictures in SVG, as shapely polygons with y upwards."""

import math
import re

import numpy as np
import shapely

from gearwork.geometry.outline import Outline


def _loop(data):
    """One closed path of lines and arcs (SVG 1.1, 8.3 and F.6)."""
    steps = re.findall(r"([MLA])([^MLAZ]*)", data)
    numbers = [[float(n) for n in re.findall(r"[-\d.]+", rest)] for _, rest in steps]
    ends = [(values[-2], -values[-1]) for values in numbers]
    bulges = []
    for (kind, _), values, start, end in zip(steps[1:], numbers[1:], ends, ends[1:], strict=False):
        if kind == "L":
            bulges.append(0.0)
            continue
        half = math.asin(min(math.dist(start, end) / 2 / values[0], 1.0))
        half = math.pi - half if values[3] else half
        bulges.append(math.tan(half / 2) * (-1 if values[4] else 1))
    if math.dist(ends[0], ends[-1]) < 1e-9:
        ends.pop()
    else:
        bulges.append(0.0)
    return Outline(ends, bulges).points(0.005)


def areas(svg):
    """The areas drawn, the first at the back."""
    found = []
    for data in re.findall(r'<path d="([^"]*)" fill-rule="evenodd"', svg):
        around, *holes = (_loop(loop) for loop in data.split("Z") if loop)
        found.append(shapely.Polygon(around, holes))
    return found


def straight_lines(svg):
    """The corners of every line, shape (n, 2)."""
    every = re.findall(r'<path d="M([^"MAZ]*)" fill="none"', svg)
    return [
        np.array([list(map(float, xy.split())) for xy in one.split("L")]) * (1, -1) for one in every
    ]
