"""Will it work: teeth, hubs, shafts, windows, tolerances."""

from gearwork.lazy import lazy

__getattr__, __dir__, __all__ = lazy(
    __name__,
    {
        "Shaft": "shaft.beam",
        "ShaftLoad": "shaft.beam",
        "bolted": "hub.fixing",
        "bonded": "hub.fixing",
        "broken_teeth": "tooth.break_readings",
        "break_tooth": "tooth.elements",
        "cheapest_fixing": "hub.hub",
        "check_hub": "hub.hub",
        "check_shaft": "shaft.shaft",
        "clamped": "hub.fixing",
        "elastic_polars": "tooth.elements",
        "load_cases": "tooth.load_case",
        "mesh_load": "shaft.beam",
        "rim_checks": "windows",
        "sample_pair": "tolerance",
        "spring_clamped": "hub.fixing",
        "tooth_limits": "tooth.strength",
    },
)
