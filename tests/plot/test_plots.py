"""Pictures: what is drawn is where geometry, statics and tables say, legible, and leaks nothing."""

import itertools
import re
import sys
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import matplotlib.text
import numpy as np
import pytest
import shapely
from drawn import areas, circles, named_area, named_points, straight_lines, written

import gearwork as gw
from gearwork.checks.tooth.elements import direction_polars
from gearwork.checks.tooth.mesh import CutPair
from gearwork.machine.drive import HandCrank, cordless_drill
from gearwork.machine.duty import Duty
from gearwork.machine.frame import Frame, ShaftParts
from gearwork.machine.load import GRAVITY, GivenLoad, RopeDrum
from gearwork.machine.stage import Stage
from gearwork.machine.train import GearTrain
from gearwork.machine.vehicle import Vehicle
from gearwork.plot import style

PAIR = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))
BIT = gw.Bit(3.0)
CUT = CutPair(PAIR, BIT)
BIRCH = gw.plywood("birch", 12)
RACK = CutPair(gw.GearPair(gw.Gear(5, 14, 0.3, thinning=0.2), gw.Rack(5, 12, thinning=0.2)), BIT)
DOUBLE = gw.Stack(BIRCH, (0.0, 45.0))
CRATES = RopeDrum(
    mass=120.0,
    slope=12.0,
    rolling_resistance=0.2,
    drum_diameter=80.0,
    rope_diameter=8.0,
    travel_speed=0.25,
    layers=3,
)
HAULER = Duty(cordless_drill(40.0, 400.0, 1600.0, gear="high"), CRATES)
CART = Vehicle(
    mass=60.0,
    wheel_diameter=200.0,
    slope=3.0,
    rolling_resistance=0.05,
    travel_speed=1.2,
    tyre_friction=0.5,
    wheelbase=800.0,
    centre_to_rear=320.0,
    centre_height=400.0,
    track=600.0,
)
PARTS = ShaftParts(
    rod_diameter=8.0, hub_diameter=24.0, hub_height=8.0, seat_diameter=22.0, bearing_width=7.0
)


def stage(pinion, wheel):
    gears = (gw.Gear(5, z, thinning=0.15) for z in (pinion, wheel))
    return Stage(gw.GearPair(*gears), face_width=24.0)


FRAME = Frame(plate_thickness=18.0, gap=12.0)
TRAIN = GearTrain((stage(16, 44), stage(18, 50)), (PARTS,) * 3, FRAME)
COAXIAL = GearTrain(
    (stage(18, 48), stage(18, 48)), (PARTS,) * 3, replace(FRAME, arrangement="coaxial")
)
TURN = np.arange(0.0, 720.0, 5.0)
ANGLES = 360.0 / 14 * np.arange(14)


def candidates():
    random = np.random.default_rng(7)
    x, y = random.uniform(100.0, 400.0, 80), random.uniform(1.0, 5.0, 80)
    beaten = (x[:, None] > x) & (y[:, None] > y)
    return x, y, ~beaten.any(axis=1)


def pareto():
    names = [f"{z}/38" for z in range(80)]
    return gw.plot_pareto(*candidates(), "diameter, mm", "mass, kg", names)


def crowded_pareto():
    size = np.linspace(450.0, 640.0, 80)
    names = ["m 5, 11/45, 2 layers; m 8, 11/28, 2 layers"] * 80
    front = np.ones(80, dtype=bool)
    return gw.plot_pareto(size, np.sqrt(size), front, "size, mm", "share", names)


PICTURES = {
    "teeth": lambda: gw.plot_tooth_polar(
        ANGLES, 0.5 + 0.3 * np.cos(np.radians(ANGLES)), 0.4 + 0.0 * ANGLES
    ),
    "many teeth": lambda: gw.plot_tooth_polar(
        360.0 / 38 * np.arange(38), 0.3 + 0.002 * np.arange(38)
    ),
    "stress": lambda: gw.plot_tooth_stress(CUT.pinion, BIRCH, 45.0, 10.0),
    "pareto": pareto,
    "crowded pareto": crowded_pareto,
    "backlash": lambda: gw.plot_backlash(TURN, 0.3 + 0.0 * TURN, 0.14 + 0 * TURN),
}
PANELS = {
    "pull and speed": lambda: gw.plot_pull_and_speed(HAULER),
    "sheets": lambda: gw.plot_polar_strength(BIRCH, DOUBLE),
}


def line(ax, label):
    """The line whose name in the key begins like this."""
    return next(each for each in ax.lines if each.get_label().startswith(label))


def points(ax, label):
    return np.asarray(line(ax, label).get_xydata())


def texts(ax):
    return [text.get_text() for text in ax.texts]


# All pictures


@pytest.fixture(scope="module")
def drawn():
    """The axes of every picture on its own figure, everything at its place."""
    pictures = {name: (draw(),) for name, draw in PICTURES.items()}
    pictures |= {name: draw() for name, draw in PANELS.items()}
    for axes in pictures.values():
        axes[0].figure.draw_without_rendering()
    return pictures


@pytest.mark.parametrize("name", [*PICTURES, *PANELS])
def test_what_is_drawn_counts_something_in_a_unit(drawn, name):
    units = ("mm", "kg", "MPa", "GPa", "N", "m/s", "%", "share", "index", "degrees")
    for ax in drawn[name]:
        words = [ax.get_title(loc="left"), ax.get_xlabel(), ax.get_ylabel()]
        assert any(word.endswith(unit) for word in words for unit in units) or "share" in words[0]


@pytest.mark.parametrize("name", [*PICTURES, *PANELS])
def test_letters_are_large_inside_the_figure_and_clear_of_each_other(drawn, name):
    figure = drawn[name][0].figure
    beyond = beyond_the_axes(figure)
    written = [
        text
        for text in figure.findobj(matplotlib.text.Text)
        if text.get_visible() and text.get_text().strip() and text not in beyond
    ]
    assert len(written) > 5
    assert min(text.get_fontsize() for text in written) >= 9.0
    boxes = [matplotlib.text.Text.get_window_extent(text).padded(-1.0) for text in written]
    for text, box in zip(written, boxes, strict=True):
        low, high = figure.bbox.min, figure.bbox.max
        assert (box.min >= low).all(), text.get_text()
        assert (box.max <= high).all(), text.get_text()
    crossing = [
        (one.get_text(), other.get_text())
        for (one, first), (other, second) in itertools.combinations(
            zip(written, boxes, strict=True), 2
        )
        if first.overlaps(second)
    ]
    assert crossing == []


def beyond_the_axes(figure):
    """Labels of ticks that lie outside their axes and are not drawn."""
    axes = [axis for ax in figure.axes for axis in (ax.xaxis, ax.yaxis)]
    limits = [sorted(axis.get_view_interval()) for axis in axes]
    return {
        label
        for axis, (low, high) in zip(axes, limits, strict=True)
        for tick in axis.get_major_ticks()
        if not low - 1e-9 <= tick.get_loc() <= high + 1e-9
        for label in (tick.label1, tick.label2)
    }


def test_graphs_have_the_ink_and_the_grey_of_the_pages():
    assert (style.LOOK["text.color"], style.LOOK["grid.color"]) == (style.INK, style.GREY)


def test_nothing_is_shown_saved_or_left_behind(drawn):
    pyplot = sys.modules.get("matplotlib.pyplot")
    assert pyplot is None or pyplot.get_fignums() == []


def test_the_same_picture_has_the_same_bytes():
    assert pareto()._repr_png_() == pareto()._repr_png_()
    assert gw.plot_mesh(CUT) == gw.plot_mesh(CUT)


def test_new_axes_show_themselves_in_a_notebook(drawn):
    assert drawn["backlash"][0]._repr_png_()[:4] == b"\x89PNG"
    assert all(hasattr(axes[0], "_repr_png_") for axes in drawn.values())


# The pair in mesh


MESHES = {
    "teeth in mesh": gw.plot_mesh(CUT),
    "whole pair": gw.plot_mesh(CUT, zoom=False),
    "rack": gw.plot_mesh(RACK),
    "whole rack": gw.plot_mesh(RACK, zoom=False),
    "moving": gw.animate_mesh(CUT),
}


@pytest.mark.parametrize("name", MESHES)
def test_words_of_a_pair_are_large_inside_the_picture_and_clear_of_each_other(name):
    svg = MESHES[name].svg
    root = ElementTree.fromstring(svg)
    width, height = float(root.get("width")), float(root.get("height"))
    words = written(svg)
    assert {"x from the pinion's centre, mm", "pinion", "line of action"} <= {w for w, *_ in words}
    assert min(size for _, size, _ in words) >= 11.9  # to the digits written
    upright = [(word, box) for word, _, box in words if word != "y, mm"]  # turned about its place
    for word, (left, top, right, bottom) in upright:
        assert left > 0.0 < top, word
        assert right < width, word
        assert bottom < height, word
    crossing = [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(upright, 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    assert crossing == []


@pytest.mark.parametrize("turn", [-20.0, -7.0, 0.0, 3.0, 11.0])
def test_flanks_touch_on_the_line_of_action_and_nowhere_overlap(turn):
    svg = gw.plot_mesh(CUT, turn=turn).svg
    pinion, wheel = (named_area(svg, name) for name in ("pinion", "wheel"))
    touching = named_points(svg, "touching now")
    assert len(touching) in (1, 2)  # contact ratio between 1 and 2
    start, end = named_points(svg, "line of action")
    along = (end - start) / np.hypot(*(end - start))
    for centre, gear in (((0.0, 0.0), PAIR.pinion), ((PAIR.centre_distance, 0.0), PAIR.wheel)):
        # The line of action is tangent to both base circles (ISO 21771-1); four decimals.
        reach = start - centre
        assert abs(along[0] * reach[1] - along[1] * reach[0]) == pytest.approx(
            gear.base_diameter / 2, abs=2e-4
        )
    for at in touching:
        reach = at - start
        assert abs(along[0] * reach[1] - along[1] * reach[0]) < 2e-4
        # Outlines keep 0.005 mm, and the chords of the test another 0.005.
        assert pinion.exterior.distance(shapely.Point(at)) < 0.01
        assert wheel.exterior.distance(shapely.Point(at)) < 0.01
    assert pinion.intersection(wheel).area < 0.1


def test_all_teeth_that_can_touch_do_one_base_pitch_apart():
    pitch = np.pi * 5.0 * np.cos(np.radians(20.0))
    for turn in (0.0, 8.0, 12.0):
        svg = gw.plot_mesh(CUT, turn=turn).svg
        first, last = named_points(svg, "contact, from A to E")
        along = (last - first) / np.hypot(*(last - first))
        place = (named_points(svg, "touching now") - first) @ along
        assert np.diff(place) == pytest.approx(pitch, abs=3e-4)
        assert place[0] - pitch < 0.0 <= place[0]
        assert place[-1] <= np.hypot(*(last - first)) < place[-1] + pitch


def test_contact_begins_and_ends_where_a_handbook_pair_says():
    """KHK Gear Technical Reference ch. 4 (from memory): m 3, z 12/24, x 0.6/0.36.

    Working pitch diameter 37.667, tips 44.840 and 79.400 at 56.4999 mm: contact ends on the
    pinion's tip circle and begins on the wheel's. Printed to 1e-3 in diameter.
    """
    pair = gw.GearPair(gw.Gear(3, 12, 0.6), gw.Gear(3, 24, 0.36))
    svg = gw.plot_mesh(CutPair(pair, gw.Bit(1.5))).svg
    first, last = named_points(svg, "contact, from A to E")
    assert 2 * np.hypot(*last) == pytest.approx(44.840, abs=1e-3)
    assert 2 * np.hypot(first[0] - 56.4999, first[1]) == pytest.approx(79.400, abs=1e-3)
    circle, _ = circles(svg, "pitch circles")
    assert circle == (pytest.approx((0.0, 0.0)), pytest.approx(37.667, abs=1e-3))
    cross = named_points(svg, "pitch point C")
    assert cross.mean(axis=0) == pytest.approx([37.667 / 2, 0.0], abs=1e-3)


def test_bit_stands_on_both_roots_without_cutting_wood():
    svg = gw.plot_mesh(CUT).svg
    bits = circles(svg, "bit that cuts 3 mm")
    assert [diameter for _, diameter in bits] == [3.0, 3.0]
    for name, (centre, _) in zip(("pinion", "wheel"), bits, strict=True):
        gear, at = named_area(svg, name), shapely.Point(centre)
        assert gear.contains(at) is False
        assert gear.exterior.distance(at) == pytest.approx(1.5, abs=0.01)


@pytest.mark.parametrize(
    ("pair", "bit"),
    [
        (gw.GearPair(gw.Gear(3, 12), gw.Gear(3, 24)), 6.0),  # interferes, and the bit is too big
        (gw.GearPair(gw.Gear(2, 6, 0.3), gw.Gear(2, 80)), 1.0),
        (gw.GearPair(gw.Gear(5, 20), gw.Gear(5, 20), centre_distance=109.9), 3.0),  # tips alone
    ],
)
def test_poor_pairs_are_drawn_too(pair, bit):
    cut = CutPair(pair, gw.Bit(bit))
    for svg in (gw.plot_mesh(cut).svg, gw.animate_mesh(cut).svg):
        assert ElementTree.fromstring(svg).tag.endswith("svg")
        assert named_area(svg, "pinion").area > 0.0 < named_area(svg, "wheel").area


def test_a_pitch_further_the_picture_is_the_same():
    one, other = (gw.plot_mesh(CUT, turn=turn).svg for turn in (0, 360 / 14))
    for name in ("pinion", "wheel"):
        first, second = named_area(one, name), named_area(other, name)
        assert first.symmetric_difference(second).area < 2e-3
    assert named_points(one, "touching now") == pytest.approx(named_points(other, "touching now"))


def motions(svg):
    """By what each gear moves in one round, and by what the points of contact do."""
    root = ElementTree.fromstring(svg)
    gears = [each for each in root.iter() if each.tag.endswith("animateTransform")]
    dots = [each for each in root.iter() if each.tag.endswith("}animate")]
    assert len({(each.get("dur"), each.get("repeatCount")) for each in (*gears, *dots)}) == 1
    way = dots[0]
    return [g.get("to") for g in gears], float(way.get("from")) - float(way.get("to"))


def test_moving_picture_runs_through_one_pitch_and_round_again():
    """One tooth of each: 360° / 14 counter-clockwise, 360° / 38 clockwise (y goes down in SVG)."""
    (pinion, wheel), along = motions(gw.animate_mesh(CUT).svg)
    assert list(map(float, pinion.split())) == pytest.approx([-360 / 14, 0.0, 0.0])
    assert list(map(float, wheel.split())) == pytest.approx(
        [360 / 38, PAIR.centre_distance, 0.0], abs=1e-4
    )
    assert along == pytest.approx(np.pi * 5.0 * np.cos(np.radians(20.0)), abs=2e-4)


def test_the_bar_of_a_moving_rack_goes_up_by_one_pitch():
    (_, bar), _ = motions(gw.animate_mesh(RACK, zoom=False).svg)
    assert list(map(float, bar.split())) == pytest.approx([0.0, -5.0 * np.pi], abs=1e-4)


def test_points_of_contact_of_the_moving_picture_start_where_those_of_the_still_one_are():
    still, moving = gw.plot_mesh(CUT).svg, gw.animate_mesh(CUT).svg
    first, last = named_points(moving, "touching now")
    along = (last - first) / np.hypot(*(last - first))
    offset = float(re.search(r'stroke-dashoffset" from="([-\d.]+)"', moving)[1])
    assert first - offset * along == pytest.approx(named_points(still, "touching now")[0], abs=2e-4)


# Strength


@pytest.mark.parametrize(
    ("panel", "at_0", "at_45", "at_90"),
    [(0, 40.0, 18.4, 35.0), (1, 27.7, 17.8, 24.3), (2, 9.333, 2.181, 8.167)],
)
def test_rose_of_a_sheet_has_the_figures_of_the_tables(panel, at_0, at_45, at_90):
    """12 mm birch: Handbook of Finnish Plywood; at 45° Norris, FPL Report 1816. Printed digits."""
    (rose,) = gw.plot_polar_strength(BIRCH)[panel].lines
    angle, value = np.degrees(rose.get_xdata()), rose.get_ydata()
    found = np.interp([0.0, 45.0, 90.0, 180.0, 225.0], angle, value)
    half_digit = 0.0005 if panel == 2 else 0.05
    assert found == pytest.approx([at_0, at_45, at_90, at_0, at_45], abs=half_digit)


def test_rose_tells_sheets_apart_by_more_than_colour():
    ax = gw.plot_polar_strength(BIRCH, DOUBLE)[0]
    assert len({each.get_linestyle() for each in ax.lines} | {ax.lines[0]._dash_pattern[1]}) > 1
    assert [each.get_label() for each in ax.lines] == [BIRCH.name, DOUBLE.name]


def test_tooth_that_breaks_first_is_named_and_hatched():
    forward, backward = np.full(14, 0.5), np.full(14, 0.4)
    backward[5] = 0.83
    ax = gw.plot_tooth_polar(ANGLES, forward, backward)
    assert "tooth 5" in ax.get_title(loc="left")
    assert ax.get_title(loc="left").endswith("0.83")
    (hatched,) = [bar for bar in ax.patches if bar.get_hatch()]
    assert hatched.get_x() + hatched.get_width() / 2 == pytest.approx(np.radians(ANGLES[5]))
    assert [bar.get_height() for bar in ax.patches[:14]] == list(forward)
    assert points(ax, "driven back")[:, 1] == pytest.approx(backward)
    assert points(ax, "limit")[:, 1] == pytest.approx(1.0)


def test_stress_picture_names_what_the_rating_finds(drawn):
    """The rating reads its peaks along another way, from strengths in the edge's direction."""
    ax = drawn["stress"][0]
    rose = direction_polars(CUT.pinion, BIRCH, [45.0]).left.share
    load = 10.0
    words = {text.split()[0]: float(text.split()[-1]) for text in texts(ax) if "index" in text}
    assert words["pushed"] == pytest.approx(load * rose.compression[0], abs=0.006)  # two decimals
    assert words["pulled"] <= load * rose.tension[0] + 0.006  # greatest stress, not always index


def test_stress_of_no_load_is_refused():
    with pytest.raises(gw.GearworkError, match="load of the tooth is 0"):
        gw.plot_tooth_stress(CUT.pinion, BIRCH, 0.0, 0.0)


# Choice


def test_pull_of_a_direct_drive_and_of_the_load_by_hand():
    """Resistance by hand: m g (sin 12° + 2 · 0.2 cos 12°) to start.

    The drill gives 40 · 400 / 1600 = 10 N·m in high gear, on a radius of (80 + 5 · 8) / 2 mm.
    """
    pull, speed = gw.plot_pull_and_speed(HAULER)
    slope = np.radians(12.0)
    needed = 120.0 * GRAVITY * (np.sin(slope) + 2 * 0.2 * np.cos(slope))
    assert points(pull, "load to start")[:, 1] == pytest.approx(needed)
    assert points(pull, "direct drive")[0] == pytest.approx([1.0, 10.0 / 0.06])
    assert points(speed, "direct drive")[0] == pytest.approx([1.0, 0.0])
    assert "cannot start" in pull.get_title(loc="left")


def test_curves_cross_where_the_good_range_ends():
    pull, speed = gw.plot_pull_and_speed(HAULER)
    low, high = HAULER.ratio_range
    sustained, needed = points(pull, "drive for long"), points(pull, "load to keep moving")
    assert np.interp(HAULER.sustaining_ratio, *sustained.T) == pytest.approx(needed[0, 1], rel=1e-3)
    light, wanted = points(speed, "load at its lightest"), points(speed, "wanted")
    assert np.interp(high, *light.T) == pytest.approx(0.8 * wanted[0, 1], rel=1e-3)
    heavy = points(speed, "load at its heaviest")
    assert np.interp(low, *heavy.T) == pytest.approx(1.25 * wanted[0, 1], rel=1e-3)
    (allowed,) = (patch for patch in speed.patches if patch.get_label().startswith("will do"))
    reach = allowed.get_extents().transformed(speed.transData.inverted()).intervaly
    assert tuple(reach) == pytest.approx((0.2, 0.3125))
    assert wanted[0, 1] == pytest.approx(0.25)
    (band,) = [patch for patch in pull.patches if patch.get_label() == "good ratios"]
    left, right = band.get_extents().transformed(pull.transData.inverted()).intervalx
    assert (left, right) == pytest.approx((low, high))


def test_loads_without_a_pull_show_torque_and_others_where_they_slip():
    crank = gw.plot_pull_and_speed(Duty(HandCrank(100.0, 300.0, 30.0), GivenLoad(120.0, 4.0)))
    assert [ax.get_ylabel() for ax in crank] == ["torque, N·m", "speed, rpm"]
    assert points(crank[0], "direct drive")[0, 1] == pytest.approx(30.0)  # 100 N on 0.3 m
    pull, _ = gw.plot_pull_and_speed(Duty(cordless_drill(40.0, 400.0, 1600.0), CART))
    assert points(pull, "load slips or tips")[0, 1] == pytest.approx(CART.usable_torque / 0.1)


def test_a_load_that_starts_as_it_runs_has_one_line():
    torque, _ = gw.plot_pull_and_speed(Duty(HandCrank(100, 300, 30), GivenLoad(120, 4)))
    assert [each.get_label() for each in torque.lines if "load" in each.get_label()] == [
        "load, 120 N·m"
    ]


def test_no_ratio_for_too_much_load_is_said():
    duty = Duty(HandCrank(100.0, 300.0, 30.0), GivenLoad(1200.0, 40.0))
    pull, _ = gw.plot_pull_and_speed(duty)
    assert pull.get_title(loc="left").endswith("none")


def test_front_is_drawn_in_order_and_some_of_it_named():
    x, y, front = candidates()
    ax = pareto()
    drawn = points(ax, "front")
    assert (np.diff(drawn[:, 0]) > 0).all()
    assert {tuple(at) for at in drawn} == set(zip(x[front], y[front], strict=True))
    assert len(points(ax, "beaten")) == np.count_nonzero(~front)
    numbers = [text for text in ax.texts if text.get_text().isdecimal()]
    (listed,) = (text.splitlines()[1:] for text in texts(ax) if "\n" in text)
    assert 1 < len(numbers) == len(listed) <= front.sum()
    for number, row in zip(numbers, listed, strict=True):
        place, name = row.split()
        assert number.get_text() == place
        rank = int(name.removesuffix("/38"))
        assert number.xy == (x[rank], y[rank])
        assert front[rank]


# What will be built


def gear_shape(svg, train, gear):
    """The toothed area that stands on the gear's shaft and reaches to its tips."""
    centre = shapely.Point(train.points[gear.shaft])
    (shape,) = [
        area
        for area in areas(svg)
        if area.centroid.distance(centre) < 0.05
        and abs(area.hausdorff_distance(centre) - gear.gear.tip_diameter / 2) < 0.05
    ]
    return shape


def test_windows_of_a_wheel_are_holes_in_it():
    windows = gw.Windows(5, 60.0, 15.0, 15.0, 10.0)
    train = GearTrain((replace(stage(16, 44), windows=windows),), (PARTS,) * 2, FRAME)
    svg = gw.plot_train(train, BIT).svg
    pinion, wheel = (gear_shape(svg, train, gear) for gear in train.gears)
    assert len(pinion.interiors) == 0
    assert len(wheel.interiors) == 5
    root = CutPair(train.stages[0].pair, BIT).wheel.root_diameter
    (cut, *_) = windows.cuts(BIT, root)
    for hole in wheel.interiors:
        assert shapely.Polygon(hole).area == pytest.approx(cut.outline.area, rel=1e-3)  # chords


@pytest.mark.parametrize("train", [TRAIN, COAXIAL])
def test_gears_of_a_train_stand_in_mesh(train):
    svg = gw.plot_train(train, BIT).svg
    shapes = {gear.name: gear_shape(svg, train, gear) for gear in train.gears}
    for stage in (1, 2):
        one, other = shapes[f"pinion {stage}"], shapes[f"wheel {stage}"]
        assert one.intersection(other).area < 1e-6
        assert one.distance(other) < 0.3  # thinned by 0.15 mm each: half of that on either side


def test_ground_is_where_the_frame_says():
    low = Frame(plate_thickness=18.0, gap=12.0, output_height=200.0)
    train = GearTrain(TRAIN.stages, TRAIN.shafts, low)
    svg = gw.plot_train(train, BIT).svg
    height = train.points[-1][1] - 200.0
    (level,) = [line for line in straight_lines(svg) if len(line) == 2]
    assert level[:, 1] == pytest.approx([height] * 2, abs=0.05)  # to a tenth
    box = re.search(r'viewBox="([^"]*)"', svg)[1].split()
    assert float(box[1]) + float(box[3]) > -height


def test_a_picture_of_a_train_is_a_file_of_its_own():
    root = ElementTree.fromstring(gw.plot_train(TRAIN, BIT)._repr_svg_())
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


# Backlash


def test_least_backlash_is_marked_and_gears_out_of_reach_leave_a_gap():
    play = 0.3 + 0.02 * np.sin(np.radians(TURN))
    play[0] = np.inf
    ax = gw.plot_backlash(TURN, play)
    assert points(ax, "smallest")[0] == pytest.approx([270.0, 0.28])
    assert np.isnan(points(ax, "backlash")[0, 1])
    assert ax.get_ylim()[0] <= 0.0
    assert "freely" in ax.get_title(loc="left")
    assert "bind" in gw.plot_backlash(TURN, play - 0.29).get_title(loc="left")


# Bad input


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: gw.plot_mesh(CUT, turn=np.nan), "turn"),
        (lambda: gw.plot_polar_strength(), "panels: 0"),
        (lambda: gw.plot_polar_strength(*[BIRCH] * 5), "panels: 5"),
        (lambda: gw.plot_tooth_polar([0.0, 90.0], [0.5]), "shapes"),
        (lambda: gw.plot_pareto([1.0], [1.0, 2.0], [True], "", ""), "shapes"),
        (lambda: gw.plot_pareto([1.0], [1.0], [False], "", ""), "at least one"),
        (lambda: gw.plot_backlash([0.0], [0.1, 0.2]), "shapes"),
        (lambda: gw.plot_backlash([0.0], [np.inf]), "meet nowhere"),
    ],
)
def test_unfit_input_is_refused(call, message):
    with pytest.raises(gw.GearworkError, match=message):
        call()


def test_a_picture_without_a_figure_is_no_picture():
    ax = pareto()
    ax.remove()
    with pytest.raises(gw.GearworkError, match="belong to no figure any more"):
        style.png_of(ax)


def test_a_rack_stands_upright_beside_its_pinion():
    """Flanks that touch: where the picture shows contact, neither gear reaches into the other."""
    svg = gw.plot_mesh(RACK, zoom=False, turn=37.0).svg
    pinion, rack = (named_area(svg, name) for name in ("pinion", "rack"))
    assert pinion.intersection(rack).area < 0.02
    assert pinion.distance(rack) < 0.02
    length = RACK.pair.wheel.length
    assert rack.bounds[3] - rack.bounds[1] == pytest.approx(length, abs=1e-3)
