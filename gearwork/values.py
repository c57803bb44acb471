"""Frozen dataclasses that load fast.

The library compiles six methods for each class, which with two hundred classes takes a thirtieth
of the time of the command. Here `__init__` alone is compiled, the others need none of it.
"""

import dataclasses
import sys
from collections.abc import Callable
from dataclasses import MISSING, FrozenInstanceError, field, replace
from functools import partial
from operator import attrgetter
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass", "field", "replace"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool, eq: bool = True, repr: bool = True):
        """As that of the library, for what is frozen and has no default factory."""
        return partial(_made, eq, repr)


def _made(compared: bool, told: bool, cls: type) -> type:
    dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
    fields: Any = dataclasses.fields(cls)
    shown = [one.name for one in fields if one.repr]
    key = attrgetter(*([one.name for one in fields if one.compare] or ["__class__"]))

    def equal(self: object, other: object) -> bool:
        alike = other.__class__ is self.__class__
        return bool(key(self) == key(other)) if alike else NotImplemented

    def text(self: object) -> str:
        values = ", ".join([f"{name}={getattr(self, name)!r}" for name in shown])
        return f"{self.__class__.__qualname__}({values})"

    methods: dict[str, Any] = {"__setattr__": _refuse, "__delattr__": _refuse}
    methods |= {"__repr__": text} if told else {}
    methods |= {"__eq__": equal, "__hash__": lambda self: hash(key(self))} if compared else {}
    if "__init__" not in vars(cls):
        methods["__init__"] = _init(cls, [one for one in fields if one.init])
    for name, method in methods.items():
        if vars(cls).get(name) is None:
            setattr(cls, name, method)
    return cls


def _init(cls: type, fields: list[Any]) -> Callable[..., None]:
    """Parameters with their defaults, each kept under its name, then `__post_init__`."""
    defaults = {f"_{one.name}": one.default for one in fields if one.default is not MISSING}
    given = []
    for one in sorted(fields, key=lambda one: bool(one.kw_only)):
        given += ["*"] * (one.kw_only and "*" not in given)
        given.append(one.name + f"=_{one.name}" * (one.default is not MISSING))
    lines = [f"put(self, {one.name!r}, {one.name})" for one in fields]
    lines += ["self.__post_init__()"] * hasattr(cls, "__post_init__")
    source = (
        f"def make(put, {', '.join(defaults)}):\n"
        f" def __init__(self, {', '.join(given)}):\n  {'; '.join(lines) or 'pass'}\n"
        " return __init__"
    )
    found: dict[str, Any] = {}
    exec(source, vars(sys.modules[cls.__module__]), found)
    init: Callable[..., None] = found["make"](object.__setattr__, **defaults)
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    init.__annotations__ = {one.name: one.type for one in fields} | {"return": None}
    return init


def _refuse(self: object, name: str, *_: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")
