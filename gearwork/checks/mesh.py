"""Checks of the mesh: contact, undercut, interference, tips, root as cut, backlash."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from gearwork.checks.verdict import Check
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.tooth import Cutter, CutTooth, cut_tooth
from gearwork.geometry.toothed_edge import largest_bit
from gearwork.rounding import round_down, round_up

LEAST_CONTACT_RATIO = 1.0
WANTED_CONTACT_RATIO = 1.2
LEAST_TIP = 0.2
WANTED_TIP = 0.4
LEAST_CLEARANCE = 0.05
WANTED_CLEARANCE = 0.1

Side = Literal["pinion", "wheel"]


@dataclass(frozen=True)
class CutPair:
    """A pair with both teeth as the bit leaves them.

    Attributes
    ----------
    pair : GearPair
        The gears.
    pinion, wheel : CutTooth
        Their teeth as cut.

    Examples
    --------
    A large bit leaves a rounder root and less flank than the gears were designed with.

    >>> from gearwork import Bit, Gear, GearPair
    >>> pair = GearPair(Gear(module=5, teeth=14), Gear(module=5, teeth=38))
    >>> CutPair.by(pair, Bit(6.0)).contact_ratio <= pair.contact_ratio
    True
    """

    pair: GearPair
    pinion: CutTooth[float]
    wheel: CutTooth[float]

    @classmethod
    def by(cls, pair: GearPair, bit: Cutter) -> "CutPair":
        """Return the pair as cut by this bit, whether or not it can run."""
        pinion, wheel, distance = pair.pinion, pair.wheel, pair.centre_distance
        return cls(
            pair,
            cut_tooth(pinion, bit.cut_diameter, wheel, distance),
            cut_tooth(wheel, bit.cut_diameter, pinion, distance),
        )

    def sides(self) -> tuple[tuple[Side, Gear, Gear, CutTooth[float]], ...]:
        """Name, gear, mate and cut tooth of both gears."""
        return (
            ("pinion", self.pair.pinion, self.pair.wheel, self.pinion),
            ("wheel", self.pair.wheel, self.pair.pinion, self.wheel),
        )

    @property
    def contact_ratio(self) -> float:
        """ε_α with the flank that is left above both fillets."""
        start, end = self.pair.contact_limits
        end = min(end, self.pair.line_of_action - self.wheel.contact)
        return max(end - max(start, self.pinion.contact), 0.0) / self.pair.pinion.base_pitch


def mesh_checks(cut: CutPair) -> tuple[Check, ...]:
    """Return all checks of a mesh.

    Parameters
    ----------
    cut : CutPair
        The pair and both its teeth as cut.
    """
    checks = [_contact_check(cut)]
    for side, gear, mate, tooth in cut.sides():
        reserve = cut.pair.interference_reserve[side == "wheel"]
        checks += [
            _undercut_check(side, gear),
            _interference_check(side, mate, reserve, cut.pair),
            _tip_check(side, gear),
            *_root_checks(side, tooth, mate, cut.pair.centre_distance),
        ]
    return (*checks, _backlash_check(cut.pair))


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
        name="contact ratio",
        value=cut.contact_ratio,
        limit=LEAST_CONTACT_RATIO,
        wanted=WANTED_CONTACT_RATIO,
        unit="",
        sense="at least",
        why=why,
        remedy=_contact_remedy(pair),
        source="ISO 21771-1 (contact ratio from the real limits of contact); 1.2 common practice",
    )


def _contact_remedy(pair: GearPair) -> str:
    """More and smaller teeth in about the same room, at the smallest count that is enough."""
    first = int(pair.pinion.teeth)
    for teeth in range(first + 1, 4 * first + 40):
        share = teeth / first
        bigger = [
            replace(
                gear,
                teeth=round(gear.teeth * share),
                module=round(gear.module / share, 3),
                profile_shift=0.0,
                tip_alteration=0.0,
                thinning=gear.thinning / share,
            )
            for gear in (pair.pinion, pair.wheel)
        ]
        trial = GearPair(bigger[0], bigger[1])
        if trial.contact_ratio >= WANTED_CONTACT_RATIO and not trial.interferes:
            return (
                f"Take {teeth} and {bigger[1].teeth:g} teeth of module {bigger[0].module:g} mm"
                f" without profile shift at {trial.centre_distance:.2f} mm."
            )
    return "No count of teeth in this room brings it to 1.2; take a larger addendum."


def _undercut_check(side: Side, gear: Gear) -> Check:
    return Check(
        name=f"undercut, {side}",
        value=gear.profile_shift,
        limit=-np.inf,
        wanted=gear.smallest_shift,
        unit="profile shift",
        sense="at least",
        why=(
            "Below this shift a rack or hob would cut away the foot of the involute. A router"
            " bit does not, but the flank that is left is short and slides hard."
        ),
        remedy=f"Take a profile shift of {round_up(gear.smallest_shift, 2):g} or more.",
        source="ISO 21771-1; x = h_a* − z sin² α / 2",
    )


def _interference_check(side: Side, mate: Gear, reserve: float, pair: GearPair) -> Check:
    other = "wheel" if side == "pinion" else "pinion"
    tip = round_down(float(np.hypot(2 * pair.line_of_action, mate.base_diameter)), 2)
    change = (tip - mate.tip_diameter) / 2 / mate.module + mate.tip_alteration
    return Check(
        name=f"interference, {side} flank",
        value=reserve,
        limit=0.0,
        wanted=0.05 * mate.module,
        unit="mm",
        sense="at least",
        why=(
            f"Radius of curvature of the {side}'s flank where the {other}'s tip meets it; below"
            " 0 that tip runs past the end of the involute and digs into the foot."
        ),
        remedy=(
            f"Shorten the {other}'s tip to {tip:g} mm diameter (tip alteration {change:.4f}), or"
            f" give the {side} more profile shift."
        ),
        source="ISO 21771-1; base tangent point as limit of the path of contact",
    )


def _tip_check(side: Side, gear: Gear) -> Check:
    limit, wanted = LEAST_TIP * gear.module, WANTED_TIP * gear.module
    low, high = gear.base_diameter, gear.tip_diameter
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if gear.thickness_at(middle) > limit else (low, middle)
    change = gear.tip_alteration - (gear.tip_diameter - low) / 2 / gear.module
    return Check(
        name=f"tip thickness, {side}",
        value=gear.tip_thickness,
        limit=limit,
        wanted=wanted,
        unit="mm",
        sense="at least",
        why="A thin tip of veneer splinters when it is cut and when it meets the mate.",
        remedy=(
            f"Take a tip alteration of {round_down(change, 4):g}, or less profile shift than"
            f" {gear.profile_shift:g}."
        ),
        source="0.2 m common practice; 0.4 m for wood is an assumption",
    )


def _root_checks(
    side: Side, tooth: CutTooth[float], mate: Gear, distance: float
) -> tuple[Check, Check, Check]:
    largest = largest_bit(tooth, mate, distance)
    fitting = (
        f"Take a bit that cuts at most {round_down(largest, 2):g} mm, or a module of at least"
        f" {round_up(tooth.gear.module * tooth.cut_diameter / largest, 2):g} mm for this one."
        if largest > 0.1
        else "No bit can: shorten the mate's tip or give this gear more profile shift."
    )
    return (
        Check(
            name=f"bit fit, {side}",
            value=tooth.cut_diameter,
            limit=largest,
            unit="mm",
            sense="at most",
            why="Largest cutting diameter that leaves the mate its flank and its way to the root.",
            remedy=fitting,
            source="geometry of the tooth as cut",
        ),
        Check(
            name=f"flank below contact, {side}",
            value=(tooth.active_diameter - tooth.form_diameter) / 2,
            limit=0.0,
            unit="mm",
            sense="at least",
            why="Involute left between the lowest point the mate touches and the root fillet.",
            remedy=fitting,
            source="ISO 21771-1, d_Nf against d_Ff of the tooth as cut",
        ),
        Check(
            name=f"root clearance, {side}",
            value=tooth.fillet_clearance,
            limit=LEAST_CLEARANCE * tooth.gear.module,
            wanted=WANTED_CLEARANCE * tooth.gear.module,
            unit="mm",
            sense="at least",
            why="Least room between the mate's tip and the root as cut, all along its way.",
            remedy=_clearance_remedy(tooth, mate, distance),
            source="path of the mate's tip; 0.05 m for dust and swelling is an assumption",
        ),
    )


def _clearance_remedy(tooth: CutTooth[float], mate: Gear, distance: float) -> str:
    limit = LEAST_CLEARANCE * tooth.gear.module
    for change in np.arange(0.02, 0.6, 0.02):
        try:
            shorter = replace(mate, tip_alteration=mate.tip_alteration - float(change))
        except GearworkError:
            break
        again = cut_tooth(tooth.gear, tooth.cut_diameter, shorter, distance)
        if again.fillet_clearance >= limit:
            return (
                f"Shorten the mate's tip to {shorter.tip_diameter:.2f} mm diameter (tip"
                f" alteration {shorter.tip_alteration:.4f}), or take a smaller bit."
            )
    return "Shortening the mate's tip does not help: take a smaller bit or a larger module."


def least_backlash(module: float, centre_distance: float) -> float:
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
    limit = least_backlash(pair.pinion.module, pair.centre_distance)
    wanted = 1.5 * limit
    circumferential = wanted / np.cos(np.radians(pair.working_pressure_angle))
    distance = round_up(pair.distance_for_backlash(circumferential * 1.01), 3)
    thinning = (circumferential - pair.backlash) / 2
    return Check(
        name="backlash",
        value=pair.normal_backlash,
        limit=limit,
        wanted=wanted,
        unit="mm",
        sense="at least",
        why=(
            "Play between the flanks; cutting error, shaft position and swelling take from it,"
            " and a mesh without play binds."
        ),
        remedy=(
            f"Set the shafts {distance:g} mm apart, or thin each tooth by another"
            f" {round_up(max(thinning, 0.0) * 1.01, 3):g} mm."
        ),
        source=(
            "ISO/TR 10064-2:1996 table A.1 for metal drives (from memory); half as much again"
            " for plywood is an assumption"
        ),
    )
