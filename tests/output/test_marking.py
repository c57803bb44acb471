"""Names on parts: where there is room for them."""

import math

import pytest
import shapely

from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut, Part
from gearwork.output.marking import LEAST_HEIGHT, marks_on

BAR = Outline([(0, 0), (200, 0), (200, 14), (0, 14)], [0] * 4)
HOLES = tuple(Cut.drilled(4.0, (x, 9.0)) for x in range(5, 200, 10))


def label(outer, *cuts):
    """The name on a piece of that shape."""
    (found,) = marks_on(Part("retaining ring", outer, 12.0, cuts), named=True).labels
    return found


@pytest.mark.parametrize("angle", [0.0, 90.0, 200.0])
def test_a_piece_full_of_holes_is_named_along_its_edge(angle):
    holes = tuple(Cut(hole.outline.turned(angle), hole.operation) for hole in HOLES)
    name = label(BAR.turned(angle), *holes)
    assert name.height > LEAST_HEIGHT
    assert math.sin(math.radians(name.angle - angle)) == pytest.approx(0.0, abs=1e-9)


def test_a_ring_without_a_straight_edge_has_its_name_in_small_letters():
    name = label(Outline.circle(28.0), Cut(Outline.circle(22.0), "inside edge"))
    assert 0.0 < name.height < LEAST_HEIGHT
    assert name.angle == 0.0


def test_a_name_along_an_edge_keeps_clear_of_holes_and_of_the_arrow():
    part = Part("retaining ring", BAR, 12.0, HOLES)
    marks = marks_on(part, named=True)
    room = shapely.Polygon(marks.labels[0].corners)
    holes = [shapely.Polygon(hole.outline.points()) for hole in HOLES]
    arrow = [shapely.LineString(stroke) for stroke in marks.strokes]
    assert shapely.Polygon(BAR.vertices).contains(room)
    assert len(arrow) == 2
    assert min(room.distance(other) for other in (*holes, *arrow)) > 0.0
