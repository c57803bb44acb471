"""Backlash through the turn of two outlines, and over the samples of a workshop's scatter."""

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.numbers import Floats
from gearwork.plot import style

BARS = 60


def plot_backlash(
    pinion_angle: ArrayLike,
    backlash: ArrayLike,
    clearance: ArrayLike | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw the backlash of two outlines through the turn, and where it is least.

    Parameters
    ----------
    pinion_angle : array_like, shape (n,)
        Turn of the pinion, degrees.
    backlash : array_like, shape (n,)
        j_wt at each position, mm; infinite where the gears do not meet.
    clearance : array_like, shape (n,), optional
        Distance of the flanks with the pinion amid its play, mm.
    ax : Axes, optional
        Where to draw. Default: axes of a new figure.

    Returns
    -------
    Axes
        Backlash in mm.

    Raises
    ------
    GearworkError
        If the arrays are not of one length, or the gears meet nowhere.

    Examples
    --------
    >>> plot_backlash([0.0, 90.0, 180.0], [0.3, 0.28, 0.31]).get_ylabel()
    'backlash, mm'
    """
    angle, play = np.asarray(pinion_angle, dtype=float), np.asarray(backlash, dtype=float)
    room = play if clearance is None else np.asarray(clearance, dtype=float)
    if not angle.shape == play.shape == room.shape or angle.ndim != 1:
        raise GearworkError(
            f"angles, backlash and clearance have the shapes {angle.shape}, {play.shape} and"
            f" {room.shape}: one value a position is needed in each"
        )
    if not np.isfinite(play).any():
        raise GearworkError("the gears meet nowhere: set them nearer to each other")
    ax = style.plain_axes(ax, (8.4, 4.2))
    style.grid(ax)
    ax.plot(angle, _finite(play), **style.line(label="backlash"))
    if clearance is not None:
        dashed = style.line(style.COOL, style.DASHED, label="clearance, pinion amid its play")
        ax.plot(angle, _finite(room), **dashed)
    least = int(np.nanargmin(_finite(play)))
    mark = style.dot(
        style.WARM, 8.0, label=f"smallest, {play[least]:.3f} mm", zorder=5, clip_on=False
    )
    ax.plot([angle[least]], [play[least]], "o", **mark)
    ax.axhline(0.0, **style.line(style.WARM, style.DASHED, label="touches"))
    both = np.concatenate([_finite(play), _finite(room), [0.0]])
    low, high = float(np.nanmin(both)), float(np.nanmax(both))
    edge = 0.12 * max(high - low, 1e-3)
    ax.set_ylim(low - (edge if low < 0.0 else 0.3 * edge), high + edge)
    ax.margins(x=0.0)
    y = "backlash, mm" if clearance is None else "backlash and clearance, mm"
    found = "they bind" if low < 0.0 else "they turn freely"
    style.labels(
        ax, f"two outlines turned against each other: {found}", "turn of the pinion, degrees", y
    )
    style.key(ax)
    return ax


def plot_backlash_spread(backlash: ArrayLike, ax: Axes | None = None) -> Axes:
    """Draw how often a workshop's scatter leaves how much backlash, and what binds.

    Parameters
    ----------
    backlash : array_like, shape (n,)
        j_wt of each sample, mm, negative where the pair binds.
    ax : Axes, optional
        Where to draw. Default: axes of a new figure.

    Returns
    -------
    Axes
        Backlash in mm.

    Raises
    ------
    GearworkError
        If there are no samples, or one is not a finite number.

    Examples
    --------
    >>> plot_backlash_spread([0.1, 0.2, 0.3]).get_title(loc="left")
    '0.0 % of 3 pairs bind; nine of ten have 0.11 to 0.29 mm'
    """
    samples = np.asarray(backlash, dtype=float)
    if samples.ndim != 1 or not samples.size or not np.isfinite(samples).all():
        raise GearworkError("backlash samples are no row of finite numbers: give one for each pair")
    ax = style.plain_axes(ax, (8.4, 4.2))
    style.grid(ax)
    edges = _bar_edges(samples)
    share = 100.0 * np.histogram(samples, edges)[0] / samples.size
    middles, width = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    binds = middles < 0.0
    look: style.Look = {"edgecolor": style.INK, "linewidth": 0.5}
    free: style.Look = {"facecolor": style.PALE_COOL, "label": "turns"} | look
    ax.bar(middles[~binds], share[~binds], width[~binds], **free)
    if binds.any():
        bound: style.Look = {"facecolor": style.WARM, "hatch": style.HATCH, "label": "binds"} | look
        ax.bar(middles[binds], share[binds], width[binds], **bound)
    ax.axvline(0.0, **style.line(style.WARM, style.DASHED, style.BOLD, label="touches"))
    low, middle, high = np.percentile(samples, [5.0, 50.0, 95.0])
    for value, name, dashes in (
        (low, "5 % have less", style.DOTTED),
        (middle, "half have less", style.DASHED),
        (high, "5 % have more", style.CHAIN),
    ):
        ax.axvline(value, **style.line(dashes=dashes, label=f"{name}, {value:.2f} mm"))
    count = 100.0 * np.count_nonzero(samples < 0.0) / samples.size
    title = (
        f"{count:.1f} % of {samples.size} pairs bind; nine of ten have {low:.2f} to {high:.2f} mm"
    )
    style.labels(ax, title, "backlash, mm", "share of the pairs, %")
    style.key(ax)
    return ax


def _finite(values: Floats) -> Floats:
    return np.where(np.isfinite(values), values, np.nan)


def _bar_edges(samples: Floats) -> Floats:
    """Edges of equal bars, mm, one of them at 0 so that no bar both binds and turns."""
    width = float(np.ptp(samples)) / BARS or 0.01
    first = int(np.floor(samples.min() / width))
    last = max(int(np.ceil(samples.max() / width)), first + 1)
    return np.arange(first, last + 1, dtype=np.float64) * width
