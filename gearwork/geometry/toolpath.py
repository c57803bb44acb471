"""The path of the bit's centre, for those who cut without CAM: offset, lead-in, holding tabs.

Points of the plane are complex numbers inside: turning is a product.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.outline import Outline, as_complex, as_pairs, circle_of, depth_inside
from gearwork.geometry.part import Part
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Bools, Complexes, Floats

SMOOTH = 0.01
"""Changes of direction up to this are none, degrees: half a micrometre on a 6 mm bit."""

_VANISHED = 1e-6  # mm; what is shorter is rounding
_CHECKED = 0.01  # chord error in looking for wood near the path, mm
_SHARES = np.array([1 / 6, 1 / 2, 5 / 6])  # where on a piece tabs are tried
_TRIED = 20  # pieces on which an entry is tried, the longest first


@dataclass(frozen=True)
class Tabs:
    """Bridges that hold a piece in the sheet until it is cut free by hand."""

    count: int = 3  # on an outer edge
    width: float = 5.0  # of each on the wood, mm; lifted over this and the bit's diameter
    height: float = 3.0  # left above the underside of the sheet, mm

    def __post_init__(self) -> None:
        whole_number("count of tabs", self.count, at_least=1)
        number("tab width", self.width, unit="mm", above=0.0)
        number("tab height", self.height, unit="mm", above=0.0)


@dataclass(frozen=True, eq=False)
class Run:
    """An open stretch of lines and arcs that the bit's centre follows at one height."""

    vertices: Floats  # shape (n + 1, 2), mm
    bulges: Floats  # shape (n,), as in `Outline`
    height: float  # of the bit's end above the sheet's underside, mm: 0 cuts through

    @property
    def closed(self) -> Outline:
        """The run with its ends joined, by a straight line where they lie apart."""
        if np.hypot(*(self.vertices[0] - self.vertices[-1])) < _VANISHED:
            return Outline(self.vertices[:-1], self.bulges)
        return Outline(self.vertices, np.append(self.bulges, 0.0))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y, mm."""
        return self.closed.bounds

    def followed_by(self, other: "Run") -> "Run":
        """Return this run and one that begins where it ends as one."""
        vertices = np.vstack([self.vertices, other.vertices[1:]])
        return Run(vertices, np.append(self.bulges, other.bulges), self.height)


@dataclass(frozen=True)
class BitPath:
    """The way of the bit's centre along one edge."""

    runs: tuple[Run, ...]  # in order; the lead-in first, where there is room for one
    bit_diameter: float  # what the bit must cut for the edge to come out true, mm


def bit_paths(part: Part, bit: Cutter, tabs: Tabs | None = None) -> tuple[BitPath, ...]:
    """Return the paths of the bit's centre along all edges of a part that are cut through.

    The inside edges come first, the outer edge last. The bit always has the wood to its right:
    clockwise round the part, counter-clockwise in a window, which is climb cutting for a bit
    that turns clockwise (common practice on a machine; a router in the hand goes the other
    way). Each path is entered along a quarter circle through the waste. Pockets, drilled holes
    and marks have no such path.

    Tabs stand where a file reaches them: on the tips of teeth, on the outermost edges. Round holes
    get none, as they are fits; other inside edges at most one in the middle of each piece that is
    long enough.
    """
    try:
        if tabs is not None and tabs.height >= part.thickness:
            raise GearworkError(
                f"tab height is {tabs.height:g} mm: it must be below the sheet's"
                f" {part.thickness:g} mm"
            )
        inside = [
            _edge_path(cut.outline, bit, None if circle_of(cut.outline) else tabs, inside=True)
            for cut in part.cuts
            if cut.operation == "inside edge"
        ]
        return (*inside, _edge_path(part.outer, bit, tabs, inside=False))
    except GearworkError as error:
        raise GearworkError(f"path of the bit round {part.name}: {error}") from None


def grown(outline: Outline, distance: float) -> Outline:
    """Return the closed path `distance` mm outside of an outline, exact lines and arcs, as it runs.

    Negative for the path inside. Corners that point outward become arcs; an inward arc whose radius
    is the distance vanishes. Refused where no bit of that radius can follow.
    """
    distance = number("distance", distance, unit="mm")
    if distance == 0:
        return outline
    offset = distance * np.sign(outline.area)  # to the right of the way
    _check_corners(outline, offset)
    points, bulges = _offset_pieces(outline, offset)
    if len(points) < 2:
        raise GearworkError(
            f"nothing is left of {outline!r} within {abs(distance):g} mm of its edge: plunge or"
            " drill there, or take a smaller bit"
        )
    path = Outline(points, bulges)
    places = path.points(_CHECKED)
    apart = -np.sign(distance) * depth_inside(places, outline, _CHECKED)
    nearest = int(np.argmin(apart))
    if apart[nearest] < abs(distance) - 2 * _CHECKED:  # a neck or slot that is too narrow
        x, y = places[nearest]
        room = abs(distance) + apart[nearest]
        raise GearworkError(
            f"outline leaves {room:.2f} mm of room near ({x:.1f}, {y:.1f}) mm:"
            f" {2 * abs(distance):g} mm are needed; take a smaller bit"
        )
    return path


def _check_corners(outline: Outline, offset: float) -> None:
    inward = -outline.corner_angles() * np.sign(offset)
    worst = int(np.argmax(inward))
    if inward[worst] > SMOOTH:
        x, y = outline.vertices[worst]
        raise GearworkError(
            f"corner at ({x:.2f}, {y:.2f}) mm turns inward by {inward[worst]:.2f} degrees: no bit"
            " cuts a sharp one, round it"
        )
    hollow = outline.bulges * offset < 0
    tightest = outline.radii[hollow].min(initial=np.inf)
    if tightest < abs(offset) - _VANISHED:
        raise GearworkError(
            f"arc of {2 * tightest:.3f} mm diameter curves inward: a path {abs(offset):g} mm away"
            f" needs {2 * abs(offset):g} mm; widen it or take a smaller bit"
        )


def _offset_pieces(outline: Outline, offset: float) -> tuple[Complexes, Floats]:
    """Every piece moved to the right, and an arc round each outward corner after it."""
    each = np.arange(len(outline))
    (start, end), ways = outline.along(each, np.array([[0.0], [1.0]]))
    aside = -1j * offset * ways / np.abs(ways)
    corners = np.roll(outline.corner_angles(), -1)
    kept = outline.radii + np.sign(outline.bulges) * offset > _VANISHED
    rounded = np.abs(corners) > SMOOTH
    points = np.column_stack([start + aside[0], end + aside[1]])
    bulges = np.column_stack([outline.bulges, np.tan(np.radians(corners) / 4)])
    stays = np.column_stack([kept, rounded])
    return points[stays], bulges[stays]


def _edge_path(outline: Outline, bit: Cutter, tabs: Tabs | None, *, inside: bool) -> BitPath:
    radius = bit.cut_diameter / 2
    around = outline if (outline.area > 0) == inside else outline.reversed()
    gap = 0.0 if tabs is None else tabs.width + bit.cut_diameter
    path = grown(around, -radius if inside else radius)
    path, lead_in = _entered(path, outline, bit, inside, gap)
    breaks: Floats = np.empty(0)
    if tabs is not None:
        breaks = _tab_ends(path, tabs, gap, inside)
    return BitPath((*lead_in, *_runs(path, breaks, tabs)), bit.cut_diameter)


def _entered(
    path: Outline, outline: Outline, bit: Cutter, inside: bool, gap: float
) -> tuple[Outline, tuple[Run, ...]]:
    """The path begun in the middle of a piece, and the quarter circle that leads there.

    The longest piece with room for an arc of the bit's radius, else of a half or a quarter of
    it; where there is no room at all the bit is let down on the path. In a window rather one whose
    halves take a tab and its gap as well, or that takes none as it is.
    """
    free = np.flatnonzero(_free(path, inside, 0.0)[:, 1])
    lengths = path.lengths[free].round(6)
    costs_tab = inside & (lengths > gap) & (lengths <= 2.0 * gap)
    longest = free[np.lexsort((-lengths, costs_tab))]
    arc = np.exp(1j * np.linspace(-np.pi / 2, 0, 10)) - 1
    side = 1 if inside else -1
    for size in bit.cut_diameter / 2 * np.array([1.0, 0.5, 0.25]):
        for piece in longest[:_TRIED]:
            place, way = path.along(piece, 0.5)
            # A quarter circle through the waste that is tangent to the path where it ends.
            lead = place - 1j * size * way / np.abs(way) * arc
            depth = side * depth_inside(as_pairs(lead), outline)
            if depth.min() > bit.cut_diameter / 2 - 2 * _CHECKED:
                ends = lead[[0, -1]]
                run = Run(as_pairs(ends), np.array([np.tan(np.pi / 8)]), 0.0)
                return _begun(path, int(piece)), (run,)
    return _begun(path, int(longest[0])), ()


def _begun(path: Outline, piece: int) -> Outline:
    """The same path, its first vertex in the middle of a piece."""
    place, _ = path.along(piece, 0.5)
    vertices = np.roll(path.vertices, -piece - 1, axis=0)
    bulges = np.roll(path.bulges, -piece)
    half = np.tan(np.arctan(bulges[0]) / 2)
    return Outline(
        np.vstack([as_pairs(place), vertices]), np.concatenate([[half], bulges[1:], [half]])
    )


def _tab_ends(path: Outline, tabs: Tabs, gap: float, inside: bool) -> Floats:
    """Lengths along the path at which tabs begin and end in turn."""
    lengths = path.lengths
    spots = (np.cumsum(lengths) - lengths)[:, None] + lengths[:, None] * _SHARES
    spots = spots[_free(path, inside, gap)]
    count = min(tabs.count, len(spots)) if inside else tabs.count
    if count == 0:
        return np.empty(0)
    wanted = path.length * (np.arange(count) + 0.5) / count
    middles = spots[np.abs(spots - wanted[:, None]).argmin(axis=1)]
    if inside:
        middles = np.unique(middles)
    ends = np.column_stack([middles - gap / 2, middles + gap / 2]).ravel()
    # Tabs that meet each other or the entry cannot stand.
    if (np.diff([0.0, *ends, path.length]) <= 0).any():
        raise GearworkError(
            f"{count} tabs of {tabs.width:g} mm, each with a gap of {gap:g} mm in a path of"
            f" {path.length:.1f} mm, do not fit where they can be filed away; take fewer or"
            " narrower ones"
        )
    return ends


def _free(path: Outline, inside: bool, gap: float) -> Bools:
    """Which places on the pieces are good for tabs and the entry, shape (n, 3).

    Outside those where a straight file reaches: nothing of the path lies beyond the tangent; of
    an arc only the middle is taken; all middles where there is no such place. Inside the middles
    of pieces longer than the gap.
    """
    if inside:
        return (path.lengths > gap)[:, None] & (_SHARES[1] == _SHARES)
    place, way = path.along(np.arange(len(path))[:, None], _SHARES)
    outward = 1j * way / np.abs(way)
    corners = as_complex(path.points(0.1))
    beyond = (np.conj(outward)[..., None] * (corners - place[..., None])).real
    free = beyond.max(axis=2) < 1e-6
    free[:, [0, 2]] &= path.bulges[:, None] == 0
    return free if free.any() else np.broadcast_to(_SHARES[1] == _SHARES, free.shape)


def _runs(path: Outline, breaks: Floats, tabs: Tabs | None) -> list[Run]:
    """The path cut at the given lengths, every second stretch over a tab."""
    lengths = path.lengths
    starts = np.cumsum(lengths) - lengths
    ends = [0.0, *breaks, path.length]
    runs = []
    for index, (first, last) in enumerate(pairwise(ends)):
        pieces = np.flatnonzero(
            (starts < last - _VANISHED) & (starts + lengths > first + _VANISHED)
        )
        share = np.clip((np.array([[first], [last]]) - starts[pieces]) / lengths[pieces], 0, 1)
        points, _ = path.along(pieces, share)
        bulges = np.tan(np.arctan(path.bulges[pieces]) * (share[1] - share[0]))
        height = tabs.height if tabs is not None and index % 2 else 0.0
        runs.append(Run(as_pairs(np.append(points[0], points[1, -1])), bulges, height))
    return runs
