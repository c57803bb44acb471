"""DXF of what is cut, and of dimensioned drawings."""

import io
import logging
import math
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import pairwise
from typing import Any, Literal, get_args

import ezdxf
import numpy as np
from ezdxf import r12strict
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import BaseLayout
from ezdxf.lldxf.tagwriter import TagWriter

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.toolpath import Run
from gearwork.output import marking
from gearwork.output.drawing import draft
from gearwork.output.drawing.paper import FOOT, flow

Version = Literal["R2010", "R12"]

_GRAY = 8
_ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def cut_dxf(file: marking.CutLines, version: Version = "R2010") -> bytes:
    """Return a DXF file of lines on their layers, in the order given, and what is not cut.

    Full circles are written as CIRCLE, so that a drilled hole has a centre to drill at;
    everything else as one polyline with bulges.
    """
    blank = _blank(version)
    document = blank.emptied()
    space = document.modelspace()
    for layer, line in file.lines:
        add_line(space, line, add_layer(document, layer, gray=layer == marking.NOT_CUT))
    add_marks(space, file.marks, add_layer(document, marking.NOT_CUT, gray=True))
    show_all(document, file.bounds)
    return blank.filled()


class _Blank:
    """A file without a drawing, written once: nine tenths of a cut file are the same in each."""

    def __init__(self, version: Version) -> None:
        self._document = new_document(version)
        self._layers = set(self._document.layers.entries)
        self._text = _to_text(self._document)
        self._next = str(self._document.entitydb.handles)
        self._pieces = self._drawn()

    def emptied(self) -> Document:
        """Return the document as it was when new, whatever was drawn in it since."""
        document = self._document
        document.modelspace().delete_all_entities()
        for name in document.layers.entries.keys() - self._layers:
            document.layers.remove(name)
        document.entitydb.purge()
        document.entitydb.handles.reset(self._next)
        return document

    def filled(self) -> bytes:
        """Return the file of what is drawn in the document."""
        text = self._text
        _make_plain(self._document)
        for empty, drawn in zip(self._pieces, self._drawn(), strict=True):
            text = text.replace(empty, drawn, 1)
        return text.encode("ascii")

    def _drawn(self) -> list[str]:
        """What of the file depends on the drawing: next handle, extents, layers, entities."""
        document = self._document
        document.header["$HANDSEED"] = str(document.entitydb.handles)
        names = ("$HANDSEED", "$EXTMIN", "$EXTMAX")
        pieces = [f"  9\n{name}\n{document.header.hdrvars[name]}" for name in names]
        layout = document.modelspace().dxf_layout
        for written in (document.viewports, document.layers, document.entities, layout):
            stream = io.StringIO()
            written.export_dxf(TagWriter(stream, document.dxfversion))
            pieces.append(stream.getvalue())
        return pieces


_blank = cache(_Blank)


def new_document(version: Version) -> Document:
    """Return an empty document in millimetres."""
    if version not in get_args(Version):
        raise GearworkError(f"DXF version is {version!r}: it must be one of R2010, R12")
    with _steady():
        return ezdxf.new(version, units=marking.MILLIMETRES)


def _to_text(document: Document) -> str:
    """The file, the same for the same content."""
    _make_plain(document)
    # Left to itself, the library lists the classes in the order of a set, another in each run.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    stream = io.StringIO()
    with _steady():
        document.write(stream)
    return stream.getvalue()


def _make_plain(document: Document) -> None:
    """Do what readers of R12 ask for."""
    if document.dxfversion == ezdxf.const.DXF12:
        r12strict.make_acad_compatible(document)


def show_all(document: Document, bounds: marking.Bounds) -> None:
    """State the extents of the drawing, so that a viewer opens on the whole of it."""
    left, low, right, high = marking.to_nanometre(bounds).tolist()
    least, most = (left, low, 0.0), (right, high, 0.0)
    document.header["$EXTMIN"], document.header["$EXTMAX"] = least, most
    document.modelspace().reset_extents(least, most)  # from which they are written into R2010
    (view,) = document.viewports.get_config("*Active")
    view.dxf.center = round((left + right) / 2, 6), round((low + high) / 2, 6)
    view.dxf.height = round(1.1 * max(high - low, (right - left) / 1.5), 6)


def add_layer(document: Document, name: str, *, gray: bool = False) -> str:
    """Return the layer's name, having made the layer if it is new."""
    if name not in document.layers:
        document.layers.add(name, color=_GRAY if gray else 7)
    return name


def add_line(space: BaseLayout, line: Outline | Run, layer: str) -> None:
    """Add a path, closed or open, as a circle or a polyline with bulges."""
    closed, attributes = isinstance(line, Outline), {"layer": layer}
    if isinstance(line, Outline) and (circle := circle_of(line)) is not None:
        x, y, radius = marking.to_nanometre([*circle[0], circle[1] / 2]).tolist()
        space.add_circle((x, y), radius, attributes)
        return
    bulges = line.bulges if closed else np.append(line.bulges, 0.0)
    if space.doc is not None and space.doc.dxfversion == ezdxf.const.DXF12:
        rows = np.column_stack([line.vertices, bulges]).tolist()
        space.add_polyline2d(rows, format="xyb", close=closed, dxfattribs=attributes)
    else:
        drawn = space.add_lwpolyline([], close=closed, dxfattribs=attributes)
        wide = np.zeros_like(bulges)  # at both ends of each line or arc
        drawn.lwpoints.extend(np.column_stack([line.vertices, wide, wide, bulges]))  # all at once


def add_marks(space: BaseLayout, marks: marking.Marks, layer: str) -> None:
    """Add texts and strokes, which are not cut."""
    for stroke in marks.strokes:
        for start, end in pairwise(marking.to_nanometre(stroke).tolist()):
            space.add_line(start, end, {"layer": layer})
    for label in marks.labels:
        attributes = {"layer": layer, "rotation": round(label.angle, 6)}
        text = space.add_text(
            marking.plain_text(label.text), height=label.height, dxfattribs=attributes
        )
        x, y = marking.to_nanometre(label.at).tolist()
        text.set_placement((x, y), align=_ALIGN[label.anchor])
        if label.anchor != "start":
            # A reader that knows no alignment begins here.
            text.dxf.insert = tuple(marking.to_nanometre(label.start).tolist())


@contextmanager
def _steady() -> Iterator[None]:
    """Keep dates and random identifiers out of the file, and the library's chat off the screen."""
    options, logger = ezdxf.options, logging.getLogger("ezdxf")
    before = options.write_fixed_meta_data_for_testing, logger.disabled
    options.write_fixed_meta_data_for_testing = logger.disabled = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing, logger.disabled = before


_DIMENSIONS = f"{marking.NOT_CUT}-dimensions"
_TEXT = f"{marking.NOT_CUT}-text"
_LINE_TYPE: dict[draft.Style, str] = {"dashed": "DASHED", "chain": "DASHDOT"}
_DIMENSION_STYLE = {
    "dimtxt": marking.TEXT_HEIGHT, "dimasz": draft.ARROW, "dimexo": 1.0, "dimexe": 2.0,
    "dimgap": 1.0, "dimscale": 1.0, "dimlfac": 1.0, "dimdec": 2, "dimzin": 0, "dimlunit": 2,
    "dimdsep": ord("."), "dimtad": 1, "dimtih": 0, "dimtoh": 0,
}  # fmt: skip


def drawing_dxf(drawing: draft.Drawing) -> bytes:
    """Return the drawing as DXF R2010 in millimetres.

    Dimensions are DIMENSION entities with a style of their own, which is also the file's
    default; as every reader draws them anew, the tables repeat the numbers as plain text.
    Bores lie on the layer of drilled holes, everything else on layers that are not cut.
    """
    document = new_document("R2010")
    document.dimstyles.new("mm", dxfattribs=_DIMENSION_STYLE).copy_to_header(document)
    space = document.modelspace()
    for shape in drawing.shapes:
        add_line(space, marking.rounded(shape.outline), _style_layer(document, shape.style))
    for line in drawing.lines:
        start, end = marking.to_nanometre(line.path).tolist()
        space.add_line(start, end, {"layer": _style_layer(document, line.style)})
    for dimension in drawing.dimensions:
        _add_dimension(document, dimension)
    left, low, right, top = drawing.bounds
    tables, lowest = _tables_below(drawing, left, low)
    add_marks(space, drawing.marks + tables, add_layer(document, _TEXT))
    show_all(document, (left, lowest, right, top))
    return _to_text(document).encode("ascii")


def _style_layer(document: Document, style: draft.Style) -> str:
    name = marking.HOLES if style == "hole" else f"{marking.NOT_CUT}-{style}"
    if name not in document.layers:
        layer = document.layers.get(add_layer(document, name))
        layer.dxf.lineweight = round(100 * draft.LINE_WIDTH[style])
        if style in draft.DASHES:
            layer.dxf.linetype = _LINE_TYPE[style]
            signed = [length * (-1) ** place for place, length in enumerate(draft.DASHES[style])]
            document.linetypes.add(_LINE_TYPE[style], [sum(draft.DASHES[style]), *signed])
    return name


def _add_dimension(document: Document, dimension: draft.Length | draft.Diameter) -> None:
    """Add a DIMENSION entity and the block that shows how it is drawn here.

    An auxiliary one becomes plain lines and text, which every reader draws alike.
    """
    space = document.modelspace()
    if isinstance(dimension, draft.Diameter) and dimension.auxiliary:
        add_marks(space, dimension.marks, add_layer(document, _TEXT))
        return
    layer = add_layer(document, _DIMENSIONS)
    block = document.blocks.new_anonymous_block(type_char="D")
    add_marks(block, dimension.marks, layer)
    (text,) = dimension.marks.labels
    attributes: dict[str, Any] = {
        "layer": layer,
        "dimstyle": "mm",
        "geometry": block.name,
        "actual_measurement": round(dimension.value, 6),
    }
    places = {"text_midpoint": text.corners.mean(axis=0)}
    if isinstance(dimension, draft.Length):
        attributes |= {"dimtype": 1 | 32 | 128, "text": f"{dimension.name} <>{dimension.tolerance}"}
        ends = {"defpoint2": dimension.start, "defpoint3": dimension.end}
        places |= {"defpoint": dimension.ends[1], **ends}
    else:
        attributes |= {"dimtype": 3 | 32 | 128, "text": f"{dimension.name} dia <>"}
        attributes["leader_length"] = dimension.reach
        opposite = 2 * np.array(dimension.centre) - dimension.foot
        places |= {"defpoint": opposite, "defpoint4": dimension.foot}
    attributes["text"] = marking.plain_text(attributes["text"])
    attributes |= {name: (*marking.to_nanometre(at).tolist(), 0.0) for name, at in places.items()}
    space.new_entity("DIMENSION", attributes)


def _tables_below(drawing: draft.Drawing, left: float, low: float) -> tuple[marking.Marks, float]:
    """Place the tables below the drawing; also return the lowest level reached."""
    top = low - 2 * FOOT
    title = marking.Label(
        (left, low - FOOT), 2 * marking.TEXT_HEIGHT, f"{drawing.title}; all lengths in mm"
    )
    marks, lowest = marking.Marks((title,)), top
    (placed,) = flow(drawing.tables, math.inf, 120.0)
    for table, x, depth in placed:
        marks += table.marks(left + x, top - depth)
        lowest = min(lowest, top - depth - table.size[1])
    return marks, lowest
