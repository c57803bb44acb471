"""Frozen dataclasses that load fast are those of the library in all that is asked of them."""

import dataclasses
import inspect
from dataclasses import KW_ONLY, FrozenInstanceError, field

import pytest

from gearwork import values


def made(dataclass):
    @dataclass(frozen=True)
    class Sawn:
        """A board."""

        length: float
        marks: tuple[str, ...] = ("front",)
        area: float = field(init=False, repr=False, compare=False)
        _: KW_ONLY
        wood: str = "birch"

        def __post_init__(self):
            object.__setattr__(self, "area", 2.0 * self.length)

    return Sawn


OURS, THEIRS = made(values.dataclass), made(dataclasses.dataclass)


def test_same_parameters_text_and_hash():
    ours, theirs = (kind(3.0, wood="oak") for kind in (OURS, THEIRS))
    assert inspect.signature(OURS) == inspect.signature(THEIRS)
    assert (repr(ours), hash(ours)) == (repr(theirs), hash(theirs))
    assert ours.area == 6.0
    assert dataclasses.replace(ours, length=4.0).area == 8.0


def test_equal_by_class_and_fields():
    assert OURS(3.0) == OURS(3.0) != OURS(3.0, wood="oak")
    assert OURS(3.0) != THEIRS(3.0)


def test_by_identity_and_with_a_text_of_its_own_where_asked():
    @values.dataclass(frozen=True, eq=False, repr=False)
    class Curve:
        points: tuple[float, ...]

    assert Curve((1.0,)) != Curve((1.0,))
    assert "Curve object" in repr(Curve((1.0,)))


def test_nothing_is_changed_or_taken_away():
    board = OURS(3.0)
    with pytest.raises(FrozenInstanceError, match="length"):
        board.length = 4.0
    with pytest.raises(FrozenInstanceError, match="wood"):
        del board.wood
