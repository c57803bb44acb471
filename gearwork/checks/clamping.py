"""A gear clamped between two nuts: friction of its faces, of the nuts and of their threads."""

from dataclasses import dataclass
from math import cos, pi, radians, sqrt
from typing import Literal

from gearwork.checks.links import STEEL_FACTORS, Factors, LinkRating, rated
from gearwork.checks.verdict import Step
from gearwork.errors import GearworkError, number
from gearwork.stock.hardware import Rod, flange_nut, nut, washer
from gearwork.stock.laminate import Panel

SeatKind = Literal["flange nut", "washer", "wide washer"]

FRICTION = Step(
    "friction, steel on wood and steel on steel",
    0.15,
    "",
    "assumption on the safe side: 0.1 to 0.3 measured, steel on wood (Koubek and Dedicova 2014),"
    " 0.3 to 0.5 in the Wood Handbook (from memory)",
)
RELAXATION = Step(
    "share of the clamp left after the wood has crept",
    0.5,
    "",
    "assumption, no tests of plywood found; errs to the unsafe side where the nuts are never"
    " tightened again and the moisture changes much",
)
ROD_CLAMP = Step(
    "share of the rod's yield force that the nuts are tightened to at most",
    0.5,
    "",
    "assumption; a torque wrench reaches about 0.7 (after VDI 2230, from memory)",
)
# ISO 4032: least bearing diameter 8.88 (M6) to 16.63 mm (M12), 0.88 of the width across flats or
# more (from memory).
_NUT_FACE = 0.88
_FACE_SOURCE = "assumption unless declared: no tests of plywood found; errs to the safe side"
_FLANK_ANGLE = 30.0
_PITCH_DIAMETER = 3.0 * sqrt(3.0) / 8.0


def friction_diameter(outer: float, inner: float) -> float:
    """Return the mean diameter at which an evenly pressed ring rubs, mm.

    2/3 (D³ − d³)/(D² − d²), closed form of ∫r·dA / ∫dA.
    """
    return 2.0 / 3.0 * (outer**3 - inner**3) / (outer**2 - inner**2)


def ring_area(outer: float, inner: float) -> float:
    """Return the area of a ring, mm²."""
    return pi / 4.0 * (outer**2 - inner**2)


def ring_modulus(outer: float, inner: float) -> float:
    """Return the torsion section modulus of a ring, J/r = π(D⁴ − d⁴)/(16 D), mm³."""
    return pi * (outer**4 - inner**4) / (16.0 * outer)


@dataclass(frozen=True)
class Seat:
    """The ring of the gear's face that a nut or washer bears on; diameters in mm.

    Raises
    ------
    GearworkError
        If the ring has no width.
    """

    name: str
    outer_diameter: float
    inner_diameter: float

    def __post_init__(self) -> None:
        inner = number(f"inner diameter under the {self.name}", self.inner_diameter, above=0.0)
        if not number(f"diameter of the {self.name}", self.outer_diameter) > inner:
            raise GearworkError(
                f"the {self.name} bears up to {self.outer_diameter:g} mm and the hole under it has"
                f" {inner:g} mm: it must be smaller; take a smaller bore or a wide washer"
            )


def seat(thread: str, kind: SeatKind, bore: float | None = None) -> Seat:
    """Return where a flange nut or a washer of this thread bears on the gear.

    Parameters
    ----------
    thread : str
        E.g. "M8".
    kind : {"flange nut", "washer", "wide washer"}
        Flange nut ISO 4161 by its least bearing diameter, washer ISO 7089 or ISO 7093-1.
    bore : float, optional
        Hole in the wood, mm. Default: as wide as the washer's hole.

    Raises
    ------
    GearworkError
        If there is no such thread or kind, or the bore leaves no ring.
    """
    if kind not in ("flange nut", "washer", "wide washer"):
        raise GearworkError(f"seat is {kind!r}; there are: flange nut, washer, wide washer")
    ring = washer(thread, wide=kind == "wide washer")
    outer = flange_nut(thread).bearing_diameter if kind == "flange nut" else ring.diameter
    inner = max(ring.hole_diameter, 0.0 if bore is None else number("bore", bore, above=0.0))
    return Seat(f"{kind} {thread}", outer, inner)


@dataclass(frozen=True)
class FaceFriction:
    """The gear clamped between two nuts: friction on both its faces."""

    rod: Rod
    seat: Seat

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the gear slips between the nuts."""
        clamp, steps = clamp_force(self.rod, self.seat, panel)
        mean = friction_diameter(self.seat.outer_diameter, self.seat.inner_diameter)
        return rated(
            f"gear between the faces of {self.seat.name}, friction",
            2.0 * FRICTION.value * clamp * mean / 2.0,
            (*steps, FRICTION, Step("mean friction diameter of the face", mean, "mm", "geometry")),
            factors,
            "Friction of both faces; the nuts can press no harder than the wood bears, and the"
            " wood creeps away under them.",
            "Coulomb friction of an evenly pressed ring, two faces",
        )


@dataclass(frozen=True)
class NutFriction:
    """Nuts on washers, or on both sides of a steel plate (no seat): steel slipping on steel."""

    rod: Rod
    seat: Seat | None = None

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which the steel slips under the nuts."""
        clamp, steps = clamp_force(self.rod, self.seat, panel)
        ring = nut_face(self.rod)
        mean = friction_diameter(ring.outer_diameter, ring.inner_diameter)
        return rated(
            f"nuts on {'the steel plate' if self.seat is None else self.seat.name}, friction",
            2.0 * FRICTION.value * clamp * mean / 2.0,
            (*steps, FRICTION, Step("mean friction diameter of the nut", mean, "mm", "geometry")),
            STEEL_FACTORS if self.seat is None else factors,
            "Steel slips on steel under both nuts.",
            "Coulomb friction of an evenly pressed ring, two faces",
        )


@dataclass(frozen=True)
class ThreadFriction:
    """Nuts that sit on the rod by the friction of their threads alone.

    Both nuts turn on the rod together with what is between them, the one up and the other down
    its thread, so that the pitch cancels: T = F · μ · d2 / cos 30°.
    """

    rod: Rod
    seat: Seat | None = None

    def rate(self, panel: Panel, factors: Factors) -> LinkRating:
        """Return the torque at which nuts and gear turn on the rod."""
        clamp, steps = clamp_force(self.rod, self.seat, panel)
        pitch_diameter = self.rod.diameter - _PITCH_DIAMETER * self.rod.pitch
        return rated(
            f"nuts on the {self.rod.thread} rod, friction of the threads",
            clamp * FRICTION.value * pitch_diameter / cos(radians(_FLANK_ANGLE)),
            (*steps, FRICTION, Step("pitch diameter", pitch_diameter, "mm", "ISO 724")),
            STEEL_FACTORS if self.seat is None else factors,
            "Nothing locks the nuts: they turn on the rod, gear and all.",
            "torque of a loaded thread (VDI 2230, from memory), both senses added",
        )


def clamp_force(rod: Rod, seat: Seat | None, panel: Panel) -> tuple[float, tuple[Step, ...]]:
    """Return the lasting clamp of two nuts, N, and the steps to it.

    Parameters
    ----------
    rod : Rod
        The nuts are taken to be as strong as its thread (ISO 898-2: same property class).
    seat : Seat or None
        Where they bear on wood; None: on a steel plate, so that neither wood nor creep limits.
    panel : Plywood or Stack
        The gear.
    """
    steel = ROD_CLAMP.value * rod.grade.yield_strength * rod.stress_area
    of_rod = Step("clamp that the rod bears", steel, "N", "R_p0.2 · A_s · share below")
    if seat is None:
        return steel, (of_rod, ROD_CLAMP)
    area = ring_area(seat.outer_diameter, seat.inner_diameter)
    wood = panel.face_compression * area
    limit = (
        Step("compression across the face", panel.face_compression, "MPa", _FACE_SOURCE),
        Step(f"area under the {seat.name}", area, "mm²", "geometry"),
    )
    tight = Step(
        "clamp when tightened, the smaller of wood and rod", min(wood, steel), "N", "statics"
    )
    return min(wood, steel) * RELAXATION.value, (*limit, of_rod, ROD_CLAMP, tight, RELAXATION)


def nut_face(rod: Rod) -> Seat:
    """Return the ring on which a plain nut bears on steel."""
    hole = washer(rod.thread).hole_diameter
    return Seat(f"nut {rod.thread}", _NUT_FACE * nut(rod.thread).width_across_flats, hole)
