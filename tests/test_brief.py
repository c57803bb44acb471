import pytest

from gearwork.design.brief import EXAMPLES, example_brief, example_text, parse_brief, read_brief
from gearwork.design.surface import surface
from gearwork.errors import GearworkError

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
        .replace("greatest_torque = 30.0", 'greatest_torque = "thirty"')
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
        "[drive] greatest_torque is 'thirty': a number is needed",
        "bit diameter is -3.175 mm: it must be at least 0.5 mm",
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
        ("a = " + "[" * 100_000, "no valid TOML"),
    ],
)
def test_bad_files_are_refused(text, words):
    with pytest.raises(GearworkError) as caught:
        parse_brief(text, "x.toml")
    assert words in str(caught.value)


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(GearworkError, match="cannot read the design file"):
        read_brief(tmp_path / "none.toml")
    binary = tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(GearworkError, match="no text in UTF-8"):
        read_brief(binary)
