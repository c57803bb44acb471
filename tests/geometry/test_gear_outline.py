"""The cut tooth and its outline, held against brute force on sampled polygons (shapely)."""

import numpy as np
import pytest
import shapely
from shapely import affinity
from volume import every

import gearwork as gw
from gearwork.geometry.gear import GearShape
from gearwork.geometry.gear_outline import tooth_outline
from gearwork.geometry.toolpath import SMOOTH
from gearwork.geometry.tooth import cut_tooth, mate_tip_path, rack_tip_path

FINE = 2e-4  # chord error of sampled polygons, mm: small against the 0.005 mm under test


def polygon(outline):
    return shapely.Polygon(outline.points(FINE))


def orchard_pair():
    return gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))


def outlines(pair, bit, tolerance=0.005):
    return (
        gw.gear_outline(pair.pinion, bit, pair.wheel, pair.centre_distance, tolerance),
        gw.gear_outline(pair.wheel, bit, pair.pinion, pair.centre_distance, tolerance),
    )


def involute_points(gear, start, count=400):
    """Independent dense computation: unwind a thread from the base circle, step by step."""
    base = gear.base_diameter / 2
    lengths = np.sqrt(np.linspace(start / 2, gear.tip_diameter / 2, count) ** 2 - base**2)
    roll = lengths / base
    thread = np.column_stack([np.cos(roll), np.sin(roll)]) * base
    way = np.column_stack([np.sin(roll), -np.cos(roll)])
    curve = thread + lengths[:, None] * way
    at_reference = np.sqrt((gear.reference_diameter / 2) ** 2 - base**2) / base
    middle = at_reference - np.arctan(at_reference)
    turn = -(gear.tooth_thickness / gear.reference_diameter + middle)
    c, s = np.cos(turn), np.sin(turn)
    return curve @ np.array([[c, s], [-s, c]])


def random_pairs(count, seed):
    random = np.random.default_rng(seed)
    while count:
        z1, z2 = random.integers(8, 81, 2)
        module = random.uniform(2, 12)
        x1, x2 = random.uniform(-0.5, 0.8, 2)
        bit = gw.Bit(random.uniform(1, 8))
        thinning = random.uniform(0, 0.05) * module
        try:
            pair = gw.GearPair(gw.Gear(module, z1, x1, thinning=thinning), gw.Gear(module, z2, x2))
            cut = outlines(pair, bit)
        except gw.GearworkError:
            continue
        count -= 1
        yield pair, bit, cut


SAMPLE = list(random_pairs(25, seed=20))


@pytest.mark.parametrize(("pair", "bit", "cut"), every(5, SAMPLE))
def test_any_outline_keeps_every_promise(pair, bit, cut):
    gears = (pair.pinion, pair.wheel)
    for gear, active, outline in zip(gears, pair.active_diameters, cut, strict=True):
        wood = polygon(outline)
        assert wood.is_valid
        assert wood.is_simple
        assert wood.area == pytest.approx(outline.area, abs=FINE * outline.length)
        assert outline.inside_corner_diameter >= bit.cut_diameter * (1 - 1e-9)
        # Morphological closing by the bit fills whatever the bit cannot reach: nothing.
        closed = wood.buffer(bit.cut_diameter / 2, 64).buffer(-bit.cut_diameter / 2, 64)
        assert closed.difference(wood).area < 1e-3 * gear.teeth * gear.module
        true = shapely.points(involute_points(gear, active + 1e-9))
        assert shapely.distance(wood.exterior, true).max() <= 0.005 + FINE
        corners = np.abs(outline.corner_angles())
        assert np.sort(corners)[: -2 * int(gear.teeth)].max() < 1e-4  # only tip corners


@pytest.mark.parametrize(("pair", "bit", "cut"), every(4, SAMPLE[:8]))
def test_cut_outlines_turned_against_each_other_do_not_overlap(pair, bit, cut):
    pinion, wheel = map(polygon, cut)
    teeth = pair.wheel.teeth
    facing = 180.0 - 180.0 / teeth  # a space of the wheel towards the pinion
    play = np.degrees(pair.backlash / pair.working_pitch_diameters[0])
    for turn in np.linspace(0, 360 / pair.pinion.teeth, 24, endpoint=False):
        for side in (-play, 0.0, play):
            turned = affinity.rotate(pinion, turn + side, origin=(0, 0))
            mate = affinity.rotate(wheel, facing - turn / pair.gear_ratio, origin=(0, 0))
            mate = affinity.translate(mate, pair.centre_distance)
            # each outline strays at most 0.005 mm, over a contact of a few millimetres
            assert turned.intersection(mate).area < 0.02


def test_outline_stands_on_the_nominal_circles():
    pair, bit = orchard_pair(), gw.Bit(3.0)
    for gear, outline in zip((pair.pinion, pair.wheel), outlines(pair, bit), strict=True):
        reach = np.hypot(*outline.points(FINE).T)
        assert 2 * reach.max() == pytest.approx(gear.tip_diameter, abs=1e-6)
        assert 2 * reach.min() == pytest.approx(gear.root_diameter, abs=1e-6)


def test_thickness_measured_on_the_outline_is_the_formula():
    pair = orchard_pair()
    outline = gw.gear_outline(pair.pinion, gw.Bit(3.0), pair.wheel, pair.centre_distance, 1e-4)
    radius = pair.pinion.reference_diameter / 2
    angle = np.linspace(0, 2 * np.pi, 200_001)
    circle = shapely.LineString(radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    inside = circle.intersection(polygon(outline)).length / pair.pinion.teeth
    assert inside == pytest.approx(pair.pinion.tooth_thickness, abs=1e-3)


def test_span_measured_with_parallel_jaws_is_the_formula():
    pair = orchard_pair()
    gear = pair.wheel
    outline = gw.gear_outline(gear, gw.Bit(3.0), pair.pinion, pair.centre_distance, 1e-4)
    k = int(gear.default_teeth_spanned)
    points = outline.points(FINE)
    angle = np.degrees(np.arctan2(points[:, 1], points[:, 0]))
    pitch = 360 / gear.teeth
    jaws_reach = np.hypot(*points.T) > gear.reference_diameter / 2 - 0.6 * gear.module
    block = points[jaws_reach & (np.abs(angle - (k - 1) / 2 * pitch) < k / 2 * pitch)]
    across = np.radians((k - 1) / 2 * pitch + 90)
    width = np.ptp(block @ [np.cos(across), np.sin(across)])
    assert width == pytest.approx(gear.span(k), abs=1e-3)


def test_the_mates_tip_path_by_rolling_points():
    # Independent road: turn the wheel's tip corner about its centre and the pinion's frame
    # with it, step by step, and look how near the path's points come to that trace.
    pair = orchard_pair()
    pinion, wheel, a = pair.pinion, pair.wheel, pair.centre_distance
    path = mate_tip_path(pinion, wheel, a)
    wheel_turn = np.linspace(-0.3, 0.3, 60001)
    corner = np.pi - wheel.tip_thickness / wheel.tip_diameter + wheel_turn
    x = a + wheel.tip_diameter / 2 * np.cos(corner)
    y = wheel.tip_diameter / 2 * np.sin(corner)
    frame = -wheel_turn * pair.gear_ratio - pair.backlash / pair.working_pitch_diameters[0]
    c, s = np.cos(-frame), np.sin(-frame)
    trace = shapely.LineString(np.column_stack([c * x - s * y, s * x + c * y]))
    assert shapely.distance(trace, shapely.points(path.x, path.y)).max() < 1e-5


@pytest.mark.parametrize("teeth", [8, 17, 40])
def test_tip_paths_end_on_the_flank(teeth):
    gear = gw.Gear(4, teeth, 0.5 if teeth == 8 else 0.1, thinning=0.1)
    mate = gw.Gear(4, 30)
    pair = gw.GearPair(gear, mate)
    for path in (mate_tip_path(gear, pair.wheel, pair.centre_distance), rack_tip_path(gear)):
        distance, angle = np.hypot(path.x[-1], path.y[-1]), np.arctan2(path.y[-1], path.x[-1])
        flank = (
            np.pi / teeth - gear.thickness_at(max(2 * distance, gear.base_diameter)) / 2 / distance
        )
        assert angle == pytest.approx(flank, abs=1e-9)
        assert 2 * distance == pytest.approx(path.active_diameter)


def test_arrays_cut_the_same_tooth_as_single_gears():
    pairs = [pair for pair, _, _ in SAMPLE]

    def rows(gears):
        names = GearShape.__dataclass_fields__
        return GearShape(*(np.array([float(getattr(g, n)) for g in gears]) for n in names))

    bits = np.array([bit.cut_diameter for _, bit, _ in SAMPLE])
    distances = np.array([p.centre_distance for p in pairs])
    many = cut_tooth(
        rows([p.pinion for p in pairs]), bits, rows([p.wheel for p in pairs]), distances
    )
    for i, (pair, bit, _) in enumerate(SAMPLE):
        one = cut_tooth(pair.pinion, bit.cut_diameter, pair.wheel, pair.centre_distance)
        for name in ("fillet_diameter", "root_diameter", "form_diameter", "fillet_clearance"):
            assert getattr(many, name)[i] == pytest.approx(getattr(one, name), rel=1e-11)


def test_a_wider_fillet_is_taken_where_the_mate_allows_it():
    pair = orchard_pair()
    thin = cut_tooth(pair.wheel, 1.0, pair.pinion, pair.centre_distance)
    assert thin.fillet_diameter > 3.0
    assert thin.fillet_clearance > 0.4 * 0.25 * 5


def test_a_bit_too_big_is_refused_with_the_largest_that_fits_and_the_smallest_module():
    pair = orchard_pair()
    with pytest.raises(gw.GearworkError, match="smallest module for this bit is") as caught:
        gw.gear_outline(pair.pinion, gw.Bit(8.0), pair.wheel, pair.centre_distance)
    words = str(caught.value)
    largest = float(words.split("largest bit that fits cuts ")[1].split(" mm")[0])
    module = float(words.split("smallest module for this bit is ")[1].split(" mm")[0])
    gw.gear_outline(pair.pinion, gw.Bit(largest), pair.wheel, pair.centre_distance)
    with pytest.raises(gw.GearworkError):
        gw.gear_outline(pair.pinion, gw.Bit(largest + 0.02), pair.wheel, pair.centre_distance)
    bigger = gw.GearPair(
        gw.Gear(module, 14, 0.25, thinning=0.15 * module / 5),
        gw.Gear(module, 38, thinning=0.15 * module / 5),
    )
    gw.gear_outline(bigger.pinion, gw.Bit(8.0), bigger.wheel, bigger.centre_distance)


def test_an_interfering_mate_is_refused():
    pair = gw.GearPair(gw.Gear(3, 12), gw.Gear(3, 24))
    with pytest.raises(gw.GearworkError, match="0.937 mm past the base tangent point"):
        gw.gear_outline(pair.pinion, gw.Bit(1.0), pair.wheel, pair.centre_distance)


def test_few_arcs_a_tooth():
    assert len(gw.gear_outline(gw.Gear(12, 40), gw.Bit(3.0))) <= 14 * 40
    assert len(gw.gear_outline(gw.Gear(5, 40), gw.Bit(3.0))) <= 14 * 40


def test_a_tighter_tolerance_is_kept():
    gear = gw.Gear(6, 20)
    outline = gw.gear_outline(gear, gw.Bit(3.0), tolerance=1e-4)
    start = cut_tooth(gear, 3.0).form_diameter
    true = shapely.points(involute_points(gear, start + 1e-6))
    boundary = shapely.LinearRing(outline.points(1e-6))
    assert shapely.distance(boundary, true).max() <= 1e-4 + 1e-6


def test_a_tooth_cut_off_below_the_end_of_its_fillet_is_refused():
    # d_a = 21 + 2 (1.065 + 0.75 - 1.5) = 21.63; the fillet of 1 mm ends outside of it.
    stub = gw.Gear(1, 21, 1.065, 15, addendum=0.75, tip_alteration=-1.5)
    with pytest.raises(gw.GearworkError, match=r"fillet up to the tip, 21.63 mm diameter"):
        gw.gear_outline(stub, gw.Bit(1.0))


def test_a_tooth_of_which_the_bit_leaves_no_flank_has_no_outline():
    with pytest.raises(gw.GearworkError, match="a bit that cuts 22.57 mm leaves a fillet up to"):
        tooth_outline(cut_tooth(gw.Gear(0.9622, 198, 0.67), 22.57))


def test_a_line_of_nanometres_below_the_base_circle_is_left_out():
    """Found by a random design: the fillet ends 38 nm below the base circle."""
    pair = gw.GearPair(
        gw.Gear(4.593, 18, 0.45827354914575347, thinning=0.02739717409474327),
        gw.Gear(4.593, 66, 0.09, thinning=0.02739717409474327),
    )
    cut = cut_tooth(pair.pinion, 2.0, pair.wheel, pair.centre_distance)
    assert 0 < pair.pinion.base_diameter / 2 - cut.fillet_end < 1e-4
    outline = gw.gear_outline(pair.pinion, gw.Bit(2.0), pair.wheel, pair.centre_distance)
    assert outline.lengths.min() > 1e-4
    smooth = np.abs(outline.corner_angles()) < 1.0
    assert np.abs(outline.corner_angles()[smooth]).max() < SMOOTH
    assert np.count_nonzero(~smooth) == 2 * 18  # both corners of every tip
