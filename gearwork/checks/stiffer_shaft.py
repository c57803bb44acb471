"""What to change on a shaft that bends too far: a thicker rod, shorter distances; tried out."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from gearwork.checks.beam import Shaft
from gearwork.errors import GearworkError
from gearwork.stock.hardware import Bearing, Rod, bearing, bearings, rod, threads

Change = Callable[[Shaft], Shaft]
Trial = Callable[[Change], bool]
"""Whether a check holds with shafts changed like this."""

SHARES = range(95, 45, -5)
"""Shares of the distances that are tried, %."""


def stiffer_shaft(shaft: Shaft, holds: Trial, rods: str) -> Iterator[str]:
    """Yield the ways in which a stiffer shaft is enough.

    Parameters
    ----------
    shaft : Shaft
        As it is.
    holds : callable
        Makes the check again with changed shafts.
    rods : str
        What to say of a rod that is enough, with {rod} and {bearing} to be filled in.
    """
    for on in thicker_rods(shaft.rod):
        ball = bearing_on(on, shaft.bearing)
        if enough(holds, partial(replace, rod=on, bearing=ball)):
            yield rods.format(rod=on.thread, bearing=ball.name)
            break
    for share in SHARES:
        if enough(holds, partial(closer, share=share / 100.0, about=shaft.bearing_positions[0])):
            yield f"move gears and bearings together, to {share} % of their distances"
            break


def enough(holds: Trial, change: Change) -> bool:
    """Return whether a change can be made and is enough."""
    try:
        return holds(change)
    except GearworkError:
        return False  # the bearings would stand in each other


def fitting_bearings(on: Rod) -> list[Bearing]:
    """Return the bearings of the table through which a rod goes, the weakest first."""
    fitting = [ball for ball in map(bearing, bearings()) if ball.bore >= on.diameter]
    return sorted(fitting, key=lambda ball: ball.dynamic_rating)


def thicker_rods(than: Rod) -> list[Rod]:
    """Return the rods of the table that are thicker, of the same grade, thinnest first."""
    rods = (rod(name, than.grade.name) for name in threads())
    return [one for one in rods if one.diameter > than.diameter]


def bearing_on(on: Rod, present: Bearing) -> Bearing:
    """Return the present bearing if the rod goes through it, else the smallest no weaker."""
    if present.bore >= on.diameter:
        return present
    fitting = fitting_bearings(on)
    return next(
        (ball for ball in fitting if ball.dynamic_rating >= present.dynamic_rating), fitting[-1]
    )


def closer(shaft: Shaft, share: float, about: float) -> Shaft:
    """Return the shaft with all distances of bearings and loads from `about` shrunk."""

    def moved(x: float) -> float:
        return about + share * (x - about)

    first, second = shaft.bearing_positions
    return replace(
        shaft,
        bearing_positions=(moved(first), moved(second)),
        loads=tuple(replace(load, position=moved(load.position)) for load in shaft.loads),
    )
