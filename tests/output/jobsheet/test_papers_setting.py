"""The torque to set at the clutch asks every part that a jam can break."""

from dataclasses import replace

import pytest
from examples import example
from machines import HAULED
from machines import changed as changed_text

from gearwork.machine.design import Design
from gearwork.machine.setting import torque_setting
from gearwork.output.jobsheet.papers import setting_sentences
from gearwork.spec.solve import solve
from gearwork.spec.spec import parse_brief

TINY = 1e-4
MADE = example()
SHAFT = (
    ("rod", "", "static"),
    *((judged, f"bearing {place}", "") for judged in ("static safety", "seat") for place in "AB"),
)
RIM = ("tooth bending on its rim", "spokes", "rim between the spokes")


def with_part(**parts):
    """The same design, but for some of what it found."""
    again = replace(MADE)
    again.__dict__.update(MADE.__dict__ | parts)
    return again


def weakened(checks, facts):
    """The same checks, one of which bears next to nothing."""

    def weak(check):
        much = 1 / TINY if check.sense == "at most" else TINY
        return replace(check, value=check.value * much)

    found = [check for check in checks if (check.judged, check.part, check.case) == facts]
    assert len(found) == 1, facts
    return tuple(weak(check) if check is found[0] else check for check in checks)


def changed(items, place, item):
    return (*items[:place], item, *items[place + 1 :])


def held_by(design, torque, *words):
    setting = torque_setting(design)
    assert setting.max_torque == pytest.approx(TINY * torque)
    for word in words:
        assert word in setting.weakest


@pytest.mark.parametrize("facts", SHAFT)
@pytest.mark.parametrize("shaft", range(3))
def test_every_check_of_a_shaft_that_a_jam_can_break_counts(shaft, facts):
    report = MADE.stalled[shaft]
    (check,) = report.select(*facts)
    weak = replace(report, checks=weakened(report, facts))
    made = with_part(stalled=changed(MADE.stalled, shaft, weak))
    share = check.limit / check.value
    share = share if check.sense == "at most" else 1 / share
    held_by(made, share * MADE.duty.drive.max_torque, f"shaft {shaft + 1}", check.judged)


def test_what_runs_back_sets_no_clutch():
    """A heavier load on the slope comes back harder; what the drive may give stays the same."""
    heavy = changed_text(HAULED, ("mass = 20.0", "mass = 24.0"), ("layers = 1", "layers = 2"))
    light = changed_text(heavy, ("mass = 24.0", "mass = 18.0"))
    one, other = (solve(parse_brief(text, "test")) for text in (heavy, light))
    assert one.torques.back[-1] > one.torques.stall[-1]
    assert one.torques.back[-1] > 1.2 * other.torques.back[-1]
    asked = [[check.value for report in d.stalled for check in report] for d in (one, other)]
    assert asked[0] == pytest.approx(asked[1], rel=1e-9)


@pytest.mark.parametrize("judged", RIM)
@pytest.mark.parametrize("stage", range(2))
def test_every_check_of_a_rim_that_a_jam_can_break_counts(stage, judged):
    report = MADE.rims[stage]
    facts = (judged, "wheel", "stall")
    (check,) = report.select(*facts)
    weak = replace(report, checks=weakened(report, facts))
    made = with_part(rims=changed(MADE.rims, stage, weak))
    torque = check.limit / check.value * MADE.duty.drive.max_torque
    held_by(made, torque, judged, str(stage + 1))


@pytest.mark.parametrize("part", ["pinion", "wheel", "contact"])
@pytest.mark.parametrize("stage", range(2))
def test_every_tooth_and_the_flanks_count(stage, part):
    limits = MADE.limits[stage]
    (limit,) = (
        limit
        for limit in limits
        if limit.case.name == "stall"
        and part == ("contact" if limit.kind == "contact" else limit.side)
    )
    weak = replace(limit, torque=TINY * limit.torque)
    some = changed(limits, limits.index(limit), weak)
    made = with_part(limits=changed(MADE.limits, stage, some))
    torque = limit.torque * MADE.duty.drive.max_torque / MADE.torques.stall[stage]
    held_by(made, torque, "flank" if part == "contact" else f"teeth of {part}", str(stage + 1))


@pytest.mark.parametrize("place", range(4))
def test_every_hub_counts(place):
    held, gear = MADE.fixings[place], MADE.train.gears[place]
    weak = replace(held)  # rated anew, but for joints that bear next to nothing
    weak.__dict__["joints"] = tuple(
        replace(joint, design_torque=TINY * held.design_torque) for joint in held.joints
    )
    made = with_part(fixings=changed(MADE.fixings, place, weak))
    torque = held.design_torque * MADE.duty.drive.max_torque / MADE.torques.stall[gear.shaft]
    held_by(made, torque, f"hub of {gear.name}")


def test_a_clutch_is_set_where_there_is_one():
    """A motor without one is limited at the first shaft instead."""
    bare = replace(MADE.duty.drive, clutch_torque=None, other_gear=None, drill=False)
    for drive, said in ((MADE.duty.drive, True), (bare, False)):
        made = Design(replace(MADE.brief, drive=drive))
        assert ("the drive's clutch to slip" in setting_sentences(made)[0]) == said
