"""The one look of all pictures, and what they share: axes, keys, balloons, shapes.

Dark ink on white, a warm and a cool accent that colour-blind eyes tell apart, and a line style,
marker or hatch of its own wherever a print in black would lose the difference.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Polygon
from matplotlib.patheffects import withStroke
from matplotlib.projections.polar import PolarAxes
from PIL import Image

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline
from gearwork.numbers import Floats
from gearwork.output.html import ACCENT as COOL
from gearwork.output.html import GREY, INK, PALE, PALE_WARM, WARM
from gearwork.output.html import PALE_ACCENT as PALE_COOL

__all__ = ["COOL", "GREY", "INK", "PALE", "PALE_COOL", "PALE_WARM", "WARM"]

Look = dict[str, Any]

SMALL = 9.0
TEXT = 10.0
TITLE = 11.0
THIN, LINE, BOLD = 0.9, 1.6, 2.6

SOLID: Any = "-"
DASHED: Any = (0, (5, 2.5))
DOTTED: Any = (0, (1.2, 1.8))
CHAIN: Any = (0, (9, 2, 1.5, 2))

HATCH = "//////"

HALO = (withStroke(linewidth=3.0, foreground="white"),)
"""Keeps text legible on lines."""

RESOLUTION = 110.0
"""Dots an inch of a picture in a notebook."""


def png_of(ax: Axes, resolution: float = RESOLUTION) -> bytes:
    """Return the whole figure that the axes belong to as a PNG, always with the same bytes."""
    figure = ax.get_figure(root=True)
    if figure is None:
        raise GearworkError("these axes belong to no figure any more: draw the picture again")
    shown, dots = figure.canvas, figure.dpi
    canvas = FigureCanvasAgg(figure)
    figure.set_dpi(resolution)
    canvas.draw()  # type: ignore[no-untyped-call]
    pixels = np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
    figure.set_dpi(dots)
    figure.set_canvas(shown)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, format="PNG", dpi=(resolution, resolution))
    return stream.getvalue()


class PlainAxes(Axes):
    """Axes that show their figure where they are the result of a notebook's cell."""

    def _repr_png_(self) -> bytes:
        return png_of(self)


class RoundAxes(PolarAxes):
    """The same for directions in the plane."""

    def _repr_png_(self) -> bytes:
        return png_of(self)


class Panels(tuple[Axes, ...]):
    """Several axes of one figure, which they show as the result of a notebook's cell."""

    def _repr_png_(self) -> bytes:
        return png_of(self[0])


def plain_axes(ax: Axes | None, size: tuple[float, float], *, equal: bool = False) -> Axes:
    """Return the axes given, or those of a new figure of `size` inches, in our look.

    `size`: of the new figure, inches.
    """
    if ax is None:
        figure = Figure(figsize=size, dpi=RESOLUTION, layout="constrained")
        ax = figure.add_subplot(axes_class=PlainAxes)
    dress(ax)
    if equal:
        ax.set_aspect("equal")
        ax.set_anchor("W")
    return ax


def fitting(
    wide: float, high: float, beside: float, below: float, room: tuple[float, float] = (6.2, 4.8)
) -> tuple[float, float]:
    """Return the size of a figure, inches, for a picture of `wide` x `high` mm.

    `wide`, `high`: of the picture, mm; `beside`, `below`: room for the list, numbers and title,
    inches; `room`: largest width and height of the picture itself, inches.
    """
    scale = min(room[0] / wide, room[1] / high)
    return scale * wide + beside, scale * high + below


def panel_axes(
    axes: Sequence[Axes] | None,
    shape: tuple[int, int],
    size: tuple[float, float],
    *,
    polar: bool = False,
) -> Panels:
    """Return the axes given, or those of a new figure with rows and columns of them."""
    count = shape[0] * shape[1]
    if axes is None:
        figure = Figure(figsize=size, dpi=RESOLUTION, layout="constrained")
        kind = RoundAxes if polar else PlainAxes
        axes = [figure.add_subplot(*shape, i + 1, axes_class=kind) for i in range(count)]
    if len(axes) != count:
        raise GearworkError(f"axes: {len(axes)}; this picture needs {count}; give as many or none")
    for ax in axes:
        if polar:
            check_polar(ax)
        dress(ax)
    return Panels(axes)


def check_polar(ax: Axes) -> None:
    """Refuse axes that cannot show directions."""
    if not isinstance(ax, PolarAxes):
        raise GearworkError(
            'axes are not polar: a rose needs those of figure.add_subplot(projection="polar")'
        )


def dress(ax: Axes) -> None:
    """Give axes our ink, line widths and letter sizes."""
    for name, spine in ax.spines.items():
        spine.set(color=INK, linewidth=THIN, visible=name not in ("top", "right"))
    ax.tick_params(colors=INK, labelsize=SMALL, width=THIN, length=4.0)
    ax.set_axisbelow(True)


def labels(ax: Axes, title: str, x: str = "", y: str = "") -> None:
    """Write the title, from the left, and what the axes count."""
    height = None if isinstance(ax, PolarAxes) else 1.0  # None looks for it at every drawing
    ax.set_title(title, loc="left", fontsize=TITLE, color=INK, pad=9.0, y=height)
    ax.set_xlabel(x, fontsize=TEXT, color=INK)
    ax.set_ylabel(y, fontsize=TEXT, color=INK)


def line(colour: str = INK, dashes: Any = SOLID, width: float = LINE, **more: Any) -> Look:
    """Return the look of a line for `Axes.plot` and its like."""
    return {"color": colour, "linestyle": dashes, "linewidth": width} | more


def dot(colour: str, size: float, **more: Any) -> Look:
    """Return the look of a marker for `Axes.plot`."""
    return {"color": colour, "markersize": size, "markeredgecolor": "white"} | more


def cross(colour: str, size: float, **more: Any) -> Look:
    """Return the look of a marker without a face for `Axes.plot`."""
    return {"color": colour, "markersize": size, "markeredgewidth": 0.2 * size} | more


def grid(ax: Axes) -> None:
    """Draw faint lines to read values by."""
    ax.grid(True, color=GREY, alpha=0.3, linewidth=0.6)


def key(ax: Axes, handles: Sequence[Any] | None = None, **place: Any) -> None:
    """Draw the key beside the axes, or where `place` says as arguments of `Axes.legend`."""
    where: dict[str, Any] = {
        "loc": "upper left",
        "bbox_to_anchor": (1.02, 1.0),
        "borderaxespad": 0.0,
    } | place
    legend = ax.legend(
        handles=ax.get_legend_handles_labels()[0] if handles is None else handles,
        fontsize=SMALL,
        labelcolor=INK,
        edgecolor="white",
        framealpha=0.85,
        handlelength=2.8,
        labelspacing=0.75,
        **where,
    )
    legend.set_zorder(9)


def key_below(ax: Axes) -> None:
    """Draw the key of axes below all axes of the figure."""
    figure = ax.get_figure(root=True)
    if figure is not None:
        figure.legend(
            handles=ax.get_legend_handles_labels()[0],
            loc="outside lower center",
            fontsize=SMALL,
            labelcolor=INK,
            frameon=False,
            handlelength=3.2,
        )


def note(ax: Axes, text: str, at: tuple[float, float], **look: Any) -> None:
    """Write on a picture at a point of its data, legible on lines."""
    given: dict[str, Any] = {
        "fontsize": SMALL,
        "color": INK,
        "path_effects": HALO,
        "zorder": 8,
    } | look
    ax.annotate(text, at, **given)


def fill(ax: Axes, points: Floats | Outline, **look: Any) -> Polygon:
    """Draw a closed path; the limits of the axes stay as they are."""
    corners = points.points(0.02) if isinstance(points, Outline) else points
    given: dict[str, Any] = {
        "facecolor": "none",
        "edgecolor": INK,
        "linewidth": THIN,
        "joinstyle": "round",
    }
    polygon = Polygon(corners, **(given | look))
    ax.add_artist(polygon)
    return polygon


def arrow(ax: Axes, start: tuple[float, float], end: tuple[float, float], **look: Any) -> None:
    """Draw a straight arrow."""
    given: dict[str, Any] = {
        "arrowstyle": "-|>",
        "mutation_scale": 13.0,
        "shrinkA": 0.0,
        "shrinkB": 0.0,
    }
    patch = FancyArrowPatch(start, end, **given, clip_on=True)
    patch.set(**({"color": INK, "linewidth": LINE, "zorder": 5} | look))
    ax.add_artist(patch)


@dataclass(frozen=True)
class Item:
    """A numbered balloon on a picture, and the line of the list beside it that explains it."""

    at: tuple[float, float]
    text: str


def balloons(ax: Axes, items: Sequence[Item], heading: str) -> None:
    """Number places on a picture, and list the numbers beside it; equal texts share a number."""
    texts = list(dict.fromkeys(item.text for item in items))
    ring = {"boxstyle": "circle,pad=0.25", "facecolor": "white", "edgecolor": INK}
    for item in items:
        number = str(texts.index(item.text) + 1)
        look = {"ha": "center", "va": "center", "bbox": ring, "path_effects": None}
        note(ax, number, item.at, **look)
    lines = [heading, *(f"{count:>2}  {text}" for count, text in enumerate(texts, start=1))]
    place = {"xycoords": "axes fraction", "xytext": (14, 0), "textcoords": "offset points"}
    note(
        ax, "\n".join(lines), (1.0, 1.0), va="top", linespacing=1.6, annotation_clip=False, **place
    )
