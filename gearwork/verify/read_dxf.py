"""Reading cut lines back from a DXF file.

From the text of the file alone and not by the library that wrote it: what is found is what is
there, and a file of any content costs little time and room.
"""

import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np

from gearwork.errors import GearworkError, number, shown
from gearwork.geometry.outline import Outline
from gearwork.geometry.toolpath import Run
from gearwork.numbers import Floats
from gearwork.output.files import written_files
from gearwork.output.marking import MILLIMETRES, NOT_CUT, path_key
from gearwork.output.toolpath_files import SUFFIX

MAX_BYTES = 8_000_000
MAX_VERTICES = 50_000
MAX_REACH = MAX_LENGTH = 100_000.0  # coordinate, and length of one path, mm: no router is larger
MAX_BULGE, MIN_BULGE = 1000.0, 1e-9  # beyond the first an arc is a full circle but for a hair

Tag = tuple[int, str]
Layers = dict[str, list[Outline]]  # closed paths by layer


@dataclass(frozen=True, eq=False)
class _Entity:
    """One entity: its type and its tags; a polyline's vertices are entities of their own."""

    kind: str
    tags: Sequence[Tag]
    vertices: "Sequence[_Entity]" = ()

    @cached_property
    def _first(self) -> dict[int, str]:
        """What stands first under each code."""
        return dict(reversed(self.tags))

    @property
    def codes(self) -> list[int]:
        return [code for code, _ in self.tags]

    def text(self, code: int, default: str) -> str:
        return self._first.get(code, default)

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
        return " ".join(word[:60] for word in words)

    @property
    def is_closed(self) -> bool:
        return bool(self.flag(70) & 1)


def read_outlines(path: str | os.PathLike[str]) -> dict[str, list[Outline]]:
    """Read the cut lines of a DXF file, of ours or edited since: closed paths by layer.

    Parameters
    ----------
    path : path
        Of the file.

    Returns
    -------
    dict of list of Outline
        By layers, in small letters; those whose names begin with "not-cut" are left out.

    Raises
    ------
    GearworkError
        If the file cannot be read or is not in millimetres, or a layer that is cut holds anything
        but closed polylines and circles, each of them once.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import gearwork as gw
    >>> cut = gw.CutPair(gw.GearPair(gw.Gear(5, 20, thinning=0.2), gw.Gear(5, 38)), gw.Bit(3.0))
    >>> with TemporaryDirectory() as folder:
    ...     _ = gw.write_part(cut, "wheel", folder, sheet=gw.plywood("birch", 12), bore=22.0)
    ...     found = read_outlines(f"{folder}/wheel-1.dxf")
    >>> {layer: len(outlines) for layer, outlines in sorted(found.items())}
    {'inner-edge': 1, 'outer-edge': 1, 'sunk-1mm': 1}
    """
    return by_layer(read_lines(path))


class Notes(NamedTuple):
    """What a file says and does not cut: texts with where they begin, and straight lines, mm.

    Dimensions as a reader shows them: one may measure anew, another takes the number in the file.
    Of all else the names.
    """

    texts: list[tuple[str, tuple[float, float]]]
    strokes: list[tuple[float, float, float, float]]
    dimensions: list[str]
    others: list[str]

    def add(self, entity: _Entity) -> None:
        """Take down what an entity says."""
        if entity.kind == "LINE":
            x, y, to_x, to_y = (entity.value(code) for code in (10, 20, 11, 21))
            self.strokes.append((x, y, to_x, to_y))
        elif entity.kind == "DIMENSION":
            aligned = entity.flag(70) & 7 == 1  # else a diameter
            x, y, to_x, to_y = map(entity.value, (13, 23, 14, 24) if aligned else (10, 20, 15, 25))
            for length in (entity.value(42), float(np.hypot(to_x - x, to_y - y))):
                self.dimensions.append(entity.text(1, "<>").replace("<>", f"{length:.2f}"))
        elif words := "".join(text for code, text in entity.tags if code in (1, 3)):
            lines = _LINE_END.split(_FORMAT.sub("", words)) if entity.kind == "MTEXT" else [words]
            at = entity.value(10), entity.value(20)
            self.texts.extend((" ".join(line.split()), at) for line in lines if line.strip())
        else:
            self.others.append(entity.name)


_FORMAT = re.compile(r"\\[ACFHQTWcfp][^;]*;|\\[LlOoKk]|[{}]")
_LINE_END = re.compile(r"\\P")
"""In the words of an MTEXT: how a program says fonts and heights, and where a line ends."""


def read_lines(
    path: str | os.PathLike[str], notes: Notes | None = None
) -> list[tuple[str, Outline]]:
    """Read the cut lines of a DXF file in their order, each with its layer; see `read_outlines`.

    What is not cut is added to the notes.
    """
    found: list[tuple[str, Outline]] = []
    seen: set[bytes] = set()

    def keep(entity: _Entity) -> None:
        outline = _outline(entity)
        key = path_key(outline)
        if key in seen:
            raise GearworkError("it stands there twice: delete one")
        seen.add(key)
        found.append((entity.layer, outline))

    _read(path, keep, notes)
    return found


def by_layer(lines: Iterable[tuple[str, Outline]]) -> Layers:
    """Return closed paths by layer."""
    found: Layers = {}
    for layer, outline in lines:
        found.setdefault(layer, []).append(outline)
    return found


class CutFiles(dict[str, Layers]):
    """Cut lines by file name without ending, each file read when it is first asked for."""

    def __init__(self, home: Path) -> None:
        super().__init__()
        self.home = home
        self._lines: dict[str, list[tuple[str, Outline]]] = {}
        self._ways: dict[str, list[tuple[str, Outline | Run]]] = {}
        self.notes: dict[str, Notes] = {}

    def lines(self, stem: str) -> list[tuple[str, Outline]]:
        """Layer and path of every cut line of a file, in their order."""
        if stem not in self._lines:
            self.notes[stem] = Notes([], [], [], [])
            self._lines[stem] = read_lines(self.home / f"{stem}.dxf", self.notes[stem])
        return self._lines[stem]

    def ways(self, stem: str) -> list[tuple[str, Outline | Run]]:
        """Layer and way of the bit, or drilled circle, of the file of paths beside a file."""
        if stem not in self._ways:
            notes = self.notes[f"{stem}{SUFFIX}"] = Notes([], [], [], [])
            self._ways[stem] = read_ways(self.home / f"{stem}{SUFFIX}.dxf", notes)
        return self._ways[stem]

    def __missing__(self, stem: str) -> Layers:
        self[stem] = by_layer(self.lines(stem))
        return self[stem]

    @property
    def with_ways(self) -> tuple[str, ...]:
        """Names of the files that have one of the bit's paths beside them."""
        paths = (p for p in written_files(self.home) if p.match(f"*{SUFFIX}.dxf"))
        return tuple(path.stem.removesuffix(SUFFIX) for path in paths)

    @property
    def sheets(self) -> tuple[str, ...]:
        """Names of the files of the sheets."""
        names = (path.name for path in written_files(self.home))
        return tuple(name[:-4] for name in names if re.fullmatch(r"sheet-\d+\.dxf", name))


def read_ways(
    path: str | os.PathLike[str], notes: Notes | None = None
) -> list[tuple[str, Outline | Run]]:
    """Read the paths of a bit's centre and the circles that are drilled, each with its layer.

    In their order; what is not cut is added to the notes. Raises GearworkError as `read_outlines`
    does; open polylines are as good here as closed ones.
    """
    found: list[tuple[str, Outline | Run]] = []

    def keep(entity: _Entity) -> None:
        if entity.kind == "CIRCLE":
            found.append((entity.layer, _outline(entity)))
        else:
            table = _vertices(entity)
            if entity.is_closed:
                table = np.vstack([table, table[:1]])
            run = Run(table[:, :2], table[:-1, 2], 0.0)
            _of_a_router(run.closed)
            found.append((entity.layer, run))

    _read(path, keep, notes)
    return found


def _read(
    path: str | os.PathLike[str],
    keep: Callable[[_Entity], None],
    notes: Notes | None,
) -> None:
    """Hand on each entity that is cut and note the others; an error names file and entity."""
    try:
        with open(path, "rb") as file:
            data = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no file can be named so"
        raise GearworkError(f"{path} cannot be read: {reason}") from error
    try:
        for entity in _drawn(_tags(data)):
            try:
                if not entity.layer.startswith(NOT_CUT):
                    keep(entity)
                elif notes is not None:
                    notes.add(entity)
            except GearworkError as error:
                raise GearworkError(f"{entity.name}: {error}") from None
    except GearworkError as error:
        raise GearworkError(f"{path}: {error}") from None


def _tags(data: bytes) -> list[Tag]:
    """Group code and text of all tags of a file."""
    if len(data) > MAX_BYTES:
        raise GearworkError(f"it is larger than {MAX_BYTES:,} bytes, as no cut file is")
    if b"\0" in data:
        raise GearworkError("it is no text: save it as an ASCII DXF file")
    lines = data.decode("latin-1").rstrip().replace("\r\n", "\n").split("\n")
    try:
        tags = list(zip(map(int, lines[::2]), map(str.strip, lines[1::2]), strict=True))
    except ValueError:
        raise GearworkError("it is no DXF file, or a damaged one: write it again") from None
    if tags[-1] != (0, "EOF"):
        raise GearworkError("it is a damaged DXF file, its end is missing: write it again")
    return tags


def _drawn(tags: Sequence[Tag]) -> Iterator[_Entity]:
    """Yield everything of the drawing itself (group 67 is 0), what is cut if CAM would see it."""
    head = tags[: tags.index((0, "ENDSEC"))] if (0, "ENDSEC") in tags else tags

    def header(variable: str, default: str) -> str:
        if head.count((9, variable)) > 1:
            raise GearworkError(f"it says {variable} twice: write it again")
        return head[head.index((9, variable)) + 1][1] if (9, variable) in head else default

    r12, units = "AC1009", header("$INSUNITS", "0")
    old = header("$ACADVER", r12) == r12  # knows no units, and capitals alone
    if units != str(MILLIMETRES) and not (old and units == "0"):
        raise GearworkError(f"its unit code is {units[:20]}: it must be {MILLIMETRES}, millimetres")
    if header("$MEASUREMENT", "1") != "1":
        raise GearworkError("it says that it is in inches ($MEASUREMENT): write it again")
    pieces = _pieces(tags)
    layers: dict[str, _Entity] = {}
    opened = ""  # block that begins
    for piece in pieces:
        if _opens(piece):
            break
        if piece.kind == "LAYER":
            layers[piece.text(2, "").lower()] = piece
        if opened in _SPACES and piece.kind != "ENDBLK":
            raise GearworkError(f"{piece.name} stands beside the drawing: write it again")
        opened = piece.text(2, "").lower() if piece.kind == "BLOCK" else ""
    else:
        raise GearworkError("it is a damaged DXF file, it has no drawing: write it again")
    for entity in _entities(pieces):
        if entity.kind == "INSERT" and entity.layer.startswith(NOT_CUT):
            raise GearworkError(f"{entity.name} shows a block: explode it")
        if entity.flag(67) == 1:
            if entity.kind != "VIEWPORT" and not entity.layer.startswith(NOT_CUT):
                raise GearworkError(f"{entity.name} stands on a page for printing: delete it there")
            continue
        if not entity.layer.startswith(NOT_CUT):
            named = entity.text(8, "0")
            if named != entity.layer and not (old and named == entity.layer.upper()):
                raise GearworkError(
                    f"a layer is called {named[:60]}, which some programs take for another than"
                    f" {entity.layer[:60]}: rename it"
                )
            _check_shown(entity, layers.get(entity.layer))
        yield entity


_SPACES = ("*model_space", "$model_space")
"""Blocks that stand for the drawing and must be empty, for it has a section of its own."""


def _check_shown(entity: _Entity, layer: _Entity | None) -> None:
    """Refuse what a program would leave out, or cut as dashes."""
    line = entity.text(6, "bylayer").lower()
    if layer is not None:
        name = entity.layer[:60]
        if layer.value(62, "7") < 0 or layer.flag(70) & 1:  # the sign of its colour; bit 1
            raise GearworkError(f"layer {name} is off or frozen: turn it on")
        if layer.text(290, "1") == "0":
            raise GearworkError(f"layer {name} is not to be plotted: allow it")
        line = layer.text(6, "continuous").lower() if line == "bylayer" else line
    if entity.flag(60) == 1:
        raise GearworkError(f"{entity.name} is invisible: show or delete it")
    if line not in ("continuous", "bylayer"):
        raise GearworkError(f"{entity.name} is drawn as {line[:60]}: it must be a whole line")


def _pieces(tags: Sequence[Tag]) -> Iterator[_Entity]:
    """Yield all that a file is made of, each from one tag 0 to the next."""
    starts = [place for place, (code, _) in enumerate(tags) if code == 0]
    for start, end in zip(starts, [*starts[1:], len(tags)], strict=True):
        yield _Entity(tags[start][1], tags[start + 1 : end])


def _opens(piece: _Entity) -> bool:
    """Whether the drawing begins here."""
    return piece.kind == "SECTION" and piece.text(2, "") == "ENTITIES"


def _entities(pieces: Iterator[_Entity]) -> Iterator[_Entity]:
    """Yield the entities of the drawing, polylines with the vertices that follow them."""
    for piece in pieces:
        if piece.kind == "ENDSEC":
            if any(_opens(piece) for piece in pieces):
                raise GearworkError("it has two drawings, of which a program may cut either")
            return
        if piece.kind == "EOF":
            break
        vertices = []
        if piece.kind == "POLYLINE":
            while (vertex := next(pieces)).kind == "VERTEX":
                vertices.append(vertex)
            if vertex.kind != "SEQEND":
                raise GearworkError(f"{vertex.name} stands in a polyline: write the file again")
        yield replace(piece, vertices=vertices) if vertices else piece
    raise GearworkError("it is a damaged DXF file, its drawing has no end: write it again")


def _outline(entity: _Entity) -> Outline:
    if entity.kind == "CIRCLE":
        _check_upright(entity)
        if any(entity.codes.count(code) > 1 for code in (10, 20, 40)):
            raise GearworkError("it says twice how large it is, or where: draw it anew")
        centre = entity.value(10), entity.value(20)
        return _of_a_router(Outline.circle(2 * entity.value(40), centre))
    table = _vertices(entity)
    if not entity.is_closed:
        raise GearworkError("it is open: close it")
    return _of_a_router(Outline(table[:, :2], table[:, 2]))


def _check_upright(entity: _Entity) -> None:
    """Refuse what does not lie in the plane of the drawing, or is mirrored by its normal."""
    every = (entity, *entity.vertices)
    if any(one.value(code, "0") != 0 for one in every for code in (30, 38, 39)):
        raise GearworkError("it lies above or below the plane, or is high: draw it anew")
    wide = {40, 41, 43} if entity.kind.endswith("POLYLINE") else ()
    if any(code in wide and _value(text) != 0 for one in every for code, text in one.tags):
        raise GearworkError("it has a width, of which a program may cut both sides: draw it anew")
    if [entity.value(code, d) for code, d in ((210, "0"), (220, "0"), (230, "1"))] != [0, 0, 1]:
        raise GearworkError("it was turned out of the plane or mirrored: draw it anew")


def _vertices(entity: _Entity) -> Floats:
    """X, y and bulge of every vertex of a polyline, shape (n, 3)."""
    _check_upright(entity)
    if entity.kind == "LWPOLYLINE":
        texts: list[list[str]] = []
        for code, text in entity.tags:
            if code == 10:  # begins a vertex
                texts.append([text, "", "0"])
            elif code in (20, 42) and texts:
                texts[-1][1 if code == 20 else 2] = text
        rows = [tuple(map(_value, row)) for row in texts]
    elif entity.kind == "POLYLINE" and not entity.flag(70) & ~(1 | 128):  # flat, not smoothed
        rows = [(v.value(10), v.value(20), v.value(42, "0")) for v in entity.vertices]
        if any(v.flag(70) & 16 for v in entity.vertices):
            raise GearworkError("one of its vertices only pulls at a curve: draw it anew")
    else:
        raise GearworkError("only closed polylines and circles can be cut: convert or delete it")
    if entity.flag(90) not in (0, len(rows)):
        raise GearworkError(f"it has {len(rows)} vertices and names another number: draw it anew")
    if len(rows) > MAX_VERTICES:
        raise GearworkError(f"it has {len(rows)} vertices: at most {MAX_VERTICES} can be judged")
    table = np.array(rows, dtype=float).reshape(-1, 3)
    table[np.abs(table[:, 2]) < MIN_BULGE, 2] = 0.0
    return table


def _of_a_router(outline: Outline) -> Outline:
    """Return the outline if a machine could follow it."""
    widest = float(np.abs(outline.vertices).max())
    if widest > MAX_REACH:
        raise GearworkError(f"it reaches {widest:g} mm: at most {MAX_REACH:g} mm can be cut")
    if np.abs(outline.bulges).max() > MAX_BULGE:
        raise GearworkError("one of its arcs is a full circle but for a hair: draw it as two arcs")
    if outline.length > MAX_LENGTH:
        raise GearworkError(
            f"it is {outline.length:g} mm long: at most {MAX_LENGTH:g} mm can be cut"
        )
    return outline


def _value(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise GearworkError(f"{shown(text)} stands where a number must be: draw it anew") from None
