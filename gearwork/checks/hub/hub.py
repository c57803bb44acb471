"""Judge a hub: does the fixing hold, has it room, and what is the cheapest one that does."""

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle, islice
from math import ceil, floor, pi, sin, sqrt

from gearwork.checks.check import Check, CheckReport, Subject
from gearwork.checks.hub.fixing import (
    Fixing,
    HubRating,
    bolted,
    bolted_to_gear,
    bonded,
    clamped,
    glued_on_rod,
    glued_to_gear,
    pocketed,
)
from gearwork.checks.hub.joints import (
    BoltedJoint,
    BoreGlue,
    FaceFriction,
    FaceGlue,
    Factors,
    LinkRating,
    NutsInPockets,
    wood_factors,
)
from gearwork.errors import GearworkError, number
from gearwork.geometry.features import RELIEF
from gearwork.stock.hardware import Rod, nut, rod, threads
from gearwork.stock.laminate import Panel, Stack

LEAST_FLOOR = 3.0
LARGEST_ROOM = 1000
LAYERS_TRIED = 6
_SIDE, _END, _SPACING = 3.0, 7.0, 5.0
_BOLT_COUNTS = (3, 4, 6, 8)
_BOLT_GRADE = "4.6"
_TABLE_8_4 = (
    "EN 1995-1-1:2004 Table 8.4, pull along the tangent: 7 d to a loaded end, 3 d to an unloaded"
    " edge, 5 d between bolts"
)


def check_hub(
    fixing: Fixing,
    panel: Panel,
    torque: float,
    *,
    room_diameter: float,
    bit_diameter: float = 3.0,
    factors: Factors | None = None,
) -> CheckReport:
    """Judge whether a fixing holds a torque and has room in the gear.

    Parameters
    ----------
    fixing : Fixing
        How the gear is held.
    panel : Plywood or Stack
        What it is cut from.
    torque : float
        To hold, N·m, either way round: stopping brakes through the gears.
    room_diameter : float
        Up to where the gear's face is whole wood, mm: the root circle, or less where there are
        windows.
    bit_diameter : float
        Of the router bit, mm, for the corners of a nut pocket that might hold instead.
    factors : tuple of Factor, optional
        Between characteristic and design torque of wood. Default: `wood_factors()`.

    Returns
    -------
    CheckReport
        The torque each link of the fixing holds, N·m, and the room it needs, mm; the remedy of a
        failed check names a fixing that holds.

    Raises
    ------
    GearworkError
        If the torque is below 0, or room or bit are none.

    Examples
    --------
    >>> from gearwork import bonded, clamped, plywood, rod
    >>> sheet = plywood("birch", 9)
    >>> check_hub(clamped(rod("M8")), sheet, torque=1.0, room_diameter=60).ok
    False
    >>> check_hub(bonded(rod("M8")), sheet, torque=1.0, room_diameter=60).ok
    True
    """
    of_wood = _checked(torque, room_diameter, bit_diameter, factors)
    checks = [
        *(_torque_check(link, torque) for link in fixing.rate(panel, of_wood).links),
        *_fit_checks(fixing, panel, room_diameter),
    ]
    if not all(check.ok for check in checks):
        instead = _instead(fixing, panel, torque, room_diameter, bit_diameter, of_wood)
        checks = [
            check if check.ok or check.remedy else replace(check, remedy=instead)
            for check in checks
        ]
    return CheckReport(Subject("hub", f"hub, {fixing.name}"), tuple(checks))


def cheapest_fixing(
    panel: Panel,
    torque: float,
    rod: Rod,
    *,
    room_diameter: float,
    bit_diameter: float = 3.0,
    partner: Panel | None = None,
    factors: Factors | None = None,
) -> HubRating | None:
    """Return the cheapest fixing that holds a torque and has room, or None.

    Cheapest first: nuts alone, thread-lock, wide washers; then epoxy on flange nuts, on wide
    washers, around the rod (which cannot be undone); then nuts let into pockets (router time and
    a good fit); then bolts through a steel plate, few before many and thin before thick, on the
    smallest circle that is enough. To a neighbour gear: glue, then bolts.

    Parameters
    ----------
    panel, torque, room_diameter, bit_diameter, factors
        As in `check_hub`.
    rod : Rod
        The rod the gear sits on.
    partner : Plywood or Stack, optional
        What the neighbour gear is cut from, if the gear is to be held by it and not by the rod.

    Returns
    -------
    HubRating or None
        Its `fixing` is what `check_hub` takes, its `design_torque` what that holds, N·m.

    Raises
    ------
    GearworkError
        If a number cannot be.

    Examples
    --------
    >>> from gearwork import plywood, rod
    >>> light, heavy = (
    ...     cheapest_fixing(plywood("birch", 12), torque, rod("M8"), room_diameter=60)
    ...     for torque in (0.1, 100.0)
    ... )
    >>> light.fixing.name, heavy
    ('clamped between two flange nuts M8', None)
    """
    of_wood = _checked(torque, room_diameter, bit_diameter, factors)
    candidates = _candidates(panel, torque, rod, room_diameter, bit_diameter, partner, of_wood)
    return next((c for c in candidates if c.design_torque >= torque), None)


def best_fixing(
    panel: Panel,
    torque: float,
    rod: Rod,
    *,
    room_diameter: float,
    bit_diameter: float = 3.0,
    partner: Panel | None = None,
    factors: Factors | None = None,
) -> HubRating | None:
    """Return the cheapest fixing that holds a torque, else the strongest that has room, or None.

    Parameters and errors are those of `cheapest_fixing`; bolts that do not bear the torque stand
    on the widest circle there is room for.
    """
    of_wood = _checked(torque, room_diameter, bit_diameter, factors)
    found = [*_candidates(panel, torque, rod, room_diameter, bit_diameter, partner, of_wood)]
    strongest = max(found, key=lambda rating: rating.design_torque, default=None)
    return next((rating for rating in found if rating.design_torque >= torque), strongest)


def _checked(torque: float, room: float, bit: float, factors: Factors | None) -> Factors:
    """Refuse numbers that cannot be; the factors given, or the usual ones of wood."""
    number("torque at the hub", torque, unit="N·m", at_least=0.0)
    number("room for the hub", room, unit="mm", above=0.0)
    number("bit diameter", bit, unit="mm", above=0.0)
    return wood_factors() if factors is None else factors


def _torque_check(link: LinkRating, torque: float) -> Check:
    return Check(
        judged="torque",
        part=link.name,
        kind="strength",
        value=torque,
        limit=link.design_torque,
        unit="N·m",
        sense="at most",
        why=f"{link.why} Before safety factors it holds {link.characteristic_torque:.3g} N·m.",
        remedy="",
        source=link.source,
        basis=link.steps,
    )


def _fit_checks(fixing: Fixing, panel: Panel, room: float) -> Iterator[Check]:
    for link in fixing.links:
        if isinstance(link, FaceFriction | FaceGlue):
            yield _room_check(link.seat.name, link.seat.outer_diameter, room)
        elif isinstance(link, BoreGlue):
            around = link.rod.diameter + 2.0 * LEAST_FLOOR
            yield _room_check("wood around the rod", around, room)
        elif isinstance(link, NutsInPockets):
            corners = nut(link.rod.thread).width_across_flats * 2.0 / 3.0**0.5
            yield _room_check("nut pocket", corners + 2.0 * LEAST_FLOOR, room)
            yield _floor_check(link, panel)
        elif isinstance(link, BoltedJoint):
            yield from _bolt_checks(link, fixing.bore_diameter, room)


def _room_check(what: str, diameter: float, room: float) -> Check:
    return Check(
        judged="room",
        part=what,
        kind="room",
        value=diameter,
        limit=room,
        unit="mm",
        sense="at most",
        why="The fixing needs whole wood up to this diameter.",
        remedy="",
        source="geometry",
    )


def _floor_check(pocket: NutsInPockets, panel: Panel) -> Check:
    deepest = floor(10.0 * (panel.thickness - LEAST_FLOOR) / pocket.nuts) / 10.0
    remedy = f"Make each pocket at most {deepest:g} mm deep." if deepest > 0.0 else ""
    return Check(
        judged="wood under the nut pockets",
        value=panel.thickness - pocket.nuts * pocket.depth,
        limit=LEAST_FLOOR,
        unit="mm",
        sense="at least",
        why="What is left of the sheet keeps the gear in one plane and takes the nut's clamp.",
        remedy=remedy,
        source="assumption: two veneers",
    )


def _bolt_checks(bolts: BoltedJoint, bore: float, room: float) -> Iterator[Check]:
    d, circle = bolts.bolt.diameter, bolts.circle_diameter
    least, most = _circle_limits(bolts.count, d, bore, room)
    remedy = f"Take a bolt circle from {least:g} to {most:g} mm." if least <= most else ""
    edge = "With less wood the bolt breaks out at the side."
    distances = (
        (
            "wood along the pull of a bolt",
            sqrt(max(room**2 - circle**2, 0.0)) / 2.0,
            _END,
            "Along the tangent each bolt pushes at this length of wood, and at stopping the other"
            " way.",
        ),
        ("wood outside the bolts", (room - circle) / 2.0, _SIDE, edge),
        ("wood inside the bolts", (circle - bore) / 2.0, _SIDE, edge),
        (
            "bolt spacing",
            circle * sin(pi / bolts.count),
            _SPACING,
            "Bolts closer together shear out the wood between them.",
        ),
    )
    for name, value, diameters, why in distances:
        yield Check(name, value, diameters * d, "mm", "at least", why, remedy, _TABLE_8_4)


def _circle_limits(count: int, bolt: float, bore: float, room: float) -> tuple[float, float]:
    """Smallest and largest bolt circle diameter that edges and spacing allow, whole mm."""
    least = max(bore + 2.0 * _SIDE * bolt, _SPACING * bolt / sin(pi / count))
    along = sqrt(max(room**2 - (2.0 * _END * bolt) ** 2, 0.0))
    return float(ceil(least)), float(floor(min(room - 2.0 * _SIDE * bolt, along)))


def _candidates(
    panel: Panel,
    torque: float,
    on: Rod,
    room: float,
    bit: float,
    partner: Panel | None,
    factors: Factors,
) -> Iterator[HubRating]:
    """Rate the fixings that have room, cheapest first; bolts on the circle the torque needs."""
    simple = _on_rod(panel, on, bit) if partner is None else _on_neighbour(on, room, partner)
    for fixing in (*simple, *_bolt_circles(panel, torque, on, room, partner, factors)):
        if all(check.ok for check in _fit_checks(fixing, panel, room)):
            yield fixing.rate(panel, factors)


def _on_rod(panel: Panel, on: Rod, bit: float) -> Iterator[Fixing]:
    yield clamped(on)
    yield clamped(on, thread_lock=True)
    yield clamped(on, "wide washer")
    yield clamped(on, "wide washer", thread_lock=True)
    yield bonded(on)
    yield bonded(on, "wide washer")
    yield glued_on_rod(on)
    nuts = min(len(panel.layers), 2)  # a single layer is cut from one face alone
    most = floor(10.0 * (panel.thickness - LEAST_FLOOR) / nuts) / 10.0
    depth = min(most, nut(on.thread).height, panel.sheet.thickness)
    try:
        yield pocketed(on, depth, RELIEF * bit / 2.0, nuts)
    except GearworkError:
        return  # sheet too thin or bit too thick for a pocket


def _on_neighbour(on: Rod, room: float, partner: Panel) -> Iterator[Fixing]:
    diameter = float(floor(room))
    if diameter > 2.0 * on.diameter:
        yield glued_to_gear(on, diameter, partner)


def _bolt_circles(
    panel: Panel, torque: float, on: Rod, room: float, partner: Panel | None, factors: Factors
) -> Iterator[Fixing]:
    def fixing(bolt: Rod, count: int, circle: float) -> Fixing:
        if partner is None:
            return bolted(on, bolt, count, circle)
        return bolted_to_gear(on, bolt, count, circle, partner)

    for count in _BOLT_COUNTS:
        for thread in threads():
            bolt = rod(thread, _BOLT_GRADE)
            trial = fixing(bolt, count, 1.0)
            least, most = _circle_limits(count, bolt.diameter, trial.bore_diameter, room)
            needed = torque / trial.links[0].rate(panel, factors).design_torque
            if least <= most:
                yield fixing(bolt, count, min(max(least, float(ceil(needed))), most))


def _instead(
    fixing: Fixing, panel: Panel, torque: float, room: float, bit: float, factors: Factors
) -> str:
    """What to take in its place: on this rod, on a thicker one, in more room or layers."""
    names = [name for name in threads() if rod(name).diameter > fixing.rod.diameter]
    rods = (fixing.rod, *(rod(name, fixing.rod.grade.name) for name in names))

    def rated(wood: Panel, width: float) -> Iterator[HubRating]:
        for on in rods:
            yield from _candidates(wood, torque, on, width, bit, fixing.partner, factors)

    def holding(wood: Panel, width: float) -> HubRating | None:
        return next((r for r in rated(wood, width) if r.design_torque >= torque), None)

    here = [*rated(panel, room)]
    for found in here:
        if found.design_torque >= torque:
            return f"Take instead: {found.fixing.name}. It holds {_torque(found)}."
    lower = ""
    if here:
        strongest = max(here, key=lambda rating: rating.design_torque)
        lower = (
            f" The strongest that fits is: {strongest.fixing.name}. It holds {_torque(strongest)}:"
            " lower the torque to that."
        )
    ways = [f"No fixing of the table holds {torque:.3g} N·m in {room:g} mm of whole wood.{lower}"]
    for thicker in _thicker(panel):
        if thick := holding(thicker, room):
            ways.append(f"With {len(thicker.layers)} layers take: {thick.fixing.name}.")
            break
    if wide := holding(panel, LARGEST_ROOM):
        ways.append(f"With {_room_needed(wide.fixing, panel):g} mm take: {wide.fixing.name}.")
    return " ".join(ways)


def _thicker(panel: Panel) -> Iterator[Stack]:
    """The same sheet in more layers."""
    for count in range(len(panel.layers) + 1, LAYERS_TRIED + 1):
        yield Stack(panel.sheet, tuple(islice(cycle(panel.layers), count)))


def _room_needed(fixing: Fixing, panel: Panel) -> int:
    """The least room, whole mm; in more the fixing fits too."""

    def fits(room: int) -> bool:
        return all(check.ok for check in _fit_checks(fixing, panel, room))

    rooms = range(1, LARGEST_ROOM + 1)
    return rooms[bisect_left(rooms, True, key=fits)]


def _torque(rating: HubRating) -> str:
    return f"{floor(1000.0 * rating.design_torque) / 1000.0:g} N·m"
