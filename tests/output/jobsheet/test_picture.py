"""What the pictures of the job sheet show."""

import pytest
from shapely import Polygon

from gearwork.output.jobsheet.picture import pinion_and_bar, train_view


def test_the_front_view_of_a_machine_that_ends_in_a_rack_shows_its_bar(gate):
    """In mesh: both teeth are 0.25 mm thinner, and a tooth stands amid its space: 0.25 cos 20°."""
    pinion, bar = (Polygon(one.edge.points(0.01)) for one in pinion_and_bar(gate))
    assert pinion.intersection(bar).area == 0.0
    assert pinion.distance(bar) == pytest.approx(0.235, abs=0.02)  # drawn to half a tenth
    assert bar.centroid.y > pinion.centroid.y
    picture = str(train_view(gate.train, gate.cut_pairs, gate.title, pinion_and_bar(gate)))
    assert ">rack 3<" in picture
    left, top, wide, high = map(float, picture.split('viewBox="')[1].split('"')[0].split())
    low_x, low_y, high_x, high_y = bar.bounds
    assert left < low_x
    assert high_x < left + wide
    assert top < -high_y
    assert -low_y < top + high
