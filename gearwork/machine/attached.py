"""What is fixed to the ends of shafts: drum, wheels, crank, the chuck of a drill.

Each presses across its shaft at a place outside the bearings. Where the direction is not known,
or goes round with the shaft, all directions are tried and the worst one counts.
"""

from dataclasses import dataclass
from functools import reduce
from math import cos, pi, sin
from typing import Any, Literal

import numpy as np

from gearwork.checks.shaft.beam import ShaftLoad
from gearwork.errors import number

Force = tuple[Any, Any]
Push = tuple[Force, float]
"""Force on one piece, N, and its share of the torque."""
End = Literal["input", "output"]

MAX_OVERHANG = 1000.0
_NONE = 1e-9  # N: no force
ROUND = 8  # directions tried, 45° apart: the worst is missed by at most 1 - cos 22.5° = 8 %


@dataclass(frozen=True)
class Attached:
    """Something on the end of a shaft that presses across it.

    `overhang` is the distance from the outer face of the plate to its middle, mm; `directions`
    holds the forces on the shaft that are possible, (x, y) in the train's coordinates, N, on each
    of its `count` pieces: 1 on the end beyond the last plate (the drive's beyond the first), 2 on
    both ends, which share the torque. `alone` holds what else may be of two pieces: the force on
    one that takes all the torque, and that on the other. `side` is a couple in the plane of the
    force, N·mm, from a force along the shaft. Forces and couple may be arrays, of the shafts of
    many trains.
    """

    name: str
    overhang: float
    directions: tuple[Force, ...]
    count: int = 1
    side: Any = 0.0
    alone: tuple[tuple[Force, Force], ...] = ()

    def __post_init__(self) -> None:
        name = f"overhang of the {self.name}"
        number(name, self.overhang, unit="mm", at_least=0.0, at_most=MAX_OVERHANG)

    @property
    def ways(self) -> tuple[tuple[Push, ...], ...]:
        """Every way in which it may press: on each of its pieces force and share of the torque."""
        alike = (((force, 1.0 / self.count),) * self.count for force in self.directions)
        all_on_one = (((one, 1.0), (other, 0.0)) for one, other in self.alone)
        either = (way for pushes in all_on_one for way in (pushes, pushes[::-1]))
        return (*alike, *either)

    @property
    def force(self) -> Any:
        """The largest of the forces that are possible, N, of all pieces together."""
        found = [sum(np.hypot(*force) for force, _ in way) for way in self.ways]
        return reduce(np.maximum, found)

    def loads(
        self, end: End, faces: tuple[float, float], torque: float, way: int
    ) -> tuple[ShaftLoad, ...]:
        """Return what it does to a shaft whose plates' outer faces are here, mm.

        `torque` is what it puts into the shaft, N·m; `way` says which of its ways. A couple M
        together with a force F is the force alone, M / F farther out (statics).
        """
        pushes = self.ways[way]
        return tuple(
            ShaftLoad(self.name, float(place), (float(x), float(y)), torque * share)
            for place, ((x, y), share) in zip(self.places(end, faces, way), pushes, strict=True)
        )

    def places(self, end: End, faces: tuple[Any, Any], way: int) -> list[Any]:
        """Return where each of its pieces presses, mm, as `loads` says. Arrays too."""
        outwards = [(faces[1], 1.0), (faces[0], -1.0)]
        if end == "input":
            outwards.reverse()
        return [
            face + sense * (self.overhang + self.side / np.maximum(np.hypot(*force), _NONE))
            for (face, sense), (force, _) in zip(outwards, self.ways[way], strict=False)
        ]


def _all_round(force: Any) -> tuple[Force, ...]:
    if np.all(force == 0.0):
        return ((0.0, 0.0),)
    turns = (2 * pi * i / ROUND for i in range(ROUND))
    return tuple((force * cos(turn), force * sin(turn)) for turn in turns)


def drum(pull: Any, direction: float, overhang: float) -> Attached:
    """Return a rope drum: the rope pulls in the direction in which it leaves, ° from +x to +y."""
    turn = pi * direction / 180.0
    return Attached("drum", overhang, ((pull * cos(turn), pull * sin(turn)),))


def wheels(
    weight: Any,
    traction: Any,
    diameter: float,
    overhang: float,
    count: int = 1,
    side: Any = 0.0,
    alone: bool = False,
) -> Attached:
    """Return driven wheels: each carries weight, N, upwards; all pull along the ground, N.

    Ahead may be +x or -x: the frame does not say. A force along the axle, `side`, acts at the
    ground, half a diameter (mm) below the axle, and bends it further; at the worse sign. `alone`:
    either of two may have to pull for both, against a step or with the other off the ground.
    """
    senses = (1.0,) if np.all(traction == 0.0) else (1.0, -1.0)
    ways = tuple((sense * traction / count, weight) for sense in senses)
    one = tuple(((sense * traction, weight), (0.0 * traction, weight)) for sense in senses)
    couple = side * diameter / 2
    return Attached("wheel", overhang, ways, count, couple, one if alone and count == 2 else ())


def crank(torque: Any, length: float, overhang: float) -> Attached:
    """Return a crank: the push at its handle goes round with it. N·m, mm."""
    return Attached("crank handle", overhang, _all_round(1000.0 * np.abs(torque) / length))


def chuck(side_force: Any, overhang: float, name: str = "chuck") -> Attached:
    """Return a drive or load coupled to the rod, which leans on it with so much force, N."""
    return Attached(name, overhang, _all_round(side_force))
