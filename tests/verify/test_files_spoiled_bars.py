"""Files of a rack in pieces: read back whole; a piece gone, swapped or mirrored is told."""

import shutil

import pytest

import gearwork as gw
from gearwork.output.drawing.spacing import design_spacing
from gearwork.output.dxf import drawing_dxf
from gearwork.output.write import write_folder
from gearwork.spec.spec import example_text, parse_brief
from gearwork.verify.files import _bored, _distance_checks
from gearwork.verify.read_dxf import CutFiles
from tests.support import spoiling as s

SMALL = "stock = { width = 300.0, height = 300.0 }\n[[stage]]"
A, B = "rack-1-grain-0-piece-a", "rack-1-grain-0-piece-b"


@pytest.fixture(scope="module")
def slide():
    text = example_text("press-slide").replace("[[stage]]", SMALL)
    return gw.solve(parse_brief(text, "slide.toml"))


@pytest.fixture(scope="module")
def folder(slide, tmp_path_factory):
    home = tmp_path_factory.mktemp("bars") / "files"
    write_folder(slide, home)
    return home


@pytest.mark.slow
def test_every_piece_has_its_file_lies_on_the_sheets_and_rolls(slide, folder):
    """471 mm of bar on sheets of 300 mm: in two along the grain, in three askew."""
    assert slide.bar(0).butts == ((15,), (8, 22))
    names = [part.name for part in slide.parts if "piece" in part.name]
    wanted = ("0 piece A", "0 piece B", "45 piece C", "45 piece D")
    assert names == [f"rack 1 grain {at}" for at in wanted]
    assert [part.count for part in slide.parts if "piece C" in part.name] == [2]
    found = gw.check_files(folder, slide)
    assert found.ok, str(found)
    for name in names:
        file = f"{name.lower().replace(' ', '-')}.dxf"
        assert {"backlash", "size"} <= {c.judged for c in found if file in c.part + c.why}


def told(folder, slide, tmp_path, stem, change):
    home = tmp_path / "copy"
    shutil.copytree(folder, home)
    dxf = s.Dxf((home / f"{stem}.dxf").read_text())
    change(dxf)
    (home / f"{stem}.dxf").write_text(dxf.text)
    return [check.name for check in s.checks_of_pieces(slide, CutFiles(home)) if not check.ok]


def bar(dxf, letter):
    """Everything of the piece on which its name stands."""
    name = next(t for t in dxf.of("TEXT") if s.get(t, 1).endswith(f"piece {letter}"))
    (x, y), found = s.points(name)[0], []
    for edge in dxf.on("outer-edge"):
        across, up = zip(*s.points(edge), strict=True)
        if min(across) < x < max(across) and min(up) < y < max(up):
            found.append(edge)
    (edge,) = found
    return edge, dxf.piece(edge)


def mirrored(dxf):
    edges = dxf.on("outer-edge")
    edge, everything = bar(dxf, "A") if len(edges) > 1 else (edges[0], dxf.entities)
    s.mirror(everything, s.middle(edge))


def renamed(dxf):
    name = next(t for t in dxf.of("TEXT") if s.get(t, 1).endswith("piece A"))
    s.put(name, 1, s.get(name, 1)[:-1] + "B")


def sheet_of(slide, letter):
    (number,) = (
        sheet.number
        for sheet in slide.sheets
        for part in sheet.parts
        if part.name.endswith(f"piece {letter}")
    )
    return f"sheet-{number}"


def gone(dxf):
    _, everything = bar(dxf, "A")
    dxf.entities[:] = [entity for entity in dxf.entities if entity not in everything]


@pytest.mark.parametrize("change", [gone, mirrored, renamed])
def test_a_piece_gone_mirrored_or_of_another_name_on_a_sheet_is_told(
    folder, slide, tmp_path, change
):
    assert told(folder, slide, tmp_path, sheet_of(slide, "A"), change)


def shorter(dxf):
    """The end of the bar a pitch farther in."""
    (edge,) = dxf.on("outer-edge")
    right = max(x for x, _ in s.points(edge))
    s.mapped([edge], lambda x, y: (x - 0.3 if x > right - 0.01 else x, y))


@pytest.mark.parametrize("change", [mirrored, renamed, shorter])
def test_a_piece_mirrored_renamed_or_cut_short_in_its_file_is_told(folder, slide, tmp_path, change):
    assert told(folder, slide, tmp_path, A, change)


def test_two_pieces_in_each_others_files_are_told(folder, slide, tmp_path):
    """A and B have as many teeth; their screw holes lie otherwise."""
    other = s.Dxf((folder / f"{B}.dxf").read_text())

    def swap(dxf):
        dxf.head, dxf.entities, dxf.tail = other.head, other.entities, other.tail

    assert told(folder, slide, tmp_path, A, swap)


def test_a_rack_moved_in_the_drawing_of_a_machine_is_told(gate, tmp_path):
    """Half a millimetre farther from the pinion, or along the bar, as its hole is drawn."""
    stage = gate.on_bed
    text = drawing_dxf(design_spacing(gate)).decode()
    for x, y, off in ((0.0, 0.0, 0.0), (0.0, 0.5, 0.5), (0.0, -0.5, 0.5)):
        dxf = s.Dxf(text)
        (hole,) = (
            e for e in dxf.of("CIRCLE") if s.get(e, 8) == "holes" and float(s.get(e, 40)) == 2.25
        )
        s.move([hole], x, y)
        (tmp_path / "spacing.dxf").write_text(dxf.text)
        (found,) = _distance_checks(gate, stage, *_bored(CutFiles(tmp_path), gate, stage))
        assert found.judged == "centre distance in the drawing"
        assert found.ok == (off == 0.0)
        assert found.value == pytest.approx(off, abs=1e-3)
