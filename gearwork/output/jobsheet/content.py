"""What pages say of a design, apart from how they look: verdict, purpose, figures, assumptions."""

import math
from collections.abc import Callable, Iterator
from math import ceil, floor, isfinite, log10

from gearwork.checks.check import Check
from gearwork.checks.shaft.beam import tooth_force
from gearwork.errors import GearworkError
from gearwork.geometry.rack import Rack
from gearwork.machine.design import Design
from gearwork.machine.drive import WORK, Motor, motor_heat
from gearwork.machine.gear_set import GearSet
from gearwork.machine.load import RopeDrum
from gearwork.machine.setting import torque_setting
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import drives_on, gear_name
from gearwork.machine.vehicle import Vehicle
from gearwork.numbers import RPM, figure, fixed

_NUMBERS = ("no", "One", "Two", "Three", "Four")


def setting_sentences(design: Design) -> tuple[str, ...]:
    """Return how to set the drive, in plain sentences."""
    setting = torque_setting(design)
    least, most = _rounded(setting.min_torque, ceil), _rounded(setting.max_torque, floor)
    gives = f"the first to give way is the {setting.weakest}"
    counted = f"The checks count on {figure(setting.counted, 'N·m')} as the drive's largest torque"
    if not setting.possible:
        return (
            f"No setting works: starting the load takes {figure(least, 'N·m')} at the drive, and"
            f" above {figure(most, 'N·m')} {gives}.",
            f"{counted}.",
        )
    if design.duty.drive.has_clutch:
        first = (
            f"Set the drive's clutch to slip between {figure(least, 'N·m')}, which starting the"
            f" load takes, and {figure(most, 'N·m')}; above that {gives}. Start at the lowest step"
            " and go up until the load just starts."
        )
    else:
        first = (
            f"Never put more than {figure(most, 'N·m')} on the first shaft, not even when the"
            f" output jams; above that {gives}. Starting the load takes {figure(least, 'N·m')}."
        )
    if setting.counted > setting.max_torque:
        return first, f"{counted}, which is more than the parts bear: limit it."
    return first, f"{counted}, which all parts bear."


def verdict_line(design: GearSet) -> tuple[str, str]:
    """Return the verdict on the whole as a word and as the sentence that follows it."""
    checks = design.report.checks
    failed, watched = _count(checks, "fail"), _count(checks, "marginal")
    what = what_it_does(design) if isinstance(design, Design) else what_they_are(design)
    if failed:
        first = f"{failed} of {len(checks)} checks fail"
        return "fail", f"{first}: do not cut yet. Wanted: {what[0].lower()}{what[1:]}"
    more = f", {watched} of them marginal" if watched else ""
    return ("marginal" if watched else "pass"), f"All {len(checks)} checks hold{more}. {what}"


def what_they_are(gears: GearSet) -> str:
    """Return in two sentences which gears are cut, and what of them is judged."""
    found = []
    for stage in gears.stages:
        pair, only = stage.pair, f"the {stage.only} of a pair of " if stage.only else ""
        apart = f"of module {pair.pinion.module:g} mm, {pair.centre_distance:.2f} mm"
        first = f"the {pair.pinion.teeth:g}, an idler," if stage.idler else f"{pair.pinion.teeth:g}"
        if isinstance(pair.wheel, Rack):
            both = f"{first}{'' if stage.idler else ' teeth'} and a rack of {pair.wheel.teeth:g}"
            found.append(f"{only}{both} {apart} from axis to reference line")
            continue
        both = f"{first} and {pair.wheel.teeth:g} teeth"
        found.append(f"{only}{both} {apart} apart")
    unloaded = [i for i, stage in enumerate(gears.stages, 1) if stage.torque is None]
    judged = "Mesh and strength are judged."
    if unloaded:
        which = " and ".join(map(str, unloaded))
        judged = f"No torque is given for stage {which}: strength is told below, not judged."
    return f"Plywood gears: {'; '.join(found)}. {judged}"


def what_it_does(design: Design) -> str:
    """Return in one sentence what the machine does."""
    count = len(design.train.stages)
    stages = f"{_NUMBERS[count] if count < len(_NUMBERS) else count} stage{'s' * (count > 1)}"
    one, ratio = count == 1, design.train.ratio
    if ratio > 1.0005:
        change = f"{'slows' if one else 'slow'} the drive {figure(ratio, digits=3)} times"
    elif ratio < 0.9995:
        change = f"{'speeds' if one else 'speed'} the drive up {figure(1 / ratio, digits=3)} times"
    else:
        change = f"{'keeps' if one else 'keep'} the drive's speed"
    idlers = sum(stage.idler for stage in design.stages)
    among = f", {_NUMBERS[min(idlers, 4)].lower()} over an idler," if idlers else ""
    return f"{stages} of plywood gears{among} {change} to {_task(design)}."


def _task(design: Design) -> str:
    load, ratio = design.duty.load, design.train.ratio
    if isinstance(load, RopeDrum | Vehicle):
        way = f"up a slope of {load.slope:g}°" if load.slope else "on level ground"
        by = "haul" if isinstance(load, RopeDrum) else "drive"
        rope = " by rope" if isinstance(load, RopeDrum) else ""
        speed = float(design.duty.travel_speed(ratio))
        pace = f" at {speed:.2g} m/s" if speed > 0 else ""
        return f"{by} {load.mass:g} kg {way}{rope}{pace}"
    if isinstance(load, RackLoad):
        speed = float(design.duty.travel_speed(ratio))
        pace = f" at {speed:.2g} m/s" if speed > 0 else ""
        way = f" up {load.slope:g}°" if load.slope else ""
        return f"move a rack {load.travel:g} mm{way} against {figure(load.force, 'N')}{pace}"
    speed = float(design.duty.output_speed(ratio))
    pace = f" at {figure(speed, 'rpm')}" if speed > 0 else ""
    return f"turn a load of {figure(load.running_torque, 'N·m')}{pace}"


def key_figures(design: Design) -> tuple[tuple[str, str], ...]:
    """Return the figures of the whole, each with its name."""
    point = design.duty.operating_point(design.train.ratio)
    wide, high, deep = design.size
    sheet, bit = design.brief.gears.sheet, design.brief.bit
    figures = [
        ("ratio, drive over output", figure(design.train.ratio, digits=3)),
        ("efficiency, moving and starting", _losses(design)),
        ("drive under load", _turning(point.drive_torque, point.drive_speed)),
        ("output under load", _turning(point.output_torque, point.output_speed)),
        *_rack(design),
        ("speed wanted and allowed", _speeds(design)),
        *_start(design),
        *_arrangement(design),
        ("over feet, plates and rods", f"{wide:.0f} × {high:.0f} × {deep:.0f} mm"),
        ("mass of the gears", mass(design)),
        *windows(design),
        ("sheet", f"{sheet.name}, {sheet.thickness:g} mm thick"),
        ("router bit", f"{bit.cut_diameter:g} mm"),
        ("service class, running time", service(design)),
    ]
    return tuple(figures)


def _arrangement(design: Design) -> Iterator[tuple[str, str]]:
    """How the shafts stand, and why where that was chosen."""
    frame, chosen = design.brief.frame, "which takes the smaller plates"
    if sum(not stage.idler for stage in design.brief.stages) > 1:
        how = "in line" if frame.why else frame.arrangement or "folded"
        why = frame.why or ("as the design file says" if frame.arrangement else chosen)
        yield "shafts stand", f"{how}: {why}"


def _rack(design: Design) -> Iterator[tuple[str, str]]:
    """What a rack's bed, guide and stops are built by."""
    load = design.duty.load
    if isinstance(load, RackLoad):
        along, apart = load.forces(float(design.torques.max[-1]))
        yield "travel in a turn of its pinion", f"{load.stage.pair.travel_per_turn:.1f} mm"
        yield "at most along the rack", f"{along:.0f} N, {apart:.0f} N apart"


def _losses(design: Design) -> str:
    duty = design.duty
    moving, starting = (100 * share for share in (duty.efficiency, duty.starting_efficiency))
    return f"{moving:.0f} and {starting:.0f} %, flanks {design.brief.service.flanks}"


def _speeds(design: Design) -> str:
    duty = design.duty
    wanted, unit, diameter = duty.wanted_speed, "rpm", duty.load.pull_diameter
    if diameter is not None:
        wanted, unit = wanted * RPM * diameter / 2000.0, "m/s"
    slow, fast = (share * wanted for share in duty.speed_band)
    good = duty.ratio_range
    other = f"; ratios from {good[0]:.3g} to {good[1]:.3g} do it" if good else ""
    in_gear = f", {duty.drive.in_gear}" if duty.drive.in_gear else ""
    return f"{wanted:.3g} {unit}, {slow:.3g} to {fast:.3g}{in_gear}{other}"


def _start(design: Design) -> Iterator[tuple[str, str]]:
    time = design.time_to_speed
    if isfinite(time):
        unknown = "" if design.duty.drive.inertia else ", without the drive's own inertia"
        yield "from standstill to speed", f"{figure(time, 's', 1)}{unknown}"


def windows(design: GearSet) -> Iterator[tuple[str, str]]:
    """Yield each wheel with windows, and what they save."""
    for number, rim in enumerate(design.rims, 1):
        if rim is not None:
            yield f"wheel {number}", rim.saving


def mass(design: GearSet) -> str:
    """Return the mass of all gears, kg; about where the bit cannot cut them."""
    try:
        return f"{design.gear_mass:.2g} kg"
    except GearworkError:  # not to be cut with this bit
        density = design.brief.gears.sheet.density
        return f"about {sum(gear.mass(density) for gear in design.gears):.2g} kg"


def _turning(torque: float, speed: float) -> str:
    return f"{figure(torque, 'N·m', 3)} at {figure(speed, 'rpm', 3)}"


def service(design: GearSet) -> str:
    """Return the service class in words, and for how long."""
    words = {1: "heated indoors", 2: "under a roof", 3: "in the weather"}
    service = design.service
    return f"{service.service_class} ({words[service.service_class]}), {service.running_hours:g} h"


BROKEN = (
    "broken teeth speak for their sheet alone and are taken to be as dry as the gears will be; what"
    " they bore at the tip of one gear's teeth holds for others by the beam of their roots; none is"
    " credited in a direction in which none was broken"
)


def assumptions(design: Design) -> tuple[str, ...]:
    """Return what the figures of this design rest on without proof, each once."""
    duty, friction = design.duty, design.brief.service.friction
    found = [
        f"efficiency of one mesh {duty.mesh_efficiency:.3f} moving and"
        f" {duty.starting_mesh_efficiency:.3f} starting: 1 - μ H, teeth and contact ratio (Niemann"
        f" and Winter, from memory), μ {friction.moving:g} and {friction.starting:g}:"
        f" {friction.source}",
        f"efficiency of the bearings of one stage {duty.bearing_efficiency:g}: assumption",
        f"starts and stops in an hour {design.service.starts_per_hour:g}, jams in an hour"
        f" {design.service.stalls_per_hour:g}: assumption unless given",
        *_heat(design),
        f"application factor for shocks {design.service.application_factor:g}: as given, or by the"
        " guide values of ISO 6336-6 (from memory)",
        f"routed edges within {design.brief.tolerance.edge_tolerance:g} mm of their line, three"
        " standard deviations: assumption, to be measured",
        "centre distances may take half of the backlash, the other half is for cutting error,"
        " run-out and swelling: assumption",
        "the whole load on one tooth, at its tip: a routed gear shares it only by chance; errs to"
        " the safe side",
    ]
    if design.brief.gears.sheet.broken_teeth is not None:
        found.append(BROKEN)
    said = [
        f"S{place}"
        for place, source in enumerate(sources(design), 1)
        if "assumption" in source or "from memory" in source
    ]
    found.append(f"an assumption, or told from memory, each as it says: {', '.join(said)}")
    return tuple(found)


def _heat(design: Design) -> Iterator[str]:
    drive, point = design.duty.drive, design.duty.operating_point(design.train.ratio)
    if isinstance(drive, Motor):
        heat = motor_heat(point.drive_torque, point.drive_speed, drive.line.no_load_speed)
        yield (
            f"the motor bears {drive.share:g} of its stall torque: {WORK[drive.work].why}; under"
            f" load {figure(heat, 'W', 2)} of heat stay in it"
        )


def sources(design: GearSet) -> tuple[str, ...]:
    """Return every source of the checks and of their allowables, each once, in order."""
    found = [s for c in design.report for s in (c.source, *(step.source for step in c.basis))]
    return tuple(dict.fromkeys(found))


def _count(checks: tuple[Check, ...], verdict: str) -> int:
    return sum(check.verdict == verdict for check in checks)


def _rounded(value: float, way: Callable[[float], int]) -> float:
    """Two significant digits, up or down."""
    step = 10.0 ** (floor(log10(value)) - 1)
    return way(round(value / step, 9)) * step


def gear_figures(gears: GearSet) -> tuple[tuple[str, str], ...]:
    """Return distances, torques and the figures of the whole, each with its name."""
    borne = (row for stage in range(len(gears.stages)) for row in _borne(gears, stage))
    return (*_distances(gears), *borne, *gear_set_figures(gears))


def gear_set_figures(gears: GearSet) -> tuple[tuple[str, str], ...]:
    """What no table says."""
    sheet, bit = gears.brief.gears.sheet, gears.brief.bit
    return (
        *_over_idlers(gears),
        *_travels(gears),
        ("sheet", f"{sheet.name}, {sheet.thickness:g} mm thick"),
        ("router bit", f"{bit.cut_diameter:g} mm"),
        ("mass of the gears", mass(gears)),
        *windows(gears),
        ("service class, running time", service(gears)),
    )


def _travels(gears: GearSet) -> Iterator[tuple[str, str]]:
    """How far each rack moves, and the force along it before friction takes its part."""
    for number, stage in enumerate(gears.stages, 1):
        if isinstance(stage.pair.wheel, Rack):
            pitch, force = stage.pair.working_pitch_diameters[0], ""
            if stage.torque is not None:
                force = f", {figure(2000 * stage.torque / pitch, 'N')} before friction"
            travel = fixed(stage.pair.travel_per_turn, 1, "mm")
            pinion = "the pinion"
            if stage.idler:
                pinion = gear_name(gears.stages, number - 1, "pinion")
            yield f"rack {number}, a turn of {pinion}", f"{travel}{force}"


def _distances(gears: GearSet) -> Iterator[tuple[str, str]]:
    """The axes of each pair and how far they stand apart."""
    for (start, end, distance), play in gears.toleranced_distances:
        yield f"{start} to {end}", f"{distance:.2f} ± {play:.2f} mm"


def _over_idlers(gears: GearSet) -> Iterator[tuple[str, str]]:
    """What the gears on either side of idlers do to each other, and what an idler's rod carries."""
    stages, first = gears.stages, 0
    for last, stage in enumerate(stages):
        if not stage.idler:
            first = last
        elif not (drives_on(stages, last) or isinstance(stage.pair.wheel, Rack)):
            chain = stages[first : last + 1]
            ends = gear_name(stages, first, "pinion"), gear_name(stages, last, "wheel")
            way = "against each other" if len(chain) % 2 else "the same way"
            ratio = math.prod(one.ratio for one in chain)
            yield f"{ends[0]} to {ends[1]}", f"ratio {fixed(ratio, 3)}, they turn {way}"
        if stage.idler and stage.torque is not None:
            force = max(_on_rod(gears, last, sense * stage.torque) for sense in (1.0, -1.0))
            words = f"{figure(force, 'N', 3)} across it, in the worse sense of rotation"
            yield f"rod of {gear_name(stages, last, 'pinion')}", words


def _on_rod(gears: GearSet, stage: int, torque: float) -> float:
    """Force of both its meshes on the idler before a stage, N: by statics, without friction."""
    (start, middle), (_, end) = gears.points(stage - 1), gears.points(stage)
    total = [0.0, 0.0]
    for number, at, given in ((stage - 1, start, torque), (stage, end, -torque)):
        pair = gears.stages[number].pair
        towards = math.degrees(math.atan2(at[1] - middle[1], at[0] - middle[0]))
        base = gears.stages[stage].pair.pinion.base_diameter
        force = tooth_force(given, base, pair.working_pressure_angle, towards)
        total = [one + float(more) for one, more in zip(total, force, strict=True)]
    return math.hypot(*total)


def _borne(gears: GearSet, stage: int) -> Iterator[tuple[str, str]]:
    for limit in gears.rating(stage).limits:
        given = f" at {gears.stages[stage].speed:g} rpm" if limit.case.repeated else ""
        yield (
            f"{gear_name(gears.stages, stage, 'pinion')}, {limit.case.name}{given}",
            f"allowed {figure(limit.torque, 'N·m')}, breaks at about"
            f" {figure(limit.expected_break, 'N·m')}",
        )
