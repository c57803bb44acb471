"""How a drill takes hold of its rod: torques by hand, and which is taken."""

from dataclasses import fields
from math import pi, sqrt

import pytest

from gearwork.checks.hub.coupling import cheapest_coupling, check_coupling, couplings
from gearwork.checks.hub.joints import JointUse
from gearwork.stock.hardware import rod, threads
from gearwork.stock.plywood import plywood

BIRCH, USE = plywood("birch", 12), JointUse()


def named(name, thread="M12", grade="8.8"):
    return next(one for one in couplings(rod(thread, grade), BIRCH, USE) if one.name == name)


def test_a_pin_shears_in_two_planes_or_the_rod_twists_off_at_its_hole():
    # ISO 8752 (from memory): 3 mm heavy, 6.32 kN in two planes. Core of M12: 9.853 mm.
    pin, hole = named("pinned nut").ratings
    assert pin.characteristic_torque == pytest.approx(6.32 * 9.853 / 2)
    assert pin.design_torque == pytest.approx(pin.characteristic_torque * 0.5)
    # Roloff/Matek, shaft with a hole across: W_t = π d³/16 − D d²/6; 8.8 yields at 640 MPa
    modulus = pi * 9.853**3 / 16 - 3.0 * 9.853**2 / 6
    assert hole.characteristic_torque == pytest.approx(modulus * 640 / sqrt(3) / 1000)
    assert named("pinned nut").design_torque == pytest.approx(hole.design_torque)
    soft = named("pinned nut", grade="A2-50")
    assert soft.design_torque == pytest.approx(hole.design_torque * 210 / 640)


def test_a_locked_nut_holds_by_its_length():
    # data sheets of thread-lock: T = τ π d² l / 2; 15 MPa over a nut of three diameters, factor 2
    assert named("bonded nut").design_torque == pytest.approx(15 * pi * 12**2 * 36 / 2 / 2 / 1000)
    assert named("bonded nut", grade="A2-70").design_torque == pytest.approx(
        named("bonded nut").design_torque / 2
    )


def test_jammed_nuts_hold_by_their_threads():
    # VDI 2230 (from memory): F μ d2/cos 30°; half the yield force, d2 = 10.863 (ISO 724)
    clamp = 0.5 * 640 * 84.3
    turned = clamp * 0.15 * 10.863 / (sqrt(3) / 2) / 1000
    assert named("jammed nuts").ratings[0].characteristic_torque == pytest.approx(turned, rel=1e-3)
    drawn = named("jammed nuts").tightening
    assert drawn.clamp == pytest.approx(clamp)
    assert drawn.stress < 640


def test_friction_comes_last_where_the_torque_reverses():
    on = rod("M10", "8.8")
    for torque in (0.2, 5.0):
        one_way, both = (cheapest_coupling(on, BIRCH, USE, torque, way) for way in (False, True))
        assert one_way.name == "chuck"
        assert both.name == "bonded nut"
    assert cheapest_coupling(on, BIRCH, USE, 12.0, False).name == "bonded nut"
    # none holds: the strongest is told
    assert cheapest_coupling(on, BIRCH, USE, 1e4, True).name == "bonded nut"


def test_a_weak_coupling_is_told_what_holds_and_how_to_write_it():
    check = check_coupling(named("chuck", "M6"), 5.0)["torque, M6 rod in the chuck"]
    assert not check.ok
    assert check.remedy == 'Write coupling = "bonded nut" under [shafts].'
    assert check_coupling(named("bonded nut", "M6"), 5.0).ok
    (none,) = check_coupling(named("chuck", "M6"), 100.0)
    assert "no more than 4.34 N·m" in none.remedy  # 15 · 0.5794 / 2


@pytest.mark.parametrize("thread", threads())
def test_no_blank(thread):
    for one in couplings(rod(thread), BIRCH, USE):
        assert one.words
        assert all(getattr(one.hold, field.name).strip() for field in fields(one.hold))
        assert one.design_torque > 0.0
        assert one.length >= 2 * rod(thread).diameter or one.name in ("chuck", "jammed nuts")
