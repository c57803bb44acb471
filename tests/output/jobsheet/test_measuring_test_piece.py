"""The test piece of a design: written with the rest, measured, and the next files corrected."""

import html
import math
import re
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from examples import example
from papers import job_sheet

import gearwork as gw
from gearwork import Readings
from gearwork.errors import GearworkError
from gearwork.machine.evaluation import evaluate_test_piece, result_of
from gearwork.output.jobsheet.papers import job_sheet_html, job_sheet_text
from gearwork.output.write import file_names
from gearwork.spec.spec import example_text, parse_brief
from gearwork.verify.read_dxf import read_outlines

SAMPLE = Path(__file__).parents[3] / "output"
"""What the example writes, as test_output.py makes sure."""

CUTS = 3.235
"""What the bit of 3.175 mm really cuts in the simulated workshop, mm."""


@cache
def solved(more="", *, bit="diameter = 3.175"):
    if not more and bit in example_text():
        return example()
    text = example_text().replace("diameter = 3.175", bit)
    return gw.solve(parse_brief(f"{text}\n{more}", "hauler.toml"))


def readings(test_piece, bit=CUTS, yielding=0.0):
    """A [test_piece] as measured after a cut with this bit, to a hundredth of a millimetre."""
    offset = (test_piece.programmed_diameter - bit) / 2 + yielding
    sizes = test_piece.sizes(bit, offset, offset)
    lines = [f"{name} = {[round(size.size, 2)] * 3}" for name, size in sizes.items()]
    return "\n".join(["[test_piece]", *lines])


@pytest.fixture(scope="module")
def test_piece():
    return solved().test_piece


def test_it_is_written_beside_the_rest(test_piece):
    for part, name in zip(test_piece.parts, ("pinion", "wheel"), strict=True):
        found = read_outlines(SAMPLE / f"test-piece-{name}.dxf")
        (outer,), openings = found["outer-edge"], found["inner-edge"]
        assert outer.area == pytest.approx(part.outer.area, rel=1e-8)
        areas = sorted(cut.outline.area for cut in part.cuts)
        assert sorted(one.area for one in openings) == pytest.approx(areas, rel=1e-8)
        assert (SAMPLE / f"test-piece-{name}.svg").exists()


def test_it_has_the_finest_teeth_and_a_hole_like_the_seats(test_piece):
    design = solved()
    assert test_piece.pair == design.stages[0].pair
    seat = design.brief.shafts.bearing.outer_diameter + design.brief.frame.fit
    assert test_piece.hole_diameter == seat


def test_it_tries_the_bore_of_the_gears_beside_a_bearing_seat(test_piece):
    # M12: 11.966 mm at most (ISO 965-2) and 0.1 to go on by hand; 12.21 mm is 0.07 too much a side
    assert test_piece.bore_diameter == 12.07
    assert [round(c.outline.area, 1) for c in test_piece.wheel.part.cuts] == [
        pytest.approx(math.pi * d**2 / 4, rel=2e-3) for d in (test_piece.hole_diameter, 12.07)
    ]
    (low, high) = (cut.outline.bounds for cut in test_piece.wheel.part.cuts)
    assert high[1] - low[3] == pytest.approx(6.0)
    found = evaluate_test_piece(test_piece, Readings(bore=[12.21]))
    assert found.inside.value == pytest.approx(-0.07)
    alone = replace(test_piece, bore_diameter=None)
    with pytest.raises(GearworkError, match="bore has readings, and this test piece has none"):
        evaluate_test_piece(alone, Readings(bore=[12.21]))


def test_the_job_sheet_tells_how_to_measure_and_what_to_write(test_piece):
    page = html.unescape(job_sheet(solved()))
    for name, how in test_piece.instructions.items():
        assert name in page
        assert how in page
    entry = re.search(r"<pre>(.*?)</pre>", page, re.S)[1]
    given = tomllib.loads(entry)["test_piece"]
    assert given["programmed_diameter"] == 3.175
    assert set(test_piece.instructions) < set(given)
    # With readings in place of the empty lists it can stand in the design file as it is.
    filled = entry.replace("slot = []", "slot = [3.26, 3.25]", 1)
    assert result_of(solved(filled)).bit_diameter is not None


@pytest.mark.slow
def test_what_was_measured_stands_in_its_blank():
    """Sheet, rod and shanks by their keys in other tables; nothing where nothing was measured."""
    table = "\n[test_piece]\nslot = [3.26, 3.25]\npinion_pin = 36.5\npinion_pin_diameter = 10.43\n"
    text = example_text().replace(
        "thickness = 12.0", "thickness = 12.0\nmeasured_thickness = 11.93", 1
    )
    text = text.replace('thread = "M12"', 'thread = "M12"\nmeasured_diameter = 11.87')
    page = job_sheet_html(gw.solve(parse_brief(text + table, "test")))
    shown = re.findall(r'<span class="blank">([\d.]+)</span>', page)
    assert shown == ["3.26", "3.25", "36.50", "10.43", "11.93", "11.87"]
    assert re.findall(r'<span class="blank">([\d.]+)</span>', job_sheet(solved())) == []


def test_a_measured_cut_corrects_the_next_files(test_piece):
    first = solved(readings(test_piece))
    result = result_of(first)
    assert abs(result.bit_diameter.value - CUTS) < result.bit_diameter.half_width
    said = " ".join(job_sheet_text(first).split())
    assert f"under [bit]: {result.design_entry}" in said
    again = solved(readings(test_piece), bit=f"diameter = 3.175\n{result.design_entry}")
    assert again.brief.bit.cut_diameter == pytest.approx(CUTS, abs=0.01)
    assert "The design file has it already." in job_sheet_text(again)
    # The same readings still mean the cut they were taken from, made for a bit of 3.175 mm.
    assert result_of(again).tell_outside.value == pytest.approx(CUTS, abs=0.01)
    assert not result_of(again).unexplained.differs
    # The new path is made for what the bit cuts: nothing is left to correct.
    recut = again.test_piece
    measured = readings(recut) + f"\nprogrammed_diameter = {recut.programmed_diameter}"
    checked = result_of(solved(measured, bit=f"diameter = 3.175\n{result.design_entry}"))
    assert abs(checked.outside.value) < 0.01
    assert not checked.unexplained.differs


def test_what_the_bit_does_not_explain_is_taken_off_the_teeth(test_piece):
    pressed = result_of(solved(readings(test_piece, yielding=0.06)))
    (finding,) = [text for text in pressed.findings if "explains" in text]
    thinner = float(re.search(r"thinning of every stage (\d\.\d+) mm larger", finding)[1])
    # Two flanks, each 0.06 mm out: 2 · 0.06 / cos 20°.
    assert thinner == pytest.approx(0.1277, abs=0.01)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "no reading is given"),
        ("slott = 3.2", "no such key (nearest: slot)"),
        ("slot = 'wide'", "slot is 'wide': a number or a list, each a number, is needed"),
        (
            "slot = 3.2\nprogrammed_diameter = 0",
            "programmed_diameter is 0 mm: it must be at least 0.5 mm",
        ),
    ],
)
def test_mistakes_in_the_table_are_named(table, words):
    with pytest.raises(gw.GearworkError, match=re.escape(words)):
        parse_brief(f"{example_text()}\n[test_piece]\n{table}\n", "hauler.toml")


def test_a_reading_in_inches_stops_the_run(tmp_path):
    with pytest.raises(gw.GearworkError, match=r"\[test_piece\] slot .* was that inches\?"):
        gw.write_files(solved("[test_piece]\nslot = 0.127"), tmp_path / "files")
    assert not (tmp_path / "files").exists()


def test_teeth_that_cannot_be_measured_have_a_slot_instead(monkeypatch):
    def refused(*_):
        raise gw.GearworkError("too little flank")

    monkeypatch.setattr("gearwork.machine.gear_set.make_test_piece", refused)
    design = gw.solve(gw.example_brief("orchard-hauler"))
    assert "Cut a slot in one pass" in job_sheet_html(design)
    assert not [name for name in file_names(design) if "test-piece" in name]
    with pytest.raises(gw.GearworkError, match="no test piece of this design"):
        job_sheet_text(solved("[test_piece]\nslot = 3.2"))
