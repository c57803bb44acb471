"""Sampling held against propagation of errors, exact backlash and one pair at a time."""

import time
from dataclasses import replace

import numpy as np
import pytest

import gearwork as gw
from gearwork.checks.hub.centring import Centring
from gearwork.checks.tolerance import (
    Scatter,
    Setting,
    SettingSearch,
    check_tolerance,
    draw,
    safe_setting,
    sample_pair,
)

PAIR = gw.GearPair(
    gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15), centre_distance=131.3
)
ALPHA, WORKING = np.radians(20.0), np.radians(PAIR.working_pressure_angle)
EXACT = Scatter(
    cutting_error=0.0,
    bit_diameter=0.0,
    centre_distance=0.0,
    eccentricity=0.0,
    moisture=0.0,
    moisture_difference=0.0,
)
SWELLING = 0.0002  # a share per percentage point in the plane of birch plywood, as in timber.toml


def cut(pair):
    """By a bit that reaches the bottom of every root."""
    return gw.CutPair(pair, gw.Bit(0.5))


def only(**figures):
    return replace(EXACT, **figures)


def test_without_scatter_every_sample_is_the_pair():
    spread = sample_pair(cut(PAIR), EXACT, samples=100)
    assert spread.backlash == pytest.approx(PAIR.backlash)
    assert spread.widest_backlash == pytest.approx(PAIR.backlash)
    assert spread.normal_backlash == pytest.approx(PAIR.normal_backlash)
    assert spread.contact_ratio == pytest.approx(PAIR.contact_ratio)
    assert spread.tip_clearance == pytest.approx(min(PAIR.tip_clearances))


# Propagation of small errors, closed form: j changes by 2 tan α_w for a change of the distance;
# by 2 f cos α / (cos α_w cos α) = 2 f / cos α_w for a flank offset f of one gear (normal to both
# its flanks); a bit wider by b takes b/2 off every flank of both gears; wood on steel loses
# 2 a tan α_w of play for its swelling. 100 000 samples know a deviation to 0.7 % (3 sigma).
LINEAR = {
    "centre": (only(centre_distance=0.03), 2 * np.tan(WORKING) * 0.03),
    "cutting": (only(cutting_error=0.03), np.sqrt(2) * 2 * 0.03 / np.cos(WORKING)),
    "bit": (only(bit_diameter=0.03), 2 * 0.03 / np.cos(WORKING)),
    "moisture on steel": (
        only(moisture=2.0, frame="steel"),
        2 * 131.3 * np.tan(WORKING) * SWELLING * 2.0,
    ),
    "frame against gears": (
        only(moisture_difference=2.0),
        2 * 131.3 * np.tan(WORKING) * SWELLING * 2.0,
    ),
}


@pytest.mark.parametrize("name", LINEAR)
def test_spread_of_backlash_by_propagation_of_errors(name):
    scatter, expected = LINEAR[name]
    backlash = sample_pair(cut(PAIR), scatter).backlash
    assert np.std(backlash) == pytest.approx(expected, rel=0.01)
    assert np.mean(backlash) == pytest.approx(PAIR.backlash, abs=0.02 * expected)


def test_variances_add():
    together = replace(
        EXACT,
        centre_distance=0.03,
        cutting_error=0.03,
        bit_diameter=0.03,
        moisture_difference=2.0,
    )
    parts = [LINEAR[name][1] ** 2 for name in ("centre", "cutting", "bit", "frame against gears")]
    found = np.var(sample_pair(cut(PAIR), together).backlash)
    assert found == pytest.approx(sum(parts), rel=0.02)


def test_eccentric_gears_come_nearer_by_the_mean_of_a_rayleigh_distance():
    # The mean of a Rayleigh distribution is σ √(π/2), its variance (2 − π/2) σ²; two gears.
    spread = sample_pair(cut(PAIR), only(eccentricity=0.02))
    slope = 2 * np.tan(WORKING)
    mean, deviation = 2 * 0.02 * np.sqrt(np.pi / 2), np.sqrt(2 * (2 - np.pi / 2)) * 0.02
    assert PAIR.backlash - spread.backlash.mean() == pytest.approx(slope * mean, rel=0.01)
    assert spread.widest_backlash.mean() - PAIR.backlash == pytest.approx(slope * mean, rel=0.01)
    assert np.std(spread.backlash) == pytest.approx(slope * deviation, rel=0.01)


FITS = Centring(12.07, (11.701, 11.966), 12.0)


def test_run_out_by_the_fits_is_that_of_circles_in_circles():
    """Second road: centres placed one in the other, half of each play apart, at random."""
    loose = replace(EXACT, eccentricity=None, max_run_out=5.0)
    found = draw(loose, 50_000, centrings=(FITS, FITS)).eccentricities
    random = np.random.default_rng(20261128)
    rods = random.uniform(11.701, 11.966, 50_000)
    centres = sum(
        (size - rods) / 2 * np.exp(2j * np.pi * random.random(50_000)) for size in (12.07, 12.0)
    )
    assert np.mean(found[0]) == pytest.approx(np.mean(np.abs(centres)), rel=0.01)
    assert np.quantile(found[1], 0.99) == pytest.approx(
        np.quantile(np.abs(centres), 0.99), rel=0.01
    )


def test_what_is_cut_too_small_is_cut_too_small_in_the_bore():
    rough = replace(EXACT, eccentricity=None, max_run_out=5.0, cutting_error=0.05)
    drawn = draw(rough, 10_000, centrings=(replace(FITS, rod=(11.9, 11.9)),) * 2)
    thick, thin = drawn.flanks[0] > 0.06, drawn.flanks[0] < -0.06
    assert drawn.eccentricities[0][thick].mean() < drawn.eccentricities[0][thin].mean()


@pytest.mark.parametrize(
    ("figures", "words", "mean"),
    [
        ({"eccentricity": 0.02}, "the typed eccentricity of 0.02 mm", 0.02 * np.sqrt(np.pi / 2)),
        ({}, "gears are trued to 0.1 mm of run-out", 0.05),
        ({"max_run_out": 0.04}, "gears are trued to 0.04 mm of run-out", 0.02),
    ],
)
def test_a_typed_eccentricity_goes_before_the_fits_and_is_named(figures, words, mean):
    scatter = replace(EXACT, **{"eccentricity": None} | figures)
    drawn = draw(scatter, 10_000, centrings=(FITS, FITS))
    # a few fits are better than trueing asks for
    assert drawn.eccentricities.mean() == pytest.approx(mean, rel=0.04)
    report = check_tolerance(cut(PAIR), scatter, samples=1000, centrings=(FITS, FITS))
    assert words in report["chance of binding"].reason


# Exact: swelling by s scales all lengths of a gear by 1 + s; the backlash on steel is that of
# gears of module m (1 + s) at the same distance, on wood the backlash itself grows by 1 + s.
@pytest.mark.parametrize("change", [-6.0, 4.0, 8.0])
def test_moisture_moves_the_play_of_wood_on_steel_but_not_of_wood_on_wood(change):
    grown = 1 + SWELLING * change
    swollen = gw.GearPair(
        gw.Gear(5 * grown, 14, 0.25, thinning=0.15 * grown),
        gw.Gear(5 * grown, 38, thinning=0.15 * grown),
        centre_distance=131.3,
    )
    on_steel = sample_pair(cut(PAIR), only(moisture_change=change, frame="steel"), samples=100)
    on_wood = sample_pair(cut(PAIR), only(moisture_change=change), samples=100)
    assert on_steel.backlash == pytest.approx(swollen.backlash, abs=1e-9)
    assert on_wood.backlash == pytest.approx(PAIR.backlash * grown, abs=1e-9)
    handbook = -2 * 131.3 * np.tan(WORKING) * SWELLING * change
    assert on_steel.backlash[0] - PAIR.backlash == pytest.approx(handbook, rel=0.02)


def test_a_wetter_gear_on_steel_binds_first():
    chances = [
        sample_pair(cut(PAIR), Scatter(moisture_change=c, frame="steel")).chance_of_binding
        for c in (-5.0, 0.0, 5.0)
    ]
    assert chances == sorted(chances)
    assert chances[0] < chances[2]


def test_samples_are_pairs_one_by_one():
    scatter = Scatter(frame="steel", deflection=0.05)
    loose = gw.GearPair(
        gw.Gear(5, 14, 0.25, thinning=0.6, tip_alteration=-0.1),
        gw.Gear(5, 38, thinning=0.6, tip_alteration=-0.1),
        centre_distance=131.5,
    )
    spread, drawn = sample_pair(cut(loose), scatter, seed=5), draw(scatter, seed=5)
    for i in range(60):
        growth, distance = drawn.gear_growth[i], 131.5 * drawn.frame_growth[i] + drawn.shafts[i]
        swing = drawn.eccentricities[:, i].sum()
        gears = []
        for gear, flank in zip((loose.pinion, loose.wheel), drawn.flanks[:, i], strict=True):
            module = gear.module * growth
            tip = gear.tip_diameter * growth + 2 * flank
            root = gear.root_diameter * growth + 2 * flank
            middle = module * (gear.teeth + 2 * gear.profile_shift)
            gears.append(
                gw.Gear(
                    module,
                    gear.teeth,
                    gear.profile_shift,
                    addendum=(tip - middle) / 2 / module,
                    clearance=(middle - root) / 2 / module - (tip - middle) / 2 / module,
                    thinning=gear.thinning * growth - 2 * flank / np.cos(ALPHA),
                )
            )
        near = gw.GearPair(*gears, distance - swing)
        far = gw.GearPair(*gears, distance + swing)
        loaded = gw.GearPair(*gears, distance + swing + 0.05)
        assert spread.backlash[i] == pytest.approx(near.backlash, abs=1e-9)
        assert spread.normal_backlash[i] == pytest.approx(near.normal_backlash, abs=1e-9)
        assert spread.widest_backlash[i] == pytest.approx(far.backlash, abs=1e-9)
        assert spread.contact_ratio[i] == pytest.approx(loaded.contact_ratio, abs=1e-9)
        assert spread.tip_clearance[i] == pytest.approx(min(near.tip_clearances), abs=1e-9)


def test_an_offset_of_the_outline_is_an_offset_of_the_flanks():
    # Independent road: the cut outline itself, offset by shapely, has the tooth thickness,
    # tip and root that a sample with this flank offset is given.
    import shapely

    gear, flank = PAIR.wheel, 0.08
    outline = gw.gear_outline(gear, gw.Bit(3.0), PAIR.pinion, PAIR.centre_distance, 1e-4)
    wider = shapely.Polygon(outline.points(1e-4)).buffer(flank, quad_segs=64)
    angle = np.linspace(0, 2 * np.pi, 200_001)
    circle = gear.reference_diameter / 2 * np.column_stack([np.cos(angle), np.sin(angle)])
    thickness = shapely.LineString(circle).intersection(wider).length / gear.teeth
    thicker = 2 * flank / np.cos(ALPHA)
    assert thickness == pytest.approx(gear.tooth_thickness + thicker, abs=1e-3)
    reach = np.hypot(*np.array(wider.exterior.coords).T)
    assert reach.max() == pytest.approx(gear.tip_diameter / 2 + flank, abs=1e-3)
    assert reach.min() == pytest.approx(gear.root_diameter / 2 + flank, abs=1e-3)


def test_the_chance_of_binding_is_that_of_a_normal_distribution():
    # One linear cause: P(j < 0) = Φ(−j / σ); Φ(−1) = 0.158655, Φ(−2) = 0.022750 (tables).
    for sigmas, chance in ((1.0, 0.158655), (2.0, 0.022750)):
        error = PAIR.backlash / sigmas / (2 / np.cos(WORKING))
        spread = sample_pair(cut(PAIR), only(bit_diameter=error))
        slack = 4 * np.sqrt(chance * (1 - chance) / 100_000)
        assert spread.chance_of_binding == pytest.approx(chance, abs=slack)
        assert spread.standard_error(chance) == pytest.approx(slack / 4)


def test_tips_that_strike_the_root_bind_too():
    deep = gw.GearPair(
        gw.Gear(5, 14, 0.25, thinning=0.6, clearance=0.02),
        gw.Gear(5, 38, thinning=0.6, clearance=0.02),
    )
    spread = sample_pair(cut(deep), only(centre_distance=0.1))
    assert (spread.backlash > 0).all()
    # The tips are clear by 0.02 · 5 mm = one standard deviation of the shafts.
    assert spread.chance_of_binding == pytest.approx(0.158655, abs=0.005)


def root_by_search(gear, bit):
    """Independent road: how deep a circle goes between two flanks, by distances to points."""
    base, roll = gear.base_diameter / 2, np.linspace(0, 1.2, 40_001)
    flank = base * (1 - 1j * roll) * np.exp(1j * roll)
    at_reference = np.tan(np.radians(gear.pressure_angle)) - np.radians(gear.pressure_angle)
    space = np.pi / gear.teeth - gear.tooth_thickness / gear.reference_diameter
    flank = flank * np.exp(1j * (space - at_reference))
    low, high = base, gear.tip_diameter
    for _ in range(50):
        middle = (low + high) / 2
        fits = np.abs(flank - middle).min() > bit / 2
        low, high = (low, middle) if fits else (middle, high)
    return low - bit / 2


def test_a_root_the_bit_leaves_shallow_takes_tip_clearance():
    small = gw.GearPair(gw.Gear(2, 24, 0.3, thinning=0.1), gw.Gear(2, 30, thinning=0.1))
    roots = root_by_search(small.pinion, 2.5), root_by_search(small.wheel, 2.5)
    assert roots[0] > small.pinion.root_diameter / 2 + 0.3
    tips = small.wheel.tip_diameter / 2, small.pinion.tip_diameter / 2
    room = min(small.centre_distance - r - t for r, t in zip(roots, tips, strict=True))
    found = sample_pair(gw.CutPair(small, gw.Bit(2.5)), EXACT, samples=100).tip_clearance
    assert found == pytest.approx(room, abs=1e-4)


def test_the_same_seed_gives_the_same_samples_and_another_one_others():
    one, same, other = (sample_pair(cut(PAIR), seed=s, samples=1000).backlash for s in (1, 1, 2))
    assert (one == same).all()
    assert (one != other).any()


def test_nearer_shafts_bind_more_and_wider_ones_lose_overlap():
    distances = np.linspace(131.0, 133.0, 5)
    spreads = [sample_pair(cut(gw.GearPair(*_gears(0.3), a)), samples=FEW) for a in distances]
    binding = [s.chance_of_binding for s in spreads]
    low = [s.chance_of_overlap_below(1.3) for s in spreads]
    assert binding == sorted(binding, reverse=True)
    assert binding[0] > 0 == binding[-1]
    assert low == sorted(low)
    assert low[0] < low[-1]


def _gears(thinning):
    return gw.Gear(5, 14, 0.25, thinning=thinning), gw.Gear(5, 38, thinning=thinning)


TIGHT = gw.GearPair(*_gears(0.05))
FEW = 20_000


def safe_distance(pair, accepted=0.01, contact_ratio=1.0, samples=FEW):
    search = SettingSearch.over(draw(Scatter(), samples, 0), Scatter(), accepted, contact_ratio)
    return safe_setting(pair, search, search.spread(Setting.of(pair)))


@pytest.mark.parametrize("accepted", [0.05, 0.01, 0.001])
def test_the_safe_distance_is_safe_and_no_farther_than_needed(accepted):
    safe = safe_distance(cut(TIGHT), accepted=accepted, samples=FEW)
    assert safe.added_thinning == 0.0
    assert safe.spread.chance_of_binding <= accepted
    again = gw.GearPair(*_gears(0.05), safe.centre_distance)
    nearer = gw.GearPair(*_gears(0.05), safe.centre_distance - 0.013)
    assert sample_pair(cut(again), samples=FEW).chance_of_binding <= accepted
    assert sample_pair(cut(nearer), samples=FEW).chance_of_binding > accepted


def test_where_overlap_forbids_the_distance_teeth_are_thinned():
    plain = safe_distance(cut(TIGHT), samples=FEW)
    safe = safe_distance(cut(TIGHT), contact_ratio=1.43, samples=FEW)
    assert safe.centre_distance < plain.centre_distance
    assert safe.added_thinning > 0.0
    pair = gw.GearPair(*_gears(0.05 + safe.added_thinning), safe.centre_distance)
    spread = sample_pair(cut(pair), samples=FEW)
    assert spread.chance_of_binding <= 0.01
    assert spread.chance_of_overlap_below(1.43) <= 0.01
    less = gw.GearPair(*_gears(0.05 + safe.added_thinning - 0.011), safe.centre_distance)
    assert sample_pair(cut(less), samples=FEW).chance_of_binding > 0.01
    wider = gw.GearPair(TIGHT.pinion, TIGHT.wheel, safe.centre_distance + 0.015)
    assert sample_pair(cut(wider), samples=FEW).chance_of_overlap_below(1.43) > 0.01


def test_a_pair_that_is_safe_stays_where_it_is():
    pair = gw.GearPair(*_gears(0.5))
    safe = safe_distance(cut(pair), samples=FEW)
    assert (safe.centre_distance, safe.added_thinning) == (pair.centre_distance, 0.0)


def test_what_cannot_be_kept_is_refused_with_what_can():
    with pytest.raises(gw.GearworkError, match=r"it keeps 1\.4\d+ that surely; ask for less"):
        safe_distance(cut(TIGHT), contact_ratio=1.8, samples=FEW)


def test_checks_carry_the_safe_setting_as_remedy():
    report = check_tolerance(cut(TIGHT), contact_ratio=1.2, samples=FEW)
    safe = safe_distance(cut(TIGHT), contact_ratio=1.2, samples=FEW)
    assert [check.name for check in report.failed] == ["chance of binding"]
    assert report["chance of binding"].ways == ((("stage.centre_distance", safe.centre_distance),),)
    moved = gw.GearPair(*_gears(0.05), safe.centre_distance)
    assert check_tolerance(cut(moved), contact_ratio=1.2, samples=FEW).ok


def test_a_hopeless_pair_is_told_no_distance():
    report = check_tolerance(cut(TIGHT), contact_ratio=1.8, samples=2000)
    assert not report["chance of a contact ratio below 1.8"].every_way


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"cutting_error": -0.1}, "cutting error is -0.1 mm: it must be at least 0 mm"),
        ({"moisture": "wet"}, "moisture is 'wet'"),
        ({"frame": "brick"}, "frame is 'brick': it must be .wood. or .steel."),
    ],
)
def test_bad_figures_are_refused(figures, words):
    with pytest.raises(gw.GearworkError, match=words):
        Scatter(**figures)


def test_bad_requests_are_refused():
    with pytest.raises(gw.GearworkError, match="samples is 5: it must be at least 100"):
        sample_pair(cut(PAIR), samples=5)
    with pytest.raises(gw.GearworkError, match="accepted chance is 0: it must be at least"):
        safe_distance(cut(PAIR), accepted=0.0)


def test_a_hundred_thousand_samples_in_about_a_second():
    start = time.perf_counter()
    spread = sample_pair(cut(PAIR), samples=100_000)
    assert time.perf_counter() - start < 1.0
    assert len(spread.backlash) == 100_000


def test_thinning_is_told_where_the_distance_alone_will_not_do():
    tight = gw.GearPair(gw.Gear(5, 14, 0.25), gw.Gear(5, 38))
    found = check_tolerance(cut(tight), contact_ratio=1.42, samples=2000)
    assert dict(found.checks[0].ways[0])["stage.thinning"] > 0.0
