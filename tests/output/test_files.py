import hashlib
import os
import subprocess
import sys

import pytest

from gearwork.errors import GearworkError
from gearwork.output import files
from gearwork.output.files import MANIFEST, write_set, written_files

OLD = {"pinion.dxf": b"old pinion", "wheel.dxf": b"old wheel"}
NEW = {"pinion.dxf": b"new pinion", "wheel.dxf": b"new wheel", "spacing.pdf": b"new spacing"}


def content(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def failing_replace(monkeypatch, at, error):
    calls = []
    real = os.replace

    def replace(source, target):
        calls.append(target)
        if len(calls) == at:
            raise error
        real(source, target)

    monkeypatch.setattr(os, "replace", replace)


def test_writes_every_file_and_lists_them(tmp_path):
    home = tmp_path / "a" / "b"
    assert write_set(home, NEW) == [home / name for name in NEW]
    assert {name: data for name, data in content(home).items() if name != MANIFEST} == NEW
    assert written_files(home) == sorted(home / name for name in NEW)


def test_list_has_the_form_that_sha256sum_checks(tmp_path):
    write_set(tmp_path, OLD)
    lines = (tmp_path / MANIFEST).read_text().splitlines()
    assert f"{hashlib.sha256(b'old wheel').hexdigest()}  wheel.dxf" in lines


def test_own_unchanged_files_are_replaced(tmp_path):
    write_set(tmp_path, OLD)
    write_set(tmp_path, NEW)
    assert (tmp_path / "pinion.dxf").read_bytes() == b"new pinion"


def test_same_set_again_changes_nothing(tmp_path):
    write_set(tmp_path, OLD)
    before = content(tmp_path)
    write_set(tmp_path, OLD)
    assert content(tmp_path) == before


@pytest.mark.parametrize("edited", [b"mine", b""])
def test_edited_file_stays_and_nothing_else_is_written(tmp_path, edited):
    write_set(tmp_path, OLD)
    (tmp_path / "wheel.dxf").write_bytes(edited)
    before = content(tmp_path)
    with pytest.raises(GearworkError, match=r"wheel\.dxf.*not overwritten.*another folder"):
        write_set(tmp_path, NEW)
    assert content(tmp_path) == before


def test_file_of_somebody_else_stays(tmp_path):
    (tmp_path / "spacing.pdf").write_bytes(b"somebody's drawing")
    with pytest.raises(GearworkError, match=r"spacing\.pdf"):
        write_set(tmp_path, NEW)
    assert content(tmp_path) == {"spacing.pdf": b"somebody's drawing"}


def test_files_not_in_the_set_are_let_alone(tmp_path):
    (tmp_path / "diary.txt").write_bytes(b"dear diary")
    write_set(tmp_path, OLD, clear=True)
    assert (tmp_path / "diary.txt").read_bytes() == b"dear diary"


def test_clear_takes_away_own_leftovers_but_not_edited_ones(tmp_path):
    write_set(tmp_path, {**OLD, "stage2.dxf": b"x", "notes.txt": b"x"})
    (tmp_path / "notes.txt").write_bytes(b"edited")
    write_set(tmp_path, OLD, clear=True)
    assert not (tmp_path / "stage2.dxf").exists()
    assert (tmp_path / "notes.txt").read_bytes() == b"edited"
    assert written_files(tmp_path) == [tmp_path / name for name in OLD]


def test_without_clear_leftovers_stay_known_as_ours(tmp_path):
    write_set(tmp_path, {"test_piece.dxf": b"1"})
    write_set(tmp_path, OLD)
    write_set(tmp_path, {"test_piece.dxf": b"2"})
    assert (tmp_path / "test_piece.dxf").read_bytes() == b"2"


@pytest.mark.parametrize("at", range(1, 6))
def test_failure_at_any_step_leaves_the_old_files(tmp_path, monkeypatch, at):
    write_set(tmp_path, OLD)
    before = content(tmp_path)
    failing_replace(monkeypatch, at, OSError(28, "No space left on device"))
    with pytest.raises(GearworkError, match="disk is full: make room"):
        write_set(tmp_path, NEW)
    assert content(tmp_path) == before


@pytest.mark.parametrize("at", range(1, 6))
def test_failure_in_a_new_folder_leaves_no_folder(tmp_path, monkeypatch, at):
    failing_replace(monkeypatch, at, OSError(5, "Input/output error"))
    with pytest.raises(GearworkError, match="Input/output error"):
        write_set(tmp_path / "a" / "b", {**NEW, "sheet.svg": b"new"})
    assert content(tmp_path) == {}


def test_failure_while_clearing_brings_leftovers_back(tmp_path, monkeypatch):
    write_set(tmp_path, {**OLD, "stage2.dxf": b"x"})
    before = content(tmp_path)
    failing_replace(monkeypatch, 2, OSError(5, "Input/output error"))
    with pytest.raises(GearworkError):
        write_set(tmp_path, NEW, clear=True)
    assert content(tmp_path) == before


def test_interrupted_by_the_user_leaves_the_old_files(tmp_path, monkeypatch):
    write_set(tmp_path, OLD)
    before = content(tmp_path)
    failing_replace(monkeypatch, 3, KeyboardInterrupt())
    with pytest.raises(KeyboardInterrupt):
        write_set(tmp_path, NEW)
    assert content(tmp_path) == before


def test_killed_run_leaves_whole_files_and_the_next_run_mends_it(tmp_path):
    write_set(tmp_path, OLD)
    script = (
        "import os, sys\n"
        "from gearwork.output.files import write_set\n"
        "real, calls = os.replace, []\n"
        "def replace(*names):\n"
        "    calls.append(names)\n"
        "    os._exit(9) if len(calls) == 3 else real(*names)\n"
        "os.replace = replace\n"
        f"write_set(sys.argv[1], {NEW!r})\n"
    )
    run = subprocess.run([sys.executable, "-c", script, tmp_path], check=False)
    assert run.returncode == 9
    for name in OLD:
        assert (tmp_path / name).read_bytes() in (OLD[name], NEW[name])
    with pytest.raises(GearworkError, match="interrupted run: run it again"):
        written_files(tmp_path)
    write_set(tmp_path, NEW)
    assert {name: data for name, data in content(tmp_path).items() if name != MANIFEST} == NEW
    assert len(written_files(tmp_path)) == len(NEW)


def test_a_disk_that_takes_no_more_leaves_the_old_files(tmp_path):
    """A real failure of write(): the process may write no file above 1000 bytes."""
    resource = pytest.importorskip("resource")
    write_set(tmp_path, OLD)
    before = content(tmp_path)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    try:
        with pytest.raises(GearworkError, match="cannot be written"):
            write_set(tmp_path, {"wheel.dxf": b"new", "pinion.dxf": bytes(2000)})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert content(tmp_path) == before


def test_folder_that_may_not_be_written(tmp_path, monkeypatch):
    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "mkdir", refuse)
    with pytest.raises(GearworkError, match="writing is not allowed: choose another folder"):
        write_set(tmp_path, NEW)
    assert content(tmp_path) == {}


@pytest.mark.parametrize("where", ["taken", "taken/below", "n" * 300, "nul\0byte"])
def test_folder_that_cannot_be(tmp_path, where):
    (tmp_path / "taken").write_bytes(b"a file")
    with pytest.raises(GearworkError, match="cannot be written"):
        write_set(tmp_path / where, NEW)
    assert content(tmp_path) == {"taken": b"a file"}


@pytest.mark.parametrize(
    "name", ["../up.dxf", "a/b.dxf", "a\\b.dxf", "", ".hidden", "nul\0", "line\nbreak", "con: x"]
)
def test_names_that_are_no_plain_names(tmp_path, name):
    with pytest.raises(GearworkError, match="file name"):
        write_set(tmp_path, {name: b""})


@pytest.mark.parametrize("names", [("a.dxf", "A.dxf"), (MANIFEST,)])
def test_names_that_would_meet(tmp_path, names):
    with pytest.raises(GearworkError, match="stands twice"):
        write_set(tmp_path, dict.fromkeys(names, b""))


def test_folder_in_the_place_of_a_file(tmp_path):
    (tmp_path / "pinion.dxf").mkdir()
    with pytest.raises(GearworkError, match=r"pinion\.dxf is a folder"):
        write_set(tmp_path, NEW)


def test_link_in_the_place_of_a_file(tmp_path):
    (tmp_path / "pinion.dxf").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(GearworkError, match=r"pinion\.dxf is a link"):
        write_set(tmp_path, NEW)


def test_somebody_elses_list(tmp_path):
    (tmp_path / MANIFEST).write_text("shopping list")
    with pytest.raises(GearworkError, match="no list that gearwork wrote"):
        write_set(tmp_path, NEW)
    with pytest.raises(GearworkError, match="no list that gearwork wrote"):
        written_files(tmp_path)


def test_written_files_of_a_folder_that_is_not_ours(tmp_path):
    with pytest.raises(GearworkError, match="must be a folder gearwork wrote"):
        written_files(tmp_path)


def test_written_files_miss_one(tmp_path):
    write_set(tmp_path, OLD)
    (tmp_path / "wheel.dxf").unlink()
    with pytest.raises(GearworkError, match=r"wheel\.dxf is missing"):
        written_files(tmp_path)


def test_a_list_that_points_outside_is_refused(tmp_path):
    write_set(tmp_path / "home", OLD)
    (tmp_path / "secret").write_bytes(b"x")
    with open(tmp_path / "home" / MANIFEST, "a") as file:
        file.write(f"{'0' * 64}  ../secret\n")
    with pytest.raises(GearworkError, match="is missing"):
        written_files(tmp_path / "home")


def test_old_content_is_on_disk_before_anything_is_replaced(tmp_path, monkeypatch):
    """No write may happen between the first and the last replacement but the list itself."""
    write_set(tmp_path, OLD)
    events = []
    put, replace = files._put, os.replace
    monkeypatch.setattr(files, "_put", lambda path, data: (events.append("put"), put(path, data)))
    monkeypatch.setattr(os, "replace", lambda *names: (events.append("replace"), replace(*names)))
    write_set(tmp_path, NEW)
    assert "put" not in events[events.index("replace") :]
