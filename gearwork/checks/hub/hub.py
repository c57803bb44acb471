"""Judge a hub: does the fixing hold, has it room, and what is the cheapest one that does."""

from collections.abc import Iterator
from functools import lru_cache
from itertools import chain
from math import ceil, exp, floor, log, pi, sin, sqrt
from typing import Any, NamedTuple

import numpy as np

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.hub import joints
from gearwork.checks.hub.fixing import (
    Fixing,
    FixingName,
    HubRating,
    bolted,
    bolted_to_gear,
    bonded,
    glued_on_rod,
    glued_to_gear,
    nested_springs,
    pocketed,
    spring_clamped,
)
from gearwork.checks.hub.tightening import DRYING, shrinkage, take_up
from gearwork.errors import GearworkError, number, shown
from gearwork.geometry.features import RELIEF
from gearwork.stock.hardware import Rod, nut, rod, threads
from gearwork.stock.laminate import Panel

MIN_FLOOR = 3.0  # wood round a rod and under a nut pocket, mm: two veneers (assumption)
MIN_BORE = 2.0  # of wood on the rod where a nut is sunk beside it, mm (assumption)
_SIDE, _END, _SPACING = 3.0, 7.0, 5.0  # bolt diameters, see _TABLE_8_4
_BOLT_COUNTS = (3, 4, 6, 8)
_BOLT_GRADE = "4.6"  # property class of the bolts that are offered
_TABLE_8_4 = (
    "EN 1995-1-1:2004 Table 8.4, pull along the tangent: 7 d to a loaded end, 3 d to an unloaded"
    " edge, 5 d between bolts"
)


def check_hub(hub: HubRating, torque: float, *, room_diameter: float) -> CheckReport:
    """Judge whether a rated fixing holds a torque and has room in the gear.

    Parameters
    ----------
    hub : HubRating
        How the gear is held, rated in what the gear is cut from: ``fixing.rate(panel)``.
    torque : float
        To hold, N·m, either way round: stopping brakes through the gears.
    room_diameter : float
        Up to where the gear's face is whole wood, mm: the root circle, or less where there are
        windows.

    Returns
    -------
    CheckReport
        The torque each joint of the fixing holds, N·m, and the room it needs, mm;
        `cheapest_fixing` finds one that holds.

    Raises
    ------
    GearworkError
        If the torque is below 0, there is no room, or the fixing is not rated.

    Examples
    --------
    >>> from gearwork import plywood
    >>> from gearwork.checks import bonded, clamped
    >>> from gearwork.stock import rod
    >>> sheet = plywood("birch", 9)
    >>> check_hub(clamped(rod("M8")).rate(sheet), torque=1.0, room_diameter=60).ok
    False
    >>> check_hub(bonded(rod("M8")).rate(sheet), torque=1.0, room_diameter=60).ok
    True
    """
    if not isinstance(hub, HubRating):
        raise GearworkError(f"hub is {shown(hub)}: a rated fixing is needed, fixing.rate(panel)")
    _refuse(torque, room_diameter)
    checks = (
        *(joint.check(torque) for joint in hub.joints),
        *_fit_checks(hub.fixing, hub.panel, room_diameter),
    )
    return CheckReport(Subject("hub", f"hub, {hub.fixing.name}"), checks)


def cheapest_fixing(
    panel: Panel,
    torque: float,
    rod: Rod,
    *,
    room_diameter: float,
    bit_diameter: float = 3.0,
    partner: Panel | None = None,
    use: joints.JointUse | None = None,
    or_strongest: bool = False,
    reversing: bool = False,
    kind: FixingName | None = None,
) -> HubRating | None:
    """Return the cheapest fixing that holds a torque and has room, or None.

    Cheapest first: nuts with disc springs, where the torque does not reverse (a friction clamp
    works loose under one that does: then last); then epoxy on flange nuts, on wide
    washers, around the rod (which cannot be undone); then nuts let into pockets (router time and
    a good fit); then bolts through a steel plate, few before many and thin before thick, on the
    smallest circle that is enough. To a neighbour gear: glue, then bolts.

    Parameters
    ----------
    panel : Plywood or Stack
        What the gear is cut from.
    torque, room_diameter, bit_diameter : float
        As in `check_hub`.
    rod : Rod
        The rod the gear sits on.
    partner : Plywood or Stack, optional
        What the neighbour gear is cut from, if the gear is to be held by it and not by the rod.
    use : JointUse, optional
        What decides between characteristic and design torque of wood.
    or_strongest : bool
        Whether to return the strongest that has room where none holds the torque; its bolts stand
        on the widest circle there is room for.
    reversing : bool
        Whether the torque comes both ways round as a rule.
    kind : {"spring clamp", "epoxy", "glued rod", "nut pockets", "bolts"}, optional
        The only kind that may be taken.

    Returns
    -------
    HubRating or None
        What `check_hub` takes; its `design_torque` is what it holds, N·m.

    Raises
    ------
    GearworkError
        If a number cannot be.

    Examples
    --------
    >>> from gearwork import plywood
    >>> from gearwork.stock import rod
    >>> light, heavy = (
    ...     cheapest_fixing(plywood("birch", 12), torque, rod("M8"), room_diameter=60)
    ...     for torque in (0.1, 100.0)
    ... )
    >>> light.fixing.kind, heavy
    ('spring clamp', None)
    """
    _refuse(torque, room_diameter)
    number("bit diameter", bit_diameter, unit="mm", above=0.0)
    use = use or joints.JointUse()
    found = _best(
        HubTask(panel, torque, rod, room_diameter, bit_diameter, use, reversing, kind, partner)
    )
    return found if or_strongest or (found and found.design_torque >= torque) else None


ROOMS = np.concatenate([np.arange(12.0, 60.0), np.geomspace(60.0, 400.0, 40)])
"""Diameters at which fixings are rated, mm; between them the next smaller one counts."""

_STEP = log(1.02)  # of torques: so that few fixings differ


def torque_step(torque: Any) -> Any:
    """Return the number of the next step up from a torque, N·m; arrays too."""
    return np.ceil(np.log(np.maximum(torque, 1e-6)) / _STEP)


def stepped(torque: float) -> float:
    """Return the torque of the next step up, N·m."""
    return exp(float(torque_step(torque)) * _STEP)


def rooms_within(room: Any) -> Any:
    """Return how many of the `ROOMS` are no wider, mm; arrays too."""
    return np.searchsorted(ROOMS, np.asarray(room) + 1e-6, side="right")


class HubTask(NamedTuple):
    """What a fixing is looked for: torque in N·m; room and cutting diameter of the bit in mm.

    The rest as for `cheapest_fixing`.
    """

    panel: Panel
    torque: float
    rod: Rod
    room: float
    bit: float
    use: joints.JointUse
    reversing: bool
    kind: FixingName | None
    partner: Panel | None = None


def sized_fixing(task: HubTask) -> HubRating | None:
    """Return `cheapest_fixing` for torque and room in steps, on the safe side; else the strongest.

    Search and machine size their fixings by it, so that what a search finds is what is built.
    """
    up, place = stepped(task.torque), int(rooms_within(task.room))
    if place:
        found = _best(task._replace(torque=up, room=float(ROOMS[place - 1])))
        if found is not None and found.design_torque >= up:
            return found
    return _best(task)


@lru_cache(maxsize=8192)
def _best(task: HubTask) -> HubRating | None:
    """The first of the candidates that holds a torque, else the strongest."""
    strongest, most = None, -1.0
    for rating in _candidates(task):
        if task.kind not in (None, rating.fixing.kind):
            continue
        held = rating.design_torque
        if held >= task.torque:
            return rating
        if held > most:
            strongest, most = rating, held
    return strongest


def _refuse(torque: float, room: float) -> None:
    """Refuse numbers that cannot be."""
    number("torque at the hub", torque, unit="N·m", at_least=0.0)
    number("room for the hub", room, unit="mm", above=0.0)


def _fit_checks(fixing: Fixing, panel: Panel, room: float) -> Iterator[Check]:
    def room_check(what: str, size: float) -> Check:
        why = "The fixing needs whole wood up to this diameter."
        return Check("room", size, room, "mm", "at most", why, "geometry", part=what, kind="room")

    for joint in fixing.joints:
        if isinstance(joint, joints.FaceFriction):
            yield _drying_check(joint, panel)
        if isinstance(joint, joints.FaceFriction | joints.FaceGlue):
            yield room_check(joint.seat.name, joint.seat.outer_diameter)
        elif isinstance(joint, joints.BoreGlue):
            yield room_check("wood around the rod", joint.rod.diameter + 2.0 * MIN_FLOOR)
        elif isinstance(joint, joints.NutsInPockets):
            corners = nut(joint.rod.thread).width_across_flats * 2.0 / 3.0**0.5
            yield room_check("nut pocket", corners + 2.0 * MIN_FLOOR)
            deepest = floor(10.0 * (panel.thickness - MIN_FLOOR) / joint.nuts) / 10.0
            ways = ((("depth", deepest),),) if deepest > 0.0 else ()
            left, source = panel.thickness - joint.nuts * joint.depth, "assumption: two veneers"
            judged = "wood under the nut pockets"
            why = (
                "What is left of the sheet has the bore that centres the gear, keeps it in one"
                " plane and takes the nut's clamp."
            )
            yield Check(judged, left, MIN_FLOOR, "mm", "at least", why, source, ways=ways)
        elif isinstance(joint, joints.BoltedJoint):
            yield from _bolt_checks(joint, fixing.opening, room)
    if fixing.sinking is not None:
        depth = fixing.sinking[1]
        left = panel.thickness - depth if depth <= panel.sheet.thickness else 0.0
        judged, why = "wood above the sunk nut", "It has the bore that centres the gear."
        yield Check(judged, left, MIN_BORE, "mm", "at least", why, "assumption")


def _drying_check(joint: joints.FaceFriction, panel: Panel) -> Check:
    """Whether what is counted on of a clamp is left after a dry month."""
    clamp = joint.clamp
    return Check(
        "loss by drying",
        shrinkage(panel),
        take_up(clamp, panel, clamp.kept.value),
        "mm",
        "at most",
        f"The gear gets that much thinner as it dries by {DRYING:g} percentage points. Wood, rod"
        f" and springs give as much as the limit until {clamp.kept.value:g} of the clamp is left,"
        " which is counted on.",
        "thickness movement of birch plywood, E of wood across (from memory); DIN EN 16984",
        basis=(clamp.kept,),
        part=joint.seat.name,
        kind="stiffness",
    )


def _bolt_checks(bolts: joints.BoltedJoint, bore: float, room: float) -> Iterator[Check]:
    d, circle = bolts.bolt.diameter, bolts.circle_diameter
    least, most = _circle_limits(bolts.count, d, bore, room)
    circles = dict.fromkeys((least, most)) if least <= most else ()
    ways = tuple((("circle_diameter", size),) for size in circles)
    edge = "With less wood the bolt breaks out at the side."
    along = (
        "Along the tangent each bolt pushes at this length of wood, and at stopping the other way."
    )
    close = "Bolts closer together shear out the wood between them."
    length = sqrt(max(room**2 - circle**2, 0.0)) / 2.0
    for judged, value, diameters, why in (
        ("wood along the pull of a bolt", length, _END, along),
        ("wood outside the bolts", (room - circle) / 2.0, _SIDE, edge),
        ("wood inside the bolts", (circle - bore) / 2.0, _SIDE, edge),
        ("bolt spacing", circle * sin(pi / bolts.count), _SPACING, close),
    ):
        yield Check(judged, value, diameters * d, "mm", "at least", why, _TABLE_8_4, ways=ways)


def _circle_limits(count: int, bolt: float, bore: float, room: float) -> tuple[float, float]:
    """Smallest and largest bolt circle diameter that edges and spacing allow, whole mm."""
    least = max(bore + 2.0 * _SIDE * bolt, _SPACING * bolt / sin(pi / count))
    along = sqrt(max(room**2 - (2.0 * _END * bolt) ** 2, 0.0))
    return float(ceil(least)), float(floor(min(room - 2.0 * _SIDE * bolt, along)))


def _candidates(task: HubTask) -> Iterator[HubRating]:
    """Rate the fixings that have room, cheapest first; bolts on the circle the torque needs."""
    panel, use, room = task.panel, task.use, task.room
    simple: tuple[HubRating, ...] = ()
    clamps: tuple[HubRating, ...] = ()
    if task.partner is None:
        clamps, simple = _rated_on_rod(panel, task.rod, task.bit, use)
    elif floor(room) > 2.0 * task.rod.diameter:
        simple = (glued_to_gear(task.rod, float(floor(room)), task.partner).rate(panel, use),)
    bolts = (fixing.rate(panel, use) for fixing in _bolt_circles(task))
    firm = chain(simple, bolts)
    for held in chain(firm, clamps) if task.reversing else chain(clamps, firm):
        if all(check.ok for check in _fit_checks(held.fixing, panel, room)):
            yield held


@lru_cache(maxsize=256)
def _rated_on_rod(
    panel: Panel, on: Rod, bit: float, use: joints.JointUse
) -> tuple[tuple[HubRating, ...], tuple[HubRating, ...]]:
    """Clamps with springs, and what needs none, whatever the room and the torque."""
    nested = range(1, nested_springs(on, panel) + 1)
    clamps = (spring_clamped(on, panel, count) for count in nested)
    simple = _on_rod(panel, on, bit)
    first, second = (tuple(one.rate(panel, use) for one in lot) for lot in (clamps, simple))
    return first, second


def _on_rod(panel: Panel, on: Rod, bit: float) -> Iterator[Fixing]:
    """Fixings that need no clamp, cheapest first."""
    yield bonded(on)
    yield bonded(on, "wide washer")
    yield glued_on_rod(on)
    nuts = min(len(panel.layers), 2)  # a single layer is cut from one face alone
    most = floor(10.0 * (panel.thickness - MIN_FLOOR) / nuts) / 10.0
    # some layer keeps wood with the bore that centres the gear
    kept = 0.0 if len(panel.layers) > 2 else MIN_FLOOR
    depth = min(most, nut(on.thread).height, panel.sheet.thickness - kept)
    try:
        yield pocketed(on, depth, RELIEF * bit / 2.0, nuts)
    except GearworkError:
        return  # sheet too thin or bit too thick for a pocket


def _bolt_circles(task: HubTask) -> Iterator[Fixing]:
    for count in _BOLT_COUNTS:
        for thread in threads():
            bolt = rod(thread, _BOLT_GRADE)
            trial = _bolts(task.rod, bolt, count, 1.0, task.partner)
            least, most = _circle_limits(count, bolt.diameter, trial.opening, task.room)
            if least <= most:
                needed = task.torque / trial.rate(task.panel, task.use).joints[0].design_torque
                circle = min(max(least, float(ceil(needed))), most)
                yield _bolts(task.rod, bolt, count, circle, task.partner)


@lru_cache(maxsize=256)
def _bolts(on: Rod, bolt: Rod, count: int, circle: float, partner: Panel | None) -> Fixing:
    if partner is None:
        return bolted(on, bolt, count, circle)
    return bolted_to_gear(on, bolt, count, circle, partner)
