"""How gearwork's objects show as the result of a notebook's cell, each by its type.

`import gearwork` tells IPython the names of the types alone; this module is loaded when the first
of them is shown. The objects themselves know nothing of notebooks: they give plain rows.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from markupsafe import Markup

from gearwork.checks.check import Check, CheckReport
from gearwork.checks.tooth.strength import Rating
from gearwork.choosing.candidates import Candidates
from gearwork.geometry.gear import Gear
from gearwork.geometry.outline import Outline
from gearwork.geometry.pair import GearPair
from gearwork.machine.axial import Layout, bill_of
from gearwork.machine.break_test import BreakTest
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.numbers import figure
from gearwork.output.html import element, joined
from gearwork.output.jobsheet.choices import choices_in_notebook
from gearwork.output.jobsheet.gear_data import Quantity, gear_data, pair_data
from gearwork.output.jobsheet.pages import page, symbol
from gearwork.output.jobsheet.papers import notebook_page
from gearwork.output.jobsheet.picture import break_test_views, section_view, sheet_view
from gearwork.output.svg import outline_picture
from gearwork.spec.solve import Choices


def show_gear(gear: Gear) -> Markup:
    """Return the figures of a gear."""
    return _quantities(gear_data(gear))


def show_pair(pair: GearPair) -> Markup:
    """Return the figures of a pair."""
    return _quantities(pair_data(pair))


def _quantities(rows: Iterable[Quantity]) -> Markup:
    cells = ((q.term, symbol(q.symbol), f"{q.value} {q.unit}".strip()) for q in rows)
    return _table("", ("quantity", "symbol", "value"), cells)


def show_rating(rating: Rating) -> Markup:
    """Return what a pair may carry, by load case."""
    head = (
        "load case", "breaks at about", "allowed on the pinion", "times less", "first to give way",
        "design strength",
    )  # fmt: skip
    rows = (
        (case, breaks, figure(torque, "N·m"), f"{ratio:.2g}", what, figure(strength, "MPa"))
        for case, breaks, torque, ratio, what, strength in rating.rows
    )
    return _table(rating.title, head, rows)


def show_report(report: CheckReport) -> Markup:
    """Return every check with its verdict."""
    head = ("check", "verdict", "value", "limit", "why")
    rows = (
        (c.name, element("b", c.verdict), figure(c.value, c.unit), c.demanded, _reason(c))
        for c in report
    )
    return _table(report.summary, head, rows)


def _reason(check: Check) -> Markup:
    remedy = "" if check.verdict == "pass" else check.remedy
    advice = (" ", element("i", remedy)) if remedy else ()
    return joined((check.reason, *advice, Markup("<br>"), element("small", check.source)))


def _table(caption: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> Markup:
    return page("table.html", caption=caption, head=head, rows=rows)


def show_candidates(found: Candidates) -> Markup:
    """Return the best trains of a search, or why there are none."""
    if not len(found):
        return element("p", f"No train found. {found.why}")
    head, *rows = found.rows
    caption = f"{len(found)} trains, {found.pareto.sum()} on the front; the first {len(rows)}:"
    return _table(caption, head, rows)


def show_sheet(sheet: SheetLayout) -> Markup:
    """Return a sheet with its pieces, and which they are."""
    names = list(dict.fromkeys(part.name for part in sheet.parts))
    numbers = {name: number for number, name in enumerate(names, 1)}
    picture = element("div", sheet_view(sheet, numbers), style="max-width:32em")
    rows = [(f"{number}", name) for name, number in numbers.items()]
    return joined((picture, _table(sheet.caption, ("no.", "piece"), rows)))


def show_layout(layout: Layout) -> Markup:
    """Return a rod with all that stands on it, cut lengthwise, and what the numbers are."""
    rows = bill_of([layout], (), ())
    numbers = {row.item: row.number for row in rows}
    picture = element("div", section_view(layout, numbers), style="max-width:50em")
    told = [(f"{row.number}", row.item, row.amount) for row in rows]
    return joined((picture, _table(layout.name, ("no.", "what", "how many"), told)))


def show_break_test(test: BreakTest) -> Markup:
    """Return a break test put together, and what to expect of each tooth."""
    rows = (
        (f"{r.direction:g}°", figure(r.torque, "N·m"), f"{test.shown(r.torque):.1f} kg")
        for r in test.readings
    )
    pictures = element("div", *break_test_views(test), style="max-width:40em")
    caption = f"{test.gear!r}, broken by a lever of {test.arm:g} mm"
    return joined((pictures, _table(caption, ("to the grain", "breaks at about", "scale"), rows)))


SHOWN: dict[type, Callable[[Any], str]] = {
    Gear: show_gear,
    GearPair: show_pair,
    Rating: show_rating,
    CheckReport: show_report,
    Candidates: show_candidates,
    Choices: choices_in_notebook,
    BreakTest: show_break_test,
    GearSet: notebook_page,
    SheetLayout: show_sheet,
    Outline: outline_picture,
    Layout: show_layout,
}


def show(thing: Any) -> str:
    """Return an object as HTML for a notebook."""
    kind = next(kind for kind in type(thing).__mro__ if kind in SHOWN)
    return SHOWN[kind](thing)
