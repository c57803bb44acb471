"""Shaft: a rod on two bearings; reactions, moments, torque, deflection and slope along it."""

from dataclasses import dataclass
from functools import cached_property
from math import factorial, hypot, pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from gearwork.checks.shaft_load import ShaftLoad
from gearwork.errors import GearworkError, number
from gearwork.stock.hardware import Bearing, Rod

FloatArray = NDArray[np.float64]

# Stainless steel, the lowest of handbook values 193 to 200 GPa; carbon steel has 205 to 210.
MODULUS = 193_000.0
_STATIONS = 201
_ROUNDING = 1e-6


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

    >>> from gearwork import ShaftLoad, bearing, rod
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
    def reactions(self) -> FloatArray:
        """Force of bearing A and B on the shaft, (F_y, F_z), N, shape (2, 2)."""
        at, forces = self._loads
        a, b = self.bearing_positions
        second = -((at - a) @ forces) / (b - a)
        return np.array([-forces.sum(axis=0) - second, second])

    @property
    def bearing_forces(self) -> tuple[float, float]:
        """Radial force on bearing A and B, N."""
        a, b = self.reactions
        return hypot(*a), hypot(*b)

    @cached_property
    def positions(self) -> FloatArray:
        """Stations along the shaft, mm, shape (k,); twice, before and behind, where a force acts.

        All diagrams are given at these stations.
        """
        nodes = np.unique(self._every[0])
        grid = np.linspace(nodes[0], nodes[-1], _STATIONS)
        stations: FloatArray = np.sort(np.concatenate([np.setdiff1d(grid, nodes), nodes, nodes]))
        return stations

    @cached_property
    def bending_moment(self) -> FloatArray:
        """Bending moment in the planes of F_y and F_z, N·m, shape (k, 2)."""
        places, forces = self._every
        arms: FloatArray = np.maximum(self.positions[:, np.newaxis] - places, 0.0)
        moment: FloatArray = arms @ forces / 1000.0
        return moment

    @cached_property
    def torque(self) -> FloatArray:
        """Torque in the rod, N·m, shape (k,)."""
        x, (at, _) = self.positions, self._loads
        before = np.append(x[1:] == x[:-1], [False])[:, np.newaxis]
        passed = np.where(before, at < x[:, np.newaxis], at <= x[:, np.newaxis])
        torque: FloatArray = -(passed @ np.array([load.torque for load in self.loads]))
        return torque

    @property
    def bending_stress(self) -> FloatArray:
        """32 M/(π d3³), MPa, shape (k,)."""
        section = pi * self.rod.core_diameter**3 / 32.0
        stress: FloatArray = np.hypot(*self.bending_moment.T) * 1000.0 / section
        return stress

    @property
    def shear_stress(self) -> FloatArray:
        """16 T/(π d3³), MPa, shape (k,)."""
        section = pi * self.rod.core_diameter**3 / 16.0
        stress: FloatArray = np.abs(self.torque) * 1000.0 / section
        return stress

    @property
    def von_mises_stress(self) -> FloatArray:
        """sqrt(σ² + 3 τ²), MPa, shape (k,)."""
        stress: FloatArray = np.hypot(self.bending_stress, np.sqrt(3.0) * self.shear_stress)
        return stress

    def deflection_at(self, position: ArrayLike) -> FloatArray:
        """Return the deflection (y, z), mm, shape (..., 2)."""
        a, b = self.bearing_positions
        at_a, at_b = self._bent(np.array([a, b]), 3)
        share = (np.asarray(position, dtype=np.float64)[..., np.newaxis] - a) / (b - a)
        deflection: FloatArray = self._bent(position, 3) - at_a - share * (at_b - at_a)
        return deflection

    def slope_at(self, position: ArrayLike) -> FloatArray:
        """Return the slope of the deflected shaft (y, z), mm per mm, shape (..., 2)."""
        a, b = self.bearing_positions
        at_a, at_b = self._bent(np.array([a, b]), 3)
        slope: FloatArray = self._bent(position, 2) - (at_b - at_a) / (b - a)
        return slope

    def mesh(self, name: str) -> tuple[ShaftLoad, float]:
        """Return the load of a mesh and the direction of its mate, degrees.

        Raises
        ------
        GearworkError
            If there is no load of that name, or it is no mesh.
        """
        for load in self.loads:
            if load.name == name and load.mate_direction is not None:
                return load, load.mate_direction
        listed = ", ".join(load.name for load in self.loads)
        raise GearworkError(
            f"the shaft has no mesh {name!r}: its loads are {listed}; make it with mesh_load(...)"
        )

    @cached_property
    def _loads(self) -> tuple[FloatArray, FloatArray]:
        """Positions (n,) and forces (n, 2) of the loads."""
        at = np.array([load.position for load in self.loads], dtype=np.float64)
        return at, np.array([load.force for load in self.loads], dtype=np.float64)

    @cached_property
    def _every(self) -> tuple[FloatArray, FloatArray]:
        """The same with the bearings."""
        at, forces = self._loads
        places = np.concatenate([at, self.bearing_positions])
        return places, np.concatenate([forces, self.reactions])

    def _bent(self, position: ArrayLike, power: int) -> FloatArray:
        """Σ F ⟨x − x_F⟩ⁿ/(n! EI): deflection (n = 3) or slope (n = 2), level at the start."""
        places, forces = self._every
        x = np.asarray(position, dtype=np.float64)[..., np.newaxis]
        rigidity = MODULUS * pi * self.rod.core_diameter**4 / 64.0
        arms: FloatArray = np.maximum(x - places, 0.0) ** power
        bent: FloatArray = arms @ forces / (factorial(power) * rigidity)
        return bent
