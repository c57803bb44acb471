"""Ways out of a check of a machine that fails: keys of its design file, tried on the whole of it.

What may help stands in ladders, from little to much of one thing. The first rung that makes the
check hold is told.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, islice

from gearwork.checks.check import LOADED, Check, Subject, Way
from gearwork.checks.tooth.strength import MAX_TOLD_LAYERS
from gearwork.machine.brief import Brief, Shafts
from gearwork.machine.drive import Drive, HandCrank
from gearwork.machine.load import Load
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import Stage
from gearwork.machine.vehicle import Vehicle
from gearwork.numbers import figures_down, round_down, round_up
from gearwork.stock import table
from gearwork.stock.hardware import Bearing, bearing, bearings, rod, rod_grade, threads
from gearwork.stock.plywood import plywood_kinds

MAX_TOLD = 3
"""Ways out that are told of one check."""

SHARES = (0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1)
"""To which shares a wish for load or speed is brought down, or one for room divided by it."""

MORE_LAYERS = 3

MODULES = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0)
"""ISO 54, its first row and 6, as far as a router cuts them well."""

FEW = 3
"""Rungs that are tried from the first on; more of them stand for what helps the more, the more."""

SHORTEST_CRANK = 50.0
"""Of a crank that a hand can turn, mm: assumption."""

CLUTCH_STEP = 0.1
"""To which a clutch is set, N·m: its steps differ from drive to drive (assumption)."""

ARRANGEMENTS = ("folded", "in line", "coaxial")

Holds = Callable[[Way], bool]


def tried_ways(
    brief: Brief, subject: Subject, bands: tuple[float, float] | None, holds: Holds, check: Check
) -> tuple[Way, ...]:
    """Return the ways with which a check holds, few and those that cost least first.

    `bands`: by how much the ratio may be changed, from and to, where some ratio will do.
    """
    found: list[Way] = []
    duty = subject.kind == "duty"  # costs little to try, and too much may be as wrong
    for ladder in _ladders(brief, subject, check, bands):
        if len(found) == MAX_TOLD:
            break
        found += _first(ladder, holds, every=duty)
    if not found and not check.ways:  # something that was wished must yield
        for ladder in _wishes(brief, check, duty):
            found += _first(ladder, holds, every=duty)
    return tuple(found)


def _first(ladder: Iterable[Way], holds: Holds, every: bool = False) -> list[Way]:
    """The first rung with which a check holds; none where the last of many is no help either."""
    rungs = list(ladder)
    if len(rungs) > FEW and not every and not holds(rungs[-1]):
        return []
    return list(islice(filter(holds, rungs), 1))


def _ladders(
    brief: Brief, subject: Subject, check: Check, bands: tuple[float, float] | None
) -> Iterator[Iterable[Way]]:
    """What may help a check of such a kind and subject."""
    kind, of, number = check.kind, subject.kind, subject.number
    stages, frame, shafts = brief.stages, brief.frame, brief.shafts
    loaded, given = kind in (*LOADED, "life"), number is not None and number < len(stages)
    if loaded or kind == "speed":
        yield _clutch(brief.drive, check)
        yield _cranks(brief.drive)
    if kind in ("power", "speed") and bands:
        yield from (_other_ratio(stages, i, bands) for i in range(len(stages)))
    if of == "duty" and isinstance(brief.load, Vehicle):
        yield from _weight(brief.load)
    if of == "room" and brief.room.fixed_distance is not None:
        places = ("centre_distance", brief.room.fixed_distance)
        ways = (_of_stage(stages, i, places) for i in range(len(stages)))
        yield (tuple(chain.from_iterable(ways)), (("room.fixed_distance", None),))
    if of == "hub" and kind == "room" and brief.cradle.body_diameter:
        for turn in brief.cradle.other_directions:
            yield ((("cradle.handle_direction", turn),),)
    if of == "hub" and shafts.fixing is not None:
        yield ((("shafts.fixing", None),),)
    if of == "hub" and given and number is not None:
        yield _layers(stages, number, range(1, MORE_LAYERS + 1))
        if windows := stages[number].windows:
            own = windows.hub_diameter
            yield tuple(
                _of_stage(stages, number, ("windows.hub_diameter", own + more))
                for more in (10.0, 20.0, 40.0)
            )
    if of == "stage" and kind == "stiffness" and given and number is not None:
        yield _layers(stages, number, (-1, -2))
    if of == "stage" and kind == "geometry" and not check.ways:  # as assembled
        for names in (("max_wobble",), ("squareness",), ("max_wobble", "squareness")):
            yield _truer(brief, names)
    if kind == "stiffness" or (loaded and of in ("hub", "shaft")):
        yield other_rods(shafts)
    wooden = (loaded and kind != "stiffness") or kind == "room"
    if wooden and of in ("stage", "hub") and given and number is not None:
        yield _modules(stages, number)
    if loaded and of == "shaft":
        yield grades(shafts)
        yield _bearings(shafts, lambda ball: ball.dynamic_rating > shafts.bearing.dynamic_rating)
    if of in ("shaft", "frame", "train"):
        sizes = thicker_sheets(brief, frame.plate_thickness)
        yield ((("frame.plate_thickness", size),) for size in sizes)
    if of == "frame" or (of == "hub" and kind == "room"):
        yield tuple((("frame.clearance", frame.clearance + more),) for more in (2.0, 5.0, 10.0))
    if of == "frame" and kind == "room":
        yield _truer(brief, ("cutting_error",))
    if kind == "life":
        yield ((("service.running_hours", figures_down(check.value, 2)),),)
    if kind == "room" and of == "train":
        if isinstance(brief.load, Vehicle) and check.sense == "at least":
            wheel = _wheel(brief.load.wheel_diameter + 2.0 * (check.limit - check.value))
            # where the file gives the height of the axle too, that must go with it
            yield (wheel,), (wheel, ("frame.output_height", None))
        if isinstance(brief.load, Vehicle) and brief.load.driven_share > 0.5:
            yield ((("load.driven_share", 0.5),),)
        yield _bearings(shafts, lambda ball: ball.outer_diameter < shafts.bearing.outer_diameter)
        yield from (
            ((("frame.arrangement", other),),)
            for other in ARRANGEMENTS
            if other != frame.arrangement
        )
        yield from (_more_teeth(stages, i) for i in range(len(stages)))
        if isinstance(brief.load, RackLoad) and not check.ways:
            for angle in (0.0, 90.0, 180.0, 270.0):
                yield ((("load.rack_direction", angle),),)
            own = shafts.overhangs[1]
            yield tuple((("shafts.load_overhang", own + more),) for more in (10.0, 20.0, 40.0))


def _wishes(brief: Brief, check: Check, duty: bool) -> Iterator[Iterable[Way]]:
    """Less of what is asked of the machine."""
    keys: tuple[str, ...] = ()
    if check.kind in (*LOADED, "power"):
        keys = ("mass", "torque", "force", "slope")
    if check.kind in ("power", "speed"):
        keys += ("travel_speed", "speed", "slope")
    for key in dict.fromkeys(keys):
        if own := getattr(brief.load, key, None):
            steps = SHARES[1:] if duty else SHARES[1::FEW]
            yield (((f"load.{key}", figures_down(share * own, 2)),) for share in steps)


def numbered(way: Way, stages: int, number: int) -> Way:
    """Return a way out of one stage for a file of several."""
    head = "stage" if stages == 1 else f"stage {number + 1}"
    return tuple(
        (f"{head}{key.removeprefix('stage')}" if key.startswith("stage.") else key, value)
        for key, value in way
    )


def _of_stage(stages: tuple[Stage, ...], number: int, *keys: tuple[str, float | None]) -> Way:
    return numbered(tuple((f"stage.{key}", value) for key, value in keys), len(stages), number)


def _weight(load: Vehicle) -> Iterator[Iterable[Way]]:
    """Weight moved along a vehicle, what is near first; then lower, and on both driven wheels."""
    places = [round_down(0.1 * tenths * load.wheelbase, 0) for tenths in range(1, 10)]
    places.sort(key=lambda place: abs(place - load.centre_to_rear))
    for way in (1.0, -1.0):
        yield tuple(
            (("load.centre_to_rear", place),)
            for place in places
            if way * (place - load.centre_to_rear) > 0.0
        )
    lower = (round_down(share * load.centre_height, 0) for share in SHARES)
    yield tuple((("load.centre_height", height),) for height in lower if height > 0.0)
    if load.driven_share < 1.0:
        yield ((("load.driven_share", 1.0),),)


def _wheel(diameter: float) -> tuple[str, float]:
    """The next larger wheel, to 10 mm."""
    return "load.wheel_diameter", round_up(diameter, -1)


def larger_wheels(load: Load) -> Iterator[Way]:
    """Yield wheels of a vehicle up to twice as large, which raise its axle, the next size first."""
    if isinstance(load, Vehicle):
        for share in (share for share in SHARES if share >= 0.5):
            yield _wheel(load.wheel_diameter / share), ("frame.output_height", None)


def clutch_setting(torque: float) -> float:
    """Return the firmest setting of a clutch that lets no more than this through, N·m."""
    return round_down(torque, 1)


def _clutch(drive: Drive, check: Check) -> Iterator[Way]:
    """Lower settings of a clutch that there is."""
    if not drive.has_clutch:
        return
    own, last = drive.max_torque, math.inf
    share = check.load_share or min(abs(check.value), abs(check.limit)) / max(
        abs(check.value), abs(check.limit), 1e-9
    )
    for less in (1.0, 0.85, 0.7):
        setting = clutch_setting(less * min(share * own, own - CLUTCH_STEP))
        if 0.0 < setting < last:
            yield (("drive.clutch_torque", setting),)
            last = setting


def cranks(drive: Drive) -> Iterator[float]:
    """Yield shorter cranks, mm: the hand is as strong, its torque against a stop is less."""
    if isinstance(drive, HandCrank):
        lengths = (float(math.floor(share * drive.crank_length)) for share in SHARES)
        yield from (length for length in lengths if length >= SHORTEST_CRANK)


def _cranks(drive: Drive) -> Iterator[Way]:
    lengths = list(cranks(drive))
    yield from ((("drive.crank_length", length),) for length in lengths[1::FEW])


def other_rods(shafts: Shafts, thicker: bool = True) -> Iterator[Way]:
    """Yield thicker rods with the weakest bearing on them that is no weaker than the present.

    Or thinner ones, which are to leave room, with the weakest of all; the next in size first.
    """
    measured = shafts.rod.outside[0] == shafts.rod.outside[1]
    sizes = {rod(thread).diameter: thread for thread in threads()}
    for size in sorted(sizes, reverse=not thicker):
        fitting = sorted(_on(size), key=lambda ball: ball.dynamic_rating)
        if fitting and (size > shafts.rod.diameter if thicker else size < shafts.rod.diameter):
            asked = shafts.bearing.dynamic_rating if thicker else 0.0
            strong = (ball for ball in fitting if ball.dynamic_rating >= asked)
            way = (
                ("shafts.thread", sizes[size]),
                ("shafts.bearing_name", next(strong, fitting[-1]).name),
            )
            yield (*way, ("shafts.measured_diameter", None)) if measured else way


def _on(diameter: float) -> tuple[Bearing, ...]:
    """The bearings that sit on a rod of this diameter, mm."""
    return tuple(ball for ball in map(bearing, bearings()) if ball.bore == diameter)


def grades(shafts: Shafts) -> Iterator[Way]:
    """Yield rods of stronger steel."""
    names = sorted(table("hardware")["grade"], key=lambda name: rod_grade(name).yield_strength)
    own = shafts.rod.grade.yield_strength
    yield from ((("shafts.grade", n),) for n in names if rod_grade(n).yield_strength > own)


def _bearings(shafts: Shafts, better: Callable[[Bearing], bool]) -> Iterator[Way]:
    """Others that sit on the same rod."""
    on = filter(better, _on(shafts.bearing.bore))
    yield from ((("shafts.bearing_name", ball.name),) for ball in on)


def thicker_sheets(brief: Brief, than: float) -> Iterator[float]:
    """Yield those of the gears' wood that are sold, mm; of a sheet of one's own there is one."""
    yield from (s for s in plywood_kinds().get(brief.gears.wood or "", ()) if s > than)


def _layers(stages: tuple[Stage, ...], number: int, more: Iterable[int]) -> Iterator[Way]:
    own = stages[number].layers
    counts = (own + n for n in more if 0 < own + n <= max(MAX_TOLD_LAYERS, own))
    yield from (_of_stage(stages, number, ("layers", count)) for count in counts)


def _modules(stages: tuple[Stage, ...], number: int) -> Iterator[Way]:
    """Larger teeth, at the distance that goes with them."""
    pair = stages[number].pair
    own, (*_, distance) = pair.pinion.module, pair.as_given
    for module in [size for size in MODULES if size > own][:3]:
        far = None if distance is None else round(distance * module / own, 1)
        apart = () if far is None else (("centre_distance", far),)
        yield _of_stage(stages, number, ("module", module), *apart)


def _truer(brief: Brief, names: tuple[str, ...]) -> Iterator[Way]:
    """Gears trued, and cut, to less: halves and quarters of what is given, 0.01 mm at least."""
    for share in (0.5, 0.25):
        sizes = [round_down(share * getattr(brief.tolerance, name)) for name in names]
        if min(sizes) > 0.0:
            yield tuple(
                (f"tolerance.{name}", size) for name, size in zip(names, sizes, strict=True)
            )


def _with_teeth(stages: tuple[Stage, ...], number: int, teeth: int) -> Way:
    """Another wheel, at the distance that goes with it."""
    *_, distance = stages[number].pair.as_given
    apart = (("centre_distance", None),) if distance is not None else ()
    return _of_stage(stages, number, ("wheel_teeth", teeth), *apart)


def _more_teeth(stages: tuple[Stage, ...], number: int) -> Iterator[Way]:
    own = int(stages[number].pair.wheel.teeth)
    yield from (_with_teeth(stages, number, own + more) for more in (1, 2, 4, 8))


def _other_ratio(
    stages: tuple[Stage, ...], number: int, bands: tuple[float, float]
) -> Iterator[Way]:
    """Wheels of one stage with which the whole ratio is one that will do, the nearest first."""
    own, (low, high) = int(stages[number].pair.wheel.teeth), bands
    fitting = range(math.ceil(own * low - 1e-9), math.floor(own * high + 1e-9) + 1)
    nearest = sorted(fitting, key=lambda teeth: abs(teeth - own))
    yield from (_with_teeth(stages, number, teeth) for teeth in nearest[:3])
