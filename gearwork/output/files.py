"""Writing files whole or not at all, and never over something that is not ours."""

import errno
import hashlib
import os
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from gearwork.errors import GearworkError, need

MANIFEST = "gearwork-files.txt"
_STAGING = ".gearwork-unfinished"
_LARGEST_MANIFEST = 1_000_000
_HEADING = (
    "# Files written by gearwork, with their SHA-256 checksums (sha256sum -c reads this list).\n"
    "# A file that has changed since is yours: gearwork will not write over it.\n"
)
_UNFINISHED = "# unfinished: the run that wrote here was interrupted; run it again\n"

_WAYS_OUT = {
    errno.ENOSPC: "the disk is full: make room or choose another folder",
    errno.EDQUOT: "your share of the disk is used up: make room or choose another folder",
    errno.EROFS: "the disk is read-only: choose another folder",
    errno.EACCES: "writing is not allowed: choose another folder, or close the program using it",
    errno.EPERM: "writing is not allowed: choose another folder",
    errno.ENOTDIR: "a part of the path is a file, not a folder: choose another folder",
    errno.EEXIST: "a file stands where a folder is needed: choose another folder",
    errno.ENAMETOOLONG: "the name is too long: choose a shorter one",
}


def folder_of(given: object) -> Path:
    """Return the path of a folder, or refuse what is none."""
    return Path(need("folder", given, str | os.PathLike, "a path", '"my-gears"'))


def write_set(
    folder: str | os.PathLike[str], files: Mapping[str, bytes], *, clear: bool = False
) -> list[Path]:
    """Write a set of files into a folder: all of them, or none and the old ones stay.

    A list of names and checksums is kept in the folder (`MANIFEST`). A file is replaced only
    if it stands in that list and has not changed since.
    """
    home = folder_of(folder)
    _check_names(files)
    with _explained(home):
        known, _ = _read_manifest(home)
        changed = {
            name: data for name, data in files.items() if _must_write(home, name, data, known)
        }
        ours = {name for name in known.keys() - files if _is_ours(home / name, known)}
        listed = {name: {_checksum(data)} for name, data in files.items()}
        if not clear:
            listed |= {name: known[name] for name in ours}
        _replace_together(home, changed, ours if clear else set(), known, listed)
    return [home / name for name in files]


def written_files(folder: str | os.PathLike[str]) -> list[Path]:
    """Return the files that gearwork wrote into a folder and that stand in its list."""
    home = folder_of(folder)
    try:
        listed, finished = _read_manifest(home)
    except (OSError, ValueError) as error:
        if isinstance(error, GearworkError):
            raise
        reason = getattr(error, "strerror", None) or "no path can be named so"
        raise GearworkError(f"{str(home)!r} cannot be read: {reason}") from error
    if not listed:
        raise GearworkError(f"{home} holds no {MANIFEST}: it must be a folder gearwork wrote")
    if not finished:
        raise GearworkError(f"{home} was left half-way by an interrupted run: run it again")
    for name in listed:
        if name != Path(name).name or not (home / name).is_file():
            raise GearworkError(f"{home / name} is missing: write the folder again")
    return [home / name for name in listed]


def changed_files(folder: str | os.PathLike[str]) -> set[str]:
    """Return the names of listed files that have changed since gearwork wrote them."""
    home = Path(folder)
    known, _ = _read_manifest(home)
    return {name for name in known if not _is_ours(home / name, known)}


def _check_names(files: Mapping[str, bytes]) -> None:
    seen: set[str] = {MANIFEST, _STAGING}
    for name in files:
        if not re.fullmatch(r"\w[\w .+=,()-]*", name) or name != name.strip():
            raise GearworkError(
                f"file name is {name!r}: letters, digits, spaces and .-_+=,() are possible"
            )
        if name.lower() in seen:
            raise GearworkError(f"file name {name!r} stands twice: give each file its own name")
        seen.add(name.lower())


def _is_ours(path: Path, known: Mapping[str, set[str]]) -> bool:
    """Whether a file stands as gearwork wrote it."""
    plain = path.is_file() and not path.is_symlink()
    return plain and _checksum(path.read_bytes()) in known.get(path.name, set())


def _must_write(home: Path, name: str, data: bytes, known: Mapping[str, set[str]]) -> bool:
    """Whether the file is new or changed; an error if it is in the way and not ours."""
    target = home / name
    if not (target.exists() or target.is_symlink()):
        return True
    if target.is_symlink() or not target.is_file():
        raise GearworkError(
            f"{target} is a {'link' if target.is_symlink() else 'folder'}: a file of that name"
            " must be written; move it away or choose another folder"
        )
    if target.read_bytes() == data:
        return False
    if not _is_ours(target, known):
        raise GearworkError(
            f"{target} was changed or made by somebody else: it is not overwritten;"
            " move it away or choose another folder"
        )
    return True


def _replace_together(
    home: Path,
    changed: Mapping[str, bytes],
    leftovers: set[str],
    known: Mapping[str, set[str]],
    listed: Mapping[str, set[str]],
) -> None:
    """Put new files in place and take leftovers away, or leave the folder as it was."""
    names = known.keys() | listed.keys()
    either = {name: known.get(name, set()) | listed.get(name, set()) for name in names}
    final = {**changed, MANIFEST: _manifest(listed)}
    with _staging_folder(home) as staging:
        # Should the machine stop below, old and new files are both still known as ours.
        _put(staging / "both", _UNFINISHED.encode() + _manifest(either))
        for name, data in final.items():
            _put(staging / f"new-{name}", data)
        kept = [name for name in (*final, *leftovers) if (home / name).exists()]
        for name in kept:
            _put(staging / f"old-{name}", (home / name).read_bytes())
        try:
            os.replace(staging / "both", home / MANIFEST)
            for name in leftovers:
                (home / name).unlink()
            for name in final:
                os.replace(staging / f"new-{name}", home / name)
        except BaseException:
            for name in final.keys() - kept:
                (home / name).unlink(missing_ok=True)
            for name in kept:
                os.replace(staging / f"old-{name}", home / name)
            raise


@contextmanager
def _staging_folder(home: Path) -> Iterator[Path]:
    """Hold a folder beside the files: moving between them takes no room on the disk.

    What had to be made for it is taken away again if the work inside fails.
    """
    missing = [path for path in (home, *home.parents) if not path.exists()]
    staging = home / _STAGING
    try:
        home.mkdir(parents=True, exist_ok=True)
        if staging.exists():
            shutil.rmtree(staging)
        staging.mkdir()
        try:
            yield staging
        finally:
            shutil.rmtree(staging, ignore_errors=True)
    except BaseException:
        for path in missing:
            with suppress(OSError):
                path.rmdir()
        raise


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """Turn an error of the operating system into one sentence."""
    try:
        yield
    except OSError as error:
        reason = _WAYS_OUT.get(error.errno or 0, error.strerror or str(error))
        raise GearworkError(f"{path} cannot be written: {reason}") from error
    except ValueError as error:
        if isinstance(error, GearworkError):
            raise
        raise GearworkError(f"{str(path)!r} cannot be written: no path can be named so") from error


def _put(path: Path, data: bytes) -> None:
    with open(path, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _checksum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _manifest(listed: Mapping[str, set[str]]) -> bytes:
    lines = [f"{digest}  {name}\n" for name in sorted(listed) for digest in sorted(listed[name])]
    return (_HEADING + "".join(lines)).encode()


def _read_manifest(home: Path) -> tuple[dict[str, set[str]], bool]:
    """Names and checksums of the list in the folder, if any, and whether its run came to an end."""
    try:
        with open(home / MANIFEST, encoding="utf-8", errors="replace") as file:
            text = file.read(_LARGEST_MANIFEST)
    except FileNotFoundError:
        return {}, True
    if not text.startswith(_HEADING[:27]) and not text.startswith(_UNFINISHED):
        raise GearworkError(
            f"{home / MANIFEST} is no list that gearwork wrote: move it away or choose another"
            " folder"
        )
    listed: dict[str, set[str]] = {}
    for line in text.splitlines():
        digest, gap, name = line.partition("  ")
        if gap and not line.startswith("#"):
            listed.setdefault(name, set()).add(digest)
    return listed, _UNFINISHED not in text
