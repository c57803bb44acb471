"""What a wheel is packed from holds everything the main job needs."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
UNWANTED = shutil.ignore_patterns("__pycache__", "*.egg-info")


@pytest.fixture(scope="module")
def packed(tmp_path_factory):
    """The folder that setuptools packs into the wheel, from a copy: it leaves traces."""
    source, built = (tmp_path_factory.mktemp(name) for name in ("source", "built"))
    shutil.copytree(ROOT / "gearwork", source / "gearwork", ignore=UNWANTED)
    for name in ("setup.cfg", "pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    code = "import setuptools; setuptools.setup()"
    subprocess.run(
        [sys.executable, "-I", "-c", code, "-q", "build", "--build-lib", built],
        cwd=source,
        check=True,
        capture_output=True,
    )
    return built


def names(folder):
    files = (path for path in folder.rglob("*") if path.is_file())
    return {p.relative_to(folder).as_posix() for p in files if "__pycache__" not in p.parts}


def test_every_file_of_the_package_is_packed(packed):
    assert names(packed / "gearwork") == names(ROOT / "gearwork")


def test_the_main_job_runs_without_the_repository(packed, tmp_path):
    """Isolated (-I): neither this folder nor the environment's paths are looked at."""
    code = (
        f"import sys; sys.path.insert(0, {str(packed)!r})\n"
        "import gearwork\n"
        "from gearwork.cli import main\n"
        f"assert gearwork.__file__.startswith({str(packed)!r})\n"
        "sys.exit(main([]))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", code], cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "output" / "job-sheet.html").is_file()
