"""Ways to spoil the files of a pair, each caught, refused, or harmless for a reason that is named.

The pair has gears of two layers, windows, bit paths and a drawing to drill by. Plates and boards of
a machine are spoiled in `test_pieces.py`, drawings in `test_read_svg.py`, the print in
`test_spacing.py`, the folder in `test_files_folder.py`.
"""

import math
from itertools import pairwise

import pytest
import spoiling as s
from volume import every

import gearwork as gw
from gearwork.output.toolpath_files import beside_way
from gearwork.verify.files import _bored
from gearwork.verify.spacing import spacing_checks
from gearwork.verify.toolpath import bit_path_checks, path_faults

PINION, WHEEL, SHEET = "pinion-1-grain-0", "wheel-1-grain-0", "sheet-1"
PATH, TEST_PIECE, DRILL = "sheet-1-bit-path", "test-piece-pinion", "spacing"


@pytest.fixture(scope="module")
def whole(drill, drill_files):
    files = s.Known(drill_files, None, SHEET)
    assert all(check.ok for check in s.checks_of_pieces(s.Only(drill, SHEET), files))
    return files


def verdict(folder, design, stem, whole):
    """What is told of a spoiled DXF file; nothing where it passes."""
    files = s.Known(folder, whole, stem)
    bit, bridges = design.brief.bit, design.brief.cutting.bridges
    try:
        if stem == DRILL:
            seats = _bored(files, design, 0)[1]
            faults = [c.why for c in spacing_checks(files, design) if not c.ok]
            assert len(seats) < 5
        elif stem == PATH:
            given = files, SHEET, bit, bridges, design.sheets[0]
            marks = beside_way(SHEET, given[-1], files.ways(SHEET), bit, bridges).marks
            faults = list(path_faults(*given, marks))
            faults += [c.why for c in bit_path_checks(files, bit) if PATH in c.part and not c.ok]
        else:
            return s.pieces_verdict(files, design, stem)
    except gw.GearworkError as error:
        return str(error)
    return " ".join(faults)


# --- cut files ----------------------------------------------------------------------------------


def outer(dxf, place=0):
    return dxf.on("outer-edge")[place]


def vertex(by, at=11):
    def spoil(dxf):
        edge = outer(dxf)
        tag = [tag for tag in edge if tag[0] == 10][at]
        tag[1] = f"{float(tag[1]) + by:.6f}"

    return spoil


def inside_out(dxf):
    tag = max((t for t in outer(dxf) if t[0] == 42), key=lambda t: abs(float(t[1])))
    tag[1] = repr(-float(tag[1]))


def small_bulge_inside_out(dxf):
    """An arc of at least 0.01 mm over its chord: by twice that the wood is off."""
    edge, ends = outer(dxf), s.points(outer(dxf))
    bulges = [next((t for t in vertex if t[0] == 42), None) for vertex in vertices(edge)]
    high = [
        (math.dist(a, b) * abs(float(t[1])) / 2, t)
        for a, b, t in zip(ends, ends[1:], bulges, strict=False)
        if t is not None
    ]
    _, tag = min((one for one in high if one[0] > 0.01), key=lambda one: one[0])
    tag[1] = repr(-float(tag[1]))


def vertices(edge):
    """The tags of each vertex of a polyline."""
    starts = [i for i, tag in enumerate(edge) if tag[0] == 10]
    return [edge[a:b] for a, b in zip(starts, [*starts[1:], len(edge)], strict=True)]


def straightened(dxf):
    for tag in outer(dxf):
        if tag[0] == 42:
            tag[1] = "0.0"


def without(dxf, entity):
    dxf.entities = [e for e in dxf.entities if e is not entity]


def first(dxf, *entities):
    dxf.entities = [*entities, *(e for e in dxf.entities if all(e is not o for o in entities))]


def doubled(dxf, entity, x=0.0):
    copy = [list(tag) for tag in entity]
    s.move([copy], x, 0.0)
    dxf.entities.append(copy)


def holes_only(dxf):
    return [e for e in dxf.entities if s.get(e, 8) in ("holes", "inner-edge")]


def cuts(dxf):
    return [e for e in dxf.entities if s.get(e, 8) != "not-cut"]


def relayered(entity, layer):
    s.put(entity, 8, layer)


def relabelled(dxf, old, new):
    """Other words in the first text that holds some."""
    text = next(t for t in dxf.of("TEXT") if old in s.get(t, 1))
    s.put(text, 1, s.get(text, 1).replace(old, new))


def put_in(dxf, tag, tags):
    """Before the first such tag of all that stands before the drawing."""
    at = dxf.head.index(tag)
    dxf.head[at:at] = tags


def text(words, x=9.0, y=9.0, kind="TEXT", code=1):
    return [[0, kind], [8, "not-cut"], [10, f"{x}"], [20, f"{y}"], [code, words]]


def multi_line(dxf):
    """As a program does: with codes of its own, several in one."""
    first, second, *others = dxf.of("TEXT")
    s.put(first, 1, rf"{{\fArial|b0|i0;{s.get(first, 1)}}}\P\A1;{s.get(second, 1)}")
    without(dxf, second)
    for entity in (first, *others):
        entity[0][1] = "MTEXT"


def shaft(dxf):
    """That of an arrow: the first line that neither is as long as a sheet nor goes as a cross."""
    return next(e for e in dxf.of("LINE") if 5.0 < math.dist(*s.points(e)) < 100.0)


def teeth(dxf):
    """As many as the text says."""
    text = next(s.get(t, 1) for t in dxf.of("TEXT") if s.get(t, 1).startswith("z "))
    return int(text.split()[1].rstrip(","))


COMMON = {
    "a vertex of the edge moved by 0.02 mm": vertex(0.02),
    "a vertex moved by 0.3 mm": vertex(0.3),
    "a vertex moved by 5 mm": vertex(5.0),
    "the widest bulge inside out": inside_out,
    "a slight bulge inside out": small_bulge_inside_out,
    "arcs made straight": straightened,
    "the edge gone": lambda d: without(d, outer(d)),
    "the edge not cut": lambda d: relayered(outer(d), "not-cut"),
    "the edge on a layer of its own": lambda d: relayered(outer(d), "profile"),
    "the edge as an inner one": lambda d: relayered(outer(d), "inner-edge"),
    "the edge twice": lambda d: doubled(d, outer(d)),
    "the edge twice, 0.4 mm aside": lambda d: doubled(d, outer(d), 0.4),
    "the edge open": lambda d: s.put(outer(d), 70, "0"),
    "the edge a hundredth larger": lambda d: s.scale([outer(d)], 1.01, s.middle(outer(d))),
    "the edge 0.1 % smaller": lambda d: s.scale([outer(d)], 0.999, s.middle(outer(d))),
    "the edge turned by 2 degrees": lambda d: s.turn([outer(d)], 2.0, s.middle(outer(d))),
    "everything in inches": lambda d: s.scale(cuts(d), 1 / 25.4),
    "everything 0.2 % larger": lambda d: s.scale(cuts(d), 1.002),
    "a hole gone": lambda d: without(d, holes_only(d)[0]),
    "a hole moved by 0.03 mm": lambda d: s.move([holes_only(d)[0]], 0.03, 0.0),
    "a hole moved by 3 mm": lambda d: s.move([holes_only(d)[0]], 0.0, 3.0),
    "a hole 0.1 mm wider": lambda d: s.put(
        d.of("CIRCLE")[0], 40, f"{float(s.get(d.of('CIRCLE')[0], 40)) + 0.05}"
    ),
    "a hole not cut": lambda d: relayered(holes_only(d)[0], "not-cut"),
    "a hole on another layer": lambda d: relayered(holes_only(d)[0], "sunk-3mm"),
    "a hole to be drilled, not cut": lambda d: relayered(d.on("inner-edge")[0], "holes"),
    "a hole too many": lambda d: d.entities.append(
        s.circle("holes", *(c + 9.5 for c in s.middle(outer(d))), 4.0)
    ),
    "a hole in the waste": lambda d: d.entities.append(s.circle("holes", -40.0, -40.0, 4.0)),
    "a slot from the waste through the piece": lambda d: d.entities.append(
        s.polyline("inner-edge", *((x + s.middle(outer(d))[0] - 900, y + s.middle(outer(d))[1])
                                   for x, y in ((0, 0), (905, 0), (905, 4), (0, 4))))
    ),
    "a slot from the piece into the waste": lambda d: d.entities.append(
        s.polyline("inner-edge", *((x + s.middle(outer(d))[0] + 9.0, y + s.middle(outer(d))[1])
                                   for x, y in ((0, 0), (905, 0), (905, 4), (0, 4))))
    ),
    "outer edges before the holes": lambda d: first(d, *d.on("outer-edge")),
    "layer of the edges off": lambda d: d.layer("outer-edge", 62, "-7"),
    "layer of the edges frozen": lambda d: d.layer("outer-edge", 70, "1"),
    "layer of the holes frozen": lambda d: d.layer("holes", 70, "5"),
    "layer of the edges not plotted": lambda d: d.layer("outer-edge", 290, "0"),
    "layer of the holes dashed": lambda d: d.layer("holes", 6, "DASHED"),
    "the edge dashed": lambda d: s.put(outer(d), 6, "DASHDOT"),
    "the edge invisible": lambda d: s.put(outer(d), 60, "1"),
    "the edge 5 mm up": lambda d: s.put(outer(d), 38, "5.0"),
    "a hole 5 mm up": lambda d: s.put(d.of("CIRCLE")[0], 30, "5.0"),
    "the edge with its normal down": lambda d: s.put(outer(d), 230, "-1.0"),
    "a measure in inches": lambda d: d.header("$MEASUREMENT", "0"),
    "units in inches": lambda d: d.header("$INSUNITS", "1"),
    "other units said once more": lambda d: (
        d.header("$INSUNITS", "1"),
        put_in(d, [9, "$INSUNITS"], [[9, "$INSUNITS"], [70, "4"]]),
    ),
    "a size said twice": lambda d: d.of("CIRCLE")[0].append([40, "9.0"]),
    "a hole in the block of the drawing": lambda d: put_in(
        d, [0, "ENDBLK"], s.circle("holes", 9, 9, 4)
    ),
    "units unknown": lambda d: d.header("$INSUNITS", "0"),
    "the edge's layer in capitals": lambda d: relayered(outer(d), "OUTER-EDGE"),
    "a hole on a page for printing": lambda d: d.entities.append(
        [*s.circle("inner-edge", *s.middle(outer(d)), 30.0), [67, "1"]]
    ),
    "another sheet in the text": lambda d: relabelled(d, "12 mm", "18 mm"),
    "a text in other words": lambda d: s.put(
        next(t for t in d.of("TEXT") if "12 mm" in s.get(t, 1)), 1, "board 18 mm"
    ),
    "a remark of one's own": lambda d: d.entities.append(text("cut on Monday")),
    "a remark of many lines": lambda d: d.entities.append(
        [*text("cut this ", kind="MTEXT", code=3), [1, "twice"]]
    ),
    "a remark to be filled in": lambda d: d.entities.append(text("cut 2 x", kind="ATTDEF")),
    "a text twice": lambda d: doubled(d, d.of("TEXT")[0], 50.0),
    "a text gone": lambda d: without(d, d.of("TEXT")[-1]),
    "all texts gone": lambda d: [without(d, e) for e in d.of("TEXT")],
    "all that is not cut gone": lambda d: [without(d, e) for e in d.on("not-cut")],
    "an arrow turned by 3 degrees": lambda d: s.turn([shaft(d)], 3.0, s.middle(shaft(d))),
    "an arrow gone": lambda d: without(d, shaft(d)),
    "a circle among what is not cut": lambda d: d.entities.append(s.circle("not-cut", 9, 9, 4)),
    "an edge among what is not cut": lambda d: d.entities.append(
        s.polyline("not-cut-mine", (0, 0), (9, 0), (9, 9))
    ),
    "a dimension": lambda d: d.entities.append(
        [*text("2 x", kind="DIMENSION"), [70, "1"], *([code, "9"] for code in (13, 23, 14, 24, 42))]
    ),
    "an arrow more": lambda d: doubled(d, shaft(d), 3.0),
    "a witness mark moved": lambda d: s.move([d.of("LINE")[-1]], 3.0, 0.0),
    "the edge in paper space": lambda d: s.put(outer(d), 67, "1"),
    "a line where it is cut": lambda d: d.entities.append(
        [[0, "LINE"], [8, "outer-edge"], [10, "0"], [20, "0"], [11, "9"], [21, "9"]]
    ),
    "a spline where it is cut": lambda d: d.entities.append([[0, "SPLINE"], [8, "inner-edge"]]),
    "a block put in": lambda d: d.entities.append([[0, "INSERT"], [8, "not-cut"], [2, "X"]]),
    "the edge with a height": lambda d: s.put(outer(d), 39, "5.0"),
    "the edge with a width": lambda d: s.put(outer(d), 43, "3.0"),
    "a stretch with a width": lambda d: outer(d).append([40, "3.0"]),
    "a second drawing in the file": lambda d: d.tail.__setitem__(
        slice(0, 0), [[0, "ENDSEC"], [0, "SECTION"], [2, "ENTITIES"], *s.circle("holes", 9, 9, 4)]
    ),
    "units gone": lambda d: d.head.remove([9, "$INSUNITS"]),
    "x for y": lambda d: s.mapped(cuts(d), lambda x, y: (y, x)),
    "sheared": lambda d: s.mapped(cuts(d), lambda x, y: (x + 0.002 * y, y)),
    "figures of a tenth of a millimetre": lambda d: s.mapped(
        [outer(d)], lambda x, y: (round(x, 1), round(y, 1))
    ),
    "arcs 2 % higher": lambda d: [
        tag.__setitem__(1, f"{1.02 * float(tag[1])}") for tag in outer(d) if tag[0] == 42
    ],
    "the bit's radius added by hand": lambda d: s.scale([outer(d)], 1.04, s.middle(outer(d))),
    "a hole as an arc": lambda d: d.of("CIRCLE")[0].__setitem__(0, [0, "ARC"]),
    "a hatch where it is cut": lambda d: d.entities.append([[0, "HATCH"], [8, "outer-edge"]]),
    "no figure": lambda d: s.put(outer(d), 10, "nan"),
    "the end of the file lost": lambda d: d.tail.clear(),
    "no number for a number": lambda d: s.put(outer(d), 10, "wide"),
    "a vertex count that is none": lambda d: s.put(outer(d), 90, "7"),
}  # fmt: skip

OF_A_PART = {
    "the piece turned by 90 degrees, not its arrow": lambda d: s.turn(cuts(d), 90.0),
    "the piece turned by 10 degrees, not its arrow": lambda d: s.turn(cuts(d), 10.0),
    "the arrow turned": lambda d: s.turn(d.of("LINE"), 45.0),
    "the piece moved, not its marks": lambda d: s.move(cuts(d), 100.0, 0.0),
    "holes turned against the teeth": lambda d: s.turn(holes_only(d), 7.0),
    "the witness hole turned by a degree": lambda d: s.turn(d.on("holes"), 1.0),
    "the witness hole turned by a tooth": lambda d: s.turn(
        d.on("holes"), 360.0 / teeth(d), s.middle(outer(d))
    ),
    "the bit on the other side in the text": lambda d: relabelled(d, "outside", "inside"),
    "more teeth in the text": lambda d: relabelled(d, f"z {teeth(d)}", f"z {teeth(d) + 1}"),
    "the witness hole farther out": lambda d: s.scale(d.on("holes"), 1.02),
    "the name of the other layer": lambda d: s.put(
        d.of("TEXT")[0], 1, s.get(d.of("TEXT")[0], 1).replace("grain 0", "grain 45")
    ),
    "a second piece in its file": lambda d: doubled(d, outer(d), 400.0),
}


def piece(dxf, place=0):
    return dxf.piece(outer(dxf, place))


def cut_piece(dxf, place):
    return [e for e in piece(dxf, place) if e in cuts(dxf)]


def exchanged(dxf):
    """Two pieces at each other's places."""
    one, other = piece(dxf), piece(dxf, 1)
    (a, b), (c, d) = s.middle(outer(dxf)), s.middle(outer(dxf, 1))
    s.move(one, c - a, d - b)
    s.move(other, a - c, b - d)


def drawn_edge(dxf):
    """The lines round a sheet, the longest that are not cut."""
    return sorted(dxf.of("LINE"), key=lambda e: -math.dist(*s.points(e)))[:4]


def arrow_of(dxf, where):
    """The longest line of a piece, or the longest on the sheet that is no edge and in no piece."""
    if where == "waste":
        held = [e for i in range(len(dxf.on("outer-edge"))) for e in piece(dxf, i)]
        where = [e for e in dxf.entities if e not in [*held, *drawn_edge(dxf)]]
    lines = [e for e in where if e[0][1] == "LINE"]
    return [max(lines, key=lambda e: math.dist(*s.points(e)))]


def names_exchanged(dxf):
    other = {"pinion 1 grain 0": "pinion 1 grain 45", "pinion 1 grain 45": "pinion 1 grain 0"}
    for entity in dxf.of("TEXT"):
        s.put(entity, 1, other.get(s.get(entity, 1), s.get(entity, 1)))


def turned(place, degrees):
    return lambda d: s.turn(piece(d, place), degrees, s.middle(outer(d, place)))


OF_A_SHEET = {
    "a piece 5 mm towards another": lambda d: s.move(piece(d, 0), 5.5, 0.0),
    "a piece on another": lambda d: s.move(piece(d, 0), 60.0, 0.0),
    "a piece within another": lambda d: s.move(
        piece(d, 2),
        *(a - b for a, b in zip(s.middle(outer(d)), s.middle(outer(d, 2)), strict=True)),
    ),
    "a piece in the clamping margin": lambda d: s.move(piece(d, 0), -4.0, 0.0),
    "a piece half off the sheet": lambda d: s.move(piece(d, 0), 0.0, -60.0),
    "a piece beside the sheet": lambda d: s.move(piece(d, 0), 5000.0, 0.0),
    "all pieces off the sheet": lambda d: s.move(cuts(d), 0.0, 900.0),
    "a wheel turned by 90 degrees": turned(0, 90.0),
    "a wheel turned by 45 degrees, to the grain of the other": turned(0, 45.0),
    "a wheel turned back by 45 degrees": turned(0, -45.0),
    "the other wheel turned by 45 degrees": turned(1, 45.0),
    "a pinion turned by 45 degrees": turned(2, 45.0),
    "a pinion turned by 3 degrees": turned(3, 3.0),
    "a piece mirrored, whose grain lies at 45 degrees": lambda d: s.mirror(
        piece(d, 1), s.middle(outer(d, 1))
    ),
    "a piece gone": lambda d: [without(d, e) for e in piece(d, 3)],
    "a piece too many": lambda d: [doubled(d, e, 400.0) for e in piece(d, 3)],
    "a piece without its holes": lambda d: [
        without(d, e) for e in piece(d, 2) if s.get(e, 8) != "outer-edge"
    ],
    "the name of another layer": names_exchanged,
    "the edge of the sheet drawn 30 mm aside": lambda d: s.move(drawn_edge(d), 30.0, 0.0),
    "the edge of the sheet drawn half as large": lambda d: s.scale(drawn_edge(d), 0.5),
    "one edge before its holes": lambda d: first(d, outer(d, 3)),
    "the sheet's arrow turned": lambda d: s.turn(arrow_of(d, "waste"), 90.0),
    "a piece's arrow turned": lambda d: s.turn(arrow_of(d, piece(d, 2)), 45.0),
    "a piece's arrow turned by a degree": lambda d: s.turn(arrow_of(d, piece(d, 0)), 1.0),
    "along y in the text": lambda d: relabelled(d, "along x", "along y"),
}

HARMLESS_CUT = {
    "the path run the other way round": (
        lambda d: s.put(outer(d), 70, "129"),
        "another flag of the line's type changes nothing that is cut",
    ),
    "text in another size": (lambda d: s.put(d.of("TEXT")[0], 40, "9.0"), "text is not cut"),
    "colour of a layer": (lambda d: d.layer("outer-edge", 62, "3"), "colours are free"),
    "a layer locked": (lambda d: d.layer("outer-edge", 70, "4"), "it is seen and cut all the same"),
    "a remark": (lambda d: d.head.insert(0, [999, "mine"]), "no program draws it"),
    "another origin": (lambda d: d.header("$INSBASE", "50"), "it is placed on the bench anyhow"),
    "texts made multi-line": (multi_line, "their words are the same"),
    "words of a text spaced otherwise": (lambda d: relabelled(d, "mm", " mm"), "the same words"),
    "a line drawn from its other end": (
        lambda d: [
            e.__setitem__(
                slice(-6, None),
                [[c, v] for (c, _), (_, v) in zip(e[-6:], [*e[-3:], *e[-6:-3]], strict=True)],
            )
            for e in d.of("LINE")
        ],
        "the same line",
    ),
}
HARMLESS_SHEET = {
    "a piece mirrored, whose grain lies along": (
        lambda d: s.mirror(cut_piece(d, 0), s.middle(outer(d))),
        "half of the gear is like the other"),
    "a wheel turned by 180 degrees": (
        lambda d: s.turn(cut_piece(d, 0), 180.0, s.middle(outer(d))),
        "grain has no sense, only a direction"),
    "what is cut 1 mm aside": (lambda d: s.move(cuts(d), 1.0, 0.0), "all room is kept"),
    "pieces of one shape and turn exchanged": (
        lambda d: None, "the same part wherever it lies"),
}  # fmt: skip

# --- paths of the bit ---------------------------------------------------------------------------

INSIDE, OUTSIDE = "bit-inner-edge", "bit-outer-edge"


def tabs(dxf, layer=OUTSIDE):
    return [e for e in dxf.entities if s.get(e, 8).startswith(f"{layer}-tab")]


def ways(dxf, layer):
    return [e for e in dxf.entities if s.get(e, 8).startswith(layer)]


def whole_edge(dxf):
    """The passes round the first piece: to where the first of another begins."""
    found = ways(dxf, OUTSIDE)
    apart = [math.dist(s.points(a)[-1], s.points(b)[0]) > 1e-4 for a, b in pairwise(found)]
    return found[: apart.index(True) + 1]


def stretches(entity):
    """Corners with the bulge that leaves each, and the tags before them."""
    at = next(i for i, tag in enumerate(entity) if tag[0] == 10)
    bulges = [float(s.get(one, 42) or 0.0) for one in vertices(entity)]
    return entity[:at], list(zip(s.points(entity), bulges, strict=True))


def redrawn(entity, corners):
    head, _ = stretches(entity)
    entity[:] = head + [
        [code, repr(figure)]
        for (x, y), bulge in corners
        for code, figure in ((10, x), (20, y), (42, bulge))
    ]
    s.put(entity, 90, f"{len(corners)}")


def entered_on_it(entity):
    redrawn(entity, stretches(entity)[1][1:])


def backwards(passes):
    """Each pass from its end, and the last of them first: the same way the other way round."""
    found = [(s.get(entity, 8), *zip(*stretches(entity)[1], strict=True)) for entity in passes]
    for entity, (layer, ends, bulges) in zip(passes, reversed(found), strict=True):
        turned = [*(-bulge for bulge in bulges[-2::-1]), 0.0]
        redrawn(entity, list(zip(ends[::-1], turned, strict=True)))
        s.put(entity, 8, layer)


def bunched(dxf):
    """The same way about the first piece, its tabs one after the other near where it begins."""
    passes = whole_edge(dxf)
    corners = [one for entity in passes for one in stretches(entity)[1][:-1]]
    corners.append(stretches(passes[-1])[1][-1])
    cuts = [0, *range(8, 8 + 12 * (len(passes) - 1), 12), len(corners) - 1]
    for entity, (a, b) in zip(passes, pairwise(cuts), strict=True):
        redrawn(entity, corners[a : b + 1])


def swapped(dxf):
    other = {INSIDE: OUTSIDE, OUTSIDE: INSIDE}
    for entity in dxf.entities:
        for name, now in other.items():
            if s.get(entity, 8).startswith(name):
                s.put(entity, 8, s.get(entity, 8).replace(name, now))
                break


def each(entities, layer):
    for entity in entities:
        relayered(entity, layer)


OF_A_PATH = {
    "a hole gone": lambda d: without(d, d.of("CIRCLE")[0]),
    "all holes gone": lambda d: [without(d, e) for e in d.of("CIRCLE")],
    "a hole moved by 0.05 mm": lambda d: s.move([d.of("CIRCLE")[0]], 0.05, 0.0),
    "a hole moved by 20 mm": lambda d: s.move([d.of("CIRCLE")[0]], 20.0, 0.0),
    "a hole wider": lambda d: s.put(d.of("CIRCLE")[0], 40, "3.0"),
    "a hole too many": lambda d: d.entities.append(s.circle("holes", 60.0, 60.0, 4.0)),
    "a hole on a layer of edges": lambda d: relayered(d.of("CIRCLE")[0], INSIDE),
    "a pass across a piece": lambda d: d.entities.append(
        s.polyline(OUTSIDE, (20, 60), (200, 60), (200, 60.5), closed=True)
    ),
    "an open pass across a piece": lambda d: d.entities.append(
        s.polyline(OUTSIDE, (20, 60), (200, 60), closed=False)
    ),
    "a pass moved by 0.02 mm": lambda d: s.move(ways(d, OUTSIDE), 0.02, 0.0),
    "a pass of the wrong side": lambda d: s.scale(ways(d, INSIDE), 1.01),
    "a stretch gone": lambda d: without(d, ways(d, OUTSIDE)[1]),
    "a tab gone": lambda d: without(d, tabs(d)[0]),
    "a tab cut through": lambda d: relayered(tabs(d)[0], OUTSIDE),
    "all tabs cut through": lambda d: each(tabs(d), OUTSIDE),
    "tabs of windows cut through": lambda d: each(tabs(d, INSIDE), INSIDE),
    "tabs at a height of 300 mm": lambda d: each(tabs(d), f"{OUTSIDE}-tab-300mm"),
    "tabs at a height of 0": lambda d: each(tabs(d), f"{OUTSIDE}-tab-0mm"),
    "tabs at another height": lambda d: each(tabs(d), f"{OUTSIDE}-tab-1mm"),
    "tabs below the sheet": lambda d: each(tabs(d), f"{OUTSIDE}-tab--3mm"),
    "every stretch a tab": lambda d: each(ways(d, OUTSIDE), f"{OUTSIDE}-tab-3mm"),
    "inner and outer layers swapped": swapped,
    "an inner edge on the outer layer": lambda d: relayered(ways(d, INSIDE)[0], OUTSIDE),
    "an outer edge on the inner layer": lambda d: relayered(ways(d, OUTSIDE)[0], INSIDE),
    "outer edges first": lambda d: first(d, *ways(d, OUTSIDE)),
    "the order reversed": lambda d: d.entities.reverse(),
    "a pass not cut": lambda d: relayered(ways(d, INSIDE)[0], "not-cut"),
    "everything beyond the sheet": lambda d: s.move(d.entities, -30.0, 0.0),
    "everything 0.2 % larger": lambda d: s.scale(d.entities, 1.002),
    "in inches": lambda d: s.scale(d.entities, 1 / 25.4),
    "mirrored": lambda d: s.mirror(d.entities, (300.0, 0.0)),
    "a bulge inside out": lambda d: next(
        t for t in ways(d, OUTSIDE)[2] if t[0] == 42 and float(t[1])
    ).__setitem__(1, "0.9"),
    "layer off": lambda d: d.layer(OUTSIDE, 62, "-7"),
    "layer frozen": lambda d: d.layer(INSIDE, 70, "1"),
    "a stretch invisible": lambda d: s.put(ways(d, OUTSIDE)[0], 60, "1"),
    "a stretch up": lambda d: s.put(ways(d, OUTSIDE)[0], 38, "3.0"),
    "a measure in inches": lambda d: d.header("$MEASUREMENT", "0"),
    "a pass run backwards": lambda d: backwards(ways(d, OUTSIDE)[:1]),
    "a whole edge run backwards": lambda d: backwards(whole_edge(d)),
    "an edge run backwards without its lead-in": lambda d: (
        entered_on_it(whole_edge(d)[0]), backwards(whole_edge(d))
    ),
    "a bore run backwards without its lead-in": lambda d: (
        entered_on_it(ways(d, INSIDE)[0]), backwards(ways(d, INSIDE)[:1])
    ),
    "all tabs on one side": bunched,
    "names exchanged": names_exchanged,
    "an arrow turned": lambda d: s.turn([shaft(d)], 90.0, s.middle(shaft(d))),
    "the edge of the sheet drawn 20 mm aside": lambda d: s.move(drawn_edge(d), -20.0, 0.0),
    "the edge of the sheet gone": lambda d: [without(d, e) for e in drawn_edge(d)],
    "a narrower sheet": lambda d: s.scale(drawn_edge(d), 0.8),
    "all texts gone": lambda d: [without(d, e) for e in d.of("TEXT")],
    "a text more": lambda d: d.entities.append(text("all paths 12 mm deep")),
    "the wood on the other side": lambda d: s.put(
        next(t for t in d.of("TEXT") if "to the right" in s.get(t, 1)), 1, "wood to the left"
    ),
    "another bit in the text": lambda d: relabelled(d, "cuts 3 mm", "cuts 6 mm"),
    "an offset in the text": lambda d: relabelled(d, "no offset", "offset 1.5 mm"),
    "tabs higher in the text": lambda d: relabelled(d, "lift the bit to 3", "lift the bit to 13"),
}  # fmt: skip

# --- drawing to drill by ------------------------------------------------------------------------

OF_A_DRAWING = {
    "an axis moved by 0.1 mm": lambda d: s.move([d.on("holes")[0]], 0.1, 0.0),
    "an axis moved by 20 mm": lambda d: s.move([d.on("holes")[1]], 0.0, 20.0),
    "both axes moved": lambda d: s.move(d.on("holes"), 0.0, 20.0),
    "an axis gone": lambda d: without(d, d.on("holes")[0]),
    "an axis too many": lambda d: d.entities.append(s.circle("holes", 10.0, 10.0, 12.0)),
    "a bore wider": lambda d: s.put(d.on("holes")[0], 40, "6.5"),
    "a bore not drilled": lambda d: relayered(d.on("holes")[0], "not-cut-thin"),
    "all larger": lambda d: s.scale(d.entities, 1.01),
    "all in inches": lambda d: s.scale(d.entities, 1 / 25.4),
    "all mirrored": lambda d: s.mirror(d.entities),
    "units in inches": lambda d: d.header("$INSUNITS", "1"),
    "a measure in inches": lambda d: d.header("$MEASUREMENT", "0"),
    "a dimension's number": lambda d: s.put(d.of("DIMENSION")[0], 42, "99.0"),
    "a dimension's text": lambda d: s.put(d.of("DIMENSION")[0], 1, "a = 99"),
    "the tip circle's number": lambda d: reworded(d, "(tip", "9"),
    "a bore's number in the table": lambda d: reworded(d, "12.00", "15.00"),
    "an axis's place in the table": lambda d: reworded(d, "0.00", "1.00"),
    "a limit in the table": lambda d: reworded(d, "+/-", "+/-9"),
    "layer frozen": lambda d: d.layer("holes", 70, "1"),
}


def reworded(dxf, begins, to):
    """The first text that begins so begins otherwise."""
    text = next(t for t in dxf.of("TEXT") if s.get(t, 1).startswith(begins))
    s.put(text, 1, s.get(text, 1).replace(begins, to, 1))


def table():
    rows = [
        (stem, name, way, "")
        for stems, ways_ in (
            ((PINION, SHEET), COMMON),
            ((PINION, WHEEL), OF_A_PART),
            ((SHEET,), OF_A_SHEET),
            ((PATH,), OF_A_PATH),
            ((DRILL,), OF_A_DRAWING),
        )
        for stem in stems
        for name, way in ways_.items()
    ]
    rows += [
        (stem, name, way, why)
        for stems, ways_ in (((PINION, SHEET), HARMLESS_CUT), ((SHEET,), HARMLESS_SHEET))
        for stem in stems
        for name, (way, why) in ways_.items()
    ]
    return [pytest.param(*row, id=f"{row[0]}: {row[1]}") for row in rows]


@pytest.mark.parametrize(("stem", "name", "way", "harmless"), every(7, table()))
def test_a_spoiled_dxf_is_caught_or_refused_or_harmless_for_a_reason(
    drill, drill_copy, whole, stem, name, way, harmless
):
    path = drill_copy / f"{stem}.dxf"
    dxf = s.Dxf(path.read_text())
    way(dxf)
    with s.spoiled(path, dxf.text.encode()):
        said = verdict(drill_copy, drill, stem, whole)
    assert bool(said) != bool(harmless), said
