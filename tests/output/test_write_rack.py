"""A pinion and a rack from the design file to files, and read back."""

import shutil

import numpy as np
import pytest

import gearwork as gw
from gearwork.geometry.measuring import pin_height
from gearwork.machine.gear_set import GearSet
from gearwork.output.jobsheet.measuring import inspection_rows
from gearwork.output.jobsheet.papers import job_sheet_text
from gearwork.output.marking import OUTER
from gearwork.output.write import write_folder
from gearwork.spec.spec import example_text, parse_brief
from gearwork.verify.read_dxf import read_outlines

TEXT = example_text("press-slide")


@pytest.fixture(scope="module")
def slide():
    return gw.solve(gw.example_brief("press-slide"))


@pytest.fixture(scope="module")
def folder(slide, tmp_path_factory):
    home = tmp_path_factory.mktemp("slide")
    write_folder(slide, home)
    return home


def test_the_example_holds_and_its_files_roll(slide, folder):
    assert slide.report.ok, str(slide.report)
    found = gw.check_files(folder)
    assert found.ok, str(found)
    assert any("rack-1" in check.name for check in found)


def test_the_bar_has_its_length_its_holes_and_a_mark(slide, folder):
    """30 teeth of π m; holes at most 120 mm apart, each amid the bar below the teeth."""
    cut = read_outlines(folder / "rack-1-grain-0.dxf")
    (bar,) = cut[OUTER]
    left, low, right, high = bar.bounds
    assert right - left == pytest.approx(30 * np.pi * 5, abs=1e-3)
    assert (high, low) == pytest.approx((4.5, -27.0), abs=1e-3)
    layer = slide.layers(slide.gears[1])[0]
    holes = [c for c in layer.cuts if c.operation == "drilled hole"]
    middles = sorted(float(c.outline.vertices[:, 0].mean()) for c in holes)
    wide = [float(np.ptp(c.outline.vertices[:, 0])) for c in holes]
    screws = [x for x, size in zip(middles, wide, strict=True) if size == pytest.approx(4.5)]
    assert len(screws) == len(slide.gears[1].gear.hole_places)
    assert max(np.diff(screws)) < 125.0


@pytest.mark.slow
def test_a_damaged_rack_is_noticed(slide, folder, tmp_path):
    shutil.copytree(folder, tmp_path / "copy")
    path = tmp_path / "copy" / "rack-1-grain-0.dxf"
    text = path.read_text()
    place = text.index("4.5\n", text.index("LWPOLYLINE"))
    path.write_text(f"{text[:place]}4.1\n{text[place + 4 :]}")
    assert not gw.check_files(tmp_path / "copy", slide).ok


def test_the_drawing_has_axis_and_hole_as_far_apart_as_the_rack_wants(slide):
    """39 mm to the line (7.5 + 0.3 teeth of 5 mm), holes amid 6.25 and 27 mm below it."""
    ((start, end, distance), _) = slide.toleranced_distances[0]
    assert (start, end) == ("pinion 1", "hole of rack 1")
    assert distance == pytest.approx(39.0 + (6.25 + 27.0) / 2)


def test_the_sheet_tells_travel_and_dangers(slide, folder):
    assert "235.62 mm a turn" in job_sheet_text(slide)  # π 15 5
    page = (folder / "job-sheet.html").read_text("utf-8")
    assert "does not hold by itself" in page
    assert "53.33 N before friction" in page.replace("\N{NO-BREAK SPACE}", " ")  # 2 N m on 37.5 mm
    assert "wheel 1" not in page


@pytest.mark.parametrize("edge", [-0.1, 0.0, 0.1])
def test_a_pin_rests_on_both_flanks(edge):
    """Its distance from the flank's line, by the line through (s/2, 0) with 20° to the height."""
    rack = gw.Rack(5, 20, thinning=0.2)
    alpha, half = np.radians(20), (np.pi * 5 / 2 - 0.2) / 2 + edge / np.cos(np.radians(20))
    centre = np.pi * 5 / 2, pin_height(rack, 8.5, edge)
    apart = (centre[0] - half) * np.cos(alpha) + centre[1] * np.sin(alpha)
    assert apart == pytest.approx(4.25)


def test_what_to_measure_on_a_rack(slide):
    rows = inspection_rows(slide.stages[0].pair, gw.Bit(3.0), 0.1, 0.1, (12.0, 4.5))
    found = {row.quantity: row for row in rows if row.part == "rack"}
    assert found["height"].nominal == pytest.approx(4.5 + 27.0)
    assert found["over a 8.5 mm pin"].lower < found["over a 8.5 mm pin"].nominal
    assert "backlash at the rim" in found


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("rack_teeth = 30 ", "wheel_teeth = 30\nrack_teeth = 30 ", "are both given"),
        ("rack_teeth = 30 ", "# rack_teeth = 30 ", "rack_height is for a rack"),
        ("pinion_shift = 0.3", "wheel_shift = 0.3", "a rack has none"),
        ("rack_height = 27.0", "rack_height = 5.0", "its teeth go"),
        ("12.0, 4.5]", "12.0, 10.0]", "screw holes of 10 mm"),
        ("rack_teeth = 30 ", "rack_teeth = 2 ", "at least 5"),
        (
            "[[stage]]",
            "stock = { width = 100.0, height = 100.0 }\n[[stage]]",
            "from joint to joint",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_the_words_of_the_file(old, new, told):
    assert old in TEXT
    with pytest.raises(gw.GearworkError, match=told):
        _ = GearSet(parse_brief(TEXT.replace(old, new), "slide.toml")).sheets


def test_a_rack_of_a_machine_wants_a_load_on_it():
    brief = gw.example_brief("orchard-hauler").text
    head = brief[: brief.index("[[stage]]")]
    with pytest.raises(gw.GearworkError, match='give a .load. of kind = "rack"'):
        gw.solve(
            parse_brief(f"{head}\n[[stage]]\nmodule = 5\npinion_teeth = 15\nrack_teeth = 9", "a")
        )


@pytest.mark.slow
def test_a_pair_from_the_bench_makes_the_same_rack(tmp_path):
    pair = gw.GearPair(
        gw.Gear(5, 15, 0.3, thinning=0.2), gw.Rack(5, 12, thinning=0.2, height=30.0), 39.2
    )
    found = gw.write_files(
        gw.CutPair(pair, gw.Bit(3.0)), tmp_path, sheet=gw.plywood("birch", 12), bores=(12.0, 4.5)
    )
    assert found.ok, str(found)
    assert gw.load_design(tmp_path / "design.toml").stages[0].pair == pair
