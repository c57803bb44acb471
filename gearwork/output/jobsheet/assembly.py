"""How the machine of a design is put together and first run, step by step."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from math import inf
from typing import NamedTuple

from markupsafe import Markup

from gearwork.checks.hub.bar_screws import screw_for, screw_length
from gearwork.checks.hub.coupling import GAP, Coupling
from gearwork.checks.hub.fixing import Hold, HubRating
from gearwork.checks.hub.joints import (
    BoltedJoint,
    BoreGlue,
    ClampedSleeve,
    FaceFriction,
    FaceGlue,
    NutsInPockets,
)
from gearwork.checks.hub.tightening import Tightening
from gearwork.machine.axial import PLATE, Layout, frame_tightenings
from gearwork.machine.design import Design
from gearwork.machine.drive import Motor
from gearwork.machine.frame import CRADLE, POST
from gearwork.machine.slide import RackLoad
from gearwork.numbers import figure
from gearwork.output.jobsheet.picture import STEP_LETTERS, section_view


class AssemblyStep(NamedTuple):
    """What to do, and the picture that shows it; empty where words are enough."""

    text: str
    picture: Markup = Markup("")


_BEARINGS = ("lower bearing", "upper bearing")
_OF_FRAME = ("plate", "ring", "screw")


def assembly_steps(design: Design, numbers: Mapping[str, int]) -> Iterator[AssemblyStep]:
    """Yield what to do, in order, with the numbers of this design and those of its bill."""
    parts, layouts = design.brief.shafts, design.layouts
    frame_rods = " and ".join(
        f"{len(one.at)} of {one.rod.length:.0f} mm for the {one.name}"
        for one in layouts[len(design.train.shafts) :]
    )
    yield AssemblyStep(
        "Measure every layer (section 6) before the glue is opened; what is out of its limits is"
        " cut again."
    )
    glued = "Glue a foot pad under either end of each foot board, hole on hole."
    if any(stage.layers > 1 for stage in design.stages):
        glued = (
            "Glue the layers of each gear with water-resistant wood glue, in the order of section"
            " 2, a waxed rod through the"
            " bore and a waxed pin through the witness holes, which keep the layers on each other;"
            " each layer's grain then lies at the angle in its name. Press flat until the glue has"
            f" set, then measure again. {glued}"
        )
    yield AssemblyStep(glued)
    lengths = ", ".join(
        f"{layout.rod.length:.0f} mm for shaft {i}"
        for i, layout in enumerate(design.shaft_layouts, 1)
    )
    yield AssemblyStep(
        f"Cut the {parts.rod.thread} rods to length, clean up the ends: {lengths}; and"
        f" those of {POST.thread}: {frame_rods}. Mark the lower end of each shaft, on the left in"
        f" section 2: it goes to {PLATE} A."
    )
    yield AssemblyStep(_dry_frame(design))
    for shaft in range(len(design.train.shafts)):
        low, on = layouts[shaft].rod.start, list[str]()
        for gear, held in zip(design.train.gears, design.fixings, strict=True):
            if gear.shaft == shaft:
                words = (
                    f"On rod {shaft + 1}, {gear.name}: {held.fixing.name}. Its faces stand"
                    f" {gear.start - low:.1f} and {gear.end - low:.1f} mm from the lower end."
                    f" {' '.join(_how(held))}"
                )
                on.append(gear.name)
                so_far = _standing(layouts[shaft], numbers, tuple(on))
                yield AssemblyStep(words.strip(), so_far)
    yield AssemblyStep(_trueing(design))
    yield from _closing(design, numbers)
    outside = tuple(gear.name for gear in design.gears[len(design.train.gears) :])
    for end in design.end_fixings:
        words = f"On rod {end.shaft + 1}, the {end.name}: {end.held.fixing.name}."
        bore = f"Bore it {end.held.fixing.bore_diameter:.1f} mm."
        at_end = _standing(layouts[end.shaft], numbers, (end.name, *outside), ("plate",))
        yield AssemblyStep(" ".join([words, bore, *_how(end.held)]), at_end)
    if design.coupling is not None:
        on_rod = _standing(layouts[0], numbers, ("coupling",), _OF_FRAME)
        yield AssemblyStep(_coupled(design.coupling), on_rod)
    elif design.input_fixing is None:
        yield AssemblyStep(
            "How the drive takes hold of rod 1 is not designed here, for nothing is known of its"
            " shaft: shaft_diameter under [drive] tells it."
        )
    if isinstance(design.duty.load, RackLoad):
        yield AssemblyStep(_bed(design, design.duty.load))
    if isinstance(design.duty.drive, Motor) or design.coupling is not None:
        yield AssemblyStep(_reaction(design))
    yield AssemblyStep(
        "Turn the train by hand through one whole turn of the last gear: it must turn freely, and"
        " every tooth must have the play of section 6. Find what binds before going on. Then the"
        " lid."
    )


def _standing(
    layout: Layout,
    numbers: Mapping[str, int],
    names: tuple[str, ...],
    kinds: tuple[str, ...] = (),
    within: tuple[float, float] = (-inf, inf),
) -> Markup:
    """A rod with what a step has put on it: pieces of these names or kinds, in this room."""
    pieces = tuple(
        p
        for p in layout.pieces
        if (p.name in names or p.kind in kinds) and within[0] <= p.start and p.end <= within[1]
    )
    return section_view(replace(layout, pieces=pieces, ends=("", "")), numbers, STEP_LETTERS)


def _dry_frame(design: Design) -> str:
    """Plates on their boards, without shafts: what is tried in it and how it is clamped."""
    plates = design.train.stack_up.plates
    rooms = sorted({round(b[0] - a[1], 1) for a, b in pairwise(plates)})
    middle, other = "", "the other plate on"
    if len(plates) > 2:
        middle = "Glue the layers of the middle plate. "
        other = "the next plate on with its own boards, and so on up to the last"
    return (
        f"{middle}Put the frame together dry: foot board and end boards into the slots of {PLATE}"
        f" A, pockets outwards, {other}, the lid into its notches. The boards keep the"
        f" plates {' and '.join(f'{room:.1f}' for room in rooms)} mm apart; a tenon that sticks is"
        " eased with a file, never hammered. A rod through each corner, a washer and a nut on"
        " either end, tightened by hand. Check every centre distance"
        " by the spacing drawing. To open it, loosen the rods beside the lid."
    )


def _closing(design: Design, numbers: Mapping[str, int]) -> Iterator[AssemblyStep]:
    """The trued shafts into the frame, their bearings, the feet."""
    first = design.layouts[0]
    bearings = sorted((p.start, p.end) for p in first.pieces if p.kind == "bearing")
    inside = bearings[0][1], bearings[-1][0]
    on_first = [gear.name for gear in design.train.gears if gear.shaft == 0]
    parts, frame = design.brief.shafts, design.brief.frame
    plate = frame.plate or design.brief.gears.sheet
    of_bearings, of_rods = map(_tightened, frame_tightenings(parts, plate))
    ball, seat = parts.bearing, parts.bearing.outer_diameter + frame.fit
    bush = " on its bush" if ball.bore > parts.rod.diameter else ""
    yield AssemblyStep(
        "Put on every rod, at both ends inside the plates, a thin nut and then a shim ring. Stand"
        f" {PLATE} A with its boards flat, pockets down; put all rods into it together, teeth in"
        f" mesh, then {PLATE} B on, and clamp it, its nuts drawn up in turns, crosswise, with"
        f" medium-strength thread-lock. {of_rods}",
        _standing(first, numbers, tuple(on_first), ("nut", "shim"), inside),
    )
    yield AssemblyStep(
        f"Press the {ball.name} bearings{bush} over the rods from outside into their {seat:.2f} mm"
        f" seats: in {PLATE} A down to the wood, in {PLATE} B half a millimetre less, so that they"
        " can move. Bring the inner nuts up to them, a shim ring and a thin nut outside,"
        f" thread-lock on all four. {of_bearings} Screw the retaining rings on by hand, through"
        " pilot holes of 2.5 mm, screw after screw in turns, until they lie on the plate.",
        _standing(first, numbers, _BEARINGS, _OF_FRAME),
    )
    load, feet = design.feet_load, "below"
    if design.train.box.feet_up:
        feet = "above: the machine hangs"
    yield AssemblyStep(
        f"Screw the feet down, {feet}; each screw must bear a pull of"
        f" {figure(load.pull(design.train), 'N', 2)}. Into anything but wood take M6 bolts with"
        " nuts, as long as that needs."
    )


def _coupled(held: Coupling) -> str:
    """How the drive takes hold of its rod, and what holds that."""
    drawn = [] if held.tightening is None else [_tightened(held.tightening)]
    if held.shaft is not None:
        drawn += _in_sleeve(held)
    return " ".join(
        [f"The drive takes hold of rod 1 so: {held.words}.", _holding(held.hold), *drawn]
    )


def _in_sleeve(held: Coupling) -> Iterator[str]:
    """What matters with a sleeve: gap, screws, the line of motor and rod."""
    yield f"Rod and shaft end in the middle of the sleeve, {GAP:g} mm apart."
    for joint in held.joints:
        if isinstance(joint, ClampedSleeve):
            force, screw = joint.screw_force, joint.sleeve.screw
            torque = SCREW_RULE * force * float(screw.removeprefix("M")) / 1000.0
            yield (
                f"Draw its screws {screw} on the {joint.on} up in turns to"
                f" {figure(torque, 'N·m', 2)}: {force / 1000.0:.2g} kN each, half of what they"
                " yield at."
            )
    yield (
        "A sleeve gives no way: set the motor by it, and fasten the motor's foot only where the rod"
        " turns freely."
    )


def _bed(design: Design, load: RackLoad) -> str:
    """What bed, guide and stops of a rack must do, and bear."""
    along, apart = load.forces(float(design.torques.max[-1]))
    assert design.on_bed is not None
    bar, panel = design.bar(design.on_bed), design.panel(design.on_bed)
    hole = design.stages[design.on_bed].screw_hole
    assert bar is not None
    return (
        f"Screw the rack on a straight bed of wood: its {len(bar.holes)} screws,"
        f" {screw_for(hole):g} × {screw_length(hole, panel):g} mm, hold {figure(along, 'N', 2)}"
        f" along it, a guide {figure(apart, 'N', 2)} from the pinion, axis to reference line"
        f" {load.stage.pair.centre_distance:.2f} mm. Soft stops end its {load.travel:g} mm."
    )


SCREW_RULE = 0.2  # T = K F d of a dry screw (Shigley Table 8-15, from memory)
ARM = 150.0  # from the drive's axis to where its cradle is held, mm (common practice)


def _reaction(design: Design) -> str:
    """What keeps the drive itself from turning: by statics, its torque over an arm."""
    torque, cradle = float(design.torques.max[0]), design.brief.cradle
    if cradle.body_diameter:
        posts = cradle.posts(design.train.box.rods)
        return (
            f"Put the {CRADLE} on its two long rods,"
            f" {cradle.handle_distance:g} mm outside {PLATE} A, and its pegs into it, their long"
            " ends away from the machine, all nuts drawn as those of the frame rods. The drill goes"
            " through it up to its handle, which stands between the pegs; felt takes up the play."
            f" At {figure(torque, 'N·m', 2)} a peg takes"
            f" {figure(cradle.peg_force(torque), 'N', 2)}, a tube"
            f" {figure(cradle.post_force(torque, posts), 'N', 2)}. Never hold the drill by hand"
            " alone."
        )
    return (
        "Hold the drive in a cradle on the frame, in line with the first rod, so that its weight"
        f" does not hang on the rod. It is turned back by up to {figure(torque, 'N·m', 2)}: a rest"
        f" {ARM:g} mm from its axis, against its handle, must take"
        f" {figure(1000.0 * torque / ARM, 'N', 2)} either way round. Never hold it by hand alone."
    )


def _trueing(design: Design) -> str:
    """How each gear is set true while it can still be moved, and to what limits."""
    given = design.brief.tolerance
    return (
        "True every gear before its epoxy sets and before its nuts are locked: put the shaft with"
        " both its bearings, by itself, into the dry frame without its lid, turn it by hand and"
        " hold a pointer to the tips of the teeth: nearest and farthest tip may differ by at most"
        f" {given.max_run_out:g} mm; then to the face beside the teeth: at most"
        f" {given.max_wobble:g} mm. A strip of office paper is"
        " 0.1 mm. Tap the gear over, or shim it with strips of paper or foil between rod"
        " and bore, then tighten, or let the epoxy set, and turn it once more."
    )


def _how(held: HubRating) -> Iterator[str]:
    """What holds it, what matters while each kind of joint is made, and how tight nuts are."""
    kinds = {type(joint) for joint in held.fixing.joints}
    yield _holding(held.fixing.hold)
    if kinds & {FaceGlue, BoreGlue}:
        yield "Roughen and degrease the steel, wet both sides with epoxy, leave it a day."
    if NutsInPockets in kinds:
        yield "The nut must fill its pocket without play."
    if BoltedJoint in kinds:
        yield (
            "Drill the steel plate through the gear and fasten it on the rod before the gear."
            " Draw the bolts up in three rounds, a third of"
            " their torque more in each, every time the one opposite next: each takes from its"
            " neighbours; go round once more at the end. Medium-strength thread-lock on their nuts."
        )
    if held.tightenings:
        yield "Degrease rod and nuts before the thread-lock."
    yield from map(_tightened, held.tightenings)


def _holding(hold: Hold) -> str:
    return (
        f"Centred by {hold.centre}; held along the rod by {hold.axial}, against turning by"
        f" {hold.torque}; locked by {hold.lock}."
    )


def _tightened(each: Tightening) -> str:
    torque, kilonewtons = figure(each.torque, "N·m", 2), each.clamp / 1000.0
    drawn, springs = f"Tighten the {each.what} to {torque}", each.springs
    if springs is not None:
        drawn = (
            f"Disc springs that are nested lie the same way up, stacks of them back to back. Draw"
            f" the upper nut from where fingers bring it by {each.turn:.0f}°, until the springs,"
            f" {springs.height(0.0):.2f} mm high when loose, stand {springs.height(each.clamp):.2f}"
            f" mm high, at about {torque}"
        )
    return (
        f"{drawn}: {kilonewtons:.2g} kN, {each.stress:.0f} MPa of"
        f" the {each.rod.grade.yield_strength:g} MPa at which {each.rod.thread} yields."
    )


def first_run(design: Design) -> Iterator[str]:
    """Yield what to do from the first turn on."""
    yield (
        "Never run it with the lid off or a board out: they are the guard. Rope, drum, wheel, crank"
        " and chuck stay outside it: keep hands, hair and cloth away from these."
    )
    yield "Set the drive as told on the first page, its clutch at the lowest step first."
    share = min(mesh.running_in_share for mesh in design.loaded_meshes)
    light = "little" if share == 1.0 else f"at most {100.0 * share:.0f} % of the largest load"
    yield (
        f"Run some minutes without load, then an hour with {light}, and stand aside of the plane of"
        " the gears. Where a flank shines, the teeth touch: it should shine over the whole width."
    )
    yield (
        "Wax the flanks, hard wax or paraffin, when they are dry; seal edges and faces thinly"
        " against moisture, not where glue will hold. Wax again when they squeak."
    )
    again = [
        name
        for name, held in design.held
        if any(isinstance(joint, FaceFriction) for joint in held.fixing.joints)
    ]
    if again:
        yield (
            f"Tighten the nuts of {' and '.join(again)} again until their springs stand as high as"
            " at first, with new thread-lock, after a day, after 3 months and after 6: a year takes"
            " three quarters of a clamp on wood that nobody tightens again, and hubs are judged by"
            " the two retightenings. Springs that stand higher later on say that it is time again."
        )
    if any(held.bolts for _, held in design.held):
        yield "Draw up the bolts of the hubs again after a day and after 3 and 6 months."
    yield (
        "Draw up the nuts of the frame's rods again after a day and after 3 and 6 months: plates"
        " creep as gears do."
    )
    yield "Measure the play again after some hours: what has grown by a half is worn, replace it."
