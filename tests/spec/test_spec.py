import re

import pytest

from gearwork.errors import GearworkError
from gearwork.spec.spec import EXAMPLES, example_brief, example_text, parse_brief, read_brief
from gearwork.stock.ground import surface
from gearwork.stock.plywood import plywood_from_layup, plywood_from_strengths

GOOD = example_text()


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_are_read(name):
    assert example_brief(name).title


def test_a_load_is_given_by_its_ground_or_by_figures():
    by_figures = GOOD.replace('surface = "grass"', "rolling_resistance = 0.15")
    assert parse_brief(by_figures, "x").load.rolling_resistance == 0.15
    assert parse_brief(GOOD, "x").load.rolling_resistance == surface("grass").rolling_resistance


def test_layers_are_turned_in_order():
    gears = example_brief().gears
    assert gears.panel(1).layers == (0.0,)
    assert gears.panel(3).layers == (0.0, 45.0, 0.0)


def test_five_mistakes_get_five_sentences_in_one_go():
    spoiled = (
        GOOD.replace('kind = "rope drum"', 'kind = "rope drumm"')
        .replace("max_torque = 30.0", 'max_torque = "thirty"')
        .replace("diameter = 3.175", "diameter = -3.175")
        .replace("thread =", "thred =")
        .replace("[service]", "[servise]")
    )
    with pytest.raises(GearworkError) as caught:
        parse_brief(spoiled, "hauler.toml")
    lines = str(caught.value).splitlines()
    assert lines[0] == "hauler.toml: 5 mistakes"
    assert len(lines) == 6
    for words in (
        "kind is 'rope drumm': one of \"rope drum\"",
        "[drive] max_torque is 'thirty': a number is needed",
        "[bit] diameter is -3.175 mm: it must be at least 0.5 mm",
        "[shafts] thred: no such key (nearest: thread)",
        "[servise]: no such table (nearest: service)",
    ):
        assert words in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "[drive] is missing"),
        ("title = ", "no valid TOML"),
        ("drive = 3\nload = []\nsheet = 'birch'\nbit = true", "[drive] is 3: a table"),
        (GOOD + "\n[[stage]]\nmodule = 5", "[stage 3] pinion_teeth is missing"),
        (GOOD.replace("pinion_teeth = 13", "pinion_teeth = 3"), "teeth is 3: it must be at least"),
        (GOOD.replace("mass = 25.0", "mass = nan"), "finite number"),
        (GOOD.replace('"grass"', '"gras"'), "grass"),
        (GOOD.replace("layer_angles = [0, 45]", "layer_angles = [0, 'x']"), "each a number"),
        ("a = " + "[" * 50_000, "no valid TOML"),
        ("a = " + "1" * 5_000, "no valid TOML"),
        ("# " + "y" * 100_000, "more than 100000 letters"),
        (GOOD.replace('kind = "plywood"', "kind = []"), "kind is []: one of"),
        (GOOD.replace("mass = 25.0", "mass = 1e300"), "look at the unit"),
        (GOOD.replace("mass = 25.0", "mass = 0x" + "f" * 5_000), "look at the unit"),
        (GOOD.replace("mass = 25.0", "mass = 1e-300"), "must be at least 1e-12 kg"),
        (GOOD.replace("Orchard", "Orchard" * 50), "title has 363 letters"),
        (GOOD.replace('"M12"', f'"{"M" * 300}"'), "thread has 300 letters"),
        (GOOD.replace("[0, 45]", str([0] * 200)), "layer_angles has 200 entries"),
        (GOOD + "[[stage]]\n" * 500, "there are 502 stages: at most 6"),
        (
            GOOD.replace("[frame]", "[frame]\nplate_thickness = 10"),
            "[frame] plate_thickness is 10 mm: birch is sold as one of 4, 6.5, 9, 12,",
        ),
        (GOOD.replace("[frame]", "[frame]\nfit = 0.6"), "[frame] fit is 0.6 mm"),
        (GOOD.replace("[frame]", "[frame]\nfit = -0.4"), "[frame] fit is -0.4 mm"),
        (
            GOOD.replace("[bit]", "[bit]\nmeasured_diameter = 1.0"),
            "[bit] measured diameter of the bit is 1 mm: it must be at least",
        ),
    ],
)
def test_bad_files_are_refused(text, words):
    with pytest.raises(GearworkError) as caught:
        parse_brief(text, "x.toml")
    assert words in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "\n".join(f"k{i} = 1" for i in range(5_000)),
        GOOD.replace("mass", "m" * 50_000),
        GOOD.replace("25.0", '"' + "m" * 50_000 + '"'),
        GOOD + "[[stage]]\n" * 500,
    ],
)
def test_however_many_mistakes_the_answer_can_be_read(text):
    with pytest.raises(GearworkError) as caught:
        parse_brief(text, "x.toml")
    assert len(str(caught.value)) < 5_000


def test_a_giant_is_not_read_to_its_end(tmp_path):
    giant = tmp_path / "giant.toml"
    with open(giant, "wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(GearworkError, match="more than 100000 letters"):
        read_brief(giant)


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(GearworkError, match="cannot read the design file"):
        read_brief(tmp_path / "none.toml")
    binary = tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(GearworkError, match="no text in UTF-8"):
        read_brief(binary)


def test_a_load_needs_its_ground_or_figures():
    with pytest.raises(GearworkError, match="rolling_resistance is missing: give it, or name the"):
        parse_brief(GOOD.replace('surface = "grass"\n', ""), "x")


@pytest.mark.parametrize("said", ["stage = []", "stage = 3"])
def test_stages_that_are_no_list_are_refused(said):
    text = f"{said}\n" + GOOD[: GOOD.index("[[stage]]")]
    with pytest.raises(GearworkError, match=r"\[stage\] is no list of stages"):
        parse_brief(text, "x")


@pytest.mark.parametrize("title", ["", "  ", "\\u0007\\u200b"])
def test_a_title_of_nothing_that_shows_is_none(title):
    text = re.sub('title = ".*"', lambda _: f'title = "{title}"', GOOD, count=1)
    assert parse_brief(text, "my-winch.toml").title == "My winch"


def test_a_title_that_is_no_text_is_refused():
    with pytest.raises(GearworkError, match="title is 7: a text is needed"):
        parse_brief(GOOD.replace('"Orchard crate hauler"', "7"), "x")


def test_there_is_no_other_example():
    with pytest.raises(GearworkError, match="no example 'windmill'; there are orchard-hauler"):
        example_brief("windmill")


def test_strengths_come_in_pairs():
    declared = """[sheet]
kind = "declared"
name = "poplar"
thickness = 10.0
tension = [20.0]
compression = [15.0, 12.0]
panel_shear = 4.0
modulus = [5000.0, 3500.0]
shear_modulus = 300.0
density = 440.0
"""
    start, end = GOOD.index("[sheet]"), GOOD.index("[bit]")
    with pytest.raises(GearworkError, match="tension is .20.0.: .along, across. is needed"):
        parse_brief(GOOD[:start] + declared + "\n" + GOOD[end:], "x")


OWN_SHEETS = {
    "declared": (
        """name = "poplar"
thickness = 10.0
tension = [20.0, 15.0]
compression = [15.0, 12.0]
panel_shear = 4.0
modulus = [5000.0, 3500.0]
shear_modulus = 300.0
density = 440.0
characteristic_density = 400.0
planar_shear = 1.1
face_compression = 3.0
source = "declaration of the yard"
measured_thickness = 9.8""",
        plywood_from_strengths(
            "poplar", 10.0, tension=(20.0, 15.0), compression=(15.0, 12.0), panel_shear=4.0,
            modulus=(5000.0, 3500.0), shear_modulus=300.0, density=440.0,
            characteristic_density=400.0, planar_shear=1.1, face_compression=3.0,
            source="declaration of the yard",
        ).measured(9.8),
    ),
    "layup": (
        """veneers = [1.0, 1.5, 1.5, 1.0]
wood = "thin-veneer spruce"
across = [false, true, true, false]""",
        plywood_from_layup(
            (1.0, 1.5, 1.5, 1.0), wood="thin-veneer spruce", across=(False, True, True, False)
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", OWN_SHEETS)
def test_the_file_gives_every_figure_of_a_sheet_the_library_takes(kind):
    table, sheet = OWN_SHEETS[kind]
    start, end = GOOD.index("[sheet]"), GOOD.index("[bit]")
    own = f'[sheet]\nkind = "{kind}"\n{table}\nlayer_angles = [0, 30]\n\n'
    gears = parse_brief(GOOD[:start] + own + GOOD[end:], "x").gears
    assert (gears.sheet, gears.layer_angles) == (sheet, (0, 30))
    assert gears.plate(12.0) == sheet


def test_a_byte_order_mark_of_an_editor_is_no_part_of_the_file(tmp_path):
    """What is written again has none."""
    path = tmp_path / "marked.toml"
    path.write_text(example_text(), encoding="utf-8-sig")
    assert read_brief(path) == example_brief()
