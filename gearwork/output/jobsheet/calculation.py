"""The calculation: how the verdict came about, for who wants to check it."""

from collections.abc import Iterator, Mapping
from math import hypot

from markupsafe import Markup

from gearwork.checks.check import Check, CheckReport, Step
from gearwork.checks.tooth.strength import UNKNOWNS, Rating, break_words
from gearwork.geometry.rack import Rack
from gearwork.machine.design import Design
from gearwork.numbers import figure, fixed
from gearwork.output.jobsheet.content import assumptions, key_figures, sources, verdict_line
from gearwork.output.jobsheet.gear_data import Quantity, gear_data, pair_data
from gearwork.output.jobsheet.pages import page

Row = tuple[str, ...]


def calculation_html(design: Design) -> Markup:
    """Return every check, limit, assumption and source of a design as one HTML page."""
    word, text = verdict_line(design)
    known, traced = sources(design), _traced(design)
    places = {source: f"S{place}" for place, source in enumerate(known, 1)}
    ways = {basis: f"L{number}" for number, basis in enumerate(traced, 1)}
    return page(
        "calculation.html",
        title=design.title,
        word=word,
        verdict=text,
        figures=key_figures(design),
        quantities=list(_quantities(design)),
        events=_events(design),
        ends=_ends(design),
        ratings=_ratings(design),
        hubs=_hubs(design),
        reports=[(_title(report), _rows(report, places, ways)) for report in design.reports],
        limits=traced.items(),
        assumptions=assumptions(design),
        unknowns=UNKNOWNS,
        sources=known,
    )


def _quantities(design: Design) -> Iterator[tuple[str, list[str], list[tuple[Quantity, ...]]]]:
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


def _traced(design: Design) -> dict[tuple[Step, ...], list[str]]:
    """The ways to limits, each with the checks it serves, in order; equal ways once."""
    found: dict[tuple[Step, ...], list[str]] = {}
    for check in design.report:
        if check.basis:
            found.setdefault(check.basis, []).append(check.name)
    return found


def _title(report: CheckReport) -> str:
    return f"{report.summary[0].upper()}{report.summary[1:]}"


def _rows(
    report: CheckReport, places: Mapping[str, str], ways: Mapping[tuple[Step, ...], str]
) -> Iterator[tuple[Check, str]]:
    for check in report:
        way = [ways[check.basis]] if check.basis else []
        yield check, ", ".join([*way, places[check.source]])


def _ratings(design: Design) -> Iterator[Row]:
    """Torque given, expected to break and allowed, by stage and case."""
    stall, drive = design.torques.stall, design.duty.drive.max_torque
    for stage, limits in enumerate(design.limits):
        for weakest in Rating.of(limits).limits:
            where = "flanks" if weakest.kind == "contact" else f"{weakest.part}, {weakest.kind}"
            yield (
                f"stage {stage + 1}, {weakest.case.name}",
                figure(weakest.case.torque, "N·m"),
                break_words(weakest),
                figure(weakest.torque, "N·m"),
                figure(weakest.torque * drive / float(stall[stage]), "N·m"),
                where,
            )


def _events(design: Design) -> Iterator[Row]:
    for event in design.events:
        often = "while it stands" if event.times is None else f"{event.times:.0f} times in all"
        yield (
            event.name,
            event.cause,
            event.cap,
            figure(float(event.torques[0]), "N·m"),
            figure(float(event.torques[-1]), "N·m"),
            "the other flanks" if event.braking else "the driving flanks",
            "with each turn" if event.name == "running" else often,
        )


def _ends(design: Design) -> Iterator[Row]:
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


def _hubs(design: Design) -> Iterator[Row]:
    every = [
        (gear.name, held, design.hub_torque(gear))
        for gear, held in zip(design.train.gears, design.fixings, strict=True)
    ]
    every += [(end.name, end.held, end.torque) for end in design.end_fixings]
    for name, held, torque in every:
        bears = figure(held.design_torque, "N·m")
        yield name, held.fixing.name, figure(torque, "N·m"), bears, held.weakest.name
    if (held_by := design.coupling) is not None:
        weakest = min(held_by.ratings, key=lambda one: one.design_torque)
        torque, bears = float(design.torques.max[0]), figure(weakest.design_torque, "N·m")
        yield "drive", held_by.words, figure(torque, "N·m"), bears, weakest.name
