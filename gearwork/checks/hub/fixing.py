"""Fixing: the path of joints from a gear to its rod, of which the weakest counts."""

from dataclasses import dataclass
from functools import cached_property
from math import ceil, sqrt

from gearwork.checks.hub.joints import (
    BoltedJoint,
    BoreGlue,
    FaceFriction,
    FaceGlue,
    Factors,
    Joint,
    JointRating,
    NutFriction,
    NutGlue,
    NutsInPockets,
    RodGlue,
    Seat,
    SeatKind,
    SteelPlate,
    ThreadFriction,
    ThreadLock,
    seat,
    wood_factors,
)
from gearwork.errors import GearworkError, number
from gearwork.stock.hardware import Rod, nut, washer
from gearwork.stock.laminate import Panel

FLANGE_PLATE = SteelPlate(3.0)  # mm


@dataclass(frozen=True)
class Fixing:
    """How a gear is held on its rod, or on a neighbour gear.

    The functions of this module make the usual ones; any other path is made from its joints, e.g.
    ``Fixing("...", rod, (FaceGlue(ring), ThreadLock(rod)), bore_diameter)``.

    Attributes
    ----------
    name : str
        What to buy and do, with its numbers.
    rod : Rod
        The rod the gear sits on.
    joints : tuple of Joint
        All that the torque passes through, one after the other.
    bore_diameter : float
        Hole in the middle of the gear, mm.
    partner : Plywood or Stack, optional
        The neighbour gear, where that holds this one instead of the rod.
    """

    name: str
    rod: Rod
    joints: tuple[Joint, ...]
    bore_diameter: float
    partner: Panel | None = None

    def __post_init__(self) -> None:
        if not self.joints:
            raise GearworkError(f"fixing {self.name!r} has no link: at least one is needed")
        number("bore of the gear", self.bore_diameter, unit="mm", above=0.0)

    def rate(self, panel: Panel, factors: Factors | None = None) -> "HubRating":
        """Return what it holds in a gear of `panel`.

        Parameters
        ----------
        panel : Plywood or Stack
            What the gear is cut from.
        factors : tuple of Factor, optional
            Between characteristic and design torque of wood. Default: `wood_factors()`.
        """
        return HubRating(self, panel, wood_factors() if factors is None else factors)


@dataclass(frozen=True)
class HubRating:
    """The torque a fixing holds in a gear cut from a panel: that of its weakest joint."""

    fixing: Fixing
    panel: Panel
    factors: Factors  # of the wood

    @cached_property
    def joints(self) -> tuple[JointRating, ...]:
        """Every joint, from the gear to the rod."""
        return tuple(joint.rate(self.panel, self.factors) for joint in self.fixing.joints)

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


def clamped(
    rod: Rod,
    kind: SeatKind = "flange nut",
    *,
    thread_lock: bool = False,
    bore: float | None = None,
) -> Fixing:
    """Return a gear clamped between two flange nuts, or two nuts with washers.

    Parameters
    ----------
    rod : Rod
        The rod; its thread gives nuts and washers.
    kind : {"flange nut", "washer", "wide washer"}
        What presses on the wood.
    thread_lock : bool
        Whether the nuts are locked to the rod with high-strength thread-lock.
    bore : float, optional
        Hole in the gear, mm. Default: as wide as the washer's hole.

    Returns
    -------
    Fixing
        Its ``rate(panel)`` tells the torque it holds.

    Examples
    --------
    >>> from gearwork import plywood
    >>> from gearwork.stock import rod
    >>> round(clamped(rod("M8")).rate(plywood("birch", 9)).characteristic_torque, 2)
    0.48
    """
    ring = seat(rod.thread, kind, bore)
    under_nut = () if kind == "flange nut" else (NutFriction(rod, ring),)
    on_rod = ThreadLock(rod) if thread_lock else ThreadFriction(rod, ring)
    lock = ", the nuts locked to the rod with thread-lock" if thread_lock else ""
    return Fixing(
        f"clamped between two {_parts(rod, kind)}{lock}",
        rod,
        (FaceFriction(rod, ring), *under_nut, on_rod),
        ring.inner_diameter,
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
    return Fixing(
        f"bonded with epoxy between two {_parts(rod, kind)},"
        " the nuts locked to the rod with thread-lock",
        rod,
        (FaceGlue(ring), *under_nut, ThreadLock(rod)),
        ring.inner_diameter,
    )


def glued_on_rod(rod: Rod) -> Fixing:
    """Return a gear glued with epoxy around the rod in its bore."""
    return Fixing(
        f"glued with epoxy around the {rod.thread} rod",
        rod,
        (BoreGlue(rod), RodGlue(rod)),
        rod.diameter,
    )


def pocketed(rod: Rod, depth: float, corner_relief: float, nuts: int = 2) -> Fixing:
    """Return a gear with nuts let into pockets, locked to the rod; see `NutsInPockets`."""
    let_in = NutsInPockets(rod, depth, corner_relief, nuts)
    where = "each face" if nuts == 2 else "one face"
    return Fixing(
        f"an {rod.thread} nut let {depth:g} mm into {where}, locked to the rod with thread-lock",
        rod,
        (let_in, ThreadLock(rod, nuts)),
        washer(rod.thread).hole_diameter,
    )


def bolted(
    rod: Rod, bolt: Rod, count: int, circle_diameter: float, plate: SteelPlate = FLANGE_PLATE
) -> Fixing:
    """Return a gear bolted to a steel plate that two nuts hold on the rod.

    The nuts are tightened against the plate, through a bore in the gear that clears them.

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
    >>> bolted(rod("M8"), rod("M6", "4.6"), count=4, circle_diameter=40).bore_diameter
    17.0
    """
    clear = float(ceil(nut(rod.thread).width_across_flats * 2.0 / sqrt(3.0) + 1.0))
    circle = BoltedJoint(bolt, count, circle_diameter, plate)
    return Fixing(
        f"{_bolts(circle)} through a {plate.thickness:g} mm steel plate held between two nuts"
        f" {rod.thread} {rod.grade.name}, bore {clear:g} mm",
        rod,
        (circle, NutFriction(rod), ThreadFriction(rod)),
        clear,
    )


def bolted_to_gear(
    rod: Rod, bolt: Rod, count: int, circle_diameter: float, partner: Panel
) -> Fixing:
    """Return a gear bolted to its neighbour of `partner`, which takes the torque on."""
    circle = BoltedJoint(bolt, count, circle_diameter, partner)
    return Fixing(
        f"{_bolts(circle)} through the neighbour gear",
        rod,
        (circle,),
        washer(rod.thread).hole_diameter,
        partner,
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
        ring.inner_diameter,
        partner,
    )


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
