"""What pages say of a design, apart from how they look: verdict, figures, assumptions, sources.

The words stand in templates of plain text; what has to be computed for them stands here.
"""

import math
from collections import Counter
from collections.abc import Iterator

from gearwork.checks.shaft.beam import tooth_force
from gearwork.errors import GearworkError
from gearwork.geometry.rack import Rack
from gearwork.machine.design import Design
from gearwork.machine.drive import WORK, Motor, motor_heat
from gearwork.machine.gear_set import GearSet
from gearwork.machine.setting import torque_setting
from gearwork.machine.stage import drives_on, gear_name
from gearwork.numbers import RPM, figure, figures_down, figures_up, fixed
from gearwork.output.jobsheet.pages import sentences

Figures = tuple[tuple[str, str], ...]
"""Figures with their units, each with its name."""


def setting_sentences(design: Design) -> tuple[str, ...]:
    """Return how to set the drive, in plain sentences."""
    setting = torque_setting(design)
    least, most = figures_up(setting.min_torque, 2), figures_down(setting.max_torque, 2)
    return sentences("setting.txt", design=design, setting=setting, least=least, most=most)


def verdict_line(design: GearSet) -> tuple[str, str]:
    """Return the verdict on the whole as a word and as the sentence that follows it."""
    counts = Counter(check.verdict for check in design.report.checks)
    word = next((word for word in ("fail", "marginal") if counts[word]), "pass")
    unloaded = [i for i, stage in enumerate(design.stages, 1) if stage.torque is None]
    (line,) = sentences("verdict.txt", design=design, counts=counts, unloaded=unloaded)
    return word, line


def key_figures(design: Design) -> Figures:
    """Return the figures of the whole of a machine."""
    diameter = design.duty.load.pull_diameter
    wanted, unit = design.duty.wanted_speed, "rpm"
    if diameter is not None:
        wanted, unit = wanted * RPM * diameter / 2000.0, "m/s"
    return _figures(design, wanted=wanted, unit=unit, inf=math.inf)


def gear_figures(gears: GearSet, *, alone: bool = True) -> Figures:
    """Return the figures of gears without a machine.

    `alone`: also distances and torques, which tables tell elsewhere.
    """
    tables = (*_distances(gears), *_borne(gears)) if alone else ()
    return _figures(gears, told=(*tables, *_over_idlers(gears), *_travels(gears)))


def _figures(design: GearSet, **values: object) -> Figures:
    rows = sentences("figures.txt", design=design, mass=_mass(design), **values)
    parted = (row.partition(": ") for row in rows)
    return tuple((name, value) for name, _, value in parted)


def _mass(design: GearSet) -> str:
    """The mass of all gears, kg; about where the bit cannot cut them."""
    try:
        return f"{design.gear_mass:.2g} kg"
    except GearworkError:  # not to be cut with this bit
        density = design.brief.gears.sheet.density
        return f"about {sum(gear.mass(density) for gear in design.gears):.2g} kg"


def assumptions(design: Design) -> tuple[str, ...]:
    """Return what the figures of this design rest on without proof, each once."""
    drive, point = design.duty.drive, design.duty.operating_point(design.train.ratio)
    heat, why = None, ""
    if isinstance(drive, Motor):
        heat = motor_heat(point.drive_torque, point.drive_speed, drive.line.no_load_speed)
        why = WORK[drive.work].why
    said = [
        f"S{place}"
        for place, source in enumerate(sources(design), 1)
        if "assumption" in source or "from memory" in source
    ]
    return sentences("assumptions.txt", design=design, heat=heat, why=why, said=said)


def sources(design: GearSet) -> tuple[str, ...]:
    """Return every source of the checks and of their allowables, each once, in order."""
    found = [s for c in design.report for s in (c.source, *(step.source for step in c.basis))]
    return tuple(dict.fromkeys(found))


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


def _borne(gears: GearSet) -> Iterator[tuple[str, str]]:
    """What the teeth of each pinion bear."""
    for number, stage in enumerate(gears.stages):
        for limit in gears.rating(number).limits:
            given = f" at {stage.speed:g} rpm" if limit.case.repeated else ""
            allowed, breaks = (
                figure(torque, "N·m") for torque in (limit.torque, limit.expected_break)
            )
            name = f"{gear_name(gears.stages, number, 'pinion')}, {limit.case.name}{given}"
            yield name, f"allowed {allowed}, breaks at about {breaks}"
