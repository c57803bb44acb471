"""Names of a package that are imported when they are first asked for, so that it loads fast."""

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def lazy(
    package: str, homes: Mapping[str, str], more: Mapping[str, str] | None = None
) -> tuple[Callable[[str], Any], Callable[[], list[str]], list[str]]:
    """Return `__getattr__`, `__dir__` and `__all__` of a package.

    `homes` tells in which module below the package each name stands, `more` the same of names that
    are not in `__all__`; a package below it that is a name itself has none.
    """
    known = {**homes, **(more or {})}

    def get(name: str) -> Any:
        if name not in known:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        home = known[name]
        module = import_module(f"{package}.{home or name}")
        value = getattr(module, name) if home else module
        setattr(sys.modules[package], name, value)
        return value

    names = sorted(homes)
    return get, lambda: names, names
