"""The written folder: whole, the same twice, and read back with every kind of damage noticed."""

import re
import shutil
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from volume import every

import gearwork as gw
from gearwork.output.files import MANIFEST
from gearwork.spec.spec import example_text, parse_brief
from gearwork.verify.pieces import Piece, pieces_of
from gearwork.verify.read_dxf import read_outlines

SAMPLE = Path(__file__).parents[2] / "output"


@pytest.fixture
def design(hauler):
    return hauler


@pytest.fixture
def written(hauler_files):
    return hauler_files


@pytest.fixture(scope="module")
def read_back(hauler_files):
    """From its own design file, solved again."""
    return gw.check_files(hauler_files)


@pytest.fixture
def folder(written, tmp_path):
    shutil.copytree(written, tmp_path / "copy")
    return tmp_path / "copy"


def edge(document):
    return next(e for e in document.modelspace() if e.dxf.layer.lower() == "outer-edge")


def spoil(folder, name, change):
    document = ezdxf.readfile(folder / name)
    change(document)
    document.saveas(folder / name)


def failures(folder, design):
    found = gw.check_files(folder, design)
    assert not found.ok
    return " ".join(f"{c.name}: {c.why}" for c in found.failed)


def test_what_is_written_is_found_sound(read_back):
    assert read_back.ok, str(read_back)


@pytest.mark.slow
def test_the_same_design_gives_the_same_bytes(design, written, tmp_path):
    gw.write_files(design, tmp_path / "again")
    for path in sorted(written.iterdir()):
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes(), path.name


def test_the_sample_in_the_repository_is_what_the_example_writes(written):
    """A regression sample: it shows that output has changed, and proves nothing of what is right.

    Whether the figures are right is for the checks, tests/validation and the reading back. What
    follows the drawing in a DXF file is the library's own, and varies with its versions.
    """
    library = b"\n  2\nOBJECTS\n"
    assert sorted(p.name for p in written.iterdir()) == sorted(p.name for p in SAMPLE.iterdir())
    for path in written.iterdir():
        if path.suffix != ".pdf" and path.name != MANIFEST:  # vary with library versions
            now, then = (
                one.read_bytes().partition(library)[0] for one in (path, SAMPLE / path.name)
            )
            assert now == then, path.name


def test_the_design_file_written_gives_the_same_design(design, written):
    again = gw.load_design(written / "design.toml")
    assert again.train.ratio == design.train.ratio
    assert again.train.points == design.train.points


def test_every_cut_file_passes_the_audit_and_holds_closed_outlines(written):
    for path in written.glob("*.dxf"):
        auditor = ezdxf.readfile(path).audit()
        assert not auditor.has_errors, path.name
        for outlines in read_outlines(path).values():
            for outline in outlines:
                assert shapely.Polygon(outline.points(0.01)).is_valid, path.name


def test_outlines_read_back_stray_no_more_than_the_tolerance(design, written):
    # Independent dense computation: involute points by unwinding a thread.
    for gear in design.train.gears:
        path = next(written.glob(f"{gear.name.replace(' ', '-')}*.dxf"))
        (outline,) = read_outlines(path)["outer-edge"]
        pair = design.stages[gear.stage].pair
        start = pair.active_diameters[gear.shaft != gear.stage] / 2 + 1e-9
        g, base = gear.gear, gear.gear.base_diameter / 2
        reach = np.linspace(start, g.tip_diameter / 2, 300)
        roll = np.sqrt(reach**2 - base**2) / base
        spread = g.tooth_thickness / g.reference_diameter
        alpha = np.radians(g.pressure_angle)
        angle = spread + np.tan(alpha) - alpha - (roll - np.arctan(roll))
        true = shapely.points(reach * np.cos(angle), reach * np.sin(angle))
        boundary = shapely.LinearRing(outline.points(1e-4))
        assert shapely.distance(boundary, true).max() <= 0.005 + 2e-4


@pytest.mark.slow
def test_old_dxf_is_read_back_alike(design, written, read_back, tmp_path):
    gw.write_files(design, tmp_path, version="R12")
    assert len((tmp_path / "sheet-1.dxf").read_bytes()) != len(
        (written / "sheet-1.dxf").read_bytes()
    )
    old, new = (
        [(c.name, round(c.value, 5)) for c in report]
        for report in (gw.check_files(tmp_path, design), read_back)
    )
    assert old == new


def test_one_vertex_moved_is_caught(design, folder):
    def move(document):
        line = edge(document)
        points = [tuple(p) for p in line.get_points("xyseb")]
        x, y, *rest = points[40]
        points[40] = (x + 0.3, y, *rest)
        line.set_points(points, format="xyseb")

    spoil(folder, "wheel-1-grain-45.dxf", move)
    assert "wheel-1-grain-45.dxf" in failures(folder, design)


@pytest.mark.slow
def test_a_gear_in_inches_is_caught(design, folder):
    spoil(folder, "pinion-2-grain-0.dxf", lambda d: edge(d).scale(25.4, 25.4, 25.4))
    assert "pinion-2-grain-0.dxf" in failures(folder, design)


def test_a_wrong_centre_distance_is_caught(design, folder):
    def shift(document):
        seats = [
            e for e in document.modelspace().query("CIRCLE") if abs(2 * e.dxf.radius - 28.1) < 0.1
        ]
        seats[0].translate(0.5, 0.5, 0)

    spoil(folder, "side-plate-b.dxf", shift)
    assert "centre distance in the plate" in failures(folder, design)


@pytest.mark.slow
def test_gears_cut_for_a_bit_of_half_the_size_are_caught(design, folder):
    text = (folder / "design.toml").read_text("utf-8")
    (folder / "design.toml").write_text(text.replace("diameter = 3.175", "diameter = 6.35"))
    assert "pinion-1" in failures(folder, design)


def test_a_file_that_is_gone_or_broken_is_named(folder):
    (folder / "wheel-1-grain-0.dxf").write_bytes(b"0\nSECTION\n")
    with pytest.raises(gw.GearworkError, match="wheel-1-grain-0.dxf"):
        gw.check_files(folder)
    (folder / "wheel-1-grain-0.dxf").unlink()
    with pytest.raises(gw.GearworkError, match="wheel-1-grain-0.dxf is missing"):
        gw.check_files(folder)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("design.toml", b"\xe3\x28", "no text in UTF-8"),
        ("design.toml", b"#" * 200_000, "more than 100000 letters"),
        ("side-plate-b.dxf", b"0" * 9_000_000, "larger than 8,000,000 bytes"),
        ("gearwork-files.txt", b"\0" * 2_000_000, "no list that gearwork wrote"),
        ("gearwork-files.txt", b"", "no list that gearwork wrote"),
    ],
)
def test_a_damaged_file_is_named(folder, name, data, said):
    (folder / name).write_bytes(data)
    with pytest.raises(gw.GearworkError, match=said):
        gw.check_files(folder)


def test_what_is_no_folder_is_refused(folder):
    for place in (folder / "design.toml", folder / "none", f"{folder}\0"):
        with pytest.raises(gw.GearworkError):
            gw.check_files(place)


@pytest.mark.slow
def test_a_changed_file_is_not_written_over(design, folder):
    (folder / "wheel-1-grain-0.dxf").write_text("mine")
    with pytest.raises(gw.GearworkError, match="wheel-1-grain-0.dxf"):
        gw.write_files(design, folder)
    assert (folder / "wheel-1-grain-0.dxf").read_text() == "mine"


def pieces(folder, design):
    found = [c for c in gw.check_files(folder, design) if c.name.startswith("pieces")]
    return [c.name for c in found if not c.ok], " ".join(c.why for c in found if not c.ok)


def moved_along_a_flank(document):
    line = max(document.modelspace().query("LWPOLYLINE"), key=len)
    points = [tuple(p) for p in line.get_points("xyseb")]
    (x, y, *rest), after = points[7], points[8]
    points[7] = (x + 0.3, y, *rest)
    assert np.hypot(x - after[0], y - after[1]) > 0.3
    line.set_points(points, format="xyseb")


def whole_piece_in_inches(document):
    for entity in document.modelspace().query("LWPOLYLINE CIRCLE"):
        entity.scale(25.4, 25.4, 25.4)


def hole_moved(document):
    next(iter(document.modelspace().query("CIRCLE[layer!='not-cut']"))).translate(0.05, 0, 0)


def hole_gone(document):
    space = document.modelspace()
    space.delete_entity(next(iter(space.query("CIRCLE[layer!='not-cut']"))))


@pytest.mark.parametrize(
    "change", every(4, [moved_along_a_flank, whole_piece_in_inches, hole_moved, hole_gone])
)
def test_a_sheet_that_was_changed_is_caught_and_named(design, folder, change):
    spoil(folder, "sheet-1.dxf", change)
    names, _ = pieces(folder, design)
    assert "pieces as designed, sheet-1.dxf" in names


@pytest.mark.slow
def test_a_bore_changed_in_a_part_alone_is_caught_and_named(design, folder):
    spoil(folder, "wheel-1-grain-0.dxf", hole_moved)
    assert pieces(folder, design)[0] == ["pieces as designed, wheel-1-grain-0.dxf"]


@pytest.mark.slow
def test_a_piece_that_is_gone_from_a_sheet_is_missed(design, folder):
    spoil(folder, "sheet-1.dxf", lambda d: d.modelspace().delete_entity(edge(d)))
    names, why = pieces(folder, design)
    assert "pieces missing or too many on the sheets" in names
    assert "Missing from the sheets: 1 of" in why


def test_pieces_are_known_again_wherever_they_lie():
    hole = gw.Outline.circle(8.0, (10.0, 0.0))
    box = gw.Outline([(-40, -25), (40, -25), (40, 25), (-40, 25)], [0, 0, 0.2, 0])
    one = Piece.of(box, [("inner-edge", hole)])
    lain = [path.turned(33).moved(200, -5) for path in (box, hole)]
    (again,) = pieces_of({"outer-edge": [lain[0].reversed()], "inner-edge": lain[1:]}, "outer-edge")
    assert one.unlike(again) < 1e-6
    assert again.at == pytest.approx(np.array(one.at) @ turn(33) + (200, -5), abs=0.01)
    aside = Piece.of(box, [("inner-edge", hole.moved(0.03, 0.0))])
    assert one.unlike(aside) == pytest.approx(0.03, abs=0.005)
    assert one.unlike(Piece.of(box, [("holes", hole)])) == np.inf


def turn(degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, s], [-s, c]])


def test_pockets_for_the_bearings_are_cut_into_the_outer_faces_of_two_plates(design, folder):
    """Each other's mirror image: fixed bearings of 8 mm in plate A, free ones 1 mm deeper in B."""
    seats = [
        sorted(float(outline.points()[:, 0].mean()) for outline in found[layer])
        for found, layer in (
            (read_outlines(folder / "side-plate-a.dxf"), "sunk-8mm"),
            (read_outlines(folder / "side-plate-b.dxf"), "sunk-9mm"),
        )
    ]
    assert len(seats[0]) == 3
    assert seats[0] == pytest.approx([-x for x in reversed(seats[1])], abs=1e-3)


def second_edge(document):
    copy = edge(document).copy()
    document.modelspace().add_entity(copy)
    copy.translate(900.0, 0.0, 0.0)


def test_a_second_edge_in_the_file_of_a_gear_is_refused(folder):
    spoil(folder, "wheel-1-grain-0.dxf", second_edge)
    with pytest.raises(gw.GearworkError, match="wheel-1-grain-0.dxf holds 2 outer edges"):
        gw.check_files(folder)


@pytest.mark.slow
def test_a_second_plate_in_its_file_is_named(design, folder):
    spoil(folder, "side-plate-b.dxf", second_edge)
    assert "side-plate-b.dxf holds 2 outer edges where one is needed" in failures(folder, design)


@pytest.mark.slow
def test_a_design_file_that_makes_other_parts_is_named(design, folder):
    """Rim and spoke so narrow that the witness hole would break into the windows."""
    text = (folder / "design.toml").read_text("utf-8")
    narrow = {"rim_thickness = 20.0": "2.0", "spoke_width = 24.0": "4.5"}
    narrow["corner_diameter = 16.0"] = "3.5"
    changed = text
    for before, size in narrow.items():
        changed = changed.replace(before, f"{before.partition('=')[0]}= {size}")
    assert changed != text
    (folder / "design.toml").write_text(changed, "utf-8")
    assert "design.toml no longer makes the parts in these files" in failures(folder, design)


def test_the_spacing_drawing_is_printed_on_the_paper_of_the_design_file(tmp_path):
    text = f'drawing.paper = "A3"\n{example_text("apple-washer")}'
    found = gw.write_files(gw.solve(parse_brief(text, "test")), tmp_path)
    assert [check.name for check in found.failed if check.part == "spacing.pdf"] == []
    box = re.search(
        rb"/MediaBox \[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", (tmp_path / "spacing.pdf").read_bytes()
    )
    assert {round(float(side) / 72 * 25.4) for side in box.groups()} == {297, 420}
    with pytest.raises(gw.GearworkError, match=r"\[drawing\] paper"):
        parse_brief(text.replace('"A3"', '"A5"'), "test")


def test_a_design_at_hand_is_taken_only_for_its_own_files(washer, washer_files):
    found = gw.check_files(washer_files, washer)
    assert found.ok
    other = gw.solve(gw.example_brief("apple-washer"))
    assert str(gw.check_files(washer_files, other)) == str(found)
