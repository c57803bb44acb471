"""The folder of gears without a machine: whole, the same twice, every damage noticed."""

import errno
import os
import re
import shutil
import subprocess

import ezdxf
import numpy as np
import pytest

import gearwork as gw
from gearwork.output import files
from gearwork.output.files import MANIFEST
from gearwork.verify.read_dxf import read_outlines


@pytest.fixture
def folder(washer_files, tmp_path):
    shutil.copytree(washer_files, tmp_path / "copy")
    return tmp_path / "copy"


def failed(folder, design):
    return [check.name for check in gw.check_files(folder, design).failed]


def test_everything_that_cutting_takes_is_there(washer_files):
    parts = ["pinion-1-grain-0", "pinion-1-grain-45", "wheel-1-grain-0", "wheel-1-grain-45"]
    lines = [*parts, "sheet-1", "test-piece-pinion", "test-piece-wheel"]
    lines += [f"break-test-{piece}" for piece in ("sector", "plate", "lever")]
    wanted = {f"{name}.{kind}" for name in lines for kind in ("dxf", "svg")}
    wanted |= {"break-test.html"}
    wanted |= {"spacing.dxf", "spacing.pdf", "job-sheet.html", "job-sheet.txt", "design.toml"}
    assert {path.name for path in washer_files.iterdir()} == wanted | {MANIFEST}


def test_it_is_read_back_from_its_own_design_file(washer_files):
    found = gw.check_files(washer_files)
    assert found.ok, str(found)
    assert "centre distance in the drawing, stage 1" in [check.name for check in found]


def test_the_same_gears_give_the_same_bytes(washer, washer_files, tmp_path):
    gw.write_files(washer, tmp_path)
    for path in washer_files.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


def test_bores_stand_in_the_drawing_as_far_apart_as_the_gears_want(washer_files):
    """The distance by its own formula: inv alpha_w of the shifts, a = m z cos / cos (ISO 21771)."""
    first, second = (
        outline.vertices.mean(axis=0)
        for outline in read_outlines(washer_files / "spacing.dxf")["holes"]
    )
    alpha, teeth, shift = np.radians(20.0), 14 + 38, 0.25
    wanted = np.tan(alpha) - alpha + 2 * np.tan(alpha) * shift / teeth
    working = alpha
    for _ in range(20):
        working -= (np.tan(working) - working - wanted) / np.tan(working) ** 2
    distance = 5 * teeth / 2 * np.cos(alpha) / np.cos(working)
    assert np.hypot(*(second - first)) == pytest.approx(distance, abs=1e-4)


def test_the_sheet_tells_what_was_asked_of_it(washer, washer_files):
    text = (washer_files / "job-sheet.html").read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    limit = washer.rating(0)["running"]
    for told in (
        "131.21 mm", "± 0.25", f"{limit.torque:.4g} N·m", "span over", "12.00 mm",
        "Test piece", "cautions", "backlash", "breaks at about",
    ):  # fmt: skip
        assert told in text, told


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser that prints")
def test_the_sheet_is_three_pages(washer_files, tmp_path):
    made = tmp_path / "sheet.pdf"
    command = ["chromium", "--headless", "--no-sandbox", "--no-pdf-header-footer"]
    command += [f"--print-to-pdf={made}", str(washer_files / "job-sheet.html")]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    assert len(re.findall(rb"/Type\s*/Page\b", made.read_bytes())) <= 3


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("wheel-1-grain-45.dxf", "pieces as designed, wheel-1-grain-45.dxf"),
        ("sheet-1.dxf", "pieces as designed, sheet-1.dxf"),
    ],
)
def test_a_hole_moved_in_a_file_is_named(washer, folder, name, said):
    document = ezdxf.readfile(folder / name)
    hole = next(iter(document.modelspace().query("CIRCLE[layer!='not-cut']")))
    hole.translate(0.3, 0, 0)
    document.saveas(folder / name)
    assert said in failed(folder, washer)


def test_a_bore_moved_in_the_drawing_is_named(washer, folder):
    document = ezdxf.readfile(folder / "spacing.dxf")
    next(iter(document.modelspace().query("CIRCLE[layer=='holes']"))).translate(0.2, 0, 0)
    document.saveas(folder / "spacing.dxf")
    assert failed(folder, washer) == [
        "centre distance in the drawing, stage 1",
        "axes in the drawing, spacing.dxf",
        "files of this design",
    ]


def test_a_file_that_is_gone_is_named(folder):
    (folder / "pinion-1-grain-0.dxf").unlink()
    with pytest.raises(gw.GearworkError, match="pinion-1-grain-0.dxf is missing"):
        gw.check_files(folder)


def test_a_changed_file_is_not_written_over(washer, folder):
    (folder / "spacing.dxf").write_text("mine")
    with pytest.raises(gw.GearworkError, match="spacing.dxf was changed"):
        gw.write_files(washer, folder)
    assert (folder / "spacing.dxf").read_text() == "mine"


def test_a_foreign_file_of_the_same_name_is_not_written_over(washer, tmp_path):
    (tmp_path / "job-sheet.txt").write_text("notes of mine")
    with pytest.raises(gw.GearworkError, match="job-sheet.txt was changed or made by somebody"):
        gw.write_files(washer, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["job-sheet.txt"]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told(washer, tmp_path):
    (tmp_path / "shut").mkdir(mode=0o555)
    with pytest.raises(gw.GearworkError, match="writing is not allowed"):
        gw.write_files(washer, tmp_path / "shut")


def test_a_disk_that_fills_up_half_way_leaves_the_folder_as_it_was(washer, folder, monkeypatch):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    put, left = files._put, iter(range(5))

    def full(path, data):
        if next(left, None) is None:
            raise OSError(errno.ENOSPC, "no room")
        put(path, data)

    monkeypatch.setattr(files, "_put", full)
    with pytest.raises(gw.GearworkError, match="the disk is full"):
        gw.write_files(washer, folder, version="R12")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_file_in_the_place_of_the_folder_is_told(washer, tmp_path):
    (tmp_path / "gears").write_text("a file")
    with pytest.raises(gw.GearworkError, match="a part of the path is a file"):
        gw.write_files(washer, tmp_path / "gears")
