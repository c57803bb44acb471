"""Reading cut lines back from a DXF file.

From the text of the file alone and not by the library that wrote it: what is found is what is
there, and a file of any content costs little time and room.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple, TypeVar

import numpy as np

from gearwork.errors import GearworkError, number, shown
from gearwork.geometry.outline import Outline
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Floats
from gearwork.output.marking import MILLIMETRES, NOT_CUT, path_key

LARGEST_FILE = 8_000_000
MOST_VERTICES = 50_000
FARTHEST, LONGEST = 100_000.0, 100_000.0
"""Largest coordinate, and length of one path, mm: no router is larger."""

ROUNDEST, FLATTEST = 1000.0, 1e-9
"""Bulges between which an arc is one: beyond the first it is a full circle but for a hair."""

_LONGEST_NAME = 60
_R12 = "AC1009"

T = TypeVar("T")
Tag = tuple[int, str]
Row = tuple[float, float, float]


class _Entity(NamedTuple):
    """One entity: its type and its tags; a polyline's vertices are entities of their own."""

    kind: str
    tags: Sequence[Tag]
    vertices: "Sequence[_Entity]" = ()

    def text(self, code: int, default: str) -> str:
        return next((value for given, value in self.tags if given == code), default)

    def value(self, code: int, default: str = "") -> float:
        return _value(self.text(code, default))

    def flag(self, code: int) -> int:
        return int(number(f"group {code}", self.value(code, "0"), at_most=1e9))

    @property
    def layer(self) -> str:
        return self.text(8, "0").lower()

    @property
    def name(self) -> str:
        words = (self.kind, self.text(5, "without handle"), "on layer", self.layer)
        return " ".join(word[:_LONGEST_NAME] for word in words)


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


def _read(path: str | os.PathLike[str], content: Callable[[Sequence[Tag]], T]) -> T:
    """Return what `content` finds in a file, or one error that names the file."""
    try:
        with open(path, "rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no file can be named so"
        raise GearworkError(f"{path} cannot be read: {reason}") from error
    try:
        return content(_tags(data))
    except GearworkError as error:
        raise GearworkError(f"{path}: {error}") from None


def _tags(data: bytes) -> list[Tag]:
    """Return the tags of a whole file: group code and text."""
    if len(data) > LARGEST_FILE:
        raise GearworkError(f"it is larger than {LARGEST_FILE:,} bytes, as no cut file is")
    if b"\0" in data:
        raise GearworkError("it is no text: save it as an ASCII DXF file")
    lines = data.decode("latin-1").rstrip().replace("\r\n", "\n").split("\n")
    try:
        tags = [
            (int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)
        ]
    except ValueError:
        raise GearworkError("it is no DXF file, or a damaged one: write it again") from None
    if tags[-1] != (0, "EOF"):
        raise GearworkError("it is a damaged DXF file, its end is missing: write it again")
    return tags


def _cut_entities(tags: Sequence[Tag]) -> Iterator[_Entity]:
    """Yield everything on layers that are cut."""
    units = _header(tags, "$INSUNITS", str(MILLIMETRES))
    if _header(tags, "$ACADVER", _R12) != _R12 and units != str(MILLIMETRES):
        raise GearworkError(f"its unit code is {units[:20]}: it must be {MILLIMETRES}, millimetres")
    for entity in _entities(tags):
        if not entity.layer.startswith(NOT_CUT) and entity.flag(67) != 1:
            yield entity


def _outlines(tags: Sequence[Tag]) -> dict[str, list[Outline]]:
    found: dict[str, list[Outline]] = {}
    seen: set[bytes] = set()
    for entity in _cut_entities(tags):
        try:
            outline = _outline(entity)
        except GearworkError as error:
            raise GearworkError(f"{entity.name}: {error}") from None
        key = path_key(outline)
        if key in seen:
            raise GearworkError(f"{entity.name} stands there twice: delete one")
        seen.add(key)
        found.setdefault(entity.layer, []).append(outline)
    return found


def _header(tags: Sequence[Tag], name: str, default: str) -> str:
    """Return the value of a variable of the header."""
    variable = (9, name)
    return tags[tags.index(variable) + 1][1] if variable in tags else default


def _entities(tags: Sequence[Tag]) -> Iterator[_Entity]:
    """Yield the entities of the drawing itself, polylines with their vertices."""
    starts = [place for place, (code, _) in enumerate(tags) if code == 0]
    pieces = (
        _Entity(tags[start][1], tags[start + 1 : end])
        for start, end in zip(starts, [*starts[1:], len(tags)], strict=True)
    )
    for piece in pieces:
        if piece.kind == "SECTION" and piece.text(2, "") == "ENTITIES":
            break
    else:
        raise GearworkError("it is a damaged DXF file, it has no drawing: write it again")
    for piece in pieces:
        if piece.kind == "ENDSEC":
            return
        if piece.kind == "EOF":
            break
        if piece.kind == "POLYLINE":
            yield piece._replace(vertices=tuple(_until_end(pieces)))
        else:
            yield piece
    raise GearworkError("it is a damaged DXF file, its drawing has no end: write it again")


def _until_end(pieces: Iterator[_Entity]) -> Iterator[_Entity]:
    for piece in pieces:
        if piece.kind != "VERTEX":
            if piece.kind != "SEQEND":
                raise GearworkError(f"{piece.name} stands in a polyline: write the file again")
            return
        yield piece


def _runs(tags: Sequence[Tag]) -> list[tuple[str, Run]]:
    found = []
    for entity in _cut_entities(tags):
        if entity.kind == "CIRCLE":
            continue
        try:
            table = _vertices(entity)
            if _is_closed(entity):
                table = np.vstack([table, table[:1]])
            run = Run(table[:, :2], table[:-1, 2], 0.0)
            _of_a_router(run.closed)
        except GearworkError as error:
            raise GearworkError(f"{entity.name}: {error}") from None
        found.append((entity.layer, run))
    return found


def _outline(entity: _Entity) -> Outline:
    if entity.kind == "CIRCLE":
        _check_upright(entity)
        centre = entity.value(10), entity.value(20)
        return _of_a_router(Outline.circle(2 * entity.value(40), centre))
    table = _vertices(entity)
    if not _is_closed(entity):
        raise GearworkError("it is open: close it")
    return _of_a_router(Outline(table[:, :2], table[:, 2]))


def _is_closed(entity: _Entity) -> bool:
    return bool(entity.flag(70) & 1)


def _check_upright(entity: _Entity) -> None:
    if [entity.value(code, d) for code, d in ((210, "0"), (220, "0"), (230, "1"))] != [0, 0, 1]:
        raise GearworkError("it was turned out of the plane or mirrored: draw it anew")


def _vertices(entity: _Entity) -> Floats:
    """Return x, y and bulge of every vertex of a polyline, shape (n, 3)."""
    _check_upright(entity)
    if entity.kind == "LWPOLYLINE":
        rows = list(_rows(entity.tags))
    elif entity.kind == "POLYLINE" and not entity.flag(70) & ~(1 | 128):
        rows = [(v.value(10), v.value(20), v.value(42, "0")) for v in entity.vertices]
    else:
        raise GearworkError("only closed polylines and circles can be cut: convert or delete it")
    if entity.flag(90) not in (0, len(rows)):
        raise GearworkError(f"it has {len(rows)} vertices and names another number: draw it anew")
    if len(rows) > MOST_VERTICES:
        raise GearworkError(f"it has {len(rows)} vertices: at most {MOST_VERTICES} can be judged")
    table = np.array(rows, dtype=float).reshape(-1, 3)
    table[np.abs(table[:, 2]) < FLATTEST, 2] = 0.0
    return table


def _rows(tags: Sequence[Tag]) -> Iterator[Row]:
    """Yield x, y and bulge of each vertex of a light polyline."""
    row: dict[int, str] = {}
    for code, text in (*tags, (10, "")):
        if code == 10 and row:
            yield _value(row[10]), _value(row.get(20, "")), _value(row.get(42, "0"))
            row = {}
        if code == 10 or (code in (20, 42) and row):
            row[code] = text


def _of_a_router(outline: Outline) -> Outline:
    """Return the outline if a machine could follow it."""
    widest = float(np.abs(outline.vertices).max())
    if widest > FARTHEST:
        raise GearworkError(f"it reaches {widest:g} mm: at most {FARTHEST:g} mm can be cut")
    if np.abs(outline.bulges).max() > ROUNDEST:
        raise GearworkError("one of its arcs is a full circle but for a hair: draw it as two arcs")
    if outline.length > LONGEST:
        raise GearworkError(f"it is {outline.length:g} mm long: at most {LONGEST:g} mm can be cut")
    return outline


def _value(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise GearworkError(f"{shown(text)} stands where a number must be: draw it anew") from None
