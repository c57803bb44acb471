"""DXF of parts, sheets and drawings."""

import io
import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from typing import Literal, get_args

import ezdxf
import numpy as np
from ezdxf import r12strict
from ezdxf.document import Drawing as Document
from ezdxf.entities import DXFGraphic
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import BaseLayout

from gearwork.errors import GearworkError
from gearwork.geometry.bit_path import Run
from gearwork.geometry.measure import circle_of
from gearwork.geometry.outline import Array, Outline
from gearwork.geometry.part import Part
from gearwork.shop.cut_lines import MILLIMETRES
from gearwork.shop.marking import (
    NOT_CUT,
    Line,
    Marks,
    bounds_of,
    cut_paths,
    part_marks,
    plain_text,
    sheet_marks,
)

Version = Literal["R2010", "R12"]

_GRAY = 8
_ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def part_dxf(part: Part, version: Version = "R2010") -> bytes:
    """Return a DXF file of one part, its cut lines by operation and its text on a layer not cut.

    Full circles are written as CIRCLE, so that a drilled hole has a centre to drill at;
    everything else as one closed polyline with bulges.

    Parameters
    ----------
    part : Part
        What to write.
    version : {"R2010", "R12"}
        R2010 declares millimetres and uses LWPOLYLINE. R12 knows neither: it uses POLYLINE,
        for converters that read nothing newer, and names millimetres in its text.

    Raises
    ------
    GearworkError
        If the version is another one, or the part has the same path twice.
    """
    return lines_dxf(cut_paths([part]), part_marks(part), version)


def sheet_dxf(
    parts: Sequence[Part],
    width: float,
    height: float,
    notes: Sequence[str] = (),
    version: Version = "R2010",
) -> bytes:
    """Return a DXF file of a sheet of `width` x `height` mm with the parts where they lie.

    Raises
    ------
    GearworkError
        If the version is unknown, or two parts lie exactly on each other.
    """
    return lines_dxf(cut_paths(parts), sheet_marks(parts, width, height, notes), version)


def lines_dxf(lines: Sequence[Line], marks: Marks, version: Version = "R2010") -> bytes:
    """Return a DXF file of lines on their layers, in the order given, and what is not cut.

    Raises
    ------
    GearworkError
        If the version is unknown.
    """
    document = new_document(version)
    space = document.modelspace()
    for layer, line in lines:
        place = add_layer(document, layer, gray=layer == NOT_CUT)
        if isinstance(line, Run):
            _add_run(space, line, place)
        else:
            add_outline(space, line, place)
    add_marks(space, marks, add_layer(document, NOT_CUT, gray=True))
    show_all(document, bounds_of(lines, marks))
    return to_bytes(document)


def new_document(version: Version) -> Document:
    """Return an empty document in millimetres.

    Raises
    ------
    GearworkError
        If the version is not one of ours.
    """
    if version not in get_args(Version):
        raise GearworkError(f"DXF version is {version!r}: it must be one of R2010, R12")
    with _steady():
        return ezdxf.new(version, units=MILLIMETRES)


def to_bytes(document: Document) -> bytes:
    """Return the file, the same bytes for the same content."""
    if document.dxfversion == ezdxf.const.DXF12:
        r12strict.make_acad_compatible(document)
    # Left to itself, the library lists the classes in the order of a set, another in each run.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    stream = io.StringIO()
    with _steady():
        document.write(stream)
    return stream.getvalue().encode("ascii")


def show_all(document: Document, bounds: tuple[float, float, float, float]) -> None:
    """State the extents of the drawing, so that a viewer opens on the whole of it."""
    left, low, right, high = bounds
    document.header["$EXTMIN"] = (left, low, 0.0)
    document.header["$EXTMAX"] = (right, high, 0.0)
    height = 1.1 * max(high - low, (right - left) / 1.5)
    document.set_modelspace_vport(height, ((left + right) / 2, (low + high) / 2))


def add_layer(document: Document, name: str, *, gray: bool = False) -> str:
    """Return the layer's name, having made the layer if it is new."""
    if name not in document.layers:
        document.layers.add(name, color=_GRAY if gray else 7)
    return name


def add_outline(space: BaseLayout, outline: Outline, layer: str) -> DXFGraphic:
    """Add a closed path as a circle or a polyline with bulges."""
    circle = circle_of(outline)
    if circle is not None:
        centre, diameter = circle
        return space.add_circle(centre, diameter / 2, {"layer": layer})
    return _add_polyline(space, outline.vertices, outline.bulges, layer, close=True)


def _add_run(space: BaseLayout, run: Run, layer: str) -> DXFGraphic:
    """Add an open path as a polyline with bulges."""
    return _add_polyline(space, run.vertices, np.append(run.bulges, 0.0), layer, close=False)


def _add_polyline(
    space: BaseLayout, vertices: Array, bulges: Array, layer: str, *, close: bool
) -> DXFGraphic:
    rows = [(float(x), float(y), float(b)) for (x, y), b in zip(vertices, bulges, strict=True)]
    attributes = {"layer": layer}
    if space.doc is not None and space.doc.dxfversion == ezdxf.const.DXF12:
        return space.add_polyline2d(rows, format="xyb", close=close, dxfattribs=attributes)
    return space.add_lwpolyline(rows, format="xyb", close=close, dxfattribs=attributes)


def add_marks(space: BaseLayout, marks: Marks, layer: str) -> None:
    """Add texts and strokes, which are not cut."""
    for stroke in marks.strokes:
        for start, end in pairwise(stroke.round(6).tolist()):
            space.add_line(start, end, {"layer": layer})
    for label in marks.labels:
        attributes = {"layer": layer, "rotation": round(label.angle, 6)}
        text = space.add_text(plain_text(label.text), height=label.height, dxfattribs=attributes)
        x, y = np.round(label.at, 6).tolist()
        text.set_placement((x, y), align=_ALIGN[label.anchor])
        if label.anchor != "start":
            # A reader that knows no alignment begins here.
            text.dxf.insert = tuple(np.round(label.start, 6).tolist())


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
