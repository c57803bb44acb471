"""Involute gears routed out of sheet plywood: design, check and cut files.

Where to begin:

two gears         `Gear`, `GearPair`, `Bit`, `plywood`, then `check_pair`, `plot_mesh` and
                  `write_files`; or with sliders and a button, `live_pair`; a `Rack` may stand
                  for the second gear
a whole machine   `load_design` (or `solve` of `example_brief`), then `write_files`
which gears       `SearchSpace`, then `search`

Two gears make a `CutPair` with the bit that cuts them, and that is what all checks and pictures of
a pair take. What fewer need stands in rooms of its own:

`gearwork.stock`     rods, bearings, nuts, washers, surfaces, sheets of your own, moisture
`gearwork.machine`   drives and loads, for `Duty` and `plot_pull_and_speed`; trains of gears
`gearwork.checks`    hubs (`cheapest_fixing`, `check_hub`), shafts (`Shaft`, `check_shaft`), rims
"""

import sys
from importlib import import_module
from typing import Any

from gearwork.lazy import lazy

__version__ = "0.2.0"

_HOMES = {
    "GearworkError": "errors",
    # two gears
    "Gear": "geometry.gear",
    "Rack": "geometry.rack",
    "GearPair": "geometry.pair",
    "Windows": "geometry.features",
    "Outline": "geometry.outline",
    "gear_outline": "geometry.gear_outline",
    # what they are made with
    "Bit": "stock.bit",
    "plywood": "stock.plywood",
    "plywood_from_strengths": "stock.plywood",
    "plywood_from_layup": "stock.plywood",
    "Stack": "stock.laminate",
    "best_angles": "checks.tooth.stress",
    # whether a pair holds
    "Check": "checks.check",
    "CheckReport": "checks.check",
    "check_pair": "checks.tooth.pair_check",
    "Service": "checks.tooth.load_case",
    "CutPair": "checks.tooth.mesh",
    "rate_pair": "checks.tooth.pair_check",
    "clutch_torque": "checks.tooth.strength",
    "Scatter": "checks.tolerance",
    "check_tolerance": "checks.tolerance",
    "roll": "verify.rolling",
    # drive, load and the ratio between them
    "cordless_drill": "machine.drive",
    "Duty": "machine.duty",
    # trains of gears, given or searched
    "search": "choosing.search",
    "SearchSpace": "choosing.space",
    # a whole machine from its file
    "example_brief": "spec.spec",
    "solve": "spec.solve",
    "load_design": "spec.solve",
    "choices": "spec.solve",
    "Design": "machine.design",
    "write_files": "verify.files",
    "write_part": "verify.files",
    "check_files": "verify.files",
    "read_outlines": "verify.read_dxf",
    # the test piece
    "make_test_piece": "machine.testpiece",
    "Readings": "machine.testpiece",
    "evaluate_test_piece": "machine.evaluation",
    # pictures
    "live_pair": "plot.widgets",
    "plot_mesh": "plot.mesh",
    "animate_mesh": "plot.mesh",
    "plot_backlash": "plot.graphs",
    "plot_polar_strength": "plot.strength",
    "plot_tooth_polar": "plot.strength",
    "plot_tooth_stress": "plot.strength",
    "plot_pull_and_speed": "plot.graphs",
    "plot_pareto": "plot.graphs",
    "plot_train": "plot.mesh",
}

_AT_HAND = {
    "checks": "",
    "machine": "",
    "stock": "",
    "EXAMPLES": "spec.spec",  # this and the next ones for the command
    "read_brief": "spec.spec",
    "reference": "spec.keys",
    "ways_out": "spec.ways",
    "choices_text": "output.jobsheet.choices",
    "write_choices": "output.write",
    "write_ways": "output.write",
    "job_sheet_text": "output.jobsheet.papers",
    "plain_text": "output.marking",
}

__getattr__, __dir__, __all__ = lazy(__name__, _HOMES, _AT_HAND)

_SHOWN = (
    "geometry.gear.Gear",
    "geometry.pair.GearPair",
    "geometry.outline.Outline",
    "machine.axial.Layout",
    "checks.check.CheckReport",
    "checks.tooth.strength.Rating",
    "choosing.candidates.Candidates",
    "machine.break_test.BreakTest",
    "machine.gear_set.GearSet",
    "machine.layout.SheetLayout",
    "spec.solve.Choices",
)
"""What `plot.display` shows in a notebook, by module and name."""


def _show(thing: Any) -> Any:
    return import_module("gearwork.plot.display").show(thing)


def _show_in_notebooks() -> None:
    """Tell a running IPython the names of our types; nothing is loaded for it."""
    shell = sys.modules["IPython"].get_ipython() if "IPython" in sys.modules else None
    if shell is not None:
        pages = shell.display_formatter.formatters["text/html"]
        for place in _SHOWN:
            module, name = f"gearwork.{place}".rsplit(".", 1)
            pages.for_type_by_name(module, name, _show)


_show_in_notebooks()
