"""SVG in true millimetres: arcs as arcs, one group for each layer."""

import re
from collections.abc import Iterable, Sequence
from html import escape

from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.part import Part, Point
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import DASHES, LINE_WIDTH, Drawing, Style, dimension_ink
from gearwork.output.marking import (
    NOT_CUT,
    Line,
    Marks,
    bounds_of,
    cut_paths,
    part_marks,
    sheet_marks,
)

_MARGIN = 5.0
_LETTER_SHARE = 0.72
# A hairline for the machine; a viewer that knows style sheets draws it a pixel wide at any zoom.
_CUT = 'class="cut" fill="none" stroke="black" stroke-width="0.1"'
SEEN = "@media screen { .cut * { stroke-width: 1px; vector-effect: non-scaling-stroke; } }"
_NOT_CUT = 'fill="none" stroke="gray" stroke-width="0.2"'


def part_svg(part: Part) -> str:
    """Return a drawing of one part at 1:1, cut lines thin, its text in a group of its own."""
    return lines_svg(part.name, cut_paths([part]), part_marks(part))


def sheet_svg(parts: Sequence[Part], width: float, height: float, notes: Sequence[str] = ()) -> str:
    """Return a drawing of a sheet of `width` x `height` mm with the parts where they lie."""
    return lines_svg("sheet", cut_paths(parts), sheet_marks(parts, width, height, notes))


def outline_picture(outline: Outline) -> str:
    """Return a picture of an outline for a notebook: true size, or as wide as the page."""
    left, low, right, high = outline.bounds
    edge = 0.02 * max(right - left, high - low)
    frame = (left - edge, low - edge, right + edge, high + edge)
    shape = (
        f'<path d="{path_data(outline)}" fill="whitesmoke" stroke="black" stroke-width="1.2"'
        ' vector-effect="non-scaling-stroke" stroke-linejoin="round"/>'
    )
    return _root(frame, [shape], ' style="max-width:100%;max-height:120mm"')


def drawing_picture(drawing: Drawing, margin: float = _MARGIN) -> str:
    """Return a dimensioned drawing for a page: true size, or as wide as the page.

    `margin`: white about it, mm.
    """
    lines = [(path_data(shape.outline), shape.style, shape.hides) for shape in drawing.shapes]
    lines += [(_straight(line.start, line.end), line.style, False) for line in drawing.lines]
    inks = [dimension_ink(dimension) for dimension in drawing.dimensions]
    marks = sum((ink.marks for ink in inks), drawing.marks)
    heads = (corners for ink in inks for corners in ink.arrowheads)
    body = [
        f"<title>{_text(drawing.title)}</title>",
        *(_drawn(*line) for line in lines),
        f'<g fill="none" stroke="black" stroke-width="{LINE_WIDTH["thin"]}">',
        *_marks(marks),
        "</g>",
        *(f'<polygon points="{_points(corners)}"/>' for corners in heads),
    ]
    left, low, right, high = drawing.bounds
    found = _root((left - margin, low - margin, right + margin, high + margin), body)
    return found.replace("<svg ", '<svg role="img" ', 1)


def _straight(start: Point, end: Point) -> str:
    return f"M{_number(start[0])} {_number(-start[1])}L{_number(end[0])} {_number(-end[1])}"


def _drawn(data: str, style: Style, hides: bool) -> str:
    dashes = " ".join(map(_number, DASHES[style]))
    broken = f' stroke-dasharray="{dashes}"' if dashes else ""
    width, fill = LINE_WIDTH[style], "white" if hides else "none"
    return f'<path d="{data}" fill="{fill}" stroke="black" stroke-width="{width}"{broken}/>'


def path_data(line: Outline | Run) -> str:
    """Return a path as path data, y downwards as SVG has it."""
    outline = line.closed if isinstance(line, Run) else line
    corners = [f"{_number(x)} {_number(-y)}" for x, y in outline.vertices]
    steps = [f"M{corners[0]}"]
    ends = corners[1:] + corners[:1]
    for end, bulge, radius in zip(ends, outline.bulges, outline.radii, strict=True):
        if bulge == 0:
            steps.append(f"L{end}")
        else:
            r = _number(radius)
            steps.append(f"A{r} {r} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} {end}")
    if isinstance(line, Run):
        return "".join(steps[: len(line.vertices)])
    return "".join(steps) + "Z"


def lines_svg(title: str, lines: Sequence[Line], marks: Marks) -> str:
    """Return lines on their layers and what is not cut at 1:1."""
    layers: dict[str, list[str]] = {}
    for layer, line in lines:
        layers.setdefault(layer, []).append(_shape(line))
    layers.setdefault(NOT_CUT, []).extend(_marks(marks))
    body = [f"<title>{_text(title)}</title>", f"<style>{SEEN}</style>"]
    for layer, shapes in layers.items():
        look = _NOT_CUT if layer == NOT_CUT else _CUT
        body += [f'<g id="{layer}" {look}>', *shapes, "</g>"]
    left, low, right, high = bounds_of(lines, marks)
    return _root((left - _MARGIN, low - _MARGIN, right + _MARGIN, high + _MARGIN), body)


def _shape(line: Outline | Run) -> str:
    circle = None if isinstance(line, Run) else circle_of(line)
    if circle is None:
        return f'<path d="{path_data(line)}"/>'
    (x, y), diameter = circle
    return f'<circle cx="{_number(x)}" cy="{_number(-y)}" r="{_number(diameter / 2)}"/>'


def _marks(marks: Marks) -> Iterable[str]:
    for stroke in marks.strokes:
        yield f'<polyline points="{_points(stroke)}"/>'
    for label in marks.labels:
        x, y = label.at
        place = f"{_number(x)} {_number(-y)}"
        turned = f' transform="rotate({_number(-label.angle)} {place})"' if label.angle else ""
        yield (
            f'<text x="{_number(x)}" y="{_number(-y)}" text-anchor="{label.anchor}"{turned}'
            ' fill="black" stroke="none"'
            f' font-family="sans-serif" font-size="{_number(label.height / _LETTER_SHARE)}">'
            f"{_text(label.text)}</text>"
        )


def _points(path: Floats) -> str:
    return " ".join(f"{_number(x)},{_number(-y)}" for x, y in path)


def _root(frame: tuple[float, float, float, float], body: Iterable[str], style: str = "") -> str:
    left, low, right, high = frame
    width, height = _number(right - left), _number(high - low)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
            f' viewBox="{_number(left)} {_number(-high)} {width} {height}"{style}>',
            *body,
            "</svg>\n",
        ]
    )


def _number(value: float) -> str:
    """Four decimals at most, no trailing zeros and no minus zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _text(text: str) -> str:
    return escape(re.sub(r"[^\x20-\uD7FF\uE000-\uFFFD\U00010000-\U0010FFFF]", " ", text))
