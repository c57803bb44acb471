"""Involute gears routed out of sheet plywood: design, check and cut files.

Where to begin:

two gears         `Gear`, `GearPair`, `Bit`, `plywood`, then `check_pair` and `plot_mesh`
a whole machine   `load_design` (or `solve` of `example_brief`), then `write_files`
which ratio       a drive, a load, `Duty`, then `plot_pull_and_speed`
which gears       `SearchSpace`, then `search`
hub and rod       `cheapest_fixing`, `check_hub`; `Shaft`, `check_shaft`
"""

import sys
from importlib import import_module
from typing import Any

_HOMES = {
    "GearworkError": "errors",
    # two gears
    "Gear": "geometry.gear",
    "GearPair": "geometry.pair",
    "Windows": "geometry.features",
    "Outline": "geometry.outline",
    "gear_outline": "geometry.gear_outline",
    # what they are made with
    "Bit": "stock.bit",
    "Plywood": "stock.plywood",
    "plywood": "stock.plywood",
    "plywood_from_strengths": "stock.plywood",
    "plywood_from_layup": "stock.plywood",
    "Stack": "stock.laminate",
    "best_angles": "checks.tooth.stress",
    "equilibrium_moisture": "stock.timber",
    "rod": "stock.hardware",
    "bearing": "stock.hardware",
    # whether a pair holds
    "Check": "checks.check",
    "CheckReport": "checks.check",
    "check_pair": "checks.tooth.pair_check",
    "Service": "checks.tooth.load_case",
    "CutPair": "checks.tooth.mesh",
    "rate_pair": "checks.tooth.pair_check",
    "clutch_torque": "checks.tooth.strength",
    "elastic_roses": "checks.tooth.elastic",
    "load_cases": "checks.tooth.load_case",
    "tooth_limits": "checks.tooth.strength",
    "rim_checks": "checks.windows",
    "Scatter": "checks.tolerance",
    "sample_pair": "checks.tolerance",
    "check_tolerance": "checks.tolerance",
    "roll": "verify.rolling",
    # hub and shaft
    "clamped": "checks.hub.fixing",
    "bonded": "checks.hub.fixing",
    "bolted": "checks.hub.fixing",
    "cheapest_fixing": "checks.hub.hub",
    "check_hub": "checks.hub.hub",
    "Shaft": "checks.shaft.beam",
    "ShaftLoad": "checks.shaft.beam",
    "mesh_load": "checks.shaft.beam",
    "check_shaft": "checks.shaft.shaft",
    # drive, load and the ratio between them
    "cordless_drill": "machine.drive",
    "Duty": "machine.duty",
    # trains of gears, given or searched
    "search": "choosing.search",
    "SearchSpace": "choosing.space",
    "Limits": "choosing.space",
    "Weights": "choosing.space",
    "candidates_for": "spec.solve",
    # a whole machine from its file
    "example_brief": "spec.spec",
    "read_brief": "spec.spec",
    "solve": "spec.solve",
    "load_design": "spec.solve",
    "Design": "machine.design",
    "write_files": "output.write",
    "check_files": "verify.files",
    # the test piece
    "make_coupon": "machine.testpiece",
    "Readings": "machine.readings",
    "evaluate_coupon": "output.testpiece.evaluation",
    # pictures
    "view_pair": "plot.mesh",
    "live_pair": "plot.widgets",
    "plot_mesh": "plot.mesh",
    "animate_mesh": "plot.mesh",
    "plot_backlash": "plot.backlash",
    "plot_backlash_spread": "plot.backlash",
    "plot_strength_rose": "plot.strength",
    "plot_tooth_rose": "plot.strength",
    "plot_tooth_stress": "plot.strength",
    "plot_pull_and_speed": "plot.choice",
    "plot_pareto": "plot.choice",
    "plot_train": "plot.train",
    "plot_train_section": "plot.train",
    "plot_sheet": "plot.train",
}

_ROOMS = ("machine",)
"""Folders whose own names stand at hand: `gearwork.machine.Motor`."""

_OF_THE_COMMAND = {"EXAMPLES": "spec.spec", "job_sheet_text": "output.jobsheet.text"}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"gearwork.{name}")
    if name not in (known := _HOMES | _OF_THE_COMMAND):
        raise AttributeError(f"module 'gearwork' has no attribute {name!r}")
    value = getattr(import_module(f"gearwork.{known[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return __all__


_SHOWN = (
    "geometry.gear.Gear",
    "geometry.pair.GearPair",
    "geometry.outline.Outline",
    "checks.check.CheckReport",
    "checks.tooth.strength.Rating",
    "choosing.candidates.Candidates",
    "machine.design.Design",
    "machine.layout.SheetLayout",
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
