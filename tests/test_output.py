"""The written folder: whole, the same twice, and read back with every kind of damage noticed."""

import shutil

import ezdxf
import numpy as np
import pytest
import shapely

import gearwork as gw
from gearwork.shop.cut_lines import read_outlines


@pytest.fixture(scope="module")
def design():
    return gw.solve(gw.example_brief())


@pytest.fixture(scope="module")
def written(design, tmp_path_factory):
    folder = tmp_path_factory.mktemp("machine")
    gw.write_files(design, folder)
    return folder


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


def failures(folder):
    found = gw.check_files(folder)
    assert not found.ok
    return " ".join(f"{c.name}: {c.why}" for c in found.failed)


def test_what_is_written_is_found_sound(written):
    found = gw.check_files(written)
    assert found.ok, str(found)


def test_the_same_design_gives_the_same_bytes(design, written, tmp_path):
    gw.write_files(design, tmp_path / "again")
    for path in sorted(written.iterdir()):
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes(), path.name


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


@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_both_dxf_versions_are_read_back_alike(design, tmp_path, version):
    gw.write_files(design, tmp_path, version=version)
    assert gw.check_files(tmp_path).ok


def test_one_vertex_moved_is_caught(folder):
    def move(document):
        line = edge(document)
        points = [tuple(p) for p in line.get_points("xyseb")]
        x, y, *rest = points[40]
        points[40] = (x + 0.3, y, *rest)
        line.set_points(points, format="xyseb")

    spoil(folder, "wheel-1-grain-45.dxf", move)
    assert "wheel-1-grain-45.dxf" in failures(folder)


def test_a_gear_in_inches_is_caught(folder):
    spoil(folder, "pinion-2-grain-0.dxf", lambda d: edge(d).scale(25.4, 25.4, 25.4))
    assert "pinion-2-grain-0.dxf" in failures(folder)


def test_a_wrong_centre_distance_is_caught(folder):
    def shift(document):
        seats = [
            e for e in document.modelspace().query("CIRCLE") if abs(2 * e.dxf.radius - 28.1) < 0.1
        ]
        seats[0].translate(0.5, 0.5, 0)

    spoil(folder, "side-plate.dxf", shift)
    assert "centre distance in the plate" in failures(folder)


def test_gears_cut_for_a_bit_of_half_the_size_are_caught(folder):
    text = (folder / "design.toml").read_text("utf-8")
    (folder / "design.toml").write_text(text.replace("diameter = 3.175", "diameter = 6.35"))
    assert "pinion-1" in failures(folder)


def test_a_file_that_is_gone_or_broken_is_named(folder):
    (folder / "wheel-2-grain-0.dxf").write_bytes(b"0\nSECTION\n")
    with pytest.raises(gw.GearworkError, match="wheel-2-grain-0.dxf"):
        gw.check_files(folder)
    (folder / "wheel-2-grain-0.dxf").unlink()
    with pytest.raises(gw.GearworkError, match="wheel-2-grain-0.dxf is missing"):
        gw.check_files(folder)


def test_a_changed_file_is_not_written_over(design, folder):
    (folder / "wheel-1-grain-0.dxf").write_text("mine")
    with pytest.raises(gw.GearworkError, match="wheel-1-grain-0.dxf"):
        gw.write_files(design, folder)
    assert (folder / "wheel-1-grain-0.dxf").read_text() == "mine"
