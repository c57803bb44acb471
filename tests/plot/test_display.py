"""What notebooks show of our objects, and that IPython is told of all of them."""

import subprocess
import sys

import pytest
import shapely
from drawn import areas

import gearwork as gw
from gearwork.geometry.part import Part
from gearwork.machine.layout import Stock, lay_out
from gearwork.plot.display import SHOWN, show


def test_ipython_is_told_of_every_type_shown():
    told = {f"gearwork.{place}" for place in gw._SHOWN}
    assert told == {f"{kind.__module__}.{kind.__qualname__}" for kind in SHOWN}


def test_a_running_ipython_shows_our_objects_and_loads_nothing_before():
    pytest.importorskip("IPython")
    code = (
        "import sys; from IPython.core.interactiveshell import InteractiveShell as S;"
        "shell = S.instance(); import gearwork as gw;"
        "print([m for m in ('numpy', 'matplotlib', 'ezdxf') if m in sys.modules]);"
        "print(shell.display_formatter.format(gw.Gear(5, 20))[0]['text/html'][:7])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-2:] == ["[]", "<table>"]


def test_a_sheet_shows_every_piece_and_cut_where_it_lies(hauler):
    """Pockets before what is cut into their bottoms, to the digits that are drawn."""
    for sheet in hauler.sheets:
        drawn = areas(show(sheet))
        cuts = [cut.outline for part in sheet.parts for cut in part.cuts]
        assert len(drawn) == 1 + len(sheet.parts) + len(cuts)  # first the sheet itself
        for outline in (*(part.outer for part in sheet.parts), *cuts):
            wanted = shapely.Polygon(outline.points(0.005))
            assert any(
                shape.centroid.distance(wanted.centroid) < 0.02
                and shape.area == pytest.approx(wanted.area, rel=0.01)
                for shape in drawn
            )


def test_a_rod_shows_itself_cut_lengthwise_with_what_to_buy(hauler):
    shown = show(hauler.shaft_layouts[1])
    assert shown.count("<svg") == 1
    assert all(gear in shown for gear in ("wheel 1", "pinion 2"))
    assert "ball bearing" in shown or "bearing" in shown
    assert "2</td>" in shown  # bearings


def test_a_sheet_shows_its_pieces_by_number():
    parts = [Part("disc & ring", gw.Outline.circle(80), 12, count=2)]
    (sheet,) = lay_out(parts, [Stock(300, 200, 12)], gw.Bit(3.0))
    page = show(sheet)
    assert page.count("<text") == 3  # two pieces, and below them which way the face grain lies
    assert "face grain along x (300 mm)" in page
    assert ">disc &amp; ring</td>" in page


def test_break_test_shows_its_pictures_and_what_to_expect():
    cut = gw.CutPair(gw.GearPair(gw.Gear(5, 16), gw.Gear(5, 44)), gw.Bit(3.0))
    test = gw.machine.make_break_test(cut, gw.plywood("birch", 9))
    shown = show(test)
    assert shown.count("<svg") == 2
    assert all(f"{test.shown(r.torque):.1f} kg" in shown for r in test.readings)


def test_a_rack_shows_lengths_and_no_circles():
    pair = gw.GearPair(gw.Gear(5, 14, 0.3), gw.Rack(5, 12))
    pages = show(pair), show(pair.wheel)
    assert "219.911</td>" in pages[0]  # π 5 14
    assert "188.496</td>" in pages[1]  # π 5 12
    assert not any("diameter" in page.replace("pitch diameter of the pinion", "") for page in pages)
