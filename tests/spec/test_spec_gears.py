"""A design file without a machine: sheet, bit and stages."""

import pytest
from remedies import written
from volume import every

import gearwork as gw
from gearwork.checks.check import NO_WAY
from gearwork.spec.spec import DesignFile, example_text, parse_brief

TEXT = example_text("apple-washer")


def test_it_is_told_by_its_stages_and_by_having_neither_drive_nor_load():
    brief = gw.example_brief("apple-washer")
    assert not isinstance(brief, DesignFile)
    assert brief.stages[0].bores == (12.0, 12.0)
    assert brief.title == "Apple washer"  # by the name of its file
    assert parse_brief(TEXT, "test").title == "unnamed gears"


def test_the_first_example_is_ten_lines_long():
    assert len([line for line in TEXT.splitlines() if line.strip()]) == 10


@pytest.mark.parametrize("missing", ["drive", "load"])
def test_half_a_machine_is_asked_for_the_other_half(missing):
    table = {"drive": '[load]\nkind = "given"', "load": '[drive]\nkind = "given"'}[missing]
    with pytest.raises(gw.GearworkError, match=rf"\[{missing}\] is missing"):
        parse_brief(f"{TEXT}\n{table}\n", "test")


@pytest.mark.parametrize("table", ["shafts", "frame", "room", "wishes", "weights"])
def test_tables_of_a_machine_are_refused(table):
    with pytest.raises(gw.GearworkError) as error:
        parse_brief(f"{TEXT}\n[{table}]\n", "test")
    assert f"[{table}] is of a machine" in str(error.value)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('bores = "12"', "[stage 1] bores is '12': a list, each a number, is needed"),
        ("torque = true", "[stage 1] torque is True: a number is needed"),
        ("speed = 0.0", "[stage 1] speed is 0 rpm: it must be above 0 rpm"),
        ('only = "both"', '"pinion" or "wheel" is needed'),
    ],
)
def test_faults_of_its_keys_are_named(line, said):
    key = line.partition(" ")[0]
    kept = [row for row in TEXT.splitlines() if not row.startswith(key)]
    with pytest.raises(gw.GearworkError) as error:
        parse_brief("\n".join([*kept, line]), "test")
    assert said in str(error.value)


def test_the_stage_is_written_as_it_was_read():
    (stage,) = parse_brief(TEXT, "test").stages
    head = TEXT[: TEXT.index("[[stage]]")]
    assert parse_brief(head + stage.toml, "again").stages == (stage,)


FAULTY = {
    "a weak wheel": (
        "torque = 1.0",
        "torque = 3.5\nwindows = { count = 6, hub_diameter = 60.0, rim_thickness = 6.0,"
        " spoke_width = 8.0, corner_diameter = 8.0 }",
    ),
    "no play": ("thinning = 0.2", "thinning = 0.0"),
    "too large a bit": ("diameter = 3.0", "diameter = 8.0, measured_diameter = 8.02"),
    "a thin tip": ("pinion_teeth = 18", "pinion_teeth = 9\npinion_tip_alteration = 0.25"),
    "too fast": ("speed = 150.0", "speed = 20000.0"),
}


@pytest.mark.parametrize("fault", every(3, reversed(FAULTY)))
def test_what_a_remedy_says_can_be_written_and_mends_its_check(fault):
    text = example_text("apple-washer")
    assert FAULTY[fault][0] in text
    text = text.replace(*FAULTY[fault])
    failed = gw.solve(parse_brief(text, "x.toml")).report.failed
    assert failed
    told = 0
    for check in failed:
        assert check.ways or check.remedy == NO_WAY, check
        for changed in written(text, check.remedy) if check.ways else ():
            again = gw.solve(parse_brief(changed, "x.toml")).report
            assert all(one.ok for one in again if one.name == check.name), f"{check}\n{changed}"
            told += 1
    assert told
