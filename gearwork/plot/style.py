"""The one look of all graphs, beside `graphs.mplstyle`, and how they show in a notebook.

Dark ink on white, a warm and a cool accent that colour-blind eyes tell apart, and a line style,
marker or hatch of its own wherever a print in black would lose the difference.
"""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import numpy as np
from matplotlib import rc_params_from_file
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke
from matplotlib.projections.polar import PolarAxes
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.numbers import Floats
from gearwork.output.html import ACCENT as COOL
from gearwork.output.html import GREY, INK, PALE_WARM, WARM
from gearwork.output.html import PALE_ACCENT as PALE_COOL

__all__ = ["COOL", "GREY", "INK", "PALE_COOL", "PALE_WARM", "WARM"]

TEXT = 10.0
THIN, LINE, BOLD = 0.9, 1.7, 2.6

DASHED: Any = (0, (5, 2.5))
DOTTED: Any = (0, (1.2, 1.8))
CHAIN: Any = (0, (9, 2, 1.5, 2))

HATCH = "//////"

LOOK = rc_params_from_file(Path(__file__).with_name("graphs.mplstyle"), use_default_template=False)
"""What matplotlib draws by while a picture of ours is made (`rc_context`)."""


def png_of(ax: Axes, resolution: float | Literal["figure"] = "figure") -> bytes:
    """Return the whole figure that the axes belong to as a PNG, always with the same bytes.

    `resolution`: dots an inch; else the figure's own.
    """
    figure = ax.get_figure(root=True)
    if figure is None:
        raise GearworkError("these axes belong to no figure any more: draw the picture again")
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=resolution)
    return stream.getvalue()


class PlainAxes(Axes):
    """Axes that show their figure where they are the result of a notebook's cell."""

    _repr_png_ = png_of


class RoundAxes(PolarAxes):
    """The same for directions in the plane."""

    _repr_png_ = png_of


class Panels(tuple[Axes, ...]):
    """Several axes of one figure, which they show as the result of a notebook's cell."""

    def _repr_png_(self) -> bytes:
        return png_of(self[0])


def panels(
    size: tuple[float, float], rows: int = 1, columns: int = 1, *, polar: bool = False
) -> Panels:
    """Return rows and columns of axes on a new figure of `size` inches."""
    figure, kind = Figure(figsize=size), RoundAxes if polar else PlainAxes
    places = range(1, rows * columns + 1)
    return Panels(figure.add_subplot(rows, columns, i, axes_class=kind) for i in places)


def rows(each: str, given: Mapping[str, ArrayLike]) -> list[Floats]:
    """Return arrays, by name, with one value for each of what is drawn; else refuse them."""
    found = {name: np.asarray(values, dtype=float) for name, values in given.items()}
    first, *others = (one.shape for one in found.values())
    if len(first) != 1 or first == (0,) or any(other != first for other in others):
        shapes = ", ".join(f"{name} {one.shape}" for name, one in found.items())
        raise GearworkError(f"shapes are {shapes}: one value a {each} is needed in each")
    return list(found.values())


def key(ax: Axes, **look: Any) -> None:
    """Draw the key beside the axes; `look`: further arguments of `Axes.legend`."""
    ax.legend(**{"loc": "upper left", "bbox_to_anchor": (1.02, 1.0), "borderaxespad": 0.0} | look)


def note(ax: Axes, text: str, at: tuple[float, float], **look: Any) -> None:
    """Write on a picture at a point of its data, legible on lines; `look`: as of `annotate`."""
    look.setdefault("path_effects", [withStroke(linewidth=3.0, foreground="white")])
    ax.annotate(text, at, zorder=8, **look)
