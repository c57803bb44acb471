"""What a wheel is packed from holds everything the main job needs."""

import os
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


# A terminal that knows letters of ASCII alone, and files opened in no encoding of their own.
ASCII = {
    "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"
}  # fmt: skip
HARSH = {**ASCII, "HOME": "/nowhere", "PYTHONDONTWRITEBYTECODE": "1"}


def main_job(installed, folder, environment):
    """Of the installed package alone: neither this folder nor the user's are looked at (-s, -P)."""
    code = (
        f"import sys; sys.path.insert(0, {str(installed)!r})\n"
        "import gearwork\n"
        "from gearwork.cli import main\n"
        f"assert gearwork.__file__.startswith({str(installed)!r})\n"
        "sys.exit(main([]))"
    )
    folder.mkdir()
    done = subprocess.run(
        [sys.executable, "-s", "-P", "-W", "error", "-c", code],
        cwd=folder, env=environment, capture_output=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert (folder / "output" / "job-sheet.html").is_file()
    return done


@pytest.mark.slow
def test_the_main_job_runs_without_the_repository(packed, tmp_path):
    """From a path with blanks, without a home, on an ASCII terminal, on a read-only install."""
    installed = shutil.copytree(packed, tmp_path / "my programs" / "of wood")
    before = {path: path.stat().st_mtime_ns for path in installed.rglob("*")}
    for path in before:
        path.chmod(0o555 if path.is_dir() else 0o444)  # root may write all the same: see below
    done = main_job(installed, tmp_path / "my gears", {"PATH": os.environ["PATH"], **HARSH})
    assert {path: path.stat().st_mtime_ns for path in installed.rglob("*")} == before
    assert done.stdout.decode("ascii").startswith("Orchard crate hauler")
    assert done.stderr == b""


@pytest.mark.slow
@pytest.mark.parametrize("environment", [{}, {"HOME": "/nowhere"}, ASCII, {"TERM": "dumb"}])
def test_the_main_job_runs_in_each_environment(packed, tmp_path, environment):
    main_job(packed, tmp_path / "gears", {"PATH": os.environ["PATH"], **environment})
