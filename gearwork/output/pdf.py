"""Drawings as PDF at 1:1, on as many pages as it takes."""

import io
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.util import find_spec
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
from gearwork.output.drawing.paper import MARGIN, SMALL, PageMap, Placed, Sheet, Tiling
from gearwork.output.drawing.views import Ground, leaders
from gearwork.output.marking import TEXT_HEIGHT, Bounds, Label, Marks

BAR = 100.0
_CAPITALS = 0.729  # height of a capital in DejaVu Sans, in ems
_POINTS = 72 / 25.4


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
    """Where something goes on a page of the canvas."""

    canvas: Any
    sheet: Sheet
    shift: Point = (0.0, 0.0)  # mm
    scale: float = 1.0
    # On one of several pages, texts that no page shows whole; all others are written so or not.
    cut: Collection[Label] | None = None

    def stroke(self, path: Floats, style: draft.Style = "thin") -> None:
        points = path * self.scale + self.shift
        if self._shows(points):
            self.canvas.setLineWidth(draft.LINE_WIDTH[style] * _POINTS)
            self.canvas.setDash([length * _POINTS for length in draft.DASHES.get(style, ())])
            self.canvas.drawPath(_path(points), stroke=1, fill=0)

    def write(self, label: Label) -> None:
        """A line of text at a place on its baseline."""
        canvas, corners = self.canvas, label.corners * self.scale + self.shift
        whole = self.cut is None or label in self.cut or self._holds(corners)
        if not (whole and self._shows(corners)):
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
        for path in marks.strokes:
            self.stroke(path)
        for label in marks.labels:
            self.write(label)

    def drawing(self, drawing: draft.Drawing) -> None:
        """All of it, the texts last: no line crosses a letter."""
        for one in drawing.shapes + drawing.lines:
            self.stroke(one.path, one.style)
        self.marks(drawing.ink)

    def tables(self, placed: list[Placed]) -> None:
        """Tables where they were placed, one wider than the page made smaller."""
        for table, x, depth in placed:
            corner = (MARGIN + x, self.sheet.height - MARGIN - depth)
            scale = min(1.0, self.sheet.room[0] / table.size[0])
            replace(self, shift=corner, scale=scale).marks(table.marks(0.0, 0.0))

    def _holds(self, points: Floats) -> bool:
        """Whether all of it lies in the room."""
        low, high = self.sheet.corners
        return bool((points >= low).all() and (points <= high).all())

    def _shows(self, points: Floats) -> bool:
        """Whether any of it can be seen."""
        low, high = self.sheet.corners
        return self.cut is None or bool(
            (points.max(axis=0) > low).all() and (points.min(axis=0) < high).all()
        )


def _path(points: Floats) -> Any:
    """A path of straight lines; given at once, for the library takes much longer point by point."""
    x, y = (points * _POINTS).round(3).T
    steps = [f"{a:.10g} {b:.10g} l" for a, b in zip(x, y, strict=True)]
    steps[0] = f"{steps[0][:-1]}m"
    return PDFPathObject(steps)


_Page = tuple[Sheet, str, Callable[[_View], None]]
"""A page: its paper, which it is of several, what draws it."""


def _single_page(drawing: draft.Drawing, size: str) -> list[_Page]:
    """All on one page if it fits."""
    left, low, right, top = drawing.bounds
    for sheet in paper.sheets(size):
        placed = paper.beside_or_below((right - left, top - low), drawing.tables, sheet)
        if placed is not None:
            return [(sheet, "", partial(_draw_whole, drawing=drawing, placed=placed))]
    return []


def _draw_whole(page: _View, drawing: draft.Drawing, placed: list[Placed]) -> None:
    left, _, _, top = drawing.bounds
    replace(page, shift=(MARGIN - left, page.sheet.height - MARGIN - top)).drawing(drawing)
    page.tables(placed)


def _pages(drawing: draft.Drawing, size: str) -> Iterator[_Page]:
    """The tables and a map of the pages, then each page of the drawing."""
    tiles = paper.tiling(drawing.bounds, size, [one.corners for one in drawing.ink.labels])
    drawing = _off_seams(drawing, tiles)
    tiled = len(tiles.places) > 1

    def flowed(before: int) -> list[list[Placed]]:
        """What is told first, the map with the numbers of the pages after so many."""
        more = (PageMap(drawing.paths, tiles, before + 1),) if tiled else ()
        return paper.flow(drawing.tables + more, *tiles.sheet.room)

    for placed in flowed(len(flowed(0))):
        yield tiles.sheet, "tables", partial(_View.tables, placed=placed)
    drawing = replace(drawing, marks=drawing.marks + tiles.crosses)
    cut = [one for one in drawing.ink.labels if not tiles.keeps_whole(one.corners)]
    for row, column in tiles.places:
        window = tiles.window(row, column)
        place = f"row {row + 1} column {column + 1}" if tiled else ""
        yield tiles.sheet, place, partial(_draw_tile, drawing=drawing, window=window, cut=cut)


def _draw_tile(page: _View, drawing: draft.Drawing, window: Bounds, cut: Collection[Label]) -> None:
    """Draw what the room shows of the drawing, and a frame about it."""
    (left, low), (right, high) = page.sheet.corners
    page.canvas.saveState()
    room = page.canvas.beginPath()
    room.rect(*(_POINTS * side for side in (left, low, right - left, high - low)))
    page.canvas.setLineWidth(draft.LINE_WIDTH["thin"] * _POINTS)
    page.canvas.clipPath(room, stroke=1, fill=0)
    replace(page, shift=(left - window[0], low - window[1]), cut=cut).drawing(drawing)
    page.canvas.restoreState()


def _off_seams(drawing: draft.Drawing, tiles: Tiling) -> draft.Drawing:
    """The drawing with diameters written elsewhere whose words no page would show whole."""
    ground = Ground(drawing.paths)
    ground.place([drawing.marks])
    circles = [one for one in drawing.dimensions if isinstance(one, draft.Diameter)]
    outside = {one.centre: one.value for one in sorted(circles, key=lambda one: one.value)}

    def whole(dimension: draft.Length | draft.Diameter) -> bool:
        return all(tiles.keeps_whole(label.corners) for label in dimension.marks.labels)

    found = {one: ground.place([one]) for one in drawing.dimensions if whole(one)}
    for one in drawing.dimensions:
        if one not in found:
            ways = leaders(one, outside[one.centre]) if isinstance(one, draft.Diameter) else ()
            found[one] = ground.place([way for way in ways if whole(way)] or [one])
    return replace(drawing, dimensions=tuple(found[one] for one in drawing.dimensions))


def _draw_foot(view: _View, title: str, place: str, number: str) -> None:
    """Draw the bar to measure, the title and the page number."""
    low, end = 8.0, view.sheet.width - MARGIN
    view.stroke(np.array([(MARGIN, low), (MARGIN + BAR, low)]), "edge")
    for x in (MARGIN, MARGIN + BAR):
        view.stroke(np.array([(x, low - 1.5), (x, low + 1.5)]))
    hint = f"this bar must measure {BAR:g} mm: print at 100 %, never fitted to the page"
    view.write(Label((MARGIN, low + 2.5), SMALL, hint))
    view.write(Label((MARGIN, low + 8.0), TEXT_HEIGHT, title))
    view.write(Label((end, low + 8.0), SMALL, place or "scale 1:1, mm", "end"))
    view.write(Label((end, low + 2.5), SMALL, number, "end"))
