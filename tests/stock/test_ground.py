"""Ground to roll on, and the names that the room of what is bought gives away."""

import pytest

import gearwork as gw


def test_names_of_the_room_are_reached_through_the_package():
    assert gw.stock.rod("M8").diameter == 8.0
    assert gw.stock.surface("asphalt").name == "asphalt"
    for name in dir(gw.stock):
        assert getattr(gw.stock, name).__doc__, name


def test_a_name_that_is_not_there_is_refused():
    with pytest.raises(AttributeError, match=r"'gearwork\.stock' has no attribute 'spoon'"):
        gw.stock.spoon  # noqa: B018
