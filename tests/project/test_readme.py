"""What the README says is true: its tour, its commands, its pictures, its links, its table."""

import configparser
import io
import re
import runpy
import shlex
import subprocess
import sys
from contextlib import redirect_stdout
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def blocks(language):
    return re.findall(rf"^```{language}\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def test_the_tour_has_ten_lines_and_prints_what_stands_below_it():
    (tour,), (told,) = blocks("python"), blocks("text")
    assert len([line for line in tour.splitlines() if line]) == 10
    with redirect_stdout(io.StringIO()) as printed:
        exec(compile(tour, "README.md", "exec"), {})
    assert printed.getvalue() == told


def commands():
    lines = [line for block in blocks("sh") for line in block.splitlines()]
    return [shlex.split(part) for line in lines for part in line.split("&&")]


def test_every_command_is_one_that_is_tried_here():
    kinds = {
        ("python3", "-m", "venv", ".venv"),  # by the continuous integration, as the README has it
        (".venv/bin/python", "-m", "pytest", "-n", "2"),
        (".venv/bin/jupyter", "lab", "notebooks"),
    }
    begins = ("cp",), (".venv/bin/pip", "install", "-e"), (".venv/bin/python", "-m", "gearwork")
    for command in map(tuple, commands()):
        assert command in kinds or any(command[: len(b)] == b for b in begins), command


def test_what_is_installed_brings_what_is_run():
    setup = configparser.ConfigParser()
    setup.read(ROOT / "setup.cfg", "utf-8")
    extras = setup["options.extras_require"]
    installed = {command[3] for command in commands() if command[:3:2] == [".venv/bin/pip", "-e"]}
    assert installed == {".", ".[test]", ".[notebook]"}
    assert {"pytest>=8", "pytest-xdist>=3.8"} <= set(extras["test"].split())
    assert "jupyterlab>=4" in extras["notebook"]
    assert (ROOT / "notebooks").is_dir()


def copies():
    return [command[1:] for command in commands() if command[0] == "cp"]


@pytest.mark.parametrize(
    ("source", "target"),
    [pytest.param(*copy, marks=pytest.mark.slow) for copy in copies()],
)
def test_ones_own_is_made_by_the_commands_that_are_told(source, target, tmp_path):
    (tmp_path / target).write_bytes((ROOT / source).read_bytes())
    (run,) = [command for command in commands() if target in command and command[0] != "cp"]
    done = subprocess.run(
        [sys.executable, *run[1:]], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / run[-1] / "job-sheet.html").exists()


def test_two_gears_come_first_as_the_file_that_is_copied():
    source, _ = copies()[0]
    assert blocks("toml")[0] == (ROOT / source).read_text("utf-8")


def test_links_lead_somewhere():
    targets = re.findall(r"\]\(([^)#]+)\)", README)
    assert [t for t in targets if "://" not in t and not (ROOT / t).exists()] == []


def test_every_kind_of_file_that_is_written_is_told():
    table = README.split("| file | what it is |")[1].split("\n\n")[0]
    told = {
        word for name in re.findall(r"`([^`]*)`", table) for word in re.findall("^[a-z]+", name)
    }
    parts = {"wheel", "side", "retaining", "foot", "lid", "end", "cradle"}  # one each
    first_words = {re.match("[a-z]+", path.name)[0] for path in (ROOT / "output").iterdir()}
    assert first_words - parts == told


def test_ratios_of_the_example_are_those_told(hauler):
    low, high = hauler.duty.ratio_range
    assert f"from {low:.1f} to {high:.0f}" in README.replace("\n", " ")
    assert f"have {hauler.train.ratio:.1f}." in README
    assert hauler.duty.drive.starting_torque < hauler.duty.load.starting_torque


def test_pictures_are_small_and_those_the_script_draws():
    shown = {Path(name).name for name in re.findall(r"!\[[^]]+\]\(([^)]+)\)", README)}
    drawn = runpy.run_path(str(ROOT / "notebooks" / "make_pictures.py"))["pictures"]()
    assert shown == set(drawn)
    for name, data in drawn.items():
        path = ROOT / "notebooks" / "pictures" / name
        assert path.stat().st_size < 150_000
        if path.suffix == ".svg":
            assert path.read_bytes() == data
            continue
        with Image.open(path) as stored, Image.open(io.BytesIO(data)) as fresh:
            # Letters vary with the versions of libraries, and by a pixel the room they leave.
            assert all(abs(a - b) < 4 for a, b in zip(stored.size, fresh.size, strict=True))
            old, new = (
                np.asarray(image.resize((60, 45)).convert("L"), float) for image in (stored, fresh)
            )
            assert np.abs(old - new).mean() < 4.0  # of 255
