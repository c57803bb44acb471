"""What the pictures of the job sheet show."""

import re
from dataclasses import replace
from itertools import combinations

import pytest
from examples import example
from papers import assembly_steps
from shapely import Point, Polygon

import gearwork as gw
from gearwork.machine.axial import Piece
from gearwork.output.jobsheet.picture import (
    _spread,
    gears_view,
    pinion_and_bar,
    section_view,
    train_view,
    wheels,
)
from gearwork.spec.spec import example_text, parse_brief


def test_the_front_view_of_a_machine_that_ends_in_a_rack_shows_its_bar(gate):
    """In mesh: both teeth are 0.25 mm thinner, and a tooth stands amid its space: 0.25 cos 20°."""
    pinion, bar = (Polygon(one.edge.points(0.01)) for one in pinion_and_bar(gate))
    assert pinion.intersection(bar).area == 0.0
    assert pinion.distance(bar) == pytest.approx(0.235, abs=0.02)  # drawn to half a tenth
    assert bar.centroid.y > pinion.centroid.y
    picture = str(train_view(gate.train, gate.cut_pairs, gate.title, pinion_and_bar(gate)))
    assert ">rack 3<" in picture
    left, top, wide, high = map(float, picture.split('viewBox="')[1].split('"')[0].split())
    low_x, low_y, high_x, high_y = bar.bounds
    assert left < low_x
    assert high_x < left + wide
    assert top < -high_y
    assert -low_y < top + high


def test_a_plate_alone_on_a_rod_is_cut_off_beyond_its_hole(mill):
    """By 5 mm: beyond the rod alone it would be drawn inside out, or of no height."""
    layout = mill.layouts[0]
    plates = tuple(piece for piece in layout.pieces if piece.kind == "plate")
    seat = max(piece.inner for piece in plates) / 2
    assert seat > layout.rod.outer / 2 + 5.0
    picture = str(section_view(replace(layout, pieces=plates), {}))
    first = re.search(r'<path d="M([^"]+)Z"', picture).group(1)
    heights = {abs(float(corner.split()[1])) for corner in first.split("L")}
    assert sorted(heights) == pytest.approx([seat, seat + 5.0])


def test_gears_without_a_machine_are_shown_in_mesh_with_their_distance(washer):
    """In letters as high as those of a train."""
    picture = str(gears_view(washer))
    distance = f">{washer.stages[0].axes_apart:.2f}<"
    assert {">pinion 1<", ">wheel 1<", distance} <= set(re.findall(r">[^<>]+<", picture))
    wide, high, shown = (
        float(re.search(wanted, picture).group(1))
        for wanted in (r'width="(\S+)mm"', r'height="(\S+)mm"', r'viewBox="\S+ \S+ (\S+)')
    )
    letter = float(re.search(r'font-size="(\S+)"', picture).group(1)) * wide / shown
    assert letter > 2.2
    assert high < 60.0


def test_numbers_of_a_frame_lie_on_no_other(carousel, cart, hauler):
    for design in (carousel, cart, hauler):
        (picture,) = (p for words, p in assembly_steps(design) if "frame together dry" in words)
        at = [(float(x), float(y)) for x, y in re.findall(r'<text x="(\S+)" y="(\S+)"', picture)]
        assert len(at) >= 7
        assert all(abs(a - u) > 3.0 or abs(b - v) > 2.4 for (a, b), (u, v) in combinations(at, 2))


@pytest.mark.parametrize("name", ["orchard-hauler", "cider-mill"])
def test_letters_of_sections_can_be_read_on_paper(name):
    """At most 150 mm wide and 50 mm high there, as the style sheet prints them."""
    design = example(name)
    numbers = {row.item: row.number for row in design.bill}
    for layout in design.shaft_layouts:
        picture = str(section_view(layout, numbers))
        *_, wide, high = map(float, picture.split('viewBox="')[1].split('"')[0].split())
        type_size = max(map(float, re.findall(r'font-size="([0-9.]+)"', picture)))
        assert min(150.0 / wide, 50.0 / high) * type_size > 1.8


def test_numbers_stand_as_near_as_they_can():
    """Two that share a place move apart alike; who has room stays (least squares)."""
    assert _spread([0.0, 10.0, 10.0, 30.0], 4.0) == pytest.approx([0.0, 8.0, 12.0, 30.0])
    assert _spread([5.0, 5.0, 5.0], 2.0) == pytest.approx([3.0, 5.0, 7.0])


def test_two_wheels_on_one_rod_are_two():
    """And the layers of a gear between them are one."""
    at = ((0.0, 12.0, "wheel"), (80.0, 92.0, "gear 1"), (92.1, 104.0, "gear 1"))
    pieces = [Piece("disc", "", a, b, 12.0, 100.0, name=name) for a, b, name in at]
    pieces.append(Piece("disc", "", 200.0, 212.0, 12.0, 100.0, name="wheel"))
    found = wheels(pieces[::-1])
    assert found == [("wheel", 0.0, 12.0), ("gear 1", 80.0, 104.0), ("wheel", 200.0, 212.0)]


def test_what_takes_hold_of_the_first_rod_is_named():
    text = example_text().replace("[shafts]", '[shafts]\ncoupling = "bonded nut"')
    for made, name in ((text, "socket"), (text.replace("bonded nut", "chuck"), "chuck")):
        assert gw.solve(parse_brief(made, "x")).shaft_layouts[0].ends[0] == name


def test_names_of_small_gears_lie_beside_all_gears():
    """Two pinions of 83 mm at a wheel of 552 mm, the third gear nearly hidden."""
    text = example_text() + "\n"
    start = text.index("[[stage]]")
    stages = [(5.0, 14, 18, 0.17, 2), (8.0, 11, 67, 0.25, 1)]
    keys = "[[stage]]\nmodule = {}\npinion_teeth = {}\nwheel_teeth = {}\npinion_shift = 0.5\n"
    given = "".join((keys + "thinning = {}\nlayers = {}\n").format(*one) for one in stages)
    train = (made := gw.solve(parse_brief(text[:start] + given, "x"))).train
    picture = str(train_view(train, made.cut_pairs, made.title))
    words = re.findall(
        r'<text x="([-\d.]+)" y="([-\d.]+)"[^>]* font-size="([\d.]+)">([^<]+)<', picture
    )
    placed = {name: (float(x), -float(y), float(size)) for x, y, size, name in words}
    for name in ("pinion 1, drive", "wheel 1", "pinion 2"):
        x, y, size = placed[name]
        half = 0.27 * size * len(name)
        room = Polygon([(x - half, y), (x + half, y), (x + half, y + size), (x - half, y + size)])
        for gear in train.gears:
            tip = Point(train.points[gear.shaft]).buffer(gear.gear.tip_diameter / 2)
            assert not room.intersects(tip), (name, gear.name)
