"""A gear glued to its fixing or its rod, and nuts locked to the rod."""

from dataclasses import dataclass
from math import pi

from gearwork.checks.clamping import Seat, nut_face, ring_modulus
from gearwork.checks.links import ADHESIVE_FACTORS, Factors, LinkRating, rated
from gearwork.checks.verdict import Step
from gearwork.errors import whole_number
from gearwork.stock.hardware import Rod, nut
from gearwork.stock.laminate import Panel

THREAD_LOCK = Step(
    "shear strength, high-strength thread-lock",
    15.0,
    "MPa",
    "lower end of data sheets, 15 to 30 (from memory)",
)
PASSIVE_STEEL = Step(
    "thread-lock on stainless steel without activator",
    0.5,
    "",
    "assumption: passive metal cures it poorly",
)
EPOXY_ON_STEEL = Step(
    "shear strength, epoxy on steel", 15.0, "MPa", "lower end of data sheets (from memory)"
)


@dataclass(frozen=True)
class ThreadLock:
    """One or two nuts locked to the rod with high-strength thread-lock."""

    rod: Rod
    nuts: int = 2

    def __post_init__(self) -> None:
        whole_number("nuts locked to the rod", self.nuts, at_least=1, at_most=2)

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the locked nuts break loose."""
        d, height = self.rod.diameter, nut(self.rod.thread).height
        passive = (PASSIVE_STEEL,) if self.rod.grade.name.startswith("A") else ()
        strength = THREAD_LOCK.value * (PASSIVE_STEEL.value if passive else 1.0)
        return rated(
            f"{self.nuts} nut{'s' * (self.nuts > 1)} locked to the {self.rod.thread} rod",
            self.nuts * strength * pi * d * height * d / 2.0,
            (THREAD_LOCK, *passive, Step("height of a nut", height, "mm", "ISO 4032")),
            ADHESIVE_FACTORS,
            "Shear of the cured thread-lock; oil left on the thread halves it.",
            "shear over the thread's cylinder, as data sheets of thread-lock reckon",
        )


@dataclass(frozen=True)
class FaceGlue:
    """A ring of glue between the gear's face and a flange, a washer or a neighbour gear.

    Attributes
    ----------
    seat : Seat
        The ring.
    faces : int
        One, or both faces of the gear.
    panel : Plywood or Stack, optional
        The wood under the glue, where it is not the gear's but the neighbour's.
    """

    seat: Seat
    faces: int = 2
    panel: Panel | None = None

    def __post_init__(self) -> None:
        whole_number("glued faces", self.faces, at_least=1, at_most=2)

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the veneers under the glue shear."""
        wood = self.panel or panel
        modulus = ring_modulus(self.seat.outer_diameter, self.seat.inner_diameter)
        return rated(
            f"gear glued to {self.seat.name}",
            self.faces * wood.planar_shear * modulus,
            (
                Step(
                    "planar (rolling) shear strength f_r,k", wood.planar_shear, "MPa", wood.source
                ),
                Step("torsion modulus of the glued ring", modulus, "mm³", "π(D⁴ − d⁴)/(16 D)"),
                Step("glued faces", self.faces, "", "as given"),
            ),
            factors,
            "The outer veneers roll off under the glue before the glue lets go.",
            "torsion of a ring, τ = T r/J; the wood governs (common practice)",
        )


@dataclass(frozen=True)
class NutGlue:
    """Nuts bonded to their washers with epoxy."""

    rod: Rod

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the epoxy between nut and washer shears."""
        ring = nut_face(self.rod)
        modulus = ring_modulus(ring.outer_diameter, ring.inner_diameter)
        return rated(
            "nuts bonded to the washers",
            2.0 * EPOXY_ON_STEEL.value * modulus,
            (EPOXY_ON_STEEL, Step("torsion modulus of a nut's face", modulus, "mm³", "geometry")),
            ADHESIVE_FACTORS,
            "Shear of the epoxy between steel and steel.",
            "torsion of a ring, τ = T r/J",
        )


@dataclass(frozen=True)
class BoreGlue:
    """A rod glued into the gear's bore: the wood around it."""

    rod: Rod

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the wood around the rod shears."""
        d = self.rod.diameter
        return rated(
            f"gear glued around the {self.rod.thread} rod, wood side",
            panel.planar_shear * pi * d * panel.thickness * d / 2.0,
            (
                Step(
                    "planar (rolling) shear strength f_r,k", panel.planar_shear, "MPa", panel.source
                ),
                Step("length of the bore", panel.thickness, "mm", "thickness of the gear"),
            ),
            factors,
            "The wood around the bore shears; no tests in plywood are known, so its weakest shear"
            " counts.",
            "shear over the bore's cylinder; the wood governs (common practice)",
        )


@dataclass(frozen=True)
class RodGlue:
    """A rod glued into the gear's bore: the epoxy on the steel."""

    rod: Rod

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the epoxy lets go of the rod."""
        d = self.rod.core_diameter
        return rated(
            f"epoxy on the {self.rod.thread} rod",
            EPOXY_ON_STEEL.value * pi * d * panel.thickness * d / 2.0,
            (EPOXY_ON_STEEL, Step("core diameter", d, "mm", self.rod.source)),
            ADHESIVE_FACTORS,
            "Shear of the epoxy at the core of the thread.",
            "shear over the core's cylinder",
        )
