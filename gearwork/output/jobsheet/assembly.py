"""How the machine of a design is put together and first run: what the steps are told from."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from math import inf
from typing import NamedTuple

from markupsafe import Markup

from gearwork.checks.hub import joints
from gearwork.checks.hub.bar_screws import screw_for, screw_length
from gearwork.checks.hub.coupling import GAP
from gearwork.checks.hub.fixing import HubRating
from gearwork.geometry.features import Feature, Witness
from gearwork.machine.axial import Layout, frame_tightenings
from gearwork.machine.design import Design, EndFixing
from gearwork.machine.drive import Motor
from gearwork.machine.parts import Hub
from gearwork.machine.slide import RackLoad
from gearwork.output.jobsheet.picture import HALF, section_view
from gearwork.output.jobsheet.step_views import ARM, hub_view, step_views

_BEARINGS = ("lower bearing", "upper bearing")
_OF_FRAME = ("plate", "ring", "screw")


class OnRod(NamedTuple):
    """Something that goes on a rod: how it is held, and what the rod looks like then.

    `faces`: where it begins and ends, from the lower end of the rod, mm; `like`: what was held in
    the very same way before; `features`: what is cut into it, where no file cuts it, and `hub`
    their picture.
    """

    name: str
    rod: int
    held: HubRating
    faces: tuple[float, float]
    picture: Markup
    like: str = ""
    features: tuple[Feature, ...] = ()
    hub: Markup = Markup()

    def _has(self, *kinds: type) -> bool:
        return any(isinstance(joint, kinds) for joint in self.held.fixing.joints)

    @property
    def glued(self) -> bool:
        """Whether epoxy holds it."""
        return self._has(joints.FaceGlue, joints.BoreGlue)

    @property
    def pocketed(self) -> bool:
        """Whether a nut is let into a pocket of it."""
        return self._has(joints.NutsInPockets)

    @property
    def bolted(self) -> bool:
        """Whether bolts hold it."""
        return self._has(joints.BoltedJoint)

    @property
    def plate_hole(self) -> float:
        """Hole of its steel plate for the rod, mm; 0: it has none."""
        return sum(piece.hole for piece in self.held.fixing.below if piece.kind == "plate")


def assembly(design: Design, numbers: Mapping[str, int]) -> dict[str, object]:
    """Return what the steps are told from, with the numbers of the bill on their pictures."""
    outside = tuple(gear.name for gear in design.gears[len(design.train.gears) :])
    gears = list(_gears(design, numbers))
    ends = [_at_end(design, numbers, end, outside) for end in design.end_fixings]
    every = _told_once([*gears, *ends])
    plate = design.brief.frame.plate or design.brief.gears.sheet
    of_bearings, of_rods = frame_tightenings(design.brief.shafts, plate)
    return {
        "on_rods": every[: len(gears)],
        "ends": every[len(gears) :],
        "apart": sorted({round(b[0] - a[1], 1) for a, b in pairwise(design.train.stack_up.plates)}),
        "of_rods": of_rods,
        "of_bearings": of_bearings,
        "arm": ARM,
        "pin": Witness().diameter,
        "sleeve_gap": GAP,
        "sleeves": [
            one
            for one in (design.coupling.joints if design.coupling else ())
            if isinstance(one, joints.ClampedSleeve | joints.SetScrews | joints.Keyed)
        ],
        "bed": _bed(design),
        "turned_back": isinstance(design.duty.drive, Motor) or design.coupling is not None,
        "pictures": step_views(design, numbers) | _shafts(design, numbers),
        "running_in": min(mesh.running_in_share for mesh in design.loaded_meshes),
        "clamped": [
            name
            for name, held in design.held
            if any(isinstance(joint, joints.FaceFriction) for joint in held.fixing.joints)
        ],
        "bolted": any(held.bolts for _, held in design.held),
    }


def _gears(design: Design, numbers: Mapping[str, int]) -> Iterator[OnRod]:
    """The gears in the order in which they go on their rods."""
    for shaft in range(len(design.train.shafts)):
        on = list[str]()
        for gear, held in zip(design.train.gears, design.fixings, strict=True):
            if gear.shaft == shaft:
                on.append(gear.name)
                yield _on_rod(design, shaft, numbers, gear.name, held, tuple(on))


def _on_rod(
    design: Design,
    shaft: int,
    numbers: Mapping[str, int],
    name: str,
    held: HubRating,
    shown: tuple[str, ...],
    kinds: tuple[str, ...] = (),
) -> OnRod:
    layout = design.layouts[shaft]
    low = layout.rod.start
    on = [p for p in layout.pieces if p.kind in ("gear", "disc")]
    # a rack's pinion has its own name there, and nothing else is shown
    wood = [p for p in on if p.name == name] or [p for p in on if p.name in shown]
    faces = min(p.start for p in wood) - low, max(p.end for p in wood) - low
    return OnRod(name, shaft + 1, held, faces, _standing(layout, numbers, shown, kinds))


def _at_end(
    design: Design, numbers: Mapping[str, int], end: EndFixing, outside: tuple[str, ...]
) -> OnRod:
    """What is fixed to the end of a rod; of what is not cut from the sheets also its hub."""
    layout, shown = design.layouts[end.shaft], (end.name, *outside)
    found = _on_rod(design, end.shaft, numbers, end.name, end.held, shown, ("plate",))
    if not any(p.kind == "disc" and p.name == end.name for p in layout.pieces):
        return found
    hub = Hub.of(end.held.fixing, end.held.panel.thickness)
    features = hub.let_in if hub.faces else hub.features
    return found._replace(features=features, hub=hub_view(design, end.name, features))


def _told_once(steps: Iterable[OnRod]) -> list[OnRod]:
    """Each way to hold something is told once; who is held alike is named after that."""
    found: list[OnRod] = []
    for one in steps:
        held = (one.held.fixing, one.held.tightenings, one.held.bolts)
        same = (
            first.name
            for first in found
            if not first.like
            and held == (first.held.fixing, first.held.tightenings, first.held.bolts)
        )
        found.append(one._replace(like=next(same, "")))
    return found


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
    return section_view(replace(layout, pieces=pieces, ends=("", "")), numbers, HALF)


def _shafts(design: Design, numbers: Mapping[str, int]) -> dict[str, Markup]:
    """The first shaft with its inner nuts, with its bearings, with what couples it."""
    first = design.layouts[0]
    bearings = sorted((p.start, p.end) for p in first.pieces if p.kind == "bearing")
    on_first = tuple(gear.name for gear in design.train.gears if gear.shaft == 0)
    inside = bearings[0][1], bearings[-1][0]
    return {
        "nuts": _standing(first, numbers, on_first, ("nut", "shim"), inside),
        "bearings": _standing(first, numbers, _BEARINGS, _OF_FRAME),
        "coupling": _standing(first, numbers, ("coupling",), _OF_FRAME),
    }


def _bed(design: Design) -> dict[str, object] | None:
    """What bed, guide and stops of a rack must do, and bear."""
    load, stage = design.duty.load, design.on_bed
    if not isinstance(load, RackLoad) or stage is None or (bar := design.bar(stage)) is None:
        return None
    along, apart = load.forces(float(design.torques.max[-1]))
    hole = design.stages[stage].screw_hole
    return {
        "screws": len(bar.holes),
        "screw": f"{screw_for(hole):g} × {screw_length(hole, design.panel(stage)):g}",
        "along": along,
        "apart": apart,
    }
