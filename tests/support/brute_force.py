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
from scipy.optimize import brentq

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

BEARINGS = 0.97
"""What the bearings of a pair leave of its power, at worst."""

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


def bounds_leave(design: Design) -> bool:
    """Whether no bound strikes out a machine that the search found: else they prove nothing."""
    brief, count = design.brief, len(design.stages)
    between = band(brief, count)
    pairs = [(stage.pair.pinion, stage.pair.wheel) for stage in design.stages]
    ratios = [wheel.teeth / pinion.teeth for pinion, wheel in pairs]
    if between is None or not between[0] <= math.prod(ratios) <= between[1]:
        return False
    kinds = [(int(p.teeth), int(w.teeth), p.profile_shift, w.profile_shift) for p, w in pairs]
    sizes = [(stage.pair.pinion, stage.layers) for stage in design.stages]
    return _moves(brief, kinds) and all(
        _stands(
            brief,
            (pinion.module, *kind, layers, pinion.thinning),
            math.prod(ratios[:place]),
            math.prod(ratios[place:]),
        )
        for place, (kind, (pinion, layers)) in enumerate(zip(kinds, sizes, strict=True))
    )


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
    smallest = 1 / brief.space.pinion_teeth[0] + 1 / brief.space.wheel_teeth[0]
    teeth = max(1 - math.pi * brief.service.friction.moving * smallest, 0.1)
    good = []
    for ratio in tried:
        # teeth lose at worst twice what they lose at best, which lets the load run all day
        lasting = 1 + 2 * math.log(load.running_torque / drive.sustained_torque / ratio)
        worst = BEARINGS**stages * max(teeth**stages, lasting)
        least, most = _to_keep(brief, ratio)
        if least <= min(most, 1.0) and worst <= most:
            good.append(ratio)
    return (good[0] / 1.01, good[-1] * 1.01) if good else None


def _to_keep(brief, ratio: float) -> tuple[float, float]:
    """Efficiencies, least and most, at which the drive moves the load about as fast as wished.

    Its speed falls in proportion to its torque, n0 (1 - T / T0), and may be 20 % less or 25 % more
    than wished, within its greatest torque. A hand turns as fast in any case.
    """
    if not hasattr(brief.drive, "stall_torque"):
        return 0.0, math.inf
    drive, torque = brief.drive, brief.load.running_torque / ratio
    wanted = brief.load.wanted_power / brief.load.running_torque / RPM * ratio
    stall = drive.stall_torque

    def kept(speed: float) -> float:
        """Efficiency at which the drive turns so fast."""
        left = 1 - speed / drive.no_load_speed
        return torque / (stall * left) if left > 0 else math.inf

    return max(kept(0.8 * wanted), torque / drive.max_torque), kept(1.25 * wanted)


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
    """Every train of so many pairs that moves the load and whose pairs bear it.

    Now and then an empty one, for a look at the clock.
    """
    space = brief.space
    counts = [range(low, high + 1) for low, high in (space.pinion_teeth, space.wheel_teeth)]
    shifts = sorted({(x, -x * s) for x in space.pinion_shifts for s in space.returned_shares})
    layers = range(len(space.panels), 0, -1)
    sizes = list(itertools.product(space.modules, layers, THINNINGS))
    low, high = between
    room = brief.room.max_diameter or math.inf
    kinds = dict[tuple, list]()
    for z1, z2 in itertools.product(*counts):
        if (fixed := brief.room.fixed_distance) is not None:
            for m, x1 in itertools.product(space.modules, sorted({x for x, _ in shifts})):
                x2 = _filling(m, z1 + z2, fixed) - x1
                if abs(x2) <= 1.0:
                    kinds[z1, z2, x1, x2] = [size for size in sizes if size[0] == m]
        elif own := [size for size in sizes if size[0] * (max(z1, z2) + 1) <= room]:
            kinds |= dict.fromkeys(((z1, z2, *x) for x in shifts), own)
    if not kinds:  # no room for any
        return
    along = [low * (high / low) ** (i / 100) for i in range(101)]
    least, most = zip(*(_to_keep(brief, ratio) for ratio in along), strict=True)
    yield from _ending(brief, kinds, count, (low, high, min(least), max(most)), [])


def _ending(brief, kinds, count: int, limits, after: list):
    """Every train that ends in some pairs, built from the load to the drive.

    A pair is left out with all that would come before it if they cannot come to a ratio and to an
    efficiency within the limits, or if it does not bear the least torque such a ratio brings it.
    """
    low, high, keeping, losing = limits
    left, done = count - len(after) - 1, math.prod(z2 / z1 for (z1, z2, *_), _ in after)
    ratios = [z2 / z1 for z1, z2, *_ in kinds]
    least, most = min(ratios) ** left, max(ratios) ** left
    losses = [_loss(*kind) for kind in kinds]
    worst = _kept(brief, [*(_loss(*kind) for kind, _ in after), *[max(losses)] * left])[0]
    best = _kept(brief, [*(_loss(*kind) for kind, _ in after), *[min(losses)] * left])[1]
    for kind, sizes in kinds.items():
        total = done * kind[1] / kind[0]
        if not (low <= total * most and total * least <= high):
            continue
        yield brief, []
        lost, kept = _kept(brief, [_loss(*kind)])
        if lost * worst > losing or kept * best < keeping:
            continue
        train = [(kind, sizes), *after]
        if left:
            standing = _standing(brief, kind, sizes, max(low / total, least), total)
            if standing:
                yield from _ending(brief, kinds, count, limits, [(kind, standing), *after])
        elif _moves(brief, [kind for kind, _ in train]):
            before, sized = 1.0, []
            for (z1, z2, *shifts), own in train:
                on = total / before
                own = _standing(brief, (z1, z2, *shifts), own, before, on)
                sized.append([(m, z1, z2, *shifts, n, t) for m, n, t in own])
                before *= z2 / z1
                if not own:
                    break
            else:
                yield from ((brief, list(pairs)) for pairs in itertools.product(*sized))


def _standing(brief, kind, sizes, up_to: float, on: float) -> list:
    """Those sizes of a pair that stand; most layers come first, where they do not no fewer do."""
    good, weak = [], set()
    for m, layers, thin in sizes:
        if (m, thin) in weak:
            continue
        if _stands(brief, (m, *kind, layers, thin), up_to, on):
            good.append((m, layers, thin))
        else:
            weak.add((m, thin))
    return good


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


def _kept(brief, losses) -> tuple[float, float]:
    """What pairs and their bearings leave of a power at worst and at best, losses within 5 %."""
    mu = brief.service.friction.moving
    return (
        math.prod(BEARINGS * (1 - 1.05 * mu * loss) for loss in losses),
        math.prod(1 - 0.95 * mu * loss for loss in losses),
    )


def _moves(brief, kinds) -> bool:
    """Whether the drive starts the load, keeps it moving and comes near its speed."""
    drive, load = brief.drive, brief.load
    losses = [_loss(*kind) for kind in kinds]
    ratio = math.prod(z2 / z1 for z1, z2, *_ in kinds)
    started = math.prod(1 - 0.95 * brief.service.friction.starting * loss for loss in losses)
    if ratio * started * drive.starting_torque < load.starting_torque:
        return False
    worst, best = _kept(brief, losses)
    if ratio * best * drive.sustained_torque < load.running_torque:
        return False
    least, most = _to_keep(brief, ratio)
    return least <= most and best >= least and worst <= most


@cache
def _loss(z1: int, z2: int, x1: float, x2: float) -> float:
    """pi (1/z1 + 1/z2)(1 - e1 - e2 + e1^2 + e2^2), e each: z (tan at the tip - at the pitch)/2pi.

    Niemann and Winter, from memory; the angles by the base circles (ISO 21771-1), and no contact
    beyond where the base circle of the mate is touched.
    """
    cosine = math.cos(math.radians(20))
    inv = math.tan(math.radians(20)) * (1 + 2 * (x1 + x2) / (z1 + z2)) - math.radians(20)
    working = brentq(lambda a: math.tan(a) - a - inv, 0.0, 1.4)
    parts = [
        min(z * (math.tan(math.acos(z * cosine / (z + 2 + 2 * x))) - math.tan(working)),
            mate * math.tan(working)) / (2 * math.pi)
        for z, x, mate in ((z1, x1, z2), (z2, x2, z1))
    ]  # fmt: skip
    return math.pi * (1 / z1 + 1 / z2) * (1 - sum(parts) + sum(part**2 for part in parts))
