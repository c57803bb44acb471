"""Files of the bit's way, read by ezdxf alone and judged by shapely; spoiled ones are caught."""

import itertools
import shutil

import ezdxf
import ezdxf.path
import numpy as np
import pytest
import shapely
from sample_parts import sheet_dxf
from volume import every

import gearwork as gw
from gearwork.geometry.features import BoltCircle, Bore, NutPocket, Windows, gear_part
from gearwork.geometry.toolpath import Run, Tabs
from gearwork.machine.layout import Stock
from gearwork.output.dxf import cut_dxf
from gearwork.output.marking import CutLines, sheet_marks
from gearwork.output.svg import cut_svg
from gearwork.output.toolpath_files import INNER, OUTER, path_notes, way
from gearwork.spec.spec import example_text, parse_brief, read_brief
from gearwork.verify.read_dxf import CutFiles, read_outlines, read_ways
from gearwork.verify.toolpath import bit_path_checks, way_check

FINE = 5e-4  # chord error of sampled arcs, mm
BIT = gw.Bit(3.0)
TAB = f"{OUTER}-tab-2_5mm"
VERSIONS = ["R2010", "R12"]


def gears():
    pair = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.15), gw.Gear(5, 38, thinning=0.15))
    edges = [
        gw.gear_outline(gear, BIT, mate, pair.centre_distance)
        for gear, mate in ((pair.pinion, pair.wheel), (pair.wheel, pair.pinion))
    ]
    windows = [Bore(8), BoltCircle(6, 5, 46), Windows(6, 62, 16, 14, 8)]
    return (
        gear_part("pinion", edges[0], BIT, 12, [Bore(8), NutPocket(13, 5)]).moved(60, 60),
        gear_part("wheel", edges[1], BIT, 12, windows).turned(10).moved(220, 120),
    )


PARTS = gears()
TABS = Tabs(3, 5.0, 2.5)
LINES = way(PARTS, BIT, TABS)
NOTES = path_notes((layer for layer, _ in LINES), PARTS, BIT, TABS, "sheet-1.dxf")
WAY = CutLines("way", LINES, sheet_marks(PARTS, Stock(400, 300, 12), NOTES))


@pytest.fixture(scope="module", params=every(2, VERSIONS))
def files(request, tmp_path_factory):
    """The way of the bit and the edges, as two files."""
    folder = tmp_path_factory.mktemp("lines")
    (folder / "way.dxf").write_bytes(cut_dxf(WAY, request.param))
    (folder / "edges.dxf").write_bytes(sheet_dxf(PARTS, 400, 300, (), request.param))
    return folder


def strings(path):
    """Layer and fine line string of every polyline that is cut."""
    for entity in ezdxf.readfile(path).modelspace():
        if entity.dxftype() in ("LWPOLYLINE", "POLYLINE"):
            points = ezdxf.path.make_path(entity).flattening(FINE)
            yield entity.dxf.layer.lower(), shapely.LineString([(p.x, p.y) for p in points])


def rings(path, layer):
    """The closed way that each chain of lines on a layer and its tabs makes, lead-in left out."""
    chain = np.empty((0, 2))
    for name, line in strings(path):
        if name.startswith(layer):
            points = np.array(line.coords)
            assert len(chain) == 0 or chain[-1] == pytest.approx(points[0], abs=1e-6)
            chain = np.vstack([chain, points])
            (met,) = np.nonzero(np.hypot(*(chain[:-2] - chain[-1]).T) < 1e-6)
            if len(met):
                yield shapely.Polygon(chain[met[0] :])
                chain = chain[:0]
    assert len(chain) == 0


def test_shapelys_buffer_of_the_way_read_back_is_the_edge(files):
    cuts = [cut.outline for part in PARTS for cut in part.cuts if cut.operation == "inside edge"]
    outer = [part.outer for part in PARTS]
    for layer, edges, aside in ((INNER, cuts, 1.5), (OUTER, outer, -1.5)):
        found = list(rings(files / "way.dxf", layer))
        assert len(found) == len(edges)
        for ring, edge in zip(found, edges, strict=True):
            back = ring.buffer(aside, quad_segs=32).exterior
            true = shapely.LinearRing(edge.points(FINE))
            assert back.hausdorff_distance(true) < 0.0015


def ways(files):
    """The paths of the bit's centre, without the circles that are drilled."""
    return [way for _, way in read_ways(files / "way.dxf") if isinstance(way, Run)]


def test_the_check_finds_them_true(files):
    edges = read_outlines(files / "edges.dxf")
    through = [(edge, True) for edge in edges["inner-edge"]]
    through += [(edge, False) for edge in edges["outer-edge"]]
    runs = ways(files)
    check = way_check("way.dxf", through, runs, 3.0)
    assert check.ok
    assert check.value < 0.001
    # A bit 0.02 mm thicker leaves edges 0.01 mm off.
    thicker = way_check("way.dxf", through, runs, 3.02)
    assert thicker.value == pytest.approx(0.01, abs=0.001)
    assert not thicker.ok


def test_holes_first_then_inner_edges_then_outer_ones(files):
    layers = [
        entity.dxf.layer.lower()
        for entity in ezdxf.readfile(files / "way.dxf").modelspace()
        if not entity.dxf.layer.lower().startswith("not-cut")
    ]
    places = [["holes", INNER, OUTER].index(layer.partition("-tab")[0]) for layer in layers]
    assert places == sorted(places)
    assert layers.count(TAB) == 3 * len(PARTS)
    assert [name for name, _ in itertools.groupby(layers)][-7:] == [OUTER, TAB] * 3 + [OUTER]


def test_file_is_sound_and_has_no_piece_without_length(files):
    document = ezdxf.readfile(files / "way.dxf")
    assert not document.audit().has_errors
    for run in ways(files):
        assert np.hypot(*np.diff(run.vertices, axis=0).T).min() > 1e-5
    lines = [line.normalize().wkt for _, line in strings(files / "way.dxf")]
    assert len(set(lines)) == len(lines)


def test_pockets_are_told_of_and_have_no_way():
    assert "pockets have no path here: see sheet-1.dxf" in NOTES
    bare = {layer.partition("-tab")[0] for layer, _ in LINES}
    assert bare == {"holes", INNER, OUTER}


def test_svg_runs_along_the_same_ways():
    text = cut_svg(WAY)
    assert text.count(f'<g id="{TAB}"') == 1
    open_paths = [p for p in text.split('<path d="')[1:] if "Z" not in p.partition('"')[0]]
    assert len(open_paths) == sum(layer != "holes" for layer, _ in LINES)


# --- in the folder of a design ----------------------------------------------------------------


GEARS = example_text("apple-washer")
CUTTING = "cutting.bit_paths = true\ncutting."


@pytest.fixture(scope="module")
def design():
    return gw.solve(parse_brief(f"{CUTTING}tabs = 4\n{GEARS}", "washer.toml"))


@pytest.fixture(scope="module")
def written(design, tmp_path_factory):
    folder = tmp_path_factory.mktemp("machine") / "files"
    gw.write_files(design, folder)
    return folder


@pytest.fixture
def folder(written, tmp_path):
    shutil.copytree(written, tmp_path / "copy")
    return tmp_path / "copy"


def checks(folder):
    bit = read_brief(folder / "design.toml").bit
    return {check.name: check for check in bit_path_checks(CutFiles(folder), bit)}


def test_every_sheet_and_the_test_piece_have_a_file_that_holds(design, written):
    found = {
        c.name: c for c in gw.check_files(written, design) if c.name.startswith("way of the bit")
    }
    names = {path.name for path in written.glob("*-bit-path.dxf")}
    sheets = {f"{path.stem}-bit-path.dxf" for path in written.glob("sheet-?.dxf")}
    trials = ("test-piece-pinion", "test-piece-wheel")
    trials += tuple(f"break-test-{piece}" for piece in ("sector", "plate", "lever"))
    assert names == sheets | {f"{trial}-bit-path.dxf" for trial in trials}
    assert {name.removeprefix("way of the bit, ") for name in found} == names
    assert all(check.ok for check in found.values())
    assert len(list(written.glob("*-bit-path.svg"))) == len(names)


def polylines(document):
    return [e for e in document.modelspace() if e.dxftype() == "LWPOLYLINE"]


def moved_vertex(document):
    line = max(polylines(document), key=len)
    points = [tuple(p) for p in line.get_points("xyseb")]
    x, y, *rest = points[5]
    points[5] = (x, y + 0.3, *rest)
    line.set_points(points, format="xyseb")


def in_inches(document):
    for line in polylines(document):
        line.scale(25.4, 25.4, 25.4)


def one_tab_gone(document):
    tab = next(line for line in polylines(document) if "tab" in line.dxf.layer)
    document.modelspace().delete_entity(tab)


def one_edge_gone(document):
    inner = next(line for line in polylines(document) if line.dxf.layer == INNER)
    document.modelspace().delete_entity(inner)


@pytest.mark.parametrize("change", every(3, [one_edge_gone, moved_vertex, in_inches, one_tab_gone]))
def test_a_spoiled_way_is_caught_and_named(folder, change):
    document = ezdxf.readfile(folder / "sheet-1-bit-path.dxf")
    change(document)
    document.saveas(folder / "sheet-1-bit-path.dxf")
    failed = [name for name, check in checks(folder).items() if not check.ok]
    assert failed == ["way of the bit, sheet-1-bit-path.dxf"]


def test_a_path_for_another_bit_is_caught(folder):
    text = (folder / "design.toml").read_text("utf-8")
    changed = text.replace("diameter = 3.0", "diameter = 3.0, measured_diameter = 2.975")
    (folder / "design.toml").write_text(changed, "utf-8")
    found = checks(folder)
    assert not any(check.ok for check in found.values())
    assert all(check.value == pytest.approx(0.0125, abs=0.001) for check in found.values())


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("tabs = -1", "tabs is -1: it must be at least 0"),
        ("tab_height = 0.0", "tab_height is 0 mm: it must be above 0 mm"),
        ("bit_paths = 1", "bit_paths is 1: true or false is needed"),
    ],
)
def test_wishes_that_cannot_be(line, words):
    with pytest.raises(gw.GearworkError, match=words):
        parse_brief(f"{example_text()}\n[cutting]\n{line}\n", "hauler.toml")


def test_tabs_as_high_as_the_sheet_are_refused_with_the_part(tmp_path):
    design = gw.solve(parse_brief(f"{CUTTING}tab_height = 12.0\n{GEARS}", "washer.toml"))
    with pytest.raises(gw.GearworkError, match="test piece pinion: tab height is 12 mm"):
        gw.write_files(design, tmp_path / "files")
    assert not (tmp_path / "files").exists()
