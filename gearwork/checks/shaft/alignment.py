"""How far two bent shafts tilt and move the gears of one mesh against each other."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import cos, floor, hypot, inf, radians, sin
from typing import Any

import numpy as np

from gearwork.checks.check import Check, Step
from gearwork.checks.shaft.beam import Shaft, ShaftLoad, face_load_factor, root_share_exponent
from gearwork.checks.tooth.mesh import MIN_CONTACT_RATIO, CutPair, distance_tolerance
from gearwork.errors import GearworkError
from gearwork.geometry.pair import PairShape
from gearwork.numbers import Floats, last_that
from gearwork.stock.laminate import Panel

MAX_FACE_FACTOR, WANTED_FACE_FACTOR = 4.0, 1.3  # above 2 part of the width alone touches, at 4 half
_DIRECTIONS = np.arange(0.0, 180.0, 2.5)  # of the sheet, for its mean modulus, degrees
_ROUNDING = 1e-6
EDGE_LOAD = "edge load"
RUN_IN = 0.5
"""Share of the backlash that may be worn off while the teeth run in (assumption)."""


@dataclass(frozen=True)
class MeshAlignment:
    """One mesh between two shafts, bent by everything that loads them at the same time.

    Places along the shafts and directions across them are in the same coordinates for both;
    `pinion` and `wheel` name the loads that this mesh puts on them, as made by `mesh_load`.
    """

    pinion_shaft: Shaft
    wheel_shaft: Shaft
    pinion: str
    wheel: str

    def __post_init__(self) -> None:
        (first, towards), (second, back) = self._on_pinion, self._on_wheel
        left = hypot(*(a + b for a, b in zip(first.force, second.force, strict=True)))
        turned = (back - towards) % 360.0
        names = f"{self.pinion} and {self.wheel}"
        if abs(turned - 180.0) > _ROUNDING or first.position != second.position:
            raise GearworkError(
                f"{names} do not face each other: the directions to their mates are {turned:g}°"
                f" apart instead of 180°, their positions are {first.position:g} and"
                f" {second.position:g} mm; give both shafts in the same coordinates"
            )
        if left > _ROUNDING * self.force:
            raise GearworkError(
                f"forces of {names} on their shafts add up to {left:.3g} N: they must add up to 0,"
                " opposite and equal; give both the torque of one moment, without losses"
            )

    @property
    def force(self) -> float:
        """Between the teeth, N."""
        return hypot(*self._on_wheel[0].force)

    @property
    def face_width(self) -> float:
        """Of the mesh, mm: the narrower of both."""
        return min(load.face_width or inf for load, _ in (self._on_pinion, self._on_wheel))

    @property
    def edge_gap(self) -> float:
        """Gap between the flanks at one edge when they touch at the other, mm.

        Slope of one shaft against the other in the direction of the tooth force, times the face
        width; a tilt along the flanks parts nothing.
        """
        if self.force == 0.0:
            return 0.0
        towards = np.array(self._on_wheel[0].force) / self.force
        return abs(float(self._apart(Shaft.slope_at) @ towards)) * self.face_width

    @property
    def distance_change(self) -> float:
        """By how much the gears move apart along the line of centres, mm; negative: nearer."""
        angle = radians(self._on_pinion[1])
        return float(self._apart(Shaft.deflection_at) @ np.array([cos(angle), sin(angle)]))

    def face_factor(self, modulus: float) -> float:
        """Return K_Hβ for gears of that modulus, MPa; it is the same whatever the load."""
        return float(face_load_factor(self.edge_gap, self.face_width, self.force, modulus))

    @property
    def _on_pinion(self) -> tuple[ShaftLoad, float]:
        return self.pinion_shaft.mesh(self.pinion)

    @property
    def _on_wheel(self) -> tuple[ShaftLoad, float]:
        return self.wheel_shaft.mesh(self.wheel)

    def _apart(self, bent: Callable[[Shaft, float], Floats]) -> Floats:
        """What the wheel's shaft does less what the pinion's does."""
        place = self._on_pinion[0].position
        return bent(self.wheel_shaft, place) - bent(self.pinion_shaft, place)


@dataclass(frozen=True)
class BarAlignment(MeshAlignment):
    """A pinion on a bent shaft beside a rack that its bed keeps in place: one shaft bends.

    `pinion` names the load that presses on the shaft; the rack, so wide (mm), lies in `direction`,
    degrees.
    """

    direction: float = 0.0
    width: float = 0.0

    def __post_init__(self) -> None:
        """Nothing faces each other here."""

    @property
    def _on_pinion(self) -> tuple[ShaftLoad, float]:
        load = next(one for one in self.pinion_shaft.loads if one.name == self.pinion)
        return replace(load, mate_direction=self.direction, face_width=self.width), self.direction

    @property
    def _on_wheel(self) -> tuple[ShaftLoad, float]:
        load, _ = self._on_pinion
        x, y = load.force
        return replace(load, force=(-x, -y)), self.direction + 180.0

    def _apart(self, bent: Callable[[Shaft, float], Floats]) -> Floats:
        return -bent(self.pinion_shaft, self._on_pinion[0].position)


def mean_modulus(panel: Panel) -> float:
    """Return Young's modulus of a sheet or stack, mean of all directions, MPa."""
    return float(np.mean(panel.modulus_at(_DIRECTIONS)))


def tooth_depth(pair: PairShape[Any]) -> Any:
    """Return the depth of the deeper teeth of a pair, mm."""
    depths = ((gear.tip_diameter - gear.root_diameter) / 2 for gear in (pair.pinion, pair.wheel))
    return np.maximum(*depths)


def max_face_factor(reserve: Any, face_width: Any, depth: Any) -> Any:
    """Return the greatest K_Hβ, as `LoadedMesh.max_face_factor` says; arrays too."""
    spared = np.maximum(reserve, 1.0) ** (1.0 / root_share_exponent(face_width, depth))
    return np.where(reserve < 1.0, MAX_FACE_FACTOR, np.minimum(spared, MAX_FACE_FACTOR))


@dataclass(frozen=True)
class Askew:
    """Something of a mesh that is not square: what, and the gap it opens at one edge, mm."""

    what: str
    gap: float


@dataclass(frozen=True)
class LoadedMesh:
    """A mesh under its largest loads: driving, and braking if it does that too.

    `modulus` is Young's modulus of what the gears are cut from, MPa; `reserve` is how many times
    those loads the teeth bear; `askew` is what stands askew without any load.
    """

    senses: tuple[MeshAlignment, ...]
    cut: CutPair
    modulus: float
    reserve: float = 1.0
    askew: tuple[Askew, ...] = ()

    @classmethod
    def of(
        cls,
        senses: Iterable[MeshAlignment],
        cut: CutPair,
        panel: Panel,
        reserve: float = 1.0,
        askew: tuple[Askew, ...] = (),
    ) -> "LoadedMesh":
        """Return the mesh of gears cut from a sheet or stack: its mean modulus counts."""
        return cls(tuple(senses), cut, mean_modulus(panel), reserve, askew)

    @cached_property
    def worst(self) -> MeshAlignment:
        """The sense in which the teeth's edge is loaded most.

        Not the one of the greatest factor: a light load at one edge alone is still a light load.
        """
        return max(self.senses, key=lambda mesh: mesh.face_factor(self.modulus) * mesh.force)

    @property
    def max_face_factor(self) -> float:
        """Greatest K_Hβ: what the root bears in reserve it may be loaded more at its edge.

        K_Fβ = K_Hβ^N_F counts at the root and must not pass the reserve; nor may less than half
        of the width touch, whatever the reserve. Teeth without any fail a check of their own.
        """
        depth = tooth_depth(self.cut.pair)
        return float(max_face_factor(self.reserve, self.worst.face_width, depth))

    @cached_property
    def face_factor(self) -> float:
        """K_Hβ, how much harder than on average the flanks are loaded at one edge."""
        return self.worst.face_factor(self.modulus)

    @property
    def root_reserve(self) -> float:
        """How many times these loads the roots bear where the edge is loaded most.

        Bending and mesh give in proportion to the load: K_Hβ stays, and K_Fβ with it.
        """
        exponent = root_share_exponent(self.worst.face_width, tooth_depth(self.cut.pair))
        return float(self.reserve / self.face_factor**exponent)

    @cached_property
    def distance_change(self) -> float:
        """What brings the gears nearest to binding or to losing contact, mm; negative: nearer."""
        return max((mesh.distance_change for mesh in self.senses), key=self._distance_share)

    @property
    def distance_reserve(self) -> float:
        """How many times these loads may bend the rods until the gears bind or lose contact."""
        share = self._distance_share(self.distance_change)
        return 1.0 / share if share else inf

    def distance_room(self, change: float) -> float:
        """By how much the gears may move apart, or nearer, mm."""
        return _room(self.cut, change >= 0.0)

    def _distance_share(self, change: float) -> float:
        room = self.distance_room(change)
        return abs(change) / room if room else inf

    def assembled_factor(self, share: float = 1.0) -> float:
        """Return K_Hβ before the teeth have run in, under this share of the loads.

        Bending grows with the load, what stands askew does not: it turns with each gear, adds up
        as independent errors do, and once in a turn it adds to the bending (as f_ma to f_sh of
        ISO 6336-1).
        """
        mesh = self.worst
        gap = share * mesh.edge_gap + hypot(*(one.gap for one in self.askew))
        factor = face_load_factor(gap, mesh.face_width, share * mesh.force, self.modulus)
        return float(factor)

    @property
    def running_in_share(self) -> float:
        """Share of the greatest load that the roots bear before the teeth have run in."""
        exponent = root_share_exponent(self.worst.face_width, tooth_depth(self.cut.pair))
        spared = max(self.reserve, 1.0)

        def borne(share: float) -> bool:
            return bool(share * self.assembled_factor(share) ** exponent <= spared)

        return 1.0 if borne(1.0) else last_that(borne, 1e-3, 1.0, 30)


def alignment_checks(loaded: LoadedMesh) -> tuple[Check, ...]:
    """Judge a mesh by how its shafts bend: load on the edge of the teeth, centre distance.

    What stands askew without a load runs in, if it is little; until then it is something to watch.
    """
    bent = _edge_check(loaded), _distance_check(loaded)
    if not loaded.askew:
        return bent
    return (*bent, _askew_check(loaded), _assembled_check(loaded))


def _askew_check(loaded: LoadedMesh) -> Check:
    """Whether the flanks of unloaded teeth lie against each other well enough to run in."""
    gap, first = hypot(*(one.gap for one in loaded.askew)), max(loaded.askew, key=lambda a: a.gap)
    limit = max(loaded.cut.pair.backlash, 0.0) * RUN_IN
    return Check(
        judged="gap at one edge as assembled",
        value=gap,
        limit=limit,
        unit="mm",
        sense="at most",
        meaning=(
            "A tooth that leans in its space takes that much of the backlash, and running in wears"
            " it off one edge of the flanks.",
        ),
        why=f"Most of it is {first.what}, {first.gap:.3f} mm.",
        source="geometry; half the backlash, from which on teeth count as worn (assumption)",
        basis=_gaps(loaded.askew),
    )


def _gaps(askew: Iterable[Askew]) -> tuple[Step, ...]:
    return tuple(Step(f"gap by {one.what}", one.gap, "mm", "geometry") for one in askew)


def _assembled_check(loaded: LoadedMesh) -> Check:
    bent = Askew("bending of the rods", loaded.worst.edge_gap)
    every = (bent, *loaded.askew)
    first = max(every, key=lambda one: one.gap)
    share = loaded.running_in_share
    return Check(
        judged="load borne before running in",
        kind="stiffness",
        value=share,
        limit=0.0,
        wanted=1.0,
        unit="of the largest load",
        sense="at least",
        meaning=(
            "Until the flanks shine over their whole width it bears"
            f" {floor(100.0 * share):d} % of its load.",
        ),
        why="What stands askew when it is put together opens a gap at one edge of the teeth until"
        f" they have run in: {loaded.assembled_factor():.3g} times the mean there. Most of it is"
        f" {first.what}, {first.gap:.3f} mm.",
        source="ISO 6336-1, F_βx of f_sh and f_ma, K_Hβ and K_Fβ (from memory)",
        basis=_gaps(every),
    )


def _edge_check(loaded: LoadedMesh) -> Check:
    mesh, factor = loaded.worst, loaded.face_factor
    return Check(
        judged=EDGE_LOAD,
        kind="stiffness",
        value=factor,
        limit=loaded.max_face_factor,
        wanted=WANTED_FACE_FACTOR,
        unit="",
        sense="at most",
        why=f"Both rods bend and tilt the gears against each other, by {mesh.edge_gap:.3f} mm over"
        " their face under the largest load; the edge of the teeth carries this many times the"
        f" mean. Above 2 only part of the width touches; the teeth bear {loaded.reserve:.3g} times"
        " this load on their whole width, which is what is left for the edge.",
        source="ISO 6336-1, K_Hβ and K_Fβ (from memory), mesh as stiff as the sheet's mean modulus;"
        " bending of both rods alone, the teeth run in: assumption",
    )


def _distance_check(loaded: LoadedMesh) -> Check:
    change = loaded.distance_change
    way, then, limit = (
        ("apart", "farther apart one tooth leaves before the next takes over", "contact ratio 1")
        if change >= 0.0
        else ("nearer", "nearer they bind", "a quarter of the backlash (assumption)")
    )
    return Check(
        judged="centre distance under load",
        kind="stiffness",
        value=abs(change),
        limit=loaded.distance_room(change),
        unit="mm",
        sense="at most",
        why=f"Both rods bend and the gears move {way} under the largest load, on top of the"
        f" shafts' own tolerance; {then}.",
        source=f"EI v'' = M at the core diameter of both rods; limit: {limit}",
    )


@lru_cache(maxsize=128)
def _room(cut: CutPair, apart: bool) -> float:
    """By how much the gears may move apart, or nearer, mm."""
    tolerance = distance_tolerance(cut.pair)
    if not apart:
        return tolerance / 2.0
    return max(_farthest(cut) - cut.pair.centre_distance - tolerance, 0.0)


@lru_cache(maxsize=64)
def _farthest(cut: CutPair) -> float:
    """Centre distance at which the contact ratio is 1, mm; as given where it is less."""
    pair = cut.pair
    near = pair.centre_distance
    far = (pair.pinion.tip_diameter + pair.wheel.tip_diameter) / 2.0
    return last_that(lambda a: cut.contact_ratio_at(a) >= MIN_CONTACT_RATIO, near, far, 30)
