"""DXF of dimensioned drawings."""

import math

import numpy as np
from ezdxf.document import Drawing as Document
from ezdxf.layouts import BaseLayout

from gearwork.geometry.outline import Array
from gearwork.geometry.part import Point
from gearwork.shop.draft import (
    ARROW,
    DASHES,
    LINE_WIDTH,
    Diameter,
    Drawing,
    Length,
    Style,
    dimension_ink,
)
from gearwork.shop.dxf import add_layer, add_marks, add_outline, new_document, show_all, to_bytes
from gearwork.shop.marking import HOLES, NOT_CUT, TEXT_HEIGHT, Label, Marks, plain_text
from gearwork.shop.paper import FOOT, flow

_DIMENSIONS = f"{NOT_CUT}-dimensions"
_TEXT = f"{NOT_CUT}-text"
_LINE_TYPE: dict[Style, str] = {"dashed": "DASHED", "chain": "DASHDOT"}
_DIMENSION_STYLE = {
    "dimtxt": TEXT_HEIGHT,
    "dimasz": ARROW,
    "dimexo": 1.0,
    "dimexe": 2.0,
    "dimgap": 1.0,
    "dimscale": 1.0,
    "dimlfac": 1.0,
    "dimdec": 2,
    "dimzin": 0,
    "dimlunit": 2,
    "dimdsep": ord("."),
    "dimtad": 1,
    "dimtih": 0,
    "dimtoh": 0,
}


def drawing_dxf(drawing: Drawing) -> bytes:
    """Return the drawing as DXF R2010 in millimetres.

    Dimensions are DIMENSION entities with a style of their own, which is also the file's
    default; as every reader draws them anew, the tables repeat the numbers as plain text.
    Bores lie on the layer of drilled holes, everything else on layers that are not cut.
    """
    document = new_document("R2010")
    document.dimstyles.new("mm", dxfattribs=_DIMENSION_STYLE).copy_to_header(document)
    space = document.modelspace()
    for shape in drawing.shapes:
        add_outline(space, shape.outline, _style_layer(document, shape.style))
    for line in drawing.lines:
        space.add_line(line.start, line.end, {"layer": _style_layer(document, line.style)})
    for dimension in drawing.dimensions:
        _add_dimension(document, dimension)
    left, low, right, top = drawing.bounds
    tables, lowest = _tables_below(drawing, left, low)
    add_marks(space, drawing.marks + tables, add_layer(document, _TEXT))
    show_all(document, (left, lowest, right, top))
    return to_bytes(document)


def _style_layer(document: Document, style: Style) -> str:
    name = HOLES if style == "hole" else f"{NOT_CUT}-{style}"
    if name not in document.layers:
        layer = document.layers.get(add_layer(document, name))
        layer.dxf.lineweight = round(100 * LINE_WIDTH[style])
        if DASHES[style]:
            layer.dxf.linetype = _LINE_TYPE[style]
            signed = [length * (-1) ** place for place, length in enumerate(DASHES[style])]
            document.linetypes.add(_LINE_TYPE[style], [sum(DASHES[style]), *signed])
    return name


def _add_dimension(document: Document, dimension: Length | Diameter) -> None:
    """Add a DIMENSION entity and the block that shows how it is drawn here.

    An auxiliary one becomes plain lines and text, which every reader draws alike.
    """
    space = document.modelspace()
    if isinstance(dimension, Diameter) and dimension.auxiliary:
        _add_ink(space, dimension, add_layer(document, _TEXT))
        return
    layer = add_layer(document, _DIMENSIONS)
    block = document.blocks.new_anonymous_block(type_char="D")
    _add_ink(block, dimension, layer)
    text = dimension_ink(dimension).marks.labels[0]
    attributes = {
        "layer": layer,
        "dimstyle": "mm",
        "geometry": block.name,
        "text_midpoint": _in_space(text.corners.mean(axis=0)),
        "actual_measurement": round(dimension.value, 6),
    }
    if isinstance(dimension, Length):
        attributes |= {
            "dimtype": 1 | 32 | 128,
            "defpoint": _in_space(dimension.ends[1]),
            "defpoint2": _in_space(dimension.start),
            "defpoint3": _in_space(dimension.end),
            "text": plain_text(f"{dimension.name} <>{dimension.tolerance}"),
        }
    else:
        attributes |= {
            "dimtype": 3 | 32 | 128,
            "defpoint": _in_space(2 * np.array(dimension.centre) - dimension.foot),
            "defpoint4": _in_space(dimension.foot),
            "leader_length": dimension.reach,
            "text": plain_text(f"{dimension.name} dia <>"),
        }
    space.new_entity("DIMENSION", attributes)


def _add_ink(space: BaseLayout, dimension: Length | Diameter, layer: str) -> None:
    ink = dimension_ink(dimension)
    add_marks(space, ink.marks, layer)
    for corners in ink.arrowheads:
        tip, left, right = corners.round(6).tolist()
        space.add_solid([tip, left, right, right], {"layer": layer})


def _in_space(point: Point | Array) -> tuple[float, float, float]:
    return round(float(point[0]), 6), round(float(point[1]), 6), 0.0


def _tables_below(drawing: Drawing, left: float, low: float) -> tuple[Marks, float]:
    """Place the tables below the drawing; also return the lowest level reached."""
    top = low - 2 * FOOT
    title = Label((left, low - FOOT), 2 * TEXT_HEIGHT, f"{drawing.title}; all lengths in mm")
    marks, lowest = Marks((title,)), top
    (placed,) = flow([table.size for table in drawing.tables], math.inf, 120.0)
    for block, x, depth in placed:
        table = drawing.tables[block]
        marks += table.marks(left + x, top - depth)
        lowest = min(lowest, top - depth - table.size[1])
    return marks, lowest
