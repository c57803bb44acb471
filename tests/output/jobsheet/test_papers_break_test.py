"""The paper of the break test, and the way of its readings back into the design file."""

import re
from html import unescape

import numpy as np
import pytest

import gearwork as gw
from gearwork.geometry.outline import depth_inside
from gearwork.output.jobsheet.measuring import broken_lines
from gearwork.output.jobsheet.papers import calculation_html, job_sheet_html, job_sheet_text
from gearwork.spec.spec import example_text, parse_brief
from gearwork.verify.read_dxf import read_outlines


@pytest.fixture(scope="module")
def paper(hauler_files):
    return unescape((hauler_files / "break-test.html").read_text("utf-8"))


def filled(paper, share):
    """The table of the paper with the readings of teeth that bear so much of what is expected."""
    entry = re.search(r"<pre[^>]*>(.*)</pre>", paper, re.S)[1]
    torques = re.findall(r"<td>([\d.]+) N·m</td>", paper)
    rows = "\n".join(f"  {', '.join([str(share * float(t))] * 5)}," for t in torques)
    entry = re.sub(r"torque = \[.*?\]", f"torque = [\n{rows}\n]", entry, flags=re.S)
    return entry.replace("duration =  ", "duration = 300 ")


def test_paper_tells_reading_range_allowance_and_cautions(paper, hauler):
    test = hauler.break_test.test
    first = test.readings[0]
    for torque in (first.torque, first.low, first.high):
        assert f"{test.shown(torque):.1f}" in paper
    assert f"{test.per_kilogram:.3f} × kilograms" in paper
    allowed = re.search(r"stalls: ([\d.]+) kg", paper)[1]
    assert float(allowed) < test.shown(first.low)
    for caution in ("glasses", "flies", "Stand beside", "slowly", "catches it", "bucket"):
        assert caution in paper


def test_readings_go_from_the_paper_into_the_file_and_move_the_rating(paper, hauler):
    brief = parse_brief(f"{example_text()}\n{filled(paper, 1.3)}", "test")
    lines = broken_lines(brief.gears.sheet)
    assert len(lines) == len(hauler.break_test.test.directions) + 1
    assert "rated by them" in lines[-1]
    assert all("5 teeth broke" in line for line in lines[:-1])
    cut, sheet = hauler.cut_pairs[0], hauler.brief.gears.sheet
    table, found = (
        gw.rate_pair(cut, one, speed=100)["stall"].torque for one in (sheet, brief.gears.sheet)
    )
    assert found > 1.2 * table


@pytest.mark.slow
def test_papers_say_what_was_broken(paper):
    design = gw.solve(parse_brief(f"{example_text()}\n{filled(paper, 1.3)}", "test"))
    for text in (job_sheet_html(design), job_sheet_text(design)):
        assert "What the broken teeth said" in text
    calculation = calculation_html(design)
    assert "20 teeth of this sheet broken at 70°, 98°, 126°, 154° to the grain" in calculation
    assert "broken teeth speak for their sheet alone" in calculation


def test_without_readings_nothing_is_said(hauler, hauler_files):
    assert broken_lines(hauler.brief.gears.sheet) == ()
    assert "broken teeth said" not in (hauler_files / "job-sheet.html").read_text("utf-8")
    assert "break-test.html" in (hauler_files / "job-sheet.html").read_text("utf-8")


def test_pieces_in_the_files_touch_as_drawn(hauler, hauler_files):
    """The lever's file about its pivot comes within 0.02 mm of the sector's first tooth."""
    test = hauler.break_test.test
    lever, sector = (
        read_outlines(hauler_files / f"break-test-{name}.dxf")["outer-edge"][0]
        for name in ("lever", "sector")
    )
    distance = hauler.stages[hauler.break_test.stage - 1].pair.centre_distance
    points = sector.turned(test.tested - test.places[0]).points(0.002)
    depth = depth_inside(points, lever.moved(0.0, distance), 0.002)
    assert abs(depth.max()) < 0.01
    touching = points[int(depth.argmax())]
    assert np.hypot(*touching) == pytest.approx(test.gear.tip_diameter / 2, abs=0.01)


def test_files_are_read_back(hauler, hauler_files):
    names = [check.name for check in gw.check_files(hauler_files, hauler)]
    for piece in ("sector", "plate", "lever"):
        assert f"pieces as designed, break-test-{piece}.dxf" in names
