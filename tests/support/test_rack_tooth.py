"""The reference tooth against a blank cut by the rack itself, position by position."""

import numpy as np
import pytest
from rack_tooth import rack_tooth
from shapely import Polygon, affinity
from shapely.geometry import Point

ALPHA = np.radians(20.0)


def rack_tool(x, h_f=1.25, rho=0.38):
    """One tooth of the rack, tip down; pitch line of the gear at y = 0, centred on x = 0."""
    tip = np.pi / 4 - h_f * np.tan(ALPHA)
    core = [
        (-tip - 3 * np.tan(ALPHA), 3 - h_f + x),
        (-tip, -h_f + x),
        (tip, -h_f + x),
        (tip + 3 * np.tan(ALPHA), 3 - h_f + x),
    ]
    return Polygon(core).buffer(-rho).buffer(rho, quad_segs=100)


def cut_space(z, x, steps=600):
    """Blank with the one space cut whose centre stands on +y, by rolling the rack past it."""
    tip = z / 2 + 1 + x
    blank = Point(0, 0).buffer(tip, quad_segs=1000)
    tool = rack_tool(x)
    for along in np.linspace(-4.5, 4.5, steps):
        placed = affinity.translate(tool, along, z / 2)
        blank = blank.difference(affinity.rotate(placed, along / (z / 2), (0, 0), use_radians=True))
    return blank


@pytest.mark.parametrize(("z", "x"), [(9, 0.0), (20, 0.0), (12, 0.6), (40, -0.3)])
def test_tooth_is_what_the_rack_leaves(z, x):
    blank = cut_space(z, x)
    tooth = rack_tooth(z, x)
    half = tooth[tooth[:, 1] > 1e-9]  # upper side: the space's right-hand wall, once turned
    turn = np.pi / 2 - np.pi / z
    c, s = np.cos(turn), np.sin(turn)
    placed = half @ np.array([[c, s], [-s, c]])
    away = [blank.exterior.distance(Point(p)) for p in placed[::10]]
    assert max(away) < 1e-4  # 600 positions leave facets of below 1e-4 module


def test_outline_runs_from_mid_root_to_mid_root():
    tooth = rack_tooth(20)
    assert np.degrees(np.arctan2(*tooth[[0, -1], ::-1].T)) == pytest.approx([-9.0, 9.0])
    assert np.hypot(*tooth[0]) == pytest.approx(10 - 1.25)
    assert np.hypot(*tooth.T).max() == pytest.approx(11.0)
    assert np.linalg.norm(np.diff(tooth, axis=0), axis=1).max() < 0.03


def test_tooth_thickness_at_the_reference_circle_is_half_the_pitch():
    tooth = rack_tooth(25)
    upper = tooth[tooth[:, 1] > 0]
    radius = np.hypot(*upper.T)
    flank = radius > 12
    angle = np.interp(12.5, radius[flank][::-1], np.arctan2(upper[:, 1], upper[:, 0])[flank][::-1])
    assert 2 * 12.5 * angle == pytest.approx(np.pi / 2, abs=1e-4)  # ISO 53
