"""A drawing holds the lines of its DXF file, whatever order rounding would put them in."""

from gearwork.geometry.outline import Outline
from gearwork.output.marking import CutLines, Marks
from gearwork.output.svg import cut_svg
from gearwork.verify.read_svg import svg_check


def drawn(tmp_path, *centres):
    path = tmp_path / "holes.svg"
    path.write_text(cut_svg(CutLines("holes", holes(*centres), Marks())))
    return path


def holes(*centres):
    return [("holes", Outline.circle(28.0, centre)) for centre in centres]


def test_seats_above_each_other_are_told_apart_where_their_x_rounds_otherwise(tmp_path):
    """A drawing keeps three decimals: 171.505 is 171.50 or 171.51 by the last bit."""
    centres = (171.504999, 300.0), (171.505001, 200.0), (171.504999, 100.0)
    assert svg_check(drawn(tmp_path, *centres), holes(*centres)).ok
    assert svg_check(drawn(tmp_path, *centres[::-1]), holes(*centres)).ok
    moved = (171.504999, 300.0), (171.505001, 200.01), (171.504999, 100.0)
    assert not svg_check(drawn(tmp_path, *moved), holes(*centres)).ok
    twice = (171.504999, 300.0), (171.504999, 300.0), (171.504999, 100.0)
    assert not svg_check(drawn(tmp_path, *twice), holes(*centres)).ok
