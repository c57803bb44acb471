"""The test piece: two small pieces of the sheet that tell what bit and machine really cut.

One carries some teeth of the pinion and a slot cut in one pass of the bit, the other the
matching teeth of the wheel and a round hole. Both are bars of known width below the teeth. Caliper
readings of it, as a design file gives them, are `Readings`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np

from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import Bound, GearworkError, check_values, number
from gearwork.geometry.features import routed_circle
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.measuring import pin_circle, pin_for, teeth_to_span
from gearwork.geometry.outline import Outline, as_complex, as_pairs
from gearwork.geometry.pair import GearPair, Side
from gearwork.geometry.part import Cut, Part
from gearwork.geometry.tooth import Cutter, need_bit
from gearwork.numbers import Floats
from gearwork.stock.bit import BIT

Pins = tuple[float | None, float | None]

MAX_READINGS = 50

SIZE = Bound("mm", above=0.0)

MEASURED = (
    "slot", "hole", "bore", "pinion_bar", "pinion_span", "pinion_pin", "wheel_bar", "wheel_span",
    "wheel_pin",
)  # fmt: skip
OVER_PINS = ("pinion_pin", "wheel_pin")


@dataclass(frozen=True)
class Readings:
    """Caliper readings of a test piece, mm.

    Attributes
    ----------
    slot, hole, pinion_bar, pinion_span, pinion_pin, wheel_bar, wheel_span, wheel_pin : sequence
        One reading or several of each; `TestPiece.instructions` says how to take them. What was
        not measured is left out.
    bore : sequence
        The same of the smaller hole, which the test piece of a machine has: a gear's bore.
    pinion_pin_diameter, wheel_pin_diameter : float, optional
        Of the pin laid in the space, as measured. Default: its nominal size.
    caliper_error : float
        The caliper's largest error, mm, to either side; the default is usual for a digital
        one (ISO 13385-1, from memory).
    programmed_diameter : float, optional
        Bit diameter that the path of the test piece was made for, mm. Default: the nominal one.

    Raises
    ------
    GearworkError
        If a reading is no number above 0, or there is none at all.

    Examples
    --------
    >>> Readings(slot=[3.06, 3.04, 3.06], pinion_span=23.01).pinion_span
    (23.01,)
    """

    slot: Annotated[float | Sequence[float], SIZE] = ()
    hole: Annotated[float | Sequence[float], SIZE] = ()
    bore: Annotated[float | Sequence[float], SIZE] = ()
    pinion_bar: Annotated[float | Sequence[float], SIZE] = ()
    pinion_span: Annotated[float | Sequence[float], SIZE] = ()
    pinion_pin: Annotated[float | Sequence[float], SIZE] = ()
    wheel_bar: Annotated[float | Sequence[float], SIZE] = ()
    wheel_span: Annotated[float | Sequence[float], SIZE] = ()
    wheel_pin: Annotated[float | Sequence[float], SIZE] = ()
    pinion_pin_diameter: Annotated[float | None, SIZE] = None
    wheel_pin_diameter: Annotated[float | None, SIZE] = None
    caliper_error: Annotated[float, Bound("mm", above=0.0, at_most=0.5)] = 0.03
    programmed_diameter: Annotated[float | None, BIT] = None

    def __post_init__(self) -> None:
        for name in MEASURED:
            object.__setattr__(self, name, _several(reading_name(name), getattr(self, name)))
        check_values(self)
        if not self.taken:
            raise GearworkError("no reading is given: measure the test piece, the slot first")

    @property
    def taken(self) -> dict[str, tuple[float, ...]]:
        """The readings by name, without what was not measured."""
        return {name: getattr(self, name) for name in MEASURED if getattr(self, name)}

    @property
    def pins(self) -> Pins:
        """Diameters of the pins in the pinion's and the wheel's piece, mm, where measured."""
        return self.pinion_pin_diameter, self.wheel_pin_diameter


def _several(name: str, given: object) -> tuple[float, ...]:
    """One reading or several as a tuple of numbers."""
    several = list(given) if isinstance(given, list | tuple | np.ndarray) else [given]
    if len(several) > MAX_READINGS:
        raise GearworkError(
            f"{name} has {len(several)} readings: at most {MAX_READINGS} are taken, five will do"
        )
    return tuple(SIZE.number(name, reading) for reading in several)


def reading_name(name: str) -> str:
    """Return the name of a reading as the user knows it, e.g. "size over the pinion pin"."""
    what = name.replace("_", " ")
    return f"size over the {what}" if name in OVER_PINS else what


PIECES = ("pinion", "wheel")

MIN_BAR = 40.0
"""Width of a piece, mm: enough to hold, too little for an error of the machine's scale to
matter (assumption)."""

WALL = 6.0
"""Wood beside slot and hole, mm (assumption)."""

SLOT_GRIP = 15.0
"""Straight length of the slot for the inside jaws, mm (assumption)."""

SLOT_EASE = 0.02
"""The slot is drawn this much wider than the bit, mm: programs that find no room for the bit
in a slot of its own width leave it out. The bit goes up and back in what is still one pass."""

USUAL_HOLE = 22.0
"""Hole to cut unless told otherwise, mm: the outside of a 608 ball bearing (ISO 15), which can
be tried in it."""


@dataclass(frozen=True)
class Segment:
    """Some teeth of a gear on a bar; the gear's centre is the origin, its teeth point to +y.

    `gear`: whose teeth they are; `part`: to be cut; `teeth_spanned`: k; all its teeth; `span`: W_k
    over them as designed, mm; `pin_diameter`: of the pin to lay in the middle space, mm; `bar`:
    width of the bar, mm; `flat`: y of the flat edge opposite the teeth, mm.
    """

    gear: Gear
    part: Part
    teeth_spanned: int
    span: float
    pin_diameter: float
    bar: float
    flat: float

    def pin_height(self, outside: float, pin_diameter: float) -> tuple[float, float]:
        """Return the dimension from the flat edge over the pin, mm, and its rate of change.

        `outside`: how far every edge lies outside its line, mm; `pin_diameter`: D_M, mm; returns
        −flat + outside + d_M/2 + D_M/2 with d_M the circle of the pin's centre; not a number where
        the pin touches no flank; returns of the height with `outside`, 1 + 1/sin α_M (from inv α_M
        = ψ_b + D_M/d_b − π/z); half of it with the pin's diameter.
        """
        circle = pin_circle(self.gear.offset(outside), pin_diameter)
        height = (circle + pin_diameter) / 2 + outside - self.flat
        return height, 1 + 1 / float(np.sqrt(1 - (self.gear.base_diameter / circle) ** 2))


class Size(NamedTuple):
    """What one reading should be.

    `size`: mm; `rates`: how fast it changes with the bit's diameter and the offsets of outside and
    inside edges.
    """

    size: float
    rates: tuple[float, float, float]


@dataclass(frozen=True)
class TestPiece:
    """The test piece of a pair.

    `pair`: whose teeth are tried; `programmed_diameter`: what the path of the bit's centre is made
    for, mm; `slot_width`, `hole_diameter`: as drawn, mm; `pinion`, `wheel`: the two pieces; the
    slot is in the pinion's, the hole in the wheel's, with a gear's bore beside it where one is
    tried.
    """

    pair: GearPair
    programmed_diameter: float
    slot_width: float
    hole_diameter: float
    pinion: Segment
    wheel: Segment
    bore_diameter: float | None = None

    @property
    def parts(self) -> tuple[Part, Part]:
        """What to cut."""
        return self.pinion.part, self.wheel.part

    def sizes(
        self,
        bit_diameter: float | None = None,
        outside: float = 0.0,
        inside: float = 0.0,
        pins: Pins = (None, None),
    ) -> dict[str, Size]:
        """Return what calipers find on the test piece, by name of the reading.

        `bit_diameter`: what the bit really cuts, mm; default: what the path is made for; `outside`,
        `inside`: wood left standing beyond the line on outside and inside edges, mm; negative where
        too much was taken; `pins`: diameter of the pins in the pinion's and the wheel's piece, mm;
        None: as chosen.
        """
        bit = self.programmed_diameter if bit_diameter is None else bit_diameter
        found = {
            "slot": Size(self.slot_width - self.programmed_diameter + bit, (1.0, 0.0, 0.0)),
            "hole": Size(self.hole_diameter - 2 * inside, (0.0, 0.0, -2.0)),
        }
        if self.bore_diameter is not None:
            found["bore"] = Size(self.bore_diameter - 2 * inside, (0.0, 0.0, -2.0))
        for name, piece, pin in self._laid(pins):
            height, rate = piece.pin_height(outside, pin)
            found[f"{name}_bar"] = Size(piece.bar + 2 * outside, (0.0, 2.0, 0.0))
            found[f"{name}_span"] = Size(piece.span + 2 * outside, (0.0, 2.0, 0.0))
            found[f"{name}_pin"] = Size(height, (0.0, rate, 0.0))
        return found

    def _laid(self, pins: Pins) -> Iterator[tuple[str, Segment, float]]:
        for name, piece, pin in zip(PIECES, (self.pinion, self.wheel), pins, strict=True):
            yield name, piece, piece.pin_diameter if pin is None else pin

    @property
    def instructions(self) -> dict[str, str]:
        """How to take each reading, by its name."""
        told = {
            "slot": "width of the slot, inside jaws; a slot too narrow for them: the thickest"
            " drill shank that enters",
            "hole": "diameter of the hole, inside jaws, along and across the grain",
        }
        if self.bore_diameter is not None:
            told["hole"] = (
                "diameter of the larger hole, a bearing's seat: inside jaws, along and across the"
                " grain; the bearing goes in by hand"
            )
            told["bore"] = (
                "diameter of the smaller hole, a gear's bore, in the same way; the rod goes through"
                " by hand and does not rattle"
            )
        for name, piece, pin in self._laid((None, None)):
            told[f"{name}_bar"] = f"width of the {name}'s piece below its teeth, outside jaws"
            told[f"{name}_span"] = (
                f"over all {piece.teeth_spanned} teeth of the {name}'s piece, jaws square on the"
                " two outermost flanks"
            )
            told[f"{name}_pin"] = (
                f"from the flat edge of the {name}'s piece over the shank of a"
                f" {pin:g} mm drill in the middle space; measure the shank too"
            )
        return told


def make_test_piece(
    pair: GearPair,
    bit: Cutter,
    thickness: float,
    hole_diameter: float = USUAL_HOLE,
    bore_diameter: float | None = None,
) -> TestPiece:
    """Return the test piece to cut before the gears of a pair.

    Parameters
    ----------
    pair : GearPair
        Its gears are those to be cut.
    bit : Bit
        Its `cut_diameter` is what the path of its centre must be made for.
    thickness : float
        Of the sheet, mm.
    hole_diameter : float
        Of the hole, mm; best that of a bearing seat, to try the bearing in.
    bore_diameter : float, optional
        Of a second hole, mm: the bore of a gear, to try the rod in.

    Returns
    -------
    TestPiece
        Its `parts` are what to cut, its `instructions` how to measure them.

    Raises
    ------
    GearworkError
        If the bit does not fit the teeth or the hole, or a value cannot be.

    Examples
    --------
    >>> from gearwork import Bit, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=20), Gear(module=5, teeth=38))
    >>> test_piece = make_test_piece(pair, Bit(3.0), 9.0)
    >>> round(test_piece.sizes()["pinion_span"].size, 2)
    23.54
    """
    need_bit("make_test_piece", bit)
    told = float(bit.cut_diameter)
    hole_diameter = number("hole of the test piece", hole_diameter, unit="mm", above=0.0)
    ring = routed_circle("hole of the test piece", hole_diameter, bit)
    holes = [ring]
    if bore_diameter is not None:
        holes.append(routed_circle("bore of the test piece", bore_diameter, bit))
    slot = _slot(told + SLOT_EASE)
    cut = CutPair(pair, bit)
    return TestPiece(
        pair=pair,
        programmed_diameter=told,
        slot_width=told + SLOT_EASE,
        hole_diameter=hole_diameter,
        pinion=_segment("pinion", cut, thickness, slot),
        wheel=_segment("wheel", cut, thickness, *holes),
        bore_diameter=bore_diameter,
    )


def _slot(width: float) -> Outline:
    """Two straights and two half circles along x, centred."""
    x, y = SLOT_GRIP / 2, width / 2
    return Outline([(-x, -y), (x, -y), (x, y), (-x, y)], [0, 1, 0, 1])


def _segment(side: Side, pair: CutPair, thickness: float, *openings: Outline) -> Segment:
    cut = pair.running(side)
    gear = pair.pair.pinion if side == "pinion" else pair.pair.wheel
    spanned, pin = teeth_to_span(cut, even=True), pin_for(cut)
    if spanned is None or pin is None:
        raise GearworkError(
            f"{side} of module {gear.module:g} mm: caliper jaws and pins find too little flank on"
            " its teeth; take a smaller bit or a larger module"
        )
    span = gear.span(spanned)
    edge = tooth_outline(cut)
    points, bulges = some_teeth(edge, int(gear.teeth), spanned)
    sizes = [(right - left, high - low) for left, low, right, high in (o.bounds for o in openings)]
    bar = float(np.ceil(max(MIN_BAR, *(w + 2 * WALL for w, _ in sizes), 2 * points[0, 0] + 2)))
    shoulder = _shoulder(points[0], bar)
    flat = float(np.floor(shoulder - WALL - sum(high + WALL for _, high in sizes)))
    half = bar / 2
    corners = [(-half, shoulder), (-half, flat), (half, flat), (half, shoulder)]
    outer = Outline(np.vstack([points, corners]), np.append(bulges, np.zeros(5)))
    cuts, y = [], flat + WALL
    for opening, (_, high) in zip(openings, sizes, strict=True):
        cuts.append(Cut(opening.moved(0.0, y + high / 2), "inside edge"))
        y += high + WALL
    holes = " and ".join(f"{wide:g} mm" for wide, _ in sizes)
    part = Part(
        f"test piece {side}",
        outer,
        thickness,
        tuple(cuts),
        notes=(
            f"make the path for a bit of {cut.cut_diameter:g} mm, then measure:",
            f"bar {bar:g} mm, over the {spanned} teeth {span:.2f} mm",
            "slot: one pass up and back"
            if side == "pinion"
            else f"hole{'s' * (len(sizes) > 1)} {holes}",
        ),
    )
    return Segment(gear, part, spanned, span, pin, bar, flat)


def some_teeth(edge: Outline, teeth: int, count: int) -> tuple[Floats, Floats]:
    """Vertices and bulges over `count` teeth about +y, from mid-root to mid-root.

    The piece across the middle of a space is the one nearest to the centre; it starts and ends
    the path with half of it.
    """
    pieces = len(edge) // teeth
    middles, _ = edge.along(np.arange(len(edge)), 0.5)
    space = np.exp(-1j * np.pi / teeth)
    first = int(np.argmin(np.abs(middles - np.abs(middles).min() * space)))
    inner = (first + 1 + np.arange(count * pieces)) % len(edge)
    last = inner[-1]
    path = as_complex(edge.vertices[inner])
    path = np.concatenate([middles[[first]], path, middles[[last]]])
    half = np.tan(np.arctan(edge.bulges[first]) / 2)
    bulges = np.concatenate([[half], edge.bulges[inner[:-1]], [half]])
    path = path * 1j * np.exp(-1j * np.pi * (count - 1) / teeth)
    return as_pairs(path), bulges


def _shoulder(end: Floats, bar: float) -> float:
    """Return y at which the tangent of the root circle at `end` reaches the side of the bar."""
    x, y = end
    return float(y - (bar / 2 - x) * x / y)
