"""Threads, property classes, nuts, washers and the boundary dimensions of ball bearings.

Sources: ISO 261, 68-1, 724 and 898-1 (threads, classes), ISO 3506-1 (stainless), ISO 4032, 4759-1,
4161, 7089, 7093-1 (nuts and washers), ISO 15 (bearings); read in open tables or computed.
"""

from math import pi, sqrt

import pytest

from gearwork.stock.hardware import (
    bearing,
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
    ("thread", "flats", "min_flats", "height"),
    [
        ("M6", 10, 9.78, 5.2),
        ("M8", 13, 12.73, 6.8),
        ("M10", 16, 15.73, 8.4),
        ("M12", 18, 17.73, 10.8),
    ],
)
def test_hexagon_nuts(thread, flats, min_flats, height):
    # ISO 4032; ISO 4759-1 product grade A: corners at least 1.13 times the least width across flats
    found = nut(thread)
    assert found.width_across_flats == flats
    assert found.width_across_corners == pytest.approx(1.13 * min_flats, abs=0.006)
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


@pytest.mark.parametrize(
    ("thread", "least", "greatest"),
    [("M6", 5.794, 5.974), ("M8", 7.760, 7.972), ("M10", 9.732, 9.968), ("M12", 11.701, 11.966)],
)
def test_a_rod_is_thinner_than_its_name(thread, least, greatest):
    """ISO 965-2, major diameter of external threads 6g.

    M8 7.760 to 7.972 and M12 11.701 to 11.966 read in open tables; M6 and M10 from memory. Second
    road: es = -(15 + 11 P), T_d = 180 P^(2/3) - 3.15/sqrt(P) um (ISO 965-1), the first rounded to
    1 um, the second to a preferred number of R40: 3 % at most.
    """
    found = rod(thread)
    assert found.outside == (least, greatest)
    p = found.pitch
    assert found.diameter - greatest == pytest.approx((15 + 11 * p) / 1000, abs=0.001)
    assert greatest - least == pytest.approx((180 * p ** (2 / 3) - 3.15 / sqrt(p)) / 1000, rel=0.03)


@pytest.mark.parametrize(("thread", "height"), [("M6", 3.2), ("M8", 4), ("M10", 5), ("M12", 6)])
def test_thin_nuts(thread, height):
    # ISO 4035, m max (from memory): half of the thread, rounded
    assert nut(thread, thin=True).height == height
    assert nut(thread, thin=True).width_across_flats == nut(thread).width_across_flats


@pytest.mark.parametrize("thread", ["M6", "M8", "M10", "M12"])
def test_flange_nuts_are_as_high_as_their_thread(thread):
    # ISO 4161, m max (from memory)
    assert flange_nut(thread).height == float(thread[1:])
