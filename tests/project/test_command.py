"""The command as a user runs it."""

import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

import gearwork.cli
from gearwork.cli import main
from gearwork.errors import NoMachineError
from gearwork.spec.spec import example_text

SAMPLE = Path(__file__).parents[2] / "output"


def run(*arguments, folder):
    return subprocess.run(
        [sys.executable, "-m", "gearwork", *map(str, arguments)],
        cwd=folder, capture_output=True, text=True,
    )  # fmt: skip


@pytest.mark.slow
def test_without_arguments_it_designs_the_example_into_output(tmp_path):
    done = run(folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "Orchard crate hauler" in done.stdout.splitlines()[0]
    assert (tmp_path / "output" / "job-sheet.html").exists()


@pytest.mark.slow
def test_a_folder_is_read_back_without_a_design(capsys):
    assert main(["--read-back", "--into", str(SAMPLE)]) == 0
    assert "checks hold" in capsys.readouterr().out.splitlines()[0]


def test_the_spoiled_part_is_told_first_in_a_line_and_the_rest_on_request(
    washer_files, tmp_path, capsys
):
    folder = tmp_path / "files"
    shutil.copytree(washer_files, folder)
    path = folder / "wheel-1-grain-0.dxf"
    whole = path.read_text().splitlines()
    at = whole.index("LWPOLYLINE", whole.index("ENTITIES"))
    far = next(i for i in range(at, len(whole), 2) if whole[i - 1].strip() == "10")
    whole[far] = "999.0"
    path.write_text("\n".join(whole) + "\n")
    assert main(["--read-back", "--into", str(folder)]) == 1
    head, first, *rest = capsys.readouterr().out.splitlines()
    assert "fail" in head
    assert "wheel-1-grain-0.dxf" in first
    assert len(rest) < 9
    assert main(["--read-back", "--all", "--into", str(folder)]) == 1
    assert len(capsys.readouterr().out.splitlines()) > 50


@pytest.mark.parametrize(
    ("example", "light", "heavy"),
    [
        ("apple-washer", "torque = 1.0", "torque = 30.0"),
        # A machine, so that ways out are looked for:
        pytest.param(
            "orchard-hauler", "clutch_torque = 1.6", "clutch_torque = 6.0", marks=pytest.mark.slow
        ),
    ],
)
def test_a_failed_check_gives_status_1_and_still_writes(tmp_path, capsys, example, light, heavy):
    text = example_text(example)
    assert light in text
    (tmp_path / "heavy.toml").write_text(text.replace(light, heavy))
    assert main([str(tmp_path / "heavy.toml"), "--into", str(tmp_path / "out")]) == 1
    assert "fail" in capsys.readouterr().out
    assert (tmp_path / "out" / "job-sheet.html").exists()


@pytest.mark.slow
def test_an_example_is_designed_by_its_name(tmp_path, capsys):
    assert main(["cider-mill", "--into", str(tmp_path / "mill")]) == 0
    assert capsys.readouterr().out.startswith("Cider mill")
    assert "[[stage]]" in (tmp_path / "mill" / "design.toml").read_text("utf-8")


def test_choices_are_shown_and_nothing_else_is_written(tmp_path, capsys, monkeypatch, mill_choices):
    (tmp_path / "cider-mill").mkdir()  # a folder of that name is no design file
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("gearwork.choices", lambda *_: mill_choices)
    assert main(["cider-mill", "--choices", "--into", str(tmp_path / "mill")]) == 0
    assert capsys.readouterr().out.startswith("choice = 1\n")
    written = {path.name for path in (tmp_path / "mill").iterdir()}
    assert written == {"choices.html", "gearwork-files.txt"}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("module = 6.0", "module = -6.0"), "module is -6 mm"),
        (("pinion_teeth = 13", "pinion_teeth = 3"), "teeth is 3"),
        (("thickness = 12.0", 'thickness = "thick"'), "a number is needed"),
        (("mass = 25.0", "mass = nan"), "nan"),
        (("thinning = 0.2\n", "thinning = 0.2\ncentre_distance = 100.0\n"), "must be at least"),
    ],
)
def test_bad_input_gives_status_2_one_clear_text_and_no_file(tmp_path, capsys, change, words):
    text = example_text()
    assert change[0] in text
    (tmp_path / "bad.toml").write_text(text.replace(*change, 1))
    assert main([str(tmp_path / "bad.toml"), "--into", str(tmp_path / "out")]) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert "Traceback" not in told.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("apple-washer", ("bores = [12.0, 12.0]", "bores = [12.0]"), "bores are"),
        ("orchard-hauler", ("thinning = 0.2\n", "thinning = 0.2\ntorque = 2.0\n"), "torque is for"),
        ("orchard-hauler", ("rim_thickness = ", "rim_thickness = 1"), "have no room"),
    ],
)
def test_no_way_out_is_sought_of_a_plain_mistake(
    tmp_path, capsys, monkeypatch, name, change, words
):
    """The text says how to mend it; no search could, and none is spoken of."""
    text = example_text(name)
    assert change[0] in text
    (tmp_path / "bad.toml").write_text(text.replace(*change, 1))
    monkeypatch.setattr("gearwork.ways_out", lambda *_, **__: pytest.fail("a way is sought"))
    assert main([str(tmp_path / "bad.toml"), "--into", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert words in told
    assert "way out" not in told


def test_a_way_out_is_sought_where_gears_of_the_file_make_no_machine(tmp_path, capsys, monkeypatch):
    """Its pairs cannot stand on one axis: others may."""
    text = example_text().replace("[frame]", '[frame]\narrangement = "coaxial"')
    (tmp_path / "apart.toml").write_text(text)
    monkeypatch.setattr("gearwork.ways_out", lambda *_, **__: ())
    assert main([str(tmp_path / "apart.toml"), "--into", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "they must be equal" in told
    assert "No way out was found" in told


BORED = """
sheet = { kind = "plywood", wood = "birch", thickness = 12.0 }
bit = { diameter = 3.175 }
cutting = { bit_paths = true }

[[stage]]
module = 5.0
pinion_teeth = 18
wheel_teeth = 49
thinning = 0.2
bores = [12.0, 12.0]
"""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("[12.0, 12.0]", "[80.0, 12.0]"), "pinion 1: bore of 80 mm leaves no wood"),
        (("[12.0, 12.0]", "[76.0, 12.0]"), "make it at least 2.50 mm narrower, or take a larger"),
        (("[12.0, 12.0]", "[0.001, 12.0]"), "does not go in; make it at least 3.175 mm"),
        (("wheel_teeth = 49", "rack_teeth = 20"), "rack 1: screw holes of 12 mm leave"),
        (
            ("thinning = 0.2", "thinning = 0.2\ncentre_distance = 400.0"),
            "[stage 1] centre distance is 400.0000 mm: the teeth do not meet, 222.50 mm lie between"
            " their tips; it must be below 177.50 mm",
        ),
        (("thinning = 0.2", "thinning = 7.8"), "[stage 1] thinning is 7.8 mm: the flanks already"),
        (("wheel_teeth = 49", "rack_teeth = 1"), "[stage 1] rack_teeth is 1: it must be at least"),
        (
            ("cutting", "stock = { margin = 200, height = 300 }\ncutting"),
            "[stock] margin is 200 mm: along both edges of a sheet 300 mm wide it leaves nothing",
        ),
        (("true", "true, tabs = 50"), "path of the bit round pinion 1: 50 tabs of 5 mm"),
        (("true", "true, tab_height = 30.0"), "tab height is 30 mm"),
        (
            ("cutting", "stock = { width = 290.0, height = 290.0, count = 1 }\ncutting"),
            "pinion 1 finds no room: all sheets",
        ),
    ],
)
def test_what_cannot_be_cut_is_told_instead_of_a_verdict(tmp_path, capsys, change, words):
    assert change[0] in BORED
    (tmp_path / "bored.toml").write_text(BORED.replace(*change, 1))
    status = main([str(tmp_path / "bored.toml"), "--into", str(tmp_path / "out")])
    told = capsys.readouterr()
    assert words in told.err
    assert (status, told.out.count("checks hold")) == (2, 0)
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_gives_status_2(tmp_path, capsys):
    (tmp_path / "taken").write_text("a file")
    assert main(["apple-washer", "--into", str(tmp_path / "taken")]) == 2
    assert "taken" in capsys.readouterr().err


def test_a_reader_that_leaves_early_is_no_error(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-m", "gearwork", "--keys"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_help_says_what_it_does_and_what_the_status_means(capsys):
    with pytest.raises(SystemExit) as done:
        main(["--help"])
    assert done.value.code == 0
    told = capsys.readouterr().out
    assert "DESIGN.toml" in told
    assert "exit status" in told


def test_stopping_it_leaves_nothing_half_way(tmp_path, capsys, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("gearwork.solve", stopped)
    assert main(["--into", str(tmp_path / "out")]) == 2
    assert "nothing was written half-way" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_where_nothing_can_be_made_of_a_file_the_ways_out_are_written_alone(
    tmp_path, capsys, monkeypatch
):
    asked = example_text("cider-mill").replace("max_diameter", "# max_diameter")
    (tmp_path / "hard.toml").write_text(asked)

    def none(*_):
        raise NoMachineError("no train was found")

    way = SimpleNamespace(text='title = "A way"\n')
    monkeypatch.setattr("gearwork.solve", none)
    monkeypatch.setattr("gearwork.ways_out", lambda *_, **__: (way,))
    assert main([str(tmp_path / "hard.toml"), "--into", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert told.startswith("gearwork: no train was found")
    assert f"Run it: gearwork {tmp_path / 'out' / 'way-1.toml'}" in told
    assert (tmp_path / "out" / "way-1.toml").read_text() == way.text
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {"way-1.toml", "gearwork-files.txt"}


def test_the_verdict_stands_before_a_file_is_written(tmp_path, capsys, monkeypatch):
    told = []

    def writing(*_, **__):
        told.append(capsys.readouterr().out)
        raise KeyboardInterrupt

    monkeypatch.setattr("gearwork.write_files", writing)
    assert main(["apple-washer", "--into", str(tmp_path / "out")]) == 2
    assert told[0].startswith("Apple washer: ")
    assert "checks hold" in told[0]
    assert not (tmp_path / "out").exists()


def test_progress_is_told_on_a_terminal(capsys, monkeypatch):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    gearwork.cli._progress("drawing the parts")
    assert capsys.readouterr().err.endswith("drawing the parts")


def test_a_title_of_any_letters_is_one_line_and_no_command_for_the_terminal(tmp_path):
    """Line feed, bell, colour codes, letters no font has; warnings would be errors."""
    title = "M\\u00fchle \\U0001F4A5\\n\\u001b[31m \\u6c34\\u8eca \\u0007 \\u202e \\ufffe"
    path = tmp_path / "mill.toml"
    path.write_text(f'title = "{title}"\n{example_text("apple-washer")}', "utf-8")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "gearwork", str(path)],
        cwd=tmp_path, capture_output=True, encoding="utf-8",
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("M\u00fchle \U0001f4a5 [31m \u6c34\u8eca: pass.")
    assert all(one.isprintable() or one == "\n" for one in done.stdout)
