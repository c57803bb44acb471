"""Placement: the gears of a train on their shafts, the shafts in their frame.

Shafts and stages are counted from 0 here and from 1 in names and sentences. Shaft 0 is the
drive's; stage i turns shaft i + 1 from shaft i; a shaft between carries the wheel of one stage
and the pinion of the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from gearwork.design.arrangement import (
    Cylinder,
    Point,
    StackUp,
    coaxial_angles,
    folded_angles,
    neighbours_differ,
    on_one_axis,
    positions,
)
from gearwork.design.frame import Frame, ShaftParts
from gearwork.design.stage import MountedGear, Stage
from gearwork.errors import GearworkError, number, whole_number

Arrangement = Literal["folded", "in line", "coaxial"] | Sequence[float]


@dataclass(frozen=True)
class AxisPlace:
    """One axis for the spacing drawing.

    Attributes
    ----------
    name : str
        "shaft 1", or "shafts 1 and 3" on one axis.
    shafts : tuple of int
        The shafts that stand on it.
    at : (float, float)
        mm.
    bore : float
        Diameter of the bearing's seat, mm.
    circles : tuple of (str, float, float, float)
        Name, working pitch, tip and root diameter of each gear, mm.
    """

    name: str
    shafts: tuple[int, ...]
    at: Point
    bore: float
    circles: tuple[tuple[str, float, float, float], ...]


@dataclass(frozen=True)
class Placement:
    """Stages on shafts in a frame.

    Attributes
    ----------
    stages : tuple of Stage
        The drive's first.
    shafts : tuple of ShaftParts
        One more than stages.
    frame : Frame
        Plates, gaps, clearances, spacers, ground.
    arrangement : {"folded", "in line", "coaxial"} or sequence of float
        Folded: each shaft as close to the last but one as bodies and clearance allow. Coaxial:
        a reverted train of two stages with equal centre distances, its first and last shaft on
        one axis with a plate between them. Or the direction of each centre line, degrees.
    planes : tuple of int
        Plane of gears of each stage, the lowest is 0; by default each stage has its own, in
        order. Two stages may share one if they share no shaft.

    Raises
    ------
    GearworkError
        If numbers of shafts, planes or angles do not go with the stages, or the arrangement
        cannot be.
    """

    stages: tuple[Stage, ...]
    shafts: tuple[ShaftParts, ...]
    frame: Frame
    arrangement: Arrangement = "folded"
    planes: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        stages, shafts = tuple(self.stages), tuple(self.shafts)
        if not stages:
            raise GearworkError("the train has no stages: at least 1 is needed")
        if len(shafts) != len(stages) + 1:
            raise GearworkError(
                f"shafts: {len(shafts)}; {len(stages)} stages need {len(stages) + 1}; give the"
                " parts of each shaft, the drive's first"
            )
        planes = tuple(self.planes) or tuple(range(len(stages)))
        _check_planes(planes, len(stages))
        arrangement = _checked_arrangement(self.arrangement, len(stages))
        given = {"stages": stages, "shafts": shafts, "planes": planes, "arrangement": arrangement}
        for name, value in given.items():
            object.__setattr__(self, name, value)
        _ = self.stack_up

    @property
    def centre_distances(self) -> tuple[float, ...]:
        """a_w of each stage, mm."""
        return tuple(stage.pair.centre_distance for stage in self.stages)

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """Direction of each centre line from shaft to shaft, degrees from +x."""
        if self.arrangement == "in line":
            return (0.0,) * len(self.stages)
        if self.arrangement == "coaxial":
            return coaxial_angles(self.centre_distances)
        if self.arrangement == "folded":
            through = self._stacked(())
            columns = [self._column(shaft, through) for shaft in range(len(self.shafts))]
            height = through.plates[-1][0]
            return folded_angles(self.centre_distances, columns, self.frame, height)
        return tuple(float(angle) for angle in self.arrangement)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Axis of every shaft, mm; the first at (0, 0)."""
        return positions(self.angles, self.centre_distances)

    @cached_property
    def stack_up(self) -> StackUp:
        """Where planes of gears and plates are along z."""
        return self._stacked(on_one_axis(self.points))

    @cached_property
    def gears(self) -> tuple[MountedGear, ...]:
        """All gears at their places: pinion and wheel of each stage in turn."""
        return self._mounted(self.stack_up)

    @cached_property
    def columns(self) -> tuple[tuple[Cylinder, ...], ...]:
        """All bodies on each shaft: its rod, its gears and their hubs."""
        return tuple(self._column(shaft, self.stack_up) for shaft in range(len(self.shafts)))

    @property
    def rod_lengths(self) -> tuple[float, ...]:
        """Length of each rod, mm: through both plates, a nut outside each, and its free end."""
        spans = (self.stack_up.span(shaft) for shaft in range(len(self.shafts)))
        return tuple(
            end - start + 2 * parts.hub_height + parts.free_end
            for (start, end), parts in zip(spans, self.shafts, strict=True)
        )

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of all gears and bearing seats, mm."""
        corners = np.array(self.points)
        radii = np.array([[self._widest(shaft) / 2] for shaft in range(len(self.shafts))])
        (left, low), (right, high) = (corners - radii).min(axis=0), (corners + radii).max(axis=0)
        return float(left), float(low), float(right), float(high)

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, height and depth over the outer plates, mm; free ends of rods not counted."""
        left, low, right, high = self.bounds
        plates = self.stack_up.plates
        return right - left, high - low, plates[-1][1] - plates[0][0]

    @property
    def axes(self) -> tuple[AxisPlace, ...]:
        """The axes for the spacing drawing; shafts on one axis make one."""
        shared = on_one_axis(self.points)
        later = {other for _, other in shared}
        return tuple(
            self._axis((shaft, *(other for one, other in shared if one == shaft)))
            for shaft in range(len(self.shafts))
            if shaft not in later
        )

    @property
    def distances(self) -> tuple[tuple[str, str, float], ...]:
        """Names of two axes and their centre distance, mm; each pair of axes once."""
        names = {shaft: axis.name for axis in self.axes for shaft in axis.shafts}
        found: dict[tuple[str, str], float] = {}
        for stage, distance in enumerate(self.centre_distances):
            start, end = names[stage], names[stage + 1]
            if (end, start) not in found:
                found[start, end] = distance
        return tuple((start, end, distance) for (start, end), distance in found.items())

    def _axis(self, shafts: tuple[int, ...]) -> AxisPlace:
        numbers = " and ".join(str(shaft + 1) for shaft in shafts)
        return AxisPlace(
            name=f"{'shafts' if len(shafts) > 1 else 'shaft'} {numbers}",
            shafts=shafts,
            at=self.points[shafts[0]],
            bore=max(self.shafts[shaft].seat_diameter for shaft in shafts),
            circles=tuple(
                (m.name, m.pitch_diameter, m.gear.tip_diameter, m.gear.root_diameter)
                for m in self.gears
                if m.shaft in shafts
            ),
        )

    def _stacked(self, shared: Sequence[tuple[int, int]]) -> StackUp:
        widths = [stage.face_width for stage in self.stages]
        return StackUp.of(self.planes, widths, self.frame, shared)

    def _mounted(self, stack_up: StackUp) -> tuple[MountedGear, ...]:
        found = []
        for i, (stage, plane) in enumerate(zip(self.stages, self.planes, strict=True)):
            start = stack_up.planes[plane]
            pair = stage.pair
            sides = (
                ("pinion", pair.pinion, i, None),
                ("wheel", pair.wheel, i + 1, stage.windows),
            )
            pitches, end = pair.working_pitch_diameters, start + stage.face_width
            for (side, gear, shaft, windows), pitch in zip(sides, pitches, strict=True):
                name, bore = f"{side} {i + 1}", self.shafts[shaft].rod_diameter
                place = (i, shaft, plane, start, end)
                found.append(MountedGear(name, gear, *place, pitch, bore, windows))
        return tuple(found)

    def _column(self, shaft: int, stack_up: StackUp) -> tuple[Cylinder, ...]:
        parts, name = self.shafts[shaft], f"shaft {shaft + 1}"
        bodies = [Cylinder(f"rod of {name}", *stack_up.span(shaft), parts.rod_diameter)]
        for m in self._mounted(stack_up):
            if m.shaft == shaft:
                hub, height, wide = f"hub of {m.name}", parts.hub_height, parts.hub_diameter
                bodies += [
                    Cylinder(m.name, m.start, m.end, m.gear.tip_diameter, m.stage),
                    Cylinder(hub, m.start - height, m.start, wide, is_hub=True),
                    Cylinder(hub, m.end, m.end + height, wide, is_hub=True),
                ]
        return tuple(bodies)

    def _widest(self, shaft: int) -> float:
        tips = [m.gear.tip_diameter for m in self.gears if m.shaft == shaft]
        return max(self.shafts[shaft].seat_diameter, *tips)


def _check_planes(planes: tuple[int, ...], stages: int) -> None:
    if len(planes) != stages:
        raise GearworkError(f"planes: {len(planes)}; there must be one for each of {stages} stages")
    for plane in planes:
        whole_number("plane of a stage", plane, at_least=0, at_most=stages - 1)
    if set(planes) != set(range(max(planes) + 1)):
        raise GearworkError(f"planes are {planes}: one is empty; number them from 0 without a gap")
    if not neighbours_differ(planes):
        raise GearworkError(
            f"planes are {planes}: a wheel and the pinion behind it sit on one shaft and must be in"
            " different planes"
        )


def _checked_arrangement(arrangement: object, stages: int) -> str | tuple[float, ...]:
    if isinstance(arrangement, str):
        if arrangement in ("folded", "in line", "coaxial"):
            return arrangement
    elif isinstance(arrangement, Sequence):
        angles = tuple(number("angle of a stage", angle, unit="degrees") for angle in arrangement)
        if len(angles) == stages:
            return angles
    raise GearworkError(
        f'arrangement is {arrangement!r}: it must be "folded", "in line", "coaxial" or the'
        f" direction of each centre line in degrees, {stages} numbers"
    )
