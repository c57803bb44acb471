"""Involute gears routed out of sheet plywood: design, check and cut files.

Where to begin:

two gears         `Gear`, `GearPair`, `Bit`, `plywood`, then `check_pair` and `plot_mesh`
a whole machine   `load_design` (or `solve` of `example_brief`), then `write_files`
which ratio       a drive, a load, `Duty`, then `plot_pull_and_speed`
which gears       `SearchSpace`, then `search`
hub and rod       `cheapest_fixing`, `check_hub`; `Shaft`, `check_shaft`
"""

from importlib import import_module
from typing import Any

_HOMES = {
    "GearworkError": "errors",
    # two gears
    "Gear": "geometry.gear",
    "GearPair": "geometry.pair",
    "Windows": "geometry.windows",
    "Outline": "geometry.outline",
    "gear_outline": "geometry.toothed_edge",
    # what they are made with
    "Bit": "stock.bit",
    "Plywood": "stock.plywood",
    "plywood": "stock.plywood",
    "plywood_from_strengths": "stock.declared",
    "plywood_from_layup": "stock.declared",
    "Stack": "stock.laminate",
    "best_angles": "checks.layer_angles",
    "equilibrium_moisture": "stock.timber",
    "rod": "stock.hardware",
    "bearing": "stock.hardware",
    # whether a pair holds
    "Check": "checks.verdict",
    "CheckReport": "checks.verdict",
    "check_pair": "checks.pair_check",
    "Service": "checks.load_case",
    "CutPair": "checks.mesh",
    "rate_pair": "checks.rating",
    "clutch_torque": "checks.rating",
    "elastic_roses": "checks.elastic_rating",
    "load_cases": "checks.load_case",
    "tooth_limits": "checks.strength",
    "rim_checks": "checks.rim",
    "Scatter": "checks.sampling",
    "sample_pair": "checks.sampling",
    "check_tolerance": "checks.tolerance",
    "roll": "checks.turning",
    # hub and shaft
    "clamped": "checks.fixing",
    "bonded": "checks.fixing",
    "bolted": "checks.fixing",
    "cheapest_fixing": "checks.hub",
    "check_hub": "checks.hub",
    "Shaft": "checks.beam",
    "ShaftLoad": "checks.shaft_load",
    "mesh_load": "checks.shaft_load",
    "check_shaft": "checks.shaft",
    # drive, load and the ratio between them
    "Motor": "design.drive",
    "cordless_drill": "design.drive",
    "HandCrank": "design.drive",
    "GivenDrive": "design.drive",
    "RopeDrum": "design.rope_drum",
    "Vehicle": "design.vehicle",
    "GivenLoad": "design.load",
    "Duty": "design.duty",
    # trains of gears, given or searched
    "Stage": "design.stage",
    "ShaftParts": "design.frame",
    "Frame": "design.frame",
    "GearTrain": "design.train",
    "check_train": "design.train_check",
    "search": "design.search",
    "SearchSpace": "design.search_space",
    "Limits": "design.search_space",
    "Weights": "design.search_space",
    "candidates_for": "design.choosing",
    # a whole machine from its file
    "example_brief": "design.brief",
    "read_brief": "design.brief",
    "solve": "design.solution",
    "load_design": "design.solution",
    "Design": "design.solution",
    "design_parts": "shop.parts",
    "place_parts": "shop.output",
    "write_files": "shop.output",
    "check_files": "shop.output",
    # the test piece
    "make_coupon": "shop.coupon",
    "Readings": "design.readings",
    "evaluate_coupon": "shop.readings",
    # pictures
    "view_pair": "shop.pair_view",
    "live_pair": "shop.controls",
    "plot_mesh": "shop.plots",
    "animate_mesh": "shop.plots",
    "plot_backlash": "shop.plots",
    "plot_backlash_spread": "shop.plots",
    "plot_strength_rose": "shop.plots",
    "plot_tooth_rose": "shop.plots",
    "plot_tooth_stress": "shop.plots",
    "plot_pull_and_speed": "shop.plots",
    "plot_pareto": "shop.plots",
    "plot_train": "shop.plots",
    "plot_train_section": "shop.plots",
    "plot_sheet": "shop.plots",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'gearwork' has no attribute {name!r}")
    value = getattr(import_module(f"gearwork.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return __all__
