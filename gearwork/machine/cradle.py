"""Cradle: a plate on two rods of the frame, with two pegs that keep a drill from turning back."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import reduce
from itertools import chain
from math import cos, pi, radians, sin
from typing import Annotated, Any

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.errors import Bound, GearworkError, check_values
from gearwork.geometry.features import routed_circle
from gearwork.geometry.outline import circle_hull
from gearwork.geometry.part import Cut, Part, Point
from gearwork.geometry.plate import ROD_HOLE
from gearwork.machine.frame import CRADLE, POST, POST_TUBE, TUBE_WALL
from gearwork.stock.bit import Bit

_PEG_AT = 30.0  # from the drill's body to the middle of a peg, mm: past its neck (assumption)
_EASE = 2.0  # the drill's room in its hole and between the pegs, mm: felt or tape (assumption)
_MARGIN = 12.0  # wood beside a hole, mm (assumption)
_HANGS = 40.0  # N on the cradle: a drill of 2 kg, jolted (assumption)
_TUBE_YIELD = 235.0  # MPa, steel S235 (EN 10025, from memory)
_SAFETY = 1.5  # against yield (common practice)


@dataclass(frozen=True)
class Cradle:
    """What is measured of a drill for the plate that holds it.

    Attributes
    ----------
    body_diameter : float, optional
        Of the drill's body just before its handle, over its widest, mm. None: no cradle is cut.
    handle_width : float
        Of the handle across, where it leaves the body, mm.
    handle_distance : float
        From the side plate to the front of the handle, the drill on its rod, mm.
    handle_direction : float
        In which the handle points, from +x to +y, degrees; 270 is down.
    """

    body_diameter: Annotated[float | None, Bound("mm", above=10.0, at_most=150.0)] = None
    handle_width: Annotated[float, Bound("mm", above=0.0, at_most=150.0)] = 40.0
    handle_distance: Annotated[float, Bound("mm", at_least=60.0, at_most=500.0)] = 200.0
    handle_direction: Annotated[float, Bound("°", at_least=-360.0, at_most=360.0)] = 270.0

    def __post_init__(self) -> None:
        check_values(self)

    @property
    def peg_arm(self) -> float:
        """From the axis to the pegs along the handle, mm."""
        return (self.body_diameter or 0.0) / 2.0 + _PEG_AT

    @property
    def pegs(self) -> tuple[Point, Point]:
        """Where the pegs stand, on either side of the handle, the first shaft at (0, 0), mm."""
        turn, aside = radians(self.handle_direction), (self.handle_width + POST.diameter) / 2.0
        aside += _EASE / 2.0
        x, y = self.peg_arm * cos(turn), self.peg_arm * sin(turn)
        (u, v) = -aside * sin(turn), aside * cos(turn)
        return (x + u, y + v), (x - u, y - v)

    def posts(self, places: Iterable[tuple[Any, Any]]) -> tuple[Any, Any]:
        """Which of the frame's rods carry it: the two nearest to the first shaft. Arrays too."""
        at = np.array([np.broadcast_arrays(x, y) for x, y in places])
        nearest = np.argsort(np.round(np.hypot(at[:, 0], at[:, 1]), 6), axis=0, kind="stable")
        first, second = np.take_along_axis(at, nearest[:2, None], axis=0)
        return tuple(first), tuple(second)

    def bounds(self, posts: tuple[Any, Any]) -> tuple[Any, Any, Any, Any]:
        """Smallest x and y, largest x and y of the plate on these rods, mm. Arrays too."""
        circles = [(x, y, size / 2.0) for (x, y), size in self._circles(posts)]
        low = ([x - r for x, _, r in circles], [y - r for _, y, r in circles])
        high = ([x + r for x, _, r in circles], [y + r for _, y, r in circles])
        (left, bottom), (right, top) = (
            [reduce(pick, axis) for axis in ends]
            for ends, pick in ((low, np.minimum), (high, np.maximum))
        )
        return left, bottom, right, top

    def part(self, posts: tuple[Point, Point], bit: Bit, thickness: float) -> Part:
        """Return the plate, as the train stands; all its cuts go through.

        Raises
        ------
        GearworkError
            If the holes come too close to each other.
        """
        wide, holes = (self.body_diameter or 0.0) + _EASE, self._holes(posts)
        beside, apart = self.wood(posts)
        if beside < _MARGIN / 2.0:
            raise GearworkError(
                f"body_diameter under [cradle] is {self.body_diameter:g} mm: it leaves"
                f" {beside:.1f} mm of wood beside a hole, {_MARGIN / 2.0:g} mm are needed; take a"
                " drill that is thinner there, or larger gears"
            )
        if apart < _MARGIN / 2.0:
            raise GearworkError(
                f"handle_direction under [cradle] is {self.handle_direction:g}°: a peg leaves"
                f" {apart:.1f} mm of wood to a tube on a rod, {_MARGIN / 2.0:g} mm are needed;"
                f" {self._turned(posts)}"
            )
        edge = circle_hull(self._circles(posts))
        cuts = [Cut(routed_circle("hole for the drill", wide, bit), "inside edge")]
        cuts += [Cut.drilled(ROD_HOLE, at) for at, _ in holes]
        note = f"hole for the drill {wide:g} mm, pegs beside its handle"
        return Part(CRADLE, edge, thickness, tuple(cuts), grain=None, notes=(note,))

    def _holes(self, posts: tuple[Any, Any]) -> list[tuple[Any, float]]:
        """Middle and diameter of what goes through the plate beside the drill, mm."""
        return [*((at, POST_TUBE) for at in posts), *((at, ROD_HOLE) for at in self.pegs)]

    def _circles(self, posts: tuple[Any, Any]) -> list[tuple[Any, float]]:
        """The drill's hole and those beside it, with the wood about them, mm."""
        drill = ((0.0, 0.0), (self.body_diameter or 0.0) + _EASE)
        return [(at, size + 2.0 * _MARGIN) for at, size in (drill, *self._holes(posts))]

    def wood(self, posts: tuple[Any, Any]) -> tuple[Any, Any]:
        """Return the least wood beside the drill's hole, and between tubes and pegs, mm."""
        wide = (self.body_diameter or 0.0) + _EASE
        beside = [np.hypot(*at) - (wide + size) / 2.0 for at, size in self._holes(posts)]
        near = [_apart(peg, post) for peg in self.pegs for post in posts]
        return reduce(np.minimum, beside), reduce(np.minimum, near) - POST_TUBE

    @property
    def other_directions(self) -> tuple[float, ...]:
        """Directions the handle may be turned to, degrees, the smallest turn first."""
        ways = ((self.handle_direction + n, self.handle_direction - n) for n in range(15, 181, 15))
        return tuple(way % 360.0 for way in chain.from_iterable(ways))

    def _turned(self, posts: tuple[Point, Point]) -> str:
        """Return the smallest turn of the handle that leaves wood enough between pegs and tubes."""
        for direction in self.other_directions:
            if replace(self, handle_direction=direction).wood(posts)[1] >= _MARGIN / 2.0:
                return f"handle_direction = {direction:g} does"
        return "no direction leaves that: take a drill with a thinner handle"

    def peg_force(self, torque: Any) -> Any:
        """Return what a torque, N·m, presses on one peg, N."""
        return 1000.0 * torque / self.peg_arm

    def post_force(self, torque: Any, posts: tuple[Any, Any]) -> Any:
        """Return what a torque, N·m, and the drill's weight press on one tube, N."""
        return 1000.0 * torque / _apart(*posts) + _HANGS / 2.0

    def bears(self, torque: Any, posts: tuple[Any, Any]) -> tuple[tuple[Any, float], ...]:
        """Return stress and limit, MPa, of a peg and of a tube as bars held at one end.

        A peg stands out as far as the handle is wide, most being deeper; it is pressed on its end.
        """
        outer, inner = POST_TUBE, POST_TUBE - 2.0 * TUBE_WALL
        tube = pi * (outer**4 - inner**4) / (32.0 * outer)
        core = pi * POST.core_diameter**3 / 32.0
        peg = self.peg_force(torque) * self.handle_width / core
        post = self.post_force(torque, posts) * self.handle_distance / tube
        return (peg, POST.grade.yield_strength / _SAFETY), (post, _TUBE_YIELD / _SAFETY)

    def demands(self, torque: Any, posts: tuple[Any, Any]) -> dict[str, tuple[Any, Any]]:
        """Return value and limit of all that `check` judges, for many trains."""
        peg, post = (limit / stress for stress, limit in self.bears(torque, posts))
        beside, apart = self.wood(posts)
        return {
            "bending of the cradle": (np.minimum(peg, post), 1.0),
            "wood beside the drill": (beside, _MARGIN / 2.0),
            "wood beside the pegs": (apart, _MARGIN / 2.0),
        }

    def check(self, torque: float, posts: tuple[Point, Point]) -> CheckReport:
        """Judge pegs and frame's rods under a torque, N·m, and the wood of the plate."""
        checks = tuple(
            Check(
                judged="bending",
                part=part,
                kind="strength",
                value=float(stress),
                limit=limit,
                unit="MPa",
                sense="at most",
                why="The drill turns back against it.",
                source="σ = F l/W, yield over 1.5 (common practice)",
            )
            for part, (stress, limit) in zip(
                ("peg", "tube"), self.bears(torque, posts), strict=True
            )
        )
        wood = tuple(
            Check(
                judged=f"wood beside {what}",
                kind="room",
                value=float(left),
                limit=_MARGIN / 2.0,
                unit="mm",
                sense="at least",
                why="The plate has holes for the drill, its pegs and two rods of the frame.",
                source="places of the holes; wood beside them: assumption",
            )
            for what, left in zip(("the drill", "the pegs"), self.wood(posts), strict=True)
        )
        return CheckReport(Subject("hub", "cradle of the drive"), (*checks, *wood))


def _apart(one: tuple[Any, Any], other: tuple[Any, Any]) -> Any:
    """Distance of two points, mm."""
    return np.hypot(one[0] - other[0], one[1] - other[1])
