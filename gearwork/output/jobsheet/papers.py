"""The papers, each made from a template: job sheet, gear sheet, calculation, break test, text."""

import re
from collections.abc import Iterator
from dataclasses import replace
from math import hypot
from typing import Any

from markupsafe import Markup

from gearwork.checks.check import Check, CheckReport, Step
from gearwork.checks.tooth.strength import UNKNOWNS, Rating
from gearwork.errors import GearworkError
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.machine.axial import BillRow
from gearwork.machine.break_test import COPIES, StageBreakTest
from gearwork.machine.cause import causes
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import file_stem
from gearwork.machine.stage import Stage
from gearwork.numbers import figure, fixed
from gearwork.output.drawing.spacing import ends_of
from gearwork.output.jobsheet.assembly import assembly
from gearwork.output.jobsheet.content import (
    assumptions,
    gear_figures,
    key_figures,
    setting_sentences,
    sources,
    verdict_line,
)
from gearwork.output.jobsheet.gear_data import Quantity, gear_data, pair_data
from gearwork.output.jobsheet.measuring import (
    broken_lines,
    inspections,
    result_lines,
    rows_of,
    where_to_measure,
)
from gearwork.output.jobsheet.pages import page, plain_page
from gearwork.output.jobsheet.picture import (
    break_test_views,
    gears_view,
    pinion_and_bar,
    section_view,
    sheet_view,
    train_view,
)


def job_sheet_html(design: GearSet) -> Markup:
    """Return the job sheet of a machine, or of gears alone, as one HTML page, whole by itself."""
    bill = _bill(design)
    cut = to_cut(design, len(bill) + 1)
    values = {
        **_first_page(design),
        "brief": design.brief,
        **cut,
        "test_piece": rows_of(design),
        "break_test": design.break_test,
        "broken": broken_lines(design.brief.gears.sheet),
        "measures": where_to_measure(design),
        **inspections(design),
    }
    if not isinstance(design, Design):
        return page("gear-sheet.html", **values)
    numbers = {row.item: row.number for row in bill} | cut["numbers"]
    values |= {
        "sections": [(one.name, section_view(one, numbers)) for one in design.shaft_layouts],
        "bill": [(f"{row.number}", row.item, row.amount) for row in bill],
        **assembly(design, numbers),
    }
    return page("job-sheet.html", **values)


def notebook_page(design: GearSet) -> Markup:
    """Return the first page of the job sheet, to stand in a notebook with its look."""
    first = "first-page.html" if isinstance(design, Design) else "gear-first-page.html"
    return page("notebook.html", first_page=first, **_first_page(design))


def _verdict(design: GearSet) -> dict[str, Any]:
    """With what every paper begins."""
    word, text = verdict_line(design)
    return {"title": design.title, "word": word, "verdict": text, "design": design}


def _first_page(design: GearSet) -> dict[str, Any]:
    values = {**_verdict(design), "causes": causes(design)}
    if not isinstance(design, Design):
        drawing = gears_view(design) if design.axes else ""
        figures = gear_figures(design, alone=False)
        return {**values, "drawing": drawing, "figures": figures, "play_at": _play_at}
    drawing = train_view(design.train, design.cut_pairs, design.title, pinion_and_bar(design))
    setting = setting_sentences(design)
    return {**values, "drawing": drawing, "figures": key_figures(design), "setting": setting}


def _play_at(pair: GearPair, off: float) -> str:
    """The backlash where the centre distance is off by so much."""
    return fixed(GearPair(pair.pinion, pair.wheel, pair.centre_distance + off).backlash)


def _bill(design: GearSet) -> tuple[BillRow, ...]:
    """What to buy; nothing where a part cannot be made: the checks tell what to change."""
    try:
        return tuple(design.bill) if isinstance(design, Design) else ()
    except GearworkError:
        return ()


def to_cut(design: GearSet, first: int = 1) -> dict[str, Any]:
    """Return the pieces and where they lie; nothing where a part cannot be made.

    `first`: number of the first piece, after those of what is bought.
    """
    try:
        parts, sheets = design.parts, design.sheets
    except GearworkError:
        return {"parts": (), "sheets": (), "jointed": (), "numbers": {}}
    numbers = {part.name: number for number, part in enumerate(parts, first)}
    return {
        "numbers": numbers,
        "parts": parts,
        "sheets": [(sheet, sheet_view(sheet, numbers)) for sheet in sheets],
        "jointed": [
            (gear.name, design.bar_pieces(gear))
            for gear in design.gears
            if isinstance(gear.gear, Rack) and (bar := design.bar(gear.stage)) and bar.jointed
        ],
    }


def calculation_html(design: Design) -> Markup:
    """Return every check, limit, assumption and source of a design as one HTML page."""
    known, traced = sources(design), _traced(design)
    places = {source: f"S{place}" for place, source in enumerate(known, 1)}
    ways = {basis: f"L{number}" for number, basis in enumerate(traced, 1)}
    return page(
        "calculation.html",
        **_verdict(design),
        figures=key_figures(design),
        quantities=list(_quantities(design)),
        ends=_ends(design),
        rating_of=Rating.of,
        reports=_said_once(design),
        limit_of=ways,
        source_of=places,
        limits=[(basis, _served(checks)) for basis, checks in traced.items()],
        assumptions=assumptions(design),
        unknowns=UNKNOWNS,
        sources=known,
    )


def _quantities(design: Design) -> Iterator[tuple[str, list[str], list[list[Quantity]]]]:
    """Tables of what is told of gears and of pairs; a rack is told by other quantities."""
    last = len(design.train.stages)
    turning = [g for g in design.gears if not isinstance(g.gear, Rack)]
    bars = [g for g in design.gears if isinstance(g.gear, Rack)]
    for gears in (turning, bars):
        if gears:
            yield "gear", [g.name for g in gears], [gear_data(g.gear, 2) for g in gears]
    for first, stages in ((1, design.stages[:last]), (last + 1, design.stages[last:])):
        if stages:
            names = [f"stage {i}" for i, _ in enumerate(stages, first)]
            yield "pair", names, [pair_data(stage.pair, 2) for stage in stages]


def _said_once(design: Design) -> Iterator[tuple[CheckReport, list[tuple[Check, str]]]]:
    """The checks of each report, each with its reason, less what was said last of such a part."""
    said: dict[tuple[str, str], list[str]] = {}
    for report in design.reports:
        rows = []
        for check in report:
            clauses = re.split("(?<=[.;]) ", check.why)
            before = said.get((check.judged, check.part), [])
            said[check.judged, check.part] = clauses
            new = [one for one in clauses if one not in before or check.verdict != "pass"]
            words = re.sub(";$", ".", " ".join(new))
            rows.append((check, words[:1].upper() + words[1:]))
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


def _ends(design: Design) -> Iterator[tuple[str, ...]]:
    """What is fixed to the ends of the first and the last shaft."""
    given = design.torques
    worst = -given.back if given.back[-1] > 0.0 else given.stall
    tried = ((given.running, True), (given.stall, False), (worst, False))
    for end, place in enumerate((0, len(design.train.shafts) - 1)):
        found = [design.ends(torques, running)[end] for torques, running in tried]
        forces = [max(hypot(*force) for force in one.directions) for one in found]
        steady = found[0]
        pieces = "on both ends" if steady.count == 2 else "on its end"
        way = "one direction" if len(steady.directions) == 1 else "every direction that is possible"
        yield (
            f"shaft {place + 1}",
            f"{steady.name}, {pieces}",
            fixed(steady.overhang, 1, "mm"),
            figure(forces[0], "N"),
            figure(max(forces), "N"),
            way,
        )


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
        most=max(test.shown(tooth.high) for tooth in test.readings),
        files=[file_stem(part.name) for part in test.parts],
        pictures=break_test_views(test),
        allowed=test.shown(_allowed(design, broken)),
        allowed_torque=_allowed(design, broken),
        stage_entry=tested.toml.replace("[[stage]]", "[broken_teeth.stage]").rstrip(),
        said=broken_lines(test.sheet),
    )


def _allowed(design: GearSet, broken: StageBreakTest) -> float:
    """What the design allows one layer of the tested gear at a stall, N·m."""
    stage, test = design.stages[broken.stage - 1], broken.test
    stall = design.rating(broken.stage - 1)["stall"].torque
    on_gear = stall if test.side == "pinion" else stall * stage.ratio
    return on_gear * test.sheet.thickness / stage.face_width


MAX_CAUSES = 2
"""Causes that are told in the terminal: a screen has room for a dozen lines before the gears."""


def job_sheet_text(design: GearSet) -> str:
    """Return the design as short plain text, the verdict first, at most 79 columns wide."""
    machine = design if isinstance(design, Design) else None
    return plain_page(
        "job-sheet.txt",
        **_verdict(design),
        causes=causes(design),
        max_causes=MAX_CAUSES,
        marginal=[check for check in design.report if check.verdict == "marginal"],
        setting=setting_sentences(machine) if machine else (),
        figures=key_figures(machine) if machine else gear_figures(design),
        ends_of=ends_of,
        test_piece=result_lines(design),
        broken=broken_lines(design.brief.gears.sheet),
    )
