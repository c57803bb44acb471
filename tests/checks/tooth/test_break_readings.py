"""Torques at which teeth broke, and what they make of their sheet."""

from dataclasses import replace

import numpy as np
import pytest

from gearwork.checks.tooth.break_readings import (
    broken_teeth,
    direction_break,
    duration_share,
    edge_use,
    friction_left,
)
from gearwork.checks.tooth.breaking import breaking_shares
from gearwork.checks.tooth.friction import FRICTION
from gearwork.checks.tooth.mesh import CutPair
from gearwork.checks.tooth.pair_check import rate_pair
from gearwork.checks.tooth.stress import SheetPolar, notch_factor, root_stress
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.geometry.tooth import fillet_points, load_at
from gearwork.stock.bit import Bit
from gearwork.stock.broken_teeth import characteristic_value
from gearwork.stock.laminate import Stack
from gearwork.stock.plywood import plywood

PAIR = GearPair(Gear(5, 16, 0.1, thinning=0.2), Gear(5, 44, thinning=0.2))
CUT = CutPair(PAIR, Bit(3.0))
NINE = plywood("birch", 9)
EVERY = (67.0, 90.0, 112.0, 134.0, 157.0)
STANDARD = 300.0  # s, EN 408
PER_TORQUE = 2000.0 / PAIR.pinion.base_diameter / NINE.thickness
FRICTIONLESS = friction_left(CUT, "pinion")


def torque_for(factor, direction):
    """Torque at which a tooth breaks whose sheet has so many times the table's tension strength."""
    return factor / float(edge_use(CUT.pinion, NINE, direction).max()) / PER_TORQUE


def evaluated(torques, directions, duration=STANDARD, layers=1):
    return broken_teeth(CUT, "pinion", NINE, layers, torques, directions, duration)


def alike(factor, directions=EVERY, count=5):
    """Teeth that all break at so many times what the table's characteristic strength bears."""
    pairs = [(torque_for(factor, d), d) for d in directions for _ in range(count)]
    return evaluated(*zip(*pairs, strict=True))


def test_use_of_an_edge_by_hand():
    """A tooth at 100° pushed on its clockwise flank: point by point along its right fillet."""
    stress = root_stress(CUT.pinion, PAIR.pinion.tip_diameter)
    rose = SheetPolar.of(NINE)
    edges = 100.0 - stress.slope
    by_point = stress.tension * np.asarray(NINE.modulus_at(edges)) * rose.compliance
    by_point /= np.asarray(NINE.tension_at(edges))
    # PEAK 1.05; the place nearest to an edge across the grain, of 24, and the greatest of all
    found = edge_use(CUT.pinion, NINE, 100.0)
    nearest = int(np.argmin(np.abs(edges - 120.0)))  # as 60° on the other side of the grain
    assert found[60] == pytest.approx(1.05 * by_point[nearest], rel=0.05)
    assert found.max() == pytest.approx(1.05 * by_point.max(), rel=0.01)


@pytest.mark.parametrize("tooth", [CUT.pinion, CUT.wheel])
def test_weakest_direction_is_what_the_rating_counts(tooth):
    every = [edge_use(tooth, NINE, d).max() for d in range(0, 180, 2)]
    shares = breaking_shares(tooth, tooth.gear.tip_diameter, SheetPolar.of(NINE))
    assert max(every) == pytest.approx(shares.tension, rel=2e-3)


def test_tooth_and_its_mirror_image_are_alike():
    """Pushed on the clockwise flank at d° it is the mirror image of the other flank at −d°."""
    assert edge_use(CUT.pinion, NINE, 30.0).max() == edge_use(CUT.pinion, NINE, 210.0).max()
    assert edge_use(CUT.pinion, NINE, 30.0).max() != edge_use(CUT.pinion, NINE, 150.0).max()


def test_rating_moves_with_what_teeth_bore():
    """All directions, no scatter: k_s(5) 2.46 on the least spread 0.05, friction of a waxed tip."""
    borne = 1.8 * np.exp(-2.46 * 0.05) * FRICTIONLESS
    shown = alike(1.8)
    assert [broken.factor for broken in shown.found] == pytest.approx([borne] * 5, rel=1e-3)
    table = rate_pair(CUT, NINE, speed=60)["stall"]
    found = rate_pair(CUT, replace(NINE, broken_teeth=shown), speed=60)["stall"]
    assert found.torque / table.torque == pytest.approx(borne, rel=0.03)
    assert "25 teeth of this sheet broken" in found.basis[0].source
    # mean and 5 to 95 % of what was measured instead of what elements expect
    assert found.expected_break == pytest.approx(
        min(torque_for(1.8, d) for d in range(180)), rel=0.03
    )
    low, high = found.expected_range
    assert high / low == pytest.approx(np.exp(2 * 1.645 * 0.05), rel=1e-3)


def test_stack_of_a_tested_sheet_pays_for_its_turned_layers_as_before():
    tested = replace(NINE, broken_teeth=alike(1.5))
    straight, turned = (
        rate_pair(CUT, Stack(tested, layers), speed=60)["stall"].torque
        for layers in ((0.0, 0.0), (0.0, 45.0))
    )
    assert straight / turned == pytest.approx(1.08 * 1.04)


def test_sheet_weaker_than_its_table_is_weaker_in_untested_directions_too():
    shown = alike(0.9, EVERY[:1])
    bears = 0.9 * np.exp(-2.46 * 0.05) * FRICTIONLESS
    assert min(shown.tension) == max(shown.tension) == pytest.approx(bears, rel=1e-3)
    table, found = (
        rate_pair(CUT, sheet, speed=60)["stall"].torque
        for sheet in (NINE, replace(NINE, broken_teeth=shown))
    )
    assert found / table == pytest.approx(bears, rel=1e-3)


def test_strength_of_one_direction_says_nothing_of_the_others():
    """Teeth at 67° break where their edge runs across the face grain; along it the table stays."""
    shown = alike(3.0, EVERY[:1])
    assert shown.tension_at(90.0) > 1.5
    assert shown.tension_at(0.0) == shown.tension_at(180.0) == 1.0
    assert shown.tension_at(91.0) == shown.tension_at(89.0)
    assert not shown.covers
    table, found = (
        rate_pair(CUT, sheet, speed=60)["stall"]
        for sheet in (NINE, replace(NINE, broken_teeth=shown))
    )
    assert found.torque == pytest.approx(table.torque, rel=0.005)  # along and across nearly alike
    assert found.expected_break == table.expected_break


def test_weakest_tested_direction_holds_back_what_others_showed():
    weak = [(torque_for(1.2 if d == 134.0 else 2.0, d), d) for d in EVERY for _ in range(5)]
    found = evaluated(*zip(*weak, strict=True))
    bears = 1.2 * np.exp(-2.46 * 0.05) * FRICTIONLESS
    rating = rate_pair(CUT, replace(NINE, broken_teeth=found), speed=60)["stall"].torque
    assert found.weakest.direction == 134.0
    assert rating <= rate_pair(CUT, NINE, speed=60)["stall"].torque * bears * 1.005


def test_simulated_teeth_give_back_their_characteristic_value_three_times_in_four():
    """10,000 sets of five teeth with a spread of 0.17: the true 5th percentile, 75 % confidence."""
    seed, draws, spread = 4, 10_000, 0.17
    true = torque_for(1.5, 112.0)  # N·m, 5th percentile
    logs = np.random.default_rng(seed).normal(np.log(true) + 1.645 * spread, spread, (draws, 5))
    bears = characteristic_value(np.exp(logs))
    assert np.mean(bears <= true) == pytest.approx(0.75, abs=0.01), f"seed {seed}"
    one = evaluated(np.exp(logs[0]).tolist(), [112.0] * 5).found[0]
    assert one.factor == pytest.approx(1.5 * FRICTIONLESS * bears[0] / true)


def test_quick_test_counts_less_by_the_duration_of_the_load():
    """k_mod of an instantaneous load is 1.1, EN 1995-1-1 table 3.1; a standard test has 1."""
    assert duration_share(300.0) == duration_share(1800.0) == 1.0
    assert duration_share(60.0) == pytest.approx(1.0 / 1.1)
    with pytest.raises(GearworkError, match="duration of the test is 5 s.*at least 30"):
        duration_share(5.0)


def test_friction_at_the_tip_by_forces_and_arms():
    """The same from the forces in the plane, at the section where the pull is greatest.

    The tooth along x, its upper flank pushed at its tip corner; friction of 0.2 drags inwards.
    """
    gear, friction = PAIR.pinion, FRICTION["waxed"].moving
    half = gear.thickness_at(gear.tip_diameter) / gear.tip_diameter
    at = gear.tip_diameter / 2 * np.array([np.cos(half), np.sin(half)])
    normal = np.radians(gear.pressure_angle_at(gear.tip_diameter)) - half
    push = -np.array([np.sin(normal), np.cos(normal)])
    inwards = np.array([-np.cos(normal), np.sin(normal)])
    fillet = fillet_points(CUT.pinion)
    arm = load_at(gear, gear.tip_diameter).apex - fillet.x
    notch = notch_factor(fillet.thickness, arm, CUT.pinion.fillet_diameter / 2)

    def pull(force):
        reach = at[0] - fillet.x, at[1]
        moment = -(reach[0] * force[1] - reach[1] * force[0])
        stress = 6 * moment / fillet.thickness**2 + force[0] / fillet.thickness
        return (stress * notch).max()

    # the lever's torque for the same normal force, friction dragging its flank outwards
    start = PAIR.line_of_action - gear.tip_curvature
    torque = PAIR.wheel.base_diameter / 2 - friction * start
    expected = pull(push + friction * inwards) / pull(push) * PAIR.wheel.base_diameter / 2 / torque
    assert friction_left(CUT, "pinion") == pytest.approx(expected, rel=0.02)


def test_range_of_a_direction_holds_its_mean():
    mean, low, high = direction_break(CUT.pinion, NINE, 112.0)
    assert low < mean < high


@pytest.mark.parametrize(
    ("torques", "directions", "words"),
    [
        ([9.0, 9.5], [112.0, 112.0], "2 of the broken teeth stand at 112° .* at least 3"),
        ([9.0, 9.5, 9.1], [112.0, 112.0], "3 torques and 2 directions"),
        ([9.0, 9.5, 9.1], [200.0] * 3, "direction of a tooth is 200 °.*at most 180"),
        ([98.0, 102.0, 95.0], [112.0] * 3, "kilograms and newtons"),
        ([0.95, 1.0, 1.1], [112.0] * 3, "kilograms and newtons"),
        ([1100.0, 1200.0, 990.0], [112.0] * 3, "centimetres"),
        ([11000.0, 12000.0, 9900.0], [112.0] * 3, "millimetres"),
        ([9.0, 9.5, 0.0], [112.0] * 3, "torque of a broken tooth is 0"),
        ([9.0, 9.5, float("nan")], [112.0] * 3, "torque of a broken tooth"),
        ([], [], "no torque"),
    ],
)
def test_readings_that_cannot_be_are_refused_in_words(torques, directions, words):
    with pytest.raises(GearworkError, match=words):
        evaluated(torques, directions)
