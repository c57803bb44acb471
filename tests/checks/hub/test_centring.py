"""What the fits of bore, rod and bearing leave of eccentricity, and what trueing takes out."""

import numpy as np
import pytest

from gearwork.checks.hub.centring import TRUED, Centring, tilt
from gearwork.checks.hub.fixing import bolted, clamped, glued_on_rod
from gearwork.stock.hardware import bearing, rod
from gearwork.stock.laminate import Stack
from gearwork.stock.plywood import plywood

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


def test_a_thin_rod_stands_in_a_bush_or_in_a_bearing_of_its_own():
    # M6 6g is 5.794 mm at least (ISO 965-2); a tube 8 x 1 has 6 mm, as a 626 has (ISO 15)
    fixing = clamped(rod("M6"))
    bushed, own = (Centring.of(fixing, bearing(name)) for name in ("608", "626"))
    assert bushed == own
    assert own.max_eccentricity == pytest.approx((6.08 - 5.794) / 2 + (6.0 - 5.794) / 2)


# Askew


BIRCH = plywood("birch", 12)


def slope(fixing, tip=100.0, wobble=NEVER_TRUED, panel=BIRCH):
    return tilt(fixing.rate(panel), tip, wobble)


def test_a_wide_seat_holds_a_gear_straighter():
    # A nut M12 bears on 0.88 · 18 = 15.84 mm and is 1 degree out of square: 0.2765 mm. Over washers
    # of 37 and 24 mm, and a plate with bolts on 58 mm: 0.0075, 0.0115, 0.0048.
    on = rod("M12")
    wide, narrow = (slope(clamped(on, kind)) for kind in ("wide washer", "washer"))
    plate = slope(bolted(on, rod("M6", "4.6"), 4, 58.0))
    assert wide[0] == pytest.approx(0.2765 / 37, rel=1e-3)
    assert narrow[0] == pytest.approx(0.2765 / 24, rel=1e-3)
    assert plate[0] == pytest.approx(0.2765 / 58, rel=1e-3)
    assert "a seat of 37 mm" in wide[1]


def test_a_long_bore_holds_a_gear_where_no_seat_does():
    # 12.07 on 11.701 mm: 0.369 over 12 mm, and over 24 mm half of that
    on = rod("M12")
    short, long = (
        slope(glued_on_rod(on), panel=panel) for panel in (BIRCH, Stack(BIRCH, (0.0, 45.0)))
    )
    assert short == (pytest.approx(0.369 / 12.0), "the bore")
    assert long[0] == pytest.approx(short[0] / 2)


def test_trueing_the_face_decides_where_it_is_done():
    large, small = (slope(clamped(rod("M12")), tip, 0.1) for tip in (300.0, 60.0))
    assert large == (pytest.approx(0.1 / 300.0), "trueing its face to 0.1 mm")
    assert small[0] == pytest.approx(5.0 * large[0])
