"""Areas of pictures in SVG, as shapely polygons with y upwards."""

import math
import re
from html import unescape

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


def named(svg, name):
    """The path data of everything drawn under a name of the key."""
    return re.findall(rf'<path aria-label="{name}" d="([^"]*)"', svg)


def named_area(svg, name):
    """The one area of that name."""
    (data,) = named(svg, name)
    return shapely.Polygon(_loop(data.split("Z")[0]))


def named_points(svg, name):
    """Ends of the straight lines of that name, shape (n, 2)."""
    pairs = re.findall(r"[ML]([-\d.]+) ([-\d.]+)", named(svg, name)[0])
    return np.array(pairs, dtype=float).reshape(-1, 2) * (1, -1)


def circles(svg, name):
    """Middle and diameter of each circle of that name, as two half circles each."""
    found = []
    for data in named(svg, name):
        for x, y, radius in re.findall(r"M([-\d.]+) ([-\d.]+)A([\d.]+)", data):
            found.append(((float(x) - float(radius), -float(y)), 2 * float(radius)))
    return found


def written(svg):
    """Every text and where it stands, (left, top, right, bottom) in pixels.

    Letters are taken as 0.55 of their size wide.
    """
    width = float(re.search(r'width="([\d.]+)"', svg)[1])
    left, top, wide, _ = map(float, re.search(r'viewBox="([^"]*)"', svg)[1].split())
    scale = width / wide
    found = []
    text = r'<text x="([-\d.]+)" y="([-\d.]+)" font-size="([\d.]+)" text-anchor="(\w+)">([^<]*)'
    for x, y, size, anchor, words in re.findall(text, svg):
        long = 0.55 * float(size) * len(words)
        start = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * long
        box = (start - left, float(y) - float(size) - top, start + long - left, float(y) - top)
        found.append((unescape(words), float(size) * scale, tuple(scale * each for each in box)))
    return found
