"""Live controls: a slider moved by its value, as a notebook does it, moves picture and checks."""

import re
import sys

import pytest
from volume import every

import gearwork as gw

SHEET = gw.plywood("birch", 12)
PAIR = gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), gw.Gear(5, 38, thinning=0.2))
CUT = gw.CutPair(PAIR, gw.Bit(3.0))


def started(cut=CUT, sheet=SHEET, **more):
    return gw.live_pair(cut, sheet, torque=0.5, speed=150.0, **more)


@pytest.fixture(scope="module")
def at_start():
    return started()


@pytest.fixture
def live(at_start):
    """The controls as they start, and put back when a test is through."""
    start = {name: slider.value for name, slider in at_start.sliders.items()}
    yield at_start
    for name, value in start.items():
        at_start.sliders[name].value = value


def words(live):
    return live.verdict.value + (live.words.value if is_shown(live) else "")


def is_shown(live):
    """Whether picture and checks are there and the button works; all or none."""
    seen = {each.layout.visibility for each in (live.picture, live.words)}
    assert seen == {"hidden" if live.button.disabled else "visible"}
    return not live.button.disabled


def picture(live):
    """Everything drawn but the title and the key."""
    return re.findall(r' d="([^"]*)"', bytes(live.picture.value).decode())


MOVES = [
    ("module, mm", 6.0, "module 6 mm"),
    ("pinion teeth", 17, "pair 17/38"),
    ("wheel teeth", 50, "pair 14/50"),
    ("pinion shift", 0.4, "undercut, pinion 0.4\N{NO-BREAK SPACE}profile shift"),
    ("wheel shift", 0.3, "undercut, wheel 0.3\N{NO-BREAK SPACE}profile shift"),
    ("bit, mm", 6.0, "fail      root clearance, pinion"),
    ("thinning, mm", 0.5, "backlash 0.93"),
    ("farther apart, mm", 1.0, "contact ratio 1.31"),
]


@pytest.mark.parametrize(("name", "value", "said"), every(4, MOVES))
def test_picture_and_checks_follow_every_slider_of_shape(live, name, value, said):
    before = picture(live)
    assert said not in words(live)
    live.sliders[name].value = value
    assert said in words(live)
    assert picture(live) != before


STRONGER = [("layers", 2), ("torque, N·m", 0.2), ("speed, rpm", 50.0)]


@pytest.mark.parametrize(("name", "value"), [*STRONGER, ("sheet, mm", gw.plywood("birch", 18))])
def test_strength_follows_thickness_layers_torque_and_speed(live, name, value):
    def reserve():
        return live.report["tooth bending, pinion, running"].margin

    before = reserve()
    live.sliders[name].value = value
    assert reserve() > before


def test_every_slider_is_tried(live):
    assert set(live.sliders) == {name for name, *_ in [*MOVES, *STRONGER]} | {"sheet, mm"}


def test_it_starts_at_the_pair_given_and_keeps_what_has_no_slider(live):
    assert live.pair == CUT
    pinion = gw.Gear(4, 17, 0.3, 25.0, addendum=0.9, thinning=0.1)
    wheel = gw.Gear(4, 40, 0.0, 25.0, addendum=0.9, thinning=0.3)
    pair = gw.CutPair(gw.GearPair(pinion, wheel, 115.5), gw.Bit(2.0, measured_diameter=2.07))
    stack = gw.Stack(SHEET, (0.0, 30.0, 60.0))
    other = started(pair, stack)
    assert (other.pair, other.sheet) == (pair, stack)
    other.sliders["wheel teeth"].value = 41
    gears = other.pair.pair
    assert (gears.wheel.teeth, gears.wheel.pressure_angle, gears.wheel.addendum) == (41, 25.0, 0.9)
    assert gears.wheel.thinning - gears.pinion.thinning == pytest.approx(0.2)


def test_checks_are_those_of_the_plain_call(live):
    live.sliders["layers"].value = 2
    live.sliders["wheel teeth"].value = 50
    wheel = gw.Gear(5, 50, thinning=0.2)
    moved = gw.CutPair(gw.GearPair(gw.Gear(5, 14, 0.25, thinning=0.2), wheel), gw.Bit(3.0))
    assert live.pair == moved
    assert live.sheet == gw.Stack(SHEET, (0.0, 45.0))
    plain = gw.check_pair(live.pair, live.sheet, torque=0.5, speed=150.0)
    assert live.report == plain
    assert [check.name in words(live) for check in plain] == [True] * len(plain)


def test_the_picture_is_that_of_the_pair(live):
    live.sliders["pinion teeth"].value = 20
    assert bytes(live.picture.value).decode() == gw.plot_mesh(live.pair).svg


def test_what_cannot_be_says_why_and_comes_back(live):
    live.sliders["pinion teeth"].value = 6
    before = live.pair
    live.sliders["pinion shift"].value = 1.0
    assert not is_shown(live)
    assert "cannot be" in words(live)
    assert "the flanks already meet in a point" in words(live)
    assert live.pair == before  # the last that could be
    live.sliders["pinion shift"].value = 0.3
    assert is_shown(live)
    assert "pair 6/38" in words(live)


def test_sliders_reach_what_they_start_at():
    fine = gw.CutPair(gw.GearPair(gw.Gear(0.8, 14), gw.Gear(0.8, 300)), gw.Bit(0.63))
    live = started(fine)
    assert [live.sliders[name].value for name in ("module, mm", "wheel teeth", "bit, mm")] == [
        0.8, 300, 0.63,
    ]  # fmt: skip
    assert "pair 14/300, module 0.8 mm" in words(live)


def test_a_step_of_a_slider_is_a_plain_number(live):
    live.sliders["wheel shift"].value = -1.0 + 16 * 0.075  # as a browser sends 0.2
    live.sliders["thinning, mm"].value = 3 * 0.1
    assert (live.pair.pair.wheel.profile_shift, live.pair.pair.pinion.thinning) == (0.2, 0.3)


def test_the_button_writes_the_pair_of_the_moment(live, tmp_path):
    live.sliders["pinion teeth"].value = 16
    live.sliders["layers"].value = 2
    live.folder.value = str(tmp_path / "gears")
    live.bores[1].value = 20.0
    live.button.click()
    assert "written: " in live.written.value
    again = gw.load_design(tmp_path / "gears" / "design.toml")
    assert again.cut_pairs == (live.pair,)
    assert again.panel(0) == live.sheet
    assert (again.stages[0].bores, again.stages[0].torque) == ((12.0, 20.0), 0.5)
    live.sliders["pinion teeth"].value = 17
    assert live.written.value == ""  # the files are of another pair now


def test_the_button_tells_why_it_cannot_write(live, tmp_path):
    (tmp_path / "taken").write_text("a file")
    live.folder.value = str(tmp_path / "taken")
    live.button.click()
    assert "not written: " in live.written.value
    assert "choose another folder" in live.written.value


def test_what_is_no_pair_is_refused():
    with pytest.raises(gw.GearworkError, match="live_pair needs a CutPair"):
        gw.live_pair(PAIR, SHEET)
    with pytest.raises(gw.GearworkError, match="check_pair needs a sheet"):
        gw.live_pair(CUT, "birch")
    with pytest.raises(gw.GearworkError, match="a rack has no sliders"):
        gw.live_pair(gw.CutPair(gw.GearPair(PAIR.pinion, gw.Rack(5, 30)), gw.Bit(3.0)), SHEET)


def test_without_ipywidgets_the_error_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "ipywidgets", None)
    with pytest.raises(gw.GearworkError, match=r"pip install 'gearwork\[notebook\]'.*plot_mesh"):
        started()
