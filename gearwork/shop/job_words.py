"""Standing text of the job sheet: assembly in order, cautions, and what is not known."""

from collections.abc import Iterator
from itertools import pairwise

from gearwork.checks.bolting import BoltedJoint, NutsInPockets
from gearwork.checks.clamping import FaceFriction
from gearwork.checks.fixing import Fixing
from gearwork.checks.gluing import BoreGlue, FaceGlue, ThreadLock
from gearwork.design.solution import Design

CAUTIONS = (
    "Routers throw chips and take fingers: clamp the sheet, leave holding tabs on small parts,"
    " wear eye and ear protection, keep hands away until the bit stands still.",
    "Plywood dust harms the lungs: extract it at the bit and wear a dust mask. Epoxy and"
    " thread-lock harm skin and eyes: wear gloves, air the room.",
    "Gears pinch and draw in fingers, hair and cloth: guard every mesh before power is on, and"
    " take battery or plug out before reaching in.",
    "First runs: without load, then with little; stand aside of the plane of the gears.",
    "This sheet is no approval. Follow your local codes, and leave what they reserve to licensed"
    " people (lifting gear, road vehicles, machines for hire or at work) to them. Where people"
    " ride or a load can fall or run back on somebody, have a licensed engineer look at the"
    " machine before it is used.",
)


def assembly_steps(design: Design) -> tuple[str, ...]:
    """Return what to do, in order, with the numbers of this design."""
    return tuple(_steps(design))


def _steps(design: Design) -> Iterator[str]:
    frame, parts = design.brief.frame, design.brief.shafts
    yield (
        "Cut the test piece and measure it by its own section of this sheet; measure the sheet's"
        " thickness too. Put both into the design file and run again: the parts change with them."
    )
    yield (
        "Cut the parts: holes, pockets and inside edges first, the outer edge last, with holding"
        " tabs. Keep the face grain as the sheet pictures show it."
    )
    yield "Measure every layer by the inspection sheet; what is out of its limits is cut again."
    if any(stage.layers > 1 for stage in design.stages):
        yield (
            "Glue the layers of each gear with water-resistant wood glue, a rod through the bore"
            " and the witness marks on each other; each layer's grain then lies at the angle in"
            " its name. Press flat until the glue has set, then measure again."
        )
    seat = parts.bearing.outer_diameter + frame.fit
    deep = "" if frame.seat_depth is None else f", {frame.seat_depth:g} mm deep,"
    yield (
        f"Press the {parts.bearing.name} bearings into their {seat:.2f} mm seats{deep} in the side"
        " plates; check every centre distance by the spacing drawing."
    )
    lengths = ", ".join(
        f"{length:.0f} mm for shaft {i}" for i, length in enumerate(design.train.rod_lengths, 1)
    )
    yield f"Cut the {parts.rod.thread} rods to length and clean up the ends: {lengths}."
    for shaft in range(len(design.train.shafts)):
        for gear, held in zip(design.train.gears, design.fixings, strict=True):
            if gear.shaft == shaft:
                yield (
                    f"On rod {shaft + 1}, {gear.name}: {held.fixing.name}. Its faces stand"
                    f" {gear.start:.1f} and {gear.end:.1f} mm from the inside of the first plate."
                    f" {' '.join(_how(held.fixing))}"
                ).strip()
    plates = design.train.stack_up.plates
    rooms = sorted({round(b[0] - a[1], 1) for a, b in pairwise(plates)})
    yield (
        "Put the shafts into the first plate, the distance pieces of"
        f" {' and '.join(f'{room:.1f}' for room in rooms)} mm on it, the other plate on top, and"
        " fasten: a nut on each rod outside each plate, not so tight that the bearings drag."
    )
    yield (
        "Turn the train by hand through one whole turn of the last gear: it must turn freely, and"
        " every tooth must have the play of the inspection sheet. Find what binds before going on."
    )
    yield (
        "Guard the gears. Set the drive as told above, run some minutes without load and an hour"
        " with little, look at teeth and hubs, and tighten clamped nuts again."
    )


def _how(fixing: Fixing) -> Iterator[str]:
    """What matters while each kind of link is made."""
    kinds = {type(link) for link in fixing.links}
    if kinds & {FaceGlue, BoreGlue}:
        yield (
            "Roughen and degrease the steel, wet both sides with epoxy, tighten by hand only, leave"
            " it a day."
        )
    if FaceFriction in kinds:
        yield "Tighten the nuts against the wood until it just begins to give, again after a day."
    if NutsInPockets in kinds:
        yield "The nut must fill its pocket without play."
    if BoltedJoint in kinds:
        yield "Drill the steel plate through the gear, nuts tight against the plate."
    if ThreadLock in kinds:
        yield "Degrease rod and nuts before the thread-lock."
