"""Involute gears routed out of sheet plywood: design, check and cut files."""

from importlib import import_module
from typing import Any

_HOMES = {
    "GearworkError": "errors",
    "Gear": "geometry.gear",
    "GearPair": "geometry.pair",
    "Outline": "geometry.outline",
    "gear_outline": "geometry.toothed_edge",
    "Bit": "stock.bit",
    "Plywood": "stock.plywood",
    "plywood": "stock.plywood",
    "plywood_from_strengths": "stock.declared",
    "plywood_from_layup": "stock.declared",
    "Stack": "stock.laminate",
    "best_angles": "checks.layer_angles",
    "Check": "checks.verdict",
    "CheckReport": "checks.verdict",
    "Service": "checks.load_case",
    "check_pair": "checks.pair_check",
    "CutPair": "checks.mesh",
    "elastic_roses": "checks.elastic_rating",
    "rate_pair": "checks.rating",
    "clutch_torque": "checks.rating",
    "rim_checks": "checks.rim",
    "Windows": "geometry.windows",
    "Design": "design.solution",
    "load_design": "design.solution",
    "solve": "design.solution",
    "candidates_for": "design.choosing",
    "search": "design.search",
    "SearchSpace": "design.search_space",
    "Limits": "design.search_space",
    "example_brief": "design.brief",
    "read_brief": "design.brief",
    "view_pair": "shop.pair_view",
    "live_pair": "shop.controls",
    "plot_mesh": "shop.plots",
    "animate_mesh": "shop.plots",
    "plot_strength_rose": "shop.plots",
    "plot_tooth_rose": "shop.plots",
    "plot_tooth_stress": "shop.plots",
    "plot_pull_and_speed": "shop.plots",
    "plot_train": "shop.plots",
    "plot_sheet": "shop.plots",
    "plot_backlash": "shop.plots",
    "make_coupon": "shop.coupon",
    "Readings": "design.readings",
    "evaluate_coupon": "shop.readings",
    "write_files": "shop.output",
    "check_files": "shop.output",
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
