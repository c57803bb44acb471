"""A pair of gears written once, with all there can be in its folder, for files to be spoiled."""

import shutil

import pytest

import gearwork as gw
from gearwork.spec.spec import parse_brief

TEXT = """
title = "Seed drill"
sheet = { kind = "plywood", wood = "birch", thickness = 12.0 }
bit = { diameter = 3.0 }
cutting = { bit_paths = true, tabs = 3 }

[[stage]]
module = 6.0
pinion_teeth = 12
wheel_teeth = 26
pinion_shift = 0.3
thinning = 0.2
layers = 2
bores = [12.0, 12.0]
torque = 0.5
speed = 150.0

[stage.windows]
count = 4
rim_thickness = 10.0
spoke_width = 14.0
hub_diameter = 44.0
corner_diameter = 10.0
"""


@pytest.fixture(scope="session")
def drill():
    return gw.solve(parse_brief(TEXT, "seed-drill.toml"))


@pytest.fixture(scope="session")
def drill_files(drill, tmp_path_factory):
    """Everything written for it; a test that changes a file takes a copy."""
    folder = tmp_path_factory.mktemp("drill") / "files"
    found = gw.write_files(drill, folder)
    assert [check.name for check in found.failed if check.kind == "file"] == []
    return folder


@pytest.fixture(scope="package")
def drill_copy(drill_files, tmp_path_factory):
    """A copy, of which one file at a time is spoiled and made good again."""
    copy = tmp_path_factory.mktemp("spoiled") / "files"
    shutil.copytree(drill_files, copy)
    return copy
