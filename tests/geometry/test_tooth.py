import numpy as np
import pytest
import shapely

import gearwork as gw
from gearwork.geometry.tooth import cut_tooth, fillet_points, load_at


@pytest.mark.parametrize(("teeth", "shift", "bit"), [(10, 0.5, 3.0), (14, 0.2, 2.0), (40, 0, 5.0)])
def test_points_lie_on_the_outline_and_run_from_flank_to_root(teeth, shift, bit):
    gear = gw.Gear(5, teeth, shift)
    cut = cut_tooth(gear, bit)
    fillet = fillet_points(cut)
    edge = shapely.LinearRing(gw.gear_outline(gear, gw.Bit(bit)).points(1e-5))
    assert shapely.distance(edge, shapely.points(fillet.x, fillet.y)).max() < 2e-5
    assert np.hypot(fillet.x[0], fillet.y[0]) == pytest.approx(cut.fillet_end)
    assert np.hypot(fillet.x[-1], fillet.y[-1]) == pytest.approx(cut.root_diameter / 2)


def test_slope_is_the_direction_of_the_edge():
    fillet = fillet_points(cut_tooth(gw.Gear(5, 20), 3.0), count=2001)
    along = np.degrees(np.arctan2(np.diff(fillet.y), np.diff(fillet.x)))
    middle = (fillet.slope[1:] + fillet.slope[:-1]) / 2
    assert ((along - middle + 90) % 180 - 90) == pytest.approx(0, abs=0.01)  # chord of 0.05° turn


def test_flank_load_is_normal_to_the_flank():
    # Independent road: normal of the flank from two neighbouring points on it.
    gear = gw.Gear(5, 18, 0.1)
    diameter = 93.0
    angle = [gear.thickness_at(d) / d for d in (diameter - 1e-4, diameter, diameter + 1e-4)]
    radii = np.array([diameter - 1e-4, diameter, diameter + 1e-4]) / 2
    x, y = radii * np.cos(angle), radii * np.sin(angle)
    normal = np.array([-(y[2] - y[0]), x[2] - x[0]])
    normal /= np.hypot(*normal)
    load = load_at(gear, diameter)
    assert np.degrees(np.arctan2(normal[0], normal[1])) == pytest.approx(load.angle, abs=1e-5)
    assert x[1] - y[1] * normal[0] / normal[1] == pytest.approx(load.apex, abs=1e-4)
