"""The data files of this folder, each read once."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """Return the data file `name` (without its ending) as nested tables; not to be changed."""
    text = (files("gearwork.stock") / "data" / f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
