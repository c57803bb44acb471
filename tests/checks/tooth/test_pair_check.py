import re
from dataclasses import replace

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.tooth.mesh import distance_tolerance
from gearwork.plot.display import show
from gearwork.stock.bit import SOLD
from gearwork.stock.laminate import glued


def sound_pair():
    return gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))


def report(pair, bit=3.0, **load):
    given = {"face_width": 24, "torque": 1.0, "speed": 150.0, **load}
    return gw.check_pair(gw.CutPair(pair, gw.Bit(bit)), gw.plywood("birch", 12), **given)


def numbers(text, words):
    return [float(n.rstrip(".")) for n in re.search(words, text).groups()]


def test_a_sound_pair_holds_every_check():
    found = report(sound_pair())
    assert found.ok, str(found)
    subjects = {check.name.split(",")[0] for check in found}
    assert subjects >= {
        "contact ratio", "undercut", "interference", "tip thickness", "bit fit",
        "flank below contact", "root clearance", "backlash", "tooth bending", "flank pressure",
    }  # fmt: skip
    for check in found:
        assert check.why.endswith(".")
        assert check.source


def test_an_interfering_pair_says_that_its_formula_contact_ratio_means_nothing():
    found = report(gw.GearPair(gw.Gear(3, 12), gw.Gear(3, 24)), bit=1.0)
    assert not found["interference, pinion flank"].ok
    assert found["interference, pinion flank"].value == pytest.approx(-0.937, abs=5e-4)
    assert "1.511, which means nothing" in found["contact ratio"].why


def test_undercut_and_interference_are_told_apart():
    # Shigley §13-7 (from memory): 14 unshifted teeth run with 26 although a rack undercuts them.
    found = report(gw.GearPair(gw.Gear(5, 14, thinning=0.2), gw.Gear(5, 26, thinning=0.2)))
    assert found["undercut, pinion"].verdict == "marginal"
    assert found["interference, pinion flank"].ok


def test_contact_ratio_is_watched_below_1_2_and_fails_below_1():
    gears = gw.Gear(5, 20), gw.Gear(5, 30)
    verdicts = [report(gw.GearPair(*gears, a))["contact ratio"].verdict for a in (125.2, 128, 131)]
    assert verdicts == ["pass", "marginal", "fail"]


def test_shortening_the_tip_as_told_ends_the_interference():
    pair = gw.GearPair(gw.Gear(3, 12, thinning=0.1), gw.Gear(3, 24, thinning=0.1))
    check = report(pair, bit=1.0)["interference, pinion flank"]
    (change,) = numbers(check.remedy, r"wheel_tip_alteration = (-[\d.]+)")
    again = gw.GearPair(pair.pinion, replace(pair.wheel, tip_alteration=change))
    assert report(again, bit=1.0)["interference, pinion flank"].ok


def test_the_contact_ratio_told_is_reached():
    pair = gw.GearPair(gw.Gear(5, 10, 0.5), gw.Gear(5, 12, 0.5))
    check = report(pair, bit=2.0)["contact ratio"]
    module, *teeth = numbers(
        check.remedy, r"module = ([\d.]+), pinion_teeth = (\d+), wheel_teeth = (\d+)"
    )
    again = gw.GearPair(*(gw.Gear(module, int(z)) for z in teeth))
    assert report(again, bit=1.0)["contact ratio"].verdict == "pass"


def test_the_bit_and_the_module_told_fit():
    pair = sound_pair()
    check = report(pair, bit=8.0)["bit fit, pinion"]
    assert not check.ok
    bit, module = numbers(check.remedy, r"diameter = ([\d.]+); or \[stage\] module = ([\d.]+)")
    assert bit in SOLD
    assert report(pair, bit=bit)["bit fit, pinion"].ok
    bigger = gw.GearPair(gw.Gear(module, 14, 0.25, thinning=0.2), gw.Gear(module, 38, thinning=0.2))
    assert report(bigger, bit=8.0)["bit fit, pinion"].ok


def test_the_backlash_told_is_enough_by_either_way():
    tight = gw.GearPair(gw.Gear(5, 20), gw.Gear(5, 30))
    check = report(tight)["backlash"]
    assert not check.ok
    distance, thinning = numbers(
        check.remedy, r"centre_distance = ([\d.]+); or .*thinning = ([\d.]+)"
    )
    assert report(gw.GearPair(tight.pinion, tight.wheel, distance))["backlash"].verdict == "pass"
    thin = gw.GearPair(gw.Gear(5, 20, thinning=thinning), gw.Gear(5, 30, thinning=thinning))
    assert report(thin)["backlash"].verdict == "pass"


def test_the_thin_tip_is_mended_as_told():
    pair = gw.GearPair(gw.Gear(5, 9, 0.58, thinning=0.2), gw.Gear(5, 30, thinning=0.2))
    check = report(pair, bit=2.0)["tip thickness, pinion"]
    assert not check.ok
    (change,) = numbers(check.remedy, r"pinion_tip_alteration = (-\d+\.\d+)")
    again = gw.GearPair(replace(pair.pinion, tip_alteration=change), pair.wheel)
    assert report(again, bit=2.0)["tip thickness, pinion"].ok


def test_too_much_torque_is_mended_by_the_width_or_the_torque_told():
    overloaded = report(sound_pair(), torque=7.0)
    for check in overloaded.failed:
        layers, torque = dict(way[0] for way in check.ways).values()
        cut, thick = gw.CutPair(sound_pair(), gw.Bit(3.0)), glued(gw.plywood("birch", 12), layers)
        assert gw.check_pair(cut, thick, torque=7.0, speed=150.0)[check.name].ok
        assert report(sound_pair(), torque=torque)[check.name].ok
    assert len(overloaded.failed) >= 2


def test_every_allowable_can_be_traced():
    check = report(sound_pair())["tooth bending, pinion, running"]
    first, *factors, last = check.basis
    value = first.value
    for step in factors:
        value = value / step.value if step.quantity.startswith("divided") else value * step.value
    assert value == pytest.approx(last.value)
    assert check.limit == pytest.approx(last.value)
    assert all(step.source for step in check.basis)


def test_nonsense_is_refused():
    with pytest.raises(gw.GearworkError, match="face width is -1 mm"):
        report(sound_pair(), face_width=-1)
    with pytest.raises(gw.GearworkError, match="running torque is nan"):
        report(sound_pair(), torque=np.nan)
    with pytest.raises(gw.GearworkError, match="speed is 'fast'"):
        report(sound_pair(), speed="fast")


def test_shafts_within_their_tolerance_leave_half_of_the_backlash():
    pair = sound_pair()
    play = distance_tolerance(pair)
    near = gw.GearPair(pair.pinion, pair.wheel, pair.centre_distance - play)
    assert pair.backlash / 2 <= near.backlash <= 0.55 * pair.backlash  # rounded to 0.01 mm


def test_where_no_shortened_tip_helps_another_profile_shift_does():
    """The foot of 10 teeth lies so deep that the mate would lose its whole tooth."""
    pair = gw.GearPair(gw.Gear(5, 10, -0.97, thinning=0.1), gw.Gear(5, 57, 0.09, thinning=0.1))
    check = report(pair, bit=1.0)["interference, pinion flank"]
    assert not check.ok
    (shift,) = numbers(check.remedy, r"pinion_shift = ([\d.]+)")
    mended = gw.GearPair(replace(pair.pinion, profile_shift=shift), pair.wheel)
    assert report(mended, bit=1.0)["interference, pinion flank"].ok


def test_a_report_is_asked_by_name_and_added_up():
    found = report(sound_pair())
    both = found + found
    assert len(both) == 2 * len(found)
    assert both.title == found.title
    with pytest.raises(KeyError, match="no check 'colour'; there are: contact ratio, "):
        found["colour"]


def test_a_report_shows_itself_as_a_table():
    page = show(report(sound_pair(), torque=7.0))
    assert page.count("<tr>") == 1 + len(report(sound_pair()))
    assert "<b>fail</b>" in page
    assert "[stage] layers = " in page


@pytest.mark.parametrize("module", [3.0, 5.0])
def test_root_clearance_is_wanted_in_proportion_to_the_module(module):
    """A twentieth of the module is the limit, a tenth is wanted."""
    pair = gw.GearPair(gw.Gear(module, 14, 0.25), gw.Gear(module, 38))
    check = report(pair, bit=1.0)["root clearance, wheel"]
    assert (check.limit, check.wanted) == pytest.approx((module / 20, module / 10))


def test_the_shift_told_against_undercut_is_enough():
    """Of 12 teeth at 20 degrees: 1 - 12 sin² 20° / 2 = 0.2981, rounded up."""
    pair = gw.GearPair(gw.Gear(5, 12, thinning=0.1), gw.Gear(5, 38, thinning=0.1))
    check = report(pair, bit=1.0)["undercut, pinion"]
    assert numbers(check.remedy, r"pinion_shift = ([\d.]+);") == [0.3]


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda cut, sheet: gw.check_pair(cut.pair, sheet), "check_pair needs a CutPair"),
        (lambda cut, sheet: gw.check_pair(cut, 12.0), "check_pair needs a sheet or stack"),
        (lambda cut, sheet: gw.rate_pair(cut.pair, sheet, 60.0), "rate_pair needs a CutPair"),
        (lambda cut, sheet: gw.rate_pair(cut, "birch", 60.0), "rate_pair needs a sheet or stack"),
        (lambda cut, sheet: gw.plot_mesh(cut.pair), "plot_mesh needs a CutPair"),
        (lambda cut, sheet: gw.animate_mesh(cut.pair), "animate_mesh needs a CutPair"),
        (lambda cut, sheet: gw.roll(cut.pair), "roll needs a CutPair"),
        (lambda cut, sheet: gw.check_tolerance(cut.pair), "check_tolerance needs a CutPair"),
        (lambda cut, sheet: gw.CutPair(cut.pinion, cut.bit), "CutPair needs a GearPair"),
        (lambda cut, sheet: gw.CutPair(cut.pair, 3.0), "CutPair needs a bit"),
        (lambda cut, sheet: gw.GearPair(cut.bit, cut.pair.wheel), "GearPair needs two gears"),
        (lambda cut, sheet: gw.GearPair(cut.pair.pinion, None), "GearPair needs two gears"),
        (lambda cut, sheet: gw.Stack("birch", (0, 45)), "Stack needs a sheet, not 'birch'"),
        (lambda cut, sheet: gw.check_tolerance(cut, 0.05), "check_tolerance needs a Scatter"),
        (lambda cut, sheet: gw.check_pair(cut, sheet, service=2), "service needs a Service"),
        (lambda cut, sheet: gw.gear_outline(cut.pair, cut.bit), "gear_outline needs a gear"),
        (lambda cut, sheet: gw.gear_outline(cut.pair.pinion, 3), "gear_outline needs a bit"),
        (lambda cut, sheet: gw.plot_polar_strength("birch"), "needs a sheet or stack"),
        (lambda cut, sheet: gw.plot_tooth_stress(cut, sheet, 45, 9), "needs a CutTooth"),
        (lambda cut, sheet: gw.plot_tooth_stress(cut.wheel, "x", 45, 9), "needs a sheet or stack"),
        (lambda cut, sheet: gw.plot_train(cut, cut.bit), "plot_train needs a train"),
        (lambda cut, sheet: gw.plot_pull_and_speed(3), "plot_pull_and_speed needs a Duty"),
        (lambda cut, sheet: gw.make_test_piece(cut.pair, 3.0, 12), "make_test_piece needs a bit"),
        (lambda cut, sheet: gw.evaluate_test_piece(cut, 4), "needs a TestPiece"),
        (lambda cut, sheet: gw.solve("orchard-hauler"), "solve needs a brief"),
        (lambda cut, sheet: gw.search(3, 4), "search needs a SearchSpace"),
        (lambda cut, sheet: gw.load_design(None), "design file needs a path, not None"),
        (lambda cut, sheet: gw.check_files(3), "folder needs a path, not 3"),
        (
            lambda cut, sheet: gw.write_files(cut, None, sheet=sheet, bores=(9, 9)),
            "folder needs a path, not None",
        ),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, 0.0), "speed is 0 rpm"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, -60.0), "speed is -60 rpm"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, np.nan), "speed"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, 60.0, face_width=0.0), "face width is 0 mm"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, 60.0, face_width=-1.0), "face width is -1"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, 60.0, face_width=np.nan), "face width"),
        (lambda cut, sheet: gw.rate_pair(cut, sheet, 60.0, detail="exact"), "detail is 'exact'"),
    ],
)
def test_wrong_things_are_refused_with_what_is_needed(call, told):
    with pytest.raises(gw.GearworkError, match=told):
        call(gw.CutPair(sound_pair(), gw.Bit(3.0)), gw.plywood("birch", 12))


def test_without_torque_the_mesh_alone_is_judged():
    """What is given no load says nothing of its strength."""
    found = report(sound_pair(), torque=0.0)
    assert {check.unit for check in found}.isdisjoint({"MPa"})
    assert {check.case for check in report(sound_pair(), torque=0.0, stall_torque=1.0)} == {
        "",
        "stall",
    }
