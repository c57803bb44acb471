"""Search for trains: against the single gear, against nested loops, against a textbook."""

import dataclasses
import functools
import itertools
import math
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest

from gearwork.checks.tolerance import sample_pair
from gearwork.checks.tooth import strength
from gearwork.checks.tooth.friction import mesh_loss
from gearwork.checks.tooth.load_case import Service, load_cases
from gearwork.checks.tooth.mesh import CutPair, min_backlash
from gearwork.checks.tooth.pair_check import check_pair
from gearwork.checks.tooth.strength import tooth_limits
from gearwork.checks.tooth.stress import SheetPolar
from gearwork.choosing import jobs as combining
from gearwork.choosing import pairs as pair_table
from gearwork.choosing import pairs as records
from gearwork.choosing import search as search_module
from gearwork.choosing.pairs import PairGrid, pairs_in
from gearwork.choosing.ranking import front, scores
from gearwork.choosing.search import nearest_ratio, search
from gearwork.choosing.space import WORDS, Limits, SearchSpace, Weights
from gearwork.choosing.tally import judge
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.pair import GearPair
from gearwork.machine.brief import Tolerances
from gearwork.machine.drive import GivenDrive
from gearwork.machine.duty import Duty
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.load import GivenLoad, RopeDrum
from gearwork.machine.train import GearTrain, check_train
from gearwork.numbers import round_up
from gearwork.plot.display import show
from gearwork.stock.bit import Bit
from gearwork.stock.laminate import Stack
from gearwork.stock.plywood import plywood

SHEET = plywood("birch", 12)
DOUBLE = Stack(SHEET, (0.0, 45.0))
BIT = Bit(3.0)
EASY = Duty(GivenDrive(0.05, 100.0), GivenLoad(0.1, 30.0))
PARTS = ShaftParts(8.0, hub_diameter=24.0, hub_height=8.0, seat_diameter=22.0, bearing_width=7.0)
FRAME = Frame(plate_thickness=18.0, gap=12.0)
SMALL = SearchSpace(
    BIT,
    (SHEET,),
    ratio=(2.0, 2.3),
    stages=(1,),
    modules=(4.0, 5.0),
    pinion_teeth=(10, 14),
    wheel_teeth=(22, 30),
    pinion_shifts=(0.0, 0.25),
)


def changed(space=SMALL, **changes):
    return dataclasses.replace(space, **changes)


def stages_of(found):
    """Every candidate as the tuple of its stages."""
    names = ("module", "pinion_teeth", "wheel_teeth", "pinion_shift", "wheel_shift", "panel")
    columns = [found[name] for name in names]
    return [
        tuple(
            tuple(round(float(column[rank, stage]), 9) for column in columns)
            for stage in range(found["stages"][rank])
        )
        for rank in range(len(found))
    ]


# The same formulas as the single gear


@pytest.fixture(scope="module")
def thousand():
    """A search space of some ten thousand pairs and a thousand of those that can be a stage."""
    space = SearchSpace(
        Bit(3.175),
        (SHEET, plywood("thin-veneer spruce", 18)),
        modules=(3.0, 4.5, 7.0),
        wheel_teeth=(12, 80),
        addendum=0.95,
    )
    grid = PairGrid(space, Limits(contact_ratio=1.0, parts=PARTS, frame=FRAME), space.teeth_pairs)
    rng = np.random.default_rng(20)
    spans = [(i, i + 250) for i in np.linspace(0, len(grid) - 250, 24, dtype=int)]
    tables = [pairs_in(grid, span)[0] for span in spans]
    rows = [(table, row) for table in tables for row in rng.permutation(len(table))[:80]]
    return space, rows[:1000]


@pytest.fixture
def quick_polars(monkeypatch):
    """The rose of each sheet once instead of once a pair: the same figures sooner."""
    monkeypatch.setattr(strength.SheetPolar, "of", functools.cache(SheetPolar.of))


@pytest.mark.usefixtures("quick_polars")
@pytest.mark.parametrize("one_in", [8, pytest.param(1, marks=pytest.mark.slow)])
def test_a_thousand_candidates_agree_with_the_single_pair(thousand, one_in):
    """To 1e-9 of the value, lengths to 1e-9 mm: rounding alone."""
    space, rows = thousand
    assert len(rows) == 1000
    rows = rows[::one_in]
    rng = np.random.default_rng(21)
    service = Service(running_hours=20.0, loads_both_flanks=True)
    single, whole = [], []
    for table, row in rows:
        pair, panel = table.pair(row, space), space.panels[table.panel[row]]
        cut = CutPair(pair, space.bit)
        speed = float(rng.uniform(1.0, 3000.0))
        cases = load_cases(1.0, speed, service, 1.0, 1.0)
        limits = tooth_limits(cut, panel, panel.thickness, cases)
        single.append((*lengths(pair, cut), *allowed(limits, cases)))
        capacity = records.taken(table.capacity, row)
        flanks = dataclasses.replace(capacity, pinion=math.inf, wheel=math.inf)
        speeds = speed, speed / pair.gear_ratio
        columns = [getattr(table, name)[row] for name in COLUMNS]
        bears = [c.allowable(case, *speeds) for c in (capacity, flanks) for case in cases]
        whole.append((*columns, *bears))
    assert np.allclose(single, whole, rtol=1e-9, atol=1e-9)


COLUMNS = (
    "centre_distance",
    "pinion_tip",
    "wheel_tip",
    "contact_ratio",
    "interference",
    "tip_thickness",
    "flank_reserve",
    "root_clearance",
    "backlash",
)


def lengths(pair, cut):
    """The same by the single pair."""
    teeth = cut.pinion, cut.wheel
    return (
        pair.centre_distance,
        pair.pinion.tip_diameter,
        pair.wheel.tip_diameter,
        cut.contact_ratio,
        min(pair.interference_reserve),
        min(pair.pinion.tip_thickness, pair.wheel.tip_thickness),
        min(tooth.active_diameter - tooth.form_diameter for tooth in teeth) / 2,
        min(tooth.fillet_clearance for tooth in teeth),
        pair.normal_backlash,
    )


def allowed(limits, cases):
    """What each case allows, and what it allows the flanks."""
    flanks = [limit for limit in limits if limit.kind == "contact"]
    return [
        min(limit.torque for limit in some if limit.case == case)
        for some in (limits, flanks)
        for case in cases
    ]


def with_losses(duty, pairs):
    """The duty with what friction between dry flanks takes: 1 - μ H, the mean of all meshes."""
    moving, starting = (
        math.prod(1 - mu * mesh_loss(pair) for pair in pairs) ** (1 / len(pairs))
        for mu in (0.40, 0.65)
    )
    return dataclasses.replace(duty, mesh_efficiency=moving, starting_mesh_efficiency=starting)


def single_stages(space, limits, duty, service):
    """Nested loops over single gears; the tests of the mesh and of strength written out."""
    kept = []
    grid = itertools.product(
        space.modules,
        range(space.pinion_teeth[0], space.pinion_teeth[1] + 1),
        range(space.wheel_teeth[0], space.wheel_teeth[1] + 1),
        sorted({(x, -s * x) for x in space.pinion_shifts for s in space.returned_shares}),
        range(len(space.panels)),
    )
    for module, first, second, (x1, x2), index in grid:
        if not space.ratio[0] <= second / first <= space.ratio[1]:
            continue
        panel = space.panels[index]
        try:
            bare = GearPair(Gear(module, first, x1), Gear(module, second, x2))
            least = min_backlash(module, 10 * math.ceil(bare.centre_distance / 10))
            thinning = math.ceil(100 * 1.5 * least / 2 / math.cos(math.radians(20.0))) / 100
            pair = GearPair(
                Gear(module, first, x1, thinning=thinning),
                Gear(module, second, x2, thinning=thinning),
                round_up(bare.centre_distance),  # as files keep it
            )
        except GearworkError:
            continue
        cut = CutPair(pair, space.bit)
        tips = pair.pinion.tip_thickness, pair.wheel.tip_thickness
        clear = min(cut.pinion.fillet_clearance, cut.wheel.fillet_clearance)
        runs = (
            cut.contact_ratio >= limits.contact_ratio
            and min(pair.interference_reserve) >= 0
            and min(tips) >= 0.2 * module
            and clear >= 0.05 * module
            and cut.pinion.form_diameter <= cut.pinion.active_diameter
            and cut.wheel.form_diameter <= cut.wheel.active_diameter
        )
        if not runs:
            continue
        ratio = second / first
        lossy = with_losses(duty, [pair])
        torques = lossy.shaft_torques([ratio])
        speed = lossy.operating_point(ratio).drive_speed or duty.drive.line.no_load_speed
        given = torques.starting[0], torques.stall[0], torques.back[0]
        cases = load_cases(torques.running[0], speed, service, *given)
        bears = tooth_limits(cut, panel, panel.thickness, cases)
        margin = min(limit.torque / limit.case.torque for limit in bears)
        if margin >= 1:
            kept.append((((module, first, second, x1, x2, index),), margin))
    return kept


@pytest.mark.usefixtures("quick_polars")
@pytest.mark.parametrize(
    ("contact_ratio", "drive", "start_factor", "bit"),
    [(1.2, 0.7, 1.5, 3.0), (1.45, 0.7, 1.5, 3.0), (1.2, 0.55, 4.0, 3.0), (1.2, 0.7, 1.5, 3.4)],
)
def test_one_stage_against_nested_loops(contact_ratio, drive, start_factor, bit):
    """The third: what starts the load counts, and is more than the drive's own stall."""
    duty = Duty(GivenDrive(drive, 100.0), GivenLoad(1.2, 30.0, start_factor), stages=1)
    space = changed(panels=(SHEET, DOUBLE), modules=(4.0,), pinion_teeth=(10, 13), bit=Bit(bit))
    easy = Tolerances(accepted_chance=0.5)  # a workshop that asks for no more play
    limits = Limits(contact_ratio=contact_ratio, tolerance=easy)
    found = search(space, duty, limits=limits)
    looped = dict(single_stages(space, limits, duty, Service()))
    assert len(looped) > 10
    assert sorted(stages_of(found)) == sorted(looped)
    for stages, margin in zip(stages_of(found), found["margin"], strict=True):
        assert margin == pytest.approx(looped[stages], rel=1e-9)


HAULED = RopeDrum(
    mass=4.0,
    slope=30.0,
    rolling_resistance=0.02,
    drum_diameter=157.0,
    rope_diameter=6.0,
    travel_speed=0.05,
)


@pytest.mark.usefixtures("quick_polars")
@pytest.mark.parametrize(("load", "drives_back"), [(GivenLoad(1.6, 30.0), False), (HAULED, True)])
def test_two_stages_against_nested_loops_and_the_check_of_the_train(load, drives_back):
    """Of all trains in the band those that the train's own check passes, shafts in line.

    What is hauled drives every train back harder than the drive can push it on.
    """
    space = changed(
        ratio=(4.5, 4.9),
        stages=(2,),
        modules=(4.0, 12.0),
        pinion_teeth=(12, 12),
        wheel_teeth=(25, 27),
        pinion_shifts=(0.25,),
        returned_shares=(0.0,),
        panels=(SHEET, DOUBLE),
    )
    duty = Duty(GivenDrive(0.5, 200.0), load, stages=2)
    assert (load.back_torque > 4.9 * duty.drive.max_torque) is drives_back
    limits = Limits(frame=FRAME, parts=PARTS)
    single = changed(space, ratio=(1.0, 9.0), stages=(1,))
    easy = search(single, EASY)
    found = search(space, duty, limits=limits)
    good, fouled = {}, 0
    for first, second in itertools.product(range(len(easy)), repeat=2):
        stages = easy.best(first) + easy.best(second)
        train = GearTrain(stages, (PARTS,) * 3, dataclasses.replace(FRAME, arrangement="in line"))
        if not 4.5 <= train.ratio <= 4.9:
            continue
        if not check_train(train).ok:
            fouled += 1
            continue
        panels = easy.panels(first) + easy.panels(second)
        margin, clutch = rated(train, duty, panels)
        if margin >= 1:
            names = stages_of(easy)
            mass = sum(gear.mass(panels[gear.stage].sheet.density) for gear in train.gears)
            good[names[first] + names[second]] = (train.size[0], mass, margin, clutch)
    assert min(fouled, len(good)) > 10
    assert sorted(stages_of(found)) == sorted(good)
    for rank, stages in enumerate(stages_of(found)):
        columns = [found[name][rank] for name in ("size", "mass", "margin", "clutch_torque")]
        assert columns == pytest.approx(good[stages], rel=1e-9)


@functools.cache
def cut_once(pair):
    return CutPair(pair, BIT)


def rated(train, duty, panels):
    """Margin of the weakest stage, and the torque for the clutch, by single pairs."""
    duty = with_losses(duty, [stage.pair for stage in train.stages])
    torques = duty.shaft_torques(train.stage_ratios)
    speeds = np.abs(train.speeds(duty.operating_point(train.ratio).drive_speed or 200.0))
    margins, clutch, up_to = [], [], 1.0
    for i, stage in enumerate(train.stages):
        shocks = (float(t[i]) for t in (torques.starting, torques.stall, torques.back))
        cases = load_cases(float(torques.running[i]), float(speeds[i]), Service(), *shocks)
        limits = tooth_limits(cut_once(stage.pair), panels[i], stage.face_width, cases)
        margins += [limit.torque / limit.case.torque for limit in limits]
        clutch += [limit.torque / up_to for limit in limits if limit.case.name == "stall"]
        up_to *= stage.ratio
    return min(margins), min(clutch)


@pytest.mark.parametrize("sizes", [(34.0, 22.0), (24.0, 62.0)])
def test_room_for_hubs_and_seats_against_the_check_of_the_train(sizes):
    """Wide hubs, then bearings whose seats leave too little wood."""
    parts = ShaftParts(8.0, sizes[0], 8.0, sizes[1], 7.0)
    everything = search(SMALL, EASY)
    good = [
        stages
        for rank, stages in enumerate(stages_of(everything))
        if check_train(GearTrain(everything.best(rank), (parts,) * 2, FRAME)).ok
    ]
    found = search(SMALL, EASY, limits=Limits(frame=FRAME, parts=parts))
    assert 0 < len(good) < len(everything)
    assert sorted(stages_of(found)) == sorted(good)


def test_the_limit_of_a_tooth_is_where_its_stress_meets_its_strength():
    """Stress grows with the torque at the root, with its square root between the flanks."""
    pair = GearPair(Gear(5, 14, 0.3, thinning=0.2), Gear(5, 38, thinning=0.2))
    cases = load_cases(1.7, 150.0, Service(loads_both_flanks=True), 2.5, 4.0)
    for limit in tooth_limits(CutPair(pair, BIT), SHEET, 24.0, cases):
        power = 0.5 if limit.kind == "contact" else 1.0
        stress = limit.stress * (limit.torque / limit.case.torque) ** power
        assert stress == pytest.approx(limit.strength, rel=1e-12)


def test_looks_that_differ_in_the_load_alone_cut_their_teeth_once(monkeypatch):
    """Its ratios differ, from some 5 to 7; of one to three stages nearly any teeth will do."""
    cut = []
    monkeypatch.setattr(search_module, "pairs_in", lambda *part: cut.append(1) or pairs_in(*part))
    space = changed(ratio=None, stages=(1, 2, 3), pinion_shifts=(0.11,))
    for speed in (14.0, 17.0):
        duty = Duty(GivenDrive(0.05, 100.0), GivenLoad(0.1, speed))
        assert len(search(space, duty, any_will_do=True))
    assert len(cut) == 1


def test_stages_of_a_candidate_are_those_of_its_columns():
    space = changed(ratio=(2.3, 2.4), stages=(1, 2), pinion_teeth=(13, 16), wheel_teeth=(19, 38))
    found = search(changed(space, pinion_shifts=(0.25,)), EASY)
    assert set(found["stages"]) == {1, 2}
    for rank, names in list(enumerate(stages_of(found)))[::20]:
        for stage, name in zip(found.best(rank), names, strict=True):
            pinion, wheel = stage.pair.pinion, stage.pair.wheel
            made = (pinion.module, pinion.teeth, wheel.teeth, pinion.profile_shift)
            assert made == pytest.approx(name[:4])


def test_the_best_pass_every_check_of_the_pair():
    found = search(
        changed(ratio=(5.0, 5.5), stages=(2,), panels=(SHEET, DOUBLE)),
        Duty(GivenDrive(0.4, 200.0), GivenLoad(1.3, 30.0), stages=2),
        limits=Limits(frame=FRAME, parts=PARTS),
    )
    assert len(found) > 3
    duty = Duty(GivenDrive(0.4, 200.0), GivenLoad(1.3, 30.0), stages=2)
    for rank in (0, len(found) - 1):
        stages, panels = found.best(rank), found.panels(rank)
        torques = duty.shaft_torques([stage.ratio for stage in stages])
        for i, stage in enumerate(stages):
            report = check_pair(
                CutPair(stage.pair, BIT),
                panels[i],
                float(torques.running[i]),
                200.0 / math.prod(s.ratio for s in stages[:i]),
                face_width=stage.face_width,
                stall_torque=float(torques.stall[i]),
                service=Service(loads_both_flanks=True),
            )
            assert report.ok
            assert report["backlash"].verdict == "pass"
        assert check_train(GearTrain(stages, (PARTS,) * 3, FRAME)).ok


# A textbook: Shigley, Mechanical Engineering Design, examples 13-3 to 13-5 (from memory). A train
# of 30:1 with pinions of at least 16 teeth, the fewest that a wheel of up to 101 does not
# interfere with.

THIRTY = SearchSpace(
    Bit(1.0), (SHEET,), (30.0, 30.0), (2,), (5.0,), (16, 16), (80, 100), (0.0,), (0.0,)
)


def test_textbook_ratio_of_thirty_exactly():
    """16/96 and 16/80: 30 = 6 x 5. No other two wheels do it with pinions of 16."""
    found = search(THIRTY, EASY)
    counts = [tuple(found["wheel_teeth"][rank, :2]) for rank in range(len(found))]
    assert sorted(counts) == [(80, 96), (96, 80)]
    assert found["ratio"] == pytest.approx([30.0, 30.0], rel=1e-14)


def test_textbook_ratio_of_thirty_within_one_per_cent_by_equal_stages():
    """16/88 twice: 30.25."""
    space = changed(THIRTY, ratio=(0.99 * 30, 1.01 * 30))
    found = search(space, EASY, limits=Limits(same_gears=True))
    assert found.name() == "m 5, 16/88, 1 layer; m 5, 16/88, 1 layer"
    assert (len(found), found["ratio"][0], found["different_gears"][0]) == (1, 30.25, 2)


def test_textbook_reverted_train_of_thirty():
    """18/108 and 21/105: 126 teeth on either side, 315 mm at a module of 5."""
    space = changed(THIRTY, pinion_teeth=(18, 21), wheel_teeth=(105, 108))
    found = search(space, EASY, limits=Limits(fixed_distance=315.0))
    shifts = dict(zip(stages_of(found), found["wheel_shift"], strict=True))
    reverted = ((5.0, 18, 108, 0.0, 0.0, 0), (5.0, 21, 105, 0.0, 0.0, 0))
    assert np.abs(shifts[reverted][:2]).max() < 1e-9
    train = GearTrain(
        found.best(stages_of(found).index(reverted)),
        (PARTS,) * 3,
        dataclasses.replace(FRAME, arrangement="coaxial"),
    )
    assert math.dist(train.points[0], train.points[2]) < 1e-9


def test_fewest_teeth_of_a_pinion_that_does_not_interfere():
    """13 with an equal gear, 17 with a rack of 1309 teeth at most (Shigley, section 13-7)."""
    space = changed(THIRTY, ratio=(1.0, 1.2), stages=(1,), pinion_teeth=(10, 14))
    equal = search(changed(space, wheel_teeth=(10, 16)), EASY)
    assert equal["pinion_teeth"][:, 0].min() == 13


# Wishes


def test_coprime_teeth():
    everything = search(SMALL, EASY)
    found = search(SMALL, EASY, limits=Limits(coprime=True))
    kept = [s for s in stages_of(everything) if math.gcd(int(s[0][1]), int(s[0][2])) == 1]
    assert 0 < len(kept) < len(everything)
    assert sorted(stages_of(found)) == sorted(kept)


def test_fixed_centre_distance_closes_the_mesh_by_the_shift_of_the_wheel():
    space = changed(ratio=(1.8, 2.6), pinion_teeth=(12, 16), pinion_shifts=(0.0, 0.1, 0.2))
    found = search(space, EASY, limits=Limits(fixed_distance=90.0))
    assert len(found) > 10
    assert np.all(found["centre_distance"][:, 0] == 90.0)
    for rank in range(len(found)):
        (stage,) = found.best(rank)
        free = GearPair(stage.pair.pinion, stage.pair.wheel).centre_distance
        assert free == pytest.approx(90.0, rel=1e-12)


@pytest.mark.parametrize(
    ("limits", "column", "met"),
    [
        ({"max_diameter": 120.0}, "max_diameter", lambda v: v <= 120.0),
        ({"min_distance": 90.0}, "centre_distance", lambda v: v[:, 0] >= 90.0),
        ({"max_distance": 90.0}, "centre_distance", lambda v: v[:, 0] <= 90.0),
        ({"stock": (600.0, 130.0)}, "max_diameter", lambda v: v <= 130.0),
        ({"contact_ratio": 1.5}, "contact_ratio", lambda v: v[:, 0] >= 1.5),
        (
            {"frame": dataclasses.replace(FRAME, output_height=98.0), "parts": PARTS},
            "max_diameter",
            lambda v: v <= 130.0,
        ),
    ],
)
def test_limits_keep_just_what_meets_them(limits, column, met):
    """The ground: 98 mm less 10 mm clearance, a lid of 18 mm and 5 mm of air below 130 mm."""
    everything, found = search(SMALL, EASY), search(SMALL, EASY, limits=Limits(**limits))
    good = met(everything[column])
    assert 0 < good.sum() < len(good)
    assert len(found) == good.sum()
    assert met(found[column]).all()


def test_cases_that_need_not_hold():
    """A stall at 30 times what the load takes: no pair of this space bears it."""
    duty = Duty(GivenDrive(15.0, 100.0), GivenLoad(1.0, 30.0), stages=1)
    assert len(search(SMALL, duty)) == 0
    found = search(SMALL, duty, limits=Limits(cases=("running", "starting")))
    assert len(found) > 10
    assert found["clutch_torque"].max() < 15.0


def test_ratio_of_the_duty_where_none_is_given():
    duty = Duty(GivenDrive(0.5, 100.0), GivenLoad(0.95, 40.0), stages=1)
    found = search(changed(ratio=None), duty)
    low, high = duty.ratio_range
    assert len(found)
    assert low - 1e-9 <= found["ratio"].min()
    assert found["ratio"].max() <= high + 1e-9


@pytest.mark.parametrize("error", [0.02, 0.08])
def test_teeth_are_thinned_for_the_workshop(error):
    """By a second road: pairs sampled with errors of another seed bind no oftener than accepted."""
    workshop = Tolerances(cutting_error=error, centre_distance=0.1)
    space = changed(modules=(5.0,), pinion_shifts=(0.25,), panels=(DOUBLE,))
    found = search(space, EASY, limits=Limits(tolerance=workshop))
    assert len(found) > 2
    for rank in (0, len(found) - 1):
        (stage,) = found.best(rank)
        spread = sample_pair(CutPair(stage.pair, BIT), workshop, seed=9)
        assert spread.chance_of_binding <= 0.01
    if error > 0.05:
        assert spread.chance_of_binding > 0.002  # and no thinner than that


def test_losses_of_the_very_teeth_decide_which_ratios_will_do():
    """By hand: 0.05 N·m of the drive, times ratio and what the mesh keeps, must make 0.0785 N·m.

    The typical loss that the band is made of promises more than the teeth of a small pinion give.
    """
    duty = Duty(GivenDrive(0.05, 100.0), GivenLoad(0.0785, 45.0), stages=1)
    space = changed(ratio=None, pinion_teeth=(11, 11), wheel_teeth=(21, 24))
    found = search(space, duty)
    assert len(found)
    for rank in range(0, len(found), 7):
        (stage,) = found.best(rank)
        kept = 0.99 * (1 - 0.65 * mesh_loss(stage.pair))
        assert 0.05 * stage.ratio * kept >= 0.0785 * (1 - 1e-9)
    given = search(changed(space, ratio=duty.ratio_range), duty)
    assert len(given) > len(found)  # who gives a ratio is not told another


# Ranking


def test_front_against_comparing_all_with_all():
    rng = np.random.default_rng(3)
    values = rng.integers(0, 6, (300, 3)).astype(float)
    values = np.unique(values, axis=0)
    beaten = [any((o <= v).all() and (o < v).any() for o in values) for v in values]
    assert list(front(values)) == [not b for b in beaten]
    twice = np.concatenate([values, values])
    assert front(twice).sum() == front(values).sum()


def test_scores_weigh_relative_differences():
    """1 % less size is worth 1 % more mass; the other weights are 0."""
    weights = Weights(margin=0.0, sheet=0.0, gears=0.0)
    one, other = scores([[100.0, 2.0, 1, 1, 1, 1], [99.0, 2.0 / 0.99, 5, 5, 5, 5]], weights)
    assert one == pytest.approx(other, rel=1e-14)


def test_candidates_are_ranked_and_their_front_is_right():
    found = search(SMALL, EASY)
    assert found["score"][0] == 1.0
    assert np.all(np.diff(found["score"]) >= 0)
    assert list(found.pareto) == list(found.front(*WEIGHED))
    assert found.pareto[0]
    pair = found.front("mass", "margin")
    lightest = found["mass"] == found["mass"].min()
    assert pair[lightest].any()


@pytest.mark.parametrize(
    ("weight", "column", "pick"),
    [
        ("size", "size", np.min),
        ("mass", "mass", np.min),
        ("margin", "margin", np.max),
        ("speed", "mesh_speed", np.min),
    ],
)
def test_what_alone_is_weighed_comes_first(weight, column, pick):
    alone = Weights(**{name: float(name == weight) for name in WORDS.values()})
    found = search(changed(panels=(SHEET, DOUBLE)), EASY, weights=alone)
    assert found[column][0] == pick(found[column])


@pytest.mark.parametrize("word", WORDS)
def test_a_word_gives_no_less_of_what_it_names_than_no_word(word):
    column = dict(zip(WORDS, (*WEIGHED, "mesh_speed"), strict=True))[word]
    space = changed(panels=(SHEET, DOUBLE))
    plain, asked = search(space, EASY)[column][0], search(space, EASY, weights=[word])[column][0]
    assert asked >= plain if word == "strong" else asked <= plain


def test_speed_of_the_teeth_is_that_of_a_point_on_the_pitch_circle():
    """Shigley, Mechanical Engineering Design, 13-1: V = pi d n / 60, by the drive's own speed."""
    found = search(changed(stages=(1,), ratio=(2.9, 3.1)), EASY)
    ratio, apart = found["ratio"], found["centre_distance"][:, 0]
    drive = EASY.output_speed(ratio) * ratio
    assert found["mesh_speed"] == pytest.approx(
        np.pi * 2 * apart / (1 + ratio) / 1000 * drive / 60, rel=1e-9
    )


def test_sheet_is_the_squares_around_the_gears():
    found = search(changed(panels=(DOUBLE,)), EASY)
    (stage,) = found.best()
    sides = [gear.tip_diameter + 3.0 for gear in (stage.pair.pinion, stage.pair.wheel)]
    assert found["sheet_area"][0] == pytest.approx(2e-6 * sum(side**2 for side in sides))


# Large searches


@pytest.mark.slow
def test_an_executor_gives_the_same_and_progress_ends_at_all_parts(monkeypatch):
    monkeypatch.setattr(search_module, "CHUNK", 100)
    space = changed(stages=(1, 2), ratio=(4.5, 5.2), wheel_teeth=(22, 60))
    seen = []
    here = search(space, EASY, progress=lambda *parts: seen.append(parts))
    with ProcessPoolExecutor(2) as executor:
        there = search(space, EASY, executor=executor)
    assert all(np.array_equal(here[n], there[n], equal_nan=True) for n in here.columns)
    assert list(here.pareto) == list(there.pareto)
    assert [done for done, _ in seen] == list(range(1, len(seen) + 1))
    assert seen[-1][0] == seen[-1][1] > 10


def test_parts_of_a_search_are_reduced_as_they_come(monkeypatch):
    space = changed(stages=(2,), ratio=(4.0, 5.0))
    whole = search(space, EASY)
    monkeypatch.setattr(combining, "BLOCK", 300)
    monkeypatch.setattr(combining, "REDUCE_AT", 500)
    pieces = search(space, EASY)
    assert len(whole) > 1000
    assert all(np.array_equal(whole[n], pieces[n], equal_nan=True) for n in whole.columns)


WEIGHED = ("size", "mass", "margin", "sheet_area", "different_gears")


@pytest.mark.parametrize("stages", [2, 3])
def test_fewer_pairs_in_trains_of_several_stages(monkeypatch, stages):
    """At most so many go in, none beaten by another of its class, and the best hardly suffer."""
    space = changed(
        stages=(stages,),
        ratio=(2.2**stages, 2.25**stages),
        pinion_teeth=(11, 12),
        wheel_teeth=(22, 30) if stages == 2 else (24, 27),
        panels=(SHEET, DOUBLE),
    )
    whole = search(space, EASY)
    most, classes = (32, 4) if stages == 2 else (16, 4)
    monkeypatch.setattr(combining, "MAX_PAIRS", {stages: most})
    monkeypatch.setattr(combining, "RATIO_BINS", classes)
    grid = PairGrid(space, Limits(), space.teeth_pairs)
    pairs, _ = pairs_in(grid, (0, len(grid)))
    fewer = records.taken(pairs, combining.fewer_pairs(pairs, stages))
    families = np.stack([fewer.module, fewer.pinion_teeth, fewer.wheel_teeth, fewer.panel])
    assert most / 2 < len(fewer) <= most < len(pairs) / 2
    assert len(np.unique(families, axis=1).T) == len(fewer)
    strength_of = {id(t): np.minimum(t.capacity.pinion, t.capacity.wheel) for t in (pairs, fewer)}
    assert strength_of[id(fewer)].max() == strength_of[id(pairs)].max()
    thinned = search(space, EASY)
    best = [
        scores([[found[n][0] ** (-1 if n == "margin" else 1) for n in WEIGHED] + [1.0]], Weights())[
            0
        ]
        for found in (whole, thinned)
    ]
    assert best[0] * (1 - 1e-9) <= best[1] < 1.05 * best[0]


def test_three_stages_multiply_to_their_ratio():
    space = changed(stages=(3,), ratio=(10.0, 10.2), pinion_shifts=(0.25,))
    found = search(space, EASY)
    ratio = np.prod(found["wheel_teeth"] / found["pinion_teeth"], axis=1)
    assert len(found)
    assert found["ratio"] == pytest.approx(ratio, rel=1e-12)
    assert ratio.min() >= 10.0 - 1e-7
    assert ratio.max() <= 10.2 + 1e-7


# Nothing found: the sentence says what to change, and changing it helps


def test_too_weak_and_the_layers_that_help():
    duty = Duty(GivenDrive(3.4, 100.0), GivenLoad(6.5, 30.0), stages=1)
    found = search(SMALL, duty)
    assert len(found) == 0
    assert found.why.startswith("Tooth strength, ")
    assert "% of" in found.why
    layers = int(found.why.split("max_layers = ")[1].split(",")[0])
    thick = changed(panels=(Stack(SHEET, (0.0,) * layers),))
    assert len(search(thick, duty))
    thin = changed(panels=(Stack(SHEET, (0.0,) * (layers - 1)),))
    assert len(search(thin, duty)) == 0
    with pytest.raises(GearworkError, match="found no train. Tooth strength"):
        found.best()


def test_too_narrow_and_the_diameter_that_helps():
    found = search(SMALL, EASY, limits=Limits(max_diameter=80.0))
    assert found.why.startswith("Largest diameter ruled out 100 % of")
    allowed = float(found.why.split("max_diameter = ")[1].rstrip("."))
    again = search(SMALL, EASY, limits=Limits(max_diameter=allowed + 0.005))
    assert len(again)


def test_ratio_out_of_reach_and_the_band_that_helps():
    space = changed(ratio=(8.0, 9.0), pinion_teeth=(12, 14))
    found = search(space, EASY)
    assert "the nearest has 2.5 with 1 stage" in found.why
    assert len(search(changed(space, ratio=(2.5, 9.0)), EASY))


def test_how_near_a_search_came_goes_from_speed_to_pairs_to_strength():
    """Of 30/12 and 8 to 1 the latter is 3.2 times as much."""
    no_ratio = search(changed(ratio=(8.0, 9.0), pinion_teeth=(12, 14)), EASY).nearest
    assert no_ratio.kinds == {"speed"}
    assert no_ratio.lack == pytest.approx(math.log(8.0 / 2.5))
    no_pair = search(SMALL, EASY, limits=Limits(max_diameter=80.0)).nearest
    assert no_pair.kinds == {"room"}
    weak = [Duty(GivenDrive(t, 100.0), GivenLoad(1.9 * t, 30.0), stages=1) for t in (7.0, 3.5)]
    too_weak, less_weak = (search(SMALL, duty).nearest for duty in weak)
    assert too_weak.kinds == less_weak.kinds == {"strength"}
    assert no_ratio.rank < no_pair.rank < too_weak.rank < less_weak.rank


@pytest.mark.parametrize("distance", [20.0, 63.0, 110.0, 300.0])
def test_fixed_distance_that_suits_no_pair(distance):
    """Module 4, 22 teeth with 10 and 11: 64 and 66 mm apart unshifted."""
    space = changed(modules=(4.0,), wheel_teeth=(22, 22), pinion_teeth=(10, 11))
    found = search(space, EASY, limits=Limits(fixed_distance=distance))
    assert len(found) == 0
    assert found.why.startswith("Wheel shift at the fixed distance ruled out") == (distance != 63.0)
    assert "nan" not in found.why


def test_ratio_out_of_reach_of_equal_stages():
    """The greatest is 12/26 twice: 4.694."""
    space = changed(ratio=(5.1, 5.2), stages=(2,), wheel_teeth=(25, 26), pinion_teeth=(12, 13))
    found = search(space, EASY, limits=Limits(same_gears=True))
    assert "the nearest has 4.694 with 2 stages" in found.why


def test_two_reasons_at_once_are_both_named():
    weak = Duty(GivenDrive(1.9, 100.0), GivenLoad(3.6, 30.0), stages=1)
    found = search(SMALL, weak, limits=Limits(max_diameter=110.0))
    assert found.why.startswith("Tooth strength")
    assert "Before that, largest diameter ruled out" in found.why


def test_a_duty_that_no_ratio_fits_says_so():
    slow = Duty(GivenDrive(1.0, 100.0), GivenLoad(40.0, 40.0), stages=1)
    found = search(changed(ratio=None), slow)
    assert "The drive is too weak" in found.why


@pytest.mark.parametrize("stages", [1, 2, 3])
def test_nearest_ratio_against_all_products(stages):
    rng = np.random.default_rng(stages)
    ratios = rng.uniform(1.0, 5.0, 12)
    products = np.array([math.prod(p) for p in itertools.product(ratios, repeat=stages)])
    for target in rng.uniform(0.5, 150.0, 20):
        band = target, 1.0001 * target
        off = np.abs(np.log(np.clip(products, *band) / products))
        nearest = nearest_ratio(ratios, stages, band)
        assert abs(math.log(np.clip(nearest, *band) / nearest)) == pytest.approx(off.min())


# What is shown, what is refused


def test_shown_in_a_notebook():
    found = search(changed(panels=(DOUBLE,)), EASY)
    page = show(found)
    assert page.count("<tr>") == 21
    assert "2 layers" in page
    assert repr(found).startswith(f"Candidates({len(found)}, ")
    none = search(changed(ratio=(8.0, 9.0)), EASY)
    assert none.why in show(none)
    assert none.why in repr(none)
    with pytest.raises(KeyError, match="no column 'weight'; there are: score"):
        found["weight"]
    with pytest.raises(GearworkError, match="rank of a candidate"):
        found.best(len(found))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: changed(panels=()), "panels"),
        (lambda: changed(stages=(4,)), "stages is"),
        (lambda: changed(stages=2), "stages: 2; a list"),
        (lambda: changed(modules=(0.0,)), "module"),
        (lambda: changed(pinion_teeth=(20, 12)), "pinion teeth is .* no larger"),
        (lambda: changed(wheel_teeth=(20,)), "wheel teeth is"),
        (lambda: changed(ratio=(4.0, 3.0)), "ratio is .* no larger"),
        (lambda: changed(pinion_shifts=(3.0,)), "pinion shifts is 3"),
        (lambda: Limits(contact_ratio=0.9), "contact ratio is 0.9"),
        (lambda: Limits(max_diameter=-1.0), "max diameter is -1"),
        (lambda: Limits(frame=FRAME), "parts is missing"),
        (lambda: Limits(stock=(600.0,)), "stock is"),
        (lambda: Limits(cases=("walking",)), "load case 'walking' is not known"),
        (lambda: Weights(mass=-1.0), "mass is -1"),
        (lambda: Weights((), 0, 0, 0, 0, 0), "all weights are 0"),
        (lambda: Weights(("cheap",)), "words: 'cheap' is not known"),
    ],
)
def test_impossible_wishes_are_refused(make, words):
    with pytest.raises(GearworkError, match=words):
        make()


def test_cutting_a_few_at_a_time_changes_nothing(monkeypatch):
    grid = PairGrid(SMALL, Limits(), SMALL.teeth_pairs)
    whole, _ = pairs_in(grid, (0, len(grid)))
    monkeypatch.setattr(pair_table, "CUT_AT_ONCE", 7)
    pieces, _ = pairs_in(grid, (0, len(grid)))
    assert np.array_equal(whole.capacity.pinion, pieces.capacity.pinion)


def test_the_nearest_to_a_demand_is_the_one_that_lacks_the_least_share():
    """9 of 10 lacks a tenth, 950 of 1000 a twentieth."""
    _, account = judge(
        {"hub strength, stall": (np.array([9.0, 950.0]), np.array([10.0, 1000.0]))}, 2
    )
    count = account.counts["hub strength, stall"]
    assert (count.value, count.limit, count.shortfall) == (950.0, 1000.0, pytest.approx(0.05))


def test_what_is_to_spare_is_borne_and_with_the_thinnest_sheet_too():
    """By the single pair in a sheet of 11.5 mm, the least of its datasheet, of 12."""
    strong = Duty(GivenDrive(1.6, 100.0), GivenLoad(2.5, 30.0))
    every, spared = (search(SMALL, strong, limits=Limits(reserve=r)) for r in (0.0, 0.15))
    assert 0 < len(spared) < len(every)
    assert set(stages_of(spared)) <= set(stages_of(every))
    assert spared["margin"].min() >= 1.15
    table, row = spared.pairs, int(spared.places[0, 0])
    thin, pair = SHEET.measured(11.5), table.pair(int(spared.places[0, 0]), SMALL)
    cases = load_cases(1.0, 50.0, Service(), 1.0, 1.0)
    limits = [tooth_limits(CutPair(pair, BIT), s, s.thickness, cases) for s in (SHEET, thin)]
    left = min(b.torque / a.torque for a, b in zip(*limits, strict=True) if a.case.name == "stall")
    assert table.thin_share[row] == pytest.approx(left, rel=1e-9)
    assert left < 11.5 / 12  # what is lost is face veneer, which carries more than its share
