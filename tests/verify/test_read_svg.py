"""Ways to spoil the drawing of a part, a sheet and a path; each told, or harmless for a reason."""

import re

import pytest
import spoiling as s

from gearwork.verify.read_dxf import CutFiles
from gearwork.verify.read_svg import svg_check

PART, SHEET, PATH = "wheel-1-grain-45", "sheet-1", "sheet-1-bit-path"
NUMBER = r"-?[\d.]+"


@pytest.fixture(scope="module")
def lines(drill_files):
    """Of the DXF files beside."""
    files = CutFiles(drill_files)
    return {PART: files.lines(PART), SHEET: files.lines(SHEET), PATH: files.ways(SHEET)}


def sub(pattern, new, count=1):
    def spoil(text):
        found, times = re.subn(pattern, new, text, count=count)
        assert times, pattern
        return found

    return spoil


def by(factor):
    """All figures of lines times a factor, the page as it was."""

    def grown(found):
        return re.sub(NUMBER, lambda n: f"{factor * float(n[0]):.4f}", found[0])

    return sub(r' (d|cx|cy|r)="[^"]*"', grown, 0)


def figure(pattern, change):
    """The number after a pattern changed by so much."""
    return sub(rf"({pattern})({NUMBER})", lambda m: f"{m[1]}{float(m[2]) + change:.4f}")


def shape_gone(layer):
    return sub(rf'(<g id="{layer}"[^>]*>\n)<.*/>\n', r"\1")


def shape_twice(layer):
    return sub(rf'(<g id="{layer}"[^>]*>\n)(<.*/>\n)', r"\1\2\2")


EDGE = r'<g id="[a-z-]*outer-edge"[^>]*>\n<path d="M'
OF_ALL = {
    "larger by a thousandth": by(1.001),
    "in inches": by(1 / 25.4),
    "mirrored": sub(r'(d|cx)="M?', lambda m: m[0] + "-"),
    "a page scaled": sub(r' width="[\d.]+mm"', ' width="210mm"'),
    "a page in inches": sub(r"mm\" height", 'in" height'),
    "a page without a size": sub(r' width="[^"]*" height="[^"]*"', ""),
    "a page in pixels": sub(r'width="([\d.]+)mm" height="([\d.]+)mm"', r'width="\1" height="\2"'),
    "another view": sub(r'viewBox="(\S+) (\S+) (\S+) ', r'viewBox="\1 \2 99 '),
    "a view stretched": sub(r"viewBox=", 'preserveAspectRatio="none" viewBox='),
    "all turned": sub(r"viewBox=", 'transform="rotate(30)" viewBox='),
    "a layer moved": sub(r'(<g id="[a-z-]*outer-edge")', r'\1 transform="translate(3 0)"'),
    "a layer hidden": sub(r'(<g id="[a-z-]*outer-edge")', r'\1 display="none"'),
    "a layer hidden by its class": sub(r'(outer-edge" class=")cut', r"\1gone"),
    "a layer without ink": sub(r'(outer-edge" class="cut" fill="none" stroke=")black', r"\1none"),
    "a layer in another colour": sub(
        r'(outer-edge" class="cut" fill="none" stroke=")black', r"\1red"),
    "a layer filled": sub(r'(outer-edge" class="cut" fill=")none', r"\1black"),
    "a style that hides": sub(r"<style>", "<style>.cut { display: none } "),
    "a style that scales": sub(r"<style>", "<style>svg { zoom: 0.5 } "),
    "a layer of another name": sub(r'id="([a-z-]*)outer-edge"', r'id="\1engrave"'),
    "outer edges not cut": sub(r'id="[a-z-]*outer-edge"', 'id="not-cut-2"'),
    "a line gone": shape_gone("[a-z-]*outer-edge"),
    "a hole gone": shape_gone("holes"),
    "a line twice": shape_twice("[a-z-]*outer-edge"),
    "a hole moved by 0.02 mm": figure('<circle cx="', 0.02),
    "a hole moved by 5 mm": figure('<circle cx="[^"]*" cy="', 5.0),
    "a hole wider": figure('<circle cx="[^"]*" cy="[^"]*" r="', 0.05),
    "a hole as an ellipse": sub(r'<circle (cx="[^"]*" cy="[^"]*") r="(\S+)"',
                                r'<ellipse \1 rx="\2" ry="9"'),
    "a corner moved by 0.02 mm": figure(EDGE, 0.02),
    "a corner moved by 5 mm": figure(rf"{EDGE}{NUMBER} ", 5.0),
    "an arc the other way round": sub(r" 0 0 1 ", " 0 0 0 "),
    "an arc the long way round": sub(r" 0 0 1 ", " 0 1 1 "),
    "an arc of another radius": figure(rf"{EDGE}[^A]*A", 9.0),
    "an arc of two radii": sub(rf"({EDGE}[^A]*A{NUMBER} ){NUMBER}", r"\g<1>1"),
    "an arc as a line": sub(rf"A{NUMBER} {NUMBER} 0 0 1 ", "L"),
    "steps from the place before": sub(r"L", "l"),
    "a curve": sub(rf"A{NUMBER} {NUMBER} 0 0 1 ({NUMBER} {NUMBER})", r"C1 1 1 1 \1"),
    "a shape that stands elsewhere": sub(r"</svg>", '<use href="#outer-edge" x="9"/></svg>'),
    "a picture": sub(r"</svg>", '<image href="x.png" width="9" height="9"/></svg>'),
    "a script": sub(r"</svg>", "<script>0</script></svg>"),
    "a line of its own": sub(r"</svg>", '<path d="M0 0L9 9"/></svg>'),
    "a group within a group": sub(r'(outer-edge"[^>]*>)', r"\1<g><circle r='3'/></g>"),
    "no number": sub(rf"({EDGE}){NUMBER}", r"\g<1>wide"),
    "no shape": sub(rf'{EDGE}[^"]*"', '<g id="outer-edge"><path d=""'),
    "cut short": lambda text: text[: len(text) // 2],
    "empty": lambda text: "",
    "another file": lambda text: "<html><body>wheel</body></html>",
}  # fmt: skip
OF_CUT_LINES = {
    "an edge open": sub(rf"({EDGE}[^Z]*)Z", r"\1"),
    "inner and outer edges exchanged": sub(
        "inner-edge|outer-edge", lambda m: {"i": "outer", "o": "inner"}[m[0][0]] + "-edge", 0),
    "outer edges before the holes": lambda text: sub(
        r'(?s)(<g id="inner-edge".*)(<g id="outer-edge".*?</g>\n)', r"\2\1")(text),
}  # fmt: skip
HARMLESS = {
    "the page's name": (sub(r"<title>.*</title>", "<title>x</title>"), "it is not cut"),
    "a text": (sub(r"</text>", " by me</text>"), "it is not cut"),
    "no style": (sub(r"<style>.*</style>\n", ""), "it is for screens alone"),
    "a remark": (sub(r"</svg>", "<!-- cut on Monday --></svg>"), "nobody draws it"),
    "a page moved": (
        sub(r'viewBox="\S+ \S+', 'viewBox="0 0'), "it is placed on the bench anyhow"),
    "finer figures": (sub(r'r="6"', 'r="6.000"'), "the same size"),
}  # fmt: skip


def table():
    rows = [(PART, *row, "") for row in (OF_ALL | OF_CUT_LINES).items()]
    rows += [(SHEET, *row, "") for row in OF_CUT_LINES.items()]
    rows += [(SHEET, name, OF_ALL[name], "") for name in list(OF_ALL)[::4]]
    paths = [n for n in OF_ALL if not re.search("arc|corner|curve|another view|ellipse", n)]
    rows += [(PATH, name, OF_ALL[name], "") for name in paths[1::4]]
    rows += [(PART, name, way, why) for name, (way, why) in HARMLESS.items()]
    return [pytest.param(*row, id=f"{row[0]}: {row[1]}") for row in rows]


@pytest.mark.parametrize(("stem", "name", "way", "harmless"), table())
def test_a_spoiled_drawing_is_told_or_harmless_for_a_reason(
    drill_copy, lines, stem, name, way, harmless
):
    path = drill_copy / f"{stem}.svg"
    text = path.read_text("utf-8")
    with s.spoiled(path, way(text).encode()):
        check = svg_check(path, lines[stem])
    assert check.ok == bool(harmless), check.why


@pytest.mark.parametrize("stem", [PART, SHEET, PATH])
def test_the_drawing_as_written_is_sound(drill_files, lines, stem):
    assert svg_check(drill_files / f"{stem}.svg", lines[stem]).ok


def test_the_drawing_of_another_layer_is_told_where_it_is_cut_otherwise(drill_files, lines):
    assert not svg_check(drill_files / "pinion-1-grain-0.svg", lines[PART]).ok
