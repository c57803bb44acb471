"""Machines to choose from, on a page, in a notebook and in a terminal."""

import itertools
import re

import pytest
import shapely
from drawn import areas

from gearwork.output.jobsheet.choices import choices_html, choices_text
from gearwork.plot.display import show


def pictures(page):
    return re.findall(r"<svg.*?</svg>", page, re.DOTALL)


def test_trains_are_drawn_to_one_scale(mill_choices):
    drawn = pictures(choices_html(mill_choices))
    assert len(drawn) == 3
    boxes = [re.search(r'viewBox="([^"]*)"', one)[1].split() for one in drawn]
    assert len({(wide, high) for _, _, wide, high in boxes}) == 1
    for one, design in zip(drawn, mill_choices.designs, strict=True):
        wheel = design.brief.stages[0].pair.wheel
        widest = max(shapely.minimum_bounding_radius(shape) for shape in areas(one))
        assert 2 * widest == pytest.approx(wheel.tip_diameter, abs=0.05)


def test_no_words_of_a_picture_lie_on_each_other(mill_choices):
    for one in pictures(choices_html(mill_choices)):
        words = re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)"[^>]* font-size="([\d.]+)"', one)
        for (x, y, size), (u, v, _) in itertools.combinations(words, 2):
            across, up = abs(float(x) - float(u)), abs(float(y) - float(v))
            assert across > 1.2 * float(size) or up > float(size)


def test_every_train_stands_with_its_figures_and_the_line_that_takes_it(mill_choices):
    page, cell, text = choices_html(mill_choices), show(mill_choices), choices_text(mill_choices)
    for number, design in enumerate(mill_choices.designs, 1):
        assert f"<pre>choice = {number}</pre>" in page
        assert f"<pre>design = choices.design({number})</pre>" in cell
        assert f"choice = {number}\n" in text
        size = " × ".join(f"{side:.0f}" for side in design.size)
        assert all(size in told for told in (page, cell, text))
    assert text.count("smallest") == 1


def test_what_there_is_to_spare_is_what_the_reserve_asks_for(mill_choices):
    """Two roads: the figure shown, and the question whether every check holds with so much."""
    for design in mill_choices.designs:
        share = design.to_spare.to_spare
        assert share >= 0.05
        assert design.holds_with(share - 1e-9)
        assert not design.holds_with(share + 1e-9)
