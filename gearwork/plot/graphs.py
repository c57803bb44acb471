"""Graphs: pull and speed against the ratio, the best of many candidates, and backlash."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.ticker import FixedLocator, NullLocator, StrMethodFormatter
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError
from gearwork.machine.duty import Duty
from gearwork.numbers import RPM, Floats, Ints
from gearwork.plot import style

RATIOS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)
PULLS = (1.0, 2.0, 5.0)
"""Numbers written on the axes, times powers of ten."""

MAX_NAMES = 8
"""Candidates of a front that are named."""


def plot_pull_and_speed(duty: Duty, axes: Sequence[Axes] | None = None) -> style.Panels:
    """Draw pull and speed of a machine against its ratio, and where the good range lies.

    A machine stands still where the drive's pull from standstill lies below the line of what is
    needed to start: so it does, mostly, with the drive coupled straight to the output, the mark
    at a ratio of 1, without the losses of gears. Loads that do not pull show torque instead.

    Parameters
    ----------
    duty : Duty
        Drive and load.
    axes : sequence of Axes, optional
        Two: pull above, speed below. Default: those of a new figure.

    Returns
    -------
    tuple of Axes
        The two.

    Raises
    ------
    GearworkError
        If the axes are not two.

    Examples
    --------
    >>> from gearwork import Duty
    >>> from gearwork.machine import GivenLoad, HandCrank
    >>> pull, speed = plot_pull_and_speed(Duty(HandCrank(100, 300, 30), GivenLoad(120, 4)))
    >>> pull.get_title(loc="left")
    'coupled straight the drive cannot start the load; good ratios: 6 to 9.38'
    """
    axes = style.panel_axes(axes, (2, 1), (8.4, 6.6))
    shown = _Shown(duty)
    _draw_pull(axes[0], shown)
    _draw_speed(axes[1], shown)
    for ax in axes:
        _draw_range(ax, duty)
        style.grid(ax)
        _log_axis(ax, "x", shown.ratio, RATIOS)
        ax.set_xlim(0.93 * min(float(shown.ratio[0]), 1.0), float(shown.ratio[-1]))
    style.key(axes[0])
    style.key(axes[1], axes[1].get_legend_handles_labels()[0][: -2 if duty.ratio_range else None])
    style.labels(axes[0], shown.title, "", f"{shown.kind}, {shown.unit}")
    style.labels(axes[1], "", "ratio: drive speed over output speed", f"speed, {shown.speed_unit}")
    return axes


class _Shown:
    """A duty as pull in N and speed in m/s, or as torque in N·m and speed in rpm."""

    def __init__(self, duty: Duty) -> None:
        curves, load = duty.curves(), duty.load
        pulls = load.pull_diameter is not None
        arm = 1.0 if load.pull_diameter is None else load.pull_diameter / 2000.0
        pace = RPM * arm if pulls else 1.0
        self.duty = duty
        self.direct = replace(duty, stages=0)
        self.kind, self.unit = ("pull", "N") if pulls else ("torque", "N·m")
        self.speed_unit = "m/s" if pulls else "rpm"
        self.ratio = curves.ratio
        self.starting, self.sustained = curves.starting_torque / arm, curves.sustained_torque / arm
        self.needs: list[tuple[float, str, Any]] = [
            (load.starting_torque / arm, "load to start", style.SOLID),
            (load.running_torque / arm, "load to keep moving", style.DASHED),
        ]
        if load.starting_torque == load.running_torque:
            self.needs = [(load.running_torque / arm, "load", style.SOLID)]
        if np.isfinite(load.usable_torque):
            self.needs.append((load.usable_torque / arm, "load slips or tips", style.DOTTED))
        self.speed = _moving(curves.speed) * pace
        lightest = load.min_running_torque / load.running_torque
        torque = load.min_running_torque / (duty.efficiency * self.ratio)
        quick = duty.drive.speed_at(torque) / self.ratio * pace * lightest
        self.light_speed = None if lightest == 1.0 else np.where(curves.speed > 0, quick, np.nan)
        self.wanted = duty.wanted_speed * pace
        self.direct_pull = duty.drive.starting_torque / arm
        self.direct_speed = float(self.direct.output_speed(1.0)) * pace

    @property
    def title(self) -> str:
        """What the picture says."""
        if self.direct_speed == 0.0:
            straight = "cannot start the load"
        elif self.direct.working_ratio > 1.0:
            straight = "starts the load but not for long"
        else:
            straight = "is strong enough"
        good = self.duty.ratio_range
        found = f"{good[0]:.3g} to {good[1]:.3g}" if good else "none"
        return f"coupled straight the drive {straight}; good ratios: {found}"


def _moving(speed: Floats) -> Floats:
    return np.where(speed > 0.0, speed, np.nan)


def _draw_pull(ax: Axes, shown: _Shown) -> None:
    ratio, thick = shown.ratio, 2.0
    if np.array_equal(shown.starting, shown.sustained):
        ax.plot(ratio, shown.starting, label="drive", **style.line(width=thick))
    else:
        ax.plot(ratio, shown.starting, label="drive from standstill", **style.line(width=thick))
        dashed = style.line(dashes=style.DASHED, width=thick)
        ax.plot(ratio, shown.sustained, label="drive for long", **dashed)
    for value, name, dashes in shown.needs:
        label = f"{name}, {value:.3g} {shown.unit}"
        ax.plot(ratio[[0, -1]], [value] * 2, label=label, **style.line(style.WARM, dashes))
    _draw_direct(ax, shown.direct_pull, f"direct drive, {shown.direct_pull:.3g} {shown.unit}")
    every = np.concatenate([shown.starting, shown.sustained, [need[0] for need in shown.needs]])
    _log_axis(ax, "y", every, PULLS)


def _draw_speed(ax: Axes, shown: _Shown) -> None:
    ratio, unit, solid = shown.ratio, shown.speed_unit, style.line(width=2.0)
    if shown.light_speed is None:
        ax.plot(ratio, shown.speed, label="load", **solid)
    else:
        ax.plot(ratio, shown.speed, label="load at its heaviest, drum full", **solid)
        dashed = style.line(dashes=style.DASHED, width=2.0)
        ax.plot(ratio, shown.light_speed, label="load at its lightest, drum bare", **dashed)
    wanted = f"wanted, {shown.wanted:.3g} {unit}"
    dotted = style.line(style.WARM, style.DOTTED)
    ax.plot(ratio[[0, -1]], [shown.wanted] * 2, label=wanted, **dotted)
    slow, fast = (share * shown.wanted for share in shown.duty.speed_band)
    allowed = f"will do, {slow:.3g} to {fast:.3g} {unit}"
    ax.axhspan(slow, fast, label=allowed, facecolor=style.PALE_WARM, linewidth=0.0, zorder=-1)
    direct = f"{shown.direct_speed:.3g} {unit}" if shown.direct_speed else "stands still"
    _draw_direct(ax, shown.direct_speed, f"direct drive, {direct}")
    ax.set_ylim(bottom=0.0)


def _draw_direct(ax: Axes, value: float, label: str) -> None:
    ax.plot(
        [1.0], [value], "x", label=label, clip_on=False, **style.cross(style.COOL, 11.0, zorder=6)
    )


def _draw_range(ax: Axes, duty: Duty) -> None:
    good = duty.ratio_range
    if good is not None:
        ax.axvspan(*good, label="good ratios", facecolor=style.PALE_COOL, linewidth=0.0, zorder=0)
        name = f"suggested ratio, {duty.suggested_ratio:.3g}"
        chain = style.line(style.COOL, style.CHAIN, zorder=1)
        ax.axvline(duty.suggested_ratio, label=name, **chain)


def _log_axis(ax: Axes, name: str, values: Floats, steps: Sequence[float]) -> None:
    """Make the x or y axis logarithmic, with plain numbers at the steps of every power of ten."""
    ax.set(**{f"{name}scale": "log"})
    axis: Axis = getattr(ax, f"{name}axis")
    ticks = (np.array(steps) * 10.0 ** np.arange(-4, 7)[:, None]).ravel()
    low, high = np.searchsorted(ticks, [0.999 * values.min(), 1.001 * values.max()])
    axis.set_major_locator(FixedLocator(list(ticks[max(low - 1, 0) : high + 1])))
    axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(StrMethodFormatter("{x:g}"))


def plot_pareto(
    x: ArrayLike,
    y: ArrayLike,
    front: ArrayLike,
    x_label: str,
    y_label: str,
    names: Sequence[str] | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw candidates by two quantities, and the front of those that none beats in both.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Two quantities of each candidate.
    front : array_like of bool, shape (n,)
        Which of them are on the front.
    x_label, y_label : str
        What they are, with units.
    names : sequence of str, optional
        Name of each candidate, shape (n,); some of those on the front are numbered and listed
        beside the picture.
    ax : Axes, optional
        Where to draw. Default: axes of a new figure.

    Returns
    -------
    Axes
        In the units of x and y.

    Raises
    ------
    GearworkError
        If the arrays are not of one length, or nothing is on the front.

    Examples
    --------
    >>> front = [True, True, False]
    >>> plot_pareto([1, 2, 3], [3, 1, 2], front, "size, mm", "mass, kg").get_title(loc="left")
    '2 of 3 candidates are on the front'
    """
    across, up = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    best = np.asarray(front, dtype=bool)
    if not across.shape == up.shape == best.shape or across.ndim != 1:
        raise GearworkError(
            f"x, y and front have the shapes {across.shape}, {up.shape} and {best.shape}: one"
            " value a candidate is needed in each"
        )
    if not best.any():
        raise GearworkError("no candidate is on the front: mark at least one")
    ax = style.plain_axes(ax, (8.4, 5.2))
    style.grid(ax)
    rest = style.dot(style.GREY, 5.0, alpha=0.7, markeredgewidth=0.0)
    ax.plot(across[~best], up[~best], ".", label="beaten", **rest)
    order = np.flatnonzero(best)[np.argsort(across[best], kind="stable")]
    look = style.line(style.WARM, markersize=6.0, markeredgecolor="white", zorder=4)
    ax.plot(across[order], up[order], "o", label="front", **look)
    ax.margins(0.1)
    side, above = _empty_side(across, up, order)
    corner = f"{'upper' if above > 0 else 'lower'} {'left' if side < 0 else 'right'}"
    style.key(ax, loc=corner, bbox_to_anchor=None, borderaxespad=0.8)
    if names is not None:
        chosen = _spread_out(across[order], up[order])
        at = [(float(across[i]), float(up[i])) for i in order[chosen]]
        items = [style.Item(p, names[i]) for p, i in zip(at, order[chosen], strict=True)]
        style.balloons(ax, items, "on the front")
    style.labels(ax, f"{len(order)} of {len(across)} candidates are on the front", x_label, y_label)
    return ax


def _spread_out(x: Floats, y: Floats) -> Ints:
    """Places along a front, its ends among them, whose numbers keep clear of each other."""
    reach = max(float(np.ptp(x)), 1e-12), max(float(np.ptp(y)), 1e-12)
    run = np.cumsum(
        np.hypot(np.diff(x, prepend=x[0]) / reach[0], np.diff(y, prepend=y[0]) / reach[1])
    )
    wanted = np.linspace(0.0, run[-1], MAX_NAMES)
    nearest = np.unique(np.abs(run[:, None] - wanted).argmin(axis=0))
    apart = np.diff(run[nearest], prepend=-np.inf) > 0.6 / MAX_NAMES
    chosen: Ints = nearest[apart]
    return chosen


def _empty_side(x: Floats, y: Floats, order: Ints) -> tuple[int, int]:
    """Direction in x and y from the front in which the fewest candidates lie."""
    sides = ((-1, -1), (-1, 1), (1, -1), (1, 1))
    offset = x - x[order][:, None], y - y[order][:, None]
    crowd = [np.count_nonzero((a * offset[0] > 0) & (b * offset[1] > 0)) for a, b in sides]
    return sides[int(np.argmin(crowd))]


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
