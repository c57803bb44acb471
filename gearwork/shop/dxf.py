"""DXF of parts, sheets and drawings, and reading cut lines back from a file."""

import io
import logging
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from typing import Literal, TypeVar, get_args

import ezdxf
import numpy as np
from ezdxf import r12strict
from ezdxf.document import Drawing as Document
from ezdxf.entities import Circle, DXFEntity, DXFGraphic, LWPolyline, Polyline
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import BaseLayout

from gearwork.errors import GearworkError
from gearwork.geometry.bit_path import Run
from gearwork.geometry.outline import Array, Outline
from gearwork.geometry.part import Part, circle_of
from gearwork.shop.marking import (
    NOT_CUT,
    Line,
    Marks,
    bounds_of,
    cut_paths,
    part_marks,
    path_key,
    plain_text,
    sheet_marks,
)

Version = Literal["R2010", "R12"]
T = TypeVar("T")

_MILLIMETRES = 4
_LARGEST_FILE = 8_000_000
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


def read_outlines(path: str | os.PathLike[str]) -> dict[str, list[Outline]]:
    """Read the cut lines of a DXF file, from its entities alone.

    Parameters
    ----------
    path : path
        A DXF file, of ours or edited since.

    Returns
    -------
    dict of str to list of Outline
        Closed paths by layer, layer names in small letters. Layers whose names begin with
        "not-cut" are left out.

    Raises
    ------
    GearworkError
        If the file cannot be read or is not in millimetres, or a layer that is cut holds
        anything but closed polylines and circles, each of them once.
    """
    return _read(path, _outlines)


def read_runs(path: str | os.PathLike[str]) -> list[tuple[str, Run]]:
    """Read the open paths of a DXF file that are cut, in their order, each with its layer.

    Parameters
    ----------
    path : path
        A file of the paths of a bit's centre, of ours or edited since.

    Raises
    ------
    GearworkError
        If the file cannot be read or is not in millimetres, or a layer that is cut holds
        anything but polylines and circles.
    """
    return _read(path, _runs)


def _read(path: str | os.PathLike[str], content: Callable[[Document], T]) -> T:
    """Return what `content` finds in a file, or one error that names the file."""
    try:
        if os.path.getsize(path) > _LARGEST_FILE:
            raise GearworkError(f"it is larger than {_LARGEST_FILE:,} bytes, as no cut file is")
        with _steady():
            document = ezdxf.readfile(path)
            _check_units(document)
            return content(document)
    except GearworkError as error:
        raise GearworkError(f"{path}: {error}") from None
    except OSError as error:
        # The library raises it without a number for a file that is no DXF.
        reason = error.strerror or "it is no DXF file: write it again"
        raise GearworkError(f"{path} cannot be read: {reason}") from error
    except Exception as error:
        raise GearworkError(f"{path} is a damaged DXF file: write it again") from error


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
        return ezdxf.new(version, units=_MILLIMETRES)


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


def _check_units(document: Document) -> None:
    units = document.header.get("$INSUNITS", _MILLIMETRES)
    if document.dxfversion != ezdxf.const.DXF12 and units != _MILLIMETRES:
        raise GearworkError(f"its unit code is {units}: it must be {_MILLIMETRES}, millimetres")


def _cut_entities(document: Document) -> Iterator[tuple[str, str, DXFEntity]]:
    """Layer in small letters, name and entity of everything on layers that are cut."""
    for entity in document.modelspace():
        layer = str(entity.dxf.layer).lower()
        if not layer.startswith(NOT_CUT):
            yield layer, f"{entity.dxftype()} {entity.dxf.handle} on layer {layer}", entity


def _outlines(document: Document) -> dict[str, list[Outline]]:
    found: dict[str, list[Outline]] = {}
    seen: set[bytes] = set()
    for layer, name, entity in _cut_entities(document):
        try:
            outline = _outline(entity)
        except GearworkError as error:
            raise GearworkError(f"{name}: {error}") from None
        key = path_key(outline)
        if key in seen:
            raise GearworkError(f"{name} stands there twice: delete one")
        seen.add(key)
        found.setdefault(layer, []).append(outline)
    return found


def _runs(document: Document) -> list[tuple[str, Run]]:
    found = []
    for layer, name, entity in _cut_entities(document):
        if isinstance(entity, Circle):
            continue
        try:
            rows, closed = _rows(entity)
            rows = np.vstack([rows, rows[:1]]) if closed else rows
            run = Run(rows[:, :2], rows[:-1, 2], 0.0)
            _ = run.closed
        except GearworkError as error:
            raise GearworkError(f"{name}: {error}") from None
        found.append((layer, run))
    return found


def _outline(entity: DXFEntity) -> Outline:
    if isinstance(entity, Circle):
        _check_upright(entity)
        x, y, _ = entity.dxf.center
        return Outline.circle(2 * entity.dxf.radius, (x, y))
    rows, closed = _rows(entity)
    if not closed:
        raise GearworkError("it is open: close it")
    return Outline(rows[:, :2], rows[:, 2])


def _rows(entity: DXFEntity) -> tuple[Array, bool]:
    """Coordinates and bulge of every vertex of a polyline, shape (n, 3); whether it is closed."""
    if isinstance(entity, LWPolyline):
        _check_upright(entity)
        return np.reshape(entity.get_points("xyb"), (-1, 3)), bool(entity.closed)
    if isinstance(entity, Polyline) and entity.is_2d_polyline:
        _check_upright(entity)
        rows = [(*vertex.dxf.location.vec2, vertex.dxf.bulge) for vertex in entity.vertices]
        return np.reshape(rows, (-1, 3)), bool(entity.is_closed)
    raise GearworkError("only closed polylines and circles can be cut: convert or delete it")


def _check_upright(entity: DXFEntity) -> None:
    if tuple(entity.dxf.extrusion) != (0.0, 0.0, 1.0):
        raise GearworkError("it was turned out of the plane or mirrored: draw it anew")
