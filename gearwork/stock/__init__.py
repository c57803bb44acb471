"""What can be bought or declared, with its tables in data/."""

from gearwork.lazy import lazy

__getattr__, __dir__, __all__ = lazy(
    __name__,
    {
        "Plywood": "plywood",
        "bearing": "hardware",
        "equilibrium_moisture": "timber",
        "rod": "hardware",
    },
)
