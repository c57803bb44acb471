"""The torque to set at the clutch asks every part that a jam can break."""

from dataclasses import replace

import pytest
from examples import example
from machines import HAULED
from machines import changed as changed_text

from gearwork.checks.shaft.alignment import tooth_depth
from gearwork.checks.shaft.beam import root_share_exponent
from gearwork.machine.design import Design
from gearwork.machine.setting import torque_setting
from gearwork.output.jobsheet.papers import setting_sentences
from gearwork.spec.solve import solve
from gearwork.spec.spec import parse_brief

TINY = 1e-4
MADE = example()
SHAFT = (
    ("rod", "", "static"),
    ("rod", "", "fatigue"),
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


def driven_with(made, torque):
    """The same machine, made for so much torque of its drive, N·m."""
    drive = made.duty.drive
    if drive.has_clutch:
        return Design(replace(made.brief, drive=replace(drive, clutch_torque=torque)))
    force = 1000.0 * torque / drive.crank_length
    return Design(replace(made.brief, drive=replace(drive, peak_force=force)))


@pytest.mark.parametrize(
    "name", ["orchard-hauler", "orchard-cart", "cider-mill", "drying-carousel", "orchard-gate"]
)
def test_all_checks_hold_up_to_the_greatest_setting(name):
    """The limit that is told is the least of all that grow with the drive's torque."""
    made = example(name)
    most = torque_setting(made).max_torque
    assert most >= made.duty.drive.max_torque
    again = driven_with(made, 0.999 * most)
    assert again.duty.drive.max_torque == pytest.approx(0.999 * most)
    assert again.report.ok, [check.name for check in again.report.failed]


def test_edge_load_sets_the_drive():
    """A rod that bends tilts its gear: the teeth bear less at their edge than on their width."""
    made = example("drying-carousel")
    setting = torque_setting(made)
    assert setting.weakest == "teeth of stage 3 (edge load)"
    (failed,) = driven_with(made, 1.01 * setting.max_torque).report.failed
    assert (failed.judged, failed.subject.number) == ("edge load", 2)


@pytest.mark.parametrize("stage", range(2))
def test_edge_and_distance_of_every_mesh_count(stage):
    mesh = MADE.loaded_meshes[stage]
    weak = replace(mesh, reserve=TINY * mesh.reserve)
    made = with_part(loaded_meshes=changed(MADE.loaded_meshes, stage, weak))
    exponent = root_share_exponent(mesh.worst.face_width, tooth_depth(mesh.cut.pair))
    borne = mesh.reserve / mesh.face_factor**exponent
    held_by(made, borne * MADE.duty.drive.max_torque, f"teeth of stage {stage + 1}", "edge load")
    bent = replace(mesh)
    bent.__dict__["distance_change"] = mesh.distance_change / TINY
    made = with_part(loaded_meshes=changed(MADE.loaded_meshes, stage, bent))
    room = mesh.distance_room(mesh.distance_change) / abs(mesh.distance_change)
    held_by(made, room * MADE.duty.drive.max_torque, f"mesh of stage {stage + 1}", "distance")


def test_everything_beside_the_train_counts():
    """Feet, wood beside the bearings, pegs and tube of the cradle; a rack's screws in the bed."""
    for base, expected in ((MADE, {"frame", "cradle"}), (example("orchard-gate"), {"bed"})):
        strong = [item for item in base.beside_train if item[1].load_share is not None]
        assert expected <= {name for name, _ in strong}
        for place, check in strong:
            weak = replace(check, value=check.value / TINY)
            others = tuple((n, weak if c is check else c) for n, c in base.beside_train)
            made = replace(base)
            made.__dict__.update(base.__dict__ | {"beside_train": others})
            share = check.limit / check.value
            held_by(made, share * base.duty.drive.max_torque, place, check.name)


def test_a_vehicle_that_rears_up_sets_the_drive():
    """By hand: the front wheels lift where the pull at the ground times h is the weight times b."""
    made = example("orchard-cart")
    flat = replace(made.brief.load, slope=0.0, tyre_friction=1.0, max_friction=1.0)
    high = replace(flat, centre_to_rear=60.0, centre_height=1500.0)
    made = Design(replace(made.brief, load=high))
    setting = torque_setting(made)
    assert setting.weakest == "vehicle (its front wheels lift)"
    output = setting.max_torque * made.train.ratio
    force = 2000.0 * output / high.wheel_diameter - high.rolling_resistance * 9.80665 * high.mass
    ahead = 9.80665 * high.mass * high.centre_to_rear / high.centre_height
    assert force == pytest.approx(ahead, rel=1e-9)
    low = replace(flat, centre_height=300.0)
    assert low.borne_torque == float("inf")


def test_what_makes_the_clutch_slip_backwards_grows_with_its_setting():
    """The cart's clutch slips as its wheels drag: friction of the train adds to what it holds."""
    made = example("orchard-cart")
    assert made.gives_way_back
    hub, gear = made.fixings[2], made.train.gears[2]
    assert made.torques.back[gear.shaft] > made.torques.stall[gear.shaft]
    weak = replace(hub)
    joints = (replace(one, design_torque=TINY * hub.design_torque) for one in hub.joints)
    weak.__dict__["joints"] = tuple(joints)
    again = replace(made)
    again.__dict__.update(made.__dict__ | {"fixings": changed(made.fixings, 2, weak)})
    most = hub.design_torque / made.torques.back[gear.shaft] * made.duty.drive.max_torque
    held_by(again, most, "hub of pinion 2")


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
