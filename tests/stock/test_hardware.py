"""Rods, nuts, washers, bearings and router bits."""

import pytest

from gearwork.errors import GearworkError
from gearwork.stock.bit import Bit
from gearwork.stock.hardware import (
    bearing,
    bearings,
    flange_nut,
    nut,
    rod,
    rod_grade,
    washer,
)


def test_bore_follows_from_the_designation():
    # Common practice: last two figures 00, 01, 02 mean 10, 12, 15 mm; 60x its last figure.
    codes = {"00": 10, "01": 12, "02": 15, "03": 17}
    for name in bearings():
        assert bearing(name).bore == (codes[name[-2:]] if len(name) == 4 else int(name[-1]))


def test_bearing_ratings_are_newtons_and_say_where_they_end():
    # Plausibility: kilonewtons entered as such, or C and C0 exchanged, would show.
    for name in bearings():
        found = bearing(name)
        assert 900 < found.static_rating < found.dynamic_rating < 10_000
        # 60xx of catalogues: 1.6 (6010, not here yet) to 2.4
        assert 1.5 < found.dynamic_rating / found.static_rating < 2.6
        assert "three quarters" in found.source
    assert bearing("608").dynamic_rating == 3300  # lowest of four makers' catalogues


@pytest.mark.parametrize(
    "part", [rod("M6"), rod_grade("4.6"), nut("M6"), flange_nut("M6"), washer("M6")]
)
def test_every_part_names_its_standard(part):
    assert part.source.startswith("ISO ")


@pytest.mark.parametrize("ask", [rod, nut, flange_nut, washer])
@pytest.mark.parametrize("thread", ["M7", "8", 8, None])
def test_an_unknown_thread_is_answered_with_those_that_exist(ask, thread):
    with pytest.raises(GearworkError, match="M6, M8, M10, M12"):
        ask(thread)


def test_unknown_bearing_and_grade():
    with pytest.raises(GearworkError, match="bearing 608.*608, 6000"):
        bearing(608)
    with pytest.raises(GearworkError, match=r"property class.*A2-70, A2-50, 4\.6"):
        rod("M8", grade="12.9")


def test_bit_cuts_as_measured_when_known():
    assert Bit(3).cut_diameter == 3.0
    assert Bit(3.0, measured_diameter=3.06).cut_diameter == 3.06
    assert type(Bit(3).cut_diameter) is float


@pytest.mark.parametrize(
    "diameter", [0.4, 25.5, -3, 0, float("nan"), float("inf"), "3", None, True]
)
def test_bad_bits_are_refused(diameter):
    with pytest.raises(GearworkError, match="^diameter"):
        Bit(diameter)
    if diameter is not None:
        with pytest.raises(GearworkError, match="measured diameter"):
            Bit(3.0, measured_diameter=diameter)
