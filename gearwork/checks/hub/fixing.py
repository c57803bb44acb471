"""Fixing: the path of joints from a gear to its rod, of which the weakest counts."""

from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from math import ceil, pi, sqrt
from typing import Literal

from gearwork.checks.hub.joints import (
    MAX_NESTED,
    BoltedJoint,
    BoreGlue,
    Clamp,
    FaceFriction,
    FaceGlue,
    Joint,
    JointRating,
    JointUse,
    NutFriction,
    NutGlue,
    NutsInPockets,
    RodGlue,
    Seat,
    SeatKind,
    SpringStack,
    SteelPlate,
    ThreadFriction,
    ThreadLock,
    nut_face,
    seat,
)
from gearwork.checks.hub.tightening import EPOXY_PRESSURE, Tightening, shrinkage, take_up
from gearwork.errors import GearworkError, number
from gearwork.numbers import round_up
from gearwork.stock.hardware import Rod, disc_spring, flange_nut, nut, washer
from gearwork.stock.laminate import Panel

FLANGE_PLATE = SteelPlate(3.0)  # mm
BORE_FIT = 0.1
"""Bore of a gear over the crests of its rod, mm: it goes on by hand, over burrs (assumption)."""

MAX_STACKS = 4  # of disc springs under a nut: more stand badly (common practice)
SINK_PLAY = 0.5  # the sinking over the height of the thin nut in it, mm


def rod_bore(on: Rod) -> float:
    """Return the bore that centres a gear on its rod, mm: the thickest rod of the name goes in."""
    return round_up(on.outside[1] + BORE_FIT, 2)


@dataclass(frozen=True)
class Piece:
    """One thing on the rod beside a gear, with what of the rod it takes.

    Attributes
    ----------
    kind : {"nut", "washer", "plate", "spring", "sleeve"}
        What it is.
    name : str
        What to buy, with its standard.
    length : float
        Along the rod, mm.
    diameter : float
        Over its widest, mm.
    hole : float
        For the rod, mm.
    let_in : float
        How much of the length stands in the gear, mm.
    """

    kind: Literal["nut", "washer", "plate", "spring", "sleeve"]
    name: str
    length: float
    diameter: float
    hole: float
    let_in: float = 0.0

    @classmethod
    def hexagon(cls, on: Rod, *, thin: bool = False, let_in: float = 0.0) -> "Piece":
        """Return a nut on a rod, let in so deep, mm."""
        one, name = nut(on.thread, thin=thin), "thin nut" if thin else "nut"
        return cls("nut", f"{name} {on.thread}, {one.source}", one.height,
                   one.width_across_corners, on.diameter, let_in)  # fmt: skip

    @classmethod
    def ring(cls, thread: str, *, wide: bool = False) -> "Piece":
        """Return a washer."""
        one, name = washer(thread, wide=wide), "wide washer" if wide else "washer"
        return cls("washer", f"{name} {thread}, {one.source}", one.thickness, one.diameter,
                   one.hole_diameter)  # fmt: skip

    @classmethod
    def discs(cls, springs: SpringStack, clamp: float) -> tuple["Piece", ...]:
        """Return the springs of a stack under a clamp, N; the last of each stack by its cone."""
        disc, each = springs.disc, springs.nested * springs.disc.thickness
        name = (
            f"disc spring {disc.outer_diameter:g} × {disc.hole_diameter:g} × {disc.thickness:g},"
            f" {disc.source}"
        )
        cone = springs.height(clamp) / springs.stacks - each
        one = cls("spring", name, disc.thickness, disc.outer_diameter, disc.hole_diameter)
        stack = (*(one,) * (springs.nested - 1), replace(one, length=disc.thickness + cone))
        return stack * springs.stacks

    @property
    def proud(self) -> float:
        """How far it stands out of the gear, mm."""
        return max(self.length - self.let_in, 0.0)


FixingName = Literal["spring clamp", "epoxy", "glued rod", "nut pockets", "bolts"]


@dataclass(frozen=True)
class Hold:
    """What holds a gear on its rod: in the middle, along it, against turning; what locks that."""

    centre: str
    axial: str
    torque: str
    lock: str

    def __post_init__(self) -> None:
        for field in fields(Hold):
            if not getattr(self, field.name).strip():
                raise GearworkError(f"hold of a fixing says nothing of its {field.name}: name it")


@dataclass(frozen=True)
class Fixing:
    """How a gear is held on its rod, or on a neighbour gear.

    The functions of this module make the usual ones; any other path is made from its joints, e.g.
    ``Fixing("...", rod, (FaceGlue(ring), ThreadLock(rod)), bore_diameter, hold)``.

    Attributes
    ----------
    name : str
        What to buy and do, with its numbers.
    rod : Rod
        The rod the gear sits on.
    joints : tuple of Joint
        All that the torque passes through, one after the other.
    bore_diameter : float
        Hole in the middle of the gear, that centres it on the rod, mm.
    hold : Hold
        What centres it, holds it along the rod and against turning, and what locks that.
    below, above : tuple of Piece
        What stands on the rod at its lower and at its upper face, from the gear outwards.
    sinking : tuple of float, optional
        Diameter and depth of a round sinking in its lower face, mm, for a nut beside the bore.
    partner : Plywood or Stack, optional
        The neighbour gear, where that holds this one instead of the rod.
    kind : {"spring clamp", "epoxy", "glued rod", "nut pockets", "bolts"}, optional
        What a design file calls it, where it is one of those that are offered.
    """

    name: str
    rod: Rod
    joints: tuple[Joint, ...]
    bore_diameter: float
    hold: Hold
    below: tuple[Piece, ...] = ()
    above: tuple[Piece, ...] = ()
    sinking: tuple[float, float] | None = None
    partner: Panel | None = None
    kind: FixingName | None = None

    def __post_init__(self) -> None:
        if not self.joints:
            raise GearworkError(f"fixing {self.name!r} has no link: at least one is needed")
        number("bore of the gear", self.bore_diameter, unit="mm", above=0.0)

    @property
    def opening(self) -> float:
        """Widest hole in the middle of a face, mm."""
        return max(self.bore_diameter, self.sinking[0] if self.sinking else 0.0)

    def rate(self, panel: Panel, use: JointUse | None = None) -> "HubRating":
        """Return what it holds in a gear of `panel`.

        Parameters
        ----------
        panel : Plywood or Stack
            What the gear is cut from.
        use : JointUse, optional
            What decides between characteristic and design torque of wood.
        """
        return HubRating(self, panel, use or JointUse())


@lru_cache(maxsize=1024)
def _rated(joint: Joint, panel: Panel, use: JointUse) -> JointRating:
    """One joint: most are the same whatever the room, and rated for each of many gears."""
    return joint.rate(panel, use)


@dataclass(frozen=True)
class HubRating:
    """The torque a fixing holds in a gear cut from a panel: that of its weakest joint."""

    fixing: Fixing
    panel: Panel
    use: JointUse

    @cached_property
    def joints(self) -> tuple[JointRating, ...]:
        """Every joint, from the gear to the rod."""
        return tuple(_rated(joint, self.panel, self.use) for joint in self.fixing.joints)

    @cached_property
    def weakest(self) -> JointRating:
        """The joint that holds least with all safety factors."""
        return min(self.joints, key=lambda joint: joint.design_torque)

    @property
    def characteristic_torque(self) -> float:
        """Torque held before safety factors, N·m; may be of another joint than the design one."""
        return min(joint.characteristic_torque for joint in self.joints)

    @property
    def design_torque(self) -> float:
        """Torque held with all safety factors, N·m."""
        return self.weakest.design_torque

    @property
    def epoxy_area(self) -> float:
        """Area to be wetted with epoxy, mm²."""
        rod, area = self.fixing.rod, 0.0
        for joint in self.fixing.joints:
            if isinstance(joint, FaceGlue) and joint.panel is None:
                area += joint.faces * joint.seat.area
            elif isinstance(joint, NutGlue):
                area += 2.0 * nut_face(rod).area
            elif isinstance(joint, BoreGlue):
                area += pi * rod.diameter * self.panel.thickness
        return area

    @property
    def tightenings(self) -> tuple[Tightening, ...]:
        """How tight its nuts are drawn, those on the rod first."""
        rod, panel, found = self.fixing.rod, self.panel, list[Tightening]()
        for joint in self.fixing.joints:
            if isinstance(joint, FaceFriction):
                found.append(Tightening.of("nuts", joint.clamp, panel))
            elif isinstance(joint, FaceGlue) and self.fixing.below:
                found.append(Tightening("nuts", rod, EPOXY_PRESSURE * joint.seat.area))
            elif isinstance(joint, NutsInPockets):
                found.append(Tightening.of("nuts", Clamp(rod, nut_face(rod)), panel))
            elif isinstance(joint, BoltedJoint):
                if self.fixing.below:
                    found.append(Tightening.of("nuts on the plate", Clamp(rod), panel))
                on_wood = Clamp(joint.bolt, seat(joint.bolt.thread, "washer"))
                found.append(Tightening.of("bolts", on_wood, panel))
        return tuple(found)

    @property
    def bolts(self) -> tuple[int, str, float] | None:
        """How many bolts, of what, how long, mm, each with a washer and a nut; or None.

        Through gear and plate, or neighbour, two pitches out of the nut, in steps of 5 mm.
        """
        for joint in self.fixing.joints:
            if isinstance(joint, BoltedJoint):
                bolt, thread = joint.bolt, joint.bolt.thread
                through = self.panel.thickness + joint.partner.thickness + washer(thread).thickness
                length = 5.0 * ceil((through + nut(thread).height + 2.0 * bolt.pitch) / 5.0)
                return joint.count, f"bolt {thread}, class {bolt.grade.name}, ISO 4017", length
        return None


def clamped(
    rod: Rod,
    kind: SeatKind = "flange nut",
    *,
    thread_lock: bool = False,
    bore: float | None = None,
) -> Fixing:
    """Return a gear clamped between two flange nuts, or two nuts with washers.

    A dry month takes more than such a clamp gives; see `spring_clamped`.

    Parameters
    ----------
    rod : Rod
        The rod; its thread gives nuts and washers.
    kind : {"flange nut", "washer", "wide washer"}
        What presses on the wood.
    thread_lock : bool
        Whether the nuts are locked to the rod with high-strength thread-lock; they are then never
        tightened again, and little of the clamp is left after a year.
    bore : float, optional
        Hole in the gear, mm. Default: that which centres it on the rod, `rod_bore`.

    Returns
    -------
    Fixing
        Its ``rate(panel)`` tells the torque it holds.

    Examples
    --------
    >>> from gearwork import plywood
    >>> from gearwork.stock import rod
    >>> round(clamped(rod("M8")).rate(plywood("birch", 9)).characteristic_torque, 2)
    0.64
    """
    # what has cured is not turned any more
    clamp = Clamp(rod, seat(rod.thread, kind, bore), retightened=not thread_lock)
    under_nut = () if kind == "flange nut" else (NutFriction(clamp),)
    on_rod = ThreadLock(rod) if thread_lock else ThreadFriction(clamp)
    lock = ", the nuts locked to the rod with thread-lock" if thread_lock else ""
    ends = _clamps(rod, kind)
    return Fixing(
        f"clamped between two {_parts(rod, kind)}{lock}",
        rod,
        (FaceFriction(clamp), *under_nut, on_rod),
        rod_bore(rod) if bore is None else bore,
        Hold(
            _BORE,
            "a nut against each face",
            "friction of the faces, the clamp being kept up",
            "high-strength thread-lock on both nuts: they are never tightened again"
            if thread_lock
            else _TIGHTENED_AGAIN,
        ),
        ends,
        ends,
    )


def nested_springs(rod: Rod, panel: Panel) -> int:
    """Return how many disc springs share what wood under a wide washer and rod bear."""
    disc = disc_spring(rod.thread)
    clamp = Clamp(rod, seat(rod.thread, "wide washer")).tight(panel)[0]
    return min(ceil(clamp / float(disc.load(disc.travel))), MAX_NESTED)


def spring_clamped(rod: Rod, panel: Panel, nested: int | None = None) -> Fixing:
    """Return a gear clamped between nuts with wide washers, with disc springs under the upper one.

    Springs nested in each other share the clamp; as many such stacks stand on each other, back to
    back, as it takes to follow the wood while it dries. Their height tells how tight they are.

    Parameters
    ----------
    rod : Rod
        The rod; its thread gives nuts, washers and springs.
    panel : Plywood or Stack
        What the gear is cut from.
    nested : int, optional
        How many springs share the clamp. Default: enough for what wood and rod bear, 4 at most.

    Returns
    -------
    Fixing
        Its ``rate(panel)`` tells the torque it holds.

    Examples
    --------
    Springs of 1000 N (DIN EN 16983) for 2183 N on birch.

    >>> from gearwork import plywood
    >>> from gearwork.stock import rod
    >>> spring_clamped(rod("M8"), plywood("birch", 6.5)).name
    'clamped between two nuts M8 with wide washers of 24 mm, 3 disc springs under the upper one'
    """
    plain, disc = Clamp(rod, seat(rod.thread, "wide washer")), disc_spring(rod.thread)
    if nested is None:
        nested = nested_springs(rod, panel)
    for stacks in range(1, MAX_STACKS + 1):
        springs = SpringStack(disc, nested, stacks)
        clamp = replace(plain, springs=springs)
        if take_up(clamp, panel, clamp.kept.value) >= shrinkage(panel):
            break
    ring, hexagon = _clamps(rod, "wide washer")
    count = f"{nested} disc spring{'s' * (nested > 1)}"
    if stacks > 1:
        count = f"{stacks} stacks of {count}"
    return Fixing(
        f"clamped between two {_parts(rod, 'wide washer')}, {count} under the upper one",
        rod,
        (FaceFriction(clamp), NutFriction(clamp), ThreadFriction(clamp)),
        rod_bore(rod),
        Hold(
            _BORE,
            "a nut against each face, the upper one by its springs",
            "friction of the faces, the clamp being kept up by the springs",
            _TIGHTENED_AGAIN,
        ),
        (ring, hexagon),
        (ring, *Piece.discs(springs, clamp.tight(panel)[0]), hexagon),
        kind="spring clamp",
    )


def bonded(rod: Rod, kind: SeatKind = "flange nut", *, bore: float | None = None) -> Fixing:
    """Return a gear bonded with epoxy to flange nuts or washers, the nuts locked to the rod.

    Glue and friction are not added: the glue is the stiffer and breaks before the faces slip.

    Parameters
    ----------
    rod, kind, bore
        As for `clamped`.

    Returns
    -------
    Fixing
        Its ``rate(panel)`` tells the torque it holds.

    Examples
    --------
    >>> from gearwork import plywood
    >>> from gearwork.stock import rod
    >>> glued, dry = (fixing(rod("M8")).rate(plywood("birch", 9)) for fixing in (bonded, clamped))
    >>> glued.design_torque > dry.design_torque
    True
    """
    ring = seat(rod.thread, kind, bore)
    under_nut = () if kind == "flange nut" else (NutGlue(rod),)
    ends = _clamps(rod, kind)
    return Fixing(
        f"bonded with epoxy between two {_parts(rod, kind)},"
        " the nuts locked to the rod with thread-lock",
        rod,
        (FaceGlue(ring), *under_nut, ThreadLock(rod)),
        rod_bore(rod) if bore is None else bore,
        Hold(
            _BORE,
            "a nut against each face, bonded to it",
            "epoxy between the faces and the steel",
            _LOCKED,
        ),
        ends,
        ends,
        kind="epoxy",
    )


def glued_on_rod(rod: Rod) -> Fixing:
    """Return a gear glued with epoxy around the rod in its bore."""
    return Fixing(
        f"glued with epoxy around the {rod.thread} rod",
        rod,
        (BoreGlue(rod), RodGlue(rod)),
        rod_bore(rod),
        Hold(
            f"{_BORE}, shimmed until the epoxy has set",
            "epoxy in the bore",
            "epoxy in the bore",
            "the epoxy: nothing can turn loose",
        ),
        kind="glued rod",
    )


def pocketed(rod: Rod, depth: float, corner_relief: float, nuts: int = 2) -> Fixing:
    """Return a gear with nuts let into pockets, locked to the rod; see `NutsInPockets`."""
    let_in = NutsInPockets(rod, depth, corner_relief, nuts)
    where = "each face" if nuts == 2 else "one face"
    sunk = Piece.hexagon(rod, let_in=min(depth, nut(rod.thread).height))
    return Fixing(
        f"an {rod.thread} nut let {depth:g} mm into {where}, locked to the rod with thread-lock",
        rod,
        (let_in, ThreadLock(rod, nuts)),
        rod_bore(rod),
        Hold(
            f"{_BORE}, in the wood under the nuts",
            "the nuts against the floors of their pockets"
            if nuts == 2
            else "the nut in its pocket, a nut with washer against the other face",
            "flats of the nut on the walls of its pocket",
            _LOCKED,
        ),
        (sunk,),
        (sunk,) if nuts == 2 else _clamps(rod, "washer"),
        kind="nut pockets",
    )


def bolted(
    rod: Rod, bolt: Rod, count: int, circle_diameter: float, plate: SteelPlate = FLANGE_PLATE
) -> Fixing:
    """Return a gear bolted to a steel plate that two nuts hold on the rod.

    The nuts are tightened against the plate; the thin one between plate and gear stands in a
    sinking of the gear, and the wood above that has the bore which centres it. A thin nut of class
    04 bears 380 MPa on A_s (ISO 898-2, from memory), more than half of what any rod yields at.

    Parameters
    ----------
    rod, bolt : Rod
        The rod the gear sits on, and what the bolts are made of.
    count : int
        How many bolts.
    circle_diameter : float
        On which they stand, mm.
    plate : SteelPlate
        Default 3 mm thick.

    Returns
    -------
    Fixing
        Its ``rate(panel)`` tells the torque it holds.

    Examples
    --------
    >>> from gearwork.stock import rod
    >>> bolted(rod("M8"), rod("M6", "4.6"), count=4, circle_diameter=40).sinking
    (17.0, 4.5)
    """
    hexagon, thin = nut(rod.thread), nut(rod.thread, thin=True)
    clear = float(ceil(hexagon.width_across_flats * 2.0 / sqrt(3.0) + 1.0))
    circle = BoltedJoint(bolt, count, circle_diameter, plate)
    across = circle_diameter + 3.0 * bolt.diameter  # 1.5 d from a hole to the edge of the plate
    return Fixing(
        f"{_bolts(circle)} through a {plate.thickness:g} mm steel plate held between two nuts"
        f" {rod.thread} {rod.grade.name}, the thin one sunk into the gear",
        rod,
        (circle, NutFriction(Clamp(rod)), ThreadFriction(Clamp(rod))),
        rod_bore(rod),
        Hold(
            f"{_BORE}, in the wood above the sunk nut; the bolts have play and do not centre",
            "the plate between two nuts, the gear on the plate by its bolts",
            "bolts in shear, then the nuts' friction on the plate",
            f"{_LOCKED}, which counts for no torque beside that of their clamp on steel",
        ),
        (
            Piece.hexagon(rod, thin=True, let_in=thin.height),
            Piece("plate", f"steel plate {plate.thickness:g} mm, {across:g} mm round",
                  plate.thickness, across, rod.diameter),
            Piece.hexagon(rod),
        ),
        sinking=(clear, thin.height + SINK_PLAY),
        kind="bolts",
    )  # fmt: skip


def bolted_to_gear(
    rod: Rod, bolt: Rod, count: int, circle_diameter: float, partner: Panel
) -> Fixing:
    """Return a gear bolted to its neighbour of `partner`, which takes the torque on."""
    circle = BoltedJoint(bolt, count, circle_diameter, partner)
    return Fixing(
        f"{_bolts(circle)} through the neighbour gear",
        rod,
        (circle,),
        rod_bore(rod),
        Hold(
            f"{_BORE}, the neighbour's on the same rod",
            "the neighbour gear, by the bolts",
            "bolts in shear",
            "the bolts' nuts, with medium-strength thread-lock",
        ),
        partner=partner,
    )


def glued_to_gear(rod: Rod, ring_diameter: float, partner: Panel) -> Fixing:
    """Return a gear glued face to face to its neighbour, from the bore to `ring_diameter` mm."""
    hole = washer(rod.thread).hole_diameter
    ring = Seat("the neighbour gear", ring_diameter, hole)
    own_face = Seat("this gear, the neighbour's face", ring_diameter, hole)
    return Fixing(
        f"glued face to face to the neighbour gear over {ring_diameter:g} mm diameter",
        rod,
        (FaceGlue(ring, faces=1), FaceGlue(own_face, faces=1, panel=partner)),
        rod_bore(rod),
        Hold(
            f"{_BORE}, a rod through both while the glue sets",
            "the neighbour gear, by the glue",
            "glue between the faces",
            "the glue: nothing can turn loose",
        ),
        partner=partner,
    )


_BORE = "the bore of the gear on the rod"
_LOCKED = "high-strength thread-lock on the nuts"
_TIGHTENED_AGAIN = (
    "medium-strength thread-lock on both nuts, renewed whenever they are tightened again; it counts"
    " for no torque"
)


def _clamps(rod: Rod, kind: SeatKind) -> tuple[Piece, ...]:
    """What stands on one face of a clamped gear, from the gear outwards."""
    if kind == "flange nut":
        flange = flange_nut(rod.thread)
        name = f"flange nut {rod.thread}, {flange.source}"
        return (Piece("nut", name, flange.height, flange.flange_diameter, rod.diameter),)
    return (Piece.ring(rod.thread, wide=kind == "wide washer"), Piece.hexagon(rod))


def _parts(rod: Rod, kind: SeatKind) -> str:
    if kind == "flange nut":
        return f"flange nuts {rod.thread}"
    size = washer(rod.thread, wide=kind == "wide washer").diameter
    return f"nuts {rod.thread} with {kind}s of {size:g} mm"


def _bolts(circle: BoltedJoint) -> str:
    bolt = circle.bolt
    return (
        f"{circle.count} bolts {bolt.thread} {bolt.grade.name} on a"
        f" {circle.circle_diameter:g} mm circle"
    )
