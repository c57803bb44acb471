"""Ways to spoil a drawing in SVG, each told; and what rounding does to it, which is harmless.

A drawing holds the lines of its DXF file, whatever order rounding would put them in, and beside
them what is written there.
"""

import re

import pytest
import spoiling as s
from volume import every

from gearwork.geometry.outline import Outline
from gearwork.output.marking import CutLines, Marks
from gearwork.output.svg import cut_svg
from gearwork.output.toolpath_files import beside_way
from gearwork.verify.read_svg import svg_check

PART, SHEET, WAY = "pinion-1-grain-45", "sheet-1", "sheet-1-bit-path"
BORE = '<circle cx="0" cy="0" r="6"/>'
HOLDS = "could move or hide a line"


def other(old, new, count=1):
    def spoil(text):
        assert old in text
        return text.replace(old, new, count)

    return spoil


def sub(pattern, new):
    def spoil(text):
        spoiled = re.sub(pattern, new, text)
        assert spoiled != text
        return spoiled

    return spoil


def exchanged(one, two):
    return lambda text: text.replace(one, "~").replace(two, one).replace("~", two)


def in_a_circle(child):
    return other(BORE, BORE.replace("/>", f">{child}</circle>"))


def among_the_marks(element):
    return sub('(<g id="not-cut"[^>]*>)', rf"\1{element}")


def arcs(radius, by):
    """Arcs of a radius, a pattern, as those of another: the ends of each stay."""
    return sub(rf"A({radius}) \1 ", f"A{by} {by} ")


SPOILED = {
    (PART, "a sheet of another thickness"): (other("sheet 12 mm", "sheet 15 mm"), "sheet 15 mm"),
    (PART, "the bit on the other side"): (other("bit outside", "bit inside"), "bit outside"),
    (PART, "another span"): (other("28.621", "28.821"), "28.821"),
    (PART, "more pieces"): (other("1 x,", "3 x,"), '"3 x, sheet 12 mm" where "1 x, sheet'),
    (PART, "a text gone"): (sub("<text[^>]*>1 x, .*\n", ""), "1 x, sheet 12 mm"),
    (PART, "a text more"): (other("</g>\n</svg>", "<text>2 x</text></g></svg>"), '"2 x"'),
    (PART, "words added to a text"): (
        other("12 mm<", "12 mm<tspan> plus 6</tspan><"), "<tspan>"),
    (PART, "a number split"): (other("sheet 12 mm", "sheet 1<tspan>8</tspan> mm"), "sheet 1"),
    (PART, "a text of no size"): (
        other('font-size="4.8611">1 x', 'font-size="0">1 x'), "font-size"),
    (PART, "a text hidden"): (other("<text x", '<text display="none" x'), "display"),
    (PART, "a text turned over"): (other("<text x", '<text transform="scale(-1)" x'), "transform"),
    (PART, "another title"): (other("<title>pinion 1", "<title>wheel 1"), "wheel 1"),
    (PART, "the arrow along the other way"): (
        other("-16.1902,-9.3061 -2.0215,-23.4749", "-16.1902,-23.4749 -2.0215,-9.3061"), "points"),
    (PART, "the arrow turned by a transform"): (
        other("<polyline", '<polyline transform="rotate(-45)"'), "transform"),
    (PART, "the arrow gone"): (sub('<polyline points="-16.*\n', ""), "points"),
    (PART, "the witness mark elsewhere"): (other("25.3,1 27.3,-1", "15.3,1 17.3,-1"), "points"),
    (PART, "a line among the marks"): (among_the_marks('<path d="M0 0L50 0"/>'), "<path>"),
    (PART, "a circle among the marks"): (
        among_the_marks('<circle cx="50" cy="0" r="8" stroke="black" stroke-width="0.1"/>'),
        "<circle>"),
    (PART, "a layer among the marks"): (
        among_the_marks('<g stroke="black"><path d="M0 0L50 0Z"/></g>'), "<g>"),
    (PART, "marks that look like cuts"): (
        other('stroke="gray"', 'stroke="black"'), "stroke"),
    (PART, "a bore that is set wider"): (
        in_a_circle('<set attributeName="r" to="7"/>'), f"<set>, which {HOLDS}"),
    (PART, "a bore that moves"): (in_a_circle('<animateTransform to="3"/>'), HOLDS),
    (PART, "an edge that is set"): (
        sub("(<path [^>]*)/>", r'\1><set attributeName="d" to="M0 0L9 0L9 9Z"/></path>'), HOLDS),
    (PART, "a bore moved"): (other("<circle", '<circle transform="translate(1)"'), HOLDS),
    (PART, "a layer hidden"): (other("<g id", '<g display="none" id'), HOLDS),
    (PART, "a layer in white"): (other('stroke="black"', 'stroke="white"'), "does not look as"),
    (PART, "a layer without a name"): (other('id="holes" ', ""), 'layer ""'),
    (PART, "a style from elsewhere"): (
        other("<svg ", '<?xml-stylesheet href="x.css"?><svg '), "<?xml-stylesheet?>"),
    (PART, "another style"): (other("1px", "9px"), "9px"),
    (PART, "a style that is added"): (other("</svg>", "<style>*{d:none}</style></svg>"), "<style>"),
    (PART, "a script"): (other("</svg>", "<script>1</script></svg>"), "<script>"),
    (PART, "a copy"): (other("</svg>", '<use href="#holes" x="9"/></svg>'), "<use>"),
    (PART, "a part of it alone"): (
        sub('width="2.*"', 'width="100mm" height="50mm" viewBox="-48.7081 -49.7581 100 50"'),
        'height of <svg> is "50mm": it must be "98.4662mm"'),
    (PART, "a view moved"): (other('"-48.7081 ', '"11.2919 '), "viewBox"),
    (PART, "a larger view"): (other("297.5662 98.4662", "300.5662 99.4662"), "viewBox"),
    (PART, "in pixels"): (sub(r"(\d)mm\"", r'\1px"'), '98.4662px": it must be "98.4662mm"'),
    (PART, "in centimetres"): (other("297.5662mm", "29.75662cm"), "width of <svg>"),
    (PART, "of no unit"): (sub(r"(\d)mm\"", r'\1"'), "height of <svg>"),
    (PART, "a bore wider"): (other('r="6"', 'r="6.006"'), "inner-edge near (0.0, 0.0)"),
    (PART, "a bore in inches"): (other('r="6"', 'r="6in"'), "0, 0, 6in for numbers"),
    (PART, "a bore of no size"): (other('r="6"', 'r="nan"'), "nan for numbers"),
    (PART, "a bore some programs cannot read"): (other('r="6"', 'r="0_6"'), "0_6 for numbers"),
    (PART, "an edge that goes on from where it is"): (other('d="M', 'd="m'), "a path with m"),
    (PART, "an edge of more corners"): (other("5.1706L", "5.1706L0 0 "), "a path with L0 0 33"),
    (PART, "an edge and another in one"): (other('Z"', 'ZM0 0L9 0L9 9Z"'), "a path with ZM"),
    (PART, "cut short"): (lambda text: text[: len(text) // 2], "read no more"),
    (PART, "an edge moved by 0.006 mm"): (other("M29.5542", "M29.5602"), "outer-edge near"),
    (PART, "an arc hollow"): (sub(r"(A19\.\d+ 19\.\d+ 0 0) 0", r"\1 1"), "outer-edge near"),
    (PART, "flanks more bent"): (arcs(r"19\.\d+", 15), "outer-edge near"),
    (PART, "flanks straighter"): (arcs(r"16\.\d+", 40), "outer-edge near"),
    (PART, "the edge before the bore"): (
        exchanged('id="inner-edge"', 'id="outer-edge"'), "is cut before"),
    (PART, "a hole twice"): (sub("(<circle.*\n)", r"\1\1"), "lines are 2"),
    (SHEET, "names exchanged"): (
        exchanged(">wheel 1 grain 0<", ">wheel 1 grain 45<"), '"wheel 1 grain 45" where'),
    (SHEET, "the sheet's edge elsewhere"): (
        other("0,0 1200,0 1200,-600 0,-600 0,0", "9,0 1209,0 1209,-600 9,-600 9,0"), "points"),
    (SHEET, "a narrower sheet"): (other("1200,0 1200,-600", "1000,0 1000,-600"), "points"),
    (SHEET, "a sheet more"): (other("sheet 1 of 1", "sheet 1 of 2"), "sheet 1 of 2"),
    (WAY, "another bit"): (other("cuts 3 mm", "cuts 6 mm"), "cuts 6 mm"),
    (WAY, "the wood on the other side"): (other("to the right", "to the left"), "to the left"),
    (WAY, "tabs cut through"): (other("lift the bit to 3", "lift the bit to 0.3"), "0.3"),
    (WAY, "another edge of the sheet"): (other("1200,0", "1190,0"), "points"),
    (WAY, "arcs of the way"): (arcs(r"21\.\d+", 10), "bit-outer-edge near"),
}  # fmt: skip

HARMLESS = {
    (PART, "the last figures of all numbers"): (
        sub(r"\d+\.\d{4}", lambda figures: f"{float(figures[0]):.3f}"),
        "they are rounded"),
    (PART, "ends of lines of another system"): (other("\n", "\r\n", -1), "no figure changes"),
    (PART, "written by two bytes"): (
        lambda text: f'<?xml version="1.0" encoding="utf-16"?>{text}'.encode("utf-16"),
        "it says so itself"),
    (PART, "a remark"): (other("<title>", "<!-- mine --><title>"), "nobody draws it"),
    (WAY, "the last figures of radii"): (
        sub(r"A(\d+\.\d{3})\d \1\d ", r"A\1 \1 "), "no arc moves by what is cut"),
}  # fmt: skip


@pytest.fixture(scope="module")
def wanted(drill, drill_files):
    """What must stand in each drawing: lines as in the DXF files, and marks of the design."""
    files = s.Known(drill_files, None, SHEET)
    drawn = s.drawn(drill)
    by = drill.brief.bit, drill.brief.cutting.bridges
    drawn[WAY] = beside_way(SHEET, drill.sheets[0], files.ways(SHEET), *by)
    return drawn


def told(drill_copy, wanted, stem, way):
    path = drill_copy / f"{stem}.svg"
    text = way(path.read_text())
    with s.spoiled(path, text if isinstance(text, bytes) else text.encode()):
        check = svg_check(path, wanted[stem])
    return "" if check.ok else check.why


def rows(table):
    return [pytest.param(stem, *row, id=f"{stem}: {name}") for (stem, name), row in table.items()]


@pytest.mark.parametrize(("stem", "way", "said"), every(4, rows(SPOILED)))
def test_a_spoiled_drawing_is_told(drill_copy, wanted, stem, way, said):
    assert said in told(drill_copy, wanted, stem, way)


@pytest.mark.parametrize(("stem", "way", "why"), rows(HARMLESS))
def test_what_harms_nobody_passes(drill_copy, wanted, stem, way, why):
    assert not told(drill_copy, wanted, stem, way), why


def drawn(tmp_path, *centres):
    path = tmp_path / "holes.svg"
    path.write_text(cut_svg(holes(*centres)))
    return path


def holes(*centres):
    lines = [("holes", Outline.circle(28.0, centre)) for centre in centres]
    return CutLines("holes", lines, Marks())


def test_seats_above_each_other_are_told_apart_where_their_x_rounds_otherwise(tmp_path):
    """A drawing keeps three decimals: 171.505 is 171.50 or 171.51 by the last bit."""
    centres = (171.504999, 300.0), (171.505001, 200.0), (171.504999, 100.0)
    assert svg_check(drawn(tmp_path, *centres), holes(*centres)).ok
    assert svg_check(drawn(tmp_path, *centres[::-1]), holes(*centres)).ok
    moved = (171.504999, 300.0), (171.505001, 200.01), (171.504999, 100.0)
    assert not svg_check(drawn(tmp_path, *moved), holes(*centres)).ok
    twice = (171.504999, 300.0), (171.504999, 300.0), (171.504999, 100.0)
    assert not svg_check(drawn(tmp_path, *twice), holes(*centres)).ok
