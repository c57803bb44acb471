"""A way out of a design that fails is tried as a whole machine before it is told."""

import re
import tomllib

import pytest
import tomlkit
from brute_force import confirm
from hard_brief import answered, hard_text

import gearwork as gw
from gearwork.choosing.tally import Nearest
from gearwork.machine.setting import torque_setting
from gearwork.spec import ways
from gearwork.spec.spec import example_text, parse_brief
from gearwork.spec.ways import ways_out


def hauler(*changes, more=""):
    text = example_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_brief(f"{more}\n{text}" if more else text, "hauler.toml")


CLUTCH = ("clutch_torque = 1.6", "clutch_torque = 3.0")


@pytest.mark.slow
def test_the_least_change_is_told_and_passes_when_run():
    brief = hauler(CLUTCH)
    way = next(iter(ways_out(brief, gw.solve(brief))), None)
    before, after = tomllib.loads(brief.text), tomllib.loads(way.text)
    lower = after["drive"].pop("clutch_torque")
    assert way.changes == (f"[drive] clutch_torque = {lower} (was 3.0)",)
    assert torque_setting(way.design).min_torque < lower < before["drive"].pop("clutch_torque")
    assert after == before
    assert "# Crates" in way.text  # remarks of the file stay
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok


@pytest.mark.slow
def test_what_must_yield_of_what_is_to_be_kept_is_told():
    """The clutch alone: nothing else leads anywhere while it is set that high."""
    kept = "[keep]\ndrive = true\ngears = true\nshafts = true\nload = true\n\n[load]"
    brief = hauler(CLUTCH, ("[load]", kept))
    (way,) = ways_out(brief, gw.solve(brief))
    before, after = tomllib.loads(brief.text), tomllib.loads(way.text)
    assert way.gives_up == "drive"
    assert str(way).startswith("No way was found that keeps all of [keep]: drive must yield.")
    for table in ("stage", "shafts", "load"):
        assert after[table] == before[table]


def test_plates_too_large_for_the_sheet_ask_for_one_that_is_sold():
    """All else is kept; the plates are 493.6 mm wide, where 480 are left; in line
    they would be 381.8."""
    names = ("drive", "gears", "shafts", "bit", "load", "room")
    kept = "".join(f"{name} = true\n" for name in names)
    brief = hauler(
        ("[load]", f"[stock]\nheight = 500.0\n\n[keep]\n{kept}\n[load]"),
        ("[frame]", '[frame]\narrangement = "folded"'),
    )
    way = ways_out(brief, gw.solve(brief))[0]
    assert way.changes == ("[stock] width = 1525.0; [stock] height = 1525.0 (was 500.0)",)
    assert way.design.sheets


def gate(*changes, more=""):
    text = example_text("orchard-gate")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    brief = parse_brief(text + more, "gate.toml")
    return brief, gw.solve(brief)


@pytest.mark.slow
def test_a_machine_that_ends_in_a_rack_is_mended_by_what_its_checks_advise():
    """Screws of the bar, teeth and the edge of the pinion: a clutch at 1.2 N·m is too much."""
    brief, design = gate(("clutch_torque = 0.42", "clutch_torque = 1.2"))
    assert {check.judged for check in design.report.failed} >= {"screws of the rack"}
    way, *_ = ways_out(brief, design)
    before, after = tomllib.loads(brief.text), tomllib.loads(way.text)
    assert before["drive"].pop("clutch_torque") > after["drive"].pop("clutch_torque")
    assert after == before
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok


def test_a_rack_that_is_to_be_kept_yields_alone_where_the_travel_asks_for_it():
    """1300 mm over 8 π mm: 51.7 teeth and two at either end, 56."""
    kept = "\n[keep]\ngears = true\nshafts = true\nload = true\nroom = true\n"
    brief, design = gate(("travel = 1000.0", "travel = 1300.0"), more=kept)
    (way,) = ways_out(brief, design)
    assert way.gives_up == "gears"
    assert way.changes == ("[stage 3] rack_teeth = 56 (was 44)",)
    assert way.text == brief.text.replace("rack_teeth = 44", "rack_teeth = 56")


def test_gears_alone_have_no_way_out_of_their_own():
    brief = gw.example_brief("apple-washer")
    assert ways_out(brief, gw.solve(brief)) == ()


@pytest.mark.slow
def test_a_rod_too_thin_for_any_train_is_made_thicker():
    """What bends the M8 rod of the cart is the weight on its wheel: no gears mend that."""
    text = example_text("orchard-cart")
    text = text.replace('"M12"', '"M8"').replace('"6001"', '"608"')
    # near the ground, so that the rod alone stands in the way
    text = text.replace("ground_clearance = 15.0", "ground_clearance = 3.0")
    brief = parse_brief(text, "cart.toml")
    with pytest.raises(gw.GearworkError, match="no train was found"):
        gw.solve(brief)
    way = ways_out(brief)[0]
    assert len(way.changes) == 1
    assert tomllib.loads(way.text)["shafts"]["thread"] in ("M10", "M12")


def test_gears_with_an_idler_are_not_searched_again():
    """Its sense of rotation would be lost, for a search chooses no idlers."""
    second = example_text().split("[[stage]]")[2]
    idler = '\nkind = "idler"\nwheel_teeth = 40\n'
    kept, searched = hauler((second, idler)), hauler()
    assert kept.stages[1].idler
    assert "search" in {change.name for change in ways._changes(searched, None)}
    assert not {"search", "layers", "stages"} & {c.name for c in ways._changes(kept, None)}


def test_a_clutch_is_lowered_as_far_as_the_slow_gear_of_a_drill_starts_the_load():
    """12 N·m at 112 rpm: 400 rpm low take 3.57 to 1, which 13 to 48 teeth give; 1500 high do not.

    Without losses 48/13 starts it from 3.25 N·m.
    """
    document = tomlkit.parse(hard_text(20261128, 35))
    document["load"]["torque"] = 12.0
    assert ways._lower_clutch(1.0, document)
    assert 12.0 * 13 / 48 < document["drive"]["clutch_torque"] < 1.5 * 12.0 * 13 / 48


WINCH = """
[drive]
kind = "cordless drill"
max_torque = 30.0
low_speed = 400.0
high_speed = 1500.0
[load]
kind = "rope drum"
mass = 20
slope = 30
rolling_resistance = 0.1
drum_diameter = 60.0
rope_diameter = 4.0
travel_speed = 0.1
[sheet]
kind = "plywood"
wood = "birch"
thickness = 9.0
[bit]
diameter = 3.0
[shafts]
thread = "M8"
bearing_name = "608"
[room]
fixed_distance = 160.0
[wishes]
stages = [1, 2]
"""


def test_of_the_gears_of_a_drill_the_one_that_comes_nearest_says_what_is_in_the_way():
    """Blocked, 30 N·m in the low gear and 8 in the high one, at which no tooth lasts: what the best
    train bears at the drive is a larger share of 8 N·m."""
    with pytest.raises(gw.GearworkError) as caught:
        gw.solve(parse_brief(WINCH, "winch.toml"))
    told = str(caught.value)
    assert told.count("With the drill") == 1
    bears, acts = re.search(r"the best bears ([\d.]+) of ([\d.]+) N·m at the drive", told).groups()
    assert float(acts) == 30.0 * 400.0 / 1500.0
    assert float(bears) < float(acts)


@pytest.mark.slow
def test_where_three_things_must_change_none_of_what_is_wished_yields():
    """A winch at a fixed distance: clutch, rod and layers, none of which helps by itself."""
    brief = parse_brief(WINCH, "winch.toml")
    (way,) = ways_out(brief)
    before, after = tomllib.loads(brief.text), tomllib.loads(way.text)
    assert len(way.changes) == 3
    assert (after["load"], after["room"]) == (before["load"], before["room"])
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok
    # and one layer less would not do
    searched = way.text.split("# Found by the search")[0]
    assert gw.solve(parse_brief(searched, "searched.toml")).report.ok
    fewer = searched.replace("max_layers = 3", "max_layers = 2")
    assert fewer != searched
    with pytest.raises(gw.GearworkError, match="no train was found"):
        gw.solve(parse_brief(fewer, "fewer.toml"))


@pytest.mark.slow
def test_what_does_not_do_as_a_whole_machine_takes_one_thing_a_step_further():
    """Three times the mass, gears, bit, sheet and room kept: the search has trains on M10 that do
    not hold with the thinnest sheet. The next rod does, and no more mass need be given up."""
    text = WINCH.replace("mass = 20", "mass = 60").replace("eter = 60.0", "eter = 80.0")
    text = text.replace("slope = 30", "slope = 20")
    text += "[keep]\ngears = true\nbit = true\nsheet = true\nroom = true\n"
    brief = parse_brief(text, "winch.toml")
    (way,) = ways_out(brief)
    after = tomllib.loads(way.text)
    assert after["shafts"]["thread"] == "M12"
    assert 30.0 < after["load"]["mass"] < 60.0
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok


def test_what_keeps_trains_out_is_changed_too_where_nothing_helps_the_nearest():
    """In 140 mm the nearest train lacks room; smaller modules help others, of more teeth."""
    brief = parse_brief(hard_text(77, 1), "hard.toml")
    way = ways_out(brief)[0]
    assert not way.gives_up
    assert {"modules", "wheel_teeth"} <= set(re.findall(r"[a-z_]+", " ".join(way.changes)))
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok


def test_a_wish_yields_beside_other_changes_and_as_little_as_will_do():
    """12.9 N·m at 24.5 rpm with gears and room kept: of a drill at 400 rpm one stage of 13 and 48
    teeth makes 108 rpm, and 76 at seven tenths of its speed."""
    brief = parse_brief(hard_text(5, 34), "hard.toml")
    way = ways_out(brief)[0]
    before, after = tomllib.loads(brief.text), tomllib.loads(way.text)
    assert {table for table in after if after[table] != before.get(table)} == {
        "drive", "load", "sheet", "stage",
    }  # fmt: skip
    assert after["load"]["speed"] > 400.0 / (48 / 13) * 0.7
    assert gw.solve(parse_brief(way.text, "way.toml")).report.ok


def test_the_wish_that_need_yield_less_goes_first(monkeypatch):
    """As if half the speed would do, or nine tenths of the mass."""
    seen = ways._Look((), frozenset(("strength",)), Nearest(0, 1.0, frozenset(("strength",))))
    brief = parse_brief(WINCH, "winch.toml")

    def look(one):
        holds = one.load.travel_speed <= 0.05 or one.load.mass <= 18.0
        return ways._Look((one,)) if holds else seen

    monkeypatch.setattr(ways._Look, "at", look)
    found = ways._Seeker(brief, None, lambda _: None)._yielding((), {})
    told = [[(change.name, step) for change, step in state.items()] for state in found]
    assert told == [[("load mass", 2)], [("load travel_speed", 7)]]


def test_a_fixed_distance_yields_both_ways():
    """By a twentieth at first: 168.4 and 152 of 160."""
    brief = parse_brief(WINCH, "winch.toml")
    by_name = {change.name: change for change in ways._changes(brief, None)}
    for name, first in (("room fixed_distance", 169.0), ("room fixed_distance, nearer", 152.0)):
        document = tomlkit.parse(WINCH)
        by_name[name].steps[0](document)
        assert document["room"]["fixed_distance"] == first


@pytest.mark.parametrize("number", [1, *(pytest.param(n, marks=pytest.mark.slow) for n in (0, 5))])
def test_a_hard_brief_ends_in_a_way_out_or_is_impossible(number):
    """Of a series; `tests/benchmarks/random_designs.py --hard` runs as many as one likes."""
    assert answered(hard_text(20261128, number))


@pytest.mark.slow
@pytest.mark.parametrize("number", [3, 4, 7])
def test_plain_loops_find_a_machine_where_there_is_a_way(number):
    """Else what they confirm to be impossible would say nothing."""
    assert confirm(hard_text(20261128, number), seconds=60.0).found


def test_stages_of_a_search_that_a_way_leaves_out_are_named(cart):
    """They cannot stand on one axis, and others that can are found."""
    asked = cart.brief.text.replace("[frame]", '[frame]\narrangement = "coaxial"')
    brief = parse_brief(asked, "cart.toml")
    with pytest.raises(gw.GearworkError, match="must be equal"):
        gw.solve(brief)
    way = ways_out(brief)[0]
    assert "[[stage]]" in way.changes[0]
    assert way.design.train.on_one_axis


def test_stages_that_are_all_of_a_way_are_named(cart):
    """The file holds as it is, for whoever asks for ways all the same."""
    for way in ways_out(cart.brief) + ways_out(gw.example_brief("orchard-cart")):
        assert len(way.changes) == 1
        assert "[[stage]]" in way.changes[0]
        assert tomllib.loads(way.text)["stage"]


RAMP = """
[drive]
kind = "hand crank"
force = 60
crank_length = 60.0
peak_force = 100
cadence = 40

[load]
kind = "rope drum"
mass = 48.0
slope = 10
rolling_resistance = 0.1
drum_diameter = 60
rope_diameter = 5
travel_speed = 0.06

[sheet]
kind = "plywood"
thickness = 18.0

[bit]
diameter = 3

[shafts]
thread = "M12"
bearing_name = "6001"
load_overhang = 43.8

[wishes]
stages = [1]
modules = [5]
pinion_teeth = [17, 17]
wheel_teeth = [33, 33]
pinion_shifts = [0.5]
max_layers = 3

[keep]
load = true
drive = true
gears = true
sheet = true
bit = true
"""


def test_rods_that_bend_are_shortened_by_one_fixing_for_all():
    """Each held by the cheapest that holds it, nuts stand out; round the rod nothing does."""
    brief = parse_brief(RAMP, "ramp.toml")
    with pytest.raises(gw.GearworkError, match="no train was found"):
        gw.solve(brief)
    way = ways_out(brief)[0]
    assert way.changes == ('[shafts] fixing = "glued rod"',)
    assert {held.fixing.kind for _, held in way.design.held} == {"glued rod"}


def test_larger_wheels_take_the_height_of_the_axle_with_them():
    """Wheels of 260 mm up to twice as large, to 10 mm; a drum has none."""
    text = example_text("orchard-cart").replace("[frame]", "[frame]\noutput_height = 128.0")
    found = {change.name: change for change in ways._changes(parse_brief(text, "cart"), None)}
    documents = [tomlkit.parse(text) for _ in found["wheels"].steps]
    for step, document in zip(found["wheels"].steps, documents, strict=True):
        assert step(document)
        assert "output_height" not in document["frame"]
    sizes = [document["load"]["wheel_diameter"] for document in documents]
    assert sizes == [280.0, 290.0, 310.0, 330.0, 380.0, 440.0, 520.0]
    assert "wheels" not in {change.name for change in ways._changes(hauler(), None)}


def test_a_way_keeps_the_title_that_the_name_of_the_file_gave():
    text = "bit = { diameter = 3.0 }\n"
    assert tomlkit.dumps(ways._titled(text, "Winch")) == f'title = "Winch"\n{text}'
    titled = f'title = "Mine"\n{text}'
    assert tomlkit.dumps(ways._titled(titled, "Winch")) == titled
