"""The joints between a gear and its rod: what torque each holds, and the safety factors on it.

A gear clamped between two nuts: friction of its faces, of the nuts and of their threads.
A gear glued to its fixing or its rod, and nuts locked to the rod.
Nuts let into pockets of the gear, and bolts on a circle through it: wood bears on steel.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, pi, radians, sqrt
from typing import Literal, Protocol

from gearwork.checks.check import Check, Step
from gearwork.checks.fatigue import GRAVE, deciding, fatigue_factor, moisture_factor
from gearwork.checks.hub import johansen
from gearwork.checks.tooth.load_case import Service
from gearwork.errors import GearworkError, number, whole_number
from gearwork.stock import hardware
from gearwork.stock.laminate import Panel, weakest_direction
from gearwork.stock.timber import Factor, design_value, gamma_m, k_mod

Factors = tuple[Factor, ...]
Way = Literal["shear", "compression", "dowels", "nails", "friction"]

STRESS_RATIO = {"shear": -1.0, "compression": 0.0, "dowels": -1.0, "nails": -1.0}
"""Stopping brakes through the gears, so that the torque reverses; wood that is pressed by one side
of a nut or ring is left alone then. Friction has no such line: what moves in a clamp is in its
`RELAXATION`."""

ADHESIVE_FACTORS = (
    Factor(
        "partial factor, adhesive on metal", 2.0, "assumption: dirt, gap, heat, repeated load", True
    ),
)
STEEL_FACTORS = (
    Factor("partial factor, steel slipping on steel", 1.25, "EN 1993-1-8 (from memory)", True),
)


@dataclass(frozen=True)
class JointUse:
    """What decides how much of its strength a joint in wood may use.

    `starts`: how often its torque comes and goes in the machine's life, 1 for a single jam;
    `grave`: whether a failure has grave consequences, β = 3 in k_fat.
    """

    service_class: int = 2
    duration: str = "short"
    starts: float = 10_000.0
    grave: bool = False

    @classmethod
    def of(cls, service: Service, grave: bool) -> "JointUse":
        """Return the use in a machine; its greatest torques last less than a week in all."""
        return cls(service.service_class, "short", service.times("starting") or 1.0, grave)

    def factors(self, way: Way) -> Factors:
        """Return the factors between characteristic and design strength that decide.

        k_mod and gamma_M of connections, EN 1995-1-1:2004 2.4.3, or k_fat, EN 1995-2 Annex A.
        """
        static = k_mod(self.service_class, self.duration), gamma_m("connections")
        if way == "friction":
            return static
        beta = GRAVE if self.grave else 1.0
        tired = fatigue_factor(way, STRESS_RATIO[way], self.starts, beta)
        return deciding(static, tired, moisture_factor(self.service_class))


@dataclass(frozen=True)
class JointRating:
    """What one joint holds.

    Torques in N·m before and after the safety factors, and the `steps` to them; `why` is one
    sentence on what holds here, `source` where the formula comes from.
    """

    name: str
    characteristic_torque: float
    design_torque: float
    steps: tuple[Step, ...]
    why: str
    source: str

    def check(self, torque: float) -> Check:
        """Judge whether it holds a torque, N·m."""
        return Check(
            judged="torque",
            part=self.name,
            kind="strength",
            value=torque,
            limit=self.design_torque,
            unit="N·m",
            sense="at most",
            why=f"Before safety factors it holds {self.characteristic_torque:.3g} N·m.",
            meaning=(self.why,),
            source=self.source,
            basis=self.steps,
        )


class Joint(Protocol):
    """One joint on the path of the torque from the gear to the rod, a frozen value."""

    def __hash__(self) -> int:
        """Return the same for equal joints: each is rated once."""

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque it holds in a gear of `panel`."""


def factor_steps(factors: Factors) -> tuple[Step, ...]:
    """Return the factors as steps of a basis."""
    return tuple(Step(f.quantity, f.value, "", f.source) for f in factors)


def rated(
    name: str, torque: float, steps: Iterable[Step], factors: Factors, why: str, source: str
) -> JointRating:
    """Return the rating of a joint that holds `torque` N·mm."""
    held = torque / 1000.0
    own = Step(f"{name}: characteristic torque", held, "N·m", source)
    steps = (*steps, own, *factor_steps(factors))
    return JointRating(name, held, design_value(held, *factors), steps, why, source)


SeatKind = Literal["flange nut", "washer", "wide washer"]

FRICTION = Step(
    "friction, steel on wood and steel on steel",
    0.15,
    "",
    "assumption on the safe side: 0.1 to 0.3 measured, steel on wood (Koubek and Dedicova 2014),"
    " 0.3 to 0.5 in the Wood Handbook (from memory)",
)
_AWALUDIN = "Awaludin et al., J. Wood Sci. 54 (2008), abstract: bolts through timber, after a year"
RETIGHTENED = Step(
    "share of the clamp left, tightened again after 3 and 6 months", 0.66, "", _AWALUDIN
)
NEVER_AGAIN = Step("share of the clamp left, never tightened again", 0.23, "", _AWALUDIN)
ROD_CLAMP = Step(
    "share of the rod's yield force that the nuts are tightened to at most",
    0.5,
    "",
    "assumption; a torque wrench reaches about 0.7 (after VDI 2230, from memory)",
)
# ISO 4032: least bearing diameter 8.88 (M6) to 16.63 mm (M12), 0.88 of the width across flats or
# more (from memory).
_NUT_FACE = 0.88
_FACE_SOURCE = (
    "assumption unless declared: no tests of plywood found; below those of solid wood, on the safe"
    " side for a short load; creep under a lasting one is in the share of the clamp that is left"
)
FLANK_ANGLE = 30.0  # of the thread's profile, degrees


def pitch_diameter(rod: hardware.Rod) -> float:
    """Return d2 of a thread, mm: d − 3 √3/8 P, ISO 724."""
    return rod.diameter - 3.0 * sqrt(3.0) / 8.0 * rod.pitch


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
    """The ring of the gear's face that a nut or washer bears on; diameters in mm."""

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

    @property
    def area(self) -> float:
        """Of the ring, mm²."""
        return ring_area(self.outer_diameter, self.inner_diameter)

    @property
    def modulus(self) -> float:
        """Torsion section modulus, mm³."""
        return ring_modulus(self.outer_diameter, self.inner_diameter)


def seat(thread: str, kind: SeatKind, bore: float | None = None) -> Seat:
    """Return where a nut or washer of this thread bears on the gear round a bore, mm.

    Flange nut ISO 4161 by its least bearing diameter, washer ISO 7089 or ISO 7093-1. The bore is
    as wide as the washer's hole unless a wider one is given.
    """
    if kind not in ("flange nut", "washer", "wide washer"):
        raise GearworkError(f"seat is {kind!r}; there are: flange nut, washer, wide washer")
    ring = hardware.washer(thread, wide=kind == "wide washer")
    outer = hardware.flange_nut(thread).bearing_diameter if kind == "flange nut" else ring.diameter
    inner = max(ring.hole_diameter, 0.0 if bore is None else number("bore", bore, above=0.0))
    return Seat(f"{kind} {thread}", outer, inner)


MAX_NESTED = 4
"""Disc springs nested in each other at most (common practice): more of them rub too much."""
_RUBS = 0.03, 0.05
"""Share of their force that springs rub, between two and at edges: upper ends (from memory)."""


@dataclass(frozen=True)
class SpringStack:
    """Disc springs under one nut: so many nested, which share the clamp, in stacks back to back."""

    disc: hardware.DiscSpring
    nested: int
    stacks: int

    def __post_init__(self) -> None:
        whole_number("disc springs nested", self.nested, at_least=1, at_most=MAX_NESTED)
        whole_number("stacks of disc springs", self.stacks, at_least=1, at_most=10)

    @property
    def max_force(self) -> float:
        """With which it clamps at most, N."""
        return self.nested * float(self.disc.load(self.disc.travel))

    def deflection(self, clamp: float) -> float:
        """Return how far a clamp presses it together, mm."""
        return self.stacks * self.disc.deflection(clamp / self.nested)

    def height(self, clamp: float) -> float:
        """Return how high it stands under a clamp, mm."""
        one = self.nested * self.disc.thickness + self.disc.cone_height
        return self.stacks * one - self.deflection(clamp)

    def give(self, clamp: float, left: float) -> float:
        """Return by how much it grows until so much of a clamp is left, N, mm.

        What it rubs then takes of its force: n/(1 + w_M (n − 1) + w_R), DIN EN 16984 (from memory).
        """
        rubs = 1.0 + _RUBS[0] * (self.nested - 1) + _RUBS[1]
        return self.deflection(clamp) - self.deflection(min(rubs * left, clamp))


@dataclass(frozen=True)
class Clamp:
    """Two nuts on a rod that press on a gear; without a seat on a steel plate: nothing creeps.

    `retightened`: whether they are tightened again after 3 and 6 months, or never; `springs`: disc
    springs under one of them.
    """

    rod: hardware.Rod
    seat: Seat | None = None
    retightened: bool = True
    springs: SpringStack | None = None

    def tight(self, panel: Panel) -> tuple[float, tuple[Step, ...]]:
        """Return its force when tightened, N, and the steps to it.

        The nuts are as strong as the rod's thread (ISO 898-2: same property class).
        """
        steel = ROD_CLAMP.value * self.rod.grade.yield_strength * self.rod.stress_area
        of_rod = Step("clamp that the rod bears", steel, "N", "R_p0.2 · A_s · share below")
        if self.seat is None:
            return steel, (of_rod, ROD_CLAMP)
        least = min(panel.sheet.face_compression * self.seat.area, steel)
        steps: tuple[Step, ...] = (
            Step("compression across the face", panel.sheet.face_compression, "MPa", _FACE_SOURCE),
            Step(f"area under the {self.seat.name}", self.seat.area, "mm²", "geometry"),
            of_rod,
            ROD_CLAMP,
        )
        limits = "the smaller of wood and rod"
        if self.springs is not None:
            most, limits = self.springs.max_force, "the smallest of wood, rod and springs"
            least, source = min(least, most), self.springs.disc.source
            steps += (Step("clamp that the disc springs bear", most, "N", source),)
        return least, (*steps, Step(f"clamp when tightened, {limits}", least, "N", "statics"))

    def lasting(self, panel: Panel) -> tuple[float, tuple[Step, ...]]:
        """Return the force that is left of it, N, and the steps to it."""
        force, steps = self.tight(panel)
        return force * self.kept.value, (*steps, *([self.kept] if self.seat else []))

    @property
    def kept(self) -> Step:
        """Share of it that is left."""
        if self.seat is None:
            return Step("share of the clamp left, on steel", 1.0, "", "nothing creeps")
        return RETIGHTENED if self.retightened else NEVER_AGAIN

    @property
    def nut_diameter(self) -> float:
        """Mean diameter on which its nuts rub, mm; one with springs on the edge of their hole."""
        face = nut_face(self.rod)
        mean = friction_diameter(face.outer_diameter, face.inner_diameter)
        return (mean + self.springs.disc.hole_diameter) / 2.0 if self.springs else mean


def _slip(
    clamp: Clamp, panel: Panel, of: str, across: float
) -> tuple[float, tuple[Step, ...], str]:
    """Torque at which both faces of what is clamped slip, N·mm, the steps to it, its source."""
    force, steps = clamp.lasting(panel)
    return (
        2.0 * FRICTION.value * force * across / 2.0,
        (*steps, FRICTION, Step(f"mean friction diameter of the {of}", across, "mm", "geometry")),
        "Coulomb friction of an evenly pressed ring, two faces",
    )


@dataclass(frozen=True)
class FaceFriction:
    """The gear clamped between two nuts: friction on both its faces."""

    clamp: Clamp

    @property
    def seat(self) -> Seat:
        """The ring of its face that is pressed."""
        assert self.clamp.seat is not None  # what is clamped on steel has no face of wood
        return self.clamp.seat

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the gear slips between the nuts."""
        across = friction_diameter(self.seat.outer_diameter, self.seat.inner_diameter)
        torque, steps, source = _slip(self.clamp, panel, "face", across)
        name = f"gear between the faces of {self.seat.name}, friction"
        why = (
            "Friction of both faces; the nuts can press no harder than the wood bears, and the"
            " wood creeps away under them."
        )
        return rated(name, torque, steps, use.factors("friction"), why, source)


@dataclass(frozen=True)
class NutFriction:
    """Nuts on washers, or on both sides of a steel plate (no seat): steel slipping on steel."""

    clamp: Clamp

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the steel slips under the nuts."""
        ring = self.clamp.seat
        torque, steps, source = _slip(self.clamp, panel, "nut", self.clamp.nut_diameter)
        name = f"nuts on {'the steel plate' if ring is None else ring.name}, friction"
        on_steel = STEEL_FACTORS if ring is None else use.factors("friction")
        return rated(name, torque, steps, on_steel, "Steel slips on steel under both nuts.", source)


@dataclass(frozen=True)
class ThreadFriction:
    """Nuts that sit on the rod by the friction of their threads alone.

    Both nuts turn on the rod together with what is between them, the one up and the other down
    its thread, so that the pitch cancels: T = F · μ · d2 / cos 30°.
    """

    clamp: Clamp

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which nuts and gear turn on the rod."""
        force, steps = self.clamp.lasting(panel)
        across = pitch_diameter(self.clamp.rod)
        return rated(
            f"nuts on the {self.clamp.rod.thread} rod, friction of the threads",
            force * FRICTION.value * across / cos(radians(FLANK_ANGLE)),
            (*steps, FRICTION, Step("pitch diameter", across, "mm", "ISO 724")),
            STEEL_FACTORS if self.clamp.seat is None else use.factors("friction"),
            "Nothing locks the nuts: they turn on the rod, gear and all.",
            "torque of a loaded thread (VDI 2230, from memory), both senses added",
        )


def nut_face(rod: hardware.Rod) -> Seat:
    """Return the ring on which a plain nut bears on steel."""
    hole = hardware.washer(rod.thread).hole_diameter
    return Seat(f"nut {rod.thread}", _NUT_FACE * hardware.nut(rod.thread).width_across_flats, hole)


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


def _sleeve(strength: float, diameter: float, length: float) -> float:
    """Torque at which a cylinder round the rod shears, N·mm: T = τ · π d l · d/2."""
    return strength * pi * diameter * length * diameter / 2.0


def _rolling_shear(wood: Panel) -> Step:
    name = "planar (rolling) shear strength f_r,k"
    return Step(name, wood.sheet.planar_shear, "MPa", wood.sheet.source)


@dataclass(frozen=True)
class ThreadLock:
    """One or two nuts locked to the rod with high-strength thread-lock; `long`: coupling nuts."""

    rod: hardware.Rod
    nuts: int = 2
    long: bool = False

    def __post_init__(self) -> None:
        whole_number("nuts locked to the rod", self.nuts, at_least=1, at_most=2)

    @property
    def nut(self) -> hardware.Nut:
        """One of them."""
        size = hardware.coupling_nut if self.long else hardware.nut
        return size(self.rod.thread)

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the locked nuts break loose."""
        height = self.nut.height
        passive = (PASSIVE_STEEL,) if self.rod.grade.stainless else ()
        strength = THREAD_LOCK.value * (PASSIVE_STEEL.value if passive else 1.0)
        return rated(
            f"{self.nuts} {'coupling ' * self.long}nut{'s' * (self.nuts > 1)} locked to the"
            f" {self.rod.thread} rod",
            _sleeve(self.nuts * strength, self.rod.diameter, height),
            (THREAD_LOCK, *passive, Step("height of a nut", height, "mm", self.nut.source)),
            ADHESIVE_FACTORS,
            "Shear of the cured thread-lock; oil left on the thread halves it.",
            "shear over the thread's cylinder, as data sheets of thread-lock reckon",
        )


@dataclass(frozen=True)
class FaceGlue:
    """A ring of glue between the gear's faces and a flange, a washer or a neighbour gear.

    `panel` is the wood under the glue where that is not the gear's but the neighbour's.
    """

    seat: Seat
    faces: int = 2
    panel: Panel | None = None

    def __post_init__(self) -> None:
        whole_number("glued faces", self.faces, at_least=1, at_most=2)

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the veneers under the glue shear."""
        wood = self.panel or panel
        modulus = self.seat.modulus
        return rated(
            f"gear glued to {self.seat.name}",
            self.faces * wood.sheet.planar_shear * modulus,
            (
                _rolling_shear(wood),
                Step("torsion modulus of the glued ring", modulus, "mm³", "π(D⁴ − d⁴)/(16 D)"),
                Step("glued faces", self.faces, "", "as given"),
            ),
            use.factors("shear"),
            "The outer veneers roll off under the glue before the glue lets go.",
            "torsion of a ring, τ = T r/J; the wood governs (common practice)",
        )


@dataclass(frozen=True)
class NutGlue:
    """Nuts bonded to their washers with epoxy."""

    rod: hardware.Rod

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the epoxy between nut and washer shears."""
        modulus = nut_face(self.rod).modulus
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

    rod: hardware.Rod

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the wood around the rod shears."""
        return rated(
            f"gear glued around the {self.rod.thread} rod, wood side",
            _sleeve(panel.sheet.planar_shear, self.rod.diameter, panel.thickness),
            (
                _rolling_shear(panel),
                Step("length of the bore", panel.thickness, "mm", "thickness of the gear"),
            ),
            use.factors("shear"),
            "The wood around the bore shears; no tests in plywood are known, so its weakest shear"
            " counts.",
            "shear over the bore's cylinder; the wood governs (common practice)",
        )


@dataclass(frozen=True)
class RodGlue:
    """A rod glued into the gear's bore: the epoxy on the steel."""

    rod: hardware.Rod

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the epoxy lets go of the rod."""
        d = self.rod.core_diameter
        return rated(
            f"epoxy on the {self.rod.thread} rod",
            _sleeve(EPOXY_ON_STEEL.value, d, panel.thickness),
            (EPOXY_ON_STEEL, Step("core diameter", d, "mm", self.rod.source)),
            ADHESIVE_FACTORS,
            "Shear of the epoxy at the core of the thread.",
            "shear over the core's cylinder",
        )


def half_side(hexagon: hardware.Nut) -> float:
    """Return half the length of one side of a hexagon nut, mm."""
    return hexagon.width_across_flats / sqrt(3.0) / 2.0


@dataclass(frozen=True)
class NutsInPockets:
    """Hexagon nuts let into pockets in the faces of the gear.

    The nut turns by a small angle and each flat presses over its leading half, the harder the
    farther from its middle. With the highest pressure p at the wall's end, x from the middle of
    the flat, and depth t, six flats hold T = 2 p x² t. The relief that the bit needs in each
    corner takes the most useful end of the wall away. Play of 0.1 mm a side is covered: once the
    corners have crushed 0.3 mm of wood, even pressure over three quarters of the half flat holds
    two fifths more.

    `corner_relief` is the length of wall missing next to each corner, mm: the radius of a relief
    circle through the corner. There is one nut, or one in each face, `depth` mm deep.
    """

    rod: hardware.Rod
    depth: float
    corner_relief: float
    nuts: int = 2

    def __post_init__(self) -> None:
        number("depth of the nut pocket", self.depth, unit="mm", above=0.0)
        whole_number("nuts in pockets", self.nuts, at_least=1, at_most=2)
        relief = number("corner relief of the nut pocket", self.corner_relief, at_least=0.0)
        most = 2.0 / 3.0 * half_side(hardware.nut(self.rod.thread))
        if relief > most:
            raise GearworkError(
                f"corner relief of the nut pocket is {relief:g} mm: it must be at most a third of"
                f" a side of the {self.rod.thread} nut, {most:.2f} mm, or the nut turns; take a"
                " smaller bit or another fixing"
            )

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the corners begin to crush the wood."""
        wall = half_side(hardware.nut(self.rod.thread)) - self.corner_relief
        direction, strength = weakest_direction(panel, "compression")
        depth = min(self.depth, hardware.nut(self.rod.thread).height)
        return rated(
            f"{self.nuts} nut{'s' * (self.nuts > 1)} {self.rod.thread} in pockets",
            self.nuts * 2.0 * strength * wall**2 * depth,
            (
                Step(
                    f"compression strength at {direction:g}° to the face grain, the weakest",
                    strength,
                    "MPa",
                    panel.sheet.source,
                ),
                Step("wall from the middle of a flat to the relief", wall, "mm", "geometry"),
                Step("bearing depth", depth, "mm", "pocket and nut"),
            ),
            use.factors("compression"),
            "The flats press on the wood beside the corners. A nut spins once its corners have"
            " crushed well below 1 mm of wood, before the embedment strength of bolts is reached:"
            " compression strength counts.",
            "triangular pressure on the flats, T = 2 p x² t (statics)",
        )


@dataclass(frozen=True)
class SteelPlate:
    """A steel plate, e.g. a flange plate on the rod; thickness in mm."""

    thickness: float

    def __post_init__(self) -> None:
        number("thickness of the steel plate", self.thickness, unit="mm", above=0.0)


@dataclass(frozen=True)
class BoltedJoint:
    """Bolts evenly spaced on a circle through the gear into a steel plate or a neighbour gear.

    Fully threaded bolts are assumed: the effective diameter is 1.1 times the core diameter
    (EN 1995-1-1 8.7.1(3)).
    """

    bolt: hardware.Rod
    count: int
    circle_diameter: float
    partner: SteelPlate | Panel

    def __post_init__(self) -> None:
        whole_number("number of bolts", self.count, at_least=2, at_most=24)
        number("bolt circle diameter", self.circle_diameter, unit="mm", above=0.0)

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the bolts tilt, bend or crush the wood."""
        force, steps = self.bolt_force(panel)
        return rated(
            f"{self.count} bolts {self.bolt.thread} on a {self.circle_diameter:g} mm circle",
            self.count * force * self.circle_diameter / 2.0,
            steps,
            use.factors("dowels"),
            "The bolts press into the wood and tilt or bend.",
            "Johansen's yield modes, EN 1995-1-1:2004"
            f" 8.2.{3 if isinstance(self.partner, SteelPlate) else 2}",
        )

    def bolt_force(self, panel: Panel) -> tuple[float, tuple[Step, ...]]:
        """Return the characteristic load of one bolt, N, and the steps to it."""
        d = 1.1 * self.bolt.core_diameter
        moment = johansen.yield_moment(self.bolt.grade.tensile_strength, d)
        embedment = johansen.threaded_embedment(d, panel.sheet.characteristic_density)
        if isinstance(self.partner, SteelPlate):
            plate = self.partner.thickness
            force = johansen.wood_to_steel(embedment, panel.thickness, d, moment, plate)
            mode = f"steel plate of {plate:g} mm"
        else:
            other = johansen.threaded_embedment(d, self.partner.sheet.characteristic_density)
            modes = johansen.wood_to_wood(
                (embedment, other), (panel.thickness, self.partner.thickness), d, moment
            )
            letter = min(modes, key=modes.__getitem__)
            force, mode = modes[letter], f"wood to wood, mode {letter}"
        return force, (
            Step("effective diameter, thread in the wood", d, "mm", "EN 1995-1-1 8.7.1(3)"),
            Step("embedment strength f_h,k", embedment, "MPa", "EN 1995-1-1 Eq. 8.36 or 8.20"),
            Step("yield moment M_y,Rk", moment, "N·mm", "EN 1995-1-1 Eq. 8.30"),
            Step(f"load of one bolt, {mode}", force, "N", "EN 1995-1-1 8.2, no rope effect"),
        )


PIN_FACTORS = (
    Factor(
        "pins under a torque that comes both ways", 2.0, "Roloff/Matek, 0.5 (from memory)", True
    ),
)
HOLE_FACTORS = (
    Factor("edge of a hole across a rod, in torsion", 4.0, "K_t, Peterson (from memory)", True),
)
GRIP = Step(
    "torque a keyless chuck holds on a rod of 10 mm, tightened by hand",
    15.0,
    "N·m",
    "lower end of 15 to 30 N·m (assumption); in proportion to the rod",
)
CHUCK_FACTORS = (Factor("crests of a thread in the jaws", 2.0, "assumption", True),)


@dataclass(frozen=True)
class ChuckGrip:
    """The jaws of a drill's chuck on the crests of the rod."""

    rod: hardware.Rod

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the rod slips in the chuck."""
        across = self.rod.outside[0]
        return rated(
            f"{self.rod.thread} rod in the chuck",
            1000.0 * GRIP.value * across / 10.0,
            (GRIP, Step("thinnest rod", across, "mm", self.rod.source)),
            CHUCK_FACTORS,
            "The rod slips in the jaws and wears its crests off.",
            "friction of jaws pressed with the same force",
        )


@dataclass(frozen=True)
class Pinned:
    """A coupling nut, or a sleeve, held by a slotted spring pin across it and the rod."""

    rod: hardware.Rod
    what: str = "nut"

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the pin shears where nut or sleeve end and the rod begins."""
        pin, across = hardware.spring_pin(self.rod.thread), self.rod.core_diameter
        return rated(
            f"spring pin of {pin.diameter:g} mm across the {self.what}",
            pin.double_shear * across / 2.0,
            (
                Step("shear force in two planes", pin.double_shear, "N", pin.source),
                Step("core diameter", across, "mm", self.rod.source),
            ),
            PIN_FACTORS,
            "The pin shears in two planes, at the core of the thread.",
            "T = F d/2, F in both planes together",
        )


@dataclass(frozen=True)
class ClampedSleeve:
    """One end of a slit sleeve, clamped by two screws on a motor's shaft or on a rod's crests."""

    on: str
    diameter: float
    sleeve: hardware.Sleeve
    crests: bool

    @property
    def screw_force(self) -> float:
        """Of one screw, N: half of what it yields at, class 8.8."""
        return ROD_CLAMP.value * hardware.rod_grade("8.8").yield_strength * self.sleeve.stress_area

    @property
    def drawn(self) -> tuple[float, str]:
        """How tight its screws are drawn, N·m, and what that does to them.

        T = 0.2 F d of a dry screw (Shigley Table 8-15, from memory); half of it turns the shank.
        """
        size, area = float(self.sleeve.screw.removeprefix("M")), self.sleeve.stress_area
        torque = SCREW_RULE * self.screw_force * size / 1000.0
        shear = 16.0 * 500.0 * torque / (pi * sqrt(4.0 * area / pi) ** 3)
        stress = sqrt((self.screw_force / area) ** 2 + 3.0 * shear**2)
        yields = hardware.rod_grade("8.8").yield_strength
        return torque, f"{stress:.0f} MPa of the {yields:g} MPa at which class 8.8 yields"

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which it slips."""
        force = 2.0 * self.screw_force
        return rated(
            f"sleeve clamped on the {self.on}",
            2.0 * FRICTION.value * force * self.diameter,
            (
                Step("force of both screws", force, "N", self.sleeve.source),
                ROD_CLAMP,
                FRICTION,
                Step("diameter", self.diameter, "mm", "as given"),
            ),
            (*STEEL_FACTORS, *(CHUCK_FACTORS if self.crests else ())),
            "The sleeve slips round what it is clamped on.",
            "slit hub that touches along two lines, T = 2 μ F d (Roloff/Matek, from memory)",
        )


SET_SCREW = Step(
    "holding force of a set screw of 6 mm, cup point",
    3970.0,
    "N",
    "Shigley Table 7-4, 1000 lbf for 1/4 in (from memory), by the square of the diameter",
)
SCREW_RULE = 0.2
SEATING = 8.3  # N·m of a set screw of 6 mm: Shigley Table 7-4, 87 lbf·in for 1/4 in (from memory)
SET_SCREW_FACTORS = (
    Factor("set screw under a load that comes and goes", 4.0, "Shigley 7-7, 4 to 8", True),
)


def seated(sleeve: hardware.Sleeve) -> tuple[float, str]:
    """Return how tight set screws of a sleeve are drawn, N·m, by the cube of their diameter."""
    size = float(sleeve.screw.removeprefix("M"))
    pressed = SET_SCREW.value * (size / 6.0) ** 2
    told = f"each presses with {pressed / 1000.0:.2g} kN, which its cup point of class 45H bears"
    return SEATING * (size / 6.0) ** 3, told


@dataclass(frozen=True)
class InSleeve:
    """The shaft of a motor, of a diameter in mm, in one half of a sleeve."""

    diameter: float
    sleeve: hardware.Sleeve
    on = "motor's shaft"

    @property
    def drawn(self) -> tuple[float, str]:
        """How tight the set screws on it are drawn, N·m, and what that does to them."""
        return seated(self.sleeve)


class SetScrews(InSleeve):
    """Two set screws of a sleeve, one behind the other on the flat of a motor's shaft."""

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the shaft turns under its screws."""
        size = float(self.sleeve.screw.removeprefix("M"))
        force = 2.0 * SET_SCREW.value * (size / 6.0) ** 2
        return rated(
            f"two set screws {self.sleeve.screw} on the flat of the motor's shaft",
            force * self.diameter / 2.0,
            (SET_SCREW, Step("force of both screws", force, "N", self.sleeve.source)),
            SET_SCREW_FACTORS,
            "The points of the screws slide round the shaft; the flat is not counted on.",
            "T = F d/2",
        )


KEY_PRESSURE = Step(
    "pressure that a keyway in aluminium bears", 90.0, "MPa", "Roloff/Matek (from memory)"
)
KEY_FACTORS = (Factor("jolts and both ways round", 1.5, "assumption", True),)


class Keyed(InSleeve):
    """The key of a motor's shaft in the keyway of a sleeve, under one of its set screws."""

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the key crushes the keyway of the sleeve."""
        key = hardware.shaft_key(self.diameter)
        bears = (key.height - key.depth) * (self.sleeve.length / 2.0 - key.width)
        return rated(
            f"key {key.width:g} × {key.height:g} of the motor's shaft",
            KEY_PRESSURE.value * bears * self.diameter / 2.0,
            (KEY_PRESSURE, Step("flank of the key in the sleeve", bears, "mm²", key.source)),
            KEY_FACTORS,
            "The key crushes the side of its way in the sleeve, which is softer than the shaft.",
            "p = 2 T/(d (h − t1) l), l without the round ends (Roloff/Matek, from memory)",
        )


@dataclass(frozen=True)
class DrilledRod:
    """The rod where a pin goes through it."""

    rod: hardware.Rod

    def rate(self, panel: Panel, use: JointUse) -> JointRating:
        """Return the torque at which the edge of the hole yields."""
        pin, core = hardware.spring_pin(self.rod.thread), self.rod.core_diameter
        modulus = pi * core**3 / 16.0 - pin.diameter * core**2 / 6.0
        return rated(
            f"{self.rod.thread} rod at the hole for the pin",
            modulus * self.rod.grade.yield_strength / sqrt(3.0),
            (
                Step("yield strength", self.rod.grade.yield_strength, "MPa", self.rod.grade.source),
                Step("torsion modulus with the hole", modulus, "mm³", "π d³/16 − D d²/6"),
            ),
            HOLE_FACTORS,
            "The rod twists off where the pin goes through.",
            "τ = T/W_t, shaft with a hole across (Roloff/Matek, from memory)",
        )
