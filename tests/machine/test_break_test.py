"""The break test: where its pieces touch, what its lever does, what breaks first."""

import numpy as np
import pytest

from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.strength import beam_roots
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.outline import depth_inside
from gearwork.geometry.pair import GearPair
from gearwork.geometry.rack import Rack
from gearwork.geometry.toolpath import bit_paths
from gearwork.machine.break_test import make_break_test
from gearwork.stock.bit import Bit
from gearwork.stock.hardware import nut, washer
from gearwork.stock.plywood import plywood


def cut_pair(module, teeth, shift=0.0, bit=3.0, thinning=0.2):
    pinion, wheel = (
        Gear(module, z, x, thinning=thinning) for z, x in zip(teeth, (shift, 0.0), strict=True)
    )
    return CutPair(GearPair(pinion, wheel), Bit(bit))


TESTS = {
    "13/44": make_break_test(cut_pair(6, (13, 44), 0.3), plywood("birch", 12)),
    "16/44": make_break_test(cut_pair(5, (16, 44)), plywood("birch", 9)),
    "10/40": make_break_test(cut_pair(6, (10, 40), 0.4), plywood("birch", 12)),
    "12/20": make_break_test(cut_pair(3, (12, 20), 0.3, bit=2.0), plywood("birch", 6.5)),
    # its arm leaves the root circle all but smoothly
    "22/50": make_break_test(cut_pair(8, (22, 50), bit=4.0), plywood("birch", 12)),
    # four of its teeth would leave no way round the bolts
    "10/34": make_break_test(cut_pair(8.5, (10, 34), 0.5), plywood("birch", 12)),
    "18/18": make_break_test(cut_pair(8, (18, 18), 0.1, bit=6.0), plywood("birch", 18)),
}


@pytest.fixture(params=TESTS.values(), ids=TESTS)
def rig(request):
    return request.param


def in_place(rig, tooth):
    """Sector turned to one of its teeth, and lever on its pivot."""
    sector = rig.sector.turned(rig.tested - float(rig.places[tooth]))
    return sector, rig.lever.moved(0.0, rig.cut.pair.centre_distance)


def test_lever_touches_the_tested_tip_and_nothing_else(rig):
    """By points along both edges: no overlap, contact at the tip corner, the rest clear."""
    for tooth in range(rig.count):
        sector, lever = in_place(rig, tooth)
        points = sector.outer.points(0.002)
        depth = depth_inside(points, lever.outer, 0.002)
        assert -0.02 < depth.max() < 0.006
        near = points[depth > -0.02]
        contact = [rig.contact.real, rig.contact.imag]
        assert np.hypot(*(near - contact).T).max() < 0.15 * rig.gear.module
        assert abs(rig.contact) == pytest.approx(rig.gear.tip_diameter / 2)


def test_lever_swings_on_over_broken_teeth(rig):
    """Its tooth goes 25° on: what is left in its way are teeth broken before, at their roots.

    The next tooth to break stays clear.
    """
    for tooth in range(rig.count - 1):
        sector, _ = in_place(rig, tooth)
        points = sector.outer.points(0.02)
        behind = np.degrees(np.angle(points @ [1, 1j])) < rig.tested - 0.6 * rig.step
        for turn in (-2.0, -5.0, -10.0):
            turned = rig.lever.turned(turn).moved(0.0, rig.cut.pair.centre_distance)
            assert depth_inside(points[behind], turned.outer, 0.02).max() < 0.0, tooth


def test_force_is_on_the_line_of_action(rig):
    """Square to both flanks: tangent to both base circles, away from the lever's turn."""
    pivot, at = rig.pivot, rig.contact
    arm = (np.conj(rig.push) * (at - pivot)).imag
    assert abs(arm) == pytest.approx(rig.mate.base_diameter / 2)
    assert abs((np.conj(rig.push) * at).imag) == pytest.approx(rig.gear.base_diameter / 2)
    turns = (at - pivot).real * rig.push.imag - (at - pivot).imag * rig.push.real
    assert turns < 0.0  # the lever turns clockwise, as a pull down at the right end turns it


def test_torque_of_a_reading_by_hand():
    """13/44, arm 600 mm: 1 kg is 9.807 N x 0.6 m x 13/44 = 1.738 N·m on the pinion."""
    rig = TESTS["13/44"]
    assert rig.side == "pinion"
    assert rig.arm == 600.0
    assert rig.per_kilogram == pytest.approx(9.80665 * 0.6 * 13 / 44)
    assert rig.shown(rig.own_weight + 2 * rig.per_kilogram) == pytest.approx(2.0)


def test_weight_of_the_lever_by_its_polygon(rig):
    """Moment of triangles from the pivot, density of birch; little beside what breaks a tooth."""
    points = rig.lever.outer.points(0.01)
    after = np.roll(points, -1, axis=0)
    areas = (points[:, 0] * after[:, 1] - points[:, 1] * after[:, 0]) / 2
    moment = (areas * (points[:, 0] + after[:, 0]) / 3).sum()
    newton = rig.sheet.density * 1e-9 * rig.sheet.thickness * 9.80665
    expected = moment * newton / 1000 * rig.gear.teeth / rig.mate.teeth
    assert rig.own_weight == pytest.approx(expected, rel=1e-3)
    assert rig.own_weight < 0.03 * rig.readings[0].torque


def test_teeth_of_the_sector_are_those_of_the_gear(rig):
    """Every point of a tooth's flanks lies on the gear's own edge, tooth by tooth."""
    edge = tooth_outline(rig.tooth)
    outer = rig.sector.outer.points(0.01)
    radius = np.hypot(*outer.T)
    flanks = outer[radius > rig.tooth.root_diameter / 2 + 0.5 * rig.gear.module]
    for place in rig.places:
        turned = edge.turned(float(place))
        angles = np.degrees(np.angle(flanks @ [1, 1j])) - place
        own = flanks[np.abs((angles + 180) % 360 - 180) < 180 / rig.gear.teeth]
        assert len(own) > 10
        assert np.abs(depth_inside(own, turned, 0.01)).max() < 0.02


def test_directions_are_those_of_the_teeth_to_the_grain(rig):
    for place, direction in zip(rig.places, rig.directions, strict=True):
        off = (place - rig.sector.grain - direction + 90.0) % 180.0 - 90.0
        assert abs(off) <= 0.5
    assert max(rig.directions) - min(rig.directions) >= 70.0


def test_everything_else_outlasts_the_tooth(rig):
    assert all(held.share <= 1.0 for held in rig.outlasting)
    assert {held.what for held in rig.outlasting} >= {"the lever's tooth", "the lever's arm"}


def test_holes_have_wood_and_bits_find_their_way(rig):
    for part in rig.parts:
        assert len(bit_paths(part, rig.cut.bit)) == 1
        for cut in part.cuts:
            room = depth_inside(cut.outline.points(0.1), part.outer).min()
            assert room > 0.7 * rig.hole, part.name


def test_holes_of_sector_and_plate_meet(rig):
    """Turned to each of its teeth the sector has a hole over the plate's second one."""
    lock = rig.plate.cuts[1].outline.vertices.mean(axis=0)
    for tooth in range(rig.count):
        sector, _ = in_place(rig, tooth)
        middles = np.array([cut.outline.vertices.mean(axis=0) for cut in sector.cuts])
        assert np.hypot(*(middles - lock).T).min() < 1e-9
        assert np.hypot(*middles[0]) < 1e-9
    pivot = rig.plate.cuts[2].outline.vertices.mean(axis=0)
    assert np.hypot(*pivot) == pytest.approx(rig.cut.pair.centre_distance)


def test_the_weaker_gear_is_broken(rig):
    roots = beam_roots(rig.cut, rig.sheet)
    other = "wheel" if rig.side == "pinion" else "pinion"
    assert roots[rig.side].share >= roots[other].share


def test_bolts_are_long_enough(rig):
    length = float(rig.bolts.split(" × ")[1].split(",")[0])
    thick, nut_height = rig.sheet.thickness, nut(rig.thread).height
    stack = 2 * thick + 2 * washer(rig.thread).thickness + nut_height
    assert stack < length < stack + 8.0


def test_teeth_that_would_outlast_their_lever_are_refused():
    """The large gear's tooth: the pinion's, touched near its root, is no stronger."""
    with pytest.raises(GearworkError, match="cannot be broken on a lever"):
        make_break_test(cut_pair(5, (13, 44), 0.3), plywood("birch", 12), "wheel")


def test_teeth_too_strong_for_a_scale_are_not_offered():
    with pytest.raises(GearworkError, match="too much for a scale or a bucket"):
        make_break_test(cut_pair(12, (20, 60)), plywood("birch", 18))


def test_rack_has_no_axis_to_break_its_teeth_about():
    pair = GearPair(Gear(5, 16, thinning=0.2), Rack(5, 30, thinning=0.2))
    with pytest.raises(GearworkError, match="rack turns about no axis"):
        make_break_test(CutPair(pair, Bit(3.0)), plywood("birch", 12))
