"""What the remedies of strength, rim and tolerance checks tell is enough."""

from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st
from remedies import told
from strategies import between, one_in, panels, running_pairs

import gearwork as gw
from gearwork.checks.tolerance import check_tolerance
from gearwork.checks.tooth.load_case import load_cases
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import strength_checks, tooth_limits


@st.composite
def services(draw):
    return gw.Service(
        draw(st.sampled_from([1, 2, 3])),
        draw(between(1.0, 3.0)),
        draw(between(0.1, 1e5)),
        draw(st.booleans()),
    )


def judged(pair, bit, panel, width, torque, service, speed):
    cut = CutPair(pair, bit)
    cases = load_cases(torque, speed, service, 2 * torque, 3 * torque)
    checks = strength_checks(tooth_limits(cut, panel, width, cases), width)
    return {check.name: check for check in checks}


SHARES = {"running": 1.0, "starting": 2.0, "stall": 3.0}


@one_in(4)
@given(
    running_pairs(), panels(), between(3.0, 60.0), between(0.01, 1e4), services(), between(0, 1e4)
)
def test_the_thickness_and_the_torque_told_are_enough(case, panel, width, torque, service, speed):
    pair, bit = case
    for name, check in judged(pair, bit, panel, width, torque, service, speed).items():
        if check.ok:
            continue
        share = SHARES[name.rpartition(" ")[2]]
        if slower := told(r"at most at # rpm", check.remedy):
            assert judged(pair, bit, panel, width, torque, service, slower[0])[name].ok, check
            continue
        if "torque and its speed" in check.remedy:
            assert not judged(pair, bit, panel, width, torque, service, 0.1)[name].ok, check
            continue
        (allowed,) = told(r"torque to # N·m", check.remedy)
        assert judged(pair, bit, panel, width, allowed / share, service, speed)[name].ok, check
        thick = told(r"gears # mm thick", check.remedy)
        if thick:
            assert judged(pair, bit, panel, thick[0], torque, service, speed)[name].ok, check
        # told no more cautiously than rounding asks for
        more = 1.011 * allowed / share
        assert not judged(pair, bit, panel, width, more, service, speed)[name].ok, check


@one_in(5)
@given(running_pairs(), between(0.0, 0.2))
def test_the_setting_told_binds_as_seldom_as_accepted_or_none_does(case, thinner):
    pair, bit = case
    gears = (replace(g, thinning=thinner) for g in (pair.pinion, pair.wheel))
    try:
        pair = gw.GearPair(*gears)
    except gw.GearworkError:
        assume(False)
    found = check_tolerance(CutPair(pair, bit), samples=2000)
    for check in found.failed:
        distance = told(r"Set the shafts # mm apart", check.remedy)
        if distance is None:
            assert "no distance and thinning" in check.remedy
            continue
        more = told(r"another # mm", check.remedy)
        gears = (
            replace(g, thinning=g.thinning + (more[0] if more else 0.0))
            for g in (pair.pinion, pair.wheel)
        )
        again = gw.GearPair(*gears, distance[0])
        assert check_tolerance(CutPair(again, bit), samples=2000)[check.name].ok, check
