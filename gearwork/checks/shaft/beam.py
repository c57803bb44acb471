"""Shaft: a rod on two bearings; reactions, moments, torque, deflection and slope along it.

What a gear, a drum or a crank does to it, and formulas of machine elements: bearing life, fatigue
of threads, load on the edge of teeth.
"""

from dataclasses import dataclass
from functools import cached_property
from math import cos, factorial, hypot, pi, radians, tan
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, number
from gearwork.numbers import Floats
from gearwork.stock.hardware import Bearing, Rod


@dataclass(frozen=True)
class ShaftLoad:
    """What acts on a shaft at one place.

    Attributes
    ----------
    name : str
        E.g. "wheel 2".
    position : float
        Along the shaft, mm.
    force : tuple of float
        (F_y, F_z) across the shaft, N.
    torque : float
        Put into the shaft here, N·m, positive from +y to +z.
    mate_direction : float, optional
        Where the mating gear's centre lies, degrees from +y towards +z; for a mesh alone.
    face_width : float, optional
        Of the mesh, mm; for a mesh alone.

    Raises
    ------
    GearworkError
        If a value is no number, or a mesh is half given.

    Examples
    --------
    A drum that takes 2 N·m and hangs on the rod with 100 N:

    >>> ShaftLoad("drum", position=120.0, force=(0.0, -100.0), torque=-2.0).torque
    -2.0
    """

    name: str
    position: float
    force: tuple[float, float]
    torque: float = 0.0
    mate_direction: float | None = None
    face_width: float | None = None

    def __post_init__(self) -> None:
        number(f"position of {self.name}", self.position, unit="mm")
        if not isinstance(self.force, tuple | list) or len(self.force) != 2:
            raise GearworkError(
                f"force of {self.name} is {self.force!r}: two numbers (F_y, F_z) in N are needed"
            )
        for part in self.force:
            number(f"force of {self.name}", part, unit="N")
        number(f"torque of {self.name}", self.torque, unit="N·m")
        if (self.mate_direction is None) != (self.face_width is None):
            raise GearworkError(
                f"{self.name} has only one of mate direction and face width: a mesh needs both,"
                " make it with mesh_load(...)"
            )
        if self.mate_direction is not None:
            number(f"direction of the mate of {self.name}", self.mate_direction, unit="°")
        if self.face_width is not None:
            number(f"face width of {self.name}", self.face_width, unit="mm", above=0.0)


def tooth_force(
    torque: Any, base_diameter: Any, working_pressure_angle: Any, mate_direction: Any
) -> tuple[Any, Any]:
    """Return the force of its mate on a gear, (F_y, F_z), N: along the torque it puts in, and away.

    As `gear_forces`; the mate's centre lies in `mate_direction`, degrees. Arrays too.
    """
    alpha, towards = np.radians(working_pressure_angle), np.radians(mate_direction)
    along = 2000.0 * torque * np.cos(alpha) / base_diameter
    radial, c, s = np.abs(along) * np.tan(alpha), np.cos(towards), np.sin(towards)
    return -radial * c - along * s, -radial * s + along * c


def gear_forces(
    torque: float, base_diameter: float, working_pressure_angle: float
) -> tuple[float, float]:
    """Return tangential and radial force at the working pitch circle of a spur gear, N.

    F_t = 2000 T/d_w, F_r = F_t tan α_w, d_w = d_b / cos α_w (ISO 6336-1; statics); torque in N·m,
    base diameter in mm, angle in degrees.
    """
    number("torque of the gear", torque, unit="N·m")
    number("base diameter", base_diameter, unit="mm", above=0.0)
    angle = number(
        "working pressure angle", working_pressure_angle, unit="°", at_least=0.0, at_most=60.0
    )
    tangential = 2000.0 * abs(torque) * cos(radians(angle)) / base_diameter
    return tangential, tangential * tan(radians(angle))


def mesh_load(
    name: str,
    position: float,
    torque: float,
    base_diameter: float,
    working_pressure_angle: float,
    *,
    mate_direction: float,
    face_width: float,
) -> ShaftLoad:
    """Return what a mesh does to the shaft: the tooth force and the torque it puts in.

    Parameters
    ----------
    name, position, mate_direction, face_width
        As in `ShaftLoad`.
    torque : float
        That the mate puts into this gear, N·m: positive from +y to +z; on a driving gear it is
        against the rotation.
    base_diameter : float
        mm.
    working_pressure_angle : float
        Degrees.

    Returns
    -------
    ShaftLoad
        Force in N, torque in N·m.

    Raises
    ------
    GearworkError
        If a value cannot be.

    Examples
    --------
    2 N·m on a pitch circle of 40 mm: 100 N along the tangent, 100 N · tan 20° away from the mate.

    >>> load = mesh_load("wheel", 50.0, 2.0, 37.5877, 20.0, mate_direction=0.0, face_width=24.0)
    >>> [round(part, 1) for part in load.force]
    [-36.4, 100.0]
    """
    gear_forces(torque, base_diameter, working_pressure_angle)  # refuses what cannot be
    y, z = tooth_force(torque, base_diameter, working_pressure_angle, mate_direction)
    force = (float(y), float(z))
    return ShaftLoad(name, position, force, torque, mate_direction, face_width)


_ENDURANCE_CYCLES = 2e6
_STEEL_MESH, _STEEL_MODULUS = 20.0, 206_000.0  # a steel pair's stiffness, N/(mm·µm), and E, MPa


def bearing_reactions(at: Any, forces: Any, first: Any, second: Any) -> Any:
    """Return the forces of two bearings on a shaft, N, shape (..., 2, 2): A and B, F_y and F_z.

    Forces (..., k, 2) at places (..., k), bearings at `first` and `second` (...), mm. Statics.
    """
    arms = at - np.asarray(first)[..., None]
    turned = np.einsum("...k,...kc->...c", arms, forces)  # several times as fast as a sum
    last = -turned / np.asarray(second - first)[..., None]
    return np.stack([-np.einsum("...kc->...c", forces) - last, last], axis=-2)


def summed_arms(x: Any, places: Any, forces: Any, power: int) -> Any:
    """Return Σ F ⟨x − x_F⟩ⁿ, shape (..., m, 2): moments for n = 1, EI times slope 2, bending 6.

    Of forces (..., k, 2) at places (..., k), looked at in x (..., m); Macaulay's brackets.
    """
    arms = np.maximum(x[..., :, None] - places[..., None, :], 0.0) ** power
    return arms @ forces


def bearing_life(rating: float, load: Any, speed: Any) -> Any:
    """Return the life L10 of a ball bearing that nine in ten reach, hours. Arrays too.

    ISO 281: L10 = (C/P)³ · 10⁶ revolutions, dynamic rating C and load P in N, speed in rpm.
    """
    # Less than a billionth of the rating is the rounding of the statics.
    carried = np.maximum(load, 1e-9 * rating)
    life = np.where(load <= carried * (1 - 1e-12), np.inf, (rating / carried) ** 3)
    return life * 1e6 / (60.0 * speed)


def thread_fatigue_strength(diameter: float, cycles: Any) -> Any:
    """Return the stress amplitude a rolled thread bears for so many load cycles, MPa. Arrays too.

    VDI 2230 Part 1, 5.5.3 (from memory): σ_A = 0.85 (150/d + 45), d in mm, from 2 million cycles
    on; finite life with exponent 1/3, fewer than 10 000 count as 10 000.
    """
    endurance = 0.85 * (150.0 / diameter + 45.0)
    return endurance * (_ENDURANCE_CYCLES / np.clip(cycles, 1e4, _ENDURANCE_CYCLES)) ** (1.0 / 3.0)


def face_load_factor(edge_gap: Any, face_width: Any, force: Any, modulus: Any) -> Any:
    """Return how much harder the teeth's edge is loaded than on average, K_Hβ. Arrays too.

    ISO 6336-1 (from memory): K = 1 + F_β c/(2 F/b), above 2 (contact over part of the width)
    K = sqrt(2 F_β c/(F/b)); misalignment F_β over the face width b in mm, of both shafts together.
    The gears' mesh is softer than steel's in proportion to their Young's modulus, MPa:
    c = 20 N/(mm·µm) · E/E_steel.
    """
    stiffness = _STEEL_MESH * modulus / _STEEL_MODULUS
    loaded = np.where(force > 0.0, force, np.inf)  # no force: none to be uneven
    share = 1000.0 * edge_gap * stiffness * face_width / loaded
    return np.where(share <= 2.0, 1.0 + share / 2.0, np.sqrt(2.0 * share))


def root_share_exponent(face_width: Any, tooth_depth: Any) -> Any:
    """Return N_F: an edge loaded K_Hβ times the mean strains the root K_Fβ = K_Hβ^N_F times.

    The root of a deep tooth evens out what a flank feels at its edge. ISO 6336-1 (from memory):
    N_F = (b/h)² / (1 + b/h + (b/h)²), with b/h at least 3.
    """
    slenderness = np.maximum(face_width / tooth_depth, 3.0)
    return slenderness**2 / (1.0 + slenderness + slenderness**2)


MODULUS = 193_000.0  # stainless steel, the lowest of 193 to 200 GPa; carbon steel has 205 to 210
_STATIONS = 201
_ROUNDING = 1e-6


def section_modulus(core_diameter: float) -> float:
    """Return π d³/32 of a round rod, mm³; twice that in torsion."""
    return pi * core_diameter**3 / 32.0


def rigidity(core_diameter: float) -> float:
    """Return EI of a round rod, N·mm²."""
    return MODULUS * pi * core_diameter**4 / 64.0


@dataclass(frozen=True)
class Shaft:
    """A threaded rod in two bearings, with all that acts on it.

    The rod counts with its core diameter and gives way as a slender beam (EI v'' = M, without
    shear deformation); the bearings hold it at two points and let it tilt.

    Attributes
    ----------
    rod : Rod
        Thread and property class.
    bearing : Bearing
        Of both places.
    bearing_positions : tuple of float
        Middle of bearing A and of B, mm along the shaft, A first.
    loads : tuple of ShaftLoad
        Their torques add up to 0.

    Raises
    ------
    GearworkError
        If the bearings stand in each other, the rod does not go through them, there is no load,
        or the torques do not add up to 0.

    Examples
    --------
    100 N in the middle of 100 mm: half on each bearing, and F L / 4 = 2.5 N·m between them.

    >>> from gearwork.checks import ShaftLoad
    >>> from gearwork.stock import bearing, rod
    >>> load = ShaftLoad("belt", position=50.0, force=(0.0, 100.0))
    >>> shaft = Shaft(rod("M8"), bearing("608"), (0.0, 100.0), (load,))
    >>> shaft.bearing_forces, float(abs(shaft.bending_moment).max())
    ((50.0, 50.0), 2.5)
    """

    rod: Rod
    bearing: Bearing
    bearing_positions: tuple[float, float]
    loads: tuple[ShaftLoad, ...]

    def __post_init__(self) -> None:
        first, second = (
            number(f"position of bearing {name}", x, unit="mm")
            for name, x in zip("AB", self.bearing_positions, strict=True)
        )
        number(
            "distance from bearing A to B", second - first, unit="mm", at_least=self.bearing.width
        )
        number(
            f"bore of the {self.bearing.name} bearing",
            self.bearing.bore,
            unit="mm",
            at_least=self.rod.diameter,
        )
        if not self.loads:
            raise GearworkError("the shaft has no load: give at least one")
        torques = [load.torque for load in self.loads]
        if abs(sum(torques)) > _ROUNDING * max(map(abs, torques)):
            listed = ", ".join(f"{load.name} {load.torque:g}" for load in self.loads)
            raise GearworkError(
                f"torques on the shaft add up to {sum(torques):.4g} N·m ({listed}): they must add"
                " up to 0; give what drives and what brakes it opposite signs"
            )

    @cached_property
    def reactions(self) -> Floats:
        """Force of bearing A and B on the shaft, (F_y, F_z), N, shape (2, 2)."""
        return np.asarray(bearing_reactions(*self._loads, *self.bearing_positions))

    @property
    def bearing_forces(self) -> tuple[float, float]:
        """Radial force on bearing A and B, N."""
        a, b = self.reactions
        return hypot(*a), hypot(*b)

    @cached_property
    def positions(self) -> Floats:
        """Stations along the shaft, mm, shape (k,); twice, before and behind, where a force acts.

        All diagrams are given at these stations.
        """
        nodes = np.unique(self._every[0])
        grid = np.linspace(nodes[0], nodes[-1], _STATIONS)
        stations: Floats = np.sort(np.concatenate([np.setdiff1d(grid, nodes), nodes, nodes]))
        return stations

    @cached_property
    def bending_moment(self) -> Floats:
        """Bending moment in the planes of F_y and F_z, N·m, shape (k, 2)."""
        return np.asarray(summed_arms(self.positions, *self._every, 1) / 1000.0)

    @cached_property
    def torque(self) -> Floats:
        """Torque in the rod, N·m, shape (k,)."""
        x, (at, _) = self.positions, self._loads
        before = np.append(x[1:] == x[:-1], [False])[:, np.newaxis]
        passed = np.where(before, at < x[:, np.newaxis], at <= x[:, np.newaxis])
        torque: Floats = -(passed @ np.array([load.torque for load in self.loads]))
        return torque

    @property
    def bending_stress(self) -> Floats:
        """32 M/(π d3³), MPa, shape (k,)."""
        moment = np.hypot(*self.bending_moment.T)
        return np.asarray(moment * 1000.0 / section_modulus(self.rod.core_diameter))

    @property
    def shear_stress(self) -> Floats:
        """16 T/(π d3³), MPa, shape (k,)."""
        twice = 2.0 * section_modulus(self.rod.core_diameter)
        return np.asarray(np.abs(self.torque) * 1000.0 / twice)

    @property
    def von_mises_stress(self) -> Floats:
        """sqrt(σ² + 3 τ²), MPa, shape (k,)."""
        return np.asarray(np.hypot(self.bending_stress, np.sqrt(3.0) * self.shear_stress))

    def deflection_at(self, position: ArrayLike) -> Floats:
        """Return the deflection (y, z), mm, shape (..., 2)."""
        a, b = self.bearing_positions
        at_a, at_b = self._bent(np.array([a, b]), 3)
        share = (np.asarray(position, dtype=np.float64)[..., np.newaxis] - a) / (b - a)
        return np.asarray(self._bent(position, 3) - at_a - share * (at_b - at_a))

    def slope_at(self, position: ArrayLike) -> Floats:
        """Return the slope of the deflected shaft (y, z), mm per mm, shape (..., 2)."""
        a, b = self.bearing_positions
        at_a, at_b = self._bent(np.array([a, b]), 3)
        return np.asarray(self._bent(position, 2) - (at_b - at_a) / (b - a))

    def mesh(self, name: str) -> tuple[ShaftLoad, float]:
        """Return the load of a mesh and the direction of its mate, degrees."""
        for load in self.loads:
            if load.name == name and load.mate_direction is not None:
                return load, load.mate_direction
        listed = ", ".join(load.name for load in self.loads)
        raise GearworkError(
            f"the shaft has no mesh {name!r}: its loads are {listed}; make it with mesh_load(...)"
        )

    @cached_property
    def _loads(self) -> tuple[Floats, Floats]:
        """Positions (n,) and forces (n, 2) of the loads."""
        at = np.array([load.position for load in self.loads], dtype=np.float64)
        return at, np.array([load.force for load in self.loads], dtype=np.float64)

    @cached_property
    def _every(self) -> tuple[Floats, Floats]:
        """The same with the bearings."""
        at, forces = self._loads
        places = np.concatenate([at, self.bearing_positions])
        return places, np.concatenate([forces, self.reactions])

    def _bent(self, position: ArrayLike, power: int) -> Floats:
        """Σ F ⟨x − x_F⟩ⁿ/(n! EI): deflection (n = 3) or slope (n = 2), level at the start."""
        x = np.asarray(position, dtype=np.float64)
        found = summed_arms(x.reshape(-1), *self._every, power).reshape(*x.shape, 2)
        return np.asarray(found / (factorial(power) * rigidity(self.rod.core_diameter)))
