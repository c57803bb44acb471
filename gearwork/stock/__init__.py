"""What can be bought or declared, with its tables in data/."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from gearwork.lazy import lazy

__getattr__, __dir__, __all__ = lazy(
    __name__,
    {
        "Plywood": "plywood",
        "bearing": "hardware",
        "equilibrium_moisture": "timber",
        "nut": "hardware",
        "plywood_from_layup": "plywood",
        "plywood_from_strengths": "plywood",
        "rod": "hardware",
        "surface": "ground",
        "washer": "hardware",
    },
)


@cache
def table(name: str) -> dict[str, Any]:
    """Return the data file `name` (without its ending) as nested tables; not to be changed."""
    text = (files(__name__) / "data" / f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
