import io
import itertools
import math
import os
import re
import shutil
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import ezdxf
import numpy as np
import pytest
import shapely
from examples import example
from PIL import Image
from sample_parts import plate

from gearwork.checks.tooth.mesh import CutPair
from gearwork.errors import GearworkError
from gearwork.geometry.gear import Gear
from gearwork.geometry.outline import Outline
from gearwork.geometry.pair import GearPair
from gearwork.geometry.part import Cut
from gearwork.machine.train import AxisPlace
from gearwork.output.drawing.draft import (
    Diameter,
    Drawing,
    Length,
    Line,
    Shape,
    Table,
)
from gearwork.output.drawing.paper import (
    FOOT,
    GAP,
    MARGIN,
    OVERLAP,
    beside_or_below,
    flow,
    sheets,
    tiling,
)
from gearwork.output.drawing.spacing import design_spacing, spacing_drawing
from gearwork.output.drawing.views import gear_drawing
from gearwork.output.dxf import drawing_dxf
from gearwork.output.pdf import drawing_pdf
from gearwork.stock.bit import Bit
from gearwork.verify.read_dxf import read_outlines

POINTS_PER_MM = 72 / 25.4
TABLE = Table("gear data", (("", "pinion", "wheel"), ("teeth", "12", "24"), ("module", "3", "3")))


def circles(name, module, teeth):
    return name, module * teeth, module * (teeth + 2), module * (teeth - 2.5)


def pair(module=3.0):
    axes = [
        AxisPlace("A", (0,), (0, 0), 8.2, (circles("pinion", module, 12),)),
        AxisPlace("B", (1,), (18 * module, 0), 10.2, (circles("wheel", module, 24),)),
    ]
    return spacing_drawing("spacing", axes, [("A", "B", 0.1)], [TABLE])


def train():
    axes = [
        AxisPlace("A", (0,), (0, 0), 22, (circles("pinion 1", 5, 14),)),
        AxisPlace("B", (1,), (130, 0), 22, (circles("wheel 1", 5, 38), circles("pinion 2", 5, 14))),
        AxisPlace("C", (2,), (208, 104), 22, (circles("wheel 2", 5, 38),)),
    ]
    distances = [("A", "B", 0.15), ("B", "C", 0.1)]
    return spacing_drawing("train", axes, distances, [TABLE])


def ruler(length, height=5.0):
    """Two thick strokes a known length apart."""
    strokes = tuple(Line((x, 0.0), (x, height), "edge") for x in (0.0, length))
    return Drawing("ruler", lines=strokes)


def opened(drawing):
    return ezdxf.read(io.StringIO(drawing_dxf(drawing).decode("ascii")))


def pages(pdf):
    """Page sizes in points, and the drawing instructions of each page."""
    streams = re.findall(rb"/Length [^>]*?>>\s*stream\r?\n(.*?)endstream", pdf, re.S)
    texts = []
    for stream in streams:
        try:
            text = zlib.decompressobj().decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        if re.search(r" l\b", text) and "BT" in text:
            texts.append(text)
    sizes = re.findall(rb"/MediaBox \[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    return [tuple(map(float, size)) for size in sizes], texts


@pytest.fixture(scope="module")
def train_pages():
    return pages(drawing_pdf(train()))


def horizontal_strokes(instructions):
    pattern = r"([-\d.]+) ([-\d.]+) m\s+([-\d.]+) ([-\d.]+) l\s+S"
    for x, y, u, v in re.findall(pattern, instructions):
        if y == v:
            yield abs(float(u) - float(x)) / POINTS_PER_MM, float(y) / POINTS_PER_MM


@pytest.mark.parametrize("drawing", [pair(), train()], ids=["pair", "train"])
def test_audit_finds_nothing(drawing):
    assert not opened(drawing).audit().has_issues


def test_dxf_is_in_millimetres_with_its_own_dimension_style():
    document = opened(pair())
    style = document.dimstyles.get("mm").dxf
    assert document.header["$INSUNITS"] == 4
    assert document.header["$DIMSTYLE"] == "mm"
    assert (style.dimlfac, style.dimtxt, style.dimscale) == (1.0, 3.5, 1.0)
    assert document.header["$DIMTXT"] == style.dimtxt
    assert document.header["$DIMLFAC"] == 1.0


def test_dimension_entities_measure_what_is_drawn():
    """From the definition points alone, as a program that opens it; exact: sqrt(78² + 104²) = 130.

    Of an aligned dimension 13 and 14 are its ends, of a diameter 10 and 15 (DXF reference).
    """
    dimensions = opened(train()).modelspace().query("DIMENSION")
    ends = {1: ("defpoint2", "defpoint3"), 3: ("defpoint", "defpoint4")}
    measured = sorted(
        (math.dist(*(d.dxf.get(end) for end in ends[d.dimtype])), d.dxf.text) for d in dimensions
    )
    assert [value for value, _ in measured] == pytest.approx([22, 22, 22, 130, 130], abs=1e-5)
    assert {text for _, text in measured[3:]} == {"a <> +/-0.15", "a <> +/-0.10"}


def test_numbers_stand_in_plain_text_too():
    texts = {text.dxf.text for text in opened(train()).modelspace().query("TEXT")}
    assert {"130.00", "+/-0.15", "208.00", "22.00", "(pitch dia 190.00)"} <= texts
    assert {"gear data", "teeth", "12", "face grain", "train; all lengths in mm"} <= texts


def test_bores_are_read_back_where_the_axes_are(tmp_path):
    path = tmp_path / "spacing.dxf"
    path.write_bytes(drawing_dxf(train()))
    found = read_outlines(path)
    assert list(found) == ["holes"]
    centres = [outline.vertices.mean(axis=0) for outline in found["holes"]]
    np.testing.assert_allclose(centres, [(0, 0), (130, 0), (208, 104)], atol=1e-9)


def test_pitch_tip_and_root_circles_are_broken_lines():
    document = opened(pair())
    kinds = {
        round(2 * circle.dxf.radius, 3): document.layers.get(circle.dxf.layer).dxf.linetype
        for circle in document.modelspace().query("CIRCLE")
    }
    assert kinds == {
        8.2: "Continuous", 10.2: "Continuous",
        36: "DASHDOT", 72: "DASHDOT", 42: "DASHED", 78: "DASHED", 28.5: "DASHED", 64.5: "DASHED",
    }  # fmt: skip


@pytest.mark.parametrize("drawing", [pair(), train(), pair(8.0)], ids=["pair", "train", "large"])
def test_no_text_lies_on_another(drawing):
    boxes = [shapely.Polygon(label.corners) for label in drawing.ink.labels]
    for first, second in itertools.combinations(boxes, 2):
        assert first.intersection(second).area < 0.1 * min(first.area, second.area)


def test_every_page_has_the_paper_size_and_the_bar(train_pages):
    sizes, instructions = train_pages
    assert len(sizes) == len(instructions) > 1
    for size in sizes:
        assert np.divide(size, POINTS_PER_MM) == pytest.approx((297, 210), abs=0.01)
    for text in instructions:
        bars = [length for length, y in horizontal_strokes(text) if y == pytest.approx(8, abs=0.01)]
        assert bars == [pytest.approx(100, abs=0.001)]


def test_lines_are_half_and_quarter_of_a_millimetre_wide(train_pages):
    """ISO 128-2, line group 0.5."""
    found = re.findall(r"([\d.]+) w\b", train_pages[1][1])
    assert {0.25, 0.5} <= {round(float(width) / POINTS_PER_MM, 4) for width in found}


def test_small_pair_and_its_tables_share_one_page_of_a3():
    sizes, _ = pages(drawing_pdf(pair(), "A3"))
    assert sizes == [pytest.approx(np.multiply((420, 297), POINTS_PER_MM), abs=0.02)]


def dark_runs(row):
    """First and last column of each run of dark pixels."""
    dark = np.flatnonzero(np.diff(np.concatenate([[0], row < 128, [0]]).astype(int)))
    return dark.reshape(-1, 2)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs poppler's pdftoppm")
def test_rendered_page_is_to_scale(tmp_path):
    """At 254 dpi a pixel is 0.1 mm; an edge may fall either side of a pixel."""
    (tmp_path / "ruler.pdf").write_bytes(drawing_pdf(ruler(150.0)))
    command = ["pdftoppm", "-r", "254", "-gray", "-singlefile", "ruler.pdf", "page"]
    subprocess.run(command, check=True, cwd=tmp_path)
    with Image.open(tmp_path / "page.pgm") as image:
        page = np.asarray(image)
    assert page.shape == pytest.approx((2100, 2970), abs=1)
    strokes = dark_runs(page[round(10 * (MARGIN + 2.5))])
    middles = strokes.mean(axis=1)
    assert middles[-1] - middles[0] == pytest.approx(1500, abs=1)
    (bar,) = [run for run in dark_runs(page[-80]) if np.ptp(run) > 500]
    assert np.ptp(bar) == pytest.approx(1000, abs=4)


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_tiles_cover_the_drawing_and_share_every_cross_in_pairs(paper):
    bounds = (-120.0, -75.0, 700.0, 480.0)
    tiles = tiling(bounds, paper)
    windows = [
        shapely.box(*tiles.window(row, column))
        for row in range(tiles.rows)
        for column in range(tiles.columns)
    ]
    assert shapely.union_all(windows).buffer(1e-6).contains(shapely.box(*bounds))
    wide, high = tiles.sheet.room
    assert (tiles.columns - 1) * (wide - OVERLAP) + OVERLAP < 820
    assert (tiles.rows - 1) * (high - OVERLAP) + OVERLAP < 555
    seams = tiles.rows * (tiles.columns - 1) + tiles.columns * (tiles.rows - 1)
    assert len(tiles.crosses.labels) == 2 * seams == len(tiles.crosses.strokes) / 2
    for cross in (stroke.mean(axis=0) for stroke in tiles.crosses.strokes):
        inside = [window for window in windows if window.contains(shapely.Point(cross))]
        assert len(inside) == 2
        assert min(window.exterior.distance(shapely.Point(cross)) for window in inside) >= 5


def test_no_page_edge_cuts_a_word_that_can_stay_whole():
    """Rooms of A4 are 190 x 263 mm (standing): the seam of 300 mm in two can lie beside a word."""
    bounds = (0.0, 0.0, 300.0, 150.0)
    plain = tiling(bounds, "A4")
    seams = [x for column in (0, 1) for x in plain.window(0, column)[::2]]
    seam = sorted(seams)[2]  # where the first page ends
    word = np.array([(seam - 18, 70), (seam + 2, 70), (seam + 2, 73), (seam - 18, 73)])

    def whole(tiles):
        box = shapely.box(*word.min(axis=0), *word.max(axis=0))
        windows = (tiles.window(0, column) for column in range(tiles.columns))
        return any(shapely.box(*window).contains(box) for window in windows)

    moved = tiling(bounds, "A4", [word])
    assert (whole(plain), whole(moved)) == (False, True)
    assert (moved.columns, moved.rows) == (plain.columns, plain.rows)
    assert shapely.box(*moved.whole).buffer(1e-6).contains(shapely.box(*bounds))


def test_of_as_few_sheets_those_are_taken_that_keep_a_word_whole():
    """300 x 300 mm take four sheets lying or standing; what is 200 mm high fits on one standing."""
    tall = np.array([(40.0, 50.0), (44.0, 50.0), (44.0, 250.0), (40.0, 250.0)])
    assert tiling((0.0, 0.0, 300.0, 300.0), "A4", [tall]).keeps_whole(tall)
    assert not tiling((0.0, 0.0, 300.0, 300.0), "A4").keeps_whole(tall)


def test_large_drawing_has_a_page_for_every_tile_and_one_for_tables(train_pages):
    tiles = tiling(train().bounds, "A4")
    assert len(train_pages[0]) == tiles.rows * tiles.columns + 1


def sized(*sizes):
    """What is placed by its size alone: width and height, mm."""
    return [SimpleNamespace(size=size) for size in sizes]


def test_tables_flow_in_columns_and_onto_pages():
    a, b, c, d = sized((50, 60), (40, 60), (30, 60), (50, 60))
    placed = flow([a, b, c, d], 100 + GAP, 120 + GAP)
    assert placed == [[(a, 0, 0), (b, 0, 60 + GAP), (c, 50 + GAP, 0), (d, 50 + GAP, 60 + GAP)]]
    a, b = sized((80, 60), (80, 60))
    assert flow([a, b], 100, 100) == [[(a, 0, 0)], [(b, 0, 0)]]


def test_tables_stand_beside_or_below_or_on_another_page():
    lying, standing = sheets("A4")
    high, low = sized((80, 100), (80, 80))
    assert beside_or_below((150, 150), [high], lying) == [(high, 150 + GAP, 0)]
    assert beside_or_below((150, 150), [low], standing) == [(low, 0, 150 + GAP)]
    assert beside_or_below((270, 150), [high], lying) is None
    assert lying.room == (297 - 2 * MARGIN, 210 - MARGIN - FOOT)


def test_unknown_paper():
    with pytest.raises(GearworkError, match="A4, A3"):
        drawing_pdf(pair(), "letter")


@pytest.mark.parametrize(("play", "text"), [(None, "a 130.00"), (0.1, "a 130.00 ±0.10")])
def test_limits_as_text(play, text):
    assert Length((0, 0), (78, 104), (0, 50), play, "a").text == text


def test_dimension_line_runs_through_its_point_and_reads_from_below_or_right():
    marks = Length((0, 0), (0, -40), (12, 5)).marks
    (label,) = marks.labels
    assert label.angle == pytest.approx(90)
    assert label.at == pytest.approx((11, -20))
    tips = np.array([head[1] for head in marks.strokes[-2:]])
    np.testing.assert_allclose(tips, [(12, 0), (12, -40)], atol=1e-12)


def test_leader_touches_its_circle():
    diameter = Diameter((10, 20), 30.0, 135.0, 8.0, "bore")
    tip = diameter.marks.strokes[-1][1]
    assert math.dist(tip, (10, 20)) == pytest.approx(15)
    assert diameter.text == "bore ⌀30.00"


def drawn_gear(teeth, spanned=2, part=None):
    """Of module 5, over pins of 9 mm."""
    tooth = CutPair(GearPair(Gear(5, teeth), Gear(5, 30)), Bit(3.0)).pinion
    return tooth, gear_drawing(part or plate(), tooth, spanned, 9.0)


@pytest.mark.parametrize(("teeth", "spanned"), [(12, 2), (12, 3), (13, 2), (13, 3), (41, 5)])
def test_span_lies_on_the_tangent_of_the_base_circle(teeth, spanned):
    """W is measured on a tangent of the base circle (ISO 21771), even about a tooth or space."""
    tooth, drawing = drawn_gear(teeth, spanned)
    span = drawing.dimensions[0]
    assert span.value == pytest.approx(tooth.gear.span(spanned))
    middle = np.add(span.start, span.end) / 2
    assert np.hypot(*middle) == pytest.approx(5 * teeth * math.cos(math.radians(20.0)) / 2)
    assert middle @ np.subtract(span.end, span.start) == pytest.approx(0, abs=1e-9)
    pitches = math.degrees(math.atan2(middle[1], middle[0])) / (360 / teeth)
    assert (2 * pitches - spanned) % 2 == pytest.approx(1.0, abs=1e-9)  # a tooth if odd


@pytest.mark.parametrize("teeth", [12, 13, 14, 41])
def test_over_pins_is_measured_over_two_pins_in_spaces(teeth):
    tooth, drawing = drawn_gear(teeth)
    over = tooth.gear.over_pins(9.0)
    pins = [
        shape.outline.vertices.mean(axis=0)
        for shape in drawing.shapes
        if shape.style == "thin" and shape.outline.length == pytest.approx(math.pi * 9)
    ]
    angles = [math.degrees(math.atan2(y, x)) / (360 / teeth) % 1 for x, y in pins]
    assert angles == [pytest.approx(0.5), pytest.approx(0.5)]
    assert np.hypot(*pins[0]) == pytest.approx(np.hypot(*pins[1]))
    assert math.dist(*pins) + 9 == pytest.approx(over)
    assert drawing.dimensions[1].value == pytest.approx(over)


def test_gear_drawing_names_every_circle():
    tooth, drawing = drawn_gear(12)
    texts = {dimension.text for dimension in drawing.dimensions}
    root = f"(root ⌀{tooth.root_diameter:.2f})"
    assert {"bore ⌀8.00", "hole ⌀5.00", "pocket ⌀14.50", "tip ⌀70.00", root} <= texts
    assert not opened(drawing).audit().has_issues


def test_equal_holes_are_dimensioned_once():
    holes = tuple(Cut.drilled(4.2, (12 * x, 12 * y)) for x, y in ((1, 0), (0, 1), (-1, 0)))
    _, drawing = drawn_gear(12, part=plate(cuts=holes))
    assert [d.text for d in drawing.dimensions if "hole" in d.text] == ["3 × hole ⌀4.20"]


@pytest.mark.slow
def test_another_process_writes_the_same_bytes():
    script = (
        "import sys\n"
        "sys.path[:0] = ['tests/support', 'tests/output']\n"
        "from test_drawing import pair, drawing_dxf, drawing_pdf\n"
        "sys.stdout.buffer.write(drawing_dxf(pair()) + drawing_pdf(pair()))\n"
    )
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONHASHSEED": "1", "PYTHONPATH": str(root)}
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, check=True, cwd=root, env=environment
    )
    assert run.stdout == drawing_dxf(pair()) + drawing_pdf(pair())


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs poppler's pdftotext")
def test_letters_of_other_alphabets_are_written(tmp_path):
    """As poppler reads them: the diameter sign, and a title in Cyrillic."""
    made = drawing_pdf(replace(pair(), title="Мельница"))
    (tmp_path / "page.pdf").write_bytes(made)
    command = ["pdftotext", "page.pdf", "-"]
    text = subprocess.run(command, check=True, cwd=tmp_path, capture_output=True).stdout.decode()
    assert "Мельница" in text
    assert "⌀" in text


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs poppler's pdftotext")
@pytest.mark.parametrize("name", ["drying-carousel", "orchard-gate"])
def test_every_dimension_stands_whole_on_a_page(name, tmp_path):
    """As poppler reads the pages: all words of a dimension one after another, inside the room."""
    drawing = design_spacing(example(name))
    (tmp_path / "spacing.pdf").write_bytes(drawing_pdf(drawing))
    command = ["pdftotext", "-bbox", "spacing.pdf", "-"]
    text = subprocess.run(command, check=True, cwd=tmp_path, capture_output=True).stdout.decode()
    told = []
    for page in text.split("<page ")[1:]:
        wide, high = (float(size) for size in re.findall(r'(?:width|height)="([\d.]+)"', page))
        words = re.findall(
            r'"([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)<', page
        )
        room = np.array([MARGIN, MARGIN, MARGIN, FOOT]) * POINTS_PER_MM
        inside = [
            word
            for *box, word in words
            if (np.array(box, float) * (1, 1, -1, -1) + (0, 0, wide, high) >= room - 1.0).all()
        ]
        told.append(" ".join(inside))
    for dimension in drawing.dimensions:
        assert any(dimension.text in page for page in told), dimension.text


def test_shape_of_any_outline_is_drawn():
    keyhole = Outline([(0, 0), (40, 0)], [0, 2.0])
    drawing = Drawing("keyhole", shapes=(Shape(keyhole, "edge"),))
    (entity,) = opened(drawing).modelspace().query("LWPOLYLINE")
    assert entity.dxf.layer == "not-cut-edge"
    assert drawing_pdf(drawing).startswith(b"%PDF")
