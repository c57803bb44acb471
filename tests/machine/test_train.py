"""Trains of gears: balances, textbook trains, statics of every shaft, collisions by brute force."""

import cmath
import dataclasses
import itertools
import math

import numpy as np
import pytest
import shapely

from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import gear_outline
from gearwork.geometry.pair import GearPair
from gearwork.machine.attached import crank, wheels
from gearwork.machine.drive import GivenDrive
from gearwork.machine.duty import Duty
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.load import GivenLoad
from gearwork.machine.stage import Stage
from gearwork.machine.train import GearTrain, check_train
from gearwork.numbers import RPM
from gearwork.output.drawing.draft import Length
from gearwork.output.drawing.spacing import spacing_drawing
from gearwork.stock.bit import Bit
from gearwork.stock.hardware import bearing, nut, rod, washer

PARTS = ShaftParts(
    rod_diameter=8.0, hub_diameter=24.0, hub_height=8.0, seat_diameter=22.0, bearing_width=7.0
)
FRAME = Frame(plate_thickness=18.0, gap=12.0)


def stage(pinion, wheel, module=5.0, face_width=24.0):
    return Stage(GearPair(Gear(module, pinion), Gear(module, wheel)), face_width)


def train(*stages, frame=FRAME, parts=PARTS, arrangement="folded", **wishes):
    frame = dataclasses.replace(frame, arrangement=arrangement)
    return GearTrain(stages, (parts,) * (len(stages) + 1), frame, **wishes)


TWO = train(stage(16, 44), stage(18, 50))
THREE = train(stage(16, 44), stage(18, 50), stage(17, 39, module=6.0))


# Ratio, speed, torque, power


def test_two_stages_of_two_and_three_quarters():
    """Common practice: two equal stages of 2.75 make 7.5625 in all."""
    assert train(stage(16, 44), stage(16, 44)).ratio == 7.5625


@pytest.mark.parametrize("made", [TWO, THREE, train(stage(14, 61))])
def test_balances_of_torque_and_power_close(made):
    torques, speeds = made.torques(3.7), made.speeds(411.0)
    assert torques[-1] == pytest.approx(3.7 * made.ratio * made.efficiency, rel=1e-14)
    power = torques * np.abs(speeds) * RPM
    assert power[-1] == pytest.approx(made.efficiency * power[0], rel=1e-14)
    assert power[1:] / power[:-1] == pytest.approx(0.90 * 0.99, rel=1e-14)


@pytest.mark.parametrize("made", [TWO, THREE])
def test_shafts_turn_by_turns_and_pitch_lines_roll(made):
    speeds = made.speeds(400.0)
    assert made.directions == (1, -1, 1, -1)[: len(speeds)]
    assert list(np.sign(speeds)) == list(made.directions)
    diameters = {gear.name: gear.pitch_diameter for gear in made.gears}
    for i in range(len(made.stages)):
        driving = speeds[i] * diameters[f"pinion {i + 1}"]
        assert speeds[i + 1] * diameters[f"wheel {i + 1}"] == pytest.approx(-driving, rel=1e-12)


def test_torques_agree_with_the_duty():
    duty = Duty(GivenDrive(9.0, 300.0), GivenLoad(50.0, 30.0, start_factor=1.4), stages=2)
    shafts = TWO.shaft_torques(duty)
    point = duty.operating_point(TWO.ratio)
    assert shafts.running == pytest.approx(TWO.torques(point.drive_torque), rel=1e-12)
    assert shafts.running[-1] == pytest.approx(50.0, rel=1e-12)
    assert shafts.stall[-1] == pytest.approx(9.0 * TWO.ratio, rel=1e-12)
    assert shafts.back[0] == pytest.approx(1.4 * 50.0 / TWO.ratio, rel=1e-12)


def test_a_duty_with_other_losses_is_refused():
    duty = Duty(GivenDrive(9.0, 300.0), GivenLoad(50.0, 30.0), mesh_efficiency=0.8)
    with pytest.raises(GearworkError, match="mesh efficiency is 0.9 in the train and 0.8"):
        TWO.shaft_torques(duty)


# Forces


def test_force_of_one_mesh_by_hand():
    """z 20/40, m 5, in line along x, the pinion turns counter-clockwise with 10 N·m.

    At the pitch point, 50 mm right of the pinion's axis, its tooth moves upwards: the wheel is
    pushed up with 10 / 0.05 = 200 N and away with 200 tan 20° = 72.794 N.
    """
    pinion, wheel = loads_of(train(stage(20, 40)), [10.0, 20.0])
    assert wheel.force == pytest.approx((72.794, 200.0), abs=1e-3)
    assert pinion.force == pytest.approx((-72.794, -200.0), abs=1e-3)
    assert (pinion.torque, wheel.torque) == pytest.approx((-10.0, -20.0))


def loads_of(train, torques):
    """Loads of the pinion and of the wheel of a single stage."""
    return tuple(load for shaft in (0, 1) for load in train.loads_on(shaft, torques))


def test_force_acts_along_the_line_of_action_of_an_opened_pair():
    """The normal force is tangent to both base circles: its arm about an axis is d_b / 2."""
    pair = GearPair(Gear(4, 19, 0.3), Gear(4, 37), centre_distance=114.5)
    opened = train(Stage(pair, 20.0), arrangement=(33.0,))
    _, wheel = loads_of(opened, [8.0, 8.0 * 37 / 19])
    pull = np.array(wheel.force)
    turn, pitch = np.radians(33.0), pair.working_pitch_diameters[0] / 2
    pitch_point = pitch * np.array([np.cos(turn), np.sin(turn)])
    for gear, axis in zip((pair.pinion, pair.wheel), opened.points, strict=True):
        arm = pitch_point - axis
        moment = abs(arm[0] * pull[1] - arm[1] * pull[0])
        assert moment / np.hypot(*pull) == pytest.approx(gear.base_diameter / 2, rel=1e-12)


@pytest.mark.parametrize("arrangement", ["folded", "in line", (20.0, 130.0, -75.0)])
@pytest.mark.parametrize("torque", [6.0, -6.0])
def test_whole_train_is_in_equilibrium_with_its_bearings(arrangement, torque):
    """Statics of the free body of all shafts, without losses.

    The bearings' forces balance the teeth shaft by shaft; over the whole train they must then
    sum to zero, and their moments about any point must balance torque in and torque out.
    """
    lossless = dataclasses.replace(
        THREE,
        frame=dataclasses.replace(FRAME, arrangement=arrangement),
        mesh_efficiency=1.0,
        bearing_efficiency=1.0,
    )
    torques = lossless.torques(torque)
    bearings = np.array(
        [-np.sum([f.force for f in lossless.loads_on(s, torques)], axis=0) for s in range(4)]
    )
    scale = np.abs(bearings).max()
    assert bearings.sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-11 * scale)
    x, y = np.array(lossless.points).T / 1000.0
    turning = x @ bearings[:, 1] - y @ bearings[:, 0]
    turned_out = lossless.directions[-1] * torques[-1]
    assert torques[0] + turning == pytest.approx(turned_out, rel=1e-12)


@pytest.mark.parametrize("torque", [6.0, -6.0])
def test_shafts_with_drum_wheels_and_crank_are_in_equilibrium(torque):
    """Forces and moments about two points of every shaft close, what is on its ends in them."""
    torques = THREE.torques(torque)
    ends = crank(torques[0], 150.0, 70.0), wheels(200.0, 160.0, 200.0, 30.0, 2, 15.0, alone=True)
    for number in range(4):
        for way in range(len(ends[bool(number)].ways) if number in (0, 3) else 1):
            on, ball = rod("M10"), bearing("6000")
            one = THREE.shaft(number, torques, on, ball, ends, way)
            forces = np.array([load.force for load in one.loads])
            at = np.array([load.position for load in one.loads])
            held, places = one.reactions, np.array(one.bearing_positions)
            assert forces.sum(axis=0) + held.sum(axis=0) == pytest.approx([0, 0], abs=1e-9)
            for about in (0.0, 37.0):
                turning = (at - about) @ forces + (places - about) @ held
                assert turning == pytest.approx([0, 0], abs=1e-6)
            assert sum(load.torque for load in one.loads) == pytest.approx(0.0, abs=1e-9)
    names = [{load.name for load in THREE.shaft(n, torques, on, ball, ends).loads} for n in (0, 3)]
    assert "crank handle" in names[0]
    assert "wheel" in names[1]


def test_moments_of_the_teeth_balance_the_torque_on_every_shaft():
    """With losses the wheel receives more than it passes on: just what friction takes."""
    torques = THREE.torques(6.0)
    for shaft in (1, 2):
        wheel, pinion = THREE.loads_on(shaft, torques)
        sense = THREE.directions[shaft]
        assert sense * wheel.torque == pytest.approx(torques[shaft] / (0.90 * 0.99))
        assert sense * pinion.torque == pytest.approx(-torques[shaft])
        (mate,) = (
            load for load in THREE.loads_on(shaft - 1, torques) if load.name == f"pinion {shaft}"
        )
        assert np.add(wheel.force, mate.force) == pytest.approx([0.0, 0.0], abs=1e-9)


def test_forces_and_moments_of_a_shaft_vanish_with_two_bearings():
    """Bearing forces by moments about the first bearing, in both planes."""
    torques = THREE.torques(6.0)
    for shaft in range(4):
        first, second = (sum(ends) / 2 for ends in THREE.bearings(shaft))
        forces = THREE.loads_on(shaft, torques)
        pull = np.array([force.force for force in forces])
        at = np.array([force.position for force in forces])
        far = -((at - first) @ pull) / (second - first)
        near = -((second - at) @ pull) / (second - first)
        assert pull.sum(axis=0) + near + far == pytest.approx([0.0, 0.0], abs=1e-9)
        assert np.all((first < at) & (at < second))


def test_braking_turns_the_tangential_force_and_still_parts_the_gears():
    _, driven = loads_of(train(stage(20, 40)), [10.0, 20.0])
    _, braked = loads_of(train(stage(20, 40)), [-10.0, -20.0])
    assert braked.force == pytest.approx((driven.force[0], -driven.force[1]))


# Along the shafts


def test_stack_and_rods_by_hand():
    """Two planes of 24 mm between gaps of 12 mm: 12 + 24 + 12 + 24 + 12 = 84 mm inside.

    Bearings of 7 mm: the fixed one flush with the outer face of a plate of 18 mm, the free one half
    a millimetre below it.
    """
    made = train(stage(16, 44), stage(16, 44))
    assert made.stack_up.planes == (12.0, 48.0)
    assert made.stack_up.plates == ((-18.0, 0.0), (84.0, 102.0))
    assert [made.bearings(i) for i in range(3)] == [((-18.0, -11.0), (94.5, 101.5))] * 3
    assert made.size[2] == 120.0
    assert [(g.name, g.shaft, g.plane, g.start, g.end) for g in made.gears] == [
        ("pinion 1", 0, 0, 12.0, 36.0),
        ("wheel 1", 1, 0, 12.0, 36.0),
        ("pinion 2", 1, 1, 48.0, 72.0),
        ("wheel 2", 2, 1, 48.0, 72.0),
    ]


def test_shafts_on_one_axis_meet_in_a_plate_between_them():
    """12 + 24 + 12, plate 18, 12 + 24 + 12: 114 mm inside; both short rods end in the plate.

    There their bearings are flush with the face on their side.
    """
    made = train(stage(16, 44), stage(16, 44), arrangement="coaxial")
    assert made.stack_up.plates == ((-18.0, 0.0), (48.0, 66.0), (114.0, 132.0))
    assert made.stack_up.carried == ((0, 1), (0, 2), (1, 2))
    assert made.bearings(0) == ((-18.0, -11.0), (48.0, 55.0))
    assert made.bearings(2) == ((59.0, 66.0), (125.0, 132.0))
    assert [axis.name for axis in made.axes] == ["shafts 1 and 3", "shaft 2"]
    assert made.distances == (("shafts 1 and 3", "shaft 2", 150.0),)
    assert check_train(made).ok


def test_the_lower_of_two_shafts_on_one_axis_may_be_the_last():
    made = train(stage(16, 44), stage(16, 44), arrangement="coaxial", planes=(1, 0))
    assert made.stack_up.carried == ((1, 2), (0, 2), (0, 1))


def test_two_bearings_must_fit_into_the_plate_between():
    thin = train(stage(16, 44), stage(16, 44), arrangement="coaxial", frame=Frame(12.0, 12.0))
    check = check_train(thin)["plate between shafts 1 and 3"]
    assert not check.ok
    assert check.ways == ((("plate_thickness", 14.0),),)


def test_sizes_of_parts_that_can_be_bought():
    """ISO 4032, ISO 7093-1: M8 nut 14.38 over corners and 6.8 high, washer 24 x 2; 608 bearing."""
    parts = ShaftParts.of(rod("M8"), nut("M8"), washer("M8", wide=True), bearing("608"))
    assert parts == ShaftParts(8.0, 24.0, 8.8, 22.0, 7.0)
    with pytest.raises(GearworkError, match="bore of 8 mm: a rod of 10 mm"):
        ShaftParts.of(rod("M10"), nut("M10"), washer("M10"), bearing("608"))


# Mass and inertia


def polygon_moments(points):
    """Area and polar second moment of a polygon about the origin (Green's theorem)."""
    after = np.roll(points, -1, axis=0)
    cross = points[:, 0] * after[:, 1] - points[:, 1] * after[:, 0]
    square = (points**2 + points * after + after**2).sum(axis=1)
    return cross.sum() / 2, (cross * square).sum() / 12


@pytest.mark.parametrize(("teeth", "heavier", "stiffer"), [(12, 0.04, 0.12), (30, 0.01, 0.01)])
def test_mass_and_inertia_of_the_gears_as_cut(teeth, heavier, stiffer):
    """Against the true outline: never lighter by more than 1 %, as the docstring says."""
    pair = GearPair(Gear(5, teeth, 0.3), Gear(5, 60))
    for mounted, mate in zip(
        train(Stage(pair, 24.0)).gears, (pair.wheel, pair.pinion), strict=True
    ):
        outline = gear_outline(mounted.gear, Bit(3.0), mate, pair.centre_distance)
        area, polar = polygon_moments(outline.points(0.01))
        mass, inertia = (area - math.pi * 16.0) * 24e-9, (polar - math.pi * 128.0) * 24e-15
        assert 0.99 < mounted.mass(680.0) / (680.0 * mass) < 1.0 + heavier
        assert 0.99 < mounted.inertia(680.0) / (680.0 * inertia) < 1.0 + stiffer


def test_reflected_inertia_holds_the_kinetic_energy_of_all_gears():
    speeds = THREE.speeds(500.0) * RPM
    energy = sum(g.inertia(680.0) * speeds[g.shaft] ** 2 / 2 for g in THREE.gears)
    assert THREE.input_inertia(680.0) * speeds[0] ** 2 / 2 == pytest.approx(energy, rel=1e-12)
    assert THREE.mass(680.0) == pytest.approx(sum(g.mass(680.0) for g in THREE.gears))


# Places


def fold_opening(points, corner):
    """Angle between the centre lines that meet at a shaft, degrees: 180 in line."""
    here, one, other = (complex(*points[i]) for i in (corner, corner - 1, corner + 1))
    return abs(math.degrees(cmath.phase((other - here) / (one - here))))


def test_in_line_and_given_angles():
    line = train(stage(16, 44), stage(18, 50), arrangement="in line")
    assert line.points == ((0.0, 0.0), (150.0, 0.0), (320.0, 0.0))
    bent = train(stage(16, 44), stage(18, 50), arrangement=(90.0, 180.0))
    assert np.allclose(bent.points, [(0.0, 0.0), (0.0, 150.0), (-170.0, 150.0)], atol=1e-9)
    assert fold_opening(bent.points, 1) == pytest.approx(90.0)


def test_overall_size_by_hand():
    """16/44 and 18/50 of module 5 in line: tips 90 at 0, 230 at 150, 260 at 320."""
    line = train(stage(16, 44), stage(18, 50), arrangement="in line")
    assert line.bounds == pytest.approx((-45.0, -130.0, 450.0, 130.0))
    assert line.size == pytest.approx((495.0, 260.0, 120.0))


def test_triangle_of_a_folded_train_by_the_law_of_cosines():
    """Wheel 2 (tip 260) must pass the rod of shaft 1 (8) by 2 mm: axes 136 mm apart.

    Gap 12, hub 8, clearance 2: the hub stays out of the next plane. Opened by 0.01 mm.
    """
    first, second, third = TWO.points
    assert math.dist(first, third) == pytest.approx(136.0, abs=0.02)
    cosine = (150.0**2 + 170.0**2 - 136.0**2) / (2 * 150.0 * 170.0)
    opening = math.degrees(math.acos(cosine))
    assert fold_opening(TWO.points, 1) == pytest.approx(opening, abs=0.01)
    assert (first, second) == ((0.0, 0.0), (150.0, 0.0))
    assert third[1] < 0.0


@pytest.mark.parametrize("planes", [(), (0, 1, 0)])
def test_no_tighter_angle_of_a_folded_train_is_free(planes):
    """Every angle nearer to straight back, in steps of half a degree, collides somewhere."""
    stages = (stage(16, 44), stage(24, 50), stage(17, 39, module=6.0))
    folded = train(*stages, planes=planes)
    assert check_train(folded).ok
    for corner in (1, 2):
        opening = fold_opening(folded.points, corner)
        back = folded.angles[corner - 1] + 180.0
        turns = np.arange(0.0, opening - 0.1, 0.5)
        for angle in [*(back + turns), *(back - turns)]:
            angles = (*folded.angles[:corner], angle)
            tighter = train(*stages[: corner + 1], planes=planes[: corner + 1], arrangement=angles)
            assert any(clashes(tighter)), (corner, angle)


def clashes(made):
    """Pairs of shafts that are too close."""
    for (one, other), gap in free_room(made).items():
        if made.frame.clearance - 1e-6 > gap:
            yield one, other


def bodies(made, shaft):
    """Own stacking of rod, gears and hubs of a shaft: (start, end, radius, stage or None)."""
    frame, parts = made.frame, made.shafts[shaft]
    widths = [
        max(s.face_width for s, p in zip(made.stages, made.planes, strict=True) if p == plane)
        for plane in range(max(made.planes) + 1)
    ]
    inside = sum(widths) + frame.gap * (len(widths) + 1)
    found = [(-frame.plate_thickness, inside + frame.plate_thickness, parts.rod_diameter / 2, None)]
    for index in (shaft - 1, shaft):
        if 0 <= index < len(made.stages):
            pair, plane = made.stages[index].pair, made.planes[index]
            gear = pair.pinion if index == shaft else pair.wheel
            low = sum(widths[:plane]) + frame.gap * (plane + 1)
            high = low + made.stages[index].face_width
            found.append((low, high, gear.tip_diameter / 2, index))
            hub = parts.hub_diameter / 2
            found.append((low - parts.hub_height, low, hub, None))
            found.append((high, high + parts.hub_height, hub, None))
    return found


def free_room(made):
    """Least room between the bodies of each two shafts, by comparing every two bodies."""
    rooms = {}
    for one, other in itertools.combinations(range(len(made.shafts)), 2):
        distance = math.dist(made.points[one], made.points[other])
        rooms[one, other] = min(
            distance - a[2] - b[2]
            for a, b in itertools.product(bodies(made, one), bodies(made, other))
            if (a[3] is None or a[3] != b[3])
            and a[0] < b[1] + made.frame.clearance
            and b[0] < a[1] + made.frame.clearance
        )
    return rooms


def sliced_room(made):
    """Least room between each two shafts from discs in shapely, slice by slice along z.

    Bodies are lengthened by half the clearance at either end; 0 where discs overlap.
    """
    half = made.frame.clearance / 2
    rooms = dict.fromkeys(itertools.combinations(range(len(made.shafts)), 2), math.inf)
    discs = [
        [
            (start - half, end + half, shapely.Point(at).buffer(radius, quad_segs=48), index)
            for start, end, radius, index in bodies(made, shaft)
        ]
        for shaft, at in enumerate(made.points)
    ]
    for z in np.arange(-17.5, made.stack_up.plates[-1][1]):
        cut = [[(d, i) for low, high, d, i in column if low < z < high] for column in discs]
        for one, other in rooms:
            for (a, i), (b, j) in itertools.product(cut[one], cut[other]):
                if i is None or i != j:
                    rooms[one, other] = min(rooms[one, other], shapely.distance(a, b))
    return rooms


@pytest.mark.parametrize("planes", [(0, 1), (1, 0)])
@pytest.mark.parametrize(("gap", "beside"), [(9.0, 12.0), (12.0, 4.0)])
def test_hub_counts_where_it_comes_near_the_next_plane(planes, gap, beside):
    """Hubs 8 mm high and 24 wide on a rod of 8: within the clearance of 2 at a gap of 9, not 12.

    Wheel 2 has a tip of 260 and passes shaft 1 at 320 mm.
    """
    made = train(
        stage(16, 44),
        stage(18, 50),
        frame=Frame(18.0, gap),
        arrangement="in line",
        planes=planes,
    )
    check = check_train(made)["room between shafts 1 and 3"]
    assert check.value == pytest.approx(320.0 - 130.0 - beside)


@pytest.mark.parametrize("seed", range(9))
def test_collisions_against_sliced_discs(seed):
    """Polygons of 192 sides for circles of up to 150 mm: 0.03 mm. Sizes are multiples of 1 mm."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 4))
    stages = [
        stage(*rng.integers((12, 25), (25, 50)), module=4.0, face_width=float(rng.integers(9, 30)))
        for _ in range(count)
    ]
    planes = (0, 1, 0)[:count] if seed % 3 == 0 else ()
    parts = dataclasses.replace(
        PARTS, hub_diameter=float(rng.integers(14, 40)), hub_height=float(rng.integers(3, 12))
    )
    frame = Frame(18.0, float(rng.integers(3, 15)), clearance=2.0)
    angles = tuple(rng.uniform(0.0, 360.0, count))
    made = train(*stages, frame=frame, parts=parts, planes=planes, arrangement=angles)
    report = check_train(made)
    for (one, other), room in sliced_room(made).items():
        check = report[f"room between shafts {one + 1} and {other + 1}"]
        assert max(check.value, 0.0) == pytest.approx(room, abs=0.03)
        assert check.ok == (room >= 2.0) or abs(room - 2.0) < 0.03


# Remedies: once applied, the check passes


def test_wheel_that_fouls_the_next_shaft():
    """Wheel 1: tip 230; stage 2 of 12/22: axes 85 mm apart, and 115 + 4 + 2 = 121 needed."""
    short = train(stage(16, 44), stage(12, 22), arrangement="in line")
    check = check_train(short)["room between shafts 2 and 3"]
    assert check.value == pytest.approx(85.0 - 115.0 - 4.0)
    assert "wheel 1 and rod of shaft 3" in check.why
    teeth = 12 + math.ceil(2 * 36.0 / 5.0)  # 115 + 4 + 2 - 85
    longer = train(stage(16, 44), stage(teeth, 22), arrangement="in line")
    assert check_train(longer)["room between shafts 2 and 3"].ok


def test_washers_wider_than_the_root_of_the_pinion():
    wide = dataclasses.replace(PARTS, hub_diameter=60.0)
    made = train(stage(12, 44), parts=wide)
    check = check_train(made)["room between shafts 1 and 2"]
    assert not check.ok
    narrow = dataclasses.replace(PARTS, hub_diameter=60.0 - 2 * (2.0 - check.value))
    assert check_train(train(stage(12, 44), parts=narrow)).ok


def test_both_hubs_foul_the_mates():
    """m 5, 12/12 at 60 mm, tips 70: hubs of 48 leave 60 - 35 - 24 = 1 mm each, 2 are wanted."""
    wide = dataclasses.replace(PARTS, hub_diameter=48.0)
    check = check_train(train(stage(12, 12), parts=wide))["room between shafts 1 and 2"]
    assert check.value == pytest.approx(1.0)


def test_fold_that_is_too_tight():
    tight = train(stage(16, 44), stage(18, 50), arrangement=(0.0, 150.0))
    check = check_train(tight)["room between shafts 1 and 3"]
    assert not check.ok
    wider = train(stage(16, 44), stage(18, 50), arrangement=(0.0, 90.0))
    assert check_train(wider).ok


def test_ground_below_the_lowest_wheel():
    """Output 100 mm above the ground in line: wheel 2 (tip 260) would dig in by 30 mm.

    The lid under it, 5 mm away and 18 mm thick, by 23 mm more.
    """
    low = dataclasses.replace(FRAME, output_height=100.0)
    made = train(stage(16, 44), stage(18, 50), frame=low, arrangement="in line")
    check = check_train(made)["ground clearance"]
    assert check.value == pytest.approx(-53.0)
    (((key, height),),) = check.ways
    assert key == "frame.output_height"
    raised = dataclasses.replace(made.frame, output_height=height)
    assert raised.output_height == 163.0
    assert check_train(dataclasses.replace(made, frame=raised)).ok
    assert not check_train(made, on_wheels=True)["ground clearance"].ways  # the wheels hold it


def test_ground_counts_from_the_output_shaft():
    """Shaft 3 stands 170 mm above shaft 2, whose wheel (tip 230) hangs 285 mm below it.

    Air of 5 mm and a lid of 18 mm are below that.
    """
    frame = dataclasses.replace(FRAME, output_height=300.0)
    made = train(stage(16, 44), stage(18, 50), frame=frame, arrangement=(0.0, 90.0))
    assert check_train(made)["ground clearance"].value == pytest.approx(300.0 - 285.0 - 23.0)


def test_gap_too_narrow_for_the_nuts():
    check = check_train(train(stage(16, 44), frame=Frame(18.0, 5.0)))["gap between planes of gears"]
    assert not check.ok
    assert check.ways == ((("gap", 8.0),),)


def test_seats_too_close_for_the_plate():
    """m 1.5, 12/15: axes 20.25 mm apart, seats of 22 mm: overlap of 1.75 mm.

    16 mm are needed, for the two rings that hold the bearings in.
    """
    check = check_train(train(stage(12, 15, 1.5)))["wood between bearing seats"]
    assert check.value == pytest.approx(-1.75)
    assert check.limit - check.value == pytest.approx(17.75)


# To the drawing, and what is refused


def test_axes_and_distances_feed_the_spacing_drawing():
    distances = [(start, end, 0.1) for start, end, _ in THREE.distances]
    drawing = spacing_drawing("train", THREE.axes, distances)
    drawn = [one.value for one in drawing.dimensions if isinstance(one, Length)]
    assert drawn == pytest.approx(THREE.centre_distances)
    assert [nominal for _, _, nominal in THREE.distances] == pytest.approx(drawn)


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"arrangement": "zigzag"}, "arrangement is 'zigzag'"),
        ({"arrangement": (0.0,)}, "2 numbers"),
        ({"arrangement": (0.0, "up")}, "arrangement is 'up'"),
        ({"arrangement": "coaxial"}, "centre distances are 150.0000 and 170.0000"),
        ({"planes": (0, 0)}, "must be in different planes"),
        ({"planes": (0, 2)}, "plane of a stage is 2"),
        ({"planes": (0,)}, "planes: 1"),
        ({"mesh_efficiency": 1.2}, "mesh efficiency is 1.2"),
    ],
)
def test_impossible_trains_are_refused(wishes, words):
    with pytest.raises(GearworkError, match=words):
        train(stage(16, 44), stage(18, 50), **wishes)


def test_gears_of_shafts_on_one_axis_must_not_overlap():
    with pytest.raises(GearworkError, match="shafts 1 and 3 stand on one axis"):
        train(
            stage(16, 44), stage(16, 44), stage(16, 44), arrangement=(0, 180, 90), planes=(1, 0, 1)
        )
    with pytest.raises(GearworkError, match="must be 2"):
        train(*[stage(16, 44)] * 3, arrangement="coaxial")


def test_shafts_must_go_with_the_stages():
    with pytest.raises(GearworkError, match="2 stages need 3"):
        GearTrain((stage(16, 44), stage(18, 50)), (PARTS,) * 2, FRAME)
    with pytest.raises(GearworkError, match="no stages"):
        GearTrain((), (PARTS,), FRAME)


def test_torques_must_go_with_the_shafts():
    with pytest.raises(GearworkError, match="one for each of the 3 shafts"):
        TWO.loads_on(0, [1.0, 2.0])


def test_planes_without_a_gear_are_refused():
    with pytest.raises(GearworkError, match="one is empty; number them from 0 without a gap"):
        train(stage(16, 44), stage(18, 50), stage(16, 44), planes=(0, 2, 0))


def test_a_stage_is_made_of_a_pair():
    with pytest.raises(GearworkError, match="a GearPair is needed"):
        Stage((16, 44), 24.0)
