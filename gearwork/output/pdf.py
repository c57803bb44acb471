"""Drawings as PDF at 1:1, on as many pages as it takes."""

import io
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec
from itertools import groupby, pairwise, product
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
from gearwork.output.drawing import draft
from gearwork.output.drawing.paper import (
    FOOT,
    MARGIN,
    Placed,
    Sheet,
    Tiling,
    beside_or_below,
    flow,
    sheets,
    tiling,
)
from gearwork.output.drawing.views import Ground
from gearwork.output.marking import TEXT_HEIGHT, Label, Marks

BAR = 100.0
_SMALL = 2.5
_CAPITALS = 0.729  # height of a capital in DejaVu Sans, in ems
_POINTS = 72 / 25.4
_MAP = 110.0
_CAPTION = 10.0


def drawing_pdf(drawing: draft.Drawing, paper: str = "A4") -> bytes:
    """Return the drawing as PDF at 1:1, every page with a bar of 100 mm to check the printer.

    What is larger than a page is spread over several that overlap, with numbered crosses to
    lay on each other, after a page with the tables and a map of the pages.
    """
    words = [one.corners for one in _labels(drawing)]
    single = _single_page(drawing, paper)
    pages = [single] if single else list(_pages(drawing, tiling(drawing.bounds, paper, words)))
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=True, pageCompression=True)
    canvas.setTitle(drawing.title)
    for count, page in enumerate(pages, start=1):
        _draw_foot(page, drawing.title, f"page {count} of {len(pages)}")
        page.draw(canvas)
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


def _labels(drawing: draft.Drawing) -> list[Label]:
    every = (drawing.marks, *(draft.dimension_ink(one).marks for one in drawing.dimensions))
    return [label for marks in every for label in marks.labels]


@dataclass(frozen=True)
class _Page:
    """One page in the making, in mm from the lower left corner of the paper.

    `ink`: its layer, whether the room cuts it off, and how it is drawn: what is filled first, then
    lines, then texts, so that no line crosses a letter.
    """

    sheet: Sheet
    place: str = ""
    ink: list[tuple[int, bool, Callable[[Any], None]]] = field(default_factory=list)

    def draw(self, canvas: Any) -> None:
        """Draw the page; what is cut off stays within the room."""
        canvas.setPageSize((self.sheet.width * _POINTS, self.sheet.height * _POINTS))
        in_order = sorted(self.ink, key=lambda each: each[0])
        for cut_off, alike in groupby(in_order, key=lambda each: each[1]):
            canvas.saveState()
            canvas.setLineJoin(1)
            if cut_off:
                room = canvas.beginPath()
                room.rect(*(_POINTS * side for side in (MARGIN, FOOT, *self.sheet.room)))
                canvas.clipPath(room, stroke=0, fill=0)
            for _, _, draw in alike:
                draw(canvas)
            canvas.restoreState()
        canvas.showPage()


_FILLS, _STROKES, _TEXTS = range(3)


def _path(points: Floats, *, closed: bool = False) -> Any:
    """A path of straight lines; given at once, for the library takes much longer point by point."""
    x, y = (points * _POINTS).round(3).T
    steps = [f"{a:.10g} {b:.10g} l" for a, b in zip(x, y, strict=True)]
    steps[0] = f"{steps[0][:-1]}m"
    return PDFPathObject([*steps, "h"] if closed else steps)


@dataclass(frozen=True)
class _View:
    """Where something goes on a page: shift in mm, scale, and whether the room cuts it off.

    `elsewhere`: texts that are whole on another page; here they are written whole or not at all.
    """

    page: _Page
    shift: Point = (0.0, 0.0)
    scale: float = 1.0
    cut_off: bool = False
    elsewhere: Collection[Label] = ()

    def stroke(self, path: Floats, style: draft.Style = "thin") -> None:
        width = draft.LINE_WIDTH[style] * max(self.scale, 0.5) * _POINTS
        dashes = [length * _POINTS for length in draft.DASHES.get(style, ()) if self.scale == 1.0]

        def draw(canvas: Any) -> None:
            canvas.setLineWidth(width)
            canvas.setDash(dashes)
            canvas.drawPath(_path(points), stroke=1, fill=0)

        points = self._placed(path, _STROKES, draw)

    def fill(self, corners: Floats) -> None:
        def draw(canvas: Any) -> None:
            canvas.drawPath(_path(points, closed=True), stroke=0, fill=1)

        points = self._placed(corners, _FILLS, draw)

    def write(self, label: Label) -> None:
        corners = label.corners * self.scale + self.shift
        if not self._holds(corners) and label in self.elsewhere:
            return

        def draw(canvas: Any) -> None:
            """A line of text at a place on its baseline."""
            write = {
                "start": canvas.drawString,
                "middle": canvas.drawCentredString,
                "end": canvas.drawRightString,
            }
            canvas.saveState()
            canvas.translate(*(np.array(label.at) * self.scale + self.shift) * _POINTS)
            canvas.rotate(label.angle)
            canvas.setFont(_font(), label.height * self.scale / _CAPITALS * _POINTS)
            write[label.anchor](0.0, 0.0, label.text)
            canvas.restoreState()

        self._placed(label.corners, _TEXTS, draw)

    def _placed(self, path: Floats, layer: int, draw: Callable[[Any], None]) -> Floats:
        """Return points on the paper, after the ink went on the page if it can be seen there."""
        points = path * self.scale + self.shift
        if self._shows(points):
            self.page.ink.append((layer, self.cut_off, draw))
        return points

    def marks(self, marks: Marks) -> None:
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
        self.shapes(drawing)
        self.marks(drawing.marks)
        for dimension in drawing.dimensions:
            ink = draft.dimension_ink(dimension)
            self.marks(ink.marks)
            for corners in ink.arrowheads:
                self.fill(corners)

    def _holds(self, points: Floats) -> bool:
        """Whether all of it lies in the room."""
        wide, high = self.page.sheet.room
        low, top = points.min(axis=0), points.max(axis=0)
        return bool((low >= (MARGIN, FOOT)).all() and (top <= (MARGIN + wide, FOOT + high)).all())

    def _shows(self, points: Floats) -> bool:
        """Whether any of it can lie in the room."""
        wide, high = self.page.sheet.room
        above = (points.max(axis=0) > (MARGIN, FOOT)).all()
        below = (points.min(axis=0) < (MARGIN + wide, FOOT + high)).all()
        return not self.cut_off or bool(above and below)


def _single_page(drawing: draft.Drawing, paper: str) -> _Page | None:
    """Draw all on one page if it fits."""
    left, low, right, top = drawing.bounds
    sizes = [table.size for table in drawing.tables]
    for sheet in sheets(paper):
        placed = beside_or_below((right - left, top - low), sizes, sheet)
        if placed is not None:
            page = _Page(sheet)
            (x, depth), blocks = placed
            head = sheet.height - MARGIN
            _View(page, (MARGIN + x - left, head - depth - top)).drawing(drawing)
            _draw_tables(page, drawing, blocks)
            return page
    return None


def _pages(drawing: draft.Drawing, tiles: Tiling) -> Iterator[_Page]:
    """Draw the tables and a map of the pages, then each page of the drawing."""
    wide, high = tiles.sheet.room
    tiled = tiles.columns * tiles.rows > 1
    blocks = [table.size for table in drawing.tables] + [_map_size(tiles)] * tiled
    flowed = flow(blocks, wide, high)
    for placed in flowed:
        page = _Page(tiles.sheet, "tables")
        _draw_tables(page, drawing, [each for each in placed if each[0] < len(drawing.tables)])
        for _, x, depth in (each for each in placed if each[0] == len(drawing.tables)):
            corner = (MARGIN + x, tiles.sheet.height - MARGIN - depth)
            _draw_map(page, drawing, tiles, corner, len(flowed) + 1)
        yield page
    whole = [label for label in _labels(drawing) if tiles.keeps_whole(label.corners)]
    for row, column in product(range(tiles.rows), range(tiles.columns)):
        page = _Page(tiles.sheet, _place(row, column) if tiled else "")
        left, low, _, _ = tiles.window(row, column)
        view = _View(page, (MARGIN - left, FOOT - low), cut_off=True, elsewhere=whole)
        view.drawing(drawing)
        _draw_crosses(view, tiles)
        _View(page).stroke(_frame(MARGIN, FOOT, MARGIN + wide, FOOT + high))
        yield page


def _place(row: int, column: int) -> str:
    return f"row {row + 1} column {column + 1}"


def _frame(left: float, low: float, right: float, top: float) -> Floats:
    return np.array([(left, low), (right, low), (right, top), (left, top), (left, low)])


def _draw_tables(page: _Page, drawing: draft.Drawing, placed: Iterable[Placed]) -> None:
    """Draw tables where they were placed, one wider than the page made smaller."""
    wide, _ = page.sheet.room
    for block, x, depth in placed:
        table = drawing.tables[block]
        corner = (MARGIN + x, page.sheet.height - MARGIN - depth)
        _View(page, corner, min(1.0, wide / table.size[0])).marks(table.marks(0.0, 0.0))


def _map_size(tiles: Tiling) -> tuple[float, float]:
    left, low, right, top = tiles.whole
    scale = min(_MAP / (right - left), _MAP / (top - low))
    return scale * (right - left), scale * (top - low) + _CAPTION


def _draw_map(
    page: _Page, drawing: draft.Drawing, tiles: Tiling, corner: Point, first: int
) -> None:
    """Draw which page shows what, much smaller, with how to join them; `first`: its number."""
    x, top = corner
    lines = (
        "map of the pages, by their numbers, not to scale:",
        "lay crosses of the same number on each other",
    )
    for row, line in enumerate(lines, start=1):
        _View(page).write(Label((x, top - 1.5 * row * _SMALL), _SMALL, line))
    left, _, right, high = tiles.whole
    scale = _map_size(tiles)[0] / (right - left)
    view = _View(page, (x - scale * left, top - _CAPTION - scale * high), scale)
    view.shapes(drawing)
    places = list(product(range(tiles.rows), range(tiles.columns)))
    frames = [_frame(*tiles.window(*place)) for place in places]
    edges = [draft.Line(tuple(a), tuple(b), "thin") for path in frames for a, b in pairwise(path)]
    ground = Ground(drawing.shapes, [*drawing.lines, *edges])
    for number, path in enumerate(frames, first):
        view.stroke(path)
        corner, room = path.min(axis=0), np.ptp(path, axis=0)
        names = [
            Label(tuple(corner + room * (across, up)), TEXT_HEIGHT / scale, f"{number}", "middle")
            for up, across in product(np.linspace(0.85, 0.1, 16), np.linspace(0.25, 0.75, 11))
        ]
        view.write(*ground.clearest(Marks((name,)) for name in names).labels)


def _draw_crosses(view: _View, tiles: Tiling) -> None:
    for count, (x, y) in enumerate(tiles.crosses, start=1):
        view.stroke(np.array([(x - 5, y), (x + 5, y)]))
        view.stroke(np.array([(x, y - 5), (x, y + 5)]))
        view.write(Label((x + 1.0, y + 1.0), _SMALL, f"{count}"))


def _draw_foot(page: _Page, title: str, number: str) -> None:
    """Draw the bar to measure, the title and the page number."""
    view = _View(page)
    low, end = 8.0, page.sheet.width - MARGIN
    view.stroke(np.array([(MARGIN, low), (MARGIN + BAR, low)]), "edge")
    for x in (MARGIN, MARGIN + BAR):
        view.stroke(np.array([(x, low - 1.5), (x, low + 1.5)]))
    hint = f"this bar must measure {BAR:g} mm: print at 100 %, never fitted to the page"
    view.write(Label((MARGIN, low + 2.5), _SMALL, hint))
    view.write(Label((MARGIN, low + 8.0), TEXT_HEIGHT, title))
    view.write(Label((end, low + 8.0), _SMALL, page.place or "scale 1:1, mm", "end"))
    view.write(Label((end, low + 2.5), _SMALL, number, "end"))
