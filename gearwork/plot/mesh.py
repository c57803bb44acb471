"""Gears as pictures: a pair in mesh, still and turning, and a train.

The pinion's centre is at (0, 0), the wheel's on +x, as in the check that rolls the outlines. The
pinion drives and turns counter-clockwise. Points of the plane are complex numbers inside.
"""

from dataclasses import dataclass
from itertools import count
from typing import get_args

import numpy as np

from gearwork.checks.tooth.mesh import CutPair, need_cut_pair
from gearwork.errors import need, number
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import as_pairs
from gearwork.geometry.pair import GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import Cutter, CutTooth
from gearwork.machine.stage import cut_pairs
from gearwork.machine.train import GearTrain
from gearwork.numbers import Complexes, Floats
from gearwork.output import html
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import train_view
from gearwork.output.marking import barbs
from gearwork.output.svg import digits, path_data, straight

ROOM = (560.0, 420.0)
"""Largest width and height of the plane of a picture, pixels of a page."""


@dataclass(frozen=True)
class Picture:
    """A picture as a notebook shows it; `svg`: the text of a file."""

    svg: str

    def _repr_svg_(self) -> str:
        return self.svg


@dataclass(frozen=True)
class _Contact:
    """The line of action of a pair, and where its gears stand.

    `pair`: the gears; `turn`: of the pinion, radians; at 0 its tooth 0 points at the wheel.
    """

    pair: GearPair
    turn: float

    @property
    def _alpha(self) -> float:
        return float(np.radians(self.pair.working_pressure_angle))

    def point(self, curvature: Floats) -> Complexes:
        """Points of the line of action by the pinion's radius of curvature there, mm."""
        along = np.exp(-1j * self._alpha)
        return np.asarray((self.pair.pinion.base_diameter / 2 + 1j * curvature) * along)

    @property
    def _curvature(self) -> float:
        """Radius of curvature at which tooth 0 of the pinion crosses the line of action, mm."""
        pinion = self.pair.pinion
        return pinion.base_diameter / 2 * (self.turn + pinion.half_angle_at_base + self._alpha)

    @property
    def first(self) -> float:
        """Radius of curvature at the first point at which flanks touch, mm."""
        start, _ = self.pair.contact_limits
        return float(start + (self._curvature - start) % self.pair.pinion.base_pitch)

    @property
    def now(self) -> Complexes:
        """Points at which flanks touch."""
        _, end = self.pair.contact_limits
        return self.point(np.arange(self.first, end + 1e-9, self.pair.pinion.base_pitch))

    def place(self, side: Side) -> tuple[float, complex]:
        """By how much pinion, wheel or rack is turned, radians, and where its own origin stands."""
        wheel, distance = self.pair.wheel, self.pair.centre_distance
        if side == "pinion":
            return self.turn, 0.0
        # The flank of the wheel's tooth 0 lies against that of the pinion.
        roll = (self.pair.line_of_action - self._curvature) / (wheel.base_diameter / 2)
        turn = float(np.pi - self._alpha - wheel.half_angle_at_base + roll)
        if not isinstance(wheel, Rack):
            return turn, distance
        # Tooth 0 by the circle that stands for the line; then a tooth near the bar's middle.
        up = (np.pi - turn) * wheel.datum_radius
        middle = up + wheel.length / 2 - wheel.pitch / 2
        return np.pi / 2, distance + 1j * (up - wheel.pitch * np.rint(middle / wheel.pitch))


def plot_mesh(cut: CutPair, zoom: bool = True, turn: float = 0.0) -> Picture:
    """Draw a pair as the bit leaves it, in contact on the driving flanks; a rack stands upright.

    Shows base and pitch circles, the line of action with the contact from its start A over the
    pitch point C to its end E, the points that touch in this position, and the bit standing in
    a root of either gear. Also draws pairs that interfere and roots the bit does not fit: where
    gears overlap, their colours add up.

    Parameters
    ----------
    cut : CutPair
        The gears and the bit.
    zoom : bool
        The teeth in mesh, or both gears whole.
    turn : float
        Of the driving pinion, degrees counter-clockwise; at 0 a tooth points at the wheel.

    Returns
    -------
    Picture
        Shows itself in a notebook; its `svg` is the text of a file.

    Raises
    ------
    GearworkError
        If it is no `CutPair`, or the turn no number.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> plot_mesh(CutPair(pair, Bit(3.0))).svg[:4]
    '<svg'
    """
    need_cut_pair("plot_mesh", cut)
    return _drawn(cut, zoom, float(np.radians(number("turn", turn, unit="degrees"))))


def animate_mesh(cut: CutPair, zoom: bool = True) -> Picture:
    """Return the picture of `plot_mesh` moving through one pitch, so that it runs on endlessly.

    Parameters
    ----------
    cut, zoom
        As for `plot_mesh`; the bit itself is left out.

    Returns
    -------
    Picture
        Shows itself in a notebook; its `svg` is the text of a file that moves in any browser.

    Raises
    ------
    GearworkError
        If it is no `CutPair`.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> animate_mesh(CutPair(pair, Bit(3.0))).svg.count("<animateTransform")
    2
    """
    need_cut_pair("animate_mesh", cut)
    return _drawn(cut, zoom, 0.0, moving=True)


def plot_train(train: GearTrain, bit: Cutter) -> Picture:
    """Return a train seen along its rods: all teeth as cut, and how the gears turn.

    What lies in front hides most of what lies behind it.

    Parameters
    ----------
    train : GearTrain
        The gears on their shafts.
    bit : Bit
        Its `cut_diameter` counts.

    Returns
    -------
    Picture
        Shows itself in a notebook; its `svg` is the text of a file.

    Raises
    ------
    GearworkError
        If it is no train, or the bit none.

    Examples
    --------
    >>> from gearwork import Bit, Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> pair = GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44))
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((Stage(pair, 24),), (parts, parts), Frame(plate_thickness=18, gap=12))
    >>> plot_train(train, Bit(3.0)).svg[:4]
    '<svg'
    """
    need("plot_train", train, GearTrain, "a train", "gw.load_design(path).train")
    teeth = ", ".join(f"{gear.gear.teeth:g}" for gear in train.gears)
    svg = train_view(train, cut_pairs(train.stages, bit), f"{teeth} teeth")
    return Picture(str(svg).replace("<svg", '<svg style="background:white;max-width:100%"', 1))


def _drawn(cut: CutPair, zoom: bool, turn: float, moving: bool = False) -> Picture:
    """The picture of a pair, its pinion turned by radians."""
    pair, contact = cut.pair, _Contact(cut.pair, turn)
    x, y, wide, high = _window(pair, zoom)
    unit = max(2 * wide / ROOM[0], 2 * high / ROOM[1])
    pitch_point = complex(pair.working_pitch_diameters[0] / 2)
    start, end = pair.contact_limits
    meets = end > start
    ends = contact.point(np.array([start, end]))
    farthest = pair.line_of_action
    if isinstance(pair.wheel, Rack):  # it ends nowhere
        farthest = end + 2 * pair.pinion.module
    contact_path = _path(ends) if meets else ""
    touching = contact_path if moving and meets else "".join(f"{_path(at)}h0" for at in contact.now)
    gears, bits = [], []
    heights = (y + 0.5 * high, y - 0.75 * high)
    for side, tooth, height in zip(get_args(Side), (cut.pinion, cut.wheel), heights, strict=True):
        angle, at = contact.place(side)
        outline = tooth_outline(tooth).turned(float(np.degrees(angle)))
        gears.append(path_data(outline.moved(at.real, at.imag)))
        roots = at + _roots(tooth) * np.exp(1j * angle)
        nearest = roots[np.argmin(np.abs(roots - pitch_point - 1j * height))]
        bits.append((nearest, _hatching(nearest, tooth.cut_diameter, unit)))
    letters = [("C", pitch_point), *(zip("AE", ends, strict=True) if meets else ())]
    names, arrows = _names(pair, zoom, unit)
    svg = page(
        "mesh.svg",
        cut=cut,
        frame=(x - wide, y - high, x + wide, y + high),
        u=unit,
        gears=gears,
        action=_path(contact.point(np.array([0.0, farthest]))),
        contact=contact_path,
        bits=bits if zoom and not moving else [],
        touching=touching,
        moving=moving,
        first=contact.first - start,
        letters=letters,
        zoom=zoom,
        names=names,
        arrows=arrows,
        x_ticks=_ticks(x, wide, high),
        y_ticks=_ticks(y, high, wide),
        colours=html,
        n=digits,
    )
    return Picture(str(svg))


def _path(points: Complexes | Floats) -> str:
    return straight(np.atleast_2d(as_pairs(points)))


def _roots(tooth: CutTooth[float]) -> Complexes:
    """Where the bit's centre stands on the bottoms of a gear's roots, at the loaded flank."""
    gear, low = tooth.gear, (tooth.root_diameter + tooth.cut_diameter) / 2
    spaces = np.arange(gear.teeth) + 0.5
    if isinstance(gear, Rack):
        along = spaces[:-1] * gear.pitch + tooth.centre_angle * gear.datum_radius
        return np.asarray(along + 1j * gear.above(2 * low))
    return np.asarray(low * np.exp(1j * (2 * np.pi / gear.teeth * spaces - tooth.centre_angle)))


def _hatching(at: complex, diameter: float, unit: float) -> str:
    """Lines within the bit."""
    across = np.arange(0.0, diameter, 4.0 * unit)[1:] - diameter / 2
    reach = np.sqrt(diameter**2 / 4 - across**2)
    lines = at + np.exp(0.25j * np.pi) * (np.array([-reach, reach]) + 1j * across)
    return "".join(map(_path, lines.T))


def _names(pair: GearPair, zoom: bool, unit: float) -> tuple[list[tuple[str, complex]], list[str]]:
    """Which gear is which, and arrows that show how they turn."""
    x, y, wide, high = _window(pair, zoom)
    names, arrows = [], []
    for name, gear, centre, way in (
        ("pinion", pair.pinion, 0.0, 1.0),
        (pair.called("wheel"), pair.wheel, pair.centre_distance, -1.0),
    ):
        if zoom or isinstance(gear, Rack):
            at = x - 0.82 * way * wide
            if isinstance(gear, Rack) and not zoom:
                at = centre + 0.5 * (gear.root_depth + gear.back_depth)
            arrow = as_pairs(at + 1j * (y + high * np.array([0.06, 0.34])))
            names.append((name, at + 1j * y))
        else:
            turn = np.radians(90.0 + way * np.linspace(-65.0, 65.0, 61))
            arrow = as_pairs(centre + gear.root_diameter / 4 * np.exp(1j * turn))
            names.append((name, centre - 0.04j * high))
        head = barbs(arrow[-1], arrow[-1] - arrow[-2], 10 * unit, 4 * unit)
        arrows += [straight(arrow), straight(head)]
    return names, arrows


def _ticks(middle: float, reach: float, other: float) -> Floats:
    """Round numbers along an axis, of the same steps along both."""
    steps = (digit * 10.0**power for power in count(-3) for digit in (1, 2, 5))
    step = next(step for step in steps if max(reach, other) < 6 * step)
    first, last = np.ceil((middle - reach) / step), np.floor((middle + reach) / step)
    return np.arange(first, last + 1.0) * step + 0.0  # no minus zero


def _window(pair: GearPair, zoom: bool) -> tuple[float, float, float, float]:
    """Middle and half width and height of the picture, mm."""
    pinion, wheel, distance = pair.pinion, pair.wheel, pair.centre_distance
    if not zoom:
        deep, tall = wheel.tip_diameter / 2, wheel.tip_diameter
        if isinstance(wheel, Rack):
            deep, tall = wheel.back_depth, wheel.length + wheel.pitch
        left, right = -pinion.tip_diameter / 2, distance + deep
        edge, high = 0.03 * (right - left), max(pinion.tip_diameter, tall) / 2
        return (left + right) / 2, 0.0, (right - left) / 2 + edge, high + edge
    ends = _Contact(pair, 0.0).point(np.array(pair.contact_limits))
    reach = max(3.2 * pinion.module, np.ptp(ends.imag) / 2 + 1.4 * pinion.module)
    middle = (pinion.tip_diameter / 2 + distance + wheel.datum_radius - wheel.tip_diameter / 2) / 2
    return middle, float(ends.imag.mean()), reach, reach
