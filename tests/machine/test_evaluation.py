import statistics
from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.gear_outline import gear_outline
from gearwork.geometry.pair import GearPair
from gearwork.geometry.toolpath import bit_paths, grown
from gearwork.machine.evaluation import (
    MEASURED,
    Readings,
    evaluate_test_piece,
)
from gearwork.machine.testpiece import SLOT_EASE, make_test_piece
from gearwork.output.jobsheet.measuring import inspection_rows
from gearwork.stock.bit import Bit

BIT = Bit(3.0)
PAIR = GearPair(
    Gear(module=5, teeth=14, profile_shift=0.25, thinning=0.1),
    Gear(module=5, teeth=38, thinning=0.1),
)
TEST_PIECE = make_test_piece(PAIR, BIT, 9.0)


# --- the cut, simulated: a bit of another diameter moved along the path made for 3 mm ---


def centre_line(outline, distance, yielding):
    """Way of the bit's centre, at a distance from the outline and pushed away from the wood."""
    path = Polygon(grown(outline, distance).points(1e-4))
    return path.buffer(np.sign(distance) * yielding, quad_segs=128).exterior


def swept(ring, bit_diameter):
    """Wood that a bit removes whose centre follows a closed line."""
    return LineString(ring.coords).buffer(bit_diameter / 2, quad_segs=128)


def cut_test_piece(bit_diameter, yielding):
    """Wood left of both pieces, and the openings in them."""
    told = TEST_PIECE.programmed_diameter / 2
    found = []
    for part in TEST_PIECE.parts:
        ring = centre_line(part.outer, told, yielding)
        wood = Polygon(ring).difference(swept(ring, bit_diameter))
        # In its own slot the bit is pushed to neither side.
        aside = yielding if part is TEST_PIECE.wheel.part else 0.0
        ring = centre_line(part.cuts[0].outline, -told, aside)
        found.append((wood, Polygon(ring).union(swept(ring, bit_diameter))))
    return found


def caliper(wood, piece):
    """Bar, span between parallel jaws and height over the pin, read off the piece's polygon."""
    x, y = np.array(wood.exterior.coords).T
    flat = y.min()
    below = y < flat + 5
    on_teeth = np.hypot(x, y) > 1.004 * piece.gear.base_diameter / 2
    jaws = [x[on_teeth & (side * x > 0)] * side for side in (-1, 1)]
    pin = piece.pin_diameter
    low, high = 0.0, y.max() + pin
    for _ in range(40):
        middle = (low + high) / 2
        near = wood.distance(Point(0, middle)) < pin / 2
        low, high = (middle, high) if near else (low, middle)
    return np.ptp(x[below]), sum(jaw.max() for jaw in jaws), low + pin / 2 - flat


def measured(bit_diameter, yielding):
    found = cut_test_piece(bit_diameter, yielding)
    slot, hole = (opening.bounds for _, opening in found)
    values = [slot[3] - slot[1], hole[2] - hole[0]]
    for (wood, _), piece in zip(found, (TEST_PIECE.pinion, TEST_PIECE.wheel), strict=True):
        values += caliper(wood, piece)
    return dict(zip(TEST_PIECE.instructions, values, strict=True))


def sizes(*errors, **more):
    return {name: size for name, (size, _) in TEST_PIECE.sizes(*errors, **more).items()}


CUTS = [(3.0, 0.0), (3.12, 0.0), (2.92, 0.0), (3.08, 0.05)]


@pytest.fixture(scope="module")
def simulated():
    return {cut: measured(*cut) for cut in CUTS}


def truth(cut):
    """Offset of all edges: half of what the bit cuts too little, and what it yields."""
    bit, yielding = cut
    return (3.0 - bit) / 2 + yielding


@pytest.mark.parametrize("cut", CUTS)
def test_sizes_are_those_of_the_cut_polygon(simulated, cut):
    offset = truth(cut)
    expected = sizes(cut[0], offset, offset)
    # Jaw on a polygon of 1e-4 mm chords of an outline within 0.005 mm: 0.01 over two flanks,
    # over a pin that times 1/sin α_M (about 2.4) / 2 for one flank each side.
    assert simulated[cut] == pytest.approx(expected, abs=0.012)


@pytest.mark.parametrize("cut", CUTS)
def test_a_cut_read_without_noise_gives_bit_and_offset_back(simulated, cut):
    result = evaluate_test_piece(TEST_PIECE, Readings(**simulated[cut]))
    assert result.bit_diameter.value == pytest.approx(cut[0], abs=0.002)
    assert result.outside.value == pytest.approx(truth(cut), abs=0.004)
    assert result.inside.value == pytest.approx(truth(cut), abs=0.002)
    assert result.unexplained.value == pytest.approx(cut[1], abs=0.005)


@pytest.mark.parametrize("cut", [(3.12, 0.0), (3.08, 0.05)])
def test_the_diameter_to_tell_brings_the_edges_onto_their_lines(simulated, cut):
    result = evaluate_test_piece(TEST_PIECE, Readings(**simulated[cut]))
    ring = centre_line(TEST_PIECE.wheel.part.outer, result.tell_outside.value / 2, cut[1])
    wood = Polygon(ring).difference(swept(ring, cut[0]))
    _, span, _ = caliper(wood, TEST_PIECE.wheel)
    assert span == pytest.approx(sizes()["wheel_span"], abs=0.012)


def test_thickness_and_backlash_are_those_of_the_cut_gears(simulated):
    # Independent: turn the offset outlines of the whole gears against each other until they touch.
    offset = truth((2.92, 0.0))
    result = evaluate_test_piece(TEST_PIECE, Readings(**simulated[(2.92, 0.0)]))
    play = play_of(offset, 0.0, "wheel")
    pitch_radius = PAIR.working_pitch_diameters[1] / 2
    assert result.backlash.value == pytest.approx(play * pitch_radius, abs=0.02)
    thick = TEST_PIECE.wheel.gear.thickness_at(TEST_PIECE.wheel.gear.reference_diameter)
    tooth = gear_outline(PAIR.wheel, BIT, PAIR.pinion, PAIR.centre_distance)
    wood = Polygon(tooth.points(1e-4)).buffer(offset, join_style="mitre")
    ring = Point(0, 0).buffer(PAIR.wheel.reference_diameter / 2, quad_segs=2000).exterior
    share = ring.intersection(wood).length / 38
    assert result.thickness_error.value == pytest.approx(share - thick, abs=0.01)


# --- the statement about uncertainty ---


def test_mean_of_equal_readings_by_the_closed_form():
    # JCGM 100, 4.2.3 and G.4.1: u_A = s/√n, ν = n − 1; u_B = a/√3; Welch and Satterthwaite.
    slot, caliper_error = [3.05, 3.09, 3.06, 3.12], 0.03
    bit = evaluate_test_piece(
        TEST_PIECE, Readings(slot=slot, caliper_error=caliper_error)
    ).bit_diameter
    random = statistics.stdev(slot) / 2
    common = caliper_error / 3**0.5
    total = (random**2 + common**2) ** 0.5
    assert bit.value == pytest.approx(statistics.mean(slot) - SLOT_EASE)
    assert bit.uncertainty == pytest.approx(total)
    assert bit.freedom == pytest.approx(3 * total**4 / random**4)


def test_a_common_error_does_not_average_out():
    # 100 readings without scatter: what is left is the caliper's own error, half of it an edge.
    result = evaluate_test_piece(
        TEST_PIECE, Readings(wheel_bar=[60.0] * 50, pinion_bar=[40.0] * 50)
    )
    assert result.outside.uncertainty == pytest.approx(0.03 / 3**0.5 / 2)
    assert result.outside.freedom == np.inf


def test_errors_of_a_pin_reading_are_carried_over_by_trying_them():
    # JCGM 100, 5.1.2 note 2: move each input by its standard uncertainty and see what it does.
    # The reading alone: its scatter (assumed), the caliper's shift, the pin's diameter.
    drawn, moved = sizes(3.0, 0.0, 0.0)["pinion_pin"], 0.03 / 3**0.5
    pin = TEST_PIECE.pinion.pin_diameter

    def offset(reading, diameter):
        taken = Readings(pinion_pin=reading, pinion_pin_diameter=diameter)
        return evaluate_test_piece(TEST_PIECE, taken).outside

    by_reading = (offset(drawn + moved, pin).value - offset(drawn - moved, pin).value) / 2
    by_pin = (offset(drawn, pin + moved).value - offset(drawn, pin - moved).value) / 2
    expected = (2 * by_reading**2 + by_pin**2) ** 0.5
    assert offset(drawn, pin).uncertainty == pytest.approx(expected, rel=1e-3)


def trials(drawn, count, noise, zero_error, seed):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        shift = {"outside": rng.uniform(-1, 1), "inside": rng.uniform(-1, 1)}
        yield Readings(
            **{
                name: size
                + zero_error * shift["inside" if name in ("slot", "hole") else "outside"]
                + rng.normal(0, noise, 3)
                for name, size in drawn.items()
            },
            caliper_error=zero_error,
        )


@pytest.fixture(scope="module")
def judged(simulated):
    """500 readings of a cut with known errors; scatter alone, the caliper's error negligible."""
    drawn = simulated[(3.08, 0.05)].copy()
    del drawn["wheel_bar"], drawn["wheel_pin"]
    return [
        evaluate_test_piece(TEST_PIECE, readings)
        for readings in trials(drawn, 500, 0.03, 1e-6, seed=7)
    ]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "true"),
    [
        ("bit_diameter", 3.08),
        ("outside", 0.01),
        ("inside", 0.01),
        ("tell_outside", 2.98),
        ("unexplained", 0.05),
        ("thickness_error", 0.02 / np.cos(np.radians(20))),
    ],
)
def test_intervals_hold_the_true_value_as_often_as_they_say(judged, name, true):
    # 500 trials at 95 %: the binomial spread is 1 %, three of it either side.
    estimates = [getattr(result, name) for result in judged]
    held = np.mean([estimate.low <= true <= estimate.high for estimate in estimates])
    assert 0.92 <= held <= 0.98


def test_intervals_allow_for_the_caliper_being_off(simulated):
    # Scatter and zero error of the same size; a uniform error is at worst a little overstated.
    results = [
        evaluate_test_piece(TEST_PIECE, readings)
        for readings in trials(simulated[(3.08, 0.05)], 100, 0.02, 0.03, seed=11)
    ]
    for name, true in (("bit_diameter", 3.08), ("outside", 0.01)):
        estimates = [getattr(result, name) for result in results]
        assert np.mean([e.low <= true <= e.high for e in estimates]) >= 0.92


# --- readings that disagree ---


def clean(seed=3, **changes):
    rng = np.random.default_rng(seed)
    drawn = sizes(3.06, -0.03, -0.03)
    return {name: size + rng.normal(0, 0.02, 3) for name, size in drawn.items()} | changes


def test_good_readings_are_rarely_doubted():
    doubted = [
        evaluate_test_piece(TEST_PIECE, Readings(**clean(seed=seed), caliper_error=0.001)).findings
        for seed in range(60)
    ]
    # 5 % of 60 is 3, with three times the binomial spread of 1.7.
    assert sum("measure it again" in " ".join(found) for found in doubted) <= 8


def test_one_slip_is_named():
    values = clean()
    values["wheel_span"][1] += 0.25
    result = evaluate_test_piece(TEST_PIECE, Readings(**values))
    (doubt,) = [text for text in result.findings if "again" in text]
    assert doubt.startswith("Reading 2 of the wheel span, 54.")
    assert "larger than the other readings allow" in doubt


def test_something_measured_wrongly_three_times_is_named():
    values = clean()
    values["pinion_bar"] -= 0.25
    result = evaluate_test_piece(TEST_PIECE, Readings(**values))
    (doubt,) = [text for text in result.findings if "again" in text]
    assert doubt.startswith("The pinion bar is 0.2")
    assert "smaller" in doubt


def test_single_readings_are_checked_against_each_other():
    values = sizes(3.06, -0.03, -0.03)
    values["wheel_bar"] += 0.3
    findings = evaluate_test_piece(TEST_PIECE, Readings(**values)).findings
    assert any(text.startswith("The wheel bar is 0.30 mm larger") for text in findings)


def test_a_lone_reading_says_what_it_assumes():
    result = evaluate_test_piece(TEST_PIECE, Readings(slot=3.08))
    assert result.bit_diameter.uncertainty == pytest.approx(0.03 * (2 / 3) ** 0.5)
    assert result.outside is result.inside is result.backlash is result.tell_outside is None
    assert "assumed" in result.findings[0]
    assert "measured_diameter = 3.06" in str(result)


def test_wood_left_beyond_what_the_bit_explains_is_told(simulated):
    findings = evaluate_test_piece(TEST_PIECE, Readings(**simulated[(3.08, 0.05)])).findings
    assert any("farther out than the bit's diameter explains" in text for text in findings)
    plain = evaluate_test_piece(TEST_PIECE, Readings(**simulated[(3.12, 0.0)])).findings
    assert not any("explains" in text for text in plain)


def test_inside_and_outside_that_differ_are_told():
    values = sizes(3.0, outside=0.0, inside=0.12)
    findings = evaluate_test_piece(TEST_PIECE, Readings(**values)).findings
    assert any(
        "0.120 mm less wood beyond their line than inside edges" in text for text in findings
    )


def test_a_pin_of_another_size_is_allowed_for():
    pins = (8.9, 8.4)
    values = sizes(3.06, -0.03, -0.03, pins=pins)
    readings = Readings(
        **{name: values[name] for name in ("pinion_pin", "wheel_pin")},
        pinion_pin_diameter=pins[0],
        wheel_pin_diameter=pins[1],
    )
    assert evaluate_test_piece(TEST_PIECE, readings).outside.value == pytest.approx(-0.03, abs=1e-6)


def test_rates_are_the_slopes_of_the_sizes():
    step = 1e-5
    at = np.array([3.0, 0.05, 0.0])
    for column, move in enumerate(step * np.eye(3)):
        high, low = sizes(*(at + move)), sizes(*(at - move))
        for name, (_, rates) in TEST_PIECE.sizes(*at).items():
            assert (high[name] - low[name]) / 2 / step == pytest.approx(rates[column], abs=1e-5)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"slot": 0}, "slot is 0 mm: it must be above 0"),
        ({"slot": -3.0}, "above 0"),
        ({"slot": "3.06"}, "slot is '3.06': a number in mm is needed"),
        ({"slot": [3.06, None]}, "a number in mm"),
        ({"slot": {3.06}}, "a number in mm"),
        ({"hole": [22.0, float("nan")]}, "hole is nan: a finite number"),
        ({"slot": 9.0}, "slot is 9 mm: it should be 3.02 mm"),
        ({"slot": 0.119}, "was that inches\\? Give 3.02 mm"),
        ({"hole": 2.2}, "was that centimetres\\? Give 22.00 mm"),
        ({"wheel_span": 60.0}, "wheel span is 60 mm.*measure again"),
        ({"pinion_pin": 20.0}, "size over the pinion pin is 20 mm"),
        ({"slot": 3.0, "wheel_pin_diameter": 0.335}, "diameter of the wheel pin.*inches"),
        ({"slot": 3.0, "wheel_pin_diameter": "8"}, "wheel pin diameter is '8'"),
        ({"slot": 3.0, "caliper_error": 0}, "caliper error is 0 mm"),
        ({"slot": [3.0] * 51}, "slot has 51 readings: at most 50"),
        ({}, "no reading is given"),
    ],
)
def test_nonsense_is_refused_with_a_sentence(given, words):
    with pytest.raises(GearworkError, match=words):
        evaluate_test_piece(TEST_PIECE, Readings(**given))


def test_readings_that_leave_the_pin_no_flank_are_refused():
    low = GearPair(
        Gear(module=2, teeth=6, profile_shift=0.4, pressure_angle=14.5, addendum=0.6),
        Gear(module=2, teeth=20, pressure_angle=14.5, addendum=0.6),
    )
    test_piece = make_test_piece(low, Bit(0.5), 9.0)
    pin = 0.901 * test_piece.pinion.pin_diameter
    drawn = test_piece.sizes(pins=(pin, None))["pinion_pin"]
    reading = drawn.size - 0.2999 * drawn.rates[1]
    with pytest.raises(GearworkError, match="a pin would find no flank there"):
        evaluate_test_piece(test_piece, Readings(pinion_pin=reading, pinion_pin_diameter=pin))


# --- the pieces ---

WIDELY = [(5, 14, 38, 3.0), (2, 10, 60, 1.0), (3, 12, 24, 2.0), (8, 20, 80, 6.35), (4, 17, 17, 3.0)]


@pytest.fixture(scope="module", params=WIDELY, ids=str)
def any_test_piece(request):
    module, pinion, wheel, bit = request.param
    pair = GearPair(
        Gear(module=module, teeth=pinion, profile_shift=0.4, thinning=0.1),
        Gear(module=module, teeth=wheel, thinning=0.1),
    )
    return make_test_piece(pair, Bit(bit), 12.0), Bit(bit)


def test_the_bit_can_cut_the_pieces(any_test_piece):
    test_piece, bit = any_test_piece
    for part in test_piece.parts:
        assert part.outer.inside_corner_diameter >= bit.cut_diameter - 1e-6
        assert Polygon(part.outer.points()).is_valid
        assert len(bit_paths(part, bit)) == 2
        opening = Polygon(part.cuts[0].outline.points())
        assert Polygon(part.outer.points()).buffer(-5.9).contains(opening)


def test_pieces_carry_the_teeth_of_the_gears(any_test_piece):
    test_piece, bit = any_test_piece
    pair = test_piece.pair
    for piece, mate in ((test_piece.pinion, pair.wheel), (test_piece.wheel, pair.pinion)):
        whole = gear_outline(piece.gear, bit, mate, pair.centre_distance)
        space = 180 / piece.gear.teeth
        gear = Polygon(whole.turned(90 - space).points(1e-4))
        part = Polygon(piece.part.outer.points(1e-4))
        reach = 360 / piece.gear.teeth * piece.teeth_spanned / 2
        edge = piece.gear.tip_diameter
        angles = np.radians([90 - reach, 90, 90 + reach])
        sector = Polygon([(0, 0), *(2 * edge * np.column_stack([np.cos(angles), np.sin(angles)]))])
        ring = Point(0, 0).buffer(piece.gear.root_diameter / 2 - 0.2)
        assert gear.symmetric_difference(part).intersection(sector).difference(ring).area < 1e-3


def test_the_slot_is_one_pass_of_the_bit():
    slot = TEST_PIECE.pinion.part.cuts[0].outline
    path = grown(slot, -BIT.cut_diameter / 2)
    assert np.ptp(path.points()[:, 1]) == pytest.approx(SLOT_EASE, abs=1e-9)


def test_every_size_has_its_instruction():
    tried = replace(TEST_PIECE, bore_diameter=12.0)
    assert tuple(TEST_PIECE.instructions) == tuple(sizes())
    assert set(tried.instructions) == set(tried.sizes()) == set(MEASURED)


@pytest.mark.parametrize(
    ("hole", "words"),
    [(2.0, "hole of the test piece is 2 mm wide"), (float("nan"), "finite"), ("22", "a number")],
)
def test_impossible_holes_are_refused(hole, words):
    with pytest.raises(GearworkError, match=words):
        make_test_piece(PAIR, BIT, 9.0, hole_diameter=hole)


def test_teeth_too_low_to_measure_are_refused():
    stub = Gear(module=3, teeth=20, addendum=0.3)
    with pytest.raises(GearworkError, match="find too little flank"):
        make_test_piece(GearPair(stub, stub), Bit(2.5), 9.0)


# --- the inspection sheet ---

TOLERANCE, CENTRES = 0.02, 0.05


@pytest.fixture(scope="module")
def rows():
    found = inspection_rows(PAIR, BIT, TOLERANCE, CENTRES, bores=(8.2, None))
    return {(row.part, row.quantity): row for row in found}


def gears_with(offset):
    """Both whole gears with every edge moved out by the offset."""
    gears = []
    for gear, mate in ((PAIR.pinion, PAIR.wheel), (PAIR.wheel, PAIR.pinion)):
        outline = gear_outline(gear, BIT, mate, PAIR.centre_distance)
        wood = Polygon(outline.points(1e-4))
        gears.append(wood.buffer(offset, quad_segs=16, join_style="mitre", mitre_limit=10))
    return gears


def play_of(offset, centre, name):
    """Angle in radians by which one gear can turn while the other is held."""
    pinion, wheel = (gear.simplify(1e-4) for gear in gears_with(offset))
    distance = PAIR.centre_distance + centre
    wheel = affinity.rotate(wheel, 180 + 180 / PAIR.wheel.teeth, origin=(0, 0))
    held, turned, at = (
        (affinity.translate(wheel, distance, 0), pinion, 0.0)
        if name == "pinion"
        else (pinion, affinity.translate(wheel, distance, 0), distance)
    )
    near = Point(distance * 14 / 52, 0).buffer(25)
    held = held.intersection(near)
    turned = turned.intersection(near)
    total = 0.0
    for side in (1, -1):
        low, high = 0.0, 1.5
        for _ in range(14):
            middle = (low + high) / 2
            moved = affinity.rotate(turned, side * middle, origin=(at, 0))
            low, high = (low, middle) if moved.intersection(held).area > 1e-6 else (middle, high)
        total += low
    return np.radians(total)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("part", "spanned"), [("pinion", 2), ("wheel", 5)])
def test_span_limits_by_jaws_on_the_offset_outline(rows, part, spanned, side):
    row = rows[part, f"span over {spanned} teeth"]
    gear = getattr(PAIR, part)
    wood = gears_with(side * TOLERANCE)[part == "wheel"]
    x, y = np.array(wood.exterior.coords).T
    # Turned so that the middle of the spanned teeth is on +y; jaws close on the outer flanks.
    turn = np.pi / 2 - np.pi * (spanned - 1) / gear.teeth
    around = np.angle((x + 1j * y) * np.exp(1j * turn)) - np.pi / 2
    beyond = np.hypot(x, y) > 1.004 * gear.base_diameter / 2
    teeth = beyond & (np.abs(around) < np.pi * spanned / gear.teeth)
    across = ((x + 1j * y) * np.exp(1j * turn)).real[teeth]
    limit = row.upper if side > 0 else row.lower
    assert np.ptp(across) == pytest.approx(limit, abs=0.011)  # outlines within 0.005 a flank


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("part", "pin"), [("pinion", 8.5), ("wheel", 8.5)])
def test_pin_limits_by_pins_laid_into_the_offset_outline(rows, part, pin, side):
    row = rows[part, f"over {pin:g} mm pins"]
    gear = getattr(PAIR, part)
    wood = gears_with(side * TOLERANCE)[part == "wheel"]
    way = np.array([np.cos(np.pi / gear.teeth), np.sin(np.pi / gear.teeth)])
    low, high = 0.0, gear.tip_diameter
    for _ in range(40):
        middle = (low + high) / 2
        near = wood.distance(Point(*(middle * way))) < pin / 2
        low, high = (middle, high) if near else (low, middle)
    limit = row.upper if side > 0 else row.lower
    assert 2 * low + pin == pytest.approx(limit, abs=0.03)  # 0.005 a flank / sin 24°, twice


def test_tips_and_bores_move_with_their_edges(rows):
    tip, bore = rows["pinion", "tip diameter"], rows["pinion", "bore"]
    assert (tip.nominal, bore.nominal) == (PAIR.pinion.tip_diameter, 8.2)
    for row in (tip, bore):
        assert row.upper - row.nominal == pytest.approx(2 * TOLERANCE)
        assert row.nominal - row.lower == pytest.approx(2 * TOLERANCE)
    assert ("wheel", "bore") not in rows


@pytest.mark.parametrize(
    ("which", "offset", "centre"),
    [("nominal", 0.0, 0.0), ("lower", TOLERANCE, -CENTRES), ("upper", -TOLERANCE, CENTRES)],
)
@pytest.mark.parametrize("part", ["pinion", "wheel"])
def test_play_at_the_rim_by_turning_the_outlines(rows, part, which, offset, centre):
    tip = getattr(PAIR, part).tip_diameter / 2 + offset
    turned = play_of(offset, centre, part) * tip
    # Outlines within 0.005 mm of the tooth: 0.02 over two flanks of two teeth, larger at the tip.
    assert getattr(rows[part, "backlash at the rim"], which) == pytest.approx(turned, abs=0.025)


def test_teeth_that_would_bind_are_told():
    tight = GearPair(Gear(module=5, teeth=15), Gear(module=5, teeth=38))
    rows = list(inspection_rows(tight, BIT, 0.05, 0.1))
    play = [row for row in rows if row.quantity == "backlash at the rim"]
    assert all(row.lower == 0.0 and "bind" in row.how for row in play)
    assert any("most nearly opposite" in row.how for row in rows if row.part == "pinion")


def test_play_that_nobody_feels_is_none():
    """A gear that does not rock at all has bound, whatever its tolerances may add up to."""
    close = GearPair(Gear(module=5, teeth=15, thinning=0.1), Gear(module=5, teeth=38, thinning=0.1))
    rows = list(inspection_rows(close, BIT, 0.1, 0.2))
    play = [row for row in rows if row.quantity == "backlash at the rim"]
    assert all(row.lower == 0.05 < row.nominal for row in play)


def test_inspection_of_what_cannot_be_cut_is_refused():
    with pytest.raises(GearworkError, match="largest bit that fits"):
        list(inspection_rows(PAIR, Bit(9.0), 0.05, 0.1))
