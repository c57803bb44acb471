"""Rods, nuts, washers, bearings and router bits."""

from math import pi, sqrt

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
    threads,
    washer,
)


@pytest.mark.parametrize(
    ("thread", "pitch"), [("M6", 1), ("M8", 1.25), ("M10", 1.5), ("M12", 1.75)]
)
def test_thread_by_its_formulas(thread, pitch):
    # ISO 261 coarse pitch; ISO 68-1: H = sqrt(3)/2 P; ISO 724: d2 = d - 3/4 H, d1 = d - 5/4 H;
    # ISO 898-1: d3 = d1 - H/6, A_s = pi/4 ((d2 + d3)/2)^2. Half the last printed digit.
    found = rod(thread)
    d, h = float(thread[1:]), sqrt(3) / 2 * pitch
    d2, d3 = d - 3 / 4 * h, d - 5 / 4 * h - h / 6
    assert (found.diameter, found.pitch) == (d, pitch)
    assert found.core_diameter == pytest.approx(d3, abs=0.0005 + 1e-9)
    assert found.stress_area == pytest.approx(pi / 4 * ((d2 + d3) / 2) ** 2, abs=0.05)


@pytest.mark.parametrize(
    ("name", "tensile", "yielding"),
    [  # ISO 3506-1, ISO 898-1
        ("A2-70", 700, 450),
        ("A2-50", 500, 210),
        ("4.6", 400, 240),
        ("4.8", 420, 340),
        ("8.8", 800, 640),
    ],
)
def test_property_classes(name, tensile, yielding):
    grade = rod_grade(name)
    assert (grade.tensile_strength, grade.yield_strength) == (tensile, yielding)
    assert rod("M8", grade=name).grade == grade


@pytest.mark.parametrize("name", ["4.6", "8.8"])
def test_property_class_numbers_mean_what_they_say(name):
    # ISO 898-1: first number a hundredth of R_m, second ten times the yield ratio.
    hundredth, tenths = (int(part) for part in name.split("."))
    grade = rod_grade(name)
    assert grade.tensile_strength == 100 * hundredth
    assert grade.yield_strength == 10 * hundredth * tenths


@pytest.mark.parametrize(
    ("thread", "flats", "least_flats", "height"),
    [
        ("M6", 10, 9.78, 5.2),
        ("M8", 13, 12.73, 6.8),
        ("M10", 16, 15.73, 8.4),
        ("M12", 18, 17.73, 10.8),
    ],
)
def test_hexagon_nuts(thread, flats, least_flats, height):
    # ISO 4032; ISO 4759-1 product grade A: corners at least 1.13 times the least width across flats
    found = nut(thread)
    assert found.width_across_flats == flats
    assert found.width_across_corners == pytest.approx(1.13 * least_flats, abs=0.006)
    assert found.height == height


def test_flange_nuts():
    # ISO 4161: greatest flange and least bearing diameter
    sizes = [(f.flange_diameter, f.bearing_diameter) for f in map(flange_nut, threads())]
    assert sizes == [(14.2, 12.2), (17.9, 15.8), (21.8, 19.6), (26.0, 23.8)]


def test_washers():
    # ISO 7089: outer diameter twice the thread; ISO 7093-1: three times (37 for M12)
    assert [washer(t).diameter for t in threads()] == [12, 16, 20, 24]
    assert [washer(t, wide=True).diameter for t in threads()] == [18, 24, 30, 37]
    assert [washer(t).thickness for t in threads()] == [1.6, 1.6, 2.0, 2.5]
    assert [washer(t, wide=True).thickness for t in threads()] == [1.6, 2.0, 2.5, 3.0]
    for thread in threads():
        for found in (washer(thread), washer(thread, wide=True)):
            assert 0.3 < found.hole_diameter - rod(thread).diameter < 1.1


ISO_15 = {  # ISO 15 boundary dimensions, diameter series 0 and 2
    "608": (8, 22, 7),
    "6000": (10, 26, 8),
    "6001": (12, 28, 8),
    "6002": (15, 32, 9),
    "6200": (10, 30, 9),
    "6201": (12, 32, 10),
    "6202": (15, 35, 11),
}


@pytest.mark.parametrize("name", ISO_15)
def test_bearings_have_standard_sizes(name):
    found = bearing(name)
    assert (found.bore, found.outer_diameter, found.width) == ISO_15[name]


def test_bore_follows_from_the_designation():
    # Common practice: last two figures 00, 01, 02 mean 10, 12, 15 mm; 60x its last figure.
    codes = {"00": 10, "01": 12, "02": 15}
    for name in bearings():
        assert bearing(name).bore == (codes[name[-2:]] if len(name) == 4 else int(name[-1]))


def test_bearing_ratings_are_newtons_and_say_where_they_end():
    # Plausibility: kilonewtons entered as such, or C and C0 exchanged, would show.
    for name in bearings():
        found = bearing(name)
        assert 1000 < found.static_rating < found.dynamic_rating < 10_000
        assert 1.9 < found.dynamic_rating / found.static_rating < 2.6
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
    with pytest.raises(GearworkError, match="bit diameter"):
        Bit(diameter)
    if diameter is not None:
        with pytest.raises(GearworkError, match="measured bit diameter"):
            Bit(3.0, measured_diameter=diameter)
