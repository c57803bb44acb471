"""Reading drawings in SVG back: the lines of the DXF file beside them, and all else as written."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple, NoReturn
from xml.etree import ElementTree

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, as_complex, circle_of
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Complexes, Floats
from gearwork.output.marking import NOT_CUT, CutLines
from gearwork.output.svg import cut_svg
from gearwork.verify.pieces import faults_check

SVG = "{http://www.w3.org/2000/svg}"
ROUNDED = 0.001  # of coordinates in the file, mm, with room to spare
BENT = 0.005  # of the middle of an arc, mm, beside what its rounded radius moves it
LAST = 0.0001  # figure of a radius in the file, mm
MOVED = 0.006  # of what is not cut, mm
KNOWN = {"g": {"id", "class", "fill", "stroke", "stroke-width"}, "path": {"d"}}
KNOWN["circle"] = {"cx", "cy", "r"}
"""Attributes of what we write: any other could move, scale or hide it."""

LOOK = {"class": "cut", "fill": "none", "stroke": "black", "stroke-width": "0.1"}
"""Of lines that are cut: a laser cuts by colour, what has none is lost."""

NUMBER = re.compile(r"(-?[0-9]+\.?[0-9]*)")


class Trace(NamedTuple):
    """A line that is cut: its layer, the ends of its lines and arcs, and the middles of these.

    `sway`: by how much each middle moves with the last figure of its radius, mm.
    """

    layer: str
    ends: Complexes
    middles: Complexes
    sway: Floats


class _Builder(ElementTree.TreeBuilder):
    """Elements alone: what stands before them could bring in a style that hides some."""

    def pi(self, target: str, text: str | None = None) -> NoReturn:
        raise GearworkError(f"it holds <?{target[:40]}?>, which could move or hide a line")


def svg_check(path: Path, file: CutLines) -> Check:
    """Judge whether a drawing shows lines, those of a DXF file, and beside them what is written.

    Nothing else, at 1:1; lines in any order within their layer.
    """
    try:
        faults = list(_faults(path, file))
    except (ElementTree.ParseError, OSError, ValueError, IndexError) as error:
        faults = [str(error) if isinstance(error, GearworkError) else "it can be read no more"]
    return faults_check("drawing as its DXF file", path.name, faults)


def _faults(path: Path, file: CutLines) -> Iterator[str]:
    root = ElementTree.parse(path, ElementTree.XMLParser(target=_Builder())).getroot()
    groups = [one for one in root if one.tag == f"{SVG}g" and not _layer(one).startswith(NOT_CUT)]
    for group in groups:
        root.remove(group)
    yield from _unlike(root, ElementTree.fromstring(cut_svg(file, cut=False)))
    drawn = [_trace_of(_layer(group), line) for group in groups for line in _lines(group)]
    wanted = [_trace(layer, line) for layer, line in file.lines]
    orders = [list(dict.fromkeys(trace.layer for trace in traces)) for traces in (drawn, wanted)]
    if sorted(orders[0]) == sorted(orders[1]) and orders[0] != orders[1]:
        yield f"{orders[0][0]} is cut before {orders[1][0]}"
    for layer in sorted({trace.layer for trace in (*drawn, *wanted)}):
        own, others = ([t for t in all_ if t.layer == layer] for all_ in (drawn, wanted))
        if len(own) != len(others):
            yield f'layer "{layer[:40]}": lines are {len(own)}, in the DXF file {len(others)}'
            continue
        for other in others:
            nearest = min(own, key=lambda one: _apart(one, other))
            own = [one for one in own if one is not nearest]
            if _apart(nearest, other) > 1.0:
                x, y = other.ends[0].real, other.ends[0].imag
                yield f"a line on {layer} near ({x:.1f}, {y:.1f}) mm is not that of the DXF file"
                break


def _unlike(found: ElementTree.Element, wanted: ElementTree.Element) -> Iterator[str]:
    """Yield how an element differs from what is written, in words, order or more than rounding."""
    if found.tag != wanted.tag:
        yield f"{_named(found)} stands where {_named(wanted)} must"
        return
    for key in sorted(found.attrib | wanted.attrib):
        said, right = found.get(key, ""), wanted.get(key, "")
        if not _same(said, right):
            yield f'{key} of {_named(wanted)} is "{said[:60]}": it must be "{right[:60]}"'
    said, right = ((one.text or "").strip() for one in (found, wanted))
    if said != right:
        yield f'the text says "{said[:90]}" where "{right[:90]}" must stand'
    for one, other in zip(found, wanted, strict=False):
        yield from _unlike(one, other)
    for one in found[len(wanted) :]:
        yield f"it holds {_named(one)} that is not as written"
    for one in wanted[len(found) :]:
        yield f"{_named(one)} is gone"


def _same(said: str, right: str) -> bool:
    """Whether two attributes are the same but for rounding."""
    if said == right:
        return True
    ours, theirs = NUMBER.split(said), NUMBER.split(right)
    numbers = zip(ours[1::2], theirs[1::2], strict=False)
    return ours[::2] == theirs[::2] and all(abs(float(a) - float(b)) < MOVED for a, b in numbers)


def _named(element: ElementTree.Element) -> str:
    words = element.text if element.text and element.text.strip() else element.get("id", "")
    kind = f"<{element.tag.removeprefix(SVG)[:40]}>"
    return f'{kind} "{words[:60]}"' if words else kind


def _apart(one: Trace, other: Trace) -> float:
    """How far two lines stray from each other, over what rounding may do; inf: another kind."""
    if one.ends.shape != other.ends.shape or one.middles.shape != other.middles.shape:
        return np.inf
    ends = np.abs(one.ends - other.ends) / ROUNDED
    middles = np.abs(one.middles - other.middles) / (BENT + other.sway)
    return float(max(ends.max(initial=0.0), middles.max(initial=0.0)))


def _trace(layer: str, line: Outline | Run) -> Trace:
    circle = None if isinstance(line, Run) else circle_of(line)
    if circle is not None:
        return _round(layer, complex(*circle[0]), circle[1] / 2)
    path = line.closed if isinstance(line, Run) else line
    segments = np.arange(len(line.bulges))
    radii = np.minimum(path.radii[segments], 1e6)
    # By Pythagoras on half a chord: half a circle's middle moves most.
    moved = 4 * radii * LAST
    to_centre = np.abs(radii**2 - np.abs(as_complex(path.chords[segments])) ** 2 / 4)
    sway = moved / np.sqrt(np.maximum(to_centre, moved))
    return Trace(layer, as_complex(line.vertices), path.along(segments, 0.5)[0], sway)


def _round(layer: str, centre: complex, radius: float) -> Trace:
    return Trace(layer, np.array([centre, centre + radius]), *np.empty((2, 0)))


def _layer(group: ElementTree.Element) -> str:
    return group.get("id", "")


def _lines(group: ElementTree.Element) -> Iterator[ElementTree.Element]:
    """The lines of a layer, if they look as written and nothing hides or moves them."""
    if {name: value for name, value in group.items() if name != "id"} != LOOK:
        _refuse_unknown(group)
        raise GearworkError(
            f'layer "{_layer(group)[:40]}" does not look as written: it may be lost'
        )
    for line in group:
        _refuse_unknown(line)
        yield line


def _refuse_unknown(element: ElementTree.Element) -> None:
    """Refuse other kinds than ours, with other attributes, or with something in a line."""
    odd = sorted(element.attrib.keys() - KNOWN.get(element.tag.removeprefix(SVG), set()))
    held = [] if element.tag == f"{SVG}g" else list(element)
    if element.tag.removeprefix(SVG) not in KNOWN or odd or held:
        more = [*(key[:40] for key in odd), *map(_named, held)]
        more_words = f" with {more[0]}" if more else ""
        raise GearworkError(
            f"it holds {_named(element)}{more_words}, which could move or hide a line"
        )


def _trace_of(layer: str, shape: ElementTree.Element) -> Trace:
    if shape.tag == f"{SVG}circle":
        given = [shape.get(key, "") for key in ("cx", "cy", "r")]
        if not all(map(NUMBER.fullmatch, given)):
            raise GearworkError(f"it holds a circle with {', '.join(given)[:60]} for numbers")
        x, y, radius = map(float, given)
        return _round(layer, complex(x, -y), radius)
    ends: list[complex] = []
    middles: list[complex] = []
    data = shape.get("d", "")
    odd = re.search(r"^[^M]|.M|[^-MLAZ0-9. ]|Z.", data, re.DOTALL)
    if odd:
        raise GearworkError(f"it holds a path with {odd[0]}, which we never write")
    for letter, figures in re.findall(r"([MLA])([^MLAZ]*)", data):
        numbers = [float(figure) for figure in figures.split()]
        if len(numbers) != (7 if letter == "A" else 2):
            raise GearworkError(f"it holds a path with {letter}{figures[:60]}")
        end = complex(numbers[-2], -numbers[-1])
        if letter == "A":
            if numbers[:3] != [numbers[0], numbers[0], 0.0]:
                raise GearworkError("it holds an arc of two radii")
            middles.append(_middle(ends[-1], end, numbers[0], numbers[3] > 0, numbers[4] > 0))
        elif letter == "L":
            middles.append((ends[-1] + end) / 2)
        ends.append(end)
    if data.endswith("Z"):
        if abs(ends[-1] - ends[0]) < ROUNDED:
            ends.pop()
        else:
            middles.append((ends[-1] + ends[0]) / 2)
    return Trace(layer, np.array(ends), np.array(middles), np.empty(0))


def _middle(start: complex, end: complex, radius: float, large: bool, clockwise: bool) -> complex:
    """Middle of an arc, y upwards: half a chord and the sagitta to its right, or left."""
    chord = end - start
    half = np.arcsin(min(abs(chord) / (2 * radius), 1.0))
    half = np.pi - half if large else half
    bulge = np.tan(half / 2) * (-1 if clockwise else 1)
    return complex((start + end) / 2 - 0.5j * bulge * chord)
