"""Graphs: pull and speed against the ratio, the best of many candidates, and backlash."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.ticker import LogLocator, NullLocator, StrMethodFormatter
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, need
from gearwork.machine.duty import Duty
from gearwork.numbers import RPM, Floats, Ints
from gearwork.plot import style

RATIOS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)
PULLS = (1.0, 2.0, 5.0)
"""Numbers written on the axes, times powers of ten."""

MAX_NAMES = 8
"""Candidates of a front that are named."""


@rc_context(style.LOOK)
def plot_pull_and_speed(duty: Duty) -> style.Panels:
    """Draw pull and speed of a machine against its ratio, and where the good range lies.

    A machine stands still where the drive's pull from standstill lies below the line of what is
    needed to start: so it does, mostly, with the drive coupled straight to the output, the mark
    at a ratio of 1, without the losses of gears. Loads that do not pull show torque instead.

    Parameters
    ----------
    duty : Duty
        Drive and load.

    Returns
    -------
    tuple of Axes
        Pull above, speed below.

    Raises
    ------
    GearworkError
        If it is no duty.

    Examples
    --------
    >>> from gearwork import Duty
    >>> from gearwork.machine import GivenLoad, HandCrank
    >>> pull, speed = plot_pull_and_speed(Duty(HandCrank(100, 300, 30), GivenLoad(120, 4)))
    >>> pull.get_title(loc="left")
    'coupled straight the drive cannot start the load; good ratios: 6 to 9.38'
    """
    need("plot_pull_and_speed", duty, Duty, "a Duty", "gw.Duty(drive, load)")
    diameter, ratio, good = duty.load.pull_diameter, duty.curves().ratio, duty.ratio_range
    pull, speed = axes = style.panels((8.4, 6.6), rows=2)
    if diameter is None:
        kind, unit, speed_unit, arm, pace = "torque", "N·m", "rpm", 1.0, 1.0
    else:
        kind, unit, speed_unit, arm, pace = "pull", "N", "m/s", diameter / 2e3, RPM * diameter / 2e3
    _draw_pull(pull, duty, arm, unit)
    _draw_speed(speed, duty, pace, speed_unit)
    style.key(speed)  # the good range is told above
    for ax in axes:
        if good:
            ax.axvspan(*good, label="good ratios", color=style.PALE_COOL, lw=0.0, zorder=0)
            name = f"suggested ratio, {duty.suggested_ratio:.3g}"
            ax.axvline(duty.suggested_ratio, label=name, color=style.COOL, ls=style.CHAIN, zorder=1)
        ax.set(xscale="log", xlim=(0.93 * min(float(ratio[0]), 1.0), float(ratio[-1])))
    pull.set(yscale="log")
    for axis, steps in ((pull.yaxis, PULLS), (pull.xaxis, RATIOS), (speed.xaxis, RATIOS)):
        axis.set_major_locator(LogLocator(subs=steps, numticks=12))
        axis.set_minor_locator(NullLocator())
        axis.set_major_formatter(StrMethodFormatter("{x:g}"))
    style.key(pull)
    direct = replace(duty, stages=0)
    if direct.output_speed(1.0) == 0.0:
        verdict = "cannot start the load"
    elif direct.working_ratio > 1.0:
        verdict = "starts the load but not for long"
    else:
        verdict = "is strong enough"
    found = f"{good[0]:.3g} to {good[1]:.3g}" if good else "none"
    pull.set(
        title=f"coupled straight the drive {verdict}; good ratios: {found}",
        ylabel=f"{kind}, {unit}",
    )
    speed.set(xlabel="ratio: drive speed over output speed", ylabel=f"speed, {speed_unit}")
    return axes


def _draw_pull(ax: Axes, duty: Duty, arm: float, unit: str) -> None:
    """Draw what the drive gives and what the load needs, N·m over the arm in m."""
    curves, load = duty.curves(), duty.load
    lasts = np.array_equal(curves.starting_torque, curves.sustained_torque)
    name = "drive" if lasts else "drive from standstill"
    ax.plot(curves.ratio, curves.starting_torque / arm, label=name)
    if not lasts:
        sustained = curves.sustained_torque / arm
        ax.plot(curves.ratio, sustained, label="drive for long", ls=style.DASHED)
    if load.starting_torque == load.running_torque:
        needs = [(load.running_torque, "load", "-")]
    else:
        needs = [
            (load.starting_torque, "load to start", "-"),
            (load.running_torque, "load to keep moving", style.DASHED),
        ]
    if np.isfinite(load.usable_torque):
        needs.append((load.usable_torque, "load slips or tips", style.DOTTED))
    for torque, what, dashes in needs:
        name = f"{what}, {torque / arm:.3g} {unit}"
        ax.axhline(torque / arm, label=name, color=style.WARM, ls=dashes)
    straight = duty.drive.starting_torque / arm
    _mark_direct(ax, straight, f"{straight:.3g} {unit}")


def _draw_speed(ax: Axes, duty: Duty, pace: float, unit: str) -> None:
    """Draw how fast the load moves and how fast it is wanted to, rpm times the pace."""
    curves, load = duty.curves(), duty.load
    moves = np.where(curves.speed > 0.0, pace, np.nan)
    lightest = load.min_running_torque / load.running_torque
    name = "load" if lightest == 1.0 else "load at its heaviest, drum full"
    ax.plot(curves.ratio, curves.speed * moves, label=name)
    if lightest != 1.0:
        torque = load.min_running_torque / (duty.efficiency * curves.ratio)
        quick = duty.drive.speed_at(torque) / curves.ratio * lightest
        name = "load at its lightest, drum bare"
        ax.plot(curves.ratio, quick * moves, label=name, ls=style.DASHED)
    wanted = duty.wanted_speed * pace
    name = f"wanted, {wanted:.3g} {unit}"
    ax.axhline(wanted, label=name, color=style.WARM, ls=style.DOTTED)
    straight = float(replace(duty, stages=0).output_speed(1.0)) * pace
    _mark_direct(ax, straight, f"{straight:.3g} {unit}" if straight else "stands still")
    slow, fast = (share * wanted for share in duty.speed_band)
    allowed = f"will do, {slow:.3g} to {fast:.3g} {unit}"
    ax.axhspan(slow, fast, label=allowed, color=style.PALE_WARM, lw=0.0, zorder=-1)
    ax.set_ylim(bottom=0.0)


def _mark_direct(ax: Axes, at: float, value: str) -> None:
    """Mark the drive coupled straight to the output."""
    look: dict[str, Any] = {"color": style.COOL, "ms": 11.0, "mew": 2.2, "zorder": 6}
    ax.plot([1.0], [at], "x", label=f"direct drive, {value}", clip_on=False, **look)


@rc_context(style.LOOK)
def plot_pareto(
    x: ArrayLike,
    y: ArrayLike,
    front: ArrayLike,
    x_label: str,
    y_label: str,
    names: Sequence[str] | None = None,
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
    across, up, front = style.rows("candidate", {"x": x, "y": y, "front": front})
    best = front.astype(bool)
    if not best.any():
        raise GearworkError("no candidate is on the front: mark at least one")
    (ax,) = style.panels((8.4, 5.2))
    ax.plot(
        across[~best], up[~best], ".", label="beaten", color=style.GREY, alpha=0.7, ms=5.0, mew=0.0
    )
    order = np.flatnonzero(best)[np.argsort(across[best], kind="stable")]
    look: dict[str, Any] = {"color": style.WARM, "ms": 6.0, "mec": "white", "zorder": 4}
    ax.plot(across[order], up[order], "o-", label="front", **look)
    ax.margins(0.1)
    ax.legend()
    if names is not None:
        shown = order[_spread_out(across[order], up[order])]
        _number_places(ax, [(float(across[i]), float(up[i]), names[i]) for i in shown])
    ax.set(
        title=f"{len(order)} of {len(across)} candidates are on the front",
        xlabel=x_label,
        ylabel=y_label,
    )
    return ax


def _number_places(ax: Axes, places: Sequence[tuple[float, float, str]]) -> None:
    """Number places on a picture, and list the numbers beside it; equal texts share a number."""
    texts = list(dict.fromkeys(text for _, _, text in places))
    ring = {"boxstyle": "circle,pad=0.25", "facecolor": "white", "edgecolor": style.INK}
    look: dict[str, Any] = {"ha": "center", "va": "center", "bbox": ring, "path_effects": None}
    for x, y, text in places:
        style.note(ax, f"{texts.index(text) + 1}", (x, y), **look)
    lines = ["on the front", *(f"{count:>2}  {text}" for count, text in enumerate(texts, start=1))]
    ax.text(1.02, 1.0, "\n".join(lines), va="top", linespacing=1.6, transform=ax.transAxes)


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


@rc_context(style.LOOK)
def plot_backlash(
    pinion_angle: ArrayLike,
    backlash: ArrayLike,
    clearance: ArrayLike | None = None,
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
    given = {"angles": pinion_angle, "backlash": backlash}
    given["clearance"] = backlash if clearance is None else clearance
    angle, play, room = style.rows("position", given)
    if not np.isfinite(play).any():
        raise GearworkError("the gears meet nowhere: set them nearer to each other")
    (ax,) = style.panels((8.4, 4.2))
    play, room = (np.where(np.isfinite(each), each, np.nan) for each in (play, room))
    ax.plot(angle, play, label="backlash")
    if clearance is not None:
        name = "clearance, pinion amid its play"
        ax.plot(angle, room, label=name, color=style.COOL, ls=style.DASHED)
    least = int(np.nanargmin(play))
    look: dict[str, Any] = {"color": style.WARM, "ms": 8.0, "mec": "white", "zorder": 5}
    name = f"smallest, {play[least]:.3f} mm"
    ax.plot([angle[least]], [play[least]], "o", label=name, clip_on=False, **look)
    ax.axhline(0.0, color=style.WARM, ls=style.DASHED, label="touches")
    ax.margins(x=0.0)
    found = "they bind" if play[least] < 0.0 else "they turn freely"
    ax.set(
        title=f"two outlines turned against each other: {found}",
        xlabel="turn of the pinion, degrees",
        ylabel="backlash, mm" if clearance is None else "backlash and clearance, mm",
    )
    style.key(ax)
    return ax
