"""SVG in true millimetres, from templates: arcs as arcs, one group for each layer."""

from typing import Any

import numpy as np
from markupsafe import Markup
from numpy.typing import ArrayLike

from gearwork.geometry.outline import Circle, Outline, circle_of
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Floats
from gearwork.output.drawing import draft
from gearwork.output.html import INK
from gearwork.output.jobsheet.pages import drawn
from gearwork.output.marking import LETTER_SHARE, NOT_CUT, Bounds, CutLines

_MARGIN = 5.0
SEEN = "@media screen { .cut * { stroke-width: 1px; vector-effect: non-scaling-stroke; } }"


def outline_picture(outline: Outline) -> str:
    """Return a picture of an outline for a notebook: true size, or as wide as the page."""
    left, low, right, high = outline.bounds
    frame = _wider(outline.bounds, 0.02 * max(right - left, high - low))
    return _page("outline.svg", frame, outline=outline)


def drawing_picture(drawing: draft.Drawing, margin: float = _MARGIN) -> Markup:
    """Return a drawing for a page: to its scale, or as wide as the page.

    `margin`: white about it, mm on paper.
    """
    frame = _wider(drawing.frame or drawing.bounds, margin / drawing.scale)
    looks = {"line_width": draft.LINE_WIDTH, "dashes": draft.DASHES, "colour": INK}
    return Markup(_page("drawing.svg", frame, drawing=drawing, **looks))


def cut_svg(file: CutLines, *, cut: bool = True) -> str:
    """Return lines on their layers and what is not cut at 1:1, cut lines thin.

    `cut`: whether what is cut is shown; there is room for it in any case.
    """
    layers: dict[str, list[Outline | Run]] = {}
    for layer, line in file.lines if cut else ():
        layers.setdefault(layer, []).append(line)
    layers.setdefault(NOT_CUT, [])
    given = {"file": file, "layers": layers, "not_cut": NOT_CUT, "seen": SEEN}
    return _page("cut.svg", _wider(file.bounds, _MARGIN), circle_of=_circle_of, **given)


def _wider(bounds: Bounds, edge: float) -> Bounds:
    left, low, right, high = bounds
    return left - edge, low - edge, right + edge, high + edge


def _page(template: str, frame: Bounds, **values: Any) -> str:
    """A template of SVG filled with values, and with what writes numbers and paths."""
    writers = {"n": digits, "d": path_data, "straight": straight, "points": _points}
    return drawn(template, frame=frame, letter_share=LETTER_SHARE, **writers, **values)


def _circle_of(line: Outline | Run) -> Circle | None:
    return None if isinstance(line, Run) else circle_of(line)


def straight(path: ArrayLike) -> str:
    """Return an open path of straight lines as path data."""
    return "M" + "L".join(f"{digits(x)} {digits(-y)}" for x, y in np.asarray(path).tolist())


def path_data(line: Outline | Run) -> str:
    """Return a path as path data, y downwards as SVG has it."""
    outline = line.closed if isinstance(line, Run) else line
    # Half a last figure goes the same way on every machine once the last bits are gone.
    corners = [f"{digits(x)} {digits(-y)}" for x, y in outline.vertices.round(6).tolist()]
    steps = [f"M{corners[0]}"]
    ends = corners[1:] + corners[:1]
    for end, bulge, radius in zip(
        ends, outline.bulges.tolist(), outline.radii.round(6).tolist(), strict=True
    ):
        if bulge == 0:
            steps.append(f"L{end}")
        else:
            r = digits(radius)
            steps.append(f"A{r} {r} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} {end}")
    if isinstance(line, Run):
        return "".join(steps[: len(line.vertices)])
    return "".join(steps) + "Z"


def _points(path: Floats) -> str:
    return " ".join(f"{digits(x)},{digits(-y)}" for x, y in np.asarray(path).tolist())


def digits(value: float) -> str:
    """Return a number with four decimals at most, no trailing zeros and no minus zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
