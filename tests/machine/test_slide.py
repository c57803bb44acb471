"""A load on a rack: force, travel and weight to torques, forces across the shaft, and counts."""

import math
from dataclasses import replace

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.tooth.friction import FRICTION
from gearwork.checks.tooth.load_case import Service, load_cases
from gearwork.checks.tooth.strength import slow_factors
from gearwork.machine.design import Design
from gearwork.machine.slide import RackLoad
from gearwork.machine.stage import Stage
from gearwork.spec.spec import example_text, parse_brief

PAIR = gw.GearPair(gw.Gear(5, 15, profile_shift=0.3), gw.Rack(5, 100))
WAXED = FRICTION["waxed"]


def lift(**given):
    usual = {"force": 400.0, "travel": 900.0, "travel_speed": 0.1, "mass": 30.0, "slope": 90.0}
    return RackLoad(Stage(PAIR, 24.0), WAXED, **{**usual, **given})


def gate(**given):
    return lift(**{"force": 60.0, "mass": 40.0, "slope": 0.0, **given})


def test_a_turn_moves_the_bar_by_pi_m_z_and_force_times_radius_is_the_torque():
    """60 N at 75 mm of reference diameter: 2.25 N·m, and what the mesh takes of the power."""
    load = gate()
    assert load.running_torque * load.efficiency == pytest.approx(60.0 * 0.0375)
    turn = math.pi * 5 * 15 / 1000.0
    assert 60.0 * turn == pytest.approx(load.running_torque * load.efficiency * 2 * math.pi)
    assert load.wanted_power == pytest.approx(load.running_torque * 0.1 / 0.0375)
    assert 0.9 < load.efficiency < 1.0
    assert load.starting_efficiency < load.efficiency


def test_what_is_lifted_weighs_as_much_as_gravity_says():
    """30 kg at 9.80665 m/s² (CGPM 1901): 294.2 N, 11.03 N·m on 37.5 mm; half of it on 30°."""
    load = lift()
    assert load.weight == pytest.approx(294.1995)
    assert load.holding_torque == pytest.approx(294.1995 * 0.0375)
    assert load.back_torque == pytest.approx(2 * 294.1995 * 0.0375)
    assert lift(slope=30.0).weight == pytest.approx(294.1995 / 2)
    # friction of 105.8 N is what grows at the start
    assert load.starting_force == pytest.approx(294.1995 + 1.5 * (400 - 294.1995))
    assert not load.reverses
    assert gate().reverses
    assert gate().back_event[0] == "drive locks"
    assert load.back_event[0] == "load runs back"


def test_the_teeth_push_the_bar_from_the_pinion_by_f_tan_alpha():
    """F tan 20° = 0.36397 F (statics of the line of action, any handbook)."""
    load = gate(rack_direction=90.0)
    along, apart = load.forces(2.25)
    assert (along, apart) == pytest.approx((60.0, 21.838), abs=1e-3)
    found = load.attached(2.25, 40.0, running=True)
    for x, y in found.directions:
        assert y == pytest.approx(-apart)  # the bar lies above: the pinion is pressed down
        assert abs(x) == pytest.approx(along)
        assert math.hypot(x, y) == pytest.approx(60.0 / math.cos(math.radians(20.0)))
    senses = sorted(float(np.sign(x)) for x, _ in found.directions)
    assert senses == [-1.0, 1.0]


def test_each_tooth_of_the_bar_comes_once_in_a_stroke():
    """20 h at 0.1 m/s over 900 mm: 8000 strokes; the pinion turns 30 558 times meanwhile."""
    load = gate(travel=900.0)
    service = Service(running_hours=20.0)
    assert load.strokes_per_hour * 20.0 == pytest.approx(8000.0)
    speed = 60.0 * 100.0 / (math.pi * 75.0)
    assert speed * 60 * 20 == pytest.approx(30558, abs=1)
    cut = gw.CutPair(PAIR, gw.Bit(3.0))

    def loads(side, travel):
        (case,) = load_cases(2.0, speed, service, travel=travel)
        found = slow_factors(cut, side, case, "shear")
        wanted = pytest.approx(share(found), rel=1e-5)
        counts = (8000.0, 30558.0, 61116.0)
        return [n for n in counts if share(case.factors(n / 1200.0, "shear")) == wanted]

    def share(factors):
        return math.prod(1 / f.value if f.divides else f.value for f in factors)

    assert loads("wheel", 900.0) == [8000.0]
    assert loads("pinion", 900.0) == loads("wheel", None) == [30558.0]
    # half a turn to and fro: the same half of the pinion is loaded twice as often
    assert loads("pinion", math.pi * 75 / 2) == [61116.0]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"force": 290.0}, "pull back with 294.2 N"),
        ({"travel": 50.0}, "7200 strokes an hour"),
        ({"slope": 91.0}, "slope"),
        ({"force": 0.0}, "force"),
    ],
)
def test_what_cannot_be_is_refused(given, told):
    with pytest.raises(gw.GearworkError, match=told):
        lift(**given)


def test_a_bar_too_short_for_its_travel_fails_with_the_teeth_it_needs():
    """100 teeth of 15.708 mm, two at either end kept: 1508 mm; 1600 take 102 + 4."""
    (check,) = gate(travel=1507.0).checks(10.0)
    assert check.ok
    assert check.value == pytest.approx(96 * math.pi * 5)
    (check,) = gate(travel=1600.0).checks(10.0)
    assert not check.ok
    assert "rack_teeth = 106" in check.remedy
    (check,) = replace(
        gate(travel=1600.0), stage=Stage(gw.GearPair(PAIR.pinion, gw.Rack(5, 106)), 24.0)
    ).checks(10.0)
    assert check.ok


def test_lifts_are_for_licensed_practice_and_gates_crush():
    assert "licensed practice" in " ".join(lift().cautions)
    assert "Nobody rides" in " ".join(lift().cautions)
    assert "no brake" in " ".join(lift().cautions)
    assert "crushes" in " ".join(gate().cautions)


@pytest.fixture(scope="module")
def lift_machine():
    """The gate's gears stood on end: a crate of 5 kg, 5.97 N of friction in its guide."""
    return gw.solve(
        parse_brief(
            changed(
                ("force = 45.0", "force = 55.0"),
                ("mass = 40.0 ", "mass = 5.0\nslope = 90.0 "),
                ("rack_direction = 90.0", "rack_direction = 0.0"),
            ),
            "lift.toml",
        )
    )


def test_a_lift_as_a_machine_feels_weight_and_friction(lift_machine):
    """By statics: 5 kg x 9.80665 = 49.03 N; the pinion has 16 teeth m 8, 64 mm of radius.

    Moving 55 N x 0.064 m = 3.52 N·m, over what the mesh keeps. Held 49.03 x 0.064 = 3.138 N·m,
    with no help from friction; falling through the backlash twice that, 98.07 N at the bar.
    Up to the drive the torques fall with the ratios, 56/13 each: 18.556.
    """
    design = lift_machine
    assert design.report.ok, str(design.report)
    events = {event.name: event for event in design.events}
    running = events["running"].torques
    assert running[-1] * design.duty.load.efficiency == pytest.approx(3.52)
    assert events["load is held"].torques[-1] == pytest.approx(3.138, abs=1e-3)
    assert events["load runs back"].torques[-1] == pytest.approx(6.276, abs=1e-3)
    along, apart = design.duty.load.forces(events["load runs back"].torques[-1])
    assert (along, apart) == pytest.approx((98.07, 98.07 * 0.36397), abs=1e-2)
    # a metre up takes 55 J at the bar, and at the drive what mesh and bearings take more
    turns = 1.0 / (math.pi * 0.128) * (56 / 13) ** 2
    work = 2 * math.pi * turns * running[0]
    lost = design.duty.efficiency * design.duty.load.efficiency
    assert work * lost == pytest.approx(55.0)
    # no friction of the train is counted on to hold it: all of it comes back to the drive
    for name in ("load is held", "load runs back"):
        back = events[name].torques
        assert back[0] == pytest.approx(back[-1] / (56 / 13) ** 2)


def test_a_lift_falls_when_its_drive_lets_go_and_says_so(lift_machine):
    """49 N pull it back, a brake must bear twice that; the teeth then carry on their other side."""
    told = " ".join(lift_machine.cautions)
    assert "runs back by itself with 49 N" in told
    assert "holds 98.1 N" in told
    assert "does not depend on the teeth" in told
    assert "licensed practice" in told
    stage = lift_machine.reports[[r.title for r in lift_machine.reports].index("stage 3")]
    assert stage.select("tooth bending", "rack", "braking")


def test_a_lift_whose_clutch_gives_way_below_its_weight_does_not_even_start():
    """0.15 N·m x 18.556 = 2.78 N·m at the pinion, and 3.138 hold the crate."""
    lifted = (
        ("force = 45.0", "force = 55.0"),
        ("mass = 40.0 ", "mass = 5.0\nslope = 90.0 "),
        ("clutch_torque = 0.42", "clutch_torque = 0.15"),
    )
    assert ("duty", None, "ratio to start", "", "") in failed(*lifted)


def changed(*pairs):
    text = example_text("orchard-gate")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


def failed(*pairs):
    report = gw.solve(parse_brief(changed(*pairs), "gate.toml")).report
    return {(c.subject.kind, c.subject.number, c.judged, c.part, c.case) for c in report.failed}


def test_the_example_holds_and_everything_of_the_rack_is_in_it(gate):
    assert gate.report.ok, str(gate.report)
    names = [gear.name for gear in gate.gears]
    assert names[-2:] == ["pinion 3", "rack 3"]
    assert [part.name for part in gate.parts if part.name.startswith("rack")]
    assert gate.toleranced_distances[-1][0][:2] == ("shaft 3", "hole of rack 3")
    rack = gate.stages[-1]
    assert gate.toleranced_distances[-1][0][2] == pytest.approx(
        rack.pair.centre_distance + rack.pair.wheel.hole_depth
    )
    # the axis of the hole stands above the last shaft, as the file says
    (x, y), (u, v) = gate.points(2)
    assert (u - x, v - y) == pytest.approx((0.0, rack.axes_apart), abs=1e-9)


def test_a_stronger_clutch_breaks_the_teeth_of_the_rack_alone_among_teeth():
    """Stall torque goes on through the last pinion: 2.2 N·m x 18.6 is more than they bear."""
    teeth = {one for one in failed(("clutch_torque = 0.42", "clutch_torque = 2.2")) if one[4]}
    assert ("stage", 2, "tooth bending", "rack", "stall") in teeth


def test_a_pinion_far_from_the_plate_is_bent_from_the_bar():
    """The slope of the rod grows with the overhang."""
    far = ("load_overhang = 35.0", "load_overhang = 60.0")
    free = ("[service]", "[service]")
    assert ("stage", 2, "edge load", "", "") in failed(far, free)


def test_screws_decide_alone_where_a_strong_bar_is_in_short_pieces():
    """3 mm screws through 36 mm of bar, two in each 200 mm: 14 N·m on the pinion's 60 mm, 233 N."""
    text = example_text("press-slide")
    for old, new in (
        ("[[stage]]", "stock = { width = 400.0, height = 400.0 }\n[[stage]]"),
        ("module = 5.0", "module = 8.0"),
        ("rack_height = 27.0", "rack_height = 45.0"),
        ("layers = 2", "layers = 3"),
        ("12.0, 4.5]", "12.0, 3.3]"),
        ("torque = 2.0", "torque = 14.0"),
    ):
        assert old in text
        text = text.replace(old, new)

    def failures(text):
        return [check.judged for check in gw.solve(parse_brief(text, "slide.toml")).report.failed]

    assert failures(text) == ["screws of the rack"]
    # what its remedy says: 3.5 mm in holes of 4 mm
    assert failures(text.replace("12.0, 3.3]", "12.0, 4.0]")) == []


def test_travel_decides_alone():
    assert failed(("travel = 1000.0", "travel = 1100.0")) == {
        ("duty", None, "travel of the rack", "rack", "")
    }


def test_a_bar_that_runs_over_another_rod_is_noticed():
    """Across the drive's rods the bar would pass nuts and rings with no room."""
    near = ("load_overhang = 35.0", "load_overhang = 27.0")
    found = failed(near)
    assert ("room", None, "room beside the plate", "", "") in found or (
        "train", None, "room beside the plate", "", ""
    ) in found  # fmt: skip


@pytest.mark.parametrize(
    ("pairs", "told"),
    [
        ([('kind = "rack"', 'kind = "given"')], 'kind = "rack"'),
        ([("rack_teeth = 44 ", "wheel_teeth = 44 "), ("rack_height = 42.0", ""),
          ("bores = [4.5]", "")], "rack_teeth"),
        ([("bores = [4.5]", "bores = [12.0, 4.5]")], "screw"),
        ([("bores = [4.5]", "torque = 3.0")], "without a machine"),
        ([("wheel_teeth = 56", "rack_teeth = 56")], "one rack"),
    ],
)  # fmt: skip
def test_a_file_that_says_too_much_or_too_little_of_the_rack(pairs, told):
    with pytest.raises(gw.GearworkError, match=told):
        gw.solve(parse_brief(changed(*pairs), "gate.toml"))


def test_the_search_finds_the_stages_before_a_given_rack():
    """Without the turning stages they are searched; the rack stays, in the text as well."""
    text = example_text("orchard-gate")
    first = text.index("[[stage]]")
    text = text[:first] + text[text.index("[[stage]]                  # the last") :]
    text += (
        "\n[wishes]\nstages = [2]\nmodules = [5]\npinion_teeth = [13, 13]\nwheel_teeth = [56, 56]\n"
        "pinion_shifts = [0.4, 0.4]\n"
    )
    design = gw.solve(parse_brief(text, "gate.toml"))
    assert len(design.brief.stages) == 2
    assert len(design.stages) == 3
    again = parse_brief(design.brief.text, "again.toml")
    assert again.stages == design.brief.stages
    assert again.rack == design.brief.rack


def test_screws_of_a_bar_are_held_against_a_stall(gate):
    """What a clutch lets through goes to the bar; running takes the same whatever it is set to."""

    def screws(clutch):
        drive = replace(gate.brief.drive, clutch_torque=clutch)
        (check,) = Design(replace(gate.brief, drive=drive))._screw_checks(2)
        return check.value

    assert screws(0.84) == pytest.approx(2.0 * screws(0.42), rel=0.02)
