"""Stack: a gear glued up from several layers, each turned by its own angle."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import cycle, islice
from typing import Literal, TypeAlias, get_args

import numpy as np
from numpy.typing import ArrayLike

from gearwork.errors import GearworkError, need, number, whole_number
from gearwork.numbers import Floats
from gearwork.stock.orthotropic import Angle, degrees, like
from gearwork.stock.plywood import Plywood

Side = Literal["tension", "compression", "both"]

MAX_LAYERS = 12
"""Sheets that can be glued to one gear."""

USUAL_ANGLES = (0.0, 45.0)
"""Of the face grain of a gear's layers, one after the other, degrees."""


@dataclass(frozen=True)
class Stack:
    """Layers of one sheet glued face to face over their whole area, each turned by its angle.

    Answers the same questions of direction as `Plywood`, in the gear's axes. For even stress over a
    wide panel, that is: at the fillet of a tooth or the edge of a window averaging gains nothing,
    and each layer is judged alone (`SheetPolar`). The layers share the load by their stiffness and
    the first to fail counts. How they share it lies between two bounds, because a tooth is about as
    wide as a layer is thick: each layer free to contract and shear on its own (stress in layer i =
    E_i / mean E times the mean stress), or all held to the same strains (lamination theory).
    `tension_at` and `compression_at` take the smaller strength of the two; `stiffness` and
    `norris_index`, meant for elastic calculations, are lamination theory.

    Attributes
    ----------
    sheet : Plywood
        What every layer is cut from.
    layers : tuple of float
        Angle of each layer's face grain, degrees.

    Raises
    ------
    GearworkError
        If there is no layer, or an angle is no number.

    Notes
    -----
    Counting the first layer that crushes as the end is on the safe side: wood crushes gradually
    and hands its load on. That an unsymmetric set of angles warps is left out; laid
    symmetrically, e.g. (0, 45, 45, 0), it stays flat.

    Examples
    --------
    Two layers are twice as thick; crosswise, both directions of the plane are alike.

    >>> from gearwork import plywood
    >>> stack = Stack(plywood("birch", 12), (0, 90))
    >>> round(stack.thickness, 2), bool(abs(stack.modulus_at(0.0) - stack.modulus_at(90.0)) < 1e-6)
    (24.0, True)
    """

    sheet: Plywood
    layers: tuple[float, ...]

    def __post_init__(self) -> None:
        need("Stack", self.sheet, Plywood, "a sheet", 'gw.plywood("birch", 12)')
        if not isinstance(self.layers, tuple | list) or not self.layers:
            raise GearworkError(
                f"layers of the stack are {self.layers!r}: one angle in degrees a layer is needed, "
                "e.g. (0, 45)"
            )
        angles = tuple(number("angle of a layer's face grain", a, unit="°") for a in self.layers)
        object.__setattr__(self, "layers", angles)

    @property
    def name(self) -> str:
        """The sheet's name with the layers' angles."""
        return f"{self.sheet.name}, layers at {', '.join(f'{a:g}°' for a in self.layers)}"

    @property
    def thinned(self) -> "Stack":
        """The same of a sheet as thin as it may turn out to be."""
        return replace(self, sheet=self.sheet.thinned)

    @property
    def thickness(self) -> float:
        """Thickness of all layers together, mm."""
        return self.sheet.thickness * len(self.layers)

    @property
    def panel_shear(self) -> float:
        """Shear strength in the weakest direction of the plane, MPa."""
        return float(self.shear_at(_DIRECTIONS).min())

    def tension_at(self, angle: Angle) -> Angle:
        """Return the characteristic tension strength of the stack in direction `angle`, MPa."""
        return like(angle, self._strength(angle, 1.0, self.sheet.tension_at(self._turned(angle))))

    def compression_at(self, angle: Angle) -> Angle:
        """Return the characteristic compression strength in direction `angle`, MPa."""
        single = self.sheet.compression_at(self._turned(angle))
        return like(angle, self._strength(angle, -1.0, single))

    def shear_at(self, angle: Angle) -> Angle:
        """Return the characteristic shear strength in axes turned by `angle`, MPa."""
        one, other = (self.norris_index(0.0, 0.0, sign, angle) for sign in (1.0, -1.0))
        return like(angle, 1.0 / np.maximum(one, other))

    def modulus_at(self, angle: Angle) -> Angle:
        """Return Young's modulus in direction `angle`, MPa: the mean of the layers'."""
        return like(angle, self.sheet.modulus_at(self._turned(angle)).mean(axis=-1))

    def stiffness(self, angle: ArrayLike) -> Floats:
        """Return the plane-stress stiffness (..., 3, 3), MPa, in axes turned by `angle`."""
        mean: Floats = self.sheet.stiffness(self._turned(angle)).mean(axis=-3)
        return mean

    def norris_index(
        self, sigma_x: ArrayLike, sigma_y: ArrayLike, tau: ArrayLike, angle: ArrayLike = 0.0
    ) -> Floats:
        """Return the failure index of the worst layer under mean stresses of the stack, MPa."""
        turned = self._turned(angle)
        each = self.sheet.stiffness(turned)
        stress = np.stack(np.broadcast_arrays(sigma_x, sigma_y, tau), axis=-1).astype(np.float64)
        strain = np.linalg.solve(each.mean(axis=-3), stress[..., np.newaxis])
        in_layers = (each @ strain[..., np.newaxis, :, :])[..., 0]
        x, y, shear = np.moveaxis(in_layers, -1, 0)
        index: Floats = self.sheet.norris_index(x, y, shear, turned).max(axis=-1)
        return index

    def _turned(self, angle: ArrayLike) -> Floats:
        """Return the angle to each layer's own face grain, shape (..., layers)."""
        grains: Floats = np.array(self.layers)
        return degrees(angle)[..., np.newaxis] - grains

    def _strength(self, angle: ArrayLike, sign: float, single: Floats) -> Floats:
        modulus = self.sheet.modulus_at(self._turned(angle))
        # All layers stretch alike along the load, so that the stress in one goes with its modulus.
        free = (single * modulus.mean(axis=-1, keepdims=True) / modulus).min(axis=-1)
        glued = 1.0 / self.norris_index(sign, 0.0, 0.0, angle)
        smaller: Floats = np.minimum(free, glued)
        return smaller


Panel: TypeAlias = Plywood | Stack


def need_panel(caller: str, panel: object) -> Panel:
    """Return a sheet or stack, or refuse what is none, in the name of who was called."""
    way = 'gw.plywood("birch", 12) or gw.Stack(sheet, (0, 45))'
    found: Panel = need(caller, panel, Panel, "a sheet or stack", way)
    return found


_DIRECTIONS = np.arange(0.0, 180.0, 1.0)


@lru_cache(maxsize=256)
def weakest_direction(panel: Panel, side: Side = "both") -> tuple[float, float]:
    """Return the weakest direction, whole degrees in [0, 180), and the strength there, MPa."""
    if side not in get_args(Side):
        raise GearworkError(f"side {side!r} is not known; there are: {', '.join(get_args(Side))}")
    strengths = {"tension": panel.tension_at, "compression": panel.compression_at}
    asked = strengths.values() if side == "both" else (strengths[side],)
    # Rounded, so that of directions that are alike always the first is told.
    rose = np.min([strength_at(_DIRECTIONS) for strength_at in asked], axis=0).round(9)
    worst = int(rose.argmin())
    return float(_DIRECTIONS[worst]), float(rose[worst])


def glued(sheet: Plywood, layers: int, angles: Sequence[float] = USUAL_ANGLES) -> Panel:
    """Return a gear's worth of layers, each turned by the next of the angles."""
    count = whole_number("layers", layers, at_least=1, at_most=MAX_LAYERS)
    return sheet if count == 1 else Stack(sheet, tuple(islice(cycle(angles or (0.0,)), count)))
