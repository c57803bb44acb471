"""What must hold for every design file: what is written is what is read, solved or refused."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import between, one_in

import gearwork as gw
from gearwork.machine.design import Design
from gearwork.spec.spec import parse_brief
from gearwork.stock.hardware import bearing, bearings, rod, threads
from gearwork.stock.plywood import plywood_kinds

PLYWOODS = [(kind, size) for kind, sizes in plywood_kinds().items() for size in sizes]

TABLES = st.fixed_dictionaries(
    {
        "drive": st.one_of(
            st.fixed_dictionaries(
                {
                    "kind": st.just("motor"),
                    "stall_torque": between(0.1, 20.0),
                    "no_load_speed": between(50.0, 3000.0),
                }
            ),
            st.fixed_dictionaries(
                {
                    "kind": st.just("hand crank"),
                    "force": between(20.0, 150.0),
                    "crank_length": between(50.0, 400.0),
                    "cadence": between(20.0, 60.0),
                }
            ),
        ),
        "load": st.one_of(
            st.fixed_dictionaries(
                {
                    "kind": st.just("given"),
                    "torque": between(0.1, 50.0),
                    "speed": between(1.0, 300.0),
                }
            ),
            st.fixed_dictionaries(
                {
                    "kind": st.just("rope drum"),
                    "surface": st.sampled_from(["grass", "asphalt"]),
                    "mass": between(1.0, 60.0),
                    "slope": between(0.0, 30.0),
                    "drum_diameter": between(30.0, 120.0),
                    "rope_diameter": between(3.0, 10.0),
                    "travel_speed": between(0.02, 1.0),
                }
            ),
        ),
        "sheet": st.sampled_from(PLYWOODS).map(
            lambda row: {"kind": "plywood", "wood": row[0], "thickness": float(row[1])}
        ),
        "bit": st.fixed_dictionaries({"diameter": between(1.0, 6.0)}),
        "shafts": st.sampled_from(
            [
                {"thread": thread, "bearing_name": name}
                for thread in threads()
                for name in bearings()
                if rod(thread).diameter <= bearing(name).bore and bearing(name).width <= 8.0
            ]
        ),
        "service": st.fixed_dictionaries({"service_class": st.integers(1, 3)}),
        "stage": st.lists(
            st.fixed_dictionaries(
                {
                    "module": between(2.0, 10.0),
                    "pinion_teeth": st.integers(10, 30),
                    "wheel_teeth": st.integers(10, 70),
                    "pinion_shift": between(0.0, 0.5),
                    "thinning": between(0.0, 0.3),
                    "layers": st.integers(1, 3),
                }
            ),
            min_size=1,
            max_size=3,
        ),
    }
)


def written(tables):
    lines = []
    for name, table in tables.items():
        for each in table if isinstance(table, list) else [table]:
            lines.append(f"[[{name}]]" if isinstance(table, list) else f"[{name}]")
            lines += [f"{key} = {json.dumps(value)}" for key, value in each.items()]
    return "\n".join(lines)


def as_told(stage):
    """A stage by the keys of the design file."""
    pinion, wheel = stage.pair.pinion, stage.pair.wheel
    return {
        "module": pinion.module,
        "pinion_teeth": pinion.teeth,
        "wheel_teeth": wheel.teeth,
        "pinion_shift": pinion.profile_shift,
        "wheel_shift": wheel.profile_shift,
        "pressure_angle": pinion.pressure_angle,
        "thinning": wheel.thinning,
        "layers": stage.layers,
        "centre_distance": stage.pair.centre_distance,
    }


@given(TABLES)
def test_what_is_written_is_what_is_read(tables):
    brief = parse_brief(written(tables), "design.toml")
    for given_, stage in zip(tables["stage"], brief.stages, strict=True):
        assert as_told(stage) | given_ == as_told(stage)
    assert brief.bit.diameter == tables["bit"]["diameter"]
    assert brief.shafts.rod.thread == tables["shafts"]["thread"]
    assert brief.gears.sheet.nominal_thickness == tables["sheet"]["thickness"]
    for key, value in tables["load"].items():
        if key not in ("kind", "surface"):
            assert getattr(brief.load, key) == value


@given(TABLES, st.data())
def test_a_misspelt_key_is_named_with_the_right_one(tables, data):
    name = data.draw(st.sampled_from(["bit", "service", "shafts"]))
    key = data.draw(st.sampled_from(sorted(tables[name])))
    wrong = dict(tables, **{name: {f"{key}x": tables[name][key]}})
    with pytest.raises(gw.GearworkError, match=f"{key}x: no such key .nearest: {key}"):
        parse_brief(written(wrong), "design.toml")


@one_in(5)
@given(TABLES)
def test_any_design_file_is_solved_or_refused_with_every_check_whole(tables):
    try:
        design = gw.solve(parse_brief(written(tables), "design.toml"))
    except gw.GearworkError as error:
        text = str(error)
    else:
        assert isinstance(design, Design)
        text = str(design.report)
        for check in design.report:
            assert check.why.endswith((".", ")")), check.name
            assert check.source
            assert check.ok or check.remedy, check.name
    assert "nan" not in text
    assert "None" not in text
