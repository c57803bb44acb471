"""Gears without a machine: the same parts, checks and strength as on the bench, nothing else."""

from dataclasses import replace

import pytest

import gearwork as gw
from gearwork.geometry.outline import circle_of
from gearwork.machine.gear_set import GearSet


def with_stage(gears, **changes):
    (stage,) = gears.brief.stages
    return GearSet(replace(gears.brief, stages=(replace(stage, **changes),)))


@pytest.fixture
def bench(washer):
    (stage,) = washer.stages
    return gw.CutPair(stage.pair, gw.Bit(3.0)), gw.Stack(gw.plywood("birch", 12), (0, 45))


def test_checks_are_those_of_the_bench(washer, bench):
    cut, stack = bench
    told = {check.name: check.value for check in gw.check_pair(cut, stack, torque=1.0, speed=150)}
    found = {check.name: check.value for check in washer.reports[0]}
    assert found.pop("diameter of wheel 1") == washer.stages[0].pair.wheel.tip_diameter
    assert found == pytest.approx(told)


def test_a_gear_larger_than_its_sheet_fails(washer):
    """By hand: z + 2 modules of 14 mm on a sheet of 600 mm with margins of 10 mm."""
    stage = replace(washer.stages[0], pair=gw.GearPair(gw.Gear(14, 18), gw.Gear(14, 49)))
    gears = GearSet(replace(washer.brief, stages=(stage,)))
    check = gears.report["stage 1: diameter of wheel 1"]
    assert (check.value, check.limit, check.ok) == (14.0 * 51, 580.0, False)
    assert check.ways[0] == (("stock.width", 1525.0), ("stock.height", 1525.0))
    with pytest.raises(gw.GearworkError, match="wheel 1 grain 0 is"):
        _ = gears.sheets


def test_what_it_bears_is_the_rating_of_the_bench(washer, bench):
    cut, stack = bench
    told, found = gw.rate_pair(cut, stack, speed=150), washer.rating(0)
    for case in ("running", "stall"):
        assert found[case].torque == pytest.approx(told[case].torque)
        assert found[case].expected_break == pytest.approx(told[case].expected_break)


def test_each_gear_has_the_bore_that_was_asked_for(washer):
    gears = with_stage(washer, bores=(10.0, 22.0))
    for part in gears.parts:
        bores = [circle_of(cut.outline) for cut in part.cuts if cut.operation == "inside edge"]
        assert [size for _, size in filter(None, bores)] == [
            10.0 if "pinion" in part.name else 22.0
        ]


def test_layers_are_parts_with_their_grain_and_a_witness_hole(washer):
    assert [(part.name, part.grain) for part in washer.parts] == [
        ("pinion 1 grain 0", 0.0),
        ("pinion 1 grain 45", 45.0),
        ("wheel 1 grain 0", 0.0),
        ("wheel 1 grain 45", 45.0),
    ]
    assert all(part.witness is not None for part in washer.parts)


def test_without_a_torque_the_mesh_is_judged_and_a_stall_is_rated(washer):
    gears = with_stage(washer, torque=None, speed=None)
    assert not [check for check in gears.report if check.case]
    assert [limit.case.name for limit in gears.rating(0).limits] == ["stall"]
    assert gears.rating(0)["stall"].torque == pytest.approx(washer.rating(0)["stall"].torque)


def test_ten_times_the_torque_fails(washer):
    failed = with_stage(washer, torque=10.0).report.failed
    assert {check.judged for check in failed} == {"tooth bending"}


def test_one_gear_alone_is_cut_with_its_mate_in_mind(washer):
    gears = with_stage(washer, only="wheel", bores=(20.0,))
    assert {part.name for part in gears.parts} == {"wheel 1 grain 0", "wheel 1 grain 45"}
    assert gears.parts[0].outer == washer.parts[2].outer
    assert gears.axes == ()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"bores": ()}, "[stage 1] bores are []: one in mm is needed for pinion and wheel"),
        ({"bores": (12.0,)}, "one in mm is needed for pinion and wheel"),
        ({"only": "wheel"}, "one in mm is needed for wheel"),
        ({"speed": None}, "[stage 1] torque is given without a speed"),
        ({"torque": -1.0}, "torque is -1 N·m: it must be above 0 N·m"),
        ({"bores": (12.0, 0.0)}, "bores is 0 mm: it must be above 0 mm"),
    ],
)
def test_what_cannot_be_is_refused(washer, changes, said):
    with pytest.raises(gw.GearworkError) as error:
        with_stage(washer, **changes)
    assert said in str(error.value)


def test_a_bore_that_leaves_no_wood_names_the_gear(washer):
    with pytest.raises(gw.GearworkError, match="pinion 1 grain 0: bore of 58 mm leaves 1.00 mm"):
        _ = with_stage(washer, bores=(58.0, 12.0)).parts


def test_a_machine_says_its_own_bores_and_torques(hauler):
    stages = tuple(replace(stage, bores=(12.0, 12.0)) for stage in hauler.brief.stages)
    with pytest.raises(gw.GearworkError, match=r"\[stage 1\] bores is for gears without a machine"):
        gw.Design(replace(hauler.brief, stages=stages))


def test_several_pairs_stand_below_each_other(washer):
    (stage,) = washer.stages
    gears = GearSet(replace(washer.brief, stages=(stage, stage)))
    (first, _), (second, _) = gears.points(0), gears.points(1)
    assert first[1] - second[1] > stage.pair.wheel.tip_diameter
    assert [gear.name for gear in gears.gears] == ["pinion 1", "wheel 1", "pinion 2", "wheel 2"]
