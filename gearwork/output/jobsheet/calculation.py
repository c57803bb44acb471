"""The calculation: how the verdict came about, for who wants to check it."""

from collections.abc import Iterator
from math import hypot

from markupsafe import Markup

from gearwork.checks.check import Step
from gearwork.checks.tooth.strength import UNKNOWNS, Rating
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
        design=design,
        figures=key_figures(design),
        quantities=list(_quantities(design)),
        ends=_ends(design),
        rating_of=Rating.of,
        limit_of=ways,
        source_of=places,
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
