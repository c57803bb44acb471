"""What stands on the rods: as solids, against sums by hand, and against the bill."""

import math
from collections import Counter
from dataclasses import replace
from typing import get_args

import pytest
from machines import HAULED, PUSHED, changed, more_stages
from papers import assembly_steps, job_sheet, page_text
from solids import faults

import gearwork as gw
from gearwork.checks.hub.fixing import FixingName
from gearwork.machine.axial import CARE, WOOD_GLUE, Piece, frame_tightenings, inner_shim
from gearwork.machine.design import Design
from gearwork.spec.spec import parse_brief
from gearwork.stock.hardware import bearing, rod


@pytest.fixture(params=["hauler", "cart", "mill"])
def example(request):
    return request.getfixturevalue(request.param)


def test_nothing_overlaps_nothing_slides_and_the_lengths_add_up(example):
    assert faults(example) == []


def spoiled(design, shaft, change):
    """The design with one piece of a shaft changed."""
    layout = design.layouts[shaft]
    pieces = [change(piece) for piece in layout.pieces]
    layouts = [*design.layouts]
    layouts[shaft] = replace(layout, pieces=tuple(pieces))
    other = Design(design.brief)
    other.__dict__["layouts"] = tuple(layouts)
    return other


def moved(kind, by):
    def change(piece: Piece) -> Piece:
        if piece.kind != kind:
            return piece
        return replace(piece, start=piece.start + by, end=piece.end + by)

    return change


@pytest.mark.parametrize(
    ("kind", "by", "words"),
    [
        ("gear", 0.5, "overlap"),
        ("shim", -0.2, "lies against nothing|overlap"),
        ("ring", -0.3, "of room in its seat|bearings are fixed"),
        ("nut", 300.0, "is not on the rod"),
    ],
)
def test_the_solids_see_what_is_wrong(hauler, kind, by, words):
    found = faults(spoiled(hauler, 1, moved(kind, by)))
    assert any(word in fault for fault in found for word in words.split("|"))


def test_a_shaft_between_by_hand(hauler):
    """Shaft 2 of the hauler, M12 in 6001 bearings 8 mm wide, from the lower plate's inner face.

    ISO 4161 flange nut 12, ISO 4035 thin nut 6, shim 1, plate 12, gears of two layers of 12 mm. The
    lower bearing is flush with the outer face, -12 to -4. Its nut ends at -4 + 1 + 6 = 3, a flange
    nut at 15, the wheel at 39, two flange nuts at 63, the pinion at 87, its nut at 99. The upper
    plate has its inner face 16.5 above the gears: washer 1.6 and the rest 11.4 of M6 bolts of 40
    through 24 and 3 mm on wheel 2, and 3.5 of the bearing's nut. So the bearing stands from
    103.5 + 3.5 to 115, shim and thin nut end at 122, and a pitch of 1.75 sticks out at either end.
    """
    layout = hauler.layouts[1]
    assert layout.rod.start == pytest.approx(-20.75)
    assert layout.rod.length == 145.0  # 144.5 up to the next millimetre
    ends = [round(p.end, 6) for p in layout.pieces if p.on_rod]
    assert ends == [
        -13.0, -12.0, -4.0, -3.0, 3.0, 15.0, 27.0, 39.0, 51.0, 63.0, 75.0, 87.0, 99.0,
        106.0, 107.0, 115.0, 116.0, 122.0,
    ]  # fmt: skip
    assert [round(high - low, 6) for low, high in layout.bare] == [1.75, 1.0, 2.25]
    assert layout.ends == ("", "")


def test_the_end_of_the_first_rod_by_hand(hauler, mill):
    """A coupling nut of 36 mm (DIN 6334), its middle 33.8 mm outside the plate of 12 mm.

    Nut 10.8, washer 3 and half the free end of 40 mm. The crank of the mill is its pinion's 36 mm
    of plywood behind a ring of 12, 2 of air, a steel plate of 3 and bolt heads of 4 mm: 39 mm.
    """
    (nut,) = (p for p in hauler.layouts[0].pieces if "coupling nut" in p.item)
    assert (nut.start, nut.end) == pytest.approx((-63.8, -27.8))
    assert hauler.layouts[0].rod.start == pytest.approx(-63.8)
    assert any("deep socket 19 mm" in row.item for row in hauler.bill)
    crank = [p for p in mill.layouts[0].pieces if p.kind == "disc"]
    deep = mill.panel(0).thickness
    assert max(p.end for p in crank) - min(p.start for p in crank) == pytest.approx(deep)
    face = -mill.train.frame.plate_thickness
    stands = face - max(33.8, -face + 2.0 + 3.0 + 4.0 + deep / 2)
    assert sum((p.end - p.start) * (p.end + p.start) / 2 for p in crank) == pytest.approx(
        stands * deep
    )


def test_every_coupling_is_whole_along_the_rod(hauler):
    for name in ("chuck", "bonded nut", "pinned nut", "jammed nuts"):
        shafts = replace(hauler.brief.shafts, coupling=name, overhangs=(0.0, 34.0))
        made = Design(replace(hauler.brief, shafts=shafts))
        assert made.coupling.name == name
        assert faults(made) == []
        bought = [row.item for row in made.bill]
        assert any("spring pin 3 × 18" in item for item in bought) == (name == "pinned nut")
        assert any("socket" in item for item in bought) == (name != "chuck")


@pytest.fixture(scope="module", params=get_args(FixingName))
def held(request):
    """A machine whose gears are all held in one way."""
    changes = [("[shafts]", f'[shafts]\nfixing = "{request.param}"')]
    if request.param == "bolts":  # which need room
        changes.append(("pinion_teeth = 16", "pinion_teeth = 28"))
    return Design(parse_brief(changed(PUSHED, *changes), "pushed"))


def test_every_fixing_is_whole_along_its_rods(held):
    assert {one.fixing.kind for _, one in held.held} == {held.brief.shafts.fixing}
    assert faults(held) == []


@pytest.mark.parametrize("layers", [2, 3])
def test_no_washer_fills_a_pocket_that_is_cut_for_a_nut(layers):
    """Gears of 4 mm sheet on one rod: a nut is 10.8 mm high, washers of M12 measure 24 mm.

    A pocket for the nut is 21 mm over its corners.
    """
    text = changed(
        more_stages(PUSHED, 2).replace("layers = 1", "layers = 2", 1),
        ("[shafts]", '[shafts]\nfixing = "nut pockets"'),
        ("thickness = 12.0", "thickness = 4.0"),
        ("layers = 1", f"layers = {layers}"),
    )
    made = Design(parse_brief(f"{text}\n[frame]\nclearance = 0.5\n", "thin"))
    assert faults(made) == []
    between = [p for p in made.layouts[1].pieces if p.name == "pinion 2" and p.kind == "nut"]
    assert len(between) == 2


def test_what_a_fixing_says_is_bought_and_nothing_else(held):
    """By what its words name; thread-lock that lets go is for what is tightened again alone."""
    bill = {row.item for row in held.bill}
    words = " ".join(f"{one.fixing.name} {one.fixing.hold.lock}" for _, one in held.held)
    every = ("disc spring", "flange nut", "wide washer M12", "bolt M6", "steel plate", "epoxy")
    for item in every:
        word = item.removesuffix(" M12").replace("bolt ", "bolts ")
        assert any(row.startswith(item) for row in bill) == (word in words), item
    # 0.1 mm of 1.1 g/cm³ on the threads that are tightened again: 8 nuts M8 of 6.8 mm (ISO 4032)
    # of the frame, M12 of 10.8 mm of clamps, M6 of 5.2 mm of bolts
    kind, gears = held.brief.shafts.fixing, len(held.fixings)
    bolts = sum(one.bolts[0] for one in held.fixings if one.bolts)
    area = 8 * 8.0 * 6.8 + bolts * 6.0 * 5.2 + 2 * gears * 12.0 * 10.8 * (kind == "spring clamp")
    (row,) = (row for row in held.bill if row.item == "thread-lock, medium strength")
    assert row.grams == pytest.approx(1.1e-4 * math.pi * area)


def test_springs_are_counted_and_tightened_by_their_turn():
    """M12 in 12 mm of birch: 5.5 MPa on 37 and 13 mm, 5183 N, two of 2910 N (DIN 2093) nested."""
    text = changed(PUSHED, ("[shafts]", '[shafts]\nfixing = "spring clamp"'))
    design = Design(parse_brief(text, "pushed"))
    bought = {row.item: row.count for row in design.bill}
    gears = len(design.train.gears)
    assert bought["disc spring 25 × 12.2 × 1.5, DIN EN 16983 (DIN 2093) series A"] == 2 * gears
    assert bought["wide washer M12, ISO 7093-1"] == 2 * gears
    steps = " ".join(words for words, _ in assembly_steps(design))
    assert steps.count("the springs, 3.55 mm high when loose") == 1  # 2 · 1.5 + 0.55
    assert steps.count("held and tightened as pinion 1") == gears - 1
    assert "until their springs stand" in page_text(job_sheet(design))


def test_a_fixing_without_room_is_refused_by_its_key():
    text = changed(PUSHED, ("[shafts]", '[shafts]\nfixing = "bolts"'))
    with pytest.raises(gw.GearworkError, match="fixing is 'bolts': the pinion 1 has no room"):
        Design(parse_brief(text, "pushed"))


SLEEVE = ("stall_torque = 2.4", "stall_torque = 2.4\nshaft_diameter = 8.0")


@pytest.mark.parametrize("name", ["clamp sleeve", "pinned sleeve"])
def test_a_motor_is_coupled_by_a_sleeve(name):
    """One for 12 mm is 45 mm long: the rod ends 0.5 mm before its middle."""
    text = changed(PUSHED, SLEEVE, ("[shafts]", f'[shafts]\ncoupling = "{name}"'))
    design = Design(parse_brief(text, "pushed"))
    assert faults(design) == []
    (piece,) = (p for p in design.layouts[0].pieces if p.kind == "sleeve")
    middle = (piece.start + piece.end) / 2
    assert piece.length == 45.0
    assert design.layouts[0].rod.start == pytest.approx(middle + 0.5)
    bought = {row.item: row.count for row in design.bill}
    assert bought[piece.item] == 1
    # across 29 mm
    assert ("spring pin 3 × 30, ISO 8752" in bought) == (name == "pinned sleeve")
    (check, *_) = (c for c in design.report if c.subject.title == "coupling of the drive")
    assert check.value == pytest.approx(2.4)
    told = " ".join(words for words, _ in assembly_steps(design))
    assert "Rod and shaft end in the middle of the sleeve" in told


def test_a_given_drive_that_is_driven_back_is_pinned_and_held():
    keyed = 'torque = 2.4\nshaft_diameter = 10.0\nshaft_end = "keyed"'
    text = changed(HAULED, ("torque = 2.4", keyed))
    design = Design(parse_brief(text, "hauled"))
    assert design.coupling.name == "pinned sleeve"
    assert "key 3 × 3" in design.coupling.ratings[-1].name
    assert faults(design) == []
    steps = [words for words, _ in assembly_steps(design)]
    assert any("It is turned back by up to" in text for text in steps)
    unknown = assembly_steps(Design(parse_brief(HAULED, "hauled")))
    assert any("shaft_diameter under [drive] tells it" in words for words, _ in unknown)


def test_the_coupling_decides_where_a_motor_is_too_strong_for_it():
    """A shaft of 5 mm on a flat: two M4 screws bear 4.4 N·m, a quarter of it is counted on."""
    strong = SLEEVE[1].replace("8.0", '5.0\nshaft_end = "flat"')
    failed = [
        check
        for check in Design(parse_brief(changed(PUSHED, (SLEEVE[0], strong)), "x")).report.failed
        if check.subject.kind == "hub"
    ]
    assert [check.part for check in failed] == [
        "two set screws M4 on the flat of the motor's shaft"
    ]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (('coupling = "clamp sleeve"',), "coupling is 'clamp sleeve'.*give shaft_diameter"),
        (('coupling = "chuck"', SLEEVE), "coupling is 'chuck'.*clamp sleeve.*pinned sleeve"),
    ],
)
def test_a_coupling_that_the_drive_does_not_have_is_refused(changes, words):
    asked, *more = changes
    with pytest.raises(gw.GearworkError, match=words):
        parse_brief(changed(PUSHED, ("[shafts]", f"[shafts]\n{asked}"), *more), "pushed")


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('[shafts]\ncoupling = "chuck"\n', "the crank is fixed to the rod as a gear is"),
        ("[cradle]\nbody_diameter = 50.0\n\n[shafts]\n", "leave out .cradle."),
    ],
)
def test_what_a_crank_has_no_use_for_is_refused(table, words):
    text = changed(gw.example_brief("cider-mill").text, ("[shafts]\n", table))
    with pytest.raises(gw.GearworkError, match=words):
        parse_brief(text, "mill")


def test_nuts_of_bearings_and_plates_by_hand(hauler):
    """A tenth of 640 MPa on 84.3 mm²; a tube 16 × 2 on the birch of the plate."""
    shafts, plate = hauler.brief.shafts, hauler.brief.frame.plate
    bearings, posts = frame_tightenings(shafts, plate)
    assert bearings.clamp == pytest.approx(0.1 * 640 * 84.3)
    assert posts.clamp == pytest.approx(plate.face_compression * math.pi / 4 * (16**2 - 12**2))
    assert max(bearings.stress / 640, posts.stress / 340) < 0.5


def test_every_row_of_the_bill_is_used_and_all_that_is_used_is_in_the_bill(example):
    wood = {part.name: part.count for part in example.parts}
    own = {"drum", "driven wheel", "crank"}  # the maker's
    used: Counter[str] = Counter()
    deep: Counter[str] = Counter()  # a layer with a nut let in is two rings
    for layout in example.layouts:
        for piece in (layout.rod, *layout.pieces):
            if piece.item in own:
                continue
            if piece.item in wood:
                deep[piece.item] += piece.length
            else:
                used[piece.item] += piece.count * len(layout.at)
    feet = {
        "hexagon wood screw 6 × 50, DIN 571": 4,
        "washer M6, ISO 7089": 4,
        WOOD_GLUE: 1,
        CARE: 1,
    }
    used.update(feet)
    bought = {row.item: row.count for row in example.bill if "sheet" not in row.item}
    assert bought == dict(used)
    assert {row.number for row in example.bill} == set(range(1, len(example.bill) + 1))
    boards = {"foot board", "lid", "end board", "foot pad"}  # these stand beside the rods
    assert set(deep) | boards == set(wood)
    thick = {part.name: part.thickness for part in example.parts}
    for name in wood:
        if "plate" not in name and name not in boards:
            assert deep[name] == pytest.approx(wood[name] * thick[name]), name
    sheets = Counter(f"sheet {sheet.stock.label}" for sheet in example.sheets)
    assert {r.item: r.count for r in example.bill if "sheet" in r.item} == dict(sheets)
    assert {p.name for sheet in example.sheets for p in sheet.parts} == set(wood)


@pytest.mark.parametrize(
    ("ball", "thread", "diameter"),
    [("608", "M8", 14.0), ("6000", "M10", 16.0), ("6001", "M12", 18.0), ("6001", "M6", 18.0)],
)
def test_what_presses_on_a_bearing_touches_its_inner_ring_alone(ball, thread, diameter):
    """Shoulders of makers' catalogues, from memory: 608 12.1 and 19.2, 6001 17 and 24.7 mm."""
    one = bearing(ball)
    ring = inner_shim(one, rod(thread))
    assert ring.outer == diameter
    assert one.bore + 1.0 <= ring.outer
    assert ring.outer < {"608": 19.2, "6000": 22.6, "6001": 24.7}[ball]


def test_a_drum_too_near_the_plate_is_told_where_it_may_stand():
    """Ring 12, air 2, steel plate 3, head of an M6 bolt 4, half of 24 mm: 33 mm."""
    text = gw.example_brief("orchard-hauler").text.replace(
        "load_overhang = 34.0", "load_overhang = 20.0"
    )
    design = Design(parse_brief(text, "hauler"))
    check = design.room_report()["room beside the plate"]
    assert not check.ok
    assert check.limit == pytest.approx(33.0)
    assert check.ways == ((("shafts.load_overhang", 33.0),),)


def test_a_plate_too_thin_for_its_bearings_is_refused():
    text = gw.example_brief("orchard-hauler").text.replace(
        "[frame]", "[frame]\nplate_thickness = 9.0"
    )
    with pytest.raises(gw.GearworkError, match=r"plate_thickness is 9.2 mm.*at least 12 mm"):
        parse_brief(text, "hauler")
