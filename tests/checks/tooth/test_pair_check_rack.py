"""A pinion and a rack judged: what the wheel's checks say of a rack, and what a rack adds."""

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.tolerance import sample_pair
from gearwork.checks.tooth.elements import elastic_roots
from gearwork.checks.tooth.friction import mesh_loss
from gearwork.checks.tooth.load_case import load_cases
from gearwork.checks.tooth.strength import beam_roots, tooth_limits
from gearwork.checks.tooth.stress import notch_factor, root_stress

SHEET = gw.plywood("birch", 18)


def cut_pair(teeth=14, shift=0.3, thinning=0.2, distance=None, bit=3.0, **rack):
    pinion = gw.Gear(5, teeth, shift, thinning=thinning)
    pair = gw.GearPair(pinion, gw.Rack(5, 20, thinning=thinning, **rack), distance)
    return gw.CutPair(pair, gw.Bit(bit))


def verdicts(cut, **load):
    report = gw.check_pair(cut, SHEET, **{"torque": 1.0, "speed": 30.0, **load})
    return {(c.judged, c.part, c.case): c for c in report}


def test_a_sound_pair_holds_and_nothing_asks_a_rack_for_a_shift():
    found = verdicts(cut_pair())
    assert all(check.ok for check in found.values())
    assert ("undercut", "rack", "") not in found
    assert ("undercut", "pinion", "") in found
    assert not any("wheel" in check.name for check in found.values())


def test_the_tip_of_the_rack_digs_into_a_pinion_of_few_teeth():
    """Shigley 13-7: 17 teeth without shift are one too few for a rack of full depth at 20°."""
    check = verdicts(cut_pair(17, 0.0))["interference", "pinion flank", ""]
    assert check.verdict == "fail"
    assert "wheel_tip_alteration" in check.remedy


@pytest.mark.parametrize(("height", "ok"), [(19.0, False), (20.0, True)])
def test_the_bar_below_the_teeth_decides(height, ok):
    """ISO 6336-3 Y_B: 1.2 of 11.25 mm of depth below a root 6.25 mm deep are 19.75 mm."""
    found = verdicts(cut_pair(height=height))
    assert [key for key, check in found.items() if not check.ok] == (
        [] if ok else [("bar below the teeth", "rack", "")]
    )
    if not ok:
        assert "rack_height = 19.8" in found["bar below the teeth", "rack", ""].remedy


def test_too_far_from_the_rack_the_contact_is_lost():
    pair = cut_pair(distance=43.0)
    assert not verdicts(pair)["contact ratio", "", ""].ok


def test_a_thin_rack_tooth_is_the_first_to_break():
    """A fat pinion of many teeth and a rack whose teeth are thinned: the rack sets the torque."""
    pinion = gw.Gear(5, 40, 0.5)
    cut = gw.CutPair(gw.GearPair(pinion, gw.Rack(5, 20, thinning=1.5), 103.0), gw.Bit(3.0))
    limits = [
        limit
        for limit in tooth_limits(cut, SHEET, 18.0, load_cases(1.0, 30.0, gw.Service()))
        if limit.kind == "tension"
    ]
    weakest = min(limits, key=lambda limit: limit.torque)
    assert weakest.part == "rack"


def test_the_nominal_stress_of_a_rack_tooth_is_that_of_a_straight_beam():
    """ISO 6336-3 style section by hand: bending 6 F cos α h / s² and the push F sin α / s."""
    cut = cut_pair(thinning=0.0)
    tooth, alpha = cut.wheel, np.radians(20)
    found = root_stress(tooth, tooth.gear.tip_diameter)
    half_tip = 5 * np.pi / 4 - 5 * np.tan(alpha)
    # The force crosses the tooth's axis this far above the reference line.
    apex = 5.0 - half_tip * np.tan(alpha)
    # Bottom of the fillet: the section at the root, where the edge runs across.
    flat, radius = tooth.gear, tooth.fillet_diameter / 2
    across = np.linspace(0, np.pi / 2 - alpha, 24)
    slope = alpha + across
    y = 6.25 - radius  # of the fillet's centre below the line
    x = 5 * np.pi / 4 + y * np.tan(alpha) + radius / np.cos(alpha)
    s = 2 * (x - radius * np.cos(slope))
    h = apex + y + radius * np.sin(slope)
    bending, push = 6 * np.cos(alpha) * h / s**2, np.sin(alpha) / s
    assert flat.tip_thickness == pytest.approx(2 * half_tip, abs=1e-5)
    assert found.shear == pytest.approx(1.5 * np.cos(alpha) / s, rel=1e-5)
    assert found.bending == pytest.approx(bending, rel=1e-5)
    assert found.radial == pytest.approx(push, rel=1e-5)
    notch = notch_factor(s, h, radius)
    assert found.tension == pytest.approx((bending - push) * notch, rel=1e-5)


@pytest.mark.slow
def test_elements_give_a_rack_tooth_what_they_give_other_teeth():
    """0.70 to 1.02 of the beam's share on 165 teeth; single veneers 1.12 on top."""
    cut = cut_pair()
    elements, beam = (f(cut, SHEET)["wheel"].share for f in (elastic_roots, beam_roots))
    assert 0.70 < elements / 1.12 / beam < 1.02


def test_friction_takes_less_beside_a_rack_than_beside_a_wheel():
    """Ohlendorf: H falls with 1/z1 + 1/z2, and a rack has 1/z2 = 0."""
    cut = cut_pair()
    shares = cut.pair.contact_limits
    pitch_point = 35.0 * np.sin(np.radians(20))
    base_pitch = np.pi * 5 * np.cos(np.radians(20))
    first, second = (shares[1] - pitch_point) / base_pitch, (pitch_point - shares[0]) / base_pitch
    expected = np.pi / 14 * (1 - first - second + first**2 + second**2)
    assert mesh_loss(cut.pair) == pytest.approx(expected, rel=1e-5)


def test_scatter_of_a_rack_takes_and_gives_play_square_to_its_flanks():
    """Straight flanks: shafts off by their scatter alone, 2 Δa tan α, one standard deviation."""
    cut = cut_pair()
    scatter = gw.Scatter(0, 0, 0.1, 0, moisture=0, moisture_difference=0)
    spread = sample_pair(cut, scatter, samples=20000)
    assert spread.backlash.std() == pytest.approx(0.2 * np.tan(np.radians(20)), rel=0.02)
    assert gw.check_tolerance(cut, samples=2000).ok
    assert not gw.check_tolerance(cut_pair(thinning=0.0), samples=2000).ok
