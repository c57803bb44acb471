"""Tightening: the torque at a nut, what it does to the rod, and what drying takes from a clamp."""

from dataclasses import dataclass
from math import cos, pi, radians, sqrt

from gearwork.checks.hub import joints
from gearwork.stock.hardware import Rod
from gearwork.stock.laminate import Panel
from gearwork.stock.timber import swelling

EPOXY_PRESSURE = 0.5  # MPa: wets both sides and does not press the glue out (common practice)
DRYING = 2.0  # percentage points between two tightenings: a damp and a dry month (assumption)
FACE_MODULUS = 1200.0
"""Young's modulus of plywood through its thickness, MPa: E_R of yellow birch, 0.078 · 1.1 · 13 900
(Wood Handbook Tables 5-1 to 5-3, from memory). Softer sheets give more; errs to the safe side."""
_STEEL = 193_000.0  # MPa, as for shafts


@dataclass(frozen=True)
class Tightening:
    """Nuts of one kind on rods or bolts, drawn until they clamp with `clamp` N.

    `springs`: under one of them; `give`: by how much all that is clamped gives until then, mm.
    """

    what: str
    rod: Rod
    clamp: float
    springs: joints.SpringStack | None = None
    give: float = 0.0

    @classmethod
    def of(cls, what: str, clamp: joints.Clamp, panel: Panel) -> "Tightening":
        """Return that of two nuts on a gear cut from a panel."""
        return cls(what, clamp.rod, clamp.tight(panel)[0], clamp.springs, take_up(clamp, panel))

    @property
    def torque(self) -> float:
        """At the nut, N·m: F (P/2π + μ d2/(2 cos 30°) + μ D_K/2), VDI 2230 (from memory)."""
        face = joints.nut_face(self.rod)
        across = (face.outer_diameter + face.inner_diameter) / 2.0
        if self.springs is not None:
            across = self.springs.disc.hole_diameter
        return self.clamp * joints.FRICTION.value * across / 2000.0 + self._thread_torque

    @property
    def stress(self) -> float:
        """In the rod while it is tightened, MPa: pull and torsion, sqrt(σ² + 3 τ²)."""
        area = self.rod.stress_area
        shear = 16.0 * 1000.0 * self._thread_torque / (pi * sqrt(4.0 * area / pi) ** 3)
        return sqrt((self.clamp / area) ** 2 + 3.0 * shear**2)

    @property
    def turn(self) -> float:
        """By which the nut is drawn from where fingers bring it, degrees."""
        return 360.0 * self.give / self.rod.pitch

    @property
    def _thread_torque(self) -> float:
        """Which the rod feels, N·m."""
        friction = (
            joints.FRICTION.value
            * joints.pitch_diameter(self.rod)
            / (2.0 * cos(radians(joints.FLANK_ANGLE)))
        )
        return self.clamp * (self.rod.pitch / (2.0 * pi) + friction) / 1000.0


def take_up(clamp: joints.Clamp, panel: Panel, left: float = 0.0) -> float:
    """Return how far wood, rod and springs give until only so much of a clamp is left, mm.

    Wood as a column under the seat alone, of `FACE_MODULUS`, which is a stiff one: what the wood
    beside the seat stiffens it by is taken to be within that (assumption).
    """
    force, _ = clamp.tight(panel)
    if clamp.seat is None:
        return 0.0
    lost = (1.0 - left) * force * panel.thickness
    given = lost / (FACE_MODULUS * clamp.seat.area) + lost / (_STEEL * clamp.rod.stress_area)
    return given + (clamp.springs.give(force, left * force) if clamp.springs else 0.0)


def shrinkage(panel: Panel) -> float:
    """Return by how much the gear gets thinner as it dries by `DRYING`, mm."""
    return float(-swelling(-DRYING, "thickness")) * panel.thickness
