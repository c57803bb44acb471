"""SVG in true millimetres: arcs as arcs, one group for each layer."""

from collections.abc import Iterable

import numpy as np
from markupsafe import Markup

from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Floats
from gearwork.output import marking
from gearwork.output.drawing import draft
from gearwork.output.html import INK, html

_MARGIN = 5.0
# A hairline for the machine; a viewer that knows style sheets draws it a pixel wide at any zoom.
_CUT = 'class="cut" fill="none" stroke="black" stroke-width="0.1"'
SEEN = "@media screen { .cut * { stroke-width: 1px; vector-effect: non-scaling-stroke; } }"
_NOT_CUT = 'fill="none" stroke="gray" stroke-width="0.2"'


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


def drawing_picture(drawing: draft.Drawing, margin: float = _MARGIN) -> Markup:
    """Return a drawing for a page: to its scale, or as wide as the page.

    `margin`: white about it, mm on paper.
    """
    unit = 1.0 / drawing.scale  # a millimetre on paper
    drawn = [
        _drawn("".join(map(path_data, (one.outline, *one.holes))), one.style, one.colour, unit,
               one.fill)
        for one in drawing.shapes
    ]  # fmt: skip
    drawn += [
        _drawn(straight(np.array([one.start, one.end])), one.style, one.colour, unit)
        for one in drawing.lines
    ]
    ink = drawing.ink
    drawn += [_drawn(straight(stroke), "thin", INK, unit) for stroke in ink.strokes]
    left, low, right, high = drawing.frame or drawing.bounds
    edge = margin * unit
    halo = f"stroke:white;stroke-width:{digits(0.8 * unit)}px;stroke-linejoin:round"
    body = [
        f"<title>{html(drawing.title)}</title>",
        *drawn,
        *(f'<polygon points="{_points(corners)}" fill="{INK}"/>' for corners in ink.heads),
        f'<g fill="{INK}" style="font-family:sans-serif;paint-order:stroke;{halo}">',
        *(_label(label) for label in ink.labels),
        "</g>",
    ]
    frame = (left - edge, low - edge, right + edge, high + edge)
    return Markup(_root(frame, body, ' role="img"', drawing.scale))


def straight(path: Floats) -> str:
    """Return an open path of straight lines as path data."""
    return "M" + "L".join(f"{digits(x)} {digits(-y)}" for x, y in path.tolist())


def _drawn(data: str, style: draft.Style, colour: str, unit: float, fill: str = "none") -> str:
    """A path; a coloured face lets a little of what lies below shine through."""
    dashes = " ".join(digits(unit * each) for each in draft.DASHES.get(style, ()))
    broken = f' stroke-dasharray="{dashes}"' if dashes else ""
    width = digits(unit * draft.LINE_WIDTH[style])
    clear = "" if fill in ("none", "white") else ' fill-opacity="0.85"'
    filled = ' fill="none"' if fill == "none" else f' fill-rule="evenodd" fill="{fill}"{clear}'
    return f'<path d="{data}"{filled} stroke="{colour}" stroke-width="{width}"{broken}/>'


def path_data(line: Outline | Run) -> str:
    """Return a path as path data, y downwards as SVG has it."""
    outline = line.closed if isinstance(line, Run) else line
    corners = [f"{digits(x)} {digits(-y)}" for x, y in outline.vertices.tolist()]
    steps = [f"M{corners[0]}"]
    ends = corners[1:] + corners[:1]
    for end, bulge, radius in zip(
        ends, outline.bulges.tolist(), outline.radii.tolist(), strict=True
    ):
        if bulge == 0:
            steps.append(f"L{end}")
        else:
            r = digits(radius)
            steps.append(f"A{r} {r} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} {end}")
    if isinstance(line, Run):
        return "".join(steps[: len(line.vertices)])
    return "".join(steps) + "Z"


def cut_svg(file: marking.CutLines) -> str:
    """Return lines on their layers and what is not cut at 1:1, cut lines thin."""
    layers: dict[str, list[str]] = {}
    for layer, line in file.lines:
        layers.setdefault(layer, []).append(_shape(line))
    layers.setdefault(marking.NOT_CUT, []).extend(_marks(file.marks))
    body = [f"<title>{html(file.title)}</title>", f"<style>{SEEN}</style>"]
    for layer, shapes in layers.items():
        look = _NOT_CUT if layer == marking.NOT_CUT else _CUT
        body += [f'<g id="{layer}" {look}>', *shapes, "</g>"]
    left, low, right, high = file.bounds
    return _root((left - _MARGIN, low - _MARGIN, right + _MARGIN, high + _MARGIN), body)


def _shape(line: Outline | Run) -> str:
    circle = None if isinstance(line, Run) else circle_of(line)
    if circle is None:
        return f'<path d="{path_data(line)}"/>'
    (x, y), diameter = circle
    return f'<circle cx="{digits(x)}" cy="{digits(-y)}" r="{digits(diameter / 2)}"/>'


def _marks(marks: marking.Marks) -> Iterable[str]:
    for stroke in marks.strokes:
        yield f'<polyline points="{_points(stroke)}"/>'
    look = ' fill="black" stroke="none" font-family="sans-serif"'
    yield from (_label(label, look) for label in marks.labels)


def _label(label: marking.Label, look: str = "") -> str:
    x, y = map(digits, (label.at[0], -label.at[1]))
    turned = f' transform="rotate({digits(-label.angle)} {x} {y})"' if label.angle else ""
    size = digits(label.height / marking.LETTER_SHARE)
    return (
        f'<text x="{x}" y="{y}" text-anchor="{label.anchor}"{turned}{look} font-size="{size}">'
        f"{html(label.text)}</text>"
    )


def _points(path: Floats) -> str:
    return " ".join(f"{digits(x)},{digits(-y)}" for x, y in path.tolist())


def _root(frame: marking.Bounds, body: Iterable[str], more: str = "", scale: float = 1.0) -> str:
    left, low, right, high = frame
    width, height = right - left, high - low
    box = " ".join(map(digits, (left, -high, width, height)))
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{digits(scale * width)}mm"'
            f' height="{digits(scale * height)}mm" viewBox="{box}"{more}>',
            *body,
            "</svg>\n",
        ]
    )


def digits(value: float) -> str:
    """Return a number with four decimals at most, no trailing zeros and no minus zero."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
