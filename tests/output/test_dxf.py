import io
import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.lldxf.const import DXF12
from sample_parts import PLATE_AREA, SLOT_AREA, part_dxf, plate, sheet_dxf, slot

from gearwork.errors import GearworkError
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut
from gearwork.output.marking import layer_of, plain_text
from gearwork.verify.read_dxf import read_outlines

VERSIONS = ("R2010", "R12")


def opened(data):
    return ezdxf.read(io.StringIO(data.decode("ascii")))


def written(tmp_path, data):
    path = tmp_path / "part.dxf"
    path.write_bytes(data)
    return path


def flattened_area(entity):
    """Area by an independent way: the library's own lines and arcs, joined by shapely."""
    if entity.dxftype() == "CIRCLE":
        return shapely.Polygon([point.vec2 for point in entity.flattening(1e-5)]).area
    lines = [
        [edge.dxf.start.vec2, edge.dxf.end.vec2]
        if edge.dxftype() == "LINE"
        else [point.vec2 for point in edge.flattening(1e-5)]
        for edge in entity.virtual_entities()
    ]
    joined = shapely.set_precision(shapely.MultiLineString(lines), 1e-6)
    (polygon,) = shapely.polygonize([joined]).geoms
    return polygon.area


@pytest.mark.parametrize("version", VERSIONS)
def test_audit_finds_nothing(version):
    assert not opened(part_dxf(plate(), version)).audit().has_issues


@pytest.mark.parametrize("version", VERSIONS)
def test_areas_by_an_independent_reader_are_the_exact_ones(version):
    """Closed forms of the shapes; 1e-5 is the least the readers shall agree to."""
    areas = {}
    for entity in opened(part_dxf(plate(), version)).modelspace():
        layer = entity.dxf.layer.lower()
        if entity.dxftype() != "TEXT" and layer != "not-cut":
            areas.setdefault(layer, []).append(flattened_area(entity))
    assert areas == {
        "inner-edge": [pytest.approx(math.pi * 16, rel=1e-5), pytest.approx(SLOT_AREA, rel=1e-5)],
        "sunk-4_5mm": [pytest.approx(math.pi * 14.5**2 / 4, rel=1e-5)],
        "holes": [pytest.approx(math.pi * 6.25, rel=1e-5)],
        "outer-edge": [pytest.approx(PLATE_AREA, rel=1e-5)],
    }


@pytest.mark.parametrize("version", VERSIONS)
def test_outlines_come_back_to_the_nanometre(tmp_path, version):
    turned = plate().turned(33.3).moved(-7, 11)
    found = read_outlines(written(tmp_path, part_dxf(turned, version)))
    (outer,) = found["outer-edge"]
    assert np.abs(outer.vertices - turned.outer.vertices).max() <= 0.5e-6
    assert np.abs(outer.bulges - turned.outer.bulges).max() <= 0.5e-9
    assert found["inner-edge"][1].area == pytest.approx(SLOT_AREA, rel=1e-7)
    assert sorted(found) == ["holes", "inner-edge", "outer-edge", "sunk-4_5mm"]


def test_r2010_is_declared_in_millimetres():
    header = opened(part_dxf(plate())).header
    assert header["$INSUNITS"] == 4
    assert header["$MEASUREMENT"] == 1


@pytest.mark.parametrize(
    ("version", "kinds"), [("R2010", {"LWPOLYLINE", "CIRCLE"}), ("R12", {"POLYLINE", "CIRCLE"})]
)
def test_cut_layers_hold_closed_polylines_and_circles_alone(version, kinds):
    cut = [
        entity
        for entity in opened(part_dxf(plate(), version)).modelspace()
        if entity.dxf.layer.lower() != "not-cut"
    ]
    assert {entity.dxftype() for entity in cut} == kinds
    assert all(entity.is_closed for entity in cut if "POLYLINE" in entity.dxftype())


def test_r12_has_only_names_that_r12_allows():
    document = opened(part_dxf(plate(), "R12"))
    assert document.dxfversion == DXF12
    allowed = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789$-_")
    for layer in document.layers:
        assert len(layer.dxf.name) <= 31
        assert set(layer.dxf.name.upper()) <= allowed


@pytest.mark.parametrize("version", VERSIONS)
def test_text_is_ascii_on_the_layer_that_is_not_cut(version):
    data = part_dxf(plate(), version)
    assert data.isascii()
    texts = opened(data).modelspace().query("TEXT")
    assert {text.dxf.layer.lower() for text in texts} == {"not-cut"}
    lines = [text.dxf.text for text in texts]
    for expected in (
        "side plate alpha",
        "2 x, sheet 12 mm",
        "all lengths in mm",
        "a = 130.25 mm +/- 0.10",
        "20 deg",
        "sunk-4_5mm: pocket 4.5 mm deep",
    ):
        assert expected in lines


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("⌀ 12 µm ≤ 5 · 3", "dia 12 um <= 5 . 3"),
        ("Kranzträger Größe", "Kranztrager Grosse"),
        ("%%c12 \\P ^I", "% %c12 /P I"),
        ("two\nlines\t", "two lines"),
        ("歯車", "??"),
    ],
)
def test_any_text_becomes_one_plain_line(text, plain):
    assert plain_text(text) == plain


@pytest.mark.parametrize(
    ("depth", "layer"),
    [(4.5, "sunk-4_5mm"), (6, "sunk-6mm"), (0.25, "sunk-0_25mm"), (10.0, "sunk-10mm")],
)
def test_pocket_depth_is_in_the_layer_name(depth, layer):
    assert layer_of(Cut(slot(), "pocket", depth)) == layer


@pytest.mark.parametrize("seed", ["0", "1"])
def test_another_process_writes_the_same_bytes(seed):
    """Hash seeds 0 and 1 give the library's sets another order."""
    script = (
        "import sys\n"
        "sys.path.insert(0, 'tests/support')\n"
        "from sample_parts import part_dxf, plate\n"
        "for version in ('R2010', 'R12'):\n"
        "    sys.stdout.write(part_dxf(plate(), version).decode())\n"
    )
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(root)}
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, check=True, cwd=root, env=environment
    )
    assert run.stdout == b"".join(part_dxf(plate(), version) for version in VERSIONS)


@pytest.mark.parametrize("version", VERSIONS)
def test_a_drilled_hole_is_written_without_the_last_bits_of_its_centre(version):
    """Sums and halves of the vertices written bring them back."""
    places = np.arange(12.1, 90.0, 10.1).round(1)
    holes = tuple(Cut.drilled(8.0, (x, 14.05)) for x in places)
    text = part_dxf(replace(plate(), cuts=holes), version).decode()
    circles = ezdxf.read(io.StringIO(text)).modelspace().query("CIRCLE")
    found = sorted((*circle.dxf.center, circle.dxf.radius) for circle in circles)
    assert found == [(x, 14.05, 0.0, 4.0) for x in places]


def test_same_path_twice_is_refused_wherever_it_starts():
    doubled = slot().moved(50, 20)
    other = Outline(np.roll(doubled.vertices, 1, axis=0), np.roll(doubled.bulges, 1)).reversed()
    part = plate(cuts=(Cut(doubled, "inside edge"), Cut(other, "pocket", 2.0)))
    with pytest.raises(GearworkError, match="same path twice"):
        part_dxf(part)


def test_segment_below_a_nanometre_is_refused():
    sliver = Outline([(0, 0), (80, 0), (80, 1e-7), (80, 40)], [0, 0, 0, 0])
    with pytest.raises(GearworkError, match="no length"):
        part_dxf(plate(outer=sliver, cuts=()))


def test_unknown_version():
    with pytest.raises(GearworkError, match="R2010, R12"):
        part_dxf(plate(), "R2018")


def test_sheet_holds_every_part_where_it_lies(tmp_path):
    parts = [plate().moved(10, 10), plate(name="other").turned(90).moved(200, 10)]
    data = sheet_dxf(parts, 400, 200, ["birch 12 mm"])
    found = read_outlines(written(tmp_path, data))
    assert [outline.bounds for outline in found["outer-edge"]] == [
        pytest.approx((10, 10, 110, 70), abs=1e-4),
        pytest.approx((140, 10, 200, 110), abs=1e-4),
    ]
    texts = [text.dxf.text for text in opened(data).modelspace().query("TEXT")]
    assert {"side plate alpha", "other", "birch 12 mm"} <= set(texts)


def test_two_parts_on_one_place_are_refused():
    with pytest.raises(GearworkError, match="same path twice on inner-edge"):
        sheet_dxf([plate(), plate(name="other")], 400, 200)


def spoiled(change, tmp_path, version="R2010"):
    document = opened(part_dxf(plate(), version))
    change(document)
    path = tmp_path / "spoiled.dxf"
    document.saveas(path)
    return path


def outer_edge(document):
    return document.modelspace().query('LWPOLYLINE[layer=="outer-edge"]')[0]


def open_it(document):
    outer_edge(document).closed = False


def mirror_it(document):
    outer_edge(document).dxf.extrusion = (0, 0, -1)


def double_it(document):
    document.modelspace().add_entity(outer_edge(document).copy())


def draw_a_line(document):
    document.modelspace().add_line((0, 0), (1, 1), {"layer": "outer-edge"})


def insert_a_block(document):
    document.blocks.new("GEAR").add_circle((0, 0), 5)
    document.modelspace().add_blockref("GEAR", (0, 0))


def in_inches(document):
    document.units = 1


def lose_a_number(document):
    outer_edge(document)[0] = (math.nan, 0, 0, 0, 0)


def shrink_a_hole(document):
    document.modelspace().query("CIRCLE")[0].dxf.radius = 0.0


def blow_it_up(document):
    outer_edge(document)[0] = (1e300, 0, 0, 0, 0)


def wind_it_up(document):
    edge = outer_edge(document)
    edge[0] = (*edge[0][:4], 1e6)


def run_for_miles(document):
    edge = outer_edge(document)
    edge.set_points([(0, y) for y in range(2000)] + [(90_000, y) for y in range(2000)])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (open_it, "LWPOLYLINE .* on layer outer-edge: it is open"),
        (mirror_it, "LWPOLYLINE .* mirrored"),
        (double_it, "LWPOLYLINE .* stands there twice"),
        (draw_a_line, "LINE .* on layer outer-edge: only closed polylines and circles"),
        (insert_a_block, "INSERT .* only closed polylines and circles"),
        (in_inches, "unit code is 1"),
        (lose_a_number, "not a finite number"),
        (shrink_a_hole, "CIRCLE .* circle diameter is 0"),
        (blow_it_up, "reaches 1e.300 mm"),
        (wind_it_up, "full circle but for a hair"),
        (run_for_miles, "mm long: at most 100000 mm"),
    ],
)
def test_spoiled_file_is_named_with_the_entity(tmp_path, change, said):
    path = spoiled(change, tmp_path)
    with pytest.raises(GearworkError, match=rf"spoiled\.dxf: .*{said}"):
        read_outlines(path)


def bare(*entities):
    """A file with a drawing and nothing else, which the standard allows."""
    return "\n".join(["0", "SECTION", "2", "ENTITIES", *entities, "0", "ENDSEC", "0", "EOF"])


def light_polyline(points, *more):
    corners = [text for x, y in points for text in ("10", f"{x}", "20", f"{y}")]
    return ["0", "LWPOLYLINE", "8", "outer-edge", "70", "1", *more, *corners]


SQUARE = [(0, 0), (9, 0), (9, 9), (0, 9)]
EDGE = light_polyline(SQUARE)


def test_a_bare_file_is_read(tmp_path):
    (found,) = read_outlines(written(tmp_path, bare(*EDGE).encode()))["outer-edge"]
    assert found.area == 81.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (bare(*EDGE).removesuffix("0\nEOF"), "its end is missing"),
        (bare(*EDGE).replace("ENTITIES", "ENTRAILS"), "it has no drawing"),
        (bare(*EDGE).replace("0\nENDSEC\n", ""), "its drawing has no end"),
        (bare(*EDGE).replace("20\n", "21\n"), "'' stands where a number must be"),
        (bare(*EDGE).replace("9", "nine"), "'nine' stands where a number must be"),
        (bare(*light_polyline(SQUARE, "90", "5")), "4 vertices and names another number"),
        (bare(*light_polyline([])), "outline has 0 vertices: at least 2 are needed"),
        (bare(*light_polyline([(i % 9, i) for i in range(50_001)])), "at most 50000"),
        (bare("0", "POLYLINE", "70", "1", "0", "LINE"), "LINE .* stands in a polyline"),
        (bare("0", "POLYLINE", "70", "9", "0", "SEQEND"), "only closed polylines"),
        ("\0" + bare(*EDGE), "save it as an ASCII DXF file"),
        (bare("0", "9" * 5_000, "8", "x" * 5_000), "9{60} without handle on layer x{60}: only"),
    ],
)
def test_spoiled_text_is_named(tmp_path, text, said):
    with pytest.raises(GearworkError, match=said):
        read_outlines(written(tmp_path, text.encode()))


def test_what_is_not_cut_is_left_out(tmp_path):
    not_cut = ["0", "TEXT", "8", "NOT-CUT-text", "1", "anything"]
    assert read_outlines(written(tmp_path, bare(*not_cut).encode())) == {}


def test_a_cut_line_that_stands_on_a_page_for_printing_is_refused(tmp_path):
    """Whoever cuts the model would miss it."""
    on_paper = bare(*light_polyline(SQUARE, "67", "1")).encode()
    with pytest.raises(GearworkError, match="on a page for printing: delete it there"):
        read_outlines(written(tmp_path, on_paper))


@pytest.mark.parametrize("data", [b"", b"not a drawing", bytes(range(256)) * 40])
def test_what_is_no_dxf(tmp_path, data):
    path = tmp_path / "x.dxf"
    path.write_bytes(data)
    with pytest.raises(GearworkError, match=r"x\.dxf"):
        read_outlines(path)


def test_missing_file_folder_and_giant(tmp_path):
    giant = tmp_path / "giant.dxf"
    with open(giant, "wb") as file:
        file.truncate(30_000_000)
    for path in (tmp_path / "none.dxf", tmp_path, giant):
        with pytest.raises(GearworkError, match=path.name):
            read_outlines(path)


def complaint(path):
    try:
        read_outlines(path)
    except GearworkError as error:
        return str(error)
    return f"{path} was read"


@pytest.mark.parametrize("version", VERSIONS)
def test_damaged_files_give_the_one_error_or_an_outline(tmp_path, version):
    """Cut short and shuffled at random, seed fixed: nothing else may come out."""
    data = part_dxf(plate(), version)
    random = np.random.default_rng(20)
    path = tmp_path / "damaged.dxf"
    for _ in range(25):
        damaged = bytearray(data[: random.integers(len(data) // 2, len(data))])
        for place in random.integers(0, len(damaged), 12):
            damaged[place] = random.integers(256)
        path.write_bytes(bytes(damaged))
        assert "damaged.dxf" in complaint(path)


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("unit", ["1", "5"])
def test_a_file_of_other_units_is_refused(tmp_path, version, unit):
    """R12 knows no units, but programs that do read them there."""
    old, other = "  2\nHEADER\n", f"  9\n$INSUNITS\n 70\n{unit}\n"
    text = part_dxf(plate(), version).decode()
    text = re.sub(r"  9\n\$INSUNITS\n 70\n *\d+\n", "", text).replace(old, old + other)
    assert f"unit code is {unit}" in complaint(written(tmp_path, text.encode()))


def test_a_vertex_that_only_pulls_at_a_curve_is_refused(tmp_path):
    text = part_dxf(plate(), "R12").decode()
    spoiled = text.replace("\nVERTEX\n", "\nVERTEX\n 70\n16\n", 1)
    path = written(tmp_path, spoiled.encode())
    assert "pulls at a curve" in complaint(path)


def test_reading_and_writing_say_nothing_on_the_side(tmp_path, capfd):
    read_outlines(written(tmp_path, part_dxf(plate(), "R12")))
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("version", VERSIONS)
def test_a_file_does_not_depend_on_what_was_written_before(version):
    """The document around a drawing is used again."""
    parts = plate(), plate(cuts=()).moved(7, 11)
    before = [part_dxf(part, version) for part in parts]
    assert [part_dxf(part, version) for part in reversed(parts)] == before[::-1]


def test_the_next_handle_is_above_all_in_the_file():
    document = opened(part_dxf(plate()))
    assert int(document.header["$HANDSEED"], 16) > max(int(key, 16) for key in document.entitydb)


@pytest.mark.parametrize("version", VERSIONS)
def test_extents_of_the_header_hold_the_part(version):
    header, part = opened(part_dxf(plate(), version)).header, plate()
    left, low, right, high = part.outer.bounds
    assert header["$EXTMIN"][:2] <= (left + 1e-6, low + 1e-6)
    assert header["$EXTMAX"][:2] >= (right - 1e-6, high - 1e-6)
    assert header["$EXTMAX"][0] < right + 300.0
