"""The papers, each made from a template: job sheet, gear sheet, calculation, break test, text."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
from markupsafe import Markup

from gearwork.checks.check import Check, CheckReport, Step
from gearwork.checks.shaft.beam import tooth_force
from gearwork.checks.tooth.strength import UNKNOWNS, Rating
from gearwork.errors import GearworkError
from gearwork.geometry.pair import GearPair, PairShape
from gearwork.machine.break_test import COPIES, StageBreakTest
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.drive import WORK, Motor, motor_heat
from gearwork.machine.gear_set import GearSet
from gearwork.machine.setting import torque_setting
from gearwork.machine.stage import Stage, gear_name
from gearwork.numbers import figures_down, figures_up, fixed
from gearwork.output.drawing.spacing import ends_of
from gearwork.output.jobsheet.assembly import assembly
from gearwork.output.jobsheet.measuring import (
    broken_lines,
    inspections,
    result_lines,
    where_to_measure,
)
from gearwork.output.jobsheet.pages import page, plain_page, sentences
from gearwork.output.jobsheet.picture import (
    break_test_views,
    direction,
    gears_view,
    pinion_and_bar,
    section_view,
    sheet_view,
    train_view,
)


def job_sheet_html(design: GearSet) -> Markup:
    """Return the job sheet of a machine, or of gears alone, as one HTML page, whole by itself."""
    try:
        bill = design.bill if isinstance(design, Design) else ()
        parts, sheets = design.parts, design.sheets
    except GearworkError:  # a part cannot be made: the checks tell what to change
        bill, parts, sheets = (), (), ()
    numbers = {row.item: row.number for row in bill}
    numbers |= {part.name: number for number, part in enumerate(parts, len(bill) + 1)}
    values = {
        **_first_page(design),
        "brief": design.brief,
        "bill": bill,
        "parts": parts,
        "sheets": sheets,
        "numbers": numbers,
        "sheet_view": sheet_view,
        "said": result_lines(design),
        "broken": broken_lines(design.brief.gears.sheet),
        "measures": where_to_measure(design),
        "inspections": inspections(design),
    }
    if not isinstance(design, Design):
        return page("gear-sheet.html", **values)
    steps = assembly(design, numbers)
    return page("job-sheet.html", section_view=section_view, **values, **steps)


def notebook_page(design: GearSet) -> Markup:
    """Return the first page of the job sheet, to stand in a notebook with its look."""
    first = "first-page.html" if isinstance(design, Design) else "gear-first-page.html"
    return page("notebook.html", first_page=first, **_first_page(design))


def _verdict(design: GearSet) -> dict[str, Any]:
    """With what every paper begins."""
    word, text = verdict_line(design)
    return {"title": design.title, "word": word, "verdict": text, "design": design}


def _first_page(design: GearSet) -> dict[str, Any]:
    told = figures(design, alone=False)
    values = {**_verdict(design), "causes": causes(design), "figures": told}
    if not isinstance(design, Design):
        drawing = gears_view(design) if design.axes else ""
        return {**values, "drawing": drawing, "play_at": _play_at}
    drawing = train_view(design.train, design.cut_pairs, design.title, pinion_and_bar(design))
    return {**values, "drawing": drawing, "setting": setting_sentences(design)}


def _play_at(pair: GearPair, off: float) -> str:
    """The backlash where the centre distance is off by so much."""
    return fixed(PairShape(pair.pinion, pair.wheel, pair.centre_distance + off).backlash)


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


def figures(design: GearSet, *, alone: bool = True) -> tuple[tuple[str, str], ...]:
    """Return the figures of the whole of a machine, or of gears without one, each with its name.

    `alone`: of gears also distances and torques, which tables tell elsewhere.
    """
    asked = {"called": partial(gear_name, design.stages), "on_idler": partial(_on_idler, design)}
    rows = sentences("figures.txt", design=design, alone=alone, inf=math.inf, **asked)
    parted = (row.partition(": ") for row in rows)
    return tuple((name, value) for name, _, value in parted)


def _on_idler(gears: GearSet, stage: int) -> float:
    """Force of both its meshes on the idler before a stage, in the worse sense of rotation, N.

    By statics, without friction.
    """
    (start, middle), (_, end) = gears.points(stage - 1), gears.points(stage)
    given, base = gears.stages[stage].torque or 0.0, gears.stages[stage].pair.pinion.base_diameter
    before, after = (gears.stages[i].pair.working_pressure_angle for i in (stage - 1, stage))
    found = []
    for torque in (given, -given):
        one = tooth_force(torque, base, before, direction(middle, start))
        other = tooth_force(-torque, base, after, direction(middle, end))
        found.append(float(np.hypot(*np.add(one, other))))
    return max(found)


def calculation_html(design: Design) -> Markup:
    """Return every check, limit, assumption and source of a design as one HTML page."""
    traced = _traced(design)
    every = [s for c in design.report for s in (c.source, *(step.source for step in c.basis))]
    places = {source: f"S{place}" for place, source in enumerate(dict.fromkeys(every), 1)}
    said = [at for one, at in places.items() if "assumption" in one or "from memory" in one]
    return page(
        "calculation.html",
        **_verdict(design),
        figures=figures(design),
        rating_of=Rating.of,
        reports=_said_once(design),
        limit_of={basis: f"L{number}" for number, basis in enumerate(traced, 1)},
        source_of=places,
        limits=[(basis, _served(checks)) for basis, checks in traced.items()],
        assumptions=sentences("assumptions.txt", design=design, said=said, **_heat(design)),
        unknowns=UNKNOWNS,
        sources=list(places),
    )


def _heat(design: Design) -> dict[str, object]:
    """The heat that stays in a motor under load, W, and why it bears its share of torque."""
    drive, point = design.duty.drive, design.duty.operating_point(design.train.ratio)
    if not isinstance(drive, Motor):
        return {"heat": None}
    heat = motor_heat(point.drive_torque, point.drive_speed, drive.line.no_load_speed)
    return {"heat": heat, "why": WORK[drive.work].why}


def _said_once(design: Design) -> Iterator[tuple[CheckReport, list[tuple[Check, str]]]]:
    """The checks of each report, each with its reason, less what was said last of such a part."""
    said: dict[tuple[str, str], tuple[str, ...]] = {}
    for report in design.reports:
        rows = []
        for check in report:
            told, before = (*check.meaning, check.why), said.get((check.judged, check.part), ())
            said[check.judged, check.part] = told
            new = [one for one in told if one not in before or check.verdict != "pass"]
            rows.append((check, " ".join(new)))
        yield report, rows


def _traced(design: Design) -> dict[tuple[Step, ...], list[Check]]:
    """The ways to limits, each with the checks it serves, in order; equal ways once."""
    found: dict[tuple[Step, ...], list[Check]] = {}
    for check in design.report:
        if check.basis:
            found.setdefault(check.basis, []).append(check)
    return found


def _served(checks: list[Check]) -> str:
    """What is judged, and of what: "rod, static: shaft 1, shaft 2"."""
    found: dict[str, list[str]] = {}
    for check in checks:
        subject = check.subject.title if check.subject else ""
        found.setdefault(replace(check, subject=None).name, []).append(subject)
    return "; ".join(f"{name}: {', '.join(of)}" for name, of in found.items())


def break_test_html(design: GearSet, broken: StageBreakTest) -> Markup:
    """Return how to break some teeth of a design, as one HTML page that needs nothing else."""
    test = broken.test
    tested = Stage(test.cut.pair, test.sheet.thickness)
    return page(
        "break-test.html",
        title=design.title,
        stage=broken.stage,
        test=test,
        copies=COPIES,
        pictures=break_test_views(test),
        allowed=_allowed(design, broken),
        stage_entry=tested.toml.replace("[[stage]]", "[broken_teeth.stage]").rstrip(),
        said=broken_lines(test.sheet),
    )


def _allowed(design: GearSet, broken: StageBreakTest) -> float:
    """What the design allows one layer of the tested gear at a stall, N·m."""
    stage, test = design.stages[broken.stage - 1], broken.test
    stall = design.rating(broken.stage - 1)["stall"].torque
    on_gear = stall if test.side == "pinion" else stall * stage.ratio
    return on_gear * test.sheet.thickness / stage.face_width


def job_sheet_text(design: GearSet) -> str:
    """Return the design as short plain text, the verdict first, at most 79 columns wide."""
    return plain_page(
        "job-sheet.txt",
        **_verdict(design),
        causes=causes(design),
        setting=setting_sentences(design) if isinstance(design, Design) else (),
        figures=figures(design),
        ends_of=ends_of,
        test_piece=result_lines(design),
        broken=broken_lines(design.brief.gears.sheet),
    )
