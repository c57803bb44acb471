"""Common kinds of drives, and what they can give for how long."""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

import numpy as np

from gearwork.errors import GearworkError
from gearwork.machine.drive import RPM
from gearwork.stock.tables import table

Spread = tuple[float, float, float]


@dataclass(frozen=True)
class Work:
    """How a motor is used: the share of its stall torque that it bears, and why."""

    share: float
    why: str


# A motor's copper warms with the square of its torque; only the fan on its shaft cools it.
WORK = {
    "running": Work(0.3, "for long, its fan turning at more than half speed (assumption)"),
    "short runs": Work(0.5, "runs of up to a minute, then three to cool (assumption)"),
    "holding": Work(
        0.1, "standing under load: at a third of it a motor smokes within half a minute (seen)"
    ),
}

# Power a person gives at a crank, W, by how long it takes, minutes.
_CRANKING = ((5.0, 136.0), (60.0, 60.0), (240.0, 40.0), (480.0, 30.0))


def crank_power(minutes: float) -> float:
    """Return what a healthy grown-up gives at a crank for so long, W.

    136 W for minutes (handbooks, seen), 30 to 50 W for hours (from memory); between by the
    logarithm of time. However short, no more than for five minutes is counted on.
    """
    times, powers = zip(*_CRANKING, strict=True)
    return float(np.interp(np.log(minutes), np.log(times), powers))


def motor_heat(torque: float, speed: float, no_load_speed: float) -> float:
    """Return the heat in a permanent-magnet motor, W: T (ω0 − ω), with current as its torque."""
    return torque * (no_load_speed - speed) * RPM


@dataclass(frozen=True)
class DriveKind:
    """A kind of drive: least, usual and most of each figure; units as in the data file."""

    name: str
    torque: Spread
    low_speed: Spread
    high_speed: Spread
    inertia: Spread
    clutch: bool
    source: str


@cache
def drive_kinds() -> tuple[DriveKind, ...]:
    """Return every kind in the table, in its order."""
    return tuple(
        DriveKind(
            name=row["name"],
            torque=tuple(row["torque"]),
            low_speed=tuple(row["low_speed"]),
            high_speed=tuple(row["high_speed"]),
            inertia=tuple(row["inertia"]),
            clutch=row["clutch"],
            source=row["source"],
        )
        for row in table("drives")["drive"]
    )


def drive_kind(name: str) -> DriveKind:
    """Return the kind of drive of that name.

    Raises
    ------
    GearworkError
        If there is none; the text lists the names and the nearest one.
    """
    known = {kind.name: kind for kind in drive_kinds()}
    if name in known:
        return known[name]
    near = get_close_matches(str(name), known, n=1, cutoff=0.3)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise GearworkError(f"drive is {name!r}: it must be one of {', '.join(known)}{hint}")
