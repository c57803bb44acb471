"""How gearwork's objects show as the result of a notebook's cell, each by its type.

`import gearwork` tells IPython the names of the types alone; this module is loaded when the first
of them is shown. The objects themselves know nothing of notebooks: the template asks them.
"""

from collections.abc import Callable
from typing import Any

from gearwork.checks.check import CheckReport
from gearwork.checks.tooth.strength import Rating
from gearwork.choosing.candidates import Candidates
from gearwork.geometry.gear import Gear
from gearwork.geometry.outline import Outline
from gearwork.geometry.pair import GearPair
from gearwork.machine.axial import Layout, bill_of
from gearwork.machine.break_test import BreakTest
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import SheetLayout
from gearwork.output.jobsheet.choices import choices_in_notebook
from gearwork.output.jobsheet.pages import page
from gearwork.output.jobsheet.papers import notebook_page
from gearwork.output.jobsheet.picture import break_test_views, section_view, sheet_view
from gearwork.output.svg import outline_picture
from gearwork.spec.solve import Choices

_OWN: dict[type, Callable[[Any], str]] = {
    Choices: choices_in_notebook,
    GearSet: notebook_page,
    Outline: outline_picture,
}
"""What is a page or a picture already."""

SHOWN = (
    *_OWN, Gear, GearPair, Rating, CheckReport, Candidates, BreakTest, SheetLayout, Layout,
)  # fmt: skip


def show(thing: Any) -> str:
    """Return an object as HTML for a notebook."""
    kind = next(kind for kind in type(thing).__mro__ if kind in SHOWN)
    if kind in _OWN:
        return _OWN[kind](thing)
    asked = (bill_of, break_test_views, section_view, sheet_view)
    return page("shown.html", kind=kind.__name__, it=thing, **{one.__name__: one for one in asked})
