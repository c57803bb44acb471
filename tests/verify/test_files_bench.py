"""A pair straight from the bench, or one gear of it, to a folder that is read back at once."""

import pytest

import gearwork as gw

CUT = gw.CutPair(
    gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2)), gw.Bit(3.0)
)
SHEET = gw.plywood("birch", 12)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pair")
    found = gw.write_files(
        CUT, folder, sheet=SHEET, bores=(12.0, 12.0), torque=0.5, speed=150.0, title="Seed drill"
    )
    assert found.ok
    return folder


def test_it_is_the_pair_of_the_bench_that_was_written(folder):
    again = gw.load_design(folder / "design.toml")
    assert again.cut_pairs == (CUT,)
    assert again.title == "Seed drill"
    told = {c.name: c.value for c in gw.check_pair(CUT, SHEET, torque=0.5, speed=150.0)}
    found = {c.name: c.value for c in again.reports[0]}  # whether it goes on the sheet as well
    assert {name: found[name] for name in told} == pytest.approx(told)


def test_it_is_written_again_where_nothing_was_changed(folder):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    gw.write_files(gw.load_design(folder / "design.toml"), folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("side", ["pinion", "wheel"])
def test_one_gear_alone_is_turned_against_its_mate_as_designed(side, tmp_path):
    found = gw.write_part(CUT, side, tmp_path, sheet=SHEET, bore=20.0)
    assert found.ok
    parts = {path.name for path in tmp_path.glob("*.dxf") if "test" not in path.name}
    assert parts == {f"{side}-1.dxf", "sheet-1.dxf"}
    assert "transmission error" in [check.judged for check in found]
    again = gw.check_files(tmp_path)
    assert str(again) == str(found)


def test_a_pair_that_binds_is_written_and_told(tmp_path):
    """No thinning: no play at all, and shafts that come nearer jam it."""
    tight = gw.CutPair(gw.GearPair(gw.Gear(5, 20), gw.Gear(5, 38)), gw.Bit(3.0))
    gw.write_files(tight, tmp_path, sheet=SHEET, bores=(12.0, 12.0))
    assert "do not cut yet" in (tmp_path / "job-sheet.txt").read_text("utf-8").replace("\n", " ")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"sheet": SHEET}, "bores are (): two in mm are needed"),
        ({"bores": (12.0, 12.0)}, "write_files needs a sheet or stack, not None"),
        ({"sheet": SHEET, "bores": 12.0}, "bores are 12.0: two in mm are needed"),
        ({"sheet": SHEET, "bores": (12.0, -1.0)}, "bores is -1 mm: it must be above 0 mm"),
        ({"sheet": SHEET, "bores": (12.0, 12.0), "torque": 1.0}, "torque is given without a speed"),
        ({"sheet": SHEET, "bores": (12.0, 12.0), "title": ""}, "title is ''"),
        ({"sheet": SHEET, "bores": (12.0, 58.0), "version": "R9"}, "DXF version is 'R9'"),
    ],
)
def test_what_cannot_be_written_leaves_nothing_behind(given, said, tmp_path):
    with pytest.raises(gw.GearworkError) as error:
        gw.write_files(CUT, tmp_path / "new", **given)
    assert said in str(error.value)
    assert "[stage" not in str(error.value)
    assert not (tmp_path / "new").exists()


def test_what_is_no_pair_is_refused(washer, tmp_path):
    with pytest.raises(gw.GearworkError, match="write_files needs a design or a CutPair"):
        gw.write_files(CUT.pair, tmp_path)
    with pytest.raises(gw.GearworkError, match="a design has its own"):
        gw.write_files(washer, tmp_path, sheet=SHEET)
    with pytest.raises(gw.GearworkError, match="side is 'both'"):
        gw.write_part(CUT, "both", tmp_path, sheet=SHEET, bore=12.0)
