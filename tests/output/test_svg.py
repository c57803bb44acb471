import math
import re
import shutil
import subprocess
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
from PIL import Image
from sample_parts import PLATE_AREA, SLOT_AREA, part_svg, plate, sheet_svg, slot

from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Part
from gearwork.output.svg import outline_picture, path_data
from gearwork.plot.display import show

SVG = "{http://www.w3.org/2000/svg}"


def size(root):
    return tuple(float(root.get(side).removesuffix("mm")) for side in ("width", "height"))


def area_of(path):
    """Area enclosed by lines and A arcs by the rules of SVG 1.1 F.6, y downwards."""
    steps = re.findall(r"([MLA])([^MLAZ]*)", path)
    numbers = [[float(n) for n in re.findall(r"[-\d.]+", rest)] for _, rest in steps]
    ends = [values[-2:] for values in numbers]
    area = 0.0
    for (kind, _), values, start, end in zip(steps[1:], numbers[1:], ends, ends[1:], strict=False):
        area += (start[0] * end[1] - end[0] * start[1]) / 2
        if kind == "A":
            radius, large, sweep = values[0], values[3], values[4]
            turn = 2 * math.asin(min(math.dist(start, end) / 2 / radius, 1.0))
            turn = 2 * math.pi - turn if large else turn
            area += (1 if sweep else -1) * radius**2 / 2 * (turn - math.sin(turn))
    return area


@pytest.fixture(scope="module")
def root():
    return ElementTree.fromstring(part_svg(plate()))


def test_a_unit_is_a_millimetre(root):
    _, _, wide, high = (float(number) for number in root.get("viewBox").split())
    assert size(root) == (wide, high)


@pytest.mark.parametrize(("layer", "area"), [("outer-edge", PLATE_AREA), ("inner-edge", SLOT_AREA)])
def test_arcs_enclose_the_exact_area_and_turn_the_right_way(root, layer, area):
    """Counter-clockwise with y upwards is clockwise in SVG's sign, hence the minus."""
    (path,) = root.findall(f"{SVG}g[@id='{layer}']/{SVG}path")
    assert area_of(path.get("d")) == pytest.approx(-area, abs=0.01)


def test_a_radius_between_two_last_figures_is_the_same_on_every_processor():
    """Of 3.4925 mm in diameter: half of it is written 1.7463 or 1.7462 by its last bit."""
    half = 1.74625
    near = [Outline([(-r, 0), (r, 0)], [1.0, 1.0]) for r in np.nextafter(half, [0.0, half, 2.0])]
    assert len({outline.radii[0] for outline in near}) > 1
    assert len({path_data(outline) for outline in near}) == 1


def test_an_arc_of_more_than_half_a_turn():
    keyhole = Outline([(0, 0), (4, 0)], [0, 2.0])
    turn = 4 * math.atan(2.0)
    radius = 4 * (1 + 4) / 8
    exact = radius**2 / 2 * (turn - math.sin(turn))
    assert area_of(path_data(keyhole)) == pytest.approx(-exact, abs=1e-3)


def test_holes_are_circles_with_y_downwards(root):
    (hole,) = root.findall(f"{SVG}g[@id='holes']/{SVG}circle")
    assert (hole.get("cx"), hole.get("cy"), hole.get("r")) == ("60", "-45", "2.5")


def test_text_is_in_the_group_that_is_not_cut(root):
    texts = [text.text for text in root.findall(f"{SVG}g[@id='not-cut']/{SVG}text")]
    assert len(texts) == len(list(root.iter(f"{SVG}text")))
    assert {"side plate α", "all lengths in mm", "20°"} <= set(texts)


def test_everything_lies_inside_the_page(root):
    left, top, wide, high = (float(number) for number in root.get("viewBox").split())
    for text in root.iter(f"{SVG}text"):
        assert left < float(text.get("x")) < left + wide
        assert top < float(text.get("y")) < top + high
    assert left <= -4
    assert top <= -64


def test_numbers_are_short_and_never_minus_zero():
    path = path_data(Outline([(-1e-9, 0), (1 / 3, 0), (1, 1e-9)], [0, 0, 0]))
    assert path == "M0 0L0.3333 0L1 0L0 0Z"


def test_same_part_same_text():
    assert part_svg(plate()) == part_svg(plate())


def test_names_cannot_break_the_file():
    name = '<b>&\x00\x0b\ud800 "quoted"'
    root = ElementTree.fromstring(part_svg(Part(name, slot(), 6.0, notes=("]]>",))))
    assert root.find(f"{SVG}title").text.startswith("<b>&")


def test_sheet_has_its_own_size_and_every_part():
    parts = [plate().moved(10, 10), plate().moved(150, 10)]
    root = ElementTree.fromstring(sheet_svg(parts, 400, 200))
    assert len(root.findall(f"{SVG}g[@id='outer-edge']/{SVG}path")) == 2
    wide, high = size(root)
    assert wide > 400 + 10
    assert 210 <= high < 213


def test_picture_of_an_outline_has_its_true_size():
    root = ElementTree.fromstring(outline_picture(slot()))
    wide, high = size(root)
    assert wide == pytest.approx(26 * 1.04, abs=0.01)
    assert high == pytest.approx(6 + 26 * 0.04, abs=0.01)
    assert "max-width:100%" in root.get("style")
    assert show(slot()) == outline_picture(slot())


RENDERERS = ("chromium", "pdftoppm")


@pytest.mark.slow
@pytest.mark.skipif(not all(map(shutil.which, RENDERERS)), reason=f"needs {RENDERERS}")
def test_printed_page_is_to_scale(tmp_path):
    """Printed by a browser, rendered by poppler: at 508 dpi a pixel is 0.05 mm."""
    page = "<style>@page{size:400mm 200mm;margin:0}body{margin:0}</style>" + part_svg(plate())
    (tmp_path / "plate.html").write_text(page, "utf-8")
    browser = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    commands = (
        [*browser, "--print-to-pdf=plate.pdf", "plate.html"],
        ["pdftoppm", "-r", "508", "-gray", "-singlefile", "plate.pdf", "page"],
    )
    for command in commands:
        subprocess.run(command, check=True, cwd=tmp_path, capture_output=True, timeout=120)
    with Image.open(tmp_path / "page.pgm") as image:
        dark = np.asarray(image) < 230
    # The plate is 100 x 60 mm, its lower left corner 5 mm from the page's left; text right of it.
    plate_alone = dark[:, : ((5 + 100 + 4) * 20)]
    across, down = (np.flatnonzero(plate_alone.any(axis=axis)) / 20 for axis in (0, 1))
    assert np.ptp(across) == pytest.approx(100.0, abs=0.2)
    assert np.ptp(down) == pytest.approx(60.0, abs=0.2)
    assert across[0] == pytest.approx(5.0, abs=0.1)


def test_cut_lines_are_hairlines_for_the_machine_and_seen_on_a_screen():
    """Laser shops take lines up to about 0.1 mm as cuts (common practice)."""
    circle = Part("disc", Outline.circle(40.0), 9.0)
    text = part_svg(circle)
    assert 'class="cut" fill="none" stroke="black" stroke-width="0.1"' in text
    assert "@media screen { .cut * { stroke-width: 1px; vector-effect: non-scaling-stroke;" in text
