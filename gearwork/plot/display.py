"""How gearwork's objects show as the result of a notebook's cell, each by its type.

`import gearwork` tells IPython the names of the types alone; this module is loaded when the first
of them is shown. The objects themselves know nothing of notebooks: they give plain rows.
"""

from collections.abc import Callable, Iterable
from typing import Any

from gearwork.checks.check import Check, CheckReport
from gearwork.checks.tooth.strength import Rating
from gearwork.choosing.candidates import Candidates
from gearwork.geometry.gear import Gear
from gearwork.geometry.outline import Outline
from gearwork.geometry.pair import GearPair
from gearwork.machine.design import Design
from gearwork.machine.layout import SheetLayout
from gearwork.numbers import figure
from gearwork.output.html import Html, element, joined, listed, symbol, table
from gearwork.output.jobsheet import sections
from gearwork.output.jobsheet.content import key_figures, setting_sentences, verdict_line
from gearwork.output.jobsheet.gear_data import Quantity, gear_data, pair_data
from gearwork.output.jobsheet.picture import sheet_view, train_view
from gearwork.output.svg import outline_picture

LEFT = "text-align:left"
"""Of every cell: notebooks set tables to the right."""


def show_gear(gear: Gear) -> Html:
    """Return the figures of a gear."""
    return _quantities(gear_data(gear))


def show_pair(pair: GearPair) -> Html:
    """Return the figures of a pair."""
    return _quantities(pair_data(pair))


def _quantities(rows: Iterable[Quantity]) -> Html:
    cells = ((q.term, symbol(q.symbol), f"{q.value} {q.unit}".strip()) for q in rows)
    return table(("quantity", "symbol", "value"), cells, style=LEFT)


def show_rating(rating: Rating) -> Html:
    """Return what a pair may carry, by load case."""
    head = (
        "load case", "breaks at about", "allowed on the pinion", "times less", "first to give way",
        "design strength",
    )  # fmt: skip
    rows = (
        (case, breaks, figure(torque, "N·m"), f"{ratio:.2g}", what, figure(strength, "MPa"))
        for case, breaks, torque, ratio, what, strength in rating.rows
    )
    return _captioned(rating.title, table(head, rows, style=LEFT))


def show_report(report: CheckReport) -> Html:
    """Return every check with its verdict."""
    head = ("check", "verdict", "value", "limit", "why")
    rows = (
        (c.name, element("b", c.verdict), figure(c.value, c.unit), c.demanded, _reason(c))
        for c in report
    )
    return _captioned(report.summary, table(head, rows, style=LEFT))


def _reason(check: Check) -> Html:
    advice = () if check.verdict == "holds" else (" ", element("i", check.remedy))
    return joined((check.why, *advice, Html("<br>"), element("small", check.source)))


def _captioned(caption: str, below: Html) -> Html:
    return joined((element("p", element("b", caption)), below))


def show_candidates(found: Candidates) -> Html:
    """Return the best trains of a search, or why there are none."""
    if not len(found):
        return element("p", f"No train found. {found.why}")
    head, *rows = found.rows
    caption = f"{len(found)} trains, {found.pareto.sum()} on the front; the first {len(rows)}:"
    return joined((element("p", caption), table(head, rows)))


def show_design(design: Design) -> Html:
    """Return verdict, picture, figures and gears of a design."""
    word, text = verdict_line(design)
    to_do = (f"{check.name}: {check.remedy}" for check in design.report.failed)
    return joined(
        (
            element("p", element("b", word), f": {text}"),
            listed(to_do),
            element("div", train_view(design), style="max-width:32em"),
            table(("figure", "value"), key_figures(design), style=LEFT),
            sections.gear_figures(design, LEFT),
            *(element("p", sentence) for sentence in setting_sentences(design)),
        )
    )


def show_sheet(sheet: SheetLayout) -> Html:
    """Return a sheet with its pieces, and which they are."""
    names = list(dict.fromkeys(part.name for part in sheet.parts))
    numbers = {name: number for number, name in enumerate(names, 1)}
    picture = element("div", sheet_view(sheet, numbers), style="max-width:32em")
    caption = f"{sheet.stock.label}: {'; '.join(sheet.notes)}"
    return joined((element("p", caption), picture, listed(names, "ol")))


SHOWN: dict[type, Callable[[Any], str]] = {
    Gear: show_gear,
    GearPair: show_pair,
    Rating: show_rating,
    CheckReport: show_report,
    Candidates: show_candidates,
    Design: show_design,
    SheetLayout: show_sheet,
    Outline: outline_picture,
}


def show(thing: Any) -> str:
    """Return an object as HTML for a notebook."""
    kind = next(kind for kind in type(thing).__mro__ if kind in SHOWN)
    return SHOWN[kind](thing)
