"""Every machine that the changes of a way out can lead to, tried one by one in plain loops.

Nothing here is taken from the search but the steps of the changes themselves (`spec.ways`). What
cannot be is struck out early by bounds worked out another way: the power of the drive, the speeds a
ratio allows at any efficiency, torsion of the last rod, then single pairs by the functions of the
bench. What is left becomes whole machines.
"""

import dataclasses
import itertools
import math
import time
from functools import cache, lru_cache

import tomlkit

import gearwork as gw
from gearwork.checks.hub.hub import cheapest_fixing
from gearwork.checks.hub.joints import JointUse
from gearwork.checks.tooth.mesh import judges
from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.machine.stage import Stage, hub_room
from gearwork.numbers import RPM
from gearwork.spec import ways
from gearwork.spec.solve import arranged, spared
from gearwork.spec.spec import parse_brief

THINNINGS = (0.15, 0.3)
"""Of the teeth, mm."""

WORST = 0.6
"""Efficiency of a stage that no pair here is below: 0.8 is what ten dry teeth in twenty have."""

YIELD = {"4.6": 240.0, "4.8": 340.0, "5.6": 300.0, "8.8": 640.0, "10.9": 940.0}
CORE = {"M6": 4.773, "M8": 6.466, "M10": 8.160, "M12": 9.853}
"""Yield strength, MPa (ISO 898-1), and core diameter, mm (ISO 724)."""

OF_GEARS = {"search", "layers", "modules", "smaller modules", "stages", "teeth"}
"""Changes that only add to what a search may choose: the largest step has all the others."""

OF_DRIVE = {"clutch", "firmer clutch", "crank"}

BESIDE = {"overhang", "size of the sheet"}
"""Changes that no bound of a train knows of: tried on whole machines."""


@dataclasses.dataclass
class Confirmed:
    """What the loops came to: a machine that holds, or how much was looked through in vain.

    `whole`: whether that was everything, and not as much as there was time for.
    """

    found: Design | None = None
    whole: bool = True
    files: int = 0
    without_ratio: int = 0
    trains: int = 0
    machines: int = 0

    def __str__(self) -> str:
        if self.found is not None:
            return f"a machine that holds: {self.found.brief.text}"
        return (
            f"{'confirmed' if self.whole else 'not confirmed in that time'}: {self.files} files,"
            f" {self.without_ratio} without a ratio, {self.trains} trains, {self.machines} machines"
        )


def confirm(text: str, seconds: float = 60.0) -> Confirmed:
    """Look for a machine that holds among all that the changes of a file can lead to."""
    told, end, seen = Confirmed(), time.process_time() + seconds, set[str]()
    for file, beside in variants(text):
        if time.process_time() > end:
            told.whole = False
            return told
        if file in seen:
            continue
        seen.add(file)
        told.files += 1
        jobs = _jobs(file)
        told.without_ratio += not jobs
        for gear, pairs in itertools.chain.from_iterable(_trains(*job) for job in jobs):
            if time.process_time() > end:
                told.whole = False
                return told
            if not pairs:
                continue
            told.trains += 1
            if not (_all_stand(gear, pairs) and _moves(gear, pairs)):
                continue
            for edits in itertools.product(*((None, *change.steps) for change in beside)):
                told.machines += 1
                try:
                    whole = dataclasses.replace(
                        parse_brief(_edited(file, *edits), "brute force"), drive=gear.drive
                    )
                    made = arranged(whole.given([_stage(gear, pair) for pair in pairs]))
                    if spared(made):
                        told.found = made
                        return told
                except GearworkError:
                    continue
    return told


def variants(text: str):
    """Every file that some steps of all changes lead to, with one wish yielding at most.

    But for changes that no bound knows of, which go with each.
    """
    brief = parse_brief(text, "brute force")
    changes = ways._changes(brief, None)
    means = [c for c in changes if not c.wish and c.name not in OF_GEARS | BESIDE]
    means.sort(key=lambda c: c.name not in OF_DRIVE)  # what moves the load first
    widest = [c.steps[-1] for c in changes if c.name in OF_GEARS]
    beside = [c for c in changes if c.name in BESIDE]
    for wish in (None, *(step for c in changes if c.wish for step in c.steps)):
        yield from ((file, beside) for file in _further(_edited(text, wish, *widest), means))


def _further(text: str, means):
    """The file with each step of the first change and none, and so on, where gears may do."""
    left = {change.name for change in means}
    if not left & OF_DRIVE and not _jobs(text, firm=not left):
        return
    if not means:
        yield text
        return
    for step in (None, *means[0].steps):
        yield from _further(_edited(text, step), means[1:])


def _edited(text: str, *edits) -> str:
    document = tomlkit.parse(text)
    for edit in edits:
        if edit is not None:
            edit(document)
    return tomlkit.dumps(document)


@lru_cache(maxsize=8)
def _jobs(text: str, firm: bool = True):
    """Both gears of a drill with each number of stages and the ratios that may do.

    `firm`: whether rods, grade and sheet stay as they are.
    """
    try:
        brief = parse_brief(text, "brute force")
    except GearworkError:
        return ()
    return [
        (gear, count, between)
        for gear in (brief, *_other_gear(brief))
        for count in brief.space.stages
        if (between := band(gear, count, firm))
    ]


def _other_gear(brief):
    other = getattr(brief.drive, "other_gear", None)
    return [dataclasses.replace(brief, drive=other)] if other else []


def band(brief, stages: int, firm: bool = True) -> tuple[float, float] | None:
    """Ratios of its teeth that may start the load, come near its speed, leave the last rod whole.

    `firm`: whether rods, grade and sheet are those that count.
    """
    (least, most), (small, large) = brief.space.pinion_teeth, brief.space.wheel_teeth
    found = _moving(brief, stages, firm)
    low, high = found or (math.inf, 0.0)
    low, high = max(low, (small / most) ** stages), min(high, (large / least) ** stages)
    return (low, high) if low <= high * (1 + 1e-9) else None


def _moving(brief, stages: int, firm: bool) -> tuple[float, float] | None:
    """The same, whatever the teeth."""
    drive, load = brief.drive, brief.load
    free, most = drive.line.no_load_speed, drive.max_torque
    torque = load.running_torque
    wanted = load.wanted_power / torque / RPM
    core, grade = CORE[brief.shafts.rod.thread], brief.shafts.rod.grade.name
    bears = YIELD[grade] / math.sqrt(3) / 1.5 * math.pi * core**3 / 16e3 if firm else math.inf
    asked = most * (1 + brief.reserve)
    if firm and drive.fixed_by and _fixed(brief, drive.fixed_by[1]) < asked:
        return None
    if firm:  # the last wheel, however large, is fixed to the last rod
        bears = min(bears, _fixed(brief, 400.0))
    if firm and load.fixed_by:
        bears = min(bears, _fixed(brief, load.fixed_by[1]))
    low = max(
        load.starting_torque / drive.starting_torque, load.running_torque / drive.sustained_torque
    )
    high = min(bears / asked, free / (0.8 * wanted))
    if not hasattr(drive, "stall_torque"):  # a hand turns as fast, whatever it moves
        low = max(low, free * torque / (1.25 * load.wanted_power / RPM))
        return (low / 1.01, high * 1.01) if low <= high else None
    tried = [low * (high / low) ** (i / 400) for i in range(401)] if high > low else []
    worst = WORST**stages
    good = [r for r in tried if _in_band(brief, r, worst, 1.0)]
    return (good[0] / 1.01, good[-1] * 1.01) if good else None


def _in_band(brief, ratio: float, worst: float, best: float) -> bool:
    """Whether some efficiency between two makes the drive move the load about as fast as wished."""
    drive, torque = brief.drive, brief.load.running_torque
    wanted = brief.load.wanted_power / torque / RPM

    def speed(kept: float) -> float:
        used = torque / (ratio * kept)
        slowed = max(1 - used / drive.stall_torque, 0.0)
        return drive.no_load_speed * slowed / ratio if used <= drive.max_torque else 0.0

    return speed(best) >= 0.8 * wanted and speed(worst) <= 1.25 * wanted


def _may_do(brief, teeth) -> bool:
    """Whether a train of these teeth does, by the loss of each mesh at most and at least.

    mu pi (1 / z1 + 1 / z2) (1 - e1 - e2 + e1^2 + e2^2), Niemann: the last is between 1 and 1/2.
    """
    if not hasattr(brief.drive, "stall_torque"):
        return True
    mu, worst, best = brief.service.friction.moving, 1.0, 1.0
    for z1, z2 in teeth:
        loss = mu * math.pi * (1 / z1 + 1 / z2)
        worst, best = worst * 0.98 * (1 - loss), best * (1 - loss / 2)
    ratio = math.prod(z2 / z1 for z1, z2 in teeth)
    return _in_band(brief, ratio, max(worst, 0.1), best)


def _fixed(brief, room: float) -> float:
    """What the strongest fixing of a disc of so much room, mm, holds, N·m."""
    given = brief.space.panels, brief.shafts, brief.bit.cut_diameter, brief.service
    return _strongest(*given, room, brief.load.riding_limit is not None)


@cache
def _strongest(panels, shafts, bit, service, room, ridden) -> float:
    use = JointUse.of(service, ridden)
    found = [
        cheapest_fixing(
            panel, 1e9, shafts.rod, room_diameter=room, bit_diameter=bit, use=use,
            or_strongest=True, kind=shafts.fixing,
        )
        for panel in panels
    ]  # fmt: skip
    return max((one.design_torque for one in found if one), default=0.0)


def _trains(brief, count: int, between: tuple[float, float]):
    """Every train of so many pairs with a ratio in a band."""
    space = brief.space
    counts = [range(low, high + 1) for low, high in (space.pinion_teeth, space.wheel_teeth)]
    teeth = list(itertools.product(*counts))
    shifts = sorted({(x, -x * s) for x in space.pinion_shifts for s in space.returned_shares})
    layers = range(len(space.panels), 0, -1)
    low, high = between
    room = brief.room.max_diameter or math.inf
    if (fixed := brief.room.fixed_distance) is not None:
        for m, (z1, z2), x1, n, t in itertools.product(
            space.modules, teeth, sorted({x for x, _ in shifts}), layers, THINNINGS
        ):
            x2 = _filling(m, z1 + z2, fixed) - x1
            if low <= z2 / z1 <= high and abs(x2) <= 1.0 and _may_do(brief, [(z1, z2)]):
                yield brief, [(m, z1, z2, x1, x2, n, t)]
        return
    rest = list(itertools.product(space.modules, shifts, layers, THINNINGS))
    kinds = {
        (z1, z2): [
            (m, z1, z2, *x, n, t) for m, x, n, t in rest if m * (max(z1, z2) + 2) <= room + m
        ]
        for z1, z2 in teeth
    }
    # what no room holds is left out before it multiplies
    yield from _ending(brief, {z: own for z, own in kinds.items() if own}, count, between, [])


def _ending(brief, kinds, count: int, between: tuple[float, float], after: list):
    """Every train that ends in some pairs, built from the load to the drive.

    A pair is left out with all that would come before it if it does not bear the least torque that
    a ratio in the band can bring it.
    """
    low, high = between
    ratios = [z2 / z1 for z1, z2 in kinds]
    left, done = count - len(after) - 1, math.prod(pair[2] / pair[1] for pair in after)
    for z1, z2 in kinds:
        yield brief, []  # for a look at the clock
        total = done * z2 / z1
        least, most = min(ratios) ** left, max(ratios) ** left
        if not (low <= total * most and total * least <= high):
            continue
        if not left and not _may_do(brief, [(z1, z2), *(pair[1:3] for pair in after)]):
            continue
        up_to, weak = max(low / total, least), set()
        for pair in kinds[z1, z2]:  # most layers first: where these do not do no fewer will
            alike = (*pair[:5], pair[6])
            if alike in weak or not _stands(brief, pair, up_to, total):
                weak.add(alike)
                continue
            if left:
                yield from _ending(brief, kinds, count, between, [pair, *after])
            else:
                yield brief, [pair, *after]


def _filling(m: float, teeth: int, distance: float) -> float:
    """x1 + x2 of gears of so many teeth in all that stand so far apart, mm (ISO 21771-1)."""
    alpha, cosine = math.radians(20), m * teeth * math.cos(math.radians(20)) / 2 / distance
    if cosine >= 1.0:
        return math.inf
    working = math.acos(cosine)
    opened = math.tan(working) - working - math.tan(alpha) + alpha
    return teeth * opened / (2 * math.tan(alpha))


def _stage(brief, pair) -> Stage:
    m, z1, z2, x1, x2, layers, thin = pair
    return Stage.of_sheet(
        brief.gears.sheet.thickness, module=m, pinion_teeth=z1, wheel_teeth=z2,
        pinion_shift=x1, wheel_shift=x2, thinning=thin, layers=layers,
    )  # fmt: skip


@cache
def _cut_holds(bit, sizes, thin, thickness):
    """The pair as cut, if its teeth can be cut and mesh."""
    m, z1, z2, x1, x2 = sizes
    try:
        stage = Stage.of_sheet(
            thickness, module=m, pinion_teeth=z1, wheel_teeth=z2, pinion_shift=x1, wheel_shift=x2,
            thinning=thin,
        )  # fmt: skip
        cut = gw.CutPair(stage.pair, bit)
        good = all(judge().ok for _, judge in judges(cut))
    except GearworkError:
        return None
    return cut if good else None


@cache
def _allowed(bit, sizes, thin, panel, service, case, speed=1.0):
    """Torque a pinion may be given in a load case, N·m; the slower, rpm, the more they bear."""
    cut = _cut_holds(bit, sizes, thin, panel.sheet.thickness)
    return gw.rate_pair(cut, panel, speed, service=service)[case].torque


def _stands(brief, pair, up_to: float, on: float) -> bool:
    """Whether a pair can be cut and bears the drive's greatest torque, and all day the load.

    Its teeth, and some fixing in the wood of each gear less its teeth; `up_to` and `on`: ratio
    before the pair, and from its pinion to the load, where nothing is lost on the way.
    """
    m, z1, z2, x1, x2, layers, thin = pair
    torque = (1.0 + brief.reserve) * brief.drive.max_torque * up_to
    for asked, z, x in ((torque, z1, x1), (torque * z2 / z1, z2, x2)):
        # the next 4 mm, in which more is held: fewer sizes to work out
        if _fixed(brief, 4.0 * math.ceil(hub_room(m * (z + 2.0 * x - 2.0)) / 4.0)) < asked:
            return False
    if _cut_holds(brief.bit, pair[:5], thin, brief.gears.sheet.thickness) is None:
        return False
    given = brief.bit, pair[:5], thin, brief.gears.panel(layers), brief.service
    if _allowed(*given, "stall") < torque:
        return False
    load = brief.load
    slowest = float(int(0.8 * on * load.wanted_power / load.running_torque / RPM))
    running = (1.0 + brief.reserve) * load.running_torque / on
    return _allowed(*given, "running", slowest) >= running


def _all_stand(brief, pairs) -> bool:
    ratios = [pair[2] / pair[1] for pair in pairs]
    return all(
        _stands(brief, pair, math.prod(ratios[:place]), math.prod(ratios[place:]))
        for place, pair in enumerate(pairs)
    )


def _moves(brief, pairs) -> bool:
    """Whether the drive starts the load, keeps it moving and comes near its speed.

    By the loss of each mesh as it is cut (`_loss`) within 5 %, and up to 3 % of each in bearings.
    """
    drive, load, friction = brief.drive, brief.load, brief.service.friction
    losses = [_loss(_cut_holds(brief.bit, p[:5], p[6], brief.gears.sheet.thickness)) for p in pairs]
    ratio = math.prod(pair[2] / pair[1] for pair in pairs)
    started = math.prod(1 - 0.95 * friction.starting * loss for loss in losses)
    best = math.prod(1 - 0.95 * friction.moving * loss for loss in losses)
    worst = math.prod(0.97 * (1 - 1.05 * friction.moving * loss) for loss in losses)
    if ratio * started * drive.starting_torque < load.starting_torque:
        return False
    if ratio * best * drive.sustained_torque < load.running_torque:
        return False
    return not hasattr(drive, "stall_torque") or _in_band(brief, ratio, worst, best)


def _loss(cut) -> float:
    """pi (1/z1 + 1/z2)(1 - e1 - e2 + e1^2 + e2^2), e each: z (tan at the tip - at the pitch)/2pi.

    Niemann and Winter, from memory; the angles by the base circles (ISO 21771-1).
    """
    first, second = cut.pair.pinion, cut.pair.wheel
    base = [gear.module * gear.teeth * math.cos(math.radians(20)) for gear in (first, second)]
    working = math.acos(sum(base) / 2 / cut.pair.centre_distance)
    parts = [
        gear.teeth
        / (2 * math.pi)
        * (math.tan(math.acos(circle / gear.tip_diameter)) - math.tan(working))
        for gear, circle in zip((first, second), base, strict=True)
    ]
    return (
        math.pi
        * (1 / first.teeth + 1 / second.teeth)
        * (1 - sum(parts) + sum(part**2 for part in parts))
    )
