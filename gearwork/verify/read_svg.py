"""Reading drawings in SVG back, and whether they show the lines of the DXF file beside them."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, as_complex, circle_of
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Complexes
from gearwork.output.marking import NOT_CUT
from gearwork.output.svg import SEEN
from gearwork.verify.pieces import faults_check

SVG = "{http://www.w3.org/2000/svg}"
ROUNDED = 0.001  # of coordinates in the file, mm, with room to spare
BENT = 0.05  # of the middle of an arc, which its rounded radius moves, mm
KNOWN = {
    "svg": {"width", "height", "viewBox"},
    "g": {"id", "class", "fill", "stroke", "stroke-width"},
    "path": {"d"},
    "circle": {"cx", "cy", "r"},
}
"""Attributes of what we write: any other could move, scale or hide it."""

LOOKS = (
    {"class": "cut", "fill": "none", "stroke": "black", "stroke-width": "0.1"},
    {"fill": "none", "stroke": "gray", "stroke-width": "0.2"},
)
"""Of lines that are cut, and of what is not: a laser cuts by colour, what has none is lost."""

Trace = tuple[str, Complexes, Complexes]  # layer, ends of the lines and arcs, middles of these


def svg_check(path: Path, lines: Sequence[tuple[str, Outline | Run]]) -> Check:
    """Judge whether a drawing is at 1:1 and shows the lines of a DXF file, layer by layer."""
    try:
        faults = list(_faults(path, lines))
    except (ElementTree.ParseError, OSError, ValueError, IndexError) as error:
        faults = [str(error) if isinstance(error, GearworkError) else "it is no SVG any more"]
    return faults_check("drawing as its DXF file", path.name, faults)


def _faults(path: Path, lines: Sequence[tuple[str, Outline | Run]]) -> Iterator[str]:
    drawn, wanted = _read(path), [_trace(layer, line) for layer, line in lines]
    orders = [list(dict.fromkeys(layer for layer, *_ in traces)) for traces in (drawn, wanted)]
    if sorted(orders[0]) == sorted(orders[1]) and orders[0] != orders[1]:
        yield f"{orders[0][0]} is cut before {orders[1][0]}"
    for layer in sorted({trace[0] for trace in (*drawn, *wanted)}):
        own, others = ([t for t in all_ if t[0] == layer] for all_ in (drawn, wanted))
        if len(own) != len(others):
            yield f"layer {layer} has {len(own)} lines, in the DXF file {len(others)}"
            continue
        for other in others:
            nearest = min(own, key=lambda one: _apart(one, other))
            own = [one for one in own if one is not nearest]
            if _apart(nearest, other) > 1.0:
                x, y = other[1][0].real, other[1][0].imag
                yield f"a line on {layer} near ({x:.1f}, {y:.1f}) mm is not that of the DXF file"
                break


def _apart(one: Trace, other: Trace) -> float:
    """How far two lines stray from each other, over what rounding may do; inf: another kind."""
    if one[1].shape != other[1].shape or one[2].shape != other[2].shape:
        return np.inf
    ends, middles = (
        np.abs(a - b).max(initial=0.0) for a, b in zip(one[1:], other[1:], strict=True)
    )
    return float(max(ends / ROUNDED, middles / BENT))


def _trace(layer: str, line: Outline | Run) -> Trace:
    circle = None if isinstance(line, Run) else circle_of(line)
    if circle is not None:
        centre = complex(*circle[0])
        return layer, np.array([centre, centre + circle[1] / 2]), np.empty(0, dtype=complex)
    path = line.closed if isinstance(line, Run) else line
    ends = as_complex(line.vertices)
    return layer, ends, path.along(np.arange(len(line.bulges)), 0.5)[0]


def _read(path: Path) -> list[Trace]:
    root = ElementTree.parse(path).getroot()
    _refuse_unknown(root, ("svg",))
    width, height = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    box = [float(figure) for figure in root.get("viewBox", "").split()]
    if len(box) != 4 or abs(box[2] - width) > ROUNDED or abs(box[3] - height) > ROUNDED:
        raise GearworkError("it is not at 1:1: width and height are not those of its viewBox")
    if not all(root.get(side, "").endswith("mm") for side in ("width", "height")):
        raise GearworkError("it is not in mm")
    found: list[Trace] = []
    for group in root:
        if group.tag == f"{SVG}title" or (group.tag == f"{SVG}style" and group.text == SEEN):
            continue
        _refuse_unknown(group, ("g",))
        layer = group.get("id", "")
        look = {name: value for name, value in group.items() if name != "id"}
        if look != LOOKS[layer.startswith(NOT_CUT)]:
            raise GearworkError(f"layer {layer[:40]} does not look as written: it may be lost")
        for shape in group if not layer.startswith(NOT_CUT) else ():
            _refuse_unknown(shape, ("path", "circle"))
            found.append(_shape(layer, shape))
    return found


def _refuse_unknown(element: ElementTree.Element, wanted: Sequence[str]) -> None:
    kind = element.tag.removeprefix(SVG)
    odd = set(element.attrib) - KNOWN.get(kind, set())
    if kind not in wanted or odd:
        named = f" with {sorted(odd)[0]}" if odd else ""
        raise GearworkError(f"it holds a {kind[:40]}{named[:40]}, which could move or hide a line")


def _shape(layer: str, shape: ElementTree.Element) -> Trace:
    if shape.tag == f"{SVG}circle":
        centre = complex(float(shape.get("cx", "")), -float(shape.get("cy", "")))
        rim = centre + float(shape.get("r", ""))
        return layer, np.array([centre, rim]), np.empty(0, dtype=complex)
    ends: list[complex] = []
    middles: list[complex] = []
    data = shape.get("d", "")
    for letter, figures in re.findall(r"([A-Za-z])([^A-Za-z]*)", data):
        if letter == "Z":
            continue
        given = [float(figure) for figure in re.split(r"[ ,]+", figures.strip())]
        end = complex(given[-2], -given[-1])
        if letter == "A" and given[:3] != [given[0], given[0], 0.0]:
            raise GearworkError("it holds an arc of two radii")
        if letter == "A":
            middles.append(_middle(ends[-1], end, given[0], given[3] > 0, given[4] > 0))
        elif letter == "L":
            middles.append((ends[-1] + end) / 2)
        elif letter != "M" or ends:
            raise GearworkError(f"it holds a path with {letter}, which we never write")
        ends.append(end)
    if data.endswith("Z"):
        if abs(ends[-1] - ends[0]) < ROUNDED:
            ends.pop()
        else:
            middles.append((ends[-1] + ends[0]) / 2)
    return layer, np.array(ends), np.array(middles)


def _middle(start: complex, end: complex, radius: float, large: bool, clockwise: bool) -> complex:
    """Middle of an arc, y upwards: half a chord and the sagitta to its right, or left."""
    chord = end - start
    half = np.arcsin(min(abs(chord) / (2 * radius), 1.0))
    half = np.pi - half if large else half
    bulge = np.tan(half / 2) * (-1 if clockwise else 1)
    return complex((start + end) / 2 - 0.5j * bulge * chord)
