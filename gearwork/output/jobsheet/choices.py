"""Machines to choose from: their trains side by side to one scale, figures, how to take one."""

from collections.abc import Callable, Sequence
from itertools import groupby
from math import prod
from typing import Any

from markupsafe import Markup

from gearwork.machine.design import Design
from gearwork.machine.stage import Stage
from gearwork.numbers import figure
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.picture import trains_side_by_side
from gearwork.spec.solve import Choices


def choices_html(choices: Choices) -> Markup:
    """Return the choices as one HTML page that needs nothing else, with the key that takes each."""
    return page("choices-page.html", notebook=False, **_shown(choices))


def choices_in_notebook(choices: Choices) -> Markup:
    """Return the choices with the line of Python that takes each."""
    return page("notebook.html", first_page="choices.html", notebook=True, **_shown(choices))


def choices_text(choices: Choices) -> str:
    """Return the choices as lines of text."""
    told = []
    for number, rows in enumerate(_figures(choices.designs), 1):
        told += [f"choice = {number}", *(f"  {name:21}{value}" for name, value in rows)]
    return "\n".join(told)


def _shown(choices: Choices) -> dict[str, Any]:
    designs = choices.designs
    every = zip(trains_side_by_side(designs), _figures(designs), strict=True)
    return {"title": designs[0].title, "choices": list(every)}


def _gears(stages: Sequence[Stage]) -> str:
    """Teeth, module and layers of each stage; equal ones behind each other once."""
    told = []
    for words, alike in groupby(map(_pair, stages)):
        count = len(list(alike))
        told.append(f"{count} × {words}" if count > 1 else words)
    return ", ".join(told)


def _pair(stage: Stage) -> str:
    pair, many = stage.pair, "s" if stage.layers > 1 else ""
    teeth = f"{pair.pinion.teeth:g}/{pair.wheel.teeth:g}"
    return f"{teeth} of m {pair.pinion.module:g} in {stage.layers} layer{many}"


def _size(design: Design) -> str:
    return " × ".join(f"{side:.0f}" for side in design.size) + " mm"


def _margin(design: Design) -> float:
    """How many times what they must bear the teeth bear, in the hardest case."""
    every = (limit for stage in design.limits for limit in stage if limit.case.torque > 0.0)
    return min(limit.torque / limit.case.torque for limit in every)


def _least(design: Design) -> str:
    """What there is to spare of what there is least of, and what that is."""
    least, subject = design.to_spare, design.to_spare.subject
    where = f"{subject.title}: " if subject and subject.kind != "duty" else ""
    return f"{100.0 * least.to_spare:.0f} %: {where}{least.judged}"


_COMPARED: tuple[tuple[str, Callable[[Design], str], Callable[[Design], float], str], ...] = (
    ("over everything", _size, lambda one: prod(one.size), "smallest"),
    ("wood in the gears", lambda one: figure(one.gear_mass, "kg", 2),
     lambda one: one.gear_mass, "least"),
    ("teeth bear", lambda one: f"{_margin(one):.2g} times their load", lambda one: -_margin(one),
     "most"),
    ("least to spare", _least, lambda one: -one.to_spare.to_spare, "most"),
)  # fmt: skip
"""What tells machines apart: its name, its words, of what the least is best, and the praise."""


def _figures(designs: Sequence[Design]) -> list[list[tuple[str, str]]]:
    """Figures of each machine; what is best of all, and not the same in all, is said to be so."""
    found = [
        [("gears", _gears(one.brief.stages)), ("ratio", figure(one.train.ratio, digits=3))]
        for one in designs
    ]
    for name, words, badness, praise in _COMPARED:
        told = [words(one) for one in designs]
        best = words(min(designs, key=badness))
        for rows, said in zip(found, told, strict=True):
            praised = said == best and len(set(told)) > 1
            rows.append((name, f"{said} ({praise})" if praised else said))
    return found
