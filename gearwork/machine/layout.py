"""Parts placed on the user's sheets.

Two parts keep the gap where in one of 64 directions the one ends a gap before the other begins.
That is exact for the directions' polygons round the parts, which enclose a circle to 0.12 % of
its radius, and errs to the safe side for everything else. Each part goes to the lowest place
that is free, among the finitely many where it touches two others or an edge: discs come to lie
in the hollows of the row below, which saves much against their squares.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.part import Part
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Floats

_DIRECTIONS = 64
_SLACK = 1e-7

_UP = _DIRECTIONS // 4

_ANGLES = 360.0 / _DIRECTIONS * np.arange(_DIRECTIONS)
_NORMALS = np.column_stack([np.cos(np.radians(_ANGLES)), np.sin(np.radians(_ANGLES))])

Way = tuple[Part, Floats]


@dataclass(frozen=True)
class Stock:
    """A size of sheet that is at hand or can be bought.

    `width`, `height`: along x and y, mm; `thickness`: mm; parts go on sheets of their own
    thickness; `grain`: direction of the face grain, degrees from +x; `count`: how many there are;
    None: as many as needed; `sold_as`: nominal thickness, mm.
    """

    width: float
    height: float
    thickness: float
    grain: float = 0.0
    count: int | None = None
    sold_as: float | None = None

    def __post_init__(self) -> None:
        for name in ("width", "height", "thickness"):
            number(f"sheet {name}", getattr(self, name), unit="mm", above=0.0)
        number("grain of the sheet", self.grain, unit="degrees")
        if self.count is not None:
            whole_number("count of sheets", self.count, at_least=1)

    @property
    def label(self) -> str:
        """What it is, for texts."""
        sold = self.thickness if self.sold_as is None else self.sold_as
        really = f" ({self.thickness:g} mm thick)" if sold != self.thickness else ""
        return f"{self.width:g} × {self.height:g} × {sold:g} mm{really}"

    @property
    def grain_words(self) -> str:
        """Which way its face grain lies, for texts."""
        sides = {0.0: f"along x ({self.width:g} mm)", 90.0: f"along y ({self.height:g} mm)"}
        turned = self.grain % 180.0
        return f"face grain {sides.get(turned, f'{turned:g}° from x')}"


@dataclass(frozen=True)
class SheetLayout:
    """One sheet and the pieces that are cut from it.

    `stock`: the sheet, its lower left corner at (0, 0); `parts`: each where it lies, one piece
    each; `number`, `of`: which of how many sheets it is.
    """

    stock: Stock
    parts: tuple[Part, ...]
    number: int
    of: int

    @property
    def used_share(self) -> float:
        """Area of the pieces' outer edges over that of the sheet, the yield."""
        area = sum(abs(part.outer.area) for part in self.parts)
        return area / (self.stock.width * self.stock.height)

    @property
    def notes(self) -> tuple[str, ...]:
        """Lines to write into its file."""
        return (
            f"{self._name}, {self.stock.thickness:g} mm",
            f"{len(self.parts)} pieces use {self._share} % of it",
        )

    @property
    def caption(self) -> str:
        """What to say under its picture."""
        used = f"{self._share}\N{NO-BREAK SPACE}% used"
        return (
            f"{self._name}, {self.stock.label}: {len(self.parts)} pieces, {used};"
            f" {self.stock.grain_words}"
        )

    @property
    def _name(self) -> str:
        return f"sheet {self.number} of {self.of}"

    @property
    def _share(self) -> str:
        return f"{100 * self.used_share:.0f}"


def lay_out(
    parts: Sequence[Part],
    stock: Sequence[Stock],
    bit: Cutter,
    margin: float = 10.0,
    gap: float | None = None,
) -> tuple[SheetLayout, ...]:
    """Return the sheets from which all parts can be cut.

    Large parts go first, each on the first sheet that has room; the stock is opened in the
    order given. The same parts always come to lie at the same places: with their grain along that
    of the sheet, one way or the other, or at any right angle where it does not matter.

    Parameters
    ----------
    parts : sequence of Part
        Each as many times as its count says.
    stock : sequence of Stock
        Sheets to cut from.
    bit : Bit
        Its `cut_diameter` counts.
    margin : float
        Kept free along the sheet's edges for clamps, mm.
    gap : float, optional
        Between two pieces, mm, at least the bit's width; default twice that.

    Returns
    -------
    tuple of SheetLayout
        In the order they were begun.

    Raises
    ------
    GearworkError
        If the gap is narrower than the bit, no sheet has a part's thickness or size, or the stock
        is used up.
    """
    margin = number("clamping margin", margin, unit="mm", at_least=0.0)
    gap = number(
        "gap between pieces",
        2 * bit.cut_diameter if gap is None else gap,
        unit="mm",
        at_least=bit.cut_diameter,
    )
    sheets: list[_Sheet] = []
    for part in sorted(parts, key=lambda part: (-round(abs(part.outer.area), 3), part.name)):
        ways = {kind.grain: _ways(part, kind.grain) for kind in stock}
        for _ in range(part.count):
            begun = [sheet for sheet in sheets if _same_thickness(part, sheet.stock)]
            if not any(sheet.take(ways[sheet.stock.grain]) for sheet in begun):
                kind = _next_kind(part, ways, stock, [sheet.stock for sheet in sheets], margin)
                sheets.append(_Sheet(kind, margin, gap))
                sheets[-1].take(ways[kind.grain])
    return tuple(
        SheetLayout(sheet.stock, tuple(sheet.parts), place, len(sheets))
        for place, sheet in enumerate(sheets, start=1)
    )


class _Sheet:
    """A sheet while parts are put on it."""

    def __init__(self, stock: Stock, margin: float, gap: float) -> None:
        self.stock = stock
        self.parts: list[Part] = []
        self._extents: list[Floats] = []
        self._margin = margin
        self._gap = gap
        self._ways: Sequence[Way] = ()
        self._places: list[_Places] = []

    def take(self, ways: Sequence[Way]) -> bool:
        """Put the part down where it ends lowest, then leftmost; say whether there is room."""
        if ways is not self._ways:
            self._ways = ways
            self._places = [
                _Places(extent, self._gap, *_room(self.stock, self._margin, extent))
                for _, extent in ways
            ]
        found: list[tuple[float, float, int]] = []
        for index, places in enumerate(self._places):
            places.bar(self._extents)
            if places.any:
                x, y = places.lowest
                top = float(y + ways[index][1][_UP])
                found.append((round(top, 6), round(float(x), 6), index))
        if not found:
            return False
        best = min(found)[2]
        part, extent = ways[best]
        place = self._places[best].lowest
        self.parts.append(part.moved(*place.tolist()))
        self._extents.append(extent + _NORMALS @ place)
        return True


class _Places:
    """Where the origin of a part may lie on a sheet that already carries others.

    Each part on the sheet bars the places in a convex polygon. The free places worth a look are
    the corners of these polygons and of the room, and the points where their edges cross.

    `extent`: how far the part reaches from its origin in every direction, mm; `gap`: to keep to the
    others, mm.
    """

    def __init__(self, extent: Floats, gap: float, low: Floats, high: Floats) -> None:
        self._around = _facing(extent) + gap
        self._low, self._high = low, high
        frame = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
        self._free = frame if (low <= high + _SLACK).all() else frame[:0]
        self._polygons = [frame]
        self._barred: list[Floats] = []

    @property
    def any(self) -> bool:
        """Whether a place is left."""
        return len(self._free) > 0

    @property
    def lowest(self) -> Floats:
        """The lowest place, of several the leftmost."""
        x, y = np.round(self._free.T, 6)
        place: Floats = self._free[np.lexsort((x, y))[0]]
        return place

    def bar(self, extents: Sequence[Floats]) -> None:
        """Take note of the parts on the sheet, of which the first ones are known already."""
        for extent in extents[len(self._barred) :]:
            barred = extent + self._around
            polygon = _corners(barred)
            places = [polygon, *(_crossings(known, polygon) for known in self._polygons)]
            new = self._within(np.concatenate(places))
            for known in self._barred:
                new = _outside(new, known)
            self._free = np.concatenate([_outside(self._free, barred), new])
            self._polygons.append(polygon)
            self._barred.append(barred)

    def _within(self, places: Floats) -> Floats:
        inside = (places >= self._low - _SLACK) & (places <= self._high + _SLACK)
        return np.clip(places[inside.all(axis=1)], self._low, self._high)


def _outside(places: Floats, barred: Floats) -> Floats:
    """Those of the places that are not barred."""
    free = (places @ _NORMALS.T - barred).max(axis=1) >= -_SLACK
    kept: Floats = places[free]
    return kept


def _corners(barred: Floats) -> Floats:
    """Corners of the polygon that reaches so far in every direction, shape (64, 2)."""
    step = 2 * np.pi / _DIRECTIONS
    aside = (np.roll(barred, -1) - barred * np.cos(step)) / np.sin(step)
    across = np.column_stack([-_NORMALS[:, 1], _NORMALS[:, 0]])
    corners: Floats = barred[:, None] * _NORMALS + aside[:, None] * across
    return corners


def _crossings(one: Floats, other: Floats) -> Floats:
    """Points where edges of two polygons cross, shape (n, 2)."""
    if (one.max(axis=0) < other.min(axis=0)).any() or (other.max(axis=0) < one.min(axis=0)).any():
        return one[:0]
    # By columns, for arrays of x and y side by side take twice the time.
    (x, y), (dx, dy) = one.T[:, :, None], _sides(one).T[:, :, None]
    other_dx, other_dy = _sides(other).T
    way_x, way_y = other[:, 0] - x, other[:, 1] - y
    turn = dx * other_dy - dy * other_dx
    with np.errstate(divide="ignore", invalid="ignore"):
        here = (way_x * other_dy - way_y * other_dx) / turn
        there = (way_x * dy - way_y * dx) / turn
    meet = (here >= 0) & (here <= 1) & (there >= 0) & (there <= 1)
    row, _ = np.nonzero(meet)
    points: Floats = one[row] + here[meet][:, None] * _sides(one)[row]
    return points


def _sides(polygon: Floats) -> Floats:
    """From each corner of a polygon to the next."""
    sides: Floats = np.concatenate([polygon[1:], polygon[:1]]) - polygon
    return sides


def _ways(part: Part, grain: float) -> list[Way]:
    """The part at each angle at which it may lie, with how far it reaches in every direction.

    One angle where it reaches as far at others.
    """
    angles = [0.0, 90.0, 180.0, 270.0]
    if part.grain is not None:
        angles = [grain - part.grain, grain - part.grain + 180.0]
    pieces = [replace(part, count=1).turned(angle % 360.0) for angle in angles]
    found: list[Way] = []
    for piece in pieces:
        extent = piece.outer.reach(_ANGLES)
        if all(np.abs(extent - other).max() > _SLACK for _, other in found):
            found.append((piece, extent))
    return found


def _facing(extent: Floats) -> Floats:
    """Extent in the opposite directions."""
    facing: Floats = np.roll(extent, _DIRECTIONS // 2)
    return facing


def _room(stock: Stock, margin: float, extent: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of the part's origin; none where the one exceeds the other."""
    low = margin + _facing(extent)[[0, _UP]]
    high = np.array([stock.width, stock.height]) - margin - extent[[0, _UP]]
    return low, high


def _same_thickness(part: Part, stock: Stock) -> bool:
    return abs(part.thickness - stock.thickness) < 0.05


def _next_kind(
    part: Part,
    ways: dict[float, list[Way]],
    stock: Sequence[Stock],
    used: Sequence[Stock],
    margin: float,
) -> Stock:
    """The first sheet at hand on which the part has room, or an error that says what is wrong."""
    alike = [kind for kind in stock if _same_thickness(part, kind)]
    if not alike:
        raise GearworkError(
            f"{part.name} needs a sheet of {part.thickness:g} mm: there are"
            f" {', '.join(kind.label for kind in stock) or 'none'}; give one of that thickness"
        )
    fitting = [
        kind
        for kind in alike
        if any(
            (low <= high).all()
            for low, high in (_room(kind, margin, extent) for _, extent in ways[kind.grain])
        )
    ]
    if not fitting:
        raise GearworkError(_too_large(part, ways, alike, margin))
    for kind in fitting:
        if kind.count is None or sum(sheet is kind for sheet in used) < kind.count:
            return kind
    raise GearworkError(
        f"{part.name} finds no room: all sheets of {', '.join(kind.label for kind in fitting)} are"
        " used up; give more sheets, or take a narrower gap or margin"
    )


def _too_large(
    part: Part, ways: dict[float, list[Way]], alike: Sequence[Stock], margin: float
) -> str:
    kind = max(alike, key=lambda kind: kind.width * kind.height)
    _, extent = ways[kind.grain][0]
    width, height = (extent + _facing(extent))[[0, _UP]]
    lies = "" if part.grain is None else " as its grain must lie"
    return (
        f"{part.name} is {width:.1f} × {height:.1f} mm{lies}: the largest sheet,"
        f" {kind.label}, leaves {kind.width - 2 * margin:g} × {kind.height - 2 * margin:g} mm"
        f" within its margins of {margin:g} mm; take a larger sheet, a narrower margin, or a"
        " smaller module or fewer teeth"
    )
