"""Coupling: how a drill takes hold of the first rod, and whether that holds its torque."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.hub.fixing import Hold, Piece
from gearwork.checks.hub.joints import (
    ChuckGrip,
    Clamp,
    DrilledRod,
    Joint,
    JointRating,
    JointUse,
    PinnedNut,
    ThreadFriction,
    ThreadLock,
)
from gearwork.checks.hub.tightening import Tightening
from gearwork.numbers import round_down
from gearwork.stock.hardware import Nut, Rod, coupling_nut, nut, spring_pin
from gearwork.stock.laminate import Panel

CouplingName = Literal["chuck", "bonded nut", "pinned nut", "jammed nuts"]

JAWS = 20.0
"""Of a rod that a chuck holds at least, mm (common practice)."""


@dataclass(frozen=True)
class Coupling:
    """How the drive is coupled to the end of its rod, which nothing of wood has a part in.

    `pieces`: what stands on the rod, from the machine outwards; `tools`: what else to buy; `panel`
    and `use` as for other joints.
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
        """Of the rod that it takes, mm."""
        return sum(piece.length for piece in self.pieces) or JAWS

    @property
    def tightening(self) -> Tightening | None:
        """How tight nuts are drawn against each other."""
        if self.name != "jammed nuts":
            return None
        return Tightening.of("two nuts", Clamp(self.rod), self.panel)


def couplings(on: Rod, panel: Panel, use: JointUse) -> tuple[Coupling, ...]:
    """Return all there are for a rod, cheapest first."""
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
            (PinnedNut(on), DrilledRod(on)),
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


def pin_name(on: Rod) -> str:
    """Return what the pin of a pinned nut is called."""
    pin = spring_pin(on.thread)
    return f"spring pin {pin.diameter:g} × {pin.length:g}, {pin.source}"


def _socket(hexagon: Nut) -> str:
    return f"deep socket {hexagon.width_across_flats:g} mm, hexagon, with its adapter for the drill"


def cheapest_coupling(
    on: Rod, panel: Panel, use: JointUse, torque: float, reversing: bool
) -> Coupling:
    """Return the cheapest that holds a torque, N·m, else the strongest.

    What holds by friction comes last where the torque reverses.
    """
    every = couplings(on, panel, use)
    if reversing:
        every = (*every[1:3], every[0], every[3])
    holding = (one for one in every if one.design_torque >= torque)
    return next(holding, max(every, key=lambda one: one.design_torque))


def check_coupling(held: Coupling, torque: float) -> CheckReport:
    """Judge whether it holds a torque, N·m."""
    better = [
        one.name for one in couplings(held.rod, held.panel, held.use) if one.design_torque >= torque
    ]
    remedy = (
        f"Bring no more than {round_down(held.design_torque, 2):g} N·m to the rod, by the clutch,"
        " or take a thicker rod."
    )
    if better:
        remedy = f'Write coupling = "{better[0]}" under [shafts].'
    checks = tuple(
        Check(
            judged="torque",
            part=one.name,
            kind="strength",
            value=torque,
            limit=one.design_torque,
            unit="N·m",
            sense="at most",
            why=f"{one.why} Before safety factors it holds {one.characteristic_torque:.3g} N·m.",
            remedy=remedy,
            source=one.source,
            basis=one.steps,
        )
        for one in held.ratings
    )
    return CheckReport(Subject("hub", "coupling of the drive"), checks)
