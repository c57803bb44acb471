"""Judge the gears of a train against the room that a design file gives them."""

from collections.abc import Iterator
from typing import Literal

from gearwork.checks.verdict import Check, CheckReport
from gearwork.design.stage import Stage
from gearwork.design.wishes import Room

EXACT = 0.005
"""How far a centre distance may be off from one that is fixed, mm: half of what files keep."""


def check_room(stages: tuple[Stage, ...], room: Room) -> CheckReport:
    """Judge diameters and centre distances; no check where no room is given.

    Parameters
    ----------
    stages : tuple of Stage
        The pairs of gears.
    room : Room
        What there is.
    """
    return CheckReport("room for the gears", tuple(_checks(stages, room)))


def _checks(stages: tuple[Stage, ...], room: Room) -> Iterator[Check]:
    diameters = [
        gear.tip_diameter for stage in stages for gear in (stage.pair.pinion, stage.pair.wheel)
    ]
    distances = [stage.pair.centre_distance for stage in stages]
    if room.greatest_diameter is not None:
        yield _check("greatest diameter", max(diameters), room.greatest_diameter, "at most")
    if room.least_distance is not None:
        yield _check("least centre distance", min(distances), room.least_distance, "at least")
    if room.greatest_distance is not None:
        yield _check("greatest centre distance", max(distances), room.greatest_distance, "at most")
    if room.fixed_distance is not None:
        off = max(abs(distance - room.fixed_distance) for distance in distances)
        yield _check("off the fixed centre distance", off, EXACT, "at most")


def _check(name: str, value: float, limit: float, sense: Literal["at least", "at most"]) -> Check:
    return Check(
        name=name,
        value=value,
        limit=limit,
        unit="mm",
        sense=sense,
        why="The design file gives this much room.",
        remedy="Delete the stages to have others searched, or give them other tooth counts,"
        f" modules or centre distances: {sense} {limit:.2f} mm is asked.",
        source="[room] of the design file",
    )
