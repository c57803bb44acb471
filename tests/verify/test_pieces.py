"""Ways to spoil plates, boards, feet, rings and wheels of a machine, each caught or refused.

The hauler: two plates with pockets and seats, boards with tenons in slots, feet, three sheets.
"""

import math
import shutil

import pytest
import spoiling as s
from volume import every

import gearwork as gw
from gearwork.spec.spec import parse_brief

A, B, WHEEL = "side-plate-a", "side-plate-b", "wheel-2-grain-0-lower-face"


@pytest.fixture(scope="module")
def folder(hauler_files, tmp_path_factory):
    return shutil.copytree(hauler_files, tmp_path_factory.mktemp("spoiled") / "files")


def on(dxf, begins):
    """Entities on layers that begin so."""
    return [e for e in dxf.entities if s.get(e, 8).startswith(begins)]


def slots(dxf):
    return [e for e in dxf.on("inner-edge") if e[0][1] == "LWPOLYLINE"]


def bores(dxf):
    return [e for e in dxf.on("inner-edge") if e[0][1] == "CIRCLE"]


def gone(choose):
    def spoil(dxf):
        entity = choose(dxf)[0]
        dxf.entities = [e for e in dxf.entities if e is not entity]

    return spoil


def moved(choose, x, y=0.0):
    return lambda dxf: s.move(choose(dxf)[:1], x, y)


def grown(choose, factor):
    return lambda dxf: s.scale(choose(dxf)[:1], factor, s.middle(choose(dxf)[0]))


def turned(choose, degrees):
    return lambda dxf: s.turn(choose(dxf)[:1], degrees, s.middle(choose(dxf)[0]))


def to_layer(choose, layer):
    def spoil(dxf):
        for entity in choose(dxf):
            s.put(entity, 8, layer)

    return spoil


def pockets(dxf):
    return on(dxf, "sunk-")


def holes(dxf):
    return dxf.on("holes")


def edge(dxf):
    return dxf.on("outer-edge")


def cuts(dxf):
    return [e for e in dxf.entities if s.get(e, 8) != "not-cut"]


def stretched(x, y):
    """Drawn out along or across by so many parts of its size."""
    return lambda dxf: s.mapped(edge(dxf), lambda a, b: (a * x, b * y))


def lengthened(by):
    """All that lies in the right half is moved to the right."""

    def spoil(dxf):
        middle = s.middle(edge(dxf)[0])[0]
        s.mapped(cuts(dxf), lambda a, b: (a + by * (a > middle), b))

    return spoil


def tenon(by):
    """What stands highest is cut shorter or longer."""

    def spoil(dxf):
        top = max(y for _, y in s.points(edge(dxf)[0]))
        s.mapped(edge(dxf), lambda a, b: (a, b + by * (b > top - 0.01)))

    return spoil


def mirrored(dxf):
    s.mirror(cuts(dxf), s.middle(edge(dxf)[0]))


def of(other):
    """The file of another part."""
    return other


OF_A_PLATE = {
    "a seat 1 mm too deep": to_layer(pockets, "sunk-10mm"),
    "a seat half a millimetre too deep": to_layer(pockets, "sunk-9_5mm"),
    "a seat cut through": to_layer(pockets, "inner-edge"),
    "a seat of no depth": to_layer(pockets, "sunk"),
    "a seat gone": gone(pockets),
    "a seat moved by 0.03 mm": moved(pockets, 0.03),
    "a seat moved by 4 mm": moved(pockets, 0.0, 4.0),
    "a seat 0.1 mm wider": grown(pockets, 1.0036),
    "a bore beside its seat": moved(bores, 0.05),
    "a bore as wide as its seat": grown(bores, 2.0),
    "a bore not cut": to_layer(bores, "not-cut"),
    "a bore drilled, not cut": to_layer(bores, "holes"),
    "a slot gone": gone(slots),
    "a slot moved by 0.05 mm": moved(slots, 0.05),
    "a slot moved by 20 mm": moved(slots, 0.0, 20.0),
    "a slot turned by a degree": turned(slots, 1.0),
    "a slot longer": grown(slots, 1.02),
    "a slot as a pocket": to_layer(slots, "sunk-5mm"),
    "a screw's hole gone": gone(holes),
    "a screw's hole moved": moved(holes, 2.0),
    "a screw's hole wider": grown(holes, 1.5),
    "screws' holes sunk": to_layer(holes, "sunk-2mm"),
    "the edge a millimetre larger": stretched(1.004, 1.0),
    "mirrored": mirrored,
    "turned over end": lambda dxf: s.turn(cuts(dxf), 90.0),
    "longer by 5 mm": lengthened(5.0),
    "longer by 0.05 mm": lengthened(0.05),
    "the other plate": of(B),
    "a grain arrow": lambda dxf: dxf.entities.append(
        [[0, "LINE"], [8, "not-cut"], [10, "0"], [20, "0"], [11, "30"], [21, "0"]]
    ),
    "the sheet": of("sheet-1"),
}
OF_A_BOARD = {
    "a tenon too short": tenon(-2.0),
    "a tenon too long": tenon(3.0),
    "a tenon 0.03 mm too long": tenon(0.03),
    "a board longer": lengthened(4.0),
    "a board 0.05 mm longer": lengthened(0.05),
    "a board that is higher": stretched(1.0, 1.01),
    "a board of another grain": lambda dxf: s.turn(cuts(dxf), 90.0),
    "a hole too many": lambda dxf: dxf.entities.append(
        s.circle("holes", *s.middle(edge(dxf)[0]), 6.0)
    ),
    "a board's edge open": lambda dxf: s.put(edge(dxf)[0], 70, "0"),
    "a board's edge not cut": to_layer(edge, "not-cut"),
}
OF_A_FOOT = {
    "a screw's hole gone": gone(holes),
    "a screw's hole moved": moved(holes, 3.0),
    "a screw's hole wider": grown(holes, 1.3),
    "the foot larger": stretched(1.05, 1.0),
    "another part": of("lid"),
}
OF_A_RING = {
    "a ring too narrow": grown(bores, 1.05),
    "a ring too wide": grown(bores, 0.95),
    "a ring out of its middle": moved(bores, 0.1),
    "a ring's hole turned": lambda dxf: s.turn(holes(dxf)[:1], 4.0),
    "two of three holes": gone(holes),
}
OF_A_WHEEL = {
    "a bolt's hole moved by 0.05 mm": moved(holes, 0.05),
    "a bolt's hole gone": gone(holes),
    "bolts' holes turned against the teeth": lambda dxf: s.turn(holes(dxf), 5.0),
    "a washer's pocket gone": gone(pockets),
    "a washer's pocket too deep": to_layer(pockets, "sunk-8mm"),
    "a window gone": gone(slots),
    "a window turned": turned(slots, 20.0),
    "a window into the rim": grown(slots, 1.2),
    "the other layer's file": of("wheel-2-grain-45"),
}


def nearest(dxf, name):
    """A piece on a sheet, by the place of the text that names it."""
    text = next(t for t in dxf.of("TEXT") if s.get(t, 1) == name)
    x, y = s.points(text)[0]
    return min(edge(dxf), key=lambda e: abs(s.middle(e)[0] - x) + abs(s.middle(e)[1] - y))


def named(name, change):
    return lambda dxf: change(dxf.piece(nearest(dxf, name)), s.middle(nearest(dxf, name)))


def across(dxf):
    x, y = s.points(next(t for t in dxf.of("TEXT") if s.get(t, 1) == "side plate B"))[0]
    ends = [[10, f"{x}"], [20, f"{y}"], [11, f"{x}"], [21, f"{y + 30.0}"]]
    dxf.entities.append([[0, "LINE"], [8, "not-cut"], *ends])


OF_SHEETS = {
    ("sheet-3", "a board against its grain"): named(
        "end board", lambda piece, middle: s.turn(piece, 90.0, middle)),
    ("sheet-3", "a board off the sheet"): named(
        "end board", lambda piece, middle: s.move(piece, -80.0, 0.0)),
    ("sheet-1", "a plate against its grain"): named(
        "side plate B", lambda piece, middle: s.turn(piece, 90.0, middle)),
    ("sheet-1", "a plate mirrored"): named(
        "side plate B", lambda piece, middle: s.mirror(piece, middle)),
    ("sheet-1", "an arrow across the grain on a plate"): across,
    ("sheet-2", "a seat on a sheet too deep"): to_layer(pockets, "sunk-7mm"),
    ("sheet-3", "the other sheet"): of("sheet-2"),
}  # fmt: skip


def table():
    parts = [
        (stem, name, way)
        for stem, ways in (
            (A, OF_A_PLATE),
            ("end-board", OF_A_BOARD),
            ("lid", {k: OF_A_BOARD[k] for k in list(OF_A_BOARD)[::3]}),
            ("foot-board", {k: OF_A_BOARD[k] for k in list(OF_A_BOARD)[1::3]} | OF_A_FOOT),
            ("foot-pad", OF_A_FOOT),
            ("retaining-ring", OF_A_RING),
            (WHEEL, OF_A_WHEEL),
        )
        for name, way in ways.items()
    ]
    rows = [*parts, *((stem, name, way) for (stem, name), way in OF_SHEETS.items())]
    return [pytest.param(*row, id=f"{row[0]}: {row[1]}") for row in rows]


@pytest.mark.parametrize(("stem", "name", "way"), every(5, table()))
def test_a_spoiled_part_of_a_machine_is_told(hauler, folder, stem, name, way):
    path = folder / f"{stem}.dxf"
    dxf = s.Dxf(path.read_text())
    if isinstance(way, str):
        text = (folder / f"{way}.dxf").read_text()
    else:
        way(dxf)
        text = dxf.text
    with s.spoiled(path, text.encode()):
        assert s.pieces_verdict(s.Known(folder, None, stem), hauler, stem)


def test_a_wheel_mirrored_is_the_same_wheel(hauler, folder):
    """Harmless: teeth, windows and holes of this one are symmetric, its grain lies along."""
    path = folder / f"{WHEEL}.dxf"
    dxf = s.Dxf(path.read_text())
    mirrored(dxf)
    with s.spoiled(path, dxf.text.encode()):
        assert not s.pieces_verdict(s.Known(folder, None, WHEEL), hauler, WHEEL)


@pytest.mark.parametrize("stem", [A, B, WHEEL, "lid", "foot-board", "sheet-1", "sheet-3"])
def test_each_as_written_is_sound(hauler, hauler_files, stem):
    files = s.Known(hauler_files, None, stem)
    counted = "pieces missing or too many"  # of one part alone, or of parts that lie elsewhere too
    found = [c for c in s.checks_of_pieces(s.Only(hauler, stem), files) if not c.ok]
    assert [c.name for c in found if not c.name.startswith(counted)] == []


@pytest.mark.parametrize("stem", ["sheet-1", "sheet-3"])
def test_every_arrow_on_a_sheet_is_that_of_its_face_grain(hauler, hauler_files, stem):
    """Barbs apart, which are short; plates, lid and pads, laid any way, have none."""
    dxf = s.Dxf((hauler_files / f"{stem}.dxf").read_text())
    said = [s.get(t, 1) for t in dxf.of("TEXT")]
    assert any(text.startswith("face grain along x (") for text in said)
    free = {part.name for part in hauler.parts if part.grain is None}
    assert free >= {"side plate A", "side plate B", "lid", "foot pad", "retaining ring"}
    for name in free.intersection(said):
        assert not [e for e in dxf.piece(nearest(dxf, name)) if e[0][1] == "LINE"]
    edge = sorted(dxf.of("LINE"), key=lambda e: -math.dist(*s.points(e)))[:4]
    shafts = [e for e in dxf.of("LINE") if e not in edge and math.dist(*s.points(e)) > 6.0]
    assert shafts
    assert {abs(a[1] - b[1]) < 1e-6 for a, b in map(s.points, shafts)} == {True}


LIKE = """
sheet = { kind = "plywood", wood = "birch", thickness = 9.0 }
bit = { diameter = 3.0 }

[[stage]]
module = 4.0
pinion_teeth = 14
wheel_teeth = 20
thinning = 0.2
bores = [8.0, 8.0]
"""


def test_parts_that_are_alike_are_told_apart_by_the_names_on_them(tmp_path):
    """Two stages of the same gears, one after the other."""
    stage = LIKE[LIKE.index("[[stage]]") :]
    found = gw.write_files(gw.solve(parse_brief(LIKE + stage, "like.toml")), tmp_path)
    assert [check.name for check in found.failed if check.kind == "file"] == []
