"""Coupling: how drill or motor take hold of the first rod, and whether that holds their torque."""

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil
from typing import Literal

from gearwork.checks.check import CheckReport, Subject, Way
from gearwork.checks.hub.fixing import Hold, Piece
from gearwork.checks.hub.joints import (
    ChuckGrip,
    Clamp,
    ClampedSleeve,
    DrilledRod,
    Joint,
    JointRating,
    JointUse,
    Keyed,
    Pinned,
    SetScrews,
    ThreadFriction,
    ThreadLock,
)
from gearwork.checks.hub.tightening import Tightening
from gearwork.stock.hardware import Nut, Rod, coupling_nut, nut, sleeve, spring_pin
from gearwork.stock.laminate import Panel

CouplingName = Literal[
    "chuck", "bonded nut", "pinned nut", "jammed nuts", "clamp sleeve", "pinned sleeve"
]
OF_DRILL: tuple[CouplingName, ...] = ("chuck", "bonded nut", "pinned nut", "jammed nuts")
OF_MOTOR: tuple[CouplingName, ...] = ("clamp sleeve", "pinned sleeve")
_BY_FRICTION = ("chuck", "jammed nuts", "clamp sleeve")

ShaftForm = Literal["plain", "flat", "keyed"]

GAP = 1.0  # between the ends of rod and motor's shaft in their sleeve, mm (common practice)
PIN_STEP = 5.0  # in which longer pins are sold, mm (from memory)
JAWS = 20.0
"""Of a rod that a chuck holds at least, mm (common practice)."""


@dataclass(frozen=True)
class MotorShaft:
    """The end of a motor's shaft: its diameter, mm, round as it is, with a flat or with a key."""

    diameter: float
    form: ShaftForm = "plain"


@dataclass(frozen=True)
class Coupling:
    """How the drive is coupled to the end of its rod, which nothing of wood has a part in.

    `pieces`: what stands on the rod, from the machine outwards; `tools`: what else to buy; `panel`
    and `use` as for other joints; `shaft`: of a motor, in the outer half of a sleeve.
    """

    name: CouplingName
    words: str
    rod: Rod
    joints: tuple[Joint, ...]
    hold: Hold
    panel: Panel
    use: JointUse
    pieces: tuple[Piece, ...] = ()
    tools: tuple[str, ...] = ()
    shaft: MotorShaft | None = None

    @cached_property
    def ratings(self) -> tuple[JointRating, ...]:
        """What each joint holds."""
        return tuple(joint.rate(self.panel, self.use) for joint in self.joints)

    @property
    def design_torque(self) -> float:
        """Torque it holds with all factors, N·m."""
        return min(one.design_torque for one in self.ratings)

    @property
    def length(self) -> float:
        """From its inner to its outer end, mm."""
        return sum(piece.length for piece in self.pieces) or JAWS

    @property
    def in_socket(self) -> bool:
        """Whether the chuck holds a socket on what stands on the rod, not the rod."""
        return self.shaft is None and bool(self.pieces)

    @property
    def beyond(self) -> float:
        """How far it reaches beyond the end of the rod, mm."""
        return 0.0 if self.shaft is None else (self.length + GAP) / 2.0

    @property
    def tightening(self) -> Tightening | None:
        """How tight nuts are drawn against each other."""
        if self.name != "jammed nuts":
            return None
        return Tightening.of("two nuts", Clamp(self.rod), self.panel)


def couplings(
    on: Rod, panel: Panel, use: JointUse, shaft: MotorShaft | None = None
) -> tuple[Coupling, ...]:
    """Return all there are for a rod, cheapest first: of a motor's shaft, else of a drill."""
    return _of_drill(on, panel, use) if shaft is None else _of_motor(on, panel, use, shaft)


def _of_motor(on: Rod, panel: Panel, use: JointUse, shaft: MotorShaft) -> tuple[Coupling, ...]:
    """A rigid sleeve; the motor's side of it by the form of its shaft."""
    part = sleeve(max(on.diameter, shaft.diameter))
    ends: dict[ShaftForm, tuple[Joint, str, str]] = {
        "plain": (
            ClampedSleeve("motor's shaft", shaft.diameter, part, crests=False),
            "a clamp",
            "friction of the clamp",
        ),
        "flat": (SetScrews(shaft.diameter, part), "two set screws", "set screws on its flat"),
        "keyed": (Keyed(shaft.diameter, part), "a keyway and a set screw", "its key"),
    }
    own, with_what, by = ends[shaft.form]
    item = (
        f"rigid sleeve coupling {shaft.diameter:g} / {on.diameter:g}, {part.diameter:g} ×"
        f" {part.length:g} mm, {with_what} for the shaft of {shaft.diameter:g}, a clamp for the rod"
    )
    piece = (Piece("sleeve", item, part.length, part.diameter, on.diameter),)
    lock = "medium-strength thread-lock on its screws"
    along = f"sleeve and motor, {with_what} on its shaft"
    crests = ClampedSleeve(f"{on.thread} rod", on.outside[0], part, crests=True)
    return (
        Coupling(
            "clamp sleeve",
            f"a {item}",
            on,
            (crests, own),
            Hold(
                "the bores of the sleeve on rod and shaft",
                along,
                f"friction of the clamp on the rod, {by} on the motor",
                lock,
            ),
            panel,
            use,
            piece,
            shaft=shaft,
        ),
        Coupling(
            "pinned sleeve",
            f"a {item}, with a {pin_name(on, part.diameter)} through sleeve and rod",
            on,
            (Pinned(on, "sleeve"), DrilledRod(on), own),
            Hold(
                "the bores of the sleeve on rod and shaft",
                along,
                f"the pin in shear on the rod, {by} on the motor",
                f"the spring of the pin; {lock}",
            ),
            panel,
            use,
            piece,
            shaft=shaft,
        ),
    )


def _of_drill(on: Rod, panel: Panel, use: JointUse) -> tuple[Coupling, ...]:
    """Its chuck on the thread, or a socket in it on nuts."""
    hexagon, long = nut(on.thread), coupling_nut(on.thread)
    name = f"coupling nut {on.thread}, {long.source}, {long.height:g} mm"
    one = Piece("nut", name, long.height, long.width_across_corners, on.diameter)
    socket, centre = (_socket(long),), "the socket on the hexagon, with its play; the cradle"
    pinned = pin_name(on)
    return (
        Coupling(
            "chuck",
            f"the {on.thread} rod in the chuck of the drill, {JAWS:g} mm deep or more",
            on,
            (ChuckGrip(on),),
            Hold(
                "the three jaws",
                "the three jaws",
                "friction of the jaws",
                "the lock of the chuck, drawn up again before each day's work",
            ),
            panel,
            use,
        ),
        Coupling(
            "bonded nut",
            f"a coupling nut {on.thread} locked to the rod with thread-lock, in a socket",
            on,
            (ThreadLock(on, 1, long=True),),
            Hold(
                centre,
                "the thread; the socket slides",
                "high-strength thread-lock over the whole nut",
                "the thread-lock: nothing can turn loose",
            ),
            panel,
            use,
            (one,),
            socket,
        ),
        Coupling(
            "pinned nut",
            f"a coupling nut {on.thread} with a {pinned} through nut and rod, in a socket",
            on,
            (Pinned(on), DrilledRod(on)),
            Hold(
                centre,
                "the pin; the socket slides",
                "the pin in shear",
                "the spring of the pin, driven in flush",
            ),
            panel,
            use,
            (one,),
            socket,
        ),
        Coupling(
            "jammed nuts",
            f"two nuts {on.thread} jammed against each other, both in one deep socket",
            on,
            (ThreadFriction(Clamp(on)),),
            Hold(
                centre,
                "the nuts' threads; the socket slides",
                "friction of the threads under the nuts' pull on each other",
                "medium-strength thread-lock on both nuts",
            ),
            panel,
            use,
            (Piece.hexagon(on),) * 2,
            (_socket(hexagon),),
        ),
    )


def pin_length(on: Rod, across: float = 0.0) -> float:
    """Return the length of the pin of a nut, or across a sleeve of that diameter, mm."""
    return max(spring_pin(on.thread).length, PIN_STEP * ceil(across / PIN_STEP))


def pin_name(on: Rod, across: float = 0.0) -> str:
    """Return what the pin of a nut, or across a sleeve of that diameter, is called."""
    pin = spring_pin(on.thread)
    return f"spring pin {pin.diameter:g} × {pin_length(on, across):g}, {pin.source}"


def _socket(hexagon: Nut) -> str:
    return f"deep socket {hexagon.width_across_flats:g} mm, hexagon, with its adapter for the drill"


def cheapest_coupling(
    on: Rod,
    panel: Panel,
    use: JointUse,
    torque: float,
    reversing: bool,
    shaft: MotorShaft | None = None,
) -> Coupling:
    """Return the cheapest that holds a torque, N·m, else the strongest.

    What holds by friction comes last where the torque reverses.
    """
    every = couplings(on, panel, use, shaft)
    if reversing:
        every = tuple(sorted(every, key=lambda one: one.name in _BY_FRICTION))
    holding = (one for one in every if one.design_torque >= torque)
    return next(holding, max(every, key=lambda one: one.design_torque))


def check_coupling(held: Coupling, torque: float) -> CheckReport:
    """Judge whether it holds a torque, N·m."""
    better = [
        one.name
        for one in couplings(held.rod, held.panel, held.use, held.shaft)
        if one.design_torque >= torque
    ]
    ways: tuple[Way, ...] = ((("shafts.coupling", better[0]),),) if better else ()
    checks = tuple(replace(one.check(torque), ways=ways) for one in held.ratings)
    return CheckReport(Subject("hub", "coupling of the drive"), checks)
