"""Rows of dataclasses whose fields are arrays, at any depth."""

from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

R = TypeVar("R")
Rows = NDArray[np.intp]


def taken(record: R, rows: Rows | slice) -> R:
    """Return some rows of a dataclass of arrays; fields that are no arrays stay."""
    return cast("R", _mapped(lambda array: array[rows], [record]))


def joined(records: Sequence[R]) -> R:
    """Return the rows of several dataclasses of arrays one after the other."""
    return cast("R", _mapped(lambda *arrays: np.concatenate(arrays), records))


def _mapped(function: Callable[..., Any], records: Sequence[Any]) -> Any:
    first = records[0]
    if is_dataclass(first) and not isinstance(first, type):
        names = [field.name for field in fields(first)]
        parts = {name: _mapped(function, [getattr(r, name) for r in records]) for name in names}
        return replace(first, **parts)
    return function(*records) if isinstance(first, np.ndarray) else first
