"""Names that notebooks and outside checks lean on."""

import subprocess
import sys
from pathlib import Path

import pytest

import gearwork as gw


def test_the_version_is_told_once_and_built_from_there():
    root = Path(gw.__file__).parents[1]
    assert "version = attr: gearwork.__version__" in (root / "setup.cfg").read_text("utf-8")
    assert gw.__version__.count(".") == 2


@pytest.mark.parametrize("room", [gw.checks, gw.machine, gw.stock])
def test_rooms_hold_their_names_and_explain_them(room):
    for name in room.__all__:
        assert getattr(room, name).__doc__, name
        assert name in dir(room)
    with pytest.raises(AttributeError, match=f"module '{room.__name__}' has no attribute 'gold'"):
        room.gold  # noqa: B018


def test_a_room_is_there_without_an_import_of_its_own():
    code = "import gearwork as gw; print(gw.machine.GivenDrive(1.0, 60.0).speed_at(0.0) > 0.0)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True"


def test_few_names_stand_at_the_top():
    assert len(gw.__all__) <= 51
