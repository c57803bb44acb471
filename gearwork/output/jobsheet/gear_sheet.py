"""The sheet of gears without a machine: two or three pages with all that cutting them takes."""

import math
from collections.abc import Iterator

from markupsafe import Markup

from gearwork.checks.shaft.beam import tooth_force
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.machine.cause import causes
from gearwork.machine.gear_set import GearSet
from gearwork.machine.stage import drives_on, gear_name
from gearwork.numbers import figure, fixed
from gearwork.output.jobsheet.content import mass, service, verdict_line, windows
from gearwork.output.jobsheet.job_sheet import inspections, to_cut, where_to_measure
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import gears_view
from gearwork.output.jobsheet.testpiece import broken_lines, rows_of


def gear_sheet_html(gears: GearSet) -> Markup:
    """Return all that cutting such gears takes as one HTML page that needs nothing else."""
    return page(
        "gear-sheet.html",
        **_first_page(gears),
        brief=gears.brief,
        **to_cut(gears),
        test_piece=rows_of(gears),
        break_test=gears.break_test,
        broken=broken_lines(gears.brief.gears.sheet),
        measures=where_to_measure(gears),
        **inspections(gears),
    )


def gear_notebook_page(gears: GearSet) -> Markup:
    """Return the first page of the gear sheet, to stand in a notebook with its look."""
    return page("notebook.html", first_page="gear-first-page.html", **_first_page(gears))


def _first_page(gears: GearSet) -> dict[str, object]:
    word, text = verdict_line(gears)
    return {
        "title": gears.title,
        "word": word,
        "verdict": text,
        "causes": causes(gears),
        "drawing": gears_view(gears) if gears.axes else "",
        "figures": _figures(gears),
        "design": gears,
        "play_at": _play_at,
    }


def gear_figures(gears: GearSet) -> tuple[tuple[str, str], ...]:
    """Return distances, torques and the figures of the whole, each with its name."""
    borne = (row for stage in range(len(gears.stages)) for row in _borne(gears, stage))
    return (*_distances(gears), *borne, *_figures(gears))


def _figures(gears: GearSet) -> tuple[tuple[str, str], ...]:
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


def _play_at(pair: GearPair, off: float) -> str:
    """The backlash where the centre distance is off by so much."""
    return fixed(GearPair(pair.pinion, pair.wheel, pair.centre_distance + off).backlash)
