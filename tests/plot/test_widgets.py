"""Live controls: a slider moved by its value, as a notebook does it, moves picture and checks."""

import doctest
import io
import sys

import numpy as np
import pytest
from PIL import Image

import gearwork as gw
from gearwork.plot import mesh as pair_view
from gearwork.plot import widgets as controls
from gearwork.plot.style import png_of

SHEET = gw.plywood("birch", 12)
START = {"pinion_shift": 0.25, "thinning": 0.2, "torque": 0.5, "speed": 150.0}


@pytest.fixture(scope="module")
def controls_at_start():
    return Live(**START)


@pytest.fixture
def live(controls_at_start):
    """The controls as they start, and put back when a test is through."""
    start = {name: slider.value for name, slider in controls_at_start.sliders.items()}
    yield controls_at_start
    for name, value in start.items():
        controls_at_start.move(name, value)


class Live:
    """The controls by the names that stand beside them."""

    def __init__(self, **start):
        columns, self.verdict, self.image, self.html = gw.live_pair(SHEET, **start).children
        self.sliders = {slider.description: slider for slider in columns.children}

    def move(self, name, value):
        self.sliders[name].value = value

    @property
    def words(self):
        return self.verdict.value + (self.html.value if self.is_shown else "")

    @property
    def pixels(self):
        with Image.open(io.BytesIO(self.image.value)) as image:
            return np.asarray(image.convert("L"), dtype=float)

    @property
    def is_shown(self):
        """Whether picture and checks are there; both or neither."""
        seen = {each.layout.visibility for each in (self.image, self.html)}
        assert seen in ({"visible"}, {"hidden"})
        return seen == {"visible"}


MOVES = [
    ("module, mm", 6.0, "module 6 mm"),
    ("pinion teeth", 17, "pair 17/38"),
    ("wheel teeth", 50, "pair 14/50"),
    ("pinion shift", 0.4, "undercut, pinion 0.4\N{NO-BREAK SPACE}profile shift"),
    ("wheel shift", 0.3, "undercut, wheel 0.3\N{NO-BREAK SPACE}profile shift"),
    ("bit, mm", 6.0, "fail      root clearance, pinion"),
]


@pytest.mark.parametrize(("name", "value", "words"), MOVES)
def test_picture_and_checks_follow_every_slider(live, name, value, words):
    before = live.pixels
    assert words not in live.words
    live.move(name, value)
    assert words in live.words
    # Lines, numbers or the bit move: a thousandth of full contrast over the whole picture is
    # some five hundred dots.
    assert np.abs(live.pixels - before).mean() > 0.255


def test_every_slider_is_tried(live):
    assert set(live.sliders) == {name for name, _, _ in MOVES}


def test_checks_are_those_of_the_plain_call(live):
    live.move("wheel teeth", 50)
    plain = gw.view_pair(SHEET, wheel_teeth=50, **START)
    assert plain.words in live.words
    assert [check.name in live.words for check in plain.report] == [True] * len(plain.report)


def test_the_picture_is_that_of_a_new_one(live):
    """The axes are used again and again; nothing of an earlier pair may stay on them."""
    live.move("pinion teeth", 20)
    live.move("bit, mm", 2.0)
    live.move("pinion teeth", 14)
    live.move("bit, mm", 3.0)
    again = live.pixels
    assert np.abs(again - Live(**START).pixels).max() == 0.0


def test_what_cannot_be_says_why_and_comes_back(live):
    live.move("pinion teeth", 6)
    live.move("pinion shift", 1.0)
    assert not live.is_shown
    assert "cannot be" in live.words
    assert "the flanks already meet in a point" in live.words
    live.move("pinion shift", 0.3)
    assert live.is_shown
    assert "pair 6/38" in live.words


def test_sliders_reach_what_they_start_at():
    live = Live(module=0.8, wheel_teeth=300, bit_diameter=0.63)
    assert [live.sliders[name].value for name in ("module, mm", "wheel teeth", "bit, mm")] == [
        0.8, 300, 0.63,
    ]  # fmt: skip
    assert "pair 14/300, module 0.8 mm" in live.words


def test_a_start_that_cannot_be_is_refused():
    with pytest.raises(gw.GearworkError, match="teeth is 3: it must be at least 5"):
        gw.live_pair(SHEET, pinion_teeth=3)


def test_without_ipywidgets_the_error_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "ipywidgets", None)
    with pytest.raises(gw.GearworkError, match=r"pip install 'gearwork\[notebook\]'.*view_pair"):
        gw.live_pair(SHEET)
    assert gw.view_pair(SHEET, pinion_shift=0.25, thinning=0.2).report.ok


def test_view_shows_picture_and_words():
    view = gw.view_pair(SHEET, pinion_teeth=9)
    shown = view._repr_html_()
    assert shown.startswith("<p><b>pair 9/38, module 5 mm: ")
    assert "<img" in shown
    assert "interference" in view.words
    assert png_of(view.picture)[:4] == b"\x89PNG"


@pytest.mark.parametrize("module", [controls, pair_view])
def test_examples_run(module):
    assert doctest.testmod(module).failed == 0
