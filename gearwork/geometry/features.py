"""What a gear carries beside its teeth, and the piece of sheet that is cut with all of it.

Bore, nut pocket, bolt circle, witness mark and windows; a gear, and a piece of a rack.

Points of the plane are complex numbers here: turning is a product.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Annotated

import numpy as np

from gearwork.errors import Bound, GearworkError, check_values, number, whole_number
from gearwork.geometry.outline import Outline, depth_inside, wood_between
from gearwork.geometry.part import Cut, Part, Point
from gearwork.geometry.rack import BarPiece
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Complexes, Floats

MIN_WALL = 2.0
"""Wood to leave between two cuts, mm: thinner walls of veneer break out (assumption)."""

RELIEF = 1.1
"""Corners are rounded this much wider than the bit, so that it moves along them and any offset
of the line by the bit's radius leaves an arc (common practice)."""


@dataclass(frozen=True)
class Bore:
    """The round hole in the middle; about it a sinking for a nut, if any."""

    diameter: float  # of the rod or bearing that goes in, mm
    allowance: float = 0.0  # added for the fit, mm; negative for a press fit
    sinking: tuple[float, float] | None = None  # diameter, depth from the upper face, mm
    wall = MIN_WALL

    def __post_init__(self) -> None:
        _fitted("bore", self.diameter, self.allowance)

    @property
    def hole_diameter(self) -> float:
        """Diameter to cut, mm."""
        return self.diameter + self.allowance

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return f"bore of {self.hole_diameter:g} mm"

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the hole, cut through with the bit so that it runs true with the teeth."""
        hole = Cut(routed_circle(self.label, self.hole_diameter, bit), "inside edge")
        if self.sinking is None:
            return (hole,)
        diameter, depth = self.sinking
        return Cut(routed_circle("sinking", diameter, bit), "pocket", depth), hole


@dataclass(frozen=True)
class NutPocket:
    """A hexagon that holds a nut, its corners relieved by the bit so that the nut enters."""

    across_flats: float  # of the nut, mm (ISO 4032)
    depth: float | None = None  # from the upper face, mm; None: through the layer
    allowance: float = 0.2  # added to the width for the fit, mm
    angle: float = 0.0  # of one corner, degrees
    wall = MIN_WALL

    def __post_init__(self) -> None:
        _fitted("nut pocket across flats", self.across_flats, self.allowance)
        number("angle of the nut pocket", self.angle, unit="degrees")
        if self.depth is not None:
            number("depth of the nut pocket", self.depth, unit="mm", above=0.0)

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return f"nut pocket of {self.across_flats + self.allowance:g} mm across flats"

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the hexagon; a circle a little wider than the bit runs through each corner.

        The whole sharp-cornered hexagon is free of wood, so that the nut enters whatever its
        corners look like; a third of each side at least stays straight and holds the nut
        (assumption).
        """
        side = (self.across_flats + self.allowance) / np.sqrt(3)
        relief = RELIEF * bit.cut_diameter / 2
        if relief > side / 3:
            raise GearworkError(
                f"{self.label} has sides of {side:.2f} mm: a bit that cuts {bit.cut_diameter:g} mm"
                f" rounds {2 * relief:.2f} mm of them away, at most {2 / 3 * side:.2f} mm may go or"
                f" the nut would turn; the largest bit is"
                f" {np.floor(20 / 3 * side / RELIEF) / 10:g} mm"
            )
        corner = np.exp(1j * (np.radians(self.angle) + np.pi / 3 * np.arange(6)))
        along = corner * np.exp(2j / 3 * np.pi)
        back = np.roll(along, 1)
        path = np.column_stack([side * corner - relief * back, side * corner + relief * along])
        # An arc of 120° and that radius runs through each corner: its bulge is tan(120° / 4).
        bulges = np.tile([np.tan(np.pi / 6), 0.0], 6)
        hexagon = Outline(path.ravel(), bulges)
        return (Cut(hexagon, "inside edge" if self.depth is None else "pocket", self.depth),)


@dataclass(frozen=True)
class BoltCircle:
    """Equal drilled holes on a circle about the centre, wood between them as `wall` asks."""

    count: int
    hole_diameter: float  # mm
    circle_diameter: float  # through their centres, mm
    angle: float = 0.0  # of the first hole, degrees

    def __post_init__(self) -> None:
        whole_number("count of bolt holes", self.count, at_least=2)
        number("bolt hole diameter", self.hole_diameter, unit="mm", above=0.0)
        number("bolt circle diameter", self.circle_diameter, unit="mm", above=0.0)
        number("angle of the bolt circle", self.angle, unit="degrees")
        sine = np.sin(np.pi / self.count)
        left = self.circle_diameter * sine - self.hole_diameter
        if left < self.wall:
            least = np.ceil(10 * (self.hole_diameter + self.wall) / sine) / 10
            raise GearworkError(
                f"{self.label} leaves {left:.2f} mm of wood between the holes: {self.wall:g} mm is"
                f" needed; take a circle of at least {least:g} mm or fewer holes"
            )

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return (
            f"bolt circle of {self.count} x {self.hole_diameter:g} mm"
            f" on {self.circle_diameter:g} mm"
        )

    @property
    def wall(self) -> float:
        """Wood to leave beside a hole, mm: one hole's width (common practice).

        Timber joints whose bolts work at full strength want twice that: three diameters from
        the centre (EN 1995-1-1 Table 8.4, from memory).
        """
        return max(MIN_WALL, self.hole_diameter)

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the holes, drilled."""
        angles = np.radians(self.angle) + 2 * np.pi / self.count * np.arange(self.count)
        x, y = self.circle_diameter / 2 * np.array([np.cos(angles), np.sin(angles)])
        return tuple(
            Cut.drilled(self.hole_diameter, place)
            for place in zip(x.tolist(), y.tolist(), strict=True)
        )


@dataclass(frozen=True)
class Witness:
    """A small round hole under tooth 0, on the tooth's centre line just inside the root circle.

    It tells tooth 0 once the text on the drawing is gone, so that the layers of a stack can be
    laid at their angles; drilled through, a pin holds them there while the glue sets.
    """

    depth: float | None = 1.0  # of a blind hole from the upper face, mm; None: through
    diameter: float = 4.0  # mm
    wall = MIN_WALL
    label = "witness mark"

    def __post_init__(self) -> None:
        number("diameter of the witness mark", self.diameter, unit="mm", above=0.0)
        if self.depth is not None:
            number("depth of the witness mark", self.depth, unit="mm", above=0.0)

    def place(self, root_diameter: float) -> Point:
        """Return its centre, mm."""
        return (root_diameter - self.diameter) / 2 - MIN_WALL, 0.0

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the hole."""
        return (self.cut_at(bit, self.place(root_diameter)),)

    def cut_at(self, bit: Cutter, centre: Point) -> Cut:
        """Return the hole about a centre, mm."""
        if self.depth is None:
            return Cut.drilled(self.diameter, centre)
        return Cut(routed_circle(self.label, self.diameter, bit, centre), "pocket", self.depth)


def routed_circle(label: str, diameter: float, bit: Cutter, centre: Point = (0.0, 0.0)) -> Outline:
    """Return a circle that the bit can cut from inside, mm."""
    if diameter < bit.cut_diameter:
        raise GearworkError(
            f"{label} is {diameter:g} mm wide: a bit that cuts {bit.cut_diameter:g} mm does not go"
            f" in; make it at least {bit.cut_diameter:g} mm, or take a narrower bit"
        )
    return Outline.circle(diameter, centre)


def _fitted(what: str, size: float, allowance: float) -> None:
    number(what, size, unit="mm", above=0.0)
    number(f"allowance of the {what}", allowance, unit="mm", above=-size)


@dataclass(frozen=True)
class Windows:
    """Equal lightening windows between hub and rim, spokes of even width between them.

    The first spoke points at tooth 0.

    Attributes
    ----------
    count : int
        How many, from 3.
    hub_diameter : float
        Wood left about the centre, mm; more where narrow windows end before it.
    rim_thickness : float
        Wood left between window and root circle, mm.
    spoke_width : float
        Wood left between two windows, mm.
    corner_diameter : float
        Of the arcs in the windows' corners, mm.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    >>> from gearwork import Bit
    >>> windows = Windows(
    ...     count=6, hub_diameter=60, rim_thickness=20, spoke_width=20, corner_diameter=12
    ... )
    >>> len(windows.cuts(Bit(3.0), root_diameter=177.5))
    6
    """

    count: Annotated[int, Bound(at_least=3)]
    hub_diameter: Annotated[float, Bound("mm", above=0.0)]
    rim_thickness: Annotated[float, Bound("mm", at_least=MIN_WALL)]
    spoke_width: Annotated[float, Bound("mm", at_least=MIN_WALL)]
    corner_diameter: Annotated[float, Bound("mm", above=0.0)]
    wall = MIN_WALL

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def label(self) -> str:
        """What it is, for error texts."""
        return f"{self.count} windows outside a hub of {self.hub_diameter:g} mm"

    def cuts(self, bit: Cutter, root_diameter: float) -> tuple[Cut, ...]:
        """Return the windows, cut through.

        Raises
        ------
        GearworkError
            If the bit does not go into their corners, or there is no room between hub and rim.
        """
        if self.corner_diameter < bit.cut_diameter:
            raise GearworkError(
                f"corner diameter of the windows is {self.corner_diameter:g} mm: a bit that cuts"
                f" {bit.cut_diameter:g} mm needs {bit.cut_diameter - self.corner_diameter:.2f} mm"
                f" more; make it at least {RELIEF * bit.cut_diameter:.2f} mm or take a bit of"
                f" at most {self.corner_diameter:g} mm"
            )
        points, bulges = self._window(root_diameter / 2 - self.rim_thickness)
        middles = np.exp(1j * np.pi / self.count * (2 * np.arange(self.count) + 1))
        return tuple(Cut(Outline(points * turn, bulges), "inside edge") for turn in middles)

    def _window(self, rim: float) -> tuple[Complexes, Floats]:
        """Vertices and bulges of the window about the x axis, counter-clockwise."""
        corner, hub = self.corner_diameter / 2, self.hub_diameter / 2
        spoke = np.exp(-1j * np.pi / self.count)
        aside = self.spoke_width / 2 + corner  # of a corner's centre from the spoke's middle
        outer = _corner_centre(spoke, aside, rim - corner)
        inner = _corner_centre(spoke, aside, hub + corner)
        if inner.imag >= -1e-6:  # the corners at the hub meet: one arc between the spokes
            inner = complex(aside / np.sin(np.pi / self.count))
        length = ((outer - inner) / spoke).real
        if outer.imag >= -1e-6 or length <= 1e-6:
            raise GearworkError(
                f"{self.label} have no room: {max(2 * (rim - hub), 0.0):.1f} mm in diameter lie"
                f" between hub and rim, spokes {self.spoke_width:g} mm wide and corners of"
                f" {self.corner_diameter:g} mm; take fewer windows, narrower spokes,"
                " smaller corners, a thinner rim or leave the windows out"
            )
        on_spoke = [centre - 1j * spoke * corner for centre in (inner, outer)]
        on_rim = outer * rim / abs(outer)
        side = [*on_spoke, on_rim]
        turn = np.angle(1j * on_rim / spoke)
        bulges = [0.0, turn / 4, -np.angle(on_rim) / 2]
        if inner.imag == 0:
            bulges += [turn / 4, 0.0, np.angle(-(spoke**2)) / 4]
            return np.array([*side, *np.conj(side[::-1])]), np.tan(bulges)
        on_hub = inner * hub / abs(inner)
        turn_in = np.angle(spoke / (-1j * on_hub))
        bulges = [turn_in / 4, *bulges, turn / 4, 0.0, turn_in / 4, np.angle(on_hub) / 2]
        side = [on_hub, *side]
        return np.array([*side, *np.conj(side[::-1])]), np.tan(bulges)


def _corner_centre(spoke: complex, aside: float, distance: float) -> complex:
    """Centre of a corner arc that far aside of the spoke and that far from the origin."""
    return spoke * (np.sqrt(max(distance**2 - aside**2, 0.0)) + 1j * aside)


Feature = Bore | NutPocket | BoltCircle | Witness | Windows
"""Something cut into a gear: `label` for error texts, `wall` of wood to leave beside it, mm, and
its `cuts` for a bit in a gear of some root diameter, mm."""


WITNESS = Witness()


def gear_part(
    name: str,
    outline: Outline,
    bit: Cutter,
    thickness: float,
    features: Sequence[Feature] = (),
    witness: Witness | None = WITNESS,
    count: int = 1,
    grain: float = 0.0,
    notes: tuple[str, ...] = (),
) -> Part:
    """Return a gear as one piece of sheet, everything cut into it.

    The outline's tooth 0 is centred on +x; thickness in mm; grain in degrees from tooth 0; without
    a witness there is no mark. Refused where a feature cannot be cut with the bit, or two of them,
    or one and the root circle, leave less wood between them than they need.
    """
    root = 2 * float(np.hypot(*outline.points().T).min())
    marks = () if witness is None else (witness,)
    cut = [(feature, feature.cuts(bit, root)) for feature in (*features, *marks)]
    for feature, cuts in cut:
        reach = max(np.hypot(*path.outline.points().T).max() for path in cuts)
        short = feature.wall - (root / 2 - reach)
        if short > 1e-6:
            left = "no" if reach >= root / 2 else f"{root / 2 - reach:.2f} mm of"
            less = f"bring it in by {short:.2f} mm, that is {2 * short:.2f} mm in diameter"
            if isinstance(feature, Bore | NutPocket):
                less = f"make it at least {2 * short:.2f} mm narrower"
            raise GearworkError(
                f"{feature.label} leaves {left} wood to the root circle of {root:.2f} mm:"
                f" {feature.wall:g} mm is needed; {less}, or take a larger gear"
            )
    for one, other in combinations(cut, 2):
        _check_wood(one, other)
    return Part(
        name,
        outline,
        thickness,
        tuple(path for _, cuts in cut for path in cuts),
        count,
        grain,
        notes,
        None if witness is None else witness.place(root),
    )


def bar_part(
    name: str,
    piece: BarPiece,
    outline: Outline,
    bit: Cutter,
    thickness: float,
    hole_diameter: float,
    witness: Witness | None = WITNESS,
    count: int = 1,
    grain: float = 0.0,
    notes: tuple[str, ...] = (),
) -> Part:
    """Return a piece of a rack with its row of screw holes and a mark under its first tooth.

    Thickness and holes in mm; grain in degrees from the reference line. Refused where the wood
    beside a hole is less than its width.
    """
    rack = piece.rack
    wood = (rack.back_depth - rack.root_depth - hole_diameter) / 2
    if wood < max(hole_diameter, MIN_WALL):
        raise GearworkError(
            f"screw holes of {hole_diameter:g} mm leave {max(wood, 0.0):.2f} mm of wood beside"
            f" them: {max(hole_diameter, MIN_WALL):g} mm is needed; make the rack higher or the"
            " holes smaller"
        )
    cuts = [Cut.drilled(hole_diameter, (x, -rack.hole_depth)) for x in piece.holes]
    mark = None
    if witness is not None:
        mark = (0.0, -rack.root_depth - MIN_WALL - witness.diameter / 2)
        cuts.append(witness.cut_at(bit, mark))
    return Part(name, outline, thickness, tuple(cuts), count, grain, notes, mark)


def _check_wood(one: tuple[Feature, Sequence[Cut]], other: tuple[Feature, Sequence[Cut]]) -> None:
    (first, first_cuts), (second, second_cuts) = one, other
    if {type(first), type(second)} == {Bore, NutPocket}:
        _check_nested(first_cuts[0], second_cuts[0])
        return
    wall = max(first.wall, second.wall)
    left = min(wood_between(a.outline, b.outline) for a in first_cuts for b in second_cuts)
    if left < wall - 0.01:
        raise GearworkError(
            f"{first.label} and {second.label} have {max(left, 0.0):.2f} mm of wood between them:"
            f" {wall:g} mm is needed; move them apart by {wall - left:.2f} mm, that is"
            f" {2 * (wall - left):.2f} mm in diameter, or leave one out"
        )


def _check_nested(one: Cut, other: Cut) -> None:
    """Refuse a bore that does not lie within its nut pocket, or is swallowed by it."""
    bore, pocket = (one, other) if len(one.outline) == 2 else (other, one)
    if pocket.depth is None:
        raise GearworkError(
            "nut pocket goes through the sheet and swallows the bore: leave the bore out or give"
            " the pocket a depth"
        )
    width = 2 * float(depth_inside((0.0, 0.0), pocket.outline)[0])
    hole = float(np.hypot(*bore.outline.chords[0]))
    if hole >= width:
        raise GearworkError(
            f"bore is {hole:g} mm: it must be below the nut pocket's {width:.2f} mm across flats"
        )
