"""Parts on sheets: gaps and margins measured by shapely on the outlines themselves."""

import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from sample_parts import sheet_dxf, sheet_svg

import gearwork as gw
from gearwork.geometry.features import Bore, gear_part
from gearwork.geometry.outline import Outline, rounded
from gearwork.geometry.part import Part
from gearwork.machine.layout import Stock, lay_out
from gearwork.plot.display import show
from gearwork.verify.read_dxf import read_outlines

BIT = gw.Bit(3.0)
FINE = 1e-3  # chord error of sampled polygons, mm


def polygon(part):
    return shapely.Polygon(part.outer.points(FINE))


def disc(diameter, count=1, **more):
    return Part(f"disc {diameter:g}", Outline.circle(diameter), 12.0, count=count, **more)


def board(width, height, name="board", **more):
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    return Part(name, Outline(corners, [0] * 4), 12.0, **more)


def assert_sound(sheets, parts, margin, gap):
    """Everything is there once, inside the margins, at least a gap apart, its grain kept."""
    laid = sorted(part.name for sheet in sheets for part in sheet.parts)
    assert laid == sorted(part.name for part in parts for _ in range(part.count))
    for sheet in sheets:
        stock = sheet.stock
        frame = shapely.box(margin, margin, stock.width - margin, stock.height - margin)
        shapes = [polygon(part) for part in sheet.parts]
        assert all(frame.buffer(1e-5).covers(shape) for shape in shapes)
        near = min((a.distance(b) for a, b in combinations(shapes, 2)), default=np.inf)
        assert near >= gap - 1e-5
        for part in sheet.parts:
            grain = stock.grain if part.grain is None else part.grain
            assert abs((grain - stock.grain + 90) % 180 - 90) < 1e-6
            assert part.count == 1


shapes = st.one_of(
    st.floats(10, 150).map(Outline.circle),
    st.tuples(st.floats(10, 200), st.floats(10, 120)).map(lambda s: board(*s).outer.moved(-7, 3)),
    st.tuples(st.floats(10, 60), st.floats(10, 60), st.floats(40, 120)).map(
        lambda s: rounded([(0, 0, 0), (s[2], 10, 5), (s[2] + s[0], 90, 9), (-20, s[1], 4)])
    ),
)
pieces = st.tuples(shapes, st.integers(1, 3), st.sampled_from([0.0, 45.0, 90.0, 22.5]))


@given(
    st.lists(pieces, min_size=1, max_size=6),
    st.sampled_from([0.0, 12.5]),
    st.floats(3, 20),
    st.sampled_from([0.0, 90.0]),
    st.sampled_from([None, 0]),
)
def test_any_layout_is_sound(given_pieces, margin, gap, grain, free):
    parts = [
        Part(f"part {index}", outline, 12.0, count=count, grain=None if index == free else angle)
        for index, (outline, count, angle) in enumerate(given_pieces)
    ]
    stock = [Stock(400, 300, 12.0, grain)]
    sheets = lay_out(parts, stock, BIT, margin, gap)
    assert_sound(sheets, parts, margin, gap)
    area = sum(abs(part.outer.area) * part.count for part in parts)
    assert sum(sheet.used_share for sheet in sheets) * 400 * 300 == pytest.approx(area)


@pytest.fixture(scope="module")
def gears():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))
    pinion = gw.gear_outline(pair.pinion, BIT, pair.wheel, pair.centre_distance)
    wheel = gw.gear_outline(pair.wheel, BIT, pair.pinion, pair.centre_distance)
    return [
        gear_part("pinion, straight", pinion, BIT, 12, [Bore(8)], count=3),
        gear_part("pinion, askew", pinion, BIT, 12, [Bore(8)], count=3, grain=45),
        gear_part("wheel, straight", wheel, BIT, 12, [Bore(8)], count=2),
        gear_part("wheel, askew", wheel, BIT, 12, [Bore(8)], count=2, grain=45),
    ]


def test_gears_and_their_turned_layers_on_small_sheets(gears):
    sheets = lay_out(gears, [Stock(500, 300, 12)], BIT)
    assert_sound(sheets, gears, 10.0, 6.0)
    # Four wheels of 200 mm: two on each sheet of 480 x 280 mm inside its margins.
    assert len(sheets) == 2
    assert [(sheet.number, sheet.of) for sheet in sheets] == [(1, 2), (2, 2)]
    assert sheets[0].notes[0] == "sheet 1 of 2, 12 mm"
    assert sheets[0].caption.startswith(f"sheet 1 of 2, {sheets[0].stock.label}: ")


def test_a_sheet_goes_to_files(gears, tmp_path):
    (sheet,) = lay_out(gears, [Stock(1000, 600, 12)], BIT)
    arguments = (sheet.parts, sheet.stock.width, sheet.stock.height, sheet.notes)
    path = tmp_path / "sheet.dxf"
    path.write_bytes(sheet_dxf(*arguments))
    assert sum(map(len, read_outlines(path).values())) == 10 * 3  # edge, bore, witness mark
    assert sheet_svg(*arguments).count("<path") == 10  # bores and witness marks are circles


def test_a_sheet_shows_itself_no_wider_than_a_page(gears):
    (sheet,) = lay_out(gears, [Stock(2500, 1250, 12)], BIT)
    page = show(sheet)
    assert page.startswith('<div style="max-width:32em"><svg')
    assert float(re.search(r'<svg[^>]* width="([\d.]+)mm"', page)[1]) < 180.0  # A4 and its margins


def test_discs_lie_in_the_hollows_of_the_row_below():
    # Two staggered rows of discs 103 mm apart are 100 + 103 sin 60° = 189.2 mm high, two rows of
    # squares 203 mm. Three and three discs are 100 + 2.5 · 103 = 357.5 mm long.
    (sheet,) = lay_out([disc(100, count=6)], [Stock(358.5, 190, 12)], BIT, margin=0, gap=3)
    assert_sound([sheet], [disc(100, count=6)], 0, 3)


def test_parts_that_fill_the_sheet_to_its_margins_fit():
    parts = [board(137, 80, count=4)]
    (sheet,) = lay_out(parts, [Stock(300, 186, 12)], BIT, margin=10, gap=6)
    assert_sound([sheet], parts, 10, 6)


def test_the_same_parts_in_any_order_come_to_the_same_places(gears):
    once = lay_out(gears, [Stock(500, 300, 12)], BIT)
    again = lay_out(gears[::-1], [Stock(500, 300, 12)], BIT)
    for one, other in zip(once, again, strict=True):
        assert [part.outer for part in one.parts] == [part.outer for part in other.parts]


def test_grain_decides_how_a_long_part_lies():
    long = board(250, 40, grain=90)
    with pytest.raises(gw.GearworkError, match=r"board is 40\.0 × 250\.0 mm as its grain must lie"):
        lay_out([long], [Stock(300, 200, 12)], BIT)
    (along,) = lay_out([long], [Stock(300, 200, 12, grain=90)], BIT)
    assert along.parts[0].bounds == pytest.approx((10, 10, 260, 50), abs=1e-3)
    (free,) = lay_out([replace(long, grain=None)], [Stock(300, 200, 12)], BIT)
    assert free.parts[0].bounds == pytest.approx((10, 10, 260, 50), abs=1e-3)


def test_sheets_are_taken_by_thickness_in_the_order_given():
    offcut, whole = Stock(130, 130, 12, count=1), Stock(400, 300, 12)
    thin = Part("thin", Outline.circle(50), 6.5)
    stock = [Stock(200, 200, 6.5), offcut, whole]
    sheets = lay_out([disc(100, count=2), thin], stock, BIT)
    assert [sheet.stock for sheet in sheets] == [offcut, whole, stock[0]]
    assert sheets[2].parts[0].name == "thin"


def test_two_equal_offcuts_are_both_used():
    offcuts = [Stock(130, 130, 12, count=1), Stock(130, 130, 12, count=1)]
    assert len(lay_out([disc(100, count=2)], offcuts, BIT)) == 2


ONE = [Stock(300, 200, 12)]
REFUSED = [
    ([disc(190)], ONE, {}, r"disc 190 is 190\.0 × 190\.0 mm.*300 × 200 × 12 mm, leaves 280 × 180"),
    ([disc(50)], [Stock(300, 200, 9)], {}, r"disc 50 needs a sheet of 12 mm.*300 × 200 × 9 mm"),
    ([disc(50)], [], {}, r"there are none"),
    ([disc(100, 6)], [Stock(300, 200, 12, count=1)], {}, r"disc 100 finds no room.*used up"),
    ([disc(50)], ONE, {"gap": 2.9}, r"gap between pieces is 2\.9 mm: it must be at least 3 mm"),
    ([disc(50)], ONE, {"margin": -1}, r"clamping margin is -1 mm"),
]


@pytest.mark.parametrize(("parts", "stock", "more", "text"), REFUSED)
def test_what_does_not_fit_is_refused_with_a_way_out(parts, stock, more, text):
    with pytest.raises(gw.GearworkError, match=text):
        lay_out(parts, stock, BIT, **more)


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ((0, 200, 12), "sheet width is 0 mm"),
        ((300, 200, "12"), "sheet thickness is '12'"),
        ((300, 200, 12, float("inf")), "grain of the sheet is inf"),
        ((300, 200, 12, 0, 0), "count of sheets is 0"),
    ],
)
def test_bad_stock_is_named(values, text):
    with pytest.raises(gw.GearworkError, match=text):
        Stock(*values)
