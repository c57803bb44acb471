"""Part: what goes on the router as one piece, its edge and everything cut into it, its mass."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, get_args

import numpy as np

from gearwork.errors import GearworkError, number, whole_number
from gearwork.geometry.outline import Circle, Outline, circle_of, depth_inside
from gearwork.numbers import M3, M5, Floats

Operation = Literal["inside edge", "pocket", "drilled hole", "mark"]
Point = tuple[float, float]
Vector = tuple[float, float, float]

_COARSE = 0.1
"""Chord error that does for finding room for marks, mm."""

_CELLS = 24
"""Places tried for a mark in each direction."""


@dataclass(frozen=True)
class Cut:
    """One closed path on a part beside its outer edge, as it shall be in the wood.

    Inside edge: cut through, the wood inside falls out. Pocket: all wood inside is removed down to
    `depth`. Drilled hole: a circle, through. Mark: drawn, never cut.
    """

    outline: Outline
    operation: Operation
    depth: float | None = None  # of a pocket from the upper face, mm; for pockets alone

    def __post_init__(self) -> None:
        if self.operation not in get_args(Operation):
            raise GearworkError(
                f"operation is {self.operation!r}: it must be one of"
                f" {', '.join(get_args(Operation))}"
            )
        if self.operation == "pocket":
            object.__setattr__(
                self, "depth", number("pocket depth", self.depth, unit="mm", above=0.0)
            )
        elif self.depth is not None:
            raise GearworkError(
                f"depth of the {self.operation} is {self.depth!r}: only a pocket has a depth,"
                " leave it out"
            )
        if self.operation == "drilled hole" and circle_of(self.outline) is None:
            raise GearworkError(
                "drilled hole is no circle: use Cut.drilled, or operation 'inside edge'"
            )

    @classmethod
    def drilled(cls, diameter: float, centre: Point = (0.0, 0.0)) -> "Cut":
        """Return a drilled through hole of `diameter` mm."""
        return cls(
            Outline.circle(number("hole diameter", diameter, above=0.0), centre), "drilled hole"
        )


@dataclass(frozen=True)
class Part:
    """One piece of sheet: its outer edge, the cuts in it, and what to write beside it."""

    name: str  # what the maker calls it; one line
    outer: Outline  # outside edge, cut through
    thickness: float  # of the sheet, mm
    cuts: tuple[Cut, ...] = ()  # everything else on this piece
    count: int = 1  # how many of it are needed
    grain: float | None = 0.0  # of the face, degrees from +x, counter-clockwise; None: any will do
    notes: tuple[str, ...] = ()  # lines of text beside it, e.g. the gear's data
    witness: Point | None = None  # where to mark it, mm, to stack layers at angles

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            raise GearworkError(f"part name is {self.name!r}: a text is needed")
        thickness = number(f"thickness of {self.name}", self.thickness, unit="mm", above=0.0)
        whole_number(f"count of {self.name}", self.count, at_least=1)
        if self.grain is not None:
            number(f"grain of {self.name}", self.grain, unit="degrees")
        for coordinate in self.witness or ():
            number(f"witness mark of {self.name}", coordinate, unit="mm")
        for cut in self.cuts:
            if cut.depth is not None and cut.depth >= thickness:
                raise GearworkError(
                    f"pocket in {self.name} is {cut.depth:g} mm deep: it must stay below the"
                    f" sheet's {thickness:g} mm; use operation 'inside edge' to cut through"
                )

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of the outer edge, mm."""
        return self.outer.bounds

    def moved(self, x: float, y: float) -> "Part":
        """Return the part moved by (x, y) mm."""
        return replace(
            self,
            outer=self.outer.moved(x, y),
            cuts=tuple(replace(cut, outline=cut.outline.moved(x, y)) for cut in self.cuts),
            witness=self.witness and (self.witness[0] + x, self.witness[1] + y),
        )

    def turned(self, angle: float) -> "Part":
        """Return the part turned about the origin by `angle` degrees, its grain with it."""
        c, s = float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle)))
        return replace(
            self,
            outer=self.outer.turned(angle),
            cuts=tuple(replace(cut, outline=cut.outline.turned(angle)) for cut in self.cuts),
            grain=None if self.grain is None else (self.grain + angle) % 360.0,
            witness=self.witness
            and (
                c * self.witness[0] - s * self.witness[1],
                s * self.witness[0] + c * self.witness[1],
            ),
        )

    def clear_circles(self, count: int) -> list[Circle]:
        """Return the roomiest places on the wood, for marks: centre and diameter, mm.

        The circles touch neither an edge nor each other; found on a grid, so a little smaller
        than the largest possible. Fewer than `count` where there is no more room.
        """
        grid, room = self._room  # made once: several kinds of file ask for the same places
        found: list[Circle] = []
        for _ in range(count):
            best = int(np.argmax(np.round(room, 2)))
            radius = float(room[best])
            if radius <= 0:
                break
            found.append(((float(grid[best, 0]), float(grid[best, 1])), 2 * radius))
            room = np.minimum(room, np.hypot(*(grid - grid[best]).T) - radius)
        return found

    @cached_property
    def _room(self) -> tuple[Floats, Floats]:
        """Places on a grid, and the distance from each to the nearest edge, mm."""
        left, low, right, high = self.bounds
        share = (np.arange(_CELLS) + 0.5) / _CELLS  # of the middles of the cells
        x, y = np.meshgrid(left + share * (right - left), high - share * (high - low))
        grid = np.column_stack([x.ravel(), y.ravel()])
        room = depth_inside(grid, self.outer, _COARSE)
        for cut in self.cuts:
            room = np.minimum(room, -depth_inside(grid, cut.outline, _COARSE))
        return grid, room


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True)
class Placed:
    """A part in space: its origin, mm, and which way its x and its y axis go; unit vectors."""

    part: Part
    origin: Vector
    across: Vector
    up: Vector
    under_foot: bool = False

    @cached_property
    def normal(self) -> Floats:
        """The way its upper face looks; the lower one is in the plane of the two axes."""
        return np.cross(self.across, self.up)

    def at(self, points: Floats, height: float = 0.0) -> Floats:
        """Return points of the part in space; `height`: above its lower face, in thicknesses."""
        lifted = np.array(self.origin) + height * self.part.thickness * self.normal
        return lifted + points[:, :1] * np.array(self.across) + points[:, 1:] * np.array(self.up)

    @property
    def corners(self) -> Floats:
        """Corners of the room it takes, shape (8, 3)."""
        left, low, right, top = self.part.bounds
        flat = np.array([(left, low), (right, low), (right, top), (left, top)])
        return np.vstack([self.at(flat), self.at(flat, 1.0)])

    def moved(self, x: float, y: float, z: float) -> "Placed":
        """Return it moved by so much, mm."""
        return replace(self, origin=tuple(np.add(self.origin, (x, y, z)).tolist()))


@dataclass(frozen=True)
class Heft:
    """Mass, kg, and moment of inertia about the origin's axis, kg·m²."""

    mass: float
    inertia: float

    def __add__(self, other: "Heft") -> "Heft":
        return Heft(self.mass + other.mass, self.inertia + other.inertia)

    def __sub__(self, other: "Heft") -> "Heft":
        return Heft(self.mass - other.mass, self.inertia - other.inertia)


def polar_moment(outline: Outline) -> float:
    """Return the polar second moment of the enclosed area about the origin, mm⁴.

    Negative for a clockwise outline, as its area is.
    """
    # Green's theorem: ∫ r² dA = ¼ ∮ r² (x dy − y dx). Along a line the integrand is a polynomial
    # of degree 2, along an arc a trigonometric one of degree 3 in its angle; 16 Gauss points a
    # piece give both to rounding, nearly straight arcs included.
    place, rate = outline.along(np.arange(len(outline))[:, None], (1 + _NODES) / 2)
    integrand = np.abs(place) ** 2 * (np.conj(place) * rate).imag
    return float((integrand @ _WEIGHTS).sum() / 8)


def heft(part: Part, density: float) -> Heft:
    """Return mass and inertia of one piece as cut, from the density of its sheet, kg/m³."""
    whole = prism(part.outer, part.thickness, density)
    return whole - taken_off(part.cuts, part.thickness, density)


def taken_off(cuts: Sequence[Cut], thickness: float, density: float) -> Heft:
    """Return mass and inertia that cuts save, e.g. those of the lightening windows.

    A through cut inside a pocket counts once. Thickness is that of the sheet, mm; density kg/m³.
    """
    thickness = number("thickness", thickness, unit="mm", above=0.0)
    total = Heft(0.0, 0.0)
    for cut in cuts:
        if cut.operation == "mark":
            continue
        height = cut.depth
        if height is None:
            height = thickness - sum(
                pocket.depth
                for pocket in cuts
                if pocket.depth and depth_inside(cut.outline.vertices, pocket.outline).min() > 0
            )
        total += prism(cut.outline, height, density)
    return total


def prism(outline: Outline, height: float, density: float) -> Heft:
    """Return mass and inertia of all that a path encloses, mm high, at a density in kg/m³."""
    density = number("density", density, unit="kg/m³", above=0.0)
    return Heft(
        abs(outline.area) * height * density * M3,
        abs(polar_moment(outline)) * height * density * M5,
    )
