"""Checks of the mesh: contact, undercut, interference, tips, root as cut, backlash."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from typing import NamedTuple

import numpy as np

from gearwork.checks.check import Check, Way
from gearwork.checks.tooth.mesh_remedy import Mesh, mesh_remedy
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import largest_bit, running_tooth
from gearwork.geometry.pair import SIDES, GearPair, Side
from gearwork.geometry.rack import Rack
from gearwork.geometry.tooth import (
    Cutter,
    CutTooth,
    TipPath,
    mate_tip_path,
    tooth_for,
    widest_path,
)
from gearwork.numbers import round_down, round_up

MIN_CONTACT_RATIO = 1.0
WANTED_CONTACT_RATIO = 1.2
MIN_TIP = 0.2
WANTED_TIP = 0.4
MIN_BODY = 1.2
"""Bar below a rack's teeth, tooth depths: from there on Y_B of ISO 6336-3:2006 is 1 (from memory),
so that the root bears what it is rated for."""

MIN_CLEARANCE = 0.05
WANTED_CLEARANCE = 0.1


@dataclass(frozen=True)
class CutPair:
    """A pair and the bit that cuts it, whether or not it can run: what every check is made of.

    Parameters
    ----------
    pair : GearPair
        The gears.
    bit : Bit
        What cuts them; its `cut_diameter` counts.
    before, after : GearPair, optional
        Whose wheel the pinion is as well, and whose pinion the wheel is: of an idler, which is cut
        for both its mates and loaded on both flanks.

    Attributes
    ----------
    pinion, wheel : CutTooth
        Their teeth as the bit leaves them.

    Raises
    ------
    GearworkError
        If the pair is no `GearPair`, the bit no `Bit`, the idler of two pairs not the same gear, or
        teeth cannot be cut at all.

    Examples
    --------
    A large bit leaves a rounder root and less flank than the gears were designed with.

    >>> from gearwork import Bit, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> CutPair(pair, Bit(6.0)).contact_ratio <= pair.contact_ratio
    True
    """

    pair: GearPair
    bit: Cutter
    before: GearPair | None = None
    after: GearPair | None = None
    pinion: CutTooth[float] = field(init=False, repr=False, compare=False)
    wheel: CutTooth[float] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not isinstance(self.pair, GearPair):
            raise GearworkError(
                f"CutPair needs a GearPair, not {self.pair!r}: gw.GearPair(pinion, wheel)"
            )
        if not hasattr(self.bit, "cut_diameter"):
            raise GearworkError(f"CutPair needs a bit, not {self.bit!r}: gw.Bit(diameter=3.0)")
        for first, second in ((self.before, self.pair), (self.pair, self.after)):
            if first is not None and second is not None and first.wheel != second.pinion:
                raise GearworkError(
                    f"{second.pinion!r} is not {first.wheel!r}: the idler of two pairs is one gear"
                )
        for side in SIDES:
            tooth = tooth_for(getattr(self.pair, side), self.bit.cut_diameter, self.tip_path(side))
            object.__setattr__(self, side, tooth)

    def tip_path(self, side: Side) -> TipPath[float]:
        """Return the path of the mate's tip through the spaces of a gear, of an idler of both."""
        gears = self.pair.pinion, self.pair.wheel
        gear, mate = gears if side == "pinion" else gears[::-1]
        paths = [mate_tip_path(gear, mate, self.pair.centre_distance)]
        other = self.before if side == "pinion" else self.after
        if other is not None:
            far = other.pinion if side == "pinion" else other.wheel
            paths.append(mate_tip_path(gear, far, other.centre_distance))
        return widest_path(paths)

    def is_idler(self, side: Side) -> bool:
        """Whether a gear runs with another mate as well, on its other flanks."""
        return (self.before if side == "pinion" else self.after) is not None

    def called(self, side: Side) -> str:
        """Return what a gear is called: an idler is neither pinion nor wheel."""
        return "idler" if self.is_idler(side) else self.pair.called(side)

    def running(self, side: Side) -> CutTooth[float]:
        """Return the tooth of a gear, or refuse it where it could not run."""
        return running_tooth(self.pair, self.tooth_of(side), self.tip_path(side))

    def tooth_of(self, side: Side) -> CutTooth[float]:
        """Return the tooth of one of its gears."""
        return self.pinion if side == "pinion" else self.wheel

    def sides(self) -> tuple[tuple[Side, Gear, Gear, CutTooth[float]], ...]:
        """Name, gear, mate and cut tooth of both gears."""
        return (
            ("pinion", self.pair.pinion, self.pair.wheel, self.pinion),
            ("wheel", self.pair.wheel, self.pair.pinion, self.wheel),
        )

    @property
    def contact_ratio(self) -> float:
        """ε_α with the flank that is left above both fillets."""
        return self._overlap(self.pair)

    def contact_ratio_at(self, centre_distance: float) -> float:
        """Return ε_α of the same teeth on shafts that have come to stand this far apart, mm."""
        return self._overlap(GearPair(self.pair.pinion, self.pair.wheel, centre_distance))

    def _overlap(self, pair: GearPair) -> float:
        start, end = pair.contact_limits
        end = min(end, pair.line_of_action - self.wheel.contact)
        return max(end - max(start, self.pinion.contact), 0.0) / pair.pinion.base_pitch


def need_cut_pair(caller: str, cut: object) -> None:
    """Refuse anything but a `CutPair`, in the name of the function that was called."""
    if not isinstance(cut, CutPair):
        raise GearworkError(f"{caller} needs a CutPair, not {cut!r}: gw.CutPair(pair, bit)")


@lru_cache(maxsize=64)
def mesh_checks(cut: CutPair) -> tuple[Check, ...]:
    """Return all checks of a mesh; those that do not hold with a remedy that was tried out.

    Parameters
    ----------
    cut : CutPair
        The pair and both its teeth as cut.
    """
    return tuple(_with_remedy(cut, place) for place in range(len(judges(cut))))


def _with_remedy(cut: CutPair, place: int) -> Check:
    side, judge = judges(cut)[place]
    check = judge()
    if check.verdict == "pass" or check.ways:
        return check

    def again(pair: GearPair, cut_diameter: float) -> Check:
        other = replace(cut, pair=pair, bit=_Slot(cut_diameter))
        return judges(other)[place][1]()

    measured = getattr(cut.bit, "measured_diameter", None) is not None
    return mesh_remedy(check, cut.pair, cut.pinion.cut_diameter, side, again, measured)


class _Slot(NamedTuple):
    """A bit of any diameter, mm."""

    cut_diameter: float


def judges(cut: CutPair) -> tuple[tuple[Side, Callable[[], Check]], ...]:
    """Every check, made only when it is called, and whose; always in this order.

    What is of both gears counts as the pinion's. Of an idler the pair before tells all but whether
    its flanks suit this mate.
    """
    judges: list[tuple[Side, Callable[[], Check]]] = [("pinion", partial(_contact_check, cut))]
    for side, gear, mate, tooth in cut.sides():
        part, reserve = cut.called(side), cut.pair.interference_reserve[side == "wheel"]
        told = side == "pinion" and cut.is_idler(side)
        if isinstance(gear, Rack):  # its straight flanks can be neither undercut nor dug into
            judges.append((side, partial(_body_check, gear, tooth)))
        else:
            other = cut.called("wheel" if side == "pinion" else "pinion")
            if not told:
                judges.append((side, partial(_undercut_check, part, gear)))
            judges.append((side, partial(_interference_check, part, other, mate, reserve)))
        if not told:
            judges += [
                (side, partial(_tip_check, part, gear)),
                (side, partial(_fit_check, part, tooth, cut.tip_path(side))),
                (side, partial(_flank_check, part, tooth)),
                (side, partial(_clearance_check, part, tooth)),
            ]
    return (*judges, ("pinion", partial(_backlash_check, cut.pair)))


def _contact_check(cut: CutPair) -> Check:
    pair = cut.pair
    if pair.interferes:
        why = (
            f"The usual formula gives {pair.formula_contact_ratio:.3f}, which means nothing here:"
            " the pair interferes, and part of that contact has no flank to happen on."
        )
    else:
        why = (
            "On average this many tooth pairs carry the load; below 1 the drive loses contact"
            " between teeth."
        )
    return Check(
        judged=Mesh.CONTACT_RATIO,
        value=cut.contact_ratio,
        limit=MIN_CONTACT_RATIO,
        wanted=WANTED_CONTACT_RATIO,
        unit="",
        sense="at least",
        why=why,
        source="ISO 21771-1 (contact ratio from the real limits of contact); 1.2 common practice",
    )


def _body_check(rack: Rack, tooth: CutTooth[float]) -> Check:
    root = -rack.above(tooth.root_diameter)
    limit = MIN_BODY * (rack.tip_height + root)
    ways: tuple[Way, ...] = ((("stage.rack_height", round_up(root + limit, 1)),),)
    return Check(
        judged="bar below the teeth",
        part="rack",
        value=rack.back_depth - root,
        limit=limit,
        unit="mm",
        sense="at least",
        why="A bar too low below its teeth bends with them, and their roots bear less than rated.",
        ways=ways,
        source="ISO 6336-3:2006 Y_B (from memory), rim of 1.2 tooth depths",
    )


def _undercut_check(side: str, gear: Gear) -> Check:
    return Check(
        judged=Mesh.UNDERCUT,
        part=side,
        value=gear.profile_shift,
        limit=-np.inf,
        wanted=gear.min_shift,
        unit="profile shift",
        sense="at least",
        why=(
            "Below this shift a rack or hob would cut away the foot of the involute. A router"
            " bit does not, but the flank that is left is short and slides hard."
        ),
        source="ISO 21771-1; x = h_a* − z sin² α / 2",
    )


def _interference_check(side: str, other: str, mate: Gear, reserve: float) -> Check:
    return Check(
        judged=Mesh.INTERFERENCE,
        part=f"{side} flank",
        value=reserve,
        limit=0.0,
        wanted=0.05 * mate.module,
        unit="mm",
        sense="at least",
        why=(
            f"Radius of curvature of the {side}'s flank where the {other}'s tip meets it; below"
            " 0 that tip runs past the end of the involute and digs into the foot."
        ),
        source="ISO 21771-1; base tangent point as limit of the path of contact",
    )


def _tip_check(side: str, gear: Gear) -> Check:
    return Check(
        judged=Mesh.TIP_THICKNESS,
        part=side,
        value=gear.tip_thickness,
        limit=MIN_TIP * gear.module,
        wanted=WANTED_TIP * gear.module,
        unit="mm",
        sense="at least",
        why="A thin tip of veneer splinters when it is cut and when it meets the mate.",
        source="0.2 m common practice; 0.4 m for wood is an assumption",
    )


def _fit_check(side: str, tooth: CutTooth[float], path: TipPath[float]) -> Check:
    return Check(
        judged=Mesh.BIT_FIT,
        part=side,
        value=tooth.cut_diameter,
        limit=largest_bit(tooth, path),
        unit="mm",
        sense="at most",
        why="Largest cutting diameter that leaves the mate its flank and its way to the root.",
        source="geometry of the tooth as cut",
    )


def _flank_check(side: str, tooth: CutTooth[float]) -> Check:
    return Check(
        judged=Mesh.FLANK_BELOW_CONTACT,
        part=side,
        value=(tooth.active_diameter - tooth.form_diameter) / 2,
        limit=0.0,
        unit="mm",
        sense="at least",
        why="Involute left between the lowest point the mate touches and the root fillet.",
        source="ISO 21771-1, d_Nf against d_Ff of the tooth as cut",
    )


def _clearance_check(side: str, tooth: CutTooth[float]) -> Check:
    return Check(
        judged=Mesh.ROOT_CLEARANCE,
        part=side,
        value=tooth.fillet_clearance,
        limit=MIN_CLEARANCE * tooth.gear.module,
        wanted=WANTED_CLEARANCE * tooth.gear.module,
        unit="mm",
        sense="at least",
        why="Least room between the mate's tip and the root as cut, all along its way.",
        source="path of the mate's tip; 0.05 m for dust and swelling is an assumption",
    )


def min_backlash(module: float, centre_distance: float) -> float:
    """Return the least normal backlash that metal drives are given, mm (ISO/TR 10064-2, A.1)."""
    return round_up(2 / 3 * (0.06 + 0.0005 * centre_distance + 0.03 * module), 2)


def distance_tolerance(pair: GearPair) -> float:
    """Return by how much the shafts may stand nearer or farther than they should, mm.

    Nearer takes half of the backlash; the other half is for cutting error, run-out and swelling
    (assumption). Farther is allowed as much.
    """
    closest = pair.distance_for_backlash(max(pair.backlash, 0.0) / 2)
    return round_down(max(pair.centre_distance - closest, 0.0), 2)


def _backlash_check(pair: GearPair) -> Check:
    limit = min_backlash(pair.pinion.module, pair.centre_distance)
    return Check(
        judged=Mesh.BACKLASH,
        value=pair.normal_backlash,
        limit=limit,
        wanted=1.5 * limit,
        unit="mm",
        sense="at least",
        why=(
            "Play between the flanks; cutting error, shaft position and swelling take from it,"
            " and a mesh without play binds."
        ),
        source=(
            "ISO/TR 10064-2:1996 table A.1 for metal drives (from memory); half as much again"
            " for plywood is an assumption"
        ),
    )
