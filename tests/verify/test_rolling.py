"""Rolling held against polygons (shapely), the formulas of the pair and closed forms."""

import re

import numpy as np
import pytest
import shapely
from shapely import affinity

import gearwork as gw
from gearwork.verify.rolling import check_rolling, crossing
from gearwork.verify.rolling import roll_outlines as roll

FINE = 2e-4  # chord error of the polygons, mm


def pair_of(z1, z2, module=5, shifts=(0.25, 0.0), thinning=0.15, away=0.0, **more):
    gears = (
        gw.Gear(module, z, x, thinning=thinning, **more)
        for z, x in zip((z1, z2), shifts, strict=True)
    )
    pair = gw.GearPair(*gears)
    return gw.GearPair(pair.pinion, pair.wheel, pair.centre_distance + away)


def cut(pair, bit=3.0, tolerance=0.005):
    bit, a = gw.Bit(bit), pair.centre_distance
    return (
        gw.gear_outline(pair.pinion, bit, pair.wheel, a, tolerance),
        gw.gear_outline(pair.wheel, bit, pair.pinion, a, tolerance),
    )


ORCHARD = pair_of(14, 38)
PINION, WHEEL = cut(ORCHARD)
DISTANCE = ORCHARD.centre_distance
AS_DESIGNED = {
    "bit_diameter": 3.0,
    "tip_diameters": (ORCHARD.pinion.tip_diameter, ORCHARD.wheel.tip_diameter),
    "backlash": ORCHARD.backlash,
}
PAIRS = {
    "orchard": ORCHARD,
    "alike": pair_of(20, 20, shifts=(0.0, 0.0)),
    "step up": pair_of(31, 12, module=4, shifts=(0.0, 0.4), away=0.2),
    "edges alone": pair_of(14, 38, addendum=0.55),
    "ten teeth": pair_of(10, 47, module=7, shifts=(0.5, 0.0), thinning=0.4),
}


class Placed:
    """Independent road: both outlines as polygons, turned and moved by shapely."""

    def __init__(self, outlines, distance, teeth):
        self.pinion, self.wheel = (shapely.Polygon(o.points(FINE)) for o in outlines)
        self.distance, self.teeth = distance, teeth
        self.pitch_radius = distance * teeth[0] / sum(teeth)

    def at(self, angle, play=0.0):
        """Both at a nominal pinion angle, degrees, the pinion turned on by an arc in mm."""
        z1, z2 = self.teeth
        facing = 180.0 + 180.0 / z2 - angle * z1 / z2
        turn = angle + np.degrees(play / self.pitch_radius)
        wheel = affinity.rotate(self.wheel, facing, origin=(0, 0))
        return (
            affinity.rotate(self.pinion, turn, origin=(0, 0)),
            affinity.translate(wheel, self.distance),
        )


def some_positions(rolling, count, seed=4):
    return np.random.default_rng(seed).integers(0, len(rolling.pinion_angle), count)


@pytest.mark.parametrize("name", PAIRS)
def test_play_is_where_polygons_begin_to_overlap(name):
    pair = PAIRS[name]
    teeth = int(pair.pinion.teeth), int(pair.wheel.teeth)
    outlines = cut(pair)
    rolling = roll(*outlines, pair.centre_distance, teeth)
    placed = Placed(outlines, pair.centre_distance, teeth)
    reach = 0.0015  # mm: polygons of 0.0002, flanks sampled at 0.0005, both gears
    for k in some_positions(rolling, 8):
        angle = rolling.pinion_angle[k]
        for sign, way in ((1, rolling.forward[k]), (-1, rolling.backward[k])):
            assert not shapely.intersects(*placed.at(angle, sign * (way - reach)))
            assert shapely.intersects(*placed.at(angle, sign * (way + reach)))


@pytest.mark.parametrize("name", PAIRS)
def test_clearance_is_the_distance_of_polygons(name):
    pair = PAIRS[name]
    teeth = int(pair.pinion.teeth), int(pair.wheel.teeth)
    outlines = cut(pair)
    rolling = roll(*outlines, pair.centre_distance, teeth)
    placed = Placed(outlines, pair.centre_distance, teeth)
    edges = np.argsort(-np.abs(rolling.transmission_errors[0]))[:5]
    for k in (*some_positions(rolling, 3), *edges):
        middle = (rolling.forward[k] - rolling.backward[k]) / 2
        found = shapely.distance(*placed.at(rolling.pinion_angle[k], middle))
        # exact for involutes, to first order in the play where an edge is nearest
        assert rolling.flank_clearance[k] == pytest.approx(found, abs=0.0015)
        assert rolling.min_clearance <= found + 0.0015


@pytest.mark.parametrize("nearer", [0.3, 0.45, 0.55, 0.7])
def test_tips_that_near_the_root_and_strike_it(nearer):
    pair = pair_of(14, 38, thinning=0.5, clearance=0.1)
    outlines, a = cut(pair, bit=1.0), pair.centre_distance - nearer
    rolling = roll(*outlines, a, (14, 38))
    placed = Placed(outlines, a, (14, 38))
    one_pitch = np.linspace(0, 360 / 14, 17)
    both = [placed.at(angle) for angle in one_pitch]
    overlaps = max(shapely.intersection(*each).area for each in both) > 0
    assert rolling.collides == overlaps == (nearer > 0.5)
    # Straight above the root: designed clearance 0.1 · 5 mm less the approach.
    assert rolling.tip_clearances == pytest.approx((0.5 - nearer,) * 2, abs=0.001)
    if not overlaps:
        found = min(shapely.distance(*each) for each in both)
        assert rolling.min_clearance == pytest.approx(found, abs=0.0015)


@pytest.mark.parametrize("name", [name for name in PAIRS if name != "edges alone"])
@pytest.mark.parametrize("tolerance", [0.005, 0.0005])
def test_play_of_the_outlines_is_the_backlash_of_the_pair(name, tolerance):
    # Each of four flanks strays by the tolerance at most, 1/cos α along the pitch circle.
    pair = PAIRS[name]
    rolling = roll(
        *cut(pair, tolerance=tolerance),
        pair.centre_distance,
        (int(pair.pinion.teeth), int(pair.wheel.teeth)),
    )
    slack = 4 * (tolerance + 5e-4) / np.cos(np.radians(pair.working_pressure_angle))
    assert rolling.backlash == pytest.approx(pair.backlash, abs=slack)
    assert rolling.transmission_error_span <= 1000 * slack
    # a step of 1/40 pitch at either end
    assert rolling.contact_ratio == pytest.approx(pair.contact_ratio, abs=0.05)


def test_an_eccentric_gear_gives_the_error_of_its_eccentricity():
    # A base circle whose centre circles at e pulls the line of action by ±e: at the pitch
    # circle 2 e / cos α peak to peak; the centre distance swings by ±e, the play by 2 tan α
    # times that. Closed form, first order in e / a.
    pair = pair_of(14, 38, thinning=0.3)
    pinion, wheel = cut(pair, tolerance=0.0005)
    e, alpha = 0.05, np.radians(pair.working_pressure_angle)
    off = roll(pinion.moved(e, 0.0), wheel, pair.centre_distance, (14, 38))
    assert off.transmission_error_span == pytest.approx(2000 * e / np.cos(alpha), rel=0.03)
    assert np.ptp(off.backlash) == pytest.approx(4 * e * np.tan(alpha), rel=0.05)


def test_the_way_the_outlines_lie_and_run_changes_nothing():
    plain = roll(PINION, WHEEL, DISTANCE, (14, 38))
    other = roll(PINION.turned(5.0).reversed(), WHEEL.turned(-2.0), DISTANCE, (14, 38))
    assert other.forward == pytest.approx(plain.forward, abs=1e-4)
    assert other.backward == pytest.approx(plain.backward, abs=1e-4)


def test_symmetric_teeth_have_the_same_play_both_ways():
    rolling = roll(PINION, WHEEL, DISTANCE, (14, 38))
    assert rolling.forward[0] == pytest.approx(rolling.backward[0], abs=1e-6)
    assert rolling.forward[1:] == pytest.approx(rolling.backward[:0:-1], abs=1e-6)


def test_swapping_the_gears_keeps_the_play():
    one, two = (
        roll(PINION, WHEEL, DISTANCE, (14, 38)),
        roll(WHEEL, PINION, DISTANCE, (38, 14)),
    )
    assert two.min_backlash == pytest.approx(one.min_backlash, abs=5e-4)
    assert two.contact_ratio == pytest.approx(one.contact_ratio, abs=0.03)
    assert two.tip_clearances == pytest.approx(one.tip_clearances[::-1], abs=1e-9)


def test_gears_that_do_not_reach_each_other():
    rolling = roll(PINION, WHEEL, DISTANCE + 12, (14, 38))
    assert np.isinf(rolling.backlash).all()
    assert rolling.contact_ratio == 0.0
    assert rolling.transmission_error_span == np.inf
    assert rolling.first_touch is None


def test_outlines_that_cannot_be_turned_are_refused():
    with pytest.raises(gw.GearworkError, match=r"would reach the other's centre"):
        roll(PINION, WHEEL, 60.0, (14, 38))
    with pytest.raises(gw.GearworkError, match="tooth without depth"):
        roll(gw.Outline.circle(80.0), WHEEL, DISTANCE, (14, 38))
    with pytest.raises(gw.GearworkError, match="no flank where tooth"):
        roll(gw.Outline.circle(20.0, (60.0, 0.0)), WHEEL, DISTANCE, (14, 38))


def test_as_designed_all_checks_hold():
    report = check_rolling(PINION, WHEEL, DISTANCE, (14, 38), **AS_DESIGNED)
    assert report.ok
    assert {"nominal", "tightest", "widest"} <= set(re.findall(r"\w+", str(report)))
    tight, wide = (roll(PINION, WHEEL, DISTANCE + d, (14, 38)).min_backlash for d in (-0.1, 0.1))
    values = {check.name.split()[1]: check.value for check in report if "mm" in check.name}
    assert report[f"backlash, tightest {DISTANCE - 0.1:.3f} mm"].value == pytest.approx(tight)
    assert report[f"backlash, widest {DISTANCE + 0.1:.3f} mm"].value == pytest.approx(wide)
    assert set(values) >= {"nominal", "tightest", "widest"}


def spoiled(outline, vertex, direction, by=0.3):
    vertices = outline.vertices.copy()
    vertices[vertex] += by * np.array([np.cos(direction), np.sin(direction)])
    return gw.Outline(vertices, outline.bulges)


def random_spoils(count, seed=7):
    random = np.random.default_rng(seed)
    for _ in range(count):
        part = int(random.integers(2))
        vertex = int(random.integers(len((PINION, WHEEL)[part])))
        yield part, vertex, float(random.uniform(0, 2 * np.pi))


@pytest.mark.parametrize(("part", "vertex", "direction"), list(random_spoils(20)))
def test_one_vertex_moved_is_caught_and_named(part, vertex, direction):
    outlines, names, z = [PINION, WHEEL], ("small gear", "big gear"), (14, 38)[part]
    x, y = outlines[part].vertices[vertex]
    where = np.degrees(np.arctan2(y, x)) * z / 360
    outlines[part] = spoiled(outlines[part], vertex, direction)
    report = check_rolling(*outlines, DISTANCE, (14, 38), names=names, tolerance=0.0)
    found = report[f"teeth alike, {names[part]}"]
    assert not found.ok
    named = re.search(rf"Tooth ([\d, ]+) of the {names[part]}", found.why).group(1)
    teeth = [int(t) for t in named.split(", ")]
    assert round(where) % z in teeth
    assert all(min((t - where) % z, (where - t) % z) <= 0.7 for t in teeth)
    assert report[f"teeth alike, {names[1 - part]}"].ok


def test_a_bump_on_a_flank_is_where_the_mesh_touches_first():
    tooth = np.angle(PINION.vertices @ [1, 1j] * np.exp(-2j * np.pi * 5 / 14))
    on_flank = np.hypot(*PINION.vertices.T) - 36.0
    vertex = int(np.argmin(np.hypot(10 * (tooth - 0.11), on_flank)))
    x, y = PINION.vertices[vertex]
    bad = spoiled(PINION, vertex, np.arctan2(x, -y))
    rolling = roll(bad, WHEEL, DISTANCE, (14, 38))
    assert rolling.first_touch.pinion_tooth == 5
    assert np.hypot(rolling.first_touch.x, rolling.first_touch.y) == pytest.approx(
        np.hypot(x, y), abs=0.2
    )
    assert rolling.min_backlash < ORCHARD.backlash - 0.2


@pytest.mark.parametrize(("tooth", "side"), [(9, 1), (9, -1), (30, 1), (30, -1)])
def test_a_bump_on_the_wheel_is_met_at_its_tooth(tooth, side):
    points = WHEEL.vertices @ [1, 1j] * np.exp(-2j * np.pi * tooth / 38)
    on_flank = np.abs(points) - ORCHARD.wheel.reference_diameter / 2
    vertex = int(np.argmin(np.hypot(50 * (np.angle(points) - side * 0.04), on_flank)))
    x, y = side * WHEEL.vertices[vertex]
    bad = spoiled(WHEEL, vertex, np.arctan2(x, -y), by=0.15)
    rolling = roll(PINION, bad, DISTANCE, (14, 38))
    assert rolling.first_touch.wheel_tooth == tooth
    placed = Placed((PINION, bad), DISTANCE, (14, 38))
    k = int(np.argmin(rolling.backlash))
    angle = rolling.pinion_angle[k]
    for sign, way in ((1, rolling.forward[k]), (-1, rolling.backward[k])):
        # a sharp bump falls between the points the wheel's flank is sampled at
        assert not shapely.intersects(*placed.at(angle, sign * (way - 0.006)))
        assert shapely.intersects(*placed.at(angle, sign * (way + 0.006)))


@pytest.mark.parametrize("part", [0, 1])
@pytest.mark.parametrize("known", [True, False])
def test_inches_for_millimetres_are_caught_and_named(part, known):
    outlines, name = [PINION, WHEEL], ("pinion", "wheel")[part]
    outlines[part] = gw.Outline(outlines[part].vertices * 25.4, outlines[part].bulges)
    more = AS_DESIGNED if known else {}
    report = check_rolling(*outlines, DISTANCE, (14, 38), **more)
    assert [check.name for check in report.failed if "size" in check.name] == [f"size, {name}"]
    assert "Inches were taken for millimetres" in report[f"size, {name}"].why
    assert name in report[f"size, {name}"].why


@pytest.mark.parametrize(
    ("away", "failing"),
    [
        (0.5, "backlash against the design"),
        (-1.0, "backlash, nominal"),
        (4.5, "contact ratio, nominal"),
        (-110.0, "centre distance"),
    ],
)
def test_a_wrong_centre_distance_is_caught(away, failing):
    report = check_rolling(PINION, WHEEL, DISTANCE + away, (14, 38), **AS_DESIGNED)
    assert any(check.name.startswith(failing) for check in report.failed)
    words = " ".join(f"{check.why} {check.remedy}" for check in report.failed)
    assert "centre distance" in words or "Set the shafts" in words


@pytest.mark.parametrize("away", [4.5, 7.0])
@pytest.mark.parametrize(("moved", "told"), [(0.0, False), (-0.5, True), (0.5, True)])
def test_play_that_grows_where_no_tooth_touches_is_as_designed(away, moved, told):
    """Of pairs so far apart that their contact ratio is 0.72 and 0.35."""
    pair = pair_of(14, 38, away=away)
    outlines, distance = cut(pair), pair.centre_distance
    report = check_rolling(*outlines, distance + moved, (14, 38), backlash=pair.backlash)
    assert any(check.name.startswith("contact ratio, nominal") for check in report.failed)
    assert ("backlash against the design" in {c.name for c in report.failed}) == told


def test_a_wrong_centre_distance_is_told_the_right_one():
    report = check_rolling(PINION, WHEEL, DISTANCE + 0.4, (14, 38), **AS_DESIGNED)
    told = re.search(r"about ([\d.]+) mm", report["backlash against the design"].remedy).group(1)
    assert float(told) == pytest.approx(DISTANCE, abs=0.1)


def test_a_bit_of_twice_the_size_is_caught_and_both_parts_named():
    report = check_rolling(PINION, WHEEL, DISTANCE, (14, 38), bit_diameter=6.0)
    assert [check.name for check in report.failed] == [
        "inside corner, pinion",
        "inside corner, wheel",
    ]


def test_a_gear_of_the_wrong_count_is_caught():
    report = check_rolling(PINION, WHEEL, DISTANCE, (13, 38))
    assert report["teeth missing or added, pinion"].why.startswith("The pinion has 14 teeth")
    assert not report.ok


def test_rounded_files_roll_the_same():
    rounded = (gw.Outline(np.round(o.vertices, 5), np.round(o.bulges, 6)) for o in (PINION, WHEEL))
    again, plain = (
        roll(*rounded, DISTANCE, (14, 38)),
        roll(PINION, WHEEL, DISTANCE, (14, 38)),
    )
    assert again.backlash == pytest.approx(plain.backlash, abs=2e-4)


def test_crossings_are_those_shapely_finds():
    random = np.random.default_rng(3)
    crossed = 0
    for _ in range(30):
        vertex, direction = random.integers(len(PINION)), random.uniform(0, 2 * np.pi)
        outline = spoiled(PINION, vertex, direction, by=random.uniform(1.0, 20.0))
        ring = shapely.LinearRing(outline.points(0.01))
        at = crossing(outline)
        assert (at is None) == ring.is_simple
        if at is not None:
            crossed += 1
            assert ring.distance(shapely.Point(at.real, at.imag)) < 1e-6
    assert 5 < crossed < 25


def test_a_crossing_is_named():
    vertices = PINION.vertices.copy()
    vertices[[40, 46]] = vertices[[46, 40]]
    report = check_rolling(gw.Outline(vertices, PINION.bulges), WHEEL, DISTANCE, (14, 38))
    found = report["self-crossing, pinion"]
    assert not found.ok
    assert "path of the pinion crosses itself near" in found.why


def test_gears_out_of_reach_fail_without_a_number_to_move_by():
    """They meet nothing, so that no first touch and no way nearer is known."""
    tips = AS_DESIGNED["tip_diameters"]
    away = DISTANCE + 12.0
    found = check_rolling(PINION, WHEEL, away, (14, 38), tolerance=0.0, tip_diameters=tips)
    contact = next(c for c in found if c.name.startswith("contact ratio"))
    assert not contact.ok
    assert "does not reach" in " ".join(c.why for c in found)


def test_gears_jammed_into_each_other_are_not_moved_apart_for_ever():
    tips = AS_DESIGNED["tip_diameters"]
    near = DISTANCE - 25.0
    found = check_rolling(PINION, WHEEL, near, (14, 38), tolerance=0.0, tip_diameters=tips)
    assert not found.ok
    assert all(check.remedy for check in found.failed)


def test_an_outline_that_lost_a_vertex_is_judged_by_its_flanks():
    spoiled = gw.Outline(np.delete(WHEEL.vertices, 5, axis=0), np.delete(WHEEL.bulges, 5))
    found = check_rolling(PINION, spoiled, DISTANCE, (14, 38), **AS_DESIGNED)
    assert "teeth alike, wheel" in {check.name for check in found.failed}


def test_a_star_with_as_many_points_is_no_gear():
    spikes = np.where(np.arange(76) % 2, 80.0, 95.0) * np.exp(1j * np.pi / 38 * np.arange(76))
    found = check_rolling(PINION, gw.Outline(spikes, np.zeros(76)), DISTANCE, (14, 38))
    assert not found.ok


def test_the_first_touch_is_told_by_teeth_and_diameter():
    found = check_rolling(PINION, WHEEL, DISTANCE, (14, 38), **AS_DESIGNED)
    told = next(c.why for c in found if c.name.startswith("transmission error"))
    diameter = float(re.search(r"of the pinion, at ([\d.]+) mm\s+diameter", told)[1])
    assert ORCHARD.pinion.root_diameter < diameter < ORCHARD.pinion.tip_diameter + 0.02
