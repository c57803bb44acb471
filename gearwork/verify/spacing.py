"""The drawing to drill by read back, as DXF and in print, against the axes of the design."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from gearwork.checks.check import Check
from gearwork.errors import GearworkError
from gearwork.geometry.outline import circle_of
from gearwork.geometry.part import Point
from gearwork.machine.gear_set import GearSet
from gearwork.numbers import Floats
from gearwork.output.drawing.paper import sheets
from gearwork.output.marking import plain_text
from gearwork.output.pdf import BAR
from gearwork.output.write import SPACING
from gearwork.verify.pieces import faults_check
from gearwork.verify.read_dxf import CutFiles
from gearwork.verify.read_pdf import PdfPage, read_pdf

OFF = 0.02
"""Of an axis or a bore in a file, mm; files keep far less."""

PRINTED = 0.05
"""Of the bar, a page or a cross in print, mm: what a ruler shows."""

THICK = 0.4
"""What lines of bores are at least wide, mm; those of the circles of gears are half as wide."""

CROSS = 10.0

Circle = tuple[float, float, float]  # centre and diameter, mm
Words = Iterable[tuple[str, Point]]


def spacing_checks(files: CutFiles, design: GearSet) -> Iterator[Check]:
    """Yield a check of the drawing and one of its print."""
    judged = "axes in the drawing"
    yield faults_check(judged, f"{SPACING}.dxf", list(_faults_drawn(files, design)))
    print_ = files.home / f"{SPACING}.pdf"
    if print_.exists():  # else the list of files tells that it is gone
        yield faults_check(judged, print_.name, list(_faults_printed(print_, design)))


def _faults_drawn(files: CutFiles, design: GearSet) -> Iterator[str]:
    """Yield what is wrong with the bores, dimensions and tables of the drawing."""
    circles = [circle_of(line) for _, line in files.lines(SPACING)]
    drawn = [(*circle[0], circle[1]) for circle in circles if circle is not None]
    yield from _bore_faults(drawn, design)
    if len(circles) != len({(axis.at, axis.bore) for axis in design.axes}):
        yield f"{len(circles)} bores are drawn for {len(design.axes)} axes"
    notes = files.notes[SPACING]
    yield from _word_faults(notes.texts, notes.dimensions, design, "dia ")


def _faults_printed(path: Path, design: GearSet) -> Iterator[str]:
    """Yield what is wrong with the pages, laid on each other's crosses as somebody would."""
    try:
        pages = read_pdf(path)
    except GearworkError as error:
        yield str(error)
        return
    for number, page in enumerate(pages, 1):
        yield from _page_faults(number, page, design.brief.drawing.paper)
    places, faults = _laid_out([_crosses(page) for page in pages])
    yield from faults
    circles = [
        (wide, x + places[number][0], y + places[number][1], size)
        for number, page in enumerate(pages)
        if number in places
        for wide, (x, y, size) in _circles(page)
    ]
    bores = _distinct((x, y, size) for wide, x, y, size in circles if wide > THICK)
    shift = _shift(bores, design)
    bores = [(x - shift[0], y - shift[1], size) for x, y, size in bores]
    yield from _bore_faults(bores, design)
    if len(bores) != len({(axis.at, axis.bore) for axis in design.axes}):
        yield f"{len(bores)} bores are drawn for {len(design.axes)} axes"
    thin = [(x - shift[0], y - shift[1], size) for wide, x, y, size in circles if wide <= THICK]
    for axis in design.axes:
        sizes = [size for x, y, size in thin if np.hypot(x - axis.at[0], y - axis.at[1]) < OFF]
        for circle in axis.circles:
            for wanted in circle[1:]:
                if not any(abs(size - wanted) < OFF for size in sizes):
                    yield f"{axis.name} has no circle of {wanted:.2f} mm for {circle[0]}"
    # Pages stand below each other, so that no row goes on from one to the next.
    texts = [
        (text, (x, y - number * page.size[1]))
        for number, page in enumerate(pages)
        for text, (x, y) in page.texts
    ]
    yield from _word_faults(texts, (), design, "")


def _page_faults(number: int, page: PdfPage, paper: str) -> Iterator[str]:
    """Yield what tells that a page is not printed at its size: its paper, and the bar on it."""
    wide, high = page.size
    sizes = [(sheet.width, sheet.height) for sheet in sheets(paper)]
    if all(max(abs(wide - w), abs(high - h)) > PRINTED for w, h in sizes):
        yield f"page {number} is {wide:.1f} x {high:.1f} mm, no sheet of {paper}"
    straight = [(s.width, np.ptp(s.corners, axis=0)) for s in page.strokes if len(s.corners) == 2]
    long = max(((width, float(np.hypot(*ends))) for width, ends in straight), default=(0, 0))[1]
    if abs(long - BAR) > PRINTED:
        yield f"the bar on page {number} is {long:.2f} mm long: it must be {BAR:g} mm"


def _bore_faults(drawn: Sequence[Circle], design: GearSet) -> Iterator[str]:
    for axis in design.axes:
        there = [c for c in drawn if np.hypot(c[0] - axis.at[0], c[1] - axis.at[1]) < OFF]
        if not any(abs(c[2] - axis.bore) < OFF for c in there):
            x, y = axis.at
            yield f"{axis.name} has no bore of {axis.bore:g} mm at ({x:.2f}, {y:.2f}) mm"


_TIE = 1e-9  # mm
_DIMENSION = re.compile(r"a \d|.* bore (dia )?\d|\(.* \d")
"""Distances, bores, and in brackets the circles of gears."""


def _word_faults(
    texts: Words, dimensions: Iterable[str], design: GearSet, sign: str
) -> Iterator[str]:
    """Yield numbers of the dimensions and of the tables that are not those of the design.

    `sign`: what stands before a diameter in such a file.
    """
    bores = {f"{a.name} bore {sign}{a.bore:.2f}" for a in design.axes}
    circles = {
        f"({f'{name} ' if len(a.circles) > 1 else ''}{what} {sign}{size:.2f})"
        for a in design.axes
        for name, *sizes in a.circles
        for what, size in zip(("pitch", "tip", "root"), sizes, strict=True)
    }
    apart = design.toleranced_distances
    written = [text for text, _ in texts if _DIMENSION.match(text)]
    said = set(map(plain_text, (*dimensions, *written)))
    wanted = set(map(plain_text, bores | circles))
    for (_, _, far), play in apart:  # half a hundredth is rounded either way
        either = {plain_text(f"a {far + off:.2f} ±{play:.2f}") for off in (-_TIE, _TIE)}
        wanted |= either & said or {min(either)}
    for text in sorted(said - wanted):
        yield f"a dimension says {text}, as none of the design does"
    for text in sorted(wanted - said):
        yield f"no dimension says {text}"
    lines: list[list[tuple[float, str]]] = []
    height = -np.inf
    for text, (x, y) in sorted(texts, key=lambda one: one[1][1]):
        if y > height + PRINTED:
            lines.append([])
        height = y
        lines[-1].append((x, plain_text(text)))
    rows = ["| " + " | ".join(word for _, word in sorted(line)) + " |" for line in lines]
    table = [f"{a.name} | {a.at[0]:.2f} | {a.at[1]:.2f} | {a.bore:.2f}" for a in design.axes]
    table += [f"{a} - {b} | {far:.2f} | ±{play:.2f}" for (a, b, far), play in apart]
    for words in map(plain_text, table):
        if not any(f"| {words} |" in row for row in rows):
            yield f"no table says {words.replace(' |', '')}"


def _crosses(page: PdfPage) -> dict[str, Floats]:
    """Where the numbered crosses of a page are, mm."""
    arms = [s.corners for s in page.strokes if len(s.corners) == 2]
    arms = [a for a in arms if abs(np.hypot(*(a[1] - a[0])) - CROSS) < PRINTED]
    middles = np.array([a.mean(axis=0) for a in arms]).reshape(-1, 2)
    found = {}
    for text, at in page.texts:
        near = np.hypot(*(middles + 1.0 - at).T) < PRINTED
        if text.isdigit() and near.sum() == 2:
            found[text] = middles[near].mean(axis=0)
    return found


def _laid_out(crosses: Sequence[Mapping[str, Floats]]) -> tuple[dict[int, Floats], list[str]]:
    """Where each page lies, mm, and what does not fit: same numbers are laid on each other."""
    some = [number for number, page in enumerate(crosses) if page]
    places = {some[0] if some else len(crosses) - 1: np.zeros(2)}
    faults = []
    reached = list(places)
    while reached:
        known = reached.pop()
        for other in some:
            shared = crosses[known].keys() & crosses[other].keys()
            if not shared or other == known:
                continue
            ways = np.array([crosses[known][n] - crosses[other][n] for n in sorted(shared)])
            at = places[known] + ways[0]
            if other not in places:
                places[other] = at
                reached.append(other)
            if max(np.ptp(ways, axis=0).max(), np.abs(places[other] - at).max()) > PRINTED:
                faults.append(f"crosses of pages {known + 1} and {other + 1} do not fit")
    faults += [f"page {n + 1} shares no cross with another" for n in some if n not in places]
    count = Counter(cross for page in crosses for cross in page)
    faults += [f"cross {cross} is on one page alone" for cross in count if count[cross] == 1]
    return places, faults


def _circles(page: PdfPage) -> Iterator[tuple[float, Circle]]:
    """Yield width of the line, and the circle, of all that is round, though the page cut it off.

    Its corners lie on x² + y² = 2 a x + 2 b y + c; those at the ends may stand where it is cut.
    """
    for stroke in page.strokes:
        points = stroke.corners[1:-1]
        if len(points) < 8:
            continue
        rows = np.column_stack([2 * points, np.ones(len(points))])
        x, y, c = np.linalg.lstsq(rows, (points**2).sum(axis=1), rcond=None)[0].tolist()
        radius = np.sqrt(max(c + x * x + y * y, 0.0))
        if np.abs(np.hypot(*(points - (x, y)).T) - radius).max() < OFF:
            yield stroke.width, (x, y, 2 * float(radius))


def _distinct(circles: Iterable[Circle]) -> list[Circle]:
    found: list[Circle] = []
    for one in circles:
        if all(np.abs(np.subtract(one, other)).max() > PRINTED for other in found):
            found.append(one)
    return found


def _shift(bores: Sequence[Circle], design: GearSet) -> Point:
    """How far the laid-out pages lie from the design, by which most bores meet their axes, mm."""
    every = [(x - a.at[0], y - a.at[1]) for x, y, _ in bores for a in design.axes]
    ends = np.array([a.at for a in design.axes])
    middles = np.array([bore[:2] for bore in bores])

    def met(shift: Point) -> int:
        off = (middles - shift)[:, None] - ends
        return int((np.hypot(off[..., 0], off[..., 1]) < OFF).any(axis=1).sum())

    return max(every, key=met, default=(0.0, 0.0))
