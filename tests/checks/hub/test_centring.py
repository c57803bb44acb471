"""What the fits of bore, rod and bearing leave of eccentricity, and what trueing takes out."""

import numpy as np
import pytest

from gearwork.checks.hub.centring import TRUED, Centring
from gearwork.checks.hub.fixing import clamped
from gearwork.stock.hardware import bearing, rod

NEVER_TRUED = 5.0
M12 = Centring.of(clamped(rod("M12")), bearing("6001"))


def at(centring, turn, *, rods=0.0, run_out=NEVER_TRUED, bore=None):
    bore = centring.bore if bore is None else bore
    found = centring.eccentricity(*np.array([[bore], [rods], [turn]]), run_out)
    return found.item()


def test_the_fits_by_hand():
    # M12 6g is 11.701 to 11.966 mm (ISO 965-2), the bore 0.1 over that, a 6001 has 12 mm (ISO 15)
    assert (M12.bore, M12.rod, M12.bearing_bore) == (12.07, (11.701, 11.966), 12.0)
    in_bore, in_bearing = (12.07 - 11.701) / 2, (12.0 - 11.701) / 2
    assert at(M12, 0.0) == pytest.approx(in_bore + in_bearing)
    assert at(M12, np.pi) == pytest.approx(in_bore - in_bearing)
    assert at(M12, np.pi / 2) == pytest.approx(np.hypot(in_bore, in_bearing))
    assert at(M12, 0.0, rods=1.0) == pytest.approx((12.07 - 11.966 + 12.0 - 11.966) / 2)
    assert M12.max_eccentricity == pytest.approx(at(M12, 0.0))


def test_a_wide_bore_runs_out_and_trueing_takes_it_back():
    # a bore of 13 mm on a rod of 11.8 leaves 0.6 mm to every side, before the bearing
    wide = Centring(13.0, (11.8, 11.8), 12.0)
    assert at(wide, np.pi / 2) == pytest.approx(np.hypot(0.6, 0.1))
    assert at(wide, np.pi / 2, run_out=TRUED) == 0.05


def test_trueing_moves_a_gear_no_farther_than_its_bore_lets_it():
    # rod 11.8 in a bearing of 12: 0.1 mm off; a bore of 11.86 lets the gear back by 0.03 alone
    tight = Centring(11.86, (11.8, 11.8), 12.0)
    assert at(tight, 0.0, run_out=TRUED) == pytest.approx(0.07)
    assert at(tight, np.pi, run_out=TRUED) == pytest.approx(0.07)


def test_a_bore_cut_too_narrow_for_its_rod_is_opened_until_it_goes_on():
    assert at(M12, 0.0, rods=1.0, bore=11.9) == pytest.approx((12.0 - 11.966) / 2)


@pytest.mark.parametrize("thread", ["M6", "M8", "M10", "M12"])
def test_every_rod_of_the_table_can_be_trued_in_a_bearing_of_its_name(thread):
    """Whatever its diameter: the bore is no narrower than the bearing's."""
    on = rod(thread)
    centring = Centring(clamped(on).bore_diameter, on.outside, on.diameter)
    for rods in (0.0, 0.5, 1.0):
        for turn in np.linspace(0.0, np.pi, 5):
            assert at(centring, turn, rods=rods, run_out=TRUED) <= TRUED / 2
