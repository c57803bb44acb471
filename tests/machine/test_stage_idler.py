"""A stage behind an idler: ratio, sense, forces, room, files; one gear between two."""

from itertools import combinations
from math import cos, hypot, pi, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon
from solids import faults

import gearwork as gw
from gearwork.errors import GearworkError
from gearwork.machine.design import Design
from gearwork.machine.gear_set import GearSet
from gearwork.machine.parts import edges_in_place
from gearwork.output.jobsheet.papers import figures
from gearwork.spec.spec import parse_brief

MACHINE = """
title = "Sorting drum over an idler"

[drive]
kind = "hand crank"
force = 40.0
crank_length = 120.0
cadence = 40.0
peak_force = 60.0

[load]
kind = "given"
torque = 6.0
speed = 14.0
start_factor = 1.25

[sheet]
kind = "plywood"
wood = "birch"
thickness = 12.0

[bit]
diameter = 3.0

[shafts]
thread = "M12"
grade = "8.8"
bearing_name = "6001"

[service]
running_hours = 50.0
flanks = "waxed"

[[stage]]
module = 6.0
pinion_teeth = 16
wheel_teeth = 20
thinning = 0.25
layers = 2

[[stage]]
kind = "idler"
wheel_teeth = 44
"""

GEARS = """
sheet = { kind = "plywood", wood = "birch", thickness = 12.0 }
bit = { diameter = 3.0 }

[[stage]]
module = 5.0
pinion_teeth = 14
pinion_shift = 0.25
wheel_teeth = 20
thinning = 0.2
bores = [12.0, 12.0]
torque = 1.0
speed = 150.0

[[stage]]
kind = "idler"
wheel_teeth = 38
angle = 50.0
bores = [12.0]
"""


def machine(turned="", **changed):
    text = MACHINE + turned
    for old, new in changed.items():
        assert old in text
        text = text.replace(old, new)
    return gw.solve(parse_brief(text, "drum.toml"))


def gears(*changes):
    text = GEARS
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return gw.solve(parse_brief(text, "gears.toml"))


@pytest.fixture(scope="module")
def straight():
    """All three axes in line."""
    return machine("angle = 0.0\n")


@pytest.fixture(scope="module")
def bench():
    return gears()


def test_it_holds_and_is_one_gear_in_one_plane(straight):
    train = straight.train
    assert straight.report.ok
    assert [gear.name for gear in train.gears] == ["pinion 1", "idler 1", "wheel 2"]
    assert train.planes == (0, 0)
    assert {(gear.start, gear.end) for gear in train.gears} == {
        (train.gears[0].start, train.gears[0].end)
    }
    assert [layout.name for layout in straight.layouts[:-1]] == ["shaft 1", "shaft 2", "shaft 3"]
    assert sum(part.name.startswith("idler 1") for part in straight.parts) == 2  # its two layers
    assert faults(straight) == []


@pytest.mark.parametrize("teeth", [17, 20, 31])
def test_its_teeth_do_not_count_in_the_ratio_but_it_turns_the_sense(teeth):
    """Shigley, ch. 13 (from memory): an idler turns the sense, not the train value."""
    text = MACHINE.replace("wheel_teeth = 20", f"wheel_teeth = {teeth}")
    brief = parse_brief(text, "drum.toml")
    train = Design(brief).train
    assert train.ratio == pytest.approx(44 / 16, rel=1e-12)
    assert train.directions == (1, -1, 1)


def test_in_line_its_rod_carries_both_tangential_forces(straight):
    """Statics: 2 F_t, the radial forces push from either side; without losses, as at a stall."""
    train, torque = straight.train, 7.2
    given = torque * np.array([1.0, 20 / 16, 44 / 16])
    loads = train.loads_on(1, given)
    tangential = 2000.0 * torque / (6.0 * 16)
    total = np.sum([load.force for load in loads], axis=0)
    assert hypot(*total) == pytest.approx(2.0 * tangential, rel=1e-9)
    (shaft,) = straight.shafts(1, given, running=False)
    assert sum(shaft.bearing_forces) == pytest.approx(2.0 * tangential, rel=1e-9)
    # F a² b² / (3 E I L) at the gear (any table of beams), the softest steel
    first, second = shaft.bearing_positions
    a, b = loads[0].position - first, second - loads[0].position
    rigidity = 193_000.0 * pi * shaft.rod.core_diameter**4 / 64.0
    bent = 2.0 * tangential * a**2 * b**2 / (3.0 * rigidity * (a + b))
    assert hypot(*shaft.deflection_at(loads[0].position)) == pytest.approx(bent, rel=0.02)


def test_the_edge_of_its_teeth_is_judged_on_the_rod_that_both_mates_bend(straight):
    """Its rod bends twice as far as one of an end, so that both meshes have what it tilts."""
    for mesh in straight.loaded_meshes:
        loads = [
            load.name
            for load in (mesh.worst.pinion_shaft, mesh.worst.wheel_shaft)[
                mesh is straight.loaded_meshes[0]
            ].loads
        ]
        assert loads[:2] == ["idler 1 at pinion 1", "idler 1 at wheel 2"]


def test_its_seats_are_pressed_by_both_forces(straight):
    """Statics: 2 F_t on its seats, F_t / cos 20° on those of the last wheel, a stall on both."""
    pressed = [
        next(c.load_share for c in report if c.kind == "pressure" or "seat" in c.judged)
        for report in straight.stalled
    ]
    assert pressed[2] / pressed[1] == pytest.approx(2.0 * cos(radians(20.0)), rel=1e-6)


def test_its_hub_passes_on_what_its_bearings_take(straight):
    """1 % of the torque of a shaft of two gears; the rest goes from tooth to tooth."""
    idler = straight.train.gears[1]
    assert straight.hub_torque(idler) == pytest.approx(0.01 * straight.torques.stall[1])


@pytest.mark.parametrize("angle", [0.0, 35.0, -80.0])
def test_drawn_in_place_its_teeth_stand_in_spaces_of_both_mates(angle):
    brief = parse_brief(f"{MACHINE}angle = {angle}\n", "drum.toml")
    design = Design(brief)
    train = design.train
    places = [
        Polygon(
            edges_in_place(
                gear,
                design.cut_pairs[gear.stage],
                train.points[gear.shaft],
                train.stages,
                train.angles,
                0.01,
            )[0].points()
        )
        for gear in train.gears
    ]
    for one, other in combinations(places, 2):
        assert one.intersection(other).area < 1e-3


def test_wheels_that_run_into_each_other_fail_or_are_refused():
    """Law of cosines: 16 + 20 and 20 + 44 teeth; 16 and 44 teeth must clear each other by 3 mm."""
    brief = parse_brief(f"{MACHINE}angle = 150.0\n", "drum.toml")
    (check,) = (c for c in Design(brief).room_report() if "1 and 3" in c.judged)
    assert not check.ok
    apart = (108.0**2 + 192.0**2 - 2 * 108.0 * 192.0 * cos(radians(30.0))) ** 0.5
    assert check.value == pytest.approx(apart - 6.0 * (18 + 46) / 2, abs=0.5)
    with pytest.raises(GearworkError, match=r"\[stage 2\] angle is 150°.*at most ([\d.]+)°") as bad:
        gears(("angle = 50.0", "angle = 150.0"))
    most = float(str(bad.value).split("at most ")[1].split("°")[0])
    assert gears(("angle = 50.0", f"angle = {-most}"))
    with pytest.raises(GearworkError, match="angle"):
        gears(("angle = 50.0", f"angle = {most + 0.2:.1f}"))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((("wheel_teeth = 20", "rack_teeth = 20"),), "ends in a rack: an idler is a gear"),
        ((("bores = [12.0]", "bores = [12.0, 12.0]"),), "one in mm is needed for wheel"),
        (
            (("bores = [12.0]", "bores = [12.0]\nmodule = 4.0"),),
            r"\[stage 2\] module: no such key",
        ),
        (
            (("wheel_teeth = 20", 'wheel_teeth = 20\nonly = "wheel"'),
             ("bores = [12.0, 12.0]", "bores = [12.0]")),
            "only is for a pair",
        ),
        (
            (("thinning = 0.2", "thinning = 0.2\nwindows = { count = 3, hub_diameter = 40.0,"
              " rim_thickness = 12.0, spoke_width = 12.0, corner_diameter = 8.0 }"),),
            "windows are for a wheel",
        ),
        (((GEARS[GEARS.index("[[stage]]") : GEARS.index("[[stage]]\nkind")], ""),),
         "no stage before it"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_the_words_of_the_file(changes, words):
    with pytest.raises(GearworkError, match=words):
        gears(*changes)


def test_an_idler_cannot_bring_two_gears_of_one_plane_on_one_axis():
    text = MACHINE.replace("[[stage]]", '[frame]\narrangement = "coaxial"\n\n[[stage]]', 1)
    with pytest.raises(GearworkError, match='"coaxial" with an idler.*"folded" or "in line"'):
        gw.solve(parse_brief(text, "drum.toml"))


def test_bent_both_ways_it_fails_where_two_single_pairs_hold():
    """The same gears under the same torques; what decides is R = −1 alone."""
    torque = 1.3
    joined = gears(("torque = 1.0", f"torque = {torque}"))
    failed = {(c.judged, c.part) for c in joined.report.failed}
    assert failed == {("tooth bending", "idler")}
    second = (
        f"[[stage]]\nmodule = 5.0\npinion_teeth = 20\nwheel_teeth = 38\nthinning = 0.2\n"
        f"bores = [12.0, 12.0]\ntorque = {torque * 20 / 14}\nspeed = {150.0 * 14 / 20}\n"
    )
    text = GEARS.replace("torque = 1.0", f"torque = {torque}").partition("[[stage]]\nkind")[0]
    apart = gw.solve(parse_brief(text + second, "gears.toml"))
    assert apart.report.ok


def test_the_drawing_has_three_axes_and_the_folder_is_read_back(bench, tmp_path):
    found = gw.write_files(bench, tmp_path)
    assert found.ok
    assert [axis.name for axis in bench.axes] == ["pinion 1", "idler 1", "wheel 2"]
    (first, idler), (same, last) = bench.points(0), bench.points(1)
    assert idler == same
    ahead = np.degrees(np.arctan2(*(np.array(last) - idler)[::-1]))
    assert (first[1], idler[1], ahead) == pytest.approx((0.0, 0.0, 50.0))
    distances = {row[:2]: row[2] for row, _ in bench.toleranced_distances}
    assert distances["idler 1", "wheel 2"] == pytest.approx(5.0 * (20 + 38) / 2)
    again = gw.load_design(tmp_path / "design.toml")
    assert again.stages == bench.stages
    # a tooth of the idler cut off is seen at the idler and at its two meshes
    name = next(tmp_path.glob("idler-1*.dxf"))
    other = next(tmp_path.glob("pinion-1*.dxf"))
    name.write_bytes(other.read_bytes())
    assert not gw.check_files(tmp_path).ok


@given(
    teeth=st.tuples(st.integers(10, 24), st.integers(16, 40), st.integers(18, 60)),
    shift=st.sampled_from((0.0, 0.2, 0.4)),
    more=st.floats(0.0, 0.6),
    bit=st.sampled_from((2.0, 3.0)),
)
def test_random_idlers_are_one_gear_that_runs_with_both_mates(teeth, shift, more, bit):
    first, idler, last = teeth
    text = f"""
sheet = {{ kind = "plywood", thickness = 9.0 }}
bit = {{ diameter = {bit} }}
[[stage]]
module = 5.0
pinion_teeth = {first}
pinion_shift = 0.4
wheel_teeth = {idler}
wheel_shift = {shift}
thinning = 0.2
bores = [8.0, 8.0]
[[stage]]
kind = "idler"
wheel_teeth = {last}
bores = [8.0]
"""
    free = parse_brief(text, "x.toml").stages[1].pair.centre_distance
    brief = parse_brief(f"{text}centre_distance = {free + more}\n", "x.toml")
    made = GearSet(brief)
    one, other = made.cut_pairs
    assert one.wheel == other.pinion
    assert one.pair.wheel == other.pair.pinion
    said = "\n".join(stage.toml for stage in made.stages)
    again = parse_brief(f"{text.partition('[[stage]]')[0]}{said}", "x.toml")
    assert again.stages == made.stages
    if made.report.ok:
        assert not any(gw.roll(cut, positions=40).collides for cut in (one, other))


def test_the_gear_sheet_tells_ratio_sense_and_what_the_idlers_rod_carries():
    """Shigley, example 13-7 (from memory): 2.5 kW at 1750 rpm, 20, 50 and 30 teeth, a right angle.

    491 N one way round; the other way the forces add, √2 (546 + 199) = 1053.6 N by statics.
    """
    told = dict(
        figures(
            gears(
                ("module = 5.0", "module = 2.5"),
                ("pinion_teeth = 14", "pinion_teeth = 20"),
                ("pinion_shift = 0.25\n", ""),
                ("wheel_teeth = 20", "wheel_teeth = 50"),
                ("wheel_teeth = 38", "wheel_teeth = 30"),
                ("angle = 50.0", "angle = 90.0"),
                ("torque = 1.0", "torque = 13.64"),
                ("speed = 150.0", "speed = 1750.0"),
                ("thinning = 0.2", "thinning = 0.0"),
                ("diameter = 3.0", "diameter = 1.0"),
            )
        )
    )
    assert told["pinion 1 to wheel 2"] == "ratio 1.500, they turn the same way"
    force = float(told["rod of idler 1"].split()[0])
    assert force == pytest.approx(1053.6, rel=0.005)


def test_behind_an_idler_the_train_goes_on_in_the_next_plane():
    """Built as solids, nothing overlaps; the wheel behind the idler clamps a pinion to its rod."""
    more = "\n[[stage]]\nmodule = 6.0\npinion_teeth = 16\nwheel_teeth = 44\nthinning = 0.25\n"
    made = Design(parse_brief(f"{MACHINE}{more}", "drum.toml"))
    assert made.train.planes == (0, 0, 1)
    assert made.train.directions == (1, -1, 1, -1)
    assert made.train.ratio == pytest.approx((44 / 16) ** 2)
    assert made.room_report().ok
    assert faults(made) == []


@pytest.mark.slow
def test_two_idlers_in_a_row_and_a_rack_behind_them(tmp_path):
    made = gears(
        (
            "angle = 50.0\nbores = [12.0]\n",
            'angle = 50.0\nbores = [12.0]\n[[stage]]\nkind = "idler"\nrack_teeth = 20\n'
            "bores = [4.5]\n",
        )
    )
    assert [gear.name for gear in made.gears] == ["pinion 1", "idler 1", "idler 2", "rack 3"]
    told = dict(figures(made))
    assert told["rack 3, a turn of idler 2"].startswith(f"{pi * 5.0 * 38:.1f}")
    assert not any("turn against" in words or "the same way" in words for words in told.values())
    assert gw.write_files(made, tmp_path).ok
