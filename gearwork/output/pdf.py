"""Drawings as PDF at 1:1, on as many pages as it takes."""

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

import matplotlib
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text
from matplotlib.transforms import Bbox, TransformedBbox

from gearwork.geometry.part import Point
from gearwork.numbers import Floats
from gearwork.output.drawing.draft import DASHES, LINE_WIDTH, Drawing, Style, dimension_ink
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
from gearwork.output.marking import TEXT_HEIGHT, Label, Marks

BAR = 100.0
_SMALL = 2.5
_CAPITALS = 0.729  # height of a capital in DejaVu Sans, in ems
_POINTS = 72 / 25.4
_MAP = 110.0
_ALIGN: dict[str, Literal["left", "center", "right"]] = {
    "start": "left",
    "middle": "center",
    "end": "right",
}
_CAPTION = 10.0


def drawing_pdf(drawing: Drawing, paper: str = "A4") -> bytes:
    """Return the drawing as PDF at 1:1, every page with a bar of 100 mm to check the printer.

    What is larger than a page is spread over several that overlap, with numbered crosses to
    lay on each other, after a page with the tables and a map of the pages.

    Parameters
    ----------
    drawing : Drawing
        What to print.
    paper : {"A4", "A3"}
        Paper size; lying or standing as it fits best.

    Raises
    ------
    GearworkError
        If the paper is neither A4 nor A3.
    """
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams["path.simplify"] = False
        matplotlib.rcParams["lines.scale_dashes"] = False
        single = _single_page(drawing, paper)
        pages = [single] if single else list(_pages(drawing, tiling(drawing.bounds, paper)))
        for count, page in enumerate(pages, start=1):
            _draw_foot(page, drawing.title, f"page {count} of {len(pages)}")
        stream = io.BytesIO()
        metadata = {"Title": drawing.title, "CreationDate": None}
        with PdfPages(stream, metadata=metadata) as pdf:
            for page in pages:
                pdf.savefig(page.figure)
        return stream.getvalue()


@dataclass(frozen=True)
class _Page:
    """One page, its axes counting millimetres from the lower left corner of the paper."""

    figure: Figure
    axes: Axes
    sheet: Sheet
    place: str = ""

    @classmethod
    def empty(cls, sheet: Sheet, place: str = "") -> "_Page":
        figure = Figure(figsize=(sheet.width / 25.4, sheet.height / 25.4))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set(xlim=(0, sheet.width), ylim=(0, sheet.height))
        axes.set_axis_off()
        return cls(figure, axes, sheet, place)


@dataclass(frozen=True)
class _View:
    """Where something goes on a page: shift in mm, scale, and whether the room cuts it off."""

    page: _Page
    shift: Point = (0.0, 0.0)
    scale: float = 1.0
    cut_off: bool = False

    def stroke(self, path: Floats, style: Style = "thin") -> None:
        points = path * self.scale + self.shift
        if not self._shows(points):
            return
        width = LINE_WIDTH[style] * max(self.scale, 0.5) * _POINTS
        line = Line2D(*points.T, color="black", linewidth=width, solid_capstyle="butt")
        if DASHES[style] and self.scale == 1.0:
            line.set_dashes([length * _POINTS for length in DASHES[style]])
        self._add(line)

    def fill(self, corners: Floats) -> None:
        points = corners * self.scale + self.shift
        if self._shows(points):
            self._add(Polygon(points, facecolor="black", linewidth=0))

    def write(self, label: Label) -> None:
        if not self._shows(label.corners * self.scale + self.shift):
            return
        x, y = np.array(label.at) * self.scale + self.shift
        text = Text(
            x,
            y,
            label.text,
            fontsize=label.height * self.scale / _CAPITALS * _POINTS,
            horizontalalignment=_ALIGN[label.anchor],
            verticalalignment="baseline",
            rotation=label.angle,
            rotation_mode="anchor",
            parse_math=False,
            clip_on=True,
        )
        self._add(text)

    def marks(self, marks: Marks) -> None:
        for path in marks.strokes:
            self.stroke(path)
        for label in marks.labels:
            self.write(label)

    def shapes(self, drawing: Drawing) -> None:
        for shape in drawing.shapes:
            points = shape.outline.points()
            self.stroke(np.vstack([points, points[:1]]), shape.style)
        for line in drawing.lines:
            self.stroke(np.array([line.start, line.end]), line.style)

    def drawing(self, drawing: Drawing) -> None:
        self.shapes(drawing)
        self.marks(drawing.marks)
        for dimension in drawing.dimensions:
            ink = dimension_ink(dimension)
            self.marks(ink.marks)
            for corners in ink.arrowheads:
                self.fill(corners)

    def _add(self, artist: Artist) -> None:
        self.page.axes.add_artist(artist)
        if self.cut_off:
            room = Bbox.from_bounds(MARGIN, FOOT, *self.page.sheet.room)
            artist.set_clip_box(TransformedBbox(room, self.page.axes.transData))

    def _shows(self, points: Floats) -> bool:
        """Whether any of it can lie in the room."""
        wide, high = self.page.sheet.room
        above = (points.max(axis=0) > (MARGIN, FOOT)).all()
        below = (points.min(axis=0) < (MARGIN + wide, FOOT + high)).all()
        return not self.cut_off or bool(above and below)


def _single_page(drawing: Drawing, paper: str) -> _Page | None:
    """Draw all on one page if it fits."""
    left, low, right, top = drawing.bounds
    sizes = [table.size for table in drawing.tables]
    for sheet in sheets(paper):
        placed = beside_or_below((right - left, top - low), sizes, sheet)
        if placed is not None:
            page = _Page.empty(sheet)
            (x, depth), blocks = placed
            head = sheet.height - MARGIN
            _View(page, (MARGIN + x - left, head - depth - top)).drawing(drawing)
            _draw_tables(page, drawing, blocks)
            return page
    return None


def _pages(drawing: Drawing, tiles: Tiling) -> Iterator[_Page]:
    """Draw the tables and a map of the pages, then each page of the drawing."""
    wide, high = tiles.sheet.room
    tiled = tiles.columns * tiles.rows > 1
    blocks = [table.size for table in drawing.tables] + [_map_size(tiles)] * tiled
    for placed in flow(blocks, wide, high):
        page = _Page.empty(tiles.sheet, "tables")
        _draw_tables(page, drawing, [each for each in placed if each[0] < len(drawing.tables)])
        for _, x, depth in (each for each in placed if each[0] == len(drawing.tables)):
            _draw_map(page, drawing, tiles, (MARGIN + x, tiles.sheet.height - MARGIN - depth))
        yield page
    for row, column in product(range(tiles.rows), range(tiles.columns)):
        page = _Page.empty(tiles.sheet, _place(row, column) if tiled else "")
        left, low, _, _ = tiles.window(row, column)
        view = _View(page, (MARGIN - left, FOOT - low), cut_off=True)
        view.drawing(drawing)
        _draw_crosses(view, tiles)
        _View(page).stroke(_frame(MARGIN, FOOT, MARGIN + wide, FOOT + high))
        yield page


def _place(row: int, column: int) -> str:
    return f"row {row + 1} column {column + 1}"


def _frame(left: float, low: float, right: float, top: float) -> Floats:
    return np.array([(left, low), (right, low), (right, top), (left, top), (left, low)])


def _draw_tables(page: _Page, drawing: Drawing, placed: Iterable[Placed]) -> None:
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


def _draw_map(page: _Page, drawing: Drawing, tiles: Tiling, corner: Point) -> None:
    """Draw which page shows what, much smaller, with how to join them."""
    x, top = corner
    lines = ("map of the pages, not to scale:", "lay crosses of the same number on each other")
    for row, line in enumerate(lines, start=1):
        _View(page).write(Label((x, top - 1.5 * row * _SMALL), _SMALL, line))
    left, _, right, high = tiles.whole
    scale = _map_size(tiles)[0] / (right - left)
    view = _View(page, (x - scale * left, top - _CAPTION - scale * high), scale)
    view.shapes(drawing)
    for row, column in product(range(tiles.rows), range(tiles.columns)):
        window = tiles.window(row, column)
        view.stroke(_frame(*window))
        at = (window[0] + 2.0 / scale, window[3] - 4.5 / scale)
        view.write(Label(at, _SMALL / scale, _place(row, column)))


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
