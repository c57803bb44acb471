"""The meshing pair as a picture, still and moving.

The pinion's centre is at (0, 0), the wheel's on +x, as in the check that rolls the outlines. The
pinion drives and turns counter-clockwise. Points of the plane are complex numbers inside.
"""

import base64
import io
from dataclasses import dataclass
from typing import Any, get_args

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from PIL import Image

from gearwork.checks.tooth.mesh import CutPair, need_cut_pair
from gearwork.errors import number, whole_number
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import as_complex, as_pairs
from gearwork.geometry.pair import GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import CutTooth
from gearwork.numbers import Complexes, Floats
from gearwork.plot import style

FACES = (style.PALE_WARM, style.PALE_COOL)
SAMPLING = 4e-4
"""Distance of drawn chords from the toothed edge, share of the module; tenfold for whole gears."""


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
    def now(self) -> Complexes:
        """Points at which flanks touch."""
        start, end = self.pair.contact_limits
        pitch = self.pair.pinion.base_pitch
        first = start + (self._curvature - start) % pitch
        return self.point(np.arange(first, end + 1e-9, pitch))

    @property
    def wheel_turn(self) -> float:
        """Of the wheel's tooth 0 from +x, radians: its flank lies against the pinion's."""
        wheel = self.pair.wheel
        left = self.pair.line_of_action - self._curvature
        roll = left / (wheel.base_diameter / 2)
        return float(np.pi - self._alpha - wheel.half_angle_at_base + roll)

    def placed(self, side: Side, points: Any) -> Any:
        """Points of pinion, wheel or rack, each about its own centre, where they stand now."""
        if side == "pinion":
            return points * np.exp(1j * self.turn)
        wheel, distance = self.pair.wheel, self.pair.centre_distance
        if not isinstance(wheel, Rack):
            return distance + points * np.exp(1j * self.wheel_turn)
        # Tooth 0 by the circle that stands for the line; then a tooth near the bar's middle.
        up = (np.pi - self.wheel_turn) * wheel.datum_radius
        middle = up + wheel.length / 2 - wheel.pitch / 2
        return distance + 1j * (points + up - wheel.pitch * np.rint(middle / wheel.pitch))


def plot_mesh(cut: CutPair, ax: Axes | None = None, zoom: bool = True, turn: float = 0.0) -> Axes:
    """Draw a pair as the bit leaves it, in contact on the driving flanks; a rack stands upright.

    Shows base and pitch circles, the line of action with the contact from its start A over the
    pitch point C to its end E, the points that touch in this position, and the bit standing in
    a root of either gear. Also draws pairs that interfere and roots the bit does not fit: where
    gears overlap, their colours add up.

    Parameters
    ----------
    cut : CutPair
        The gears and the bit.
    ax : Axes, optional
        Where to draw; the key needs room at the right. Default: axes of a new figure.
    zoom : bool
        The teeth in mesh, or both gears whole.
    turn : float
        Of the driving pinion, degrees counter-clockwise; at 0 a tooth points at the wheel.

    Returns
    -------
    Axes
        In mm from the pinion's centre.

    Raises
    ------
    GearworkError
        If it is no `CutPair`, or the turn no number.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> plot_mesh(CutPair(pair, Bit(3.0))).get_xlabel()
    "x from the pinion's centre, mm"
    """
    need_cut_pair("plot_mesh", cut)
    angle = np.radians(number("turn", turn, unit="degrees"))
    scene = _scene(style.plain_axes(ax, _size(cut.pair, zoom), equal=True), cut, zoom)
    contact = scene.turn_to(float(angle))
    handles, _ = scene.ax.get_legend_handles_labels()
    if zoom:
        handles.append(_draw_bits(scene.ax, cut, contact))
    style.key(scene.ax, handles)
    return scene.ax


@dataclass(frozen=True)
class MovingPicture:
    """A picture that moves, as a notebook or a page shows it.

    `gif`: the file; it runs round and round.
    """

    gif: bytes

    def _repr_html_(self) -> str:
        data = base64.b64encode(self.gif).decode("ascii")
        return f'<img alt="gears turning through one pitch" src="data:image/gif;base64,{data}"/>'


def animate_mesh(cut: CutPair, zoom: bool = True, frames: int = 24) -> MovingPicture:
    """Return the picture of `plot_mesh` moving through one pitch, so that it runs on endlessly.

    Parameters
    ----------
    cut, zoom
        As for `plot_mesh`; the bit itself is left out.
    frames : int
        How many pictures a pitch, 4 to 120.

    Returns
    -------
    MovingPicture
        Shows itself in a notebook; its `gif` are the bytes of a file.

    Raises
    ------
    GearworkError
        If it is no `CutPair`, or there are fewer than 4 frames or more than 120.

    Examples
    --------
    >>> from gearwork import Bit, CutPair, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> animate_mesh(CutPair(pair, Bit(3.0)), frames=4).gif[:4]
    b'GIF8'
    """
    need_cut_pair("animate_mesh", cut)
    count = whole_number("frames", frames, at_least=4, at_most=120)
    size = _size(cut.pair, zoom)
    figure = Figure(figsize=size, dpi=80.0, layout="constrained")
    canvas = FigureCanvasAgg(figure)
    ax = style.plain_axes(figure.add_subplot(), size, equal=True)
    scene = _scene(ax, cut, zoom)
    style.key(ax)
    moving: list[Artist] = [*ax.patches, *ax.lines, *ax.texts]
    moving.sort(key=lambda artist: artist.get_zorder())
    for artist in moving:
        artist.set_animated(True)
    canvas.draw()  # type: ignore[no-untyped-call]
    still = canvas.copy_from_bbox(figure.bbox)  # type: ignore[no-untyped-call]
    images = []
    for step in range(count):
        scene.turn_to(2 * np.pi / cut.pair.pinion.teeth * step / count)
        canvas.restore_region(still)  # type: ignore[no-untyped-call]
        for artist in moving:
            ax.draw_artist(artist)
        pixels = np.array(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
        images.append(Image.fromarray(pixels[..., :3]))
    stream = io.BytesIO()
    images[0].save(
        stream, format="GIF", save_all=True, append_images=images[1:], duration=80, loop=0
    )
    return MovingPicture(stream.getvalue())


@dataclass(frozen=True)
class _Scene:
    """What is drawn of a pair; gears and points of contact can be moved.

    `shapes`: toothed edges of pinion and wheel about their own centres; `gears`, `touching`: what
    moves: face and edge of pinion and wheel, and the points of contact.
    """

    ax: Axes
    pair: GearPair
    shapes: tuple[Complexes, ...]
    gears: tuple[tuple[Polygon, Polygon], ...]
    touching: Line2D

    def turn_to(self, angle: float) -> _Contact:
        """Turn the pinion to an angle, radians, and the wheel with it."""
        contact = _Contact(self.pair, angle)
        for side, gear, shape in zip(get_args(Side), self.gears, self.shapes, strict=True):
            for polygon in gear:
                polygon.set_xy(as_pairs(contact.placed(side, shape)))
        self.touching.set_data(*as_pairs(contact.now).T)
        return contact


def _scene(ax: Axes, cut: CutPair, zoom: bool) -> _Scene:
    pair = cut.pair
    shapes = []
    for tooth in (cut.pinion, cut.wheel):
        fine = (1 if zoom else 10) * SAMPLING * pair.pinion.module
        shapes.append(as_complex(tooth_outline(tooth).points(fine)))
    width = style.LINE if zoom else style.THIN
    gears = [
        (
            style.fill(ax, as_pairs(shape), facecolor=to_rgba(face, 0.8), linewidth=0.0, zorder=1),
            style.fill(ax, as_pairs(shape), linewidth=width, zorder=1.5),
        )
        for shape, face in zip(shapes, FACES, strict=True)
    ]
    _draw_circles(ax, pair)
    _draw_line_of_action(ax, pair, zoom)
    (touching,) = ax.plot([], [], "o", **style.dot(style.WARM, 8.0, label="touching now", zorder=7))
    _name_gears(ax, pair, zoom)
    _frame(ax, cut, zoom)
    return _Scene(ax, pair, tuple(shapes), tuple(gears), touching)


def _draw_circles(ax: Axes, pair: GearPair) -> None:
    angle = np.linspace(0.0, 2 * np.pi, 721)
    around = np.exp(1j * angle)
    gears = (pair.pinion, pair.wheel)
    for x, gear, pitch in zip(
        (0.0, pair.centre_distance), gears, pair.working_pitch_diameters, strict=True
    ):
        first = x == 0.0
        if isinstance(gear, Rack):
            ends = np.array([-0.5j, 0.5j]) * gear.length + pair.working_pitch_diameters[0] / 2
            line = style.line(style.INK, style.CHAIN, style.THIN, label="_", zorder=2)
            ax.plot(*as_pairs(ends).T, **line)
            continue
        looks = (
            (pitch, "pitch circles", style.INK, style.CHAIN, style.THIN),
            (gear.base_diameter, "base circles", style.COOL, style.DOTTED, 1.3),
        )
        for diameter, name, colour, dashes, width in looks:
            look = style.line(colour, dashes, width, label=name if first else "_", zorder=2)
            ax.plot(*as_pairs(x + diameter / 2 * around).T, **look)


def _draw_line_of_action(ax: Axes, pair: GearPair, zoom: bool) -> None:
    contact = _Contact(pair, 0.0)
    farthest = pair.line_of_action
    if isinstance(pair.wheel, Rack):  # it ends nowhere
        farthest = pair.contact_limits[1] + 2 * pair.pinion.module
    line = as_pairs(contact.point(np.array([0.0, farthest]))).T
    thin = style.line(style.WARM, style.DASHED, style.THIN, label="line of action", zorder=3)
    ax.plot(*line, **thin)
    start, end = pair.contact_limits
    if end > start:
        ends = as_pairs(contact.point(np.array([start, end])))
        bold = style.line(style.WARM, width=style.BOLD, solid_capstyle="butt", zorder=4)
        ax.plot(*ends.T, label="contact, from A to E", **bold)
        if zoom:
            _letter(ax, "A", ends[0])
            _letter(ax, "E", ends[1])
    pitch_point = np.array([pair.working_pitch_diameters[0] / 2, 0.0])
    ax.plot(*pitch_point[:, None], "x", color=style.INK, ms=7, zorder=6, label="pitch point C")
    if zoom:
        _letter(ax, "C", pitch_point)


def _letter(ax: Axes, letter: str, at: Floats) -> None:
    look: style.Look = {"fontsize": style.TITLE, "fontweight": "bold", "va": "center"}
    style.note(ax, letter, (at[0], at[1]), xytext=(9, 0), textcoords="offset points", **look)


def _draw_bits(ax: Axes, cut: CutPair, contact: _Contact) -> Patch:
    """Draw the bit in a root of either gear, and return what stands for it in the key."""
    look: style.Look = {"edgecolor": style.COOL, "hatch": style.HATCH, "linewidth": style.LINE}
    _, middle, _, high = _window(cut.pair, zoom=True)
    distance = cut.pair.centre_distance
    for tooth, x, turn, height in (
        (cut.pinion, 0.0, contact.turn, 0.5),
        (cut.wheel, distance, contact.wheel_turn, -0.75),
    ):
        if isinstance(tooth.gear, Rack):
            at = _bit_in_bar(tooth, tooth.gear, contact, middle + height * high)
        else:
            at = x + _bit_in_root(tooth, turn, distance / 2 - x, middle + height * high)
        style.circle(ax, (at.real, at.imag), tooth.cut_diameter, **look, zorder=5)
    name = f"bit that cuts {cut.pinion.cut_diameter:g} mm"
    return Patch(facecolor="none", edgecolor=style.COOL, hatch=style.HATCH, label=name)


def _bit_in_root(tooth: CutTooth[float], turn: float, side: float, height: float) -> complex:
    """Where the bit stands on the bottom of a root near a height, at the loaded flank's fillet."""
    facing = np.arcsin(np.clip(2 * height / tooth.root_diameter, -1.0, 1.0))
    wanted = facing if side > 0 else np.pi - facing
    pitch = 2 * np.pi / tooth.gear.teeth
    space = np.round((wanted - turn) / pitch - 0.5) + 0.5
    angle = turn + pitch * space - tooth.centre_angle
    return complex((tooth.root_diameter + tooth.cut_diameter) / 2 * np.exp(1j * angle))


def _bit_in_bar(tooth: CutTooth[float], rack: Rack, contact: _Contact, height: float) -> complex:
    """Where the bit stands on the bottom of a space of a rack near a height."""
    off = tooth.centre_angle * rack.datum_radius  # of the fillet's centre from mid-space
    low = float(rack.above(tooth.root_diameter)) + tooth.cut_diameter / 2
    spaces = (np.arange(rack.teeth - 1) + 0.5) * rack.pitch + off + 1j * low
    places = contact.placed("wheel", spaces)
    return complex(places[np.argmin(np.abs(places.imag - height))])


def _name_gears(ax: Axes, pair: GearPair, zoom: bool) -> None:
    """Write which is which into the gears, and show how they turn."""
    x, y, wide, high = _window(pair, zoom)
    if zoom:
        for name, side in (("pinion", -1.0), (pair.called("wheel"), 1.0)):
            at = x + 0.82 * side * wide
            style.note(ax, name, (at, y), ha="center", va="top", fontsize=style.TEXT)
            style.arrow(ax, (at, y + 0.06 * high), (at, y + 0.34 * high))
        return
    for name, gear, centre, sweep in (
        ("pinion", pair.pinion, 0.0, 130.0),
        ("wheel", pair.wheel, pair.centre_distance, -130.0),
    ):
        if isinstance(gear, Rack):
            at = centre + 0.5 * (gear.root_depth + gear.back_depth)
            style.note(ax, "rack", (at, y), ha="center", va="top", fontsize=style.TEXT)
            style.arrow(ax, (at, y + 0.06 * high), (at, y + 0.34 * high))
            continue
        style.note(ax, name, (centre, -0.04 * high), ha="center", va="top", fontsize=style.TEXT)
        style.turn_arrow(ax, (centre, 0.0), 0.5 * gear.root_diameter, 90.0 - sweep / 2, sweep)
        ax.plot([centre], [0.0], "+", color=style.INK, markersize=9, zorder=3)


def _window(pair: GearPair, zoom: bool) -> tuple[float, float, float, float]:
    """Middle and half width and height of the picture, mm."""
    pinion, wheel, distance = pair.pinion, pair.wheel, pair.centre_distance
    if not zoom and isinstance(wheel, Rack):
        edge = 0.03 * pinion.tip_diameter
        left, right = -pinion.tip_diameter / 2 - edge, distance + wheel.back_depth + edge
        high = max(pinion.tip_diameter, wheel.length + wheel.pitch) / 2 + edge
        return (left + right) / 2, 0.0, (right - left) / 2, high
    if not zoom:
        edge = 0.03 * (pinion.tip_diameter + wheel.tip_diameter)
        left, right = -pinion.tip_diameter / 2 - edge, distance + wheel.tip_diameter / 2 + edge
        high = max(pinion.tip_diameter, wheel.tip_diameter) / 2 + edge
        return (left + right) / 2, 0.0, (right - left) / 2, high
    ends = _Contact(pair, 0.0).point(np.array(pair.contact_limits))
    reach = max(3.2 * pinion.module, np.ptp(ends.imag) / 2 + 1.4 * pinion.module)
    middle = (pinion.tip_diameter / 2 + distance + wheel.datum_radius - wheel.tip_diameter / 2) / 2
    return middle, float(ends.imag.mean()), reach, reach


def _size(pair: GearPair, zoom: bool) -> tuple[float, float]:
    _, _, wide, high = _window(pair, zoom)
    return style.fitting(2 * wide, 2 * high, beside=3.0, below=0.9)


def _frame(ax: Axes, cut: CutPair, zoom: bool) -> None:
    pair = cut.pair
    x, y, wide, high = _window(pair, zoom)
    ax.set(xlim=(x - wide, x + wide), ylim=(y - high, y + high))
    style.labels(
        ax,
        f"{_title(pair)}: contact ratio {cut.contact_ratio:.2f}",
        "x from the pinion's centre, mm",
        "y, mm",
    )


def _title(pair: GearPair) -> str:
    pinion, wheel, distance = pair.pinion, pair.wheel, f"{pair.centre_distance:.2f} mm"
    if isinstance(wheel, Rack):
        return (
            f"{pinion.teeth:g} teeth of module {pinion.module:g} mm and a rack,\n"
            f"{distance} to its reference line"
        )
    both = f"{pinion.teeth:g} and {wheel.teeth:g} teeth"
    return f"{both} of module {pinion.module:g} mm, {distance} apart"
