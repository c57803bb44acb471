import mpmath
import numpy as np
import pytest

from gearwork.geometry.involute import flank_points, inverse_involute, involute


@pytest.mark.parametrize("alpha", [1e-8, 1e-4, 0.05, 0.0999999, 0.1000001, 0.5, 1.2, 1.57])
def test_involute_keeps_its_digits_near_zero_and_near_a_right_angle(alpha):
    with mpmath.workdps(50):
        exact = float(mpmath.tan(mpmath.mpf(alpha)) - mpmath.mpf(alpha))
    # cancellation just above the series costs 0.1 / 3.3e-4 roundings; tan near 90° magnifies
    # the rounding of π/2 inside the library
    assert involute(alpha) == pytest.approx(exact, rel=2e-13)


@pytest.mark.parametrize("value", [0.0, 1e-30, 1e-9, 1e-4, 0.0149, 0.5, 0.99, 1.01, 5.0, 500.0])
def test_inverse_involute_against_a_high_precision_root(value):
    with mpmath.workdps(40):
        v = mpmath.mpf(value)
        low, high = mpmath.mpf(0), mpmath.pi / 2 - mpmath.mpf(10) ** -9
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if mpmath.tan(middle) - middle < v else (low, middle)
        exact = float(low)
    assert inverse_involute(value) == pytest.approx(exact, rel=1e-13, abs=1e-60)


def test_inverse_involute_of_arrays_keeps_shape_and_marks_the_impossible():
    found = inverse_involute(np.array([[0.01, -0.01], [0.2, np.nan]]))
    assert found.shape == (2, 2)
    assert np.isnan(found[0, 1])
    assert np.isnan(found[1, 1])


def test_flank_point_is_at_the_end_of_an_unwound_thread():
    # Definition of the involute: the free thread is as long as the arc it left.
    point = flank_points(80.0, np.array([0.7]))[0]
    touch = 40.0 * np.exp(0.7j)
    assert abs(point - touch) == pytest.approx(40.0 * 0.7)
    assert np.angle(point) == pytest.approx(involute(np.arctan(0.7)))
