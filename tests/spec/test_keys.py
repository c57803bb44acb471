"""Every key of every table: in the reference, and read when good, bad or absurd."""

import json
import tomllib
from typing import Literal, get_args, get_origin

import pytest
from volume import every

from gearwork.cli import main
from gearwork.errors import GearworkError, kinds_of
from gearwork.spec.keys import reference, tables
from gearwork.spec.reader import described
from gearwork.spec.spec import example_text, parse_brief

MACHINE = tomllib.loads(example_text("orchard-hauler"))
del MACHINE["cradle"]  # of a drill: other drives have no use for it
PAIR = tomllib.loads(example_text("apple-washer"))
TABLES = list(tables())

NEEDED = {
    ("drive", "cordless drill"): {"max_torque": 30.0, "low_speed": 400.0, "high_speed": 1500.0},
    ("drive", "common"): {"name": "cordless screwdriver"},
    ("drive", "motor"): {"stall_torque": 8.0, "no_load_speed": 1500.0},
    ("drive", "hand crank"): {"force": 50.0, "crank_length": 150.0, "cadence": 40.0},
    ("drive", "given"): {"torque": 2.0, "speed": 600.0},
    ("load", "rope drum"): {
        "mass": 25.0, "slope": 8.0, "drum_diameter": 60.0, "rope_diameter": 6.0,
        "travel_speed": 0.15, "rolling_resistance": 0.15,
    },
    ("load", "vehicle"): {
        "mass": 60.0, "wheel_diameter": 260.0, "slope": 1.0, "travel_speed": 1.2,
        "wheelbase": 700.0, "centre_to_rear": 300.0, "centre_height": 350.0, "track": 500.0,
        "rolling_resistance": 0.05, "tyre_friction": 0.6,
    },
    ("load", "rack"): {"force": 60.0, "travel": 1200.0, "travel_speed": 0.1, "mass": 5.0},
    ("load", "given"): {"torque": 10.0, "speed": 20.0},
    ("sheet", "plywood"): {},
    ("sheet", "declared"): {
        "name": "poplar", "thickness": 10.0, "tension": [20.0, 16.0], "compression": [15.0, 12.0],
        "panel_shear": 4.0, "modulus": [5000.0, 3500.0], "shear_modulus": 300.0, "density": 440.0,
    },
    ("sheet", "layup"): {"veneers": [1.1, 1.4, 1.4, 1.4, 1.1]},
    ("test_piece", ""): {"slot": [3.2, 3.21, 3.19]},
    ("broken_teeth", ""): {
        "of_sheet": parse_brief(example_text("orchard-hauler"), "hauler").gears.sheet.name,
        "gear": "pinion", "bit_diameter": 2.0, "duration": 240.0, "torque": [14.0] * 15,
        "direction": [67.0, 90.0, 112.0, 134.0, 157.0] * 3,
        "stage": {
            "module": 5.0, "pinion_teeth": 16, "wheel_teeth": 40, "pinion_shift": 0.2,
            "thinning": 0.2,
        },
    },
}  # fmt: skip
"""What a table must say, and what some other key of it needs."""

GOOD = {
    "words": ["small", "quiet and slow"],
    "sustained_share": 0.4, "clutch_torque": 2.0, "gear": "low", "surface": "grass", "layers": 2,
    "rope_direction": 90.0, "max_friction": 0.9, "max_speed": 1.6, "measured_thickness": None,
    "characteristic_density": 370.0, "planar_shear": 0.9, "face_compression": 2.6,
    "across": [False, True, False, True, False], "measured_diameter": None, "count": 4,
    "coupling": "pinned nut", "fixing": "bolts", "shaft_diameter": 8.0, "body_diameter": 50.0,
    "drive_overhang": 20.0, "load_overhang": 20.0, "max_diameter": 400.0, "min_distance": 60.0,
    "max_distance": 300.0, "fixed_distance": 150.0, "eccentricity": 0.05,
    "width": 400.0, "height": 400.0, "depth": 300.0,
    "output_height": 200.0, "ratio": [8.0, 14.0], "wheel_thinning": 0.25, "centre_distance": None,
    "windows": None, "bores": [12.0, 12.0], "torque": 1.0, "speed": 150.0, "only": None,
    "angle": 30.0, "arrangement": "in line",
    "pinion_pin_diameter": 8.0, "wheel_pin_diameter": 8.0, "programmed_diameter": 3.175,
    "hole": [28.2], "bore": [12.1],
    "pinion_bar": [50.0], "pinion_span": [30.0], "pinion_pin": [90.0],
    "wheel_bar": [50.0], "wheel_span": [90.0], "wheel_pin": [280.0],
}  # fmt: skip
"""Of keys whose default is no value; None: their good value depends on the table, see `good`."""

WINDOWS = {
    "count": 5, "hub_diameter": 60.0, "rim_thickness": 20.0, "spoke_width": 24.0,
    "corner_diameter": 16.0,
}  # fmt: skip

BY_TABLE = {
    ("load", "surface"): {"rope drum": "grass", "vehicle": "firm path"},
    ("sheet", "measured_thickness"): {"plywood": 11.9, "declared": 9.9, "layup": 6.3},
    ("bit", "measured_diameter"): {"": 3.2},
    ("shafts", "measured_diameter"): {"": 11.9},
    ("stage", "centre_distance"): {"pair": 168.0, "idler": 218.0},
    ("stage", "windows"): {"pair": WINDOWS, "idler": WINDOWS},
    ("stage", "only"): {"pair": "wheel"},
    ("stage", "rack_teeth"): dict.fromkeys(("pair", "idler"), 30),
    ("stage", "rack_height"): dict.fromkeys(("pair", "idler"), 40.0),
}  # fmt: skip

EACH = [
    pytest.param(table, key, id=f"{table.name} {table.kind} {key.name}")
    for table in TABLES
    for key in table.keys
]


def good(table, key):
    own = BY_TABLE.get((table.name, key.name))
    if own:
        return own[table.kind]
    needed = {**NEEDED.get((table.name, table.kind), {}), **file_of(table).get(table.name, {})}
    if key.name in needed:
        return needed[key.name]
    if key.default not in ("", "none", "[]"):
        return json.loads(key.default)
    return GOOD[key.name]


def file_of(table):
    """A file around the table, without it."""
    whole = PAIR if table.name.startswith("stage") else MACHINE
    if table.name == "stage.windows":
        windows = BY_TABLE["stage", "windows"]["pair"]
        return {**whole, "stage": {**whole["stage"][0], "windows": windows}, table.name: windows}
    if table.name == "stage":
        behind = {"wheel_teeth": 38, "bores": [12.0]}
        return {**whole, "stage": behind if table.kind == "idler" else whole["stage"][0]}
    if table.kind == "rack":
        rack = {"module": 5.0, "pinion_teeth": 16, "rack_teeth": 80}
        whole = {**whole, "stage": [*whole["stage"], rack]}
    own = {} if table.kind else whole.get(table.name, {})
    return {**whole, table.name: own}


def said(table, key, value):
    """The text of a design file that says this of one key."""
    tables = file_of(table)
    if table.name == "stage.windows":
        windows = {**tables.pop(table.name), key.name: value}
        tables["stage"] = [{**tables["stage"], "windows": windows}]
    else:
        own = {**tables[table.name], **NEEDED.get((table.name, table.kind), {}), key.name: value}
        if table.kind:
            own["kind"] = table.kind
        if key.name == "only":
            own["bores"] = [12.0]
        if table.name == "stage" and key.name.startswith("rack"):
            del own["wheel_teeth"]
            own = {"rack_teeth": 30, **own, "bores": [12.0]}
        if table.name == "stage":
            own = [PAIR["stage"][0], own] if table.kind == "idler" else [own]
        tables[table.name] = own
    return "\n".join(f"{name} = {toml(value)}" for name, value in tables.items())


def toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{name} = {toml(one)}" for name, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


@pytest.mark.parametrize(("table", "key"), every(6, EACH))
def test_a_good_value_is_read(table, key):
    assert parse_brief(said(table, key, good(table, key)), "x.toml")


@pytest.mark.parametrize(("table", "key"), every(6, EACH))
def test_a_value_of_the_wrong_type_is_named_by_its_key(table, key):
    wrong = 3.5 if described(key.annotation) or is_text(key) else "much"
    with pytest.raises(GearworkError) as caught:
        parse_brief(said(table, key, wrong), "x.toml")
    assert f"{key.name} is " in str(caught.value) or f"{key.name}] is " in str(caught.value)
    assert "mistake" in str(caught.value)


@pytest.mark.parametrize(("table", "key"), every(6, EACH))
def test_an_absurd_value_is_named_by_its_key(table, key):
    with pytest.raises(GearworkError) as caught:
        parse_brief(said(table, key, absurd(table, key)), "x.toml")
    told = str(caught.value)
    assert key.name in told
    assert "Traceback" not in told
    assert "1 mistake\n" in told


def is_text(key):
    kinds, _ = kinds_of(key.annotation)
    return any(kind in (str, bool) for kind in kinds) or any(
        get_origin(kind) is Literal for kind in kinds
    )


def absurd(table, key):
    kinds, bound = kinds_of(key.annotation)
    far = 10**13
    if described(key.annotation):
        return far
    if bound is None:
        return "x" * 300 if str in kinds else {"a": 1}
    listed = any(get_args(kind) and get_origin(kind) is not Literal for kind in kinds)
    return [far] * max(1, len(bound.entries)) if listed else far


def test_every_table_and_key_is_told_with_its_meaning():
    told = reference()
    for table in TABLES:
        assert table.head in told
        for key in table.keys:
            assert key.meaning, (table.name, table.kind, key.name)
            assert f"  {key.name} " in told


def test_the_reference_knows_the_tables_that_the_reader_knows():
    from gearwork.spec.spec import TABLES as READ

    assert {table.name.partition(".")[0] for table in TABLES} == set(READ) - {"title"}


def test_faults_of_type_and_range_of_a_whole_file_come_in_one_go():
    text = example_text("orchard-hauler")
    for old, new in (
        ("max_torque = 30.0", "max_torque = -30.0"),
        ("slope = 8.0", "slope = 80.0"),
        ("thickness = 12.0", "thickness = 8.9"),
        ("diameter = 3.175", "diameter = '3.175'"),
        ("service_class = 2", "service_class = 4"),
        ("accepted_chance = 0.01", "accepted_chance = 1.0"),
        ("module = 8.0", "module = 800.0"),
    ):
        assert old in text
        text = text.replace(old, new)
    with pytest.raises(GearworkError) as caught:
        parse_brief(text + "\n[wishes]\nratio = 12.0\npressure_angle = 5.0\n", "x.toml")
    told = str(caught.value)
    for words in (
        "9 mistakes",
        "[drive] max_torque is -30 N·m: it must be above 0 N·m",
        "[load] slope is 80 °: it must be at most 45 °",
        "[sheet] thickness is 8.9 mm: birch is sold as",
        "thickness = 9 and measured_thickness = 8.9",
        "[bit] diameter is '3.175': a number is needed",
        "[service] service_class is 4: it must be at most 3",
        "[tolerance] accepted_chance is 1: it must be at most 0.5",
        "[stage 2] module is 800 mm: it must be at most 100 mm",
        "[wishes] ratio is 12.0: [from, to] is needed",
        "[wishes] pressure_angle is 5 degrees: it must be at least 14.5 degrees",
    ):
        assert words in told, told


def test_a_wood_that_is_in_no_table_is_answered_by_the_key_that_takes_it():
    text = example_text().replace('wood = "birch"', 'wood = "oak"')
    with pytest.raises(GearworkError, match=r"\[sheet\] wood is 'oak': .*kind = \"declared\""):
        parse_brief(text, "x.toml")


def test_the_command_prints_it(capsys):
    assert main(["--keys"]) == 0
    assert capsys.readouterr().out == f"{reference()}\n"
