"""Pictures of a train: from the front and cut lengthwise."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Patch

from gearwork.geometry.tooth import Cutter
from gearwork.machine.frame import Cylinder
from gearwork.machine.parts import edges_in_place
from gearwork.machine.stage import cut_pairs
from gearwork.machine.train import GearTrain
from gearwork.numbers import Floats
from gearwork.plot import style

FACES = (style.PALE_WARM, style.PALE_COOL, style.PALE)
MARGIN = 0.04
"""Room round a picture, share of its greater side."""

COARSE = 0.05
"""Distance of drawn chords from the edges, mm."""

LIST = "on the shafts (teeth)"

PLATE: style.Look = {"facecolor": style.PALE, "hatch": "....", "edgecolor": style.GREY}
HUB: style.Look = {"facecolor": "white", "hatch": "xxxx", "edgecolor": style.GREY}
BEARING: style.Look = {"facecolor": "white", "edgecolor": style.COOL}
SECTION = {"plate": PLATE, "nuts and washers": HUB, "ball bearing": BEARING}


def plot_train(train: GearTrain, bit: Cutter, ax: Axes | None = None) -> Axes:
    """Draw a train from the front, all teeth as cut, with the senses in which its shafts turn.

    What lies in front hides what lies behind it, whose tip circles go on dashed.

    Parameters
    ----------
    train : GearTrain
        The gears on their shafts.
    bit : Bit
        Its `cut_diameter` counts.
    ax : Axes, optional
        Where to draw; the list of shafts needs room at the right. Default: axes of a new figure.

    Returns
    -------
    Axes
        In mm from the first shaft.

    Examples
    --------
    >>> from gearwork import Bit, Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> pair = GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44))
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((Stage(pair, 24),), (parts, parts), Frame(plate_thickness=18, gap=12))
    >>> plot_train(train, Bit(3.0)).get_title(loc="left")
    'train of 310 by 230 mm, 84 mm deep over the plates'
    """
    ax = _framed(ax, _front_bounds(train), beside=3.2, below=1.0)
    cuts = cut_pairs(train.stages, bit)
    for gear in sorted(train.gears, key=lambda gear: (gear.plane, gear.name)):
        level = 1.0 + 0.1 * gear.plane
        look = {"facecolor": FACES[gear.stage % len(FACES)], "zorder": level}
        style.area(ax, edges_in_place(train, gear, cuts[gear.stage], COARSE), **look)
        if gear.plane < max(train.planes):
            hidden = {"linestyle": style.DASHED, "edgecolor": style.GREY, "zorder": 3}
            style.circle(ax, train.points[gear.shaft], gear.gear.tip_diameter, **hidden)
    for shaft, point in enumerate(train.points):
        seat = {"linestyle": style.DOTTED, "linewidth": 1.2, "edgecolor": style.COOL, "zorder": 3.5}
        style.circle(ax, point, train.shafts[shaft].seat_diameter, **seat)
        narrow = min(g.gear.root_diameter for g in train.gears if g.shaft == shaft)
        size = max(0.8 * narrow, 1.4 * train.shafts[shaft].seat_diameter)
        sweep = 100.0 * (-1) ** shaft
        style.turn_arrow(ax, point, size, 90.0 - sweep / 2, sweep)
    _draw_ground(ax, train)
    wide, high, deep = train.size
    title = f"train of {wide:.0f} by {high:.0f} mm, {deep:.0f} mm deep over the plates"
    style.labels(ax, title, "x from the first shaft, mm", "y, mm")
    items = [style.Item(axis.at, _named(train, axis.shafts)) for axis in train.axes]
    style.balloons(ax, items, LIST)
    return ax


def _draw_ground(ax: Axes, train: GearTrain) -> None:
    height = train.frame.output_height
    if height is not None:
        level = train.points[-1][1] - height
        ax.axhline(level, **style.line(width=style.BOLD, zorder=2))
        note = {"xytext": (4, -4), "textcoords": "offset points", "va": "top"}
        style.note(ax, "ground or edge of the frame", (train.bounds[0], level), **note)


def _front_bounds(train: GearTrain) -> tuple[float, float, float, float]:
    """Smallest x and y, largest x and y of all gears and of the ground, mm."""
    left, low, right, top = train.bounds
    if train.frame.output_height is not None:
        low = min(low, train.points[-1][1] - 1.1 * train.frame.output_height)
    return left, low, right, top


def _named(train: GearTrain, shafts: tuple[int, ...]) -> str:
    """What turns on some shafts, for the list beside a picture."""
    gears = [gear for gear in train.gears if gear.shaft in shafts]
    return ", ".join(f"{gear.name} ({gear.gear.teeth:g})" for gear in gears)


def plot_train_section(train: GearTrain, ax: Axes | None = None) -> Axes:
    """Draw a train cut along its shafts, these laid side by side at their centre distances.

    Parameters
    ----------
    train : GearTrain
        The gears on their shafts.
    ax : Axes, optional
        Where to draw; the list of shafts needs room at the right. Default: axes of a new figure.

    Returns
    -------
    Axes
        x across the shafts from the first one, y along them from the inner face of the lowest
        plate, mm.

    Examples
    --------
    >>> from gearwork import Gear, GearPair
    >>> from gearwork.machine import Frame, GearTrain, ShaftParts, Stage
    >>> pair = GearPair(Gear(module=5, teeth=16), Gear(module=5, teeth=44))
    >>> parts = ShaftParts(8, hub_diameter=24, hub_height=8, seat_diameter=22, bearing_width=7)
    >>> train = GearTrain((Stage(pair, 24),), (parts, parts), Frame(plate_thickness=18, gap=12))
    >>> plot_train_section(train).get_ylabel()
    'along, mm'
    """
    across = np.concatenate([[0.0], np.cumsum(train.centre_distances)])
    widest = [max(body.diameter for body in column) / 2 for column in train.columns]
    left, right = float((across - widest).min()), float((across + widest).max())
    plates = train.stack_up.plates
    bounds = (left, plates[0][0], right, plates[-1][1] + 10.0)
    ax = _framed(ax, bounds, beside=0.8, below=1.5 + 0.2 * max(len(across), 3), room=(8.2, 5.0))
    for start, end in plates:
        style.fill(ax, _box(left, right, start, end), **PLATE, zorder=1)
    items = []
    for shaft, column in enumerate(train.columns):
        at = float(across[shaft])
        for body in column:
            half = body.diameter / 2
            style.fill(ax, _box(at - half, at + half, body.start, body.end), **_body_look(body))
        _draw_bearings(ax, train, shaft, at)
        first, last = train.stack_up.span(shaft)
        centre = style.line(dashes=style.CHAIN, width=style.THIN, zorder=5)
        ax.plot([at, at], [first - 8.0, last + 8.0], **centre)
        items.append(style.Item((at, last + 14.0), _named(train, (shaft,))))
    title = f"{train.size[2]:.0f} mm over the plates; shafts laid side by side in one plane"
    style.labels(ax, title, "across the shafts, mm", "along, mm")
    style.balloons(ax, items, LIST, below=True)
    kinds = [Patch(**look, label=name) for name, look in SECTION.items()]
    style.key(ax, kinds, loc="upper right", bbox_to_anchor=(1.0, 0.0), borderaxespad=5.5)
    return ax


def _body_look(body: Cylinder) -> style.Look:
    if body.meshes:
        return {
            "facecolor": FACES[body.meshes[0] % len(FACES)],
            "linewidth": style.LINE,
            "zorder": 2,
        }
    if body.is_hub:
        return HUB | {"zorder": 3}
    return {"facecolor": style.GREY, "linewidth": style.THIN, "zorder": 3.5}


def _draw_bearings(ax: Axes, train: GearTrain, shaft: int, across: float) -> None:
    parts = train.shafts[shaft]
    look = style.line(style.COOL, width=style.THIN, zorder=4)
    for low, top in train.bearings(shaft):
        for side in (-1.0, 1.0):
            inner, outer = (
                across + side * d / 2 for d in (parts.rod_diameter, parts.seat_diameter)
            )
            corners = _box(inner, outer, low, top)
            style.fill(ax, corners, **BEARING, zorder=4)
            ax.plot([inner, outer, np.nan, inner, outer], [low, top, np.nan, top, low], **look)


def _box(left: float, right: float, low: float, high: float) -> Floats:
    return np.array([(left, low), (right, low), (right, high), (left, high)])


def _framed(
    ax: Axes | None,
    bounds: tuple[float, float, float, float],
    beside: float,
    below: float,
    room: tuple[float, float] = (6.2, 4.8),
) -> Axes:
    """Return axes that show the bounds with a margin, and a figure to fit if it is new."""
    left, low, right, top = bounds
    edge = MARGIN * max(right - left, top - low)
    wide, high = right - left + 2 * edge, top - low + 2 * edge
    ax = style.plain_axes(ax, style.fitting(wide, high, beside, below, room), equal=True)
    ax.set(xlim=(left - edge, right + edge), ylim=(low - edge, top + edge))
    return ax
