"""Ways to spoil what stands in the folder; each told, refused, or harmless for a reason."""

import hashlib
import re
import shutil

import pytest
from volume import every

import gearwork as gw
from gearwork.output.files import _UNFINISHED, MANIFEST, written_files
from gearwork.verify.files import _folder_faults

PART, OTHER = "wheel-1-grain-0", "wheel-1-grain-45"


@pytest.fixture
def home(drill_files, tmp_path):
    return shutil.copytree(drill_files, tmp_path / "files")


def toml(old, new):
    def spoil(home):
        path = home / "design.toml"
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")

    return spoil


def unlisted(*names, gone=False):
    def spoil(home):
        path = home / MANIFEST
        lines = path.read_text("utf-8").splitlines(keepends=True)
        kept = [line for line in lines if line[66:].strip() not in names]
        assert len(kept) == len(lines) - len(names)
        path.write_text("".join(kept), "utf-8")
        for name in names if gone else ():
            (home / name).unlink()

    return spoil


def beside(name, source=f"{PART}.dxf"):
    def spoil(home):
        (home / name).parent.mkdir(exist_ok=True)
        shutil.copy(home / source, home / name)

    return spoil


def gone(name):
    return lambda home: (home / name).unlink()


def written(name, data):
    return lambda home: (home / name).write_bytes(data)


def added(name, data=b"\n"):
    return lambda home: (home / name).write_bytes((home / name).read_bytes() + data)


def listed(change):
    def spoil(home):
        path = home / MANIFEST
        path.write_text(change(path.read_text("utf-8")), "utf-8")

    return spoil


def renamed(old, new):
    return lambda home: (home / old).rename(home / new)


def linked(home):
    (home / "elsewhere.html").write_text("<html>other gears</html>")
    (home / "job-sheet.html").unlink()
    (home / "job-sheet.html").symlink_to(home / "elsewhere.html")


SPOILED = {
    "another thickness": (toml("thickness = 12.0", "thickness = 15.0"), "design.toml was changed"),
    "another title": (toml("Seed drill", "Weed drill"), "design.toml was changed"),
    "other teeth": (toml("wheel_teeth = 26", "wheel_teeth = 27"), "design.toml was changed"),
    "one stage more": (
        toml("[[stage]]", "[[stage]]\nmodule = 5.0\npinion_teeth = 14\nwheel_teeth = 20\n"
             "bores = [8.0, 8.0]\n[[stage]]"), "design.toml was changed"),
    "another bit": (toml("diameter = 3.0", "diameter = 3.175"), "design.toml was changed"),
    "other tabs": (toml("tabs = 3", "tabs = 2"), "design.toml was changed"),
    "another wood": (toml('"birch"', '"thin-veneer spruce"'), "design.toml was changed"),
    "a remark": (toml("[[stage]]", "# mine\n[[stage]]"), "design.toml was changed"),
    "no path in the list": (unlisted("sheet-1-bit-path.dxf"), "sheet-1-bit-path.dxf is not in"),
    "no path at all": (
        unlisted("sheet-1-bit-path.dxf", gone=True), "sheet-1-bit-path.dxf is not in"),
    "no layer": (unlisted(f"{OTHER}.dxf", gone=True), f"{OTHER}.dxf is not in the list"),
    "no drawing of a layer": (unlisted(f"{OTHER}.svg", gone=True), f"{OTHER}.svg is not in"),
    "no sheet": (unlisted("sheet-1.dxf", gone=True), "sheet-1.dxf is not in the list"),
    "no print": (unlisted("spacing.pdf", gone=True), "spacing.pdf is not in the list"),
    "no drawing to drill by": (unlisted("spacing.dxf", gone=True), "spacing.dxf is not in"),
    "no job sheet": (unlisted("job-sheet.html", gone=True), "job-sheet.html is not in the list"),
    "no paper of the broken teeth": (
        unlisted("break-test.html", gone=True), "break-test.html is not in the list"),
    "no test piece": (
        unlisted("test-piece-wheel.dxf", gone=True), "test-piece-wheel.dxf is not in the list"),
    "a strange cut file": (beside("washer.dxf"), "washer.dxf is no file of this design"),
    "a copy under another name": (beside(f"{PART} (1).dxf"), "is no file of this design"),
    "a layer of an older design": (beside("wheel-1.dxf"), "wheel-1.dxf is no file of this"),
    "a cut file in capitals": (beside("WASHER.DXF"), "WASHER.DXF is no file of this design"),
    "a machine's program": (written("sheet-1.nc", b"G0"), "sheet-1.nc is no file of this design"),
    "a machine's program of another ending": (written("sheet-1.cnc", b"G0"), "sheet-1.cnc is no"),
    "a drawing of another program": (written("sheet-1.dwg", b"AC10"), "sheet-1.dwg is no file"),
    "lines for a plotter": (written("sheet-1.plt", b"IN;"), "sheet-1.plt is no file"),
    "a drawing that is packed": (written("sheet-1.svgz", b"\x1f\x8b"), "sheet-1.svgz is no file"),
    "a sheet more": (beside("sheet-2.dxf", "sheet-1.dxf"), "sheet-2.dxf is no file"),
    "a part as a solid": (written("washer.step", b"ISO"), "washer.step is no file"),
    "a part as triangles": (written("washer.stl", b"solid"), "washer.stl is no file"),
    "an older print": (beside("spacing (1).pdf", "spacing.pdf"), "spacing (1).pdf is no file"),
    "a print as another program left it": (
        beside("spacing (conflicted copy).pdf", "spacing.pdf"), "spacing (conflicted copy).pdf is"),
    "an older job sheet": (beside("job-sheet-old.html", "job-sheet.html"), "job-sheet-old.html is"),
    "a copied job sheet": (beside("Job-Sheet (1).HTML", "job-sheet.html"), "Job-Sheet (1).HTML is"),
    "older words": (beside("job-sheet 2.txt", "job-sheet.txt"), "job-sheet 2.txt is no file"),
    "an older design": (beside("design (1).toml", "design.toml"), "design (1).toml is no file"),
    "a picture of a sheet": (written("sheet-1.png", b"PNG"), "sheet-1.png is no file"),
    "sheets that are packed": (written("sheet-1 (1).zip", b"PK"), "sheet-1 (1).zip is no file"),
    "a print that was changed": (added("spacing.pdf"), "spacing.pdf was changed"),
    "a job sheet that was changed": (added("job-sheet.html"), "job-sheet.html was changed"),
    "a job sheet of words that was changed": (added("job-sheet.txt"), "job-sheet.txt was changed"),
    "a job sheet that is a link": (linked, "job-sheet.html was changed"),
    "the paper of the broken teeth": (added("break-test.html"), "break-test.html was changed"),
}  # fmt: skip

REFUSED = {
    "a file gone": (gone(f"{PART}.dxf"), f"{PART}.dxf is missing"),
    "a print gone": (gone("spacing.pdf"), "spacing.pdf is missing"),
    "a path gone": (gone("sheet-1-bit-path.svg"), "sheet-1-bit-path.svg is missing"),
    "the design file gone": (gone("design.toml"), "design.toml is missing"),
    "the list gone": (gone(MANIFEST), f"holds no {MANIFEST}"),
    "the list empty": (written(MANIFEST, b""), "no list that gearwork wrote"),
    "another list": (written(MANIFEST, b"apples, pears"), "no list that gearwork wrote"),
    "a list of headings": (
        listed(lambda text: "\n".join(text.splitlines()[:2]) + "\n"), f"holds no {MANIFEST}"),
    "a file in another case": (renamed(f"{PART}.dxf", f"{PART.upper()}.dxf"), "is missing"),
    "a name that leads elsewhere": (
        listed(lambda text: f"{text}{'0' * 64}  ../{PART}.dxf\n"), "is missing"),
    "a list that was cut short": (
        listed(lambda text: text[: -len(text) // 3]), "is missing|not in the list|no file"),
    "a folder in the place of a file": (
        lambda home: (gone(f"{PART}.dxf")(home), (home / f"{PART}.dxf").mkdir()), "is missing"),
    "a run that was interrupted": (
        listed(lambda text: _UNFINISHED + text), "left half-way"),
}  # fmt: skip

HARMLESS = {
    "notes of one's own": (written("notes.txt", b"cut on Monday"), "no machine cuts notes"),
    "a list to buy by": (written("bearings.pdf", b"%PDF-"), "it is like no paper of ours"),
    "what to know first": (written("README.html", b"<html>"), "it is like no paper of ours"),
    "a design file of one's own": (beside("drill.toml", "design.toml"), "it was run from here"),
    "a file before a change": (beside("job-sheet.html.bak", "job-sheet.html"), "nobody opens it"),
    "what systems leave": (
        lambda home: [written(name, b"")(home) for name in ("Thumbs.db", ".DS_Store")], "hidden"),
    "a cut file in a folder of its own": (beside(f"old/{PART}.dxf"), "it is not among the others"),
    "a photo": (written("wheel.jpg", b"\xff\xd8"), "no machine cuts photos"),
    "an older run's list": (written(f"{MANIFEST}.bak", b""), "it is asked of nobody"),
    "lines of the list in another order": (
        listed(lambda text: "".join([*text.splitlines(True)[:2], *text.splitlines(True)[:1:-1]])),
        "a list has no order"),
    "a list with the ends of lines of another system": (
        listed(lambda text: text.replace("\n", "\r\n")), "the same list"),
}  # fmt: skip


def told(home, design):
    written_files(home)
    return " ".join(_folder_faults(home, design))


@pytest.mark.parametrize(("way", "wanted"), every(4, SPOILED.values()), ids=SPOILED)
def test_a_spoiled_folder_is_told(drill, home, way, wanted):
    way(home)
    assert re.search(re.escape(wanted), told(home, drill))


@pytest.mark.parametrize(("way", "wanted"), REFUSED.values(), ids=REFUSED)
def test_a_folder_of_which_something_is_gone_is_refused(drill, home, way, wanted):
    way(home)
    try:
        said = told(home, drill)
    except gw.GearworkError as error:
        said = str(error)
    assert re.search(wanted, said)


@pytest.mark.parametrize(("way", "why"), HARMLESS.values(), ids=HARMLESS)
def test_what_harms_nobody_passes(drill, home, way, why):
    way(home)
    assert not told(home, drill), why


def exchanged(one, other):
    def spoil(home):
        data = (home / one).read_bytes()
        (home / one).write_bytes((home / other).read_bytes())
        (home / other).write_bytes(data)

    return spoil


def forged(way):
    """The list made good after the change, as if gearwork had written it."""

    def spoil(home):
        way(home)
        path = home / MANIFEST
        text = path.read_text("utf-8")
        for line in text.splitlines():
            digest, _, name = line.partition("  ")
            if name and not line.startswith("#"):
                text = text.replace(digest, hashlib.sha256((home / name).read_bytes()).hexdigest())
        path.write_text(text, "utf-8")

    return spoil


@pytest.mark.parametrize(
    ("way", "named"),
    every(4, [
        (exchanged(f"{PART}.dxf", f"{OTHER}.dxf"), f"{PART}.dxf"),
        (forged(exchanged(f"{PART}.dxf", f"{OTHER}.dxf")), f"{OTHER}.dxf"),
        (forged(exchanged("sheet-1.svg", f"{PART}.svg")), "sheet-1.svg"),
        (forged(exchanged("test-piece-wheel.dxf", "test-piece-pinion.dxf")), "test-piece-wheel"),
        (toml("thickness = 12.0", "thickness = 15.0"), "files of this design"),
        (toml("thinning = 0.2", "thinning = 0.25"), "pieces as designed"),
    ]),
    ids=["layers exchanged", "layers and list", "drawings and list", "test pieces and list",
         "thickness", "thinning"],
)  # fmt: skip
def test_the_whole_reading_names_what_does_not_fit(home, way, named):
    """Solved again from the design file that stands there."""
    way(home)
    failed = [check.name for check in gw.check_files(home).failed]
    assert any(named in name for name in failed), failed
