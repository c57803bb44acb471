import math

import numpy as np
import pytest

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline, circle_of
from gearwork.geometry.part import Cut, Part

SQUARE = Outline([(0, 0), (80, 0), (80, 40), (0, 40)], [0, 0, 0, 0])


def plate(**changes):
    cuts = (Cut(Outline.circle(10, (20, 20)), "inside edge"), Cut.drilled(4, (60, 20)))
    return Part(**{"name": "plate", "outer": SQUARE, "thickness": 12.0, "cuts": cuts, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": " "}, "part name"),
        ({"name": 7}, "part name"),
        ({"thickness": 0}, "thickness of plate is 0 mm"),
        ({"thickness": math.nan}, "thickness of plate"),
        ({"count": 0}, "count of plate"),
        ({"count": 1.5}, "count of plate"),
        ({"grain": "along"}, "grain of plate"),
        ({"witness": (1.0, math.inf)}, "witness mark of plate"),
        ({"cuts": (Cut(SQUARE, "pocket", 12.0),)}, "must stay below the sheet's 12 mm"),
    ],
)
def test_a_part_that_cannot_be(changes, said):
    with pytest.raises(GearworkError, match=said):
        plate(**changes)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((SQUARE, "engrave"), "operation is 'engrave'"),
        ((SQUARE, "pocket"), "pocket depth"),
        ((SQUARE, "pocket", -1.0), "pocket depth"),
        ((SQUARE, "inside edge", 3.0), "only a pocket has a depth"),
        ((SQUARE, "drilled hole"), "no circle"),
    ],
)
def test_a_cut_that_cannot_be(values, said):
    with pytest.raises(GearworkError, match=said):
        Cut(*values)


def test_moving_and_turning_takes_everything_along():
    part = plate(witness=(80.0, 10.0), grain=350.0).turned(90).moved(100, 10)
    assert part.bounds == pytest.approx((60, 10, 100, 90), abs=1e-9)
    assert circle_of(part.cuts[1].outline)[0] == pytest.approx((80, 70))
    assert part.witness == pytest.approx((90, 90))
    assert part.grain == pytest.approx(80)


def test_circle_is_known_after_turning_and_reversing():
    centre, diameter = circle_of(Outline.circle(8.0, (3, 4)).turned(37).reversed())
    turn = math.radians(37)
    expected = (3 * math.cos(turn) - 4 * math.sin(turn), 3 * math.sin(turn) + 4 * math.cos(turn))
    assert centre == pytest.approx(expected)
    assert diameter == pytest.approx(8.0)


def test_what_is_no_circle():
    lens = Outline([(0, 0), (10, 0)], [0.5, 0.5])
    half = Outline([(0, 0), (10, 0)], [1.0, 0.0])
    assert [circle_of(outline) for outline in (SQUARE, lens, half)] == [None] * 3


def test_roomiest_places_keep_clear_of_edges_and_each_other():
    """The largest circle beside the bore: 80 x 40 plate, bore at a quarter of its length."""
    part = plate(cuts=(Cut(Outline.circle(10, (20, 20)), "inside edge"),))
    circles = part.clear_circles(3)
    (_, largest), *_ = circles
    assert 36 <= largest <= 40
    for count, ((x, y), diameter) in enumerate(circles):
        radius = diameter / 2
        assert radius <= x <= 80 - radius
        assert radius <= y <= 40 - radius
        assert math.dist((x, y), (20, 20)) >= 5 + radius - 0.1
        for (u, v), other in circles[:count]:
            assert math.dist((x, y), (u, v)) >= radius + other / 2 - 1e-9


def test_no_room_where_all_is_cut_away():
    almost = Outline([(0.0, 0.0), (80, 0), (80, 40), (0, 40)], np.zeros(4))
    assert plate(cuts=(Cut(almost, "inside edge"),)).clear_circles(1) == []
