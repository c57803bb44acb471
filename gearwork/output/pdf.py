"""Drawings as PDF at 1:1, on as many pages as it takes."""

import io
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.util import find_spec
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import numpy as np
from reportlab import rl_config
from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from gearwork.geometry.part import Point
from gearwork.numbers import Floats
from gearwork.output.drawing import draft, paper
from gearwork.output.drawing.paper import MARGIN, Sheet, Tiling
from gearwork.output.drawing.views import Ground, leaders
from gearwork.output.marking import TEXT_HEIGHT, Label, Marks

BAR = 100.0
_SMALL = 2.5
_CAPITALS = 0.729  # height of a capital in DejaVu Sans, in ems
_POINTS = 72 / 25.4
_MAP = 110.0
_CAPTION = 10.0


def drawing_pdf(drawing: draft.Drawing, size: str = "A4") -> bytes:
    """Return the drawing as PDF at 1:1, every page with a bar of 100 mm to check the printer.

    What is larger than a page is spread over several that overlap, with numbered crosses to
    lay on each other, after a page with the tables and a map of the pages. `size`: of the paper.
    """
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=True, pageCompression=True)
    canvas.setTitle(drawing.title)
    pages = _single_page(drawing, size) or list(_pages(drawing, size))
    for count, (sheet, place, draw) in enumerate(pages, start=1):
        canvas.setPageSize((sheet.width * _POINTS, sheet.height * _POINTS))
        canvas.setLineJoin(1)
        view = _View(canvas, sheet)
        draw(view)
        _draw_foot(view, drawing.title, place, f"page {count} of {len(pages)}")
        canvas.showPage()
    before, rl_config.useA85 = rl_config.useA85, 0  # as letters a file is larger and slow to make
    try:
        canvas.save()
    finally:
        rl_config.useA85 = before
    return stream.getvalue()


@cache
def _font() -> str:
    """The font of all texts: one that comes with matplotlib and has more letters than PDF's own."""
    library = find_spec("matplotlib")  # found, not imported: that takes long
    home = Path(str(library and library.origin)).parent / "mpl-data" / "fonts" / "ttf"
    registerFont(TTFont("DejaVu", str(home / "DejaVuSans.ttf")))
    return "DejaVu"


@dataclass(frozen=True)
class _View:
    """Where something goes on a page of the canvas: shift in mm, scale; cut off by the room or not.

    `elsewhere`: texts that are whole on another page; here they are written whole or not at all.
    """

    canvas: Any
    sheet: Sheet
    shift: Point = (0.0, 0.0)
    scale: float = 1.0
    cut_off: bool = False
    elsewhere: Collection[Label] = ()

    def at(self, shift: Point, scale: float = 1.0) -> "_View":
        """The view of something else on the same page."""
        return replace(self, shift=shift, scale=scale)

    def stroke(self, path: Floats, style: draft.Style = "thin") -> None:
        points = path * self.scale + self.shift
        if self._shows(points):
            self.canvas.setLineWidth(draft.LINE_WIDTH[style] * max(self.scale, 0.5) * _POINTS)
            dashes = draft.DASHES.get(style, ()) if self.scale == 1.0 else ()
            self.canvas.setDash([length * _POINTS for length in dashes])
            self.canvas.drawPath(_path(points), stroke=1, fill=0)

    def fill(self, corners: Floats) -> None:
        points = corners * self.scale + self.shift
        if self._shows(points):
            self.canvas.drawPath(_path(points, "h"), stroke=0, fill=1)

    def write(self, label: Label) -> None:
        """A line of text at a place on its baseline."""
        canvas, corners = self.canvas, label.corners * self.scale + self.shift
        if not self._shows(corners) or (label in self.elsewhere and not self._holds(corners)):
            return
        canvas.saveState()
        canvas.translate(*(np.array(label.at) * self.scale + self.shift) * _POINTS)
        canvas.rotate(label.angle)
        canvas.setFont(_font(), label.height * self.scale / _CAPITALS * _POINTS)
        write = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }
        write[label.anchor](0.0, 0.0, label.text)
        canvas.restoreState()

    def marks(self, marks: Marks) -> None:
        for corners in marks.heads:
            self.fill(corners)
        for path in marks.strokes:
            self.stroke(path)
        for label in marks.labels:
            self.write(label)

    def shapes(self, drawing: draft.Drawing) -> None:
        for shape in drawing.shapes:
            points = shape.outline.points()
            self.stroke(np.vstack([points, points[:1]]), shape.style)
        for line in drawing.lines:
            self.stroke(np.array([line.start, line.end]), line.style)

    def drawing(self, drawing: draft.Drawing) -> None:
        """All of it, the texts last: no line crosses a letter."""
        self.shapes(drawing)
        self.marks(drawing.ink)

    def tables(self, drawing: draft.Drawing, placed: list[paper.Placed]) -> None:
        """Tables where they were placed, one wider than the page made smaller."""
        for block, x, depth in placed:
            table = drawing.tables[block]
            corner = (MARGIN + x, self.sheet.height - MARGIN - depth)
            self.at(corner, min(1.0, self.sheet.room[0] / table.size[0])).marks(table.marks(0, 0))

    def _holds(self, points: Floats) -> bool:
        """Whether all of it lies in the room."""
        low, high = self.sheet.corners
        return bool((points >= low).all() and (points <= high).all())

    def _shows(self, points: Floats) -> bool:
        """Whether any of it can be seen."""
        low, high = self.sheet.corners
        return not self.cut_off or bool(
            (points.max(axis=0) > low).all() and (points.min(axis=0) < high).all()
        )


def _path(points: Floats, end: str = "") -> Any:
    """A path of straight lines; given at once, for the library takes much longer point by point."""
    x, y = (points * _POINTS).round(3).T
    steps = [f"{a:.10g} {b:.10g} l" for a, b in zip(x, y, strict=True)]
    steps[0] = f"{steps[0][:-1]}m"
    return PDFPathObject([*steps, end] if end else steps)


_Page = tuple[Sheet, str, Callable[[_View], None]]
"""A page: its paper, which it is of several, what draws it."""


def _single_page(drawing: draft.Drawing, size: str) -> list[_Page]:
    """All on one page if it fits."""
    left, low, right, top = drawing.bounds
    blocks = [table.size for table in drawing.tables]
    for sheet in paper.sheets(size):
        placed = paper.beside_or_below((right - left, top - low), blocks, sheet)
        if placed is not None:
            return [(sheet, "", partial(_draw_whole, drawing=drawing, tables=placed))]
    return []


def _pages(drawing: draft.Drawing, size: str) -> Iterator[_Page]:
    """The tables and a map of the pages, then each page of the drawing."""
    tiles = paper.tiling(drawing.bounds, size, [one.corners for one in drawing.ink.labels])
    drawing = _off_seams(drawing, tiles)
    tiled = tiles.columns * tiles.rows > 1
    blocks = [table.size for table in drawing.tables] + [_map_size(tiles)] * tiled
    flowed = paper.flow(blocks, *tiles.sheet.room)
    tables = partial(_draw_tables, drawing=drawing, tiles=tiles, first=len(flowed) + 1)
    yield from ((tiles.sheet, "tables", partial(tables, placed=placed)) for placed in flowed)
    whole = [label for label in drawing.ink.labels if tiles.keeps_whole(label.corners)]
    tile = partial(_draw_tile, drawing=drawing, tiles=tiles, whole=whole)
    for row, column in tiles.places:
        place = f"row {row + 1} column {column + 1}" if tiled else ""
        yield tiles.sheet, place, partial(tile, place=(row, column))


def _off_seams(drawing: draft.Drawing, tiles: Tiling) -> draft.Drawing:
    """The drawing with diameters written elsewhere whose words no page would show whole."""
    ground = Ground(drawing.shapes, drawing.lines)
    ground.place([drawing.marks])
    cut = [one for one in drawing.dimensions if not _on_one_page(one, tiles)]
    found = {one: ground.place([one]) for one in drawing.dimensions if one not in cut}
    for one in cut:
        ways = []
        if isinstance(one, draft.Diameter):
            about = [
                each.value
                for each in drawing.dimensions
                if isinstance(each, draft.Diameter) and each.centre == one.centre
            ]
            ways = [way for way in leaders(one, max(about)) if _on_one_page(way, tiles)]
        found[one] = ground.place(ways or [one])
    return replace(drawing, dimensions=tuple(found[one] for one in drawing.dimensions))


def _on_one_page(dimension: draft.Length | draft.Diameter, tiles: Tiling) -> bool:
    return all(tiles.keeps_whole(label.corners) for label in dimension.marks.labels)


def _draw_whole(page: _View, drawing: draft.Drawing, tables: list[paper.Placed]) -> None:
    left, _, _, top = drawing.bounds
    page.at((MARGIN - left, page.sheet.height - MARGIN - top)).drawing(drawing)
    page.tables(drawing, tables)


def _draw_tables(
    page: _View, drawing: draft.Drawing, tiles: Tiling, placed: list[paper.Placed], first: int
) -> None:
    """Draw tables, and after the last the map; `first`: number of the first page on it."""
    page.tables(drawing, [each for each in placed if each[0] < len(drawing.tables)])
    for _, x, depth in (each for each in placed if each[0] == len(drawing.tables)):
        _draw_map(page, drawing, tiles, (MARGIN + x, page.sheet.height - MARGIN - depth), first)


def _draw_tile(
    page: _View,
    drawing: draft.Drawing,
    tiles: Tiling,
    place: tuple[int, int],
    whole: Collection[Label],
) -> None:
    """Draw what the room shows of the drawing, the crosses on it, and a frame about it."""
    x, y, _, _ = tiles.window(*place)
    (left, low), (right, high) = page.sheet.corners
    page.canvas.saveState()
    room = page.canvas.beginPath()
    room.rect(*(_POINTS * side for side in (left, low, right - left, high - low)))
    page.canvas.clipPath(room, stroke=0, fill=0)
    view = replace(page, shift=(left - x, low - y), cut_off=True, elsewhere=whole)
    view.drawing(drawing)
    for count, (x, y) in enumerate(tiles.crosses, start=1):
        view.stroke(np.array([(x - 5, y), (x + 5, y)]))
        view.stroke(np.array([(x, y - 5), (x, y + 5)]))
        view.write(Label((x + 1.0, y + 1.0), _SMALL, f"{count}"))
    page.canvas.restoreState()
    page.stroke(_frame(left, low, right, high))


def _frame(left: float, low: float, right: float, top: float) -> Floats:
    return np.array([(left, low), (right, low), (right, top), (left, top), (left, low)])


def _map_size(tiles: Tiling) -> tuple[float, float]:
    left, low, right, top = tiles.whole
    scale = min(_MAP / (right - left), _MAP / (top - low))
    return scale * (right - left), scale * (top - low) + _CAPTION


def _draw_map(
    page: _View, drawing: draft.Drawing, tiles: Tiling, corner: Point, first: int
) -> None:
    """Draw which page shows what, much smaller, with how to join them; `first`: its number."""
    x, top = corner
    lines = (
        "map of the pages, by their numbers, not to scale:",
        "lay crosses of the same number on each other",
    )
    for row, line in enumerate(lines, start=1):
        page.write(Label((x, top - 1.5 * row * _SMALL), _SMALL, line))
    left, _, right, high = tiles.whole
    scale = _map_size(tiles)[0] / (right - left)
    view = page.at((x - scale * left, top - _CAPTION - scale * high), scale)
    view.shapes(drawing)
    frames = [_frame(*tiles.window(*place)) for place in tiles.places]
    edges = [draft.Line(tuple(a), tuple(b), "thin") for path in frames for a, b in pairwise(path)]
    ground = Ground(drawing.shapes, [*drawing.lines, *edges])
    for number, path in enumerate(frames, first):
        view.stroke(path)
        corner, room = path.min(axis=0), np.ptp(path, axis=0)
        names = [
            Label(tuple(corner + room * (across, up)), TEXT_HEIGHT / scale, f"{number}", "middle")
            for up, across in product(np.linspace(0.85, 0.1, 16), np.linspace(0.25, 0.75, 11))
        ]
        view.write(*ground.place(Marks((name,)) for name in names).labels)


def _draw_foot(view: _View, title: str, place: str, number: str) -> None:
    """Draw the bar to measure, the title and the page number."""
    low, end = 8.0, view.sheet.width - MARGIN
    view.stroke(np.array([(MARGIN, low), (MARGIN + BAR, low)]), "edge")
    for x in (MARGIN, MARGIN + BAR):
        view.stroke(np.array([(x, low - 1.5), (x, low + 1.5)]))
    hint = f"this bar must measure {BAR:g} mm: print at 100 %, never fitted to the page"
    view.write(Label((MARGIN, low + 2.5), _SMALL, hint))
    view.write(Label((MARGIN, low + 8.0), TEXT_HEIGHT, title))
    view.write(Label((end, low + 8.0), _SMALL, place or "scale 1:1, mm", "end"))
    view.write(Label((end, low + 2.5), _SMALL, number, "end"))
