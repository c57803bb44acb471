"""The pieces of sheet a design is built from: every layer of every gear, and the side plates."""

import re
from dataclasses import replace

from gearwork.checks.bolting import BoltedJoint, NutsInPockets
from gearwork.checks.fixing import Fixing
from gearwork.design.solution import Design
from gearwork.design.stage import MountedGear
from gearwork.geometry.blank import gear_part
from gearwork.geometry.features import BoltCircle, Bore, Feature, NutPocket, Witness
from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Part
from gearwork.geometry.plate import Seat, SidePlates, Spacers, side_plates
from gearwork.geometry.toothed_edge import gear_outline
from gearwork.stock.hardware import nut

BOLT_PLAY = 0.5
"""Bolt hole over bolt diameter, mm."""

SPACER = Spacers(length=1.0, outer_diameter=16.0, hole_diameter=8.5, count=4, name="M8 rod in tube")
PLATE_MARGIN = 12.0


def design_parts(design: Design) -> tuple[Part, ...]:
    """Return every piece to cut, gears first.

    Raises
    ------
    GearworkError
        If a gear cannot be cut with the bit, or a hub does not fit its gear.
    """
    gears = [part for gear in design.train.gears for part in gear_layers(design, gear)]
    return (*gears, *design_plates(design).parts)


def file_stem(part: Part) -> str:
    """Return the name of a part's files, without ending."""
    return re.sub(r"[^a-z0-9]+", "-", part.name.lower()).strip("-")


def toothed_edge(design: Design, gear: MountedGear) -> Outline:
    """Return the outline of a mounted gear as it will be cut."""
    pair = design.stages[gear.stage].pair
    mate = pair.wheel if gear.shaft == gear.stage else pair.pinion
    return gear_outline(gear.gear, design.brief.bit, mate, pair.centre_distance)


def gear_layers(design: Design, gear: MountedGear) -> tuple[Part, ...]:
    """Return the layers of one gear; layers that are cut alike make one part with a count."""
    outline = toothed_edge(design, gear)
    panel, sheet = design.panel(gear.stage), design.brief.gears.sheet
    fixing = design.fixings[design.train.gears.index(gear)].fixing
    pocket = _pocket(fixing, sheet.thickness)
    angles = panel.layers
    many = len(angles) > 1
    parts: dict[str, Part] = {}
    for place, angle in enumerate(angles):
        outer = pocket is not None and place in (0, len(angles) - 1)
        turned_over = outer and place == 0 and many
        grain = -angle if turned_over else angle
        name = _layer_name(gear.name, angle, many, outer, place)
        if name in parts:
            parts[name] = replace(parts[name], count=parts[name].count + 1)
            continue
        features = [*_features(fixing), *([pocket] if outer and pocket else [])]
        parts[name] = gear_part(
            name,
            outline,
            design.brief.bit,
            sheet.thickness,
            features,
            witness=Witness(depth=None) if many else Witness(),
            grain=grain,
            notes=_notes(gear, angle, turned_over),
        )
    return tuple(parts.values())


def _layer_name(gear: str, angle: float, many: bool, pocketed: bool, place: int) -> str:
    name = f"{gear} grain {angle:g}" if many else gear
    if pocketed and many:
        return f"{name} {'lower' if place == 0 else 'upper'} face"
    return name


def _notes(gear: MountedGear, angle: float, turned_over: bool) -> tuple[str, ...]:
    g = gear.gear
    lines = [
        f"z {g.teeth:g}, m {g.module:g} mm, x {g.profile_shift:g}, {g.pressure_angle:g} deg",
        f"tip {g.tip_diameter:.3f} mm, root {g.root_diameter:.3f} mm",
        f"span over {g.default_teeth_spanned:g} teeth {g.span():.3f} mm",
    ]
    if turned_over:
        lines.append(f"lies face down in the gear; there its grain is at {angle:g} deg")
    return tuple(lines)


def _features(fixing: Fixing) -> list[Feature]:
    features: list[Feature] = [Bore(fixing.bore_diameter)]
    features += [
        BoltCircle(link.count, link.bolt.diameter + BOLT_PLAY, link.circle_diameter)
        for link in fixing.links
        if isinstance(link, BoltedJoint)
    ]
    return features


def _pocket(fixing: Fixing, thickness: float) -> NutPocket | None:
    for link in fixing.links:
        if isinstance(link, NutsInPockets):
            depth = None if link.depth >= thickness else link.depth
            return NutPocket(nut(link.rod.thread).width_across_flats, depth)
    return None


def design_plates(design: Design) -> SidePlates:
    """Return the plates that carry the bearings."""
    train, brief = design.train, design.brief
    seats = [
        Seat(
            x=axis.at[0],
            y=axis.at[1],
            diameter=brief.shafts.bearing.outer_diameter,
            allowance=brief.frame.fit,
            swept_diameter=max((tip for _, _, tip, _ in axis.circles), default=0.0),
            name=axis.name,
        )
        for axis in train.axes
    ]
    plates = train.stack_up.plates
    return side_plates(
        seats,
        brief.bit,
        train.frame.plate_thickness,
        PLATE_MARGIN,
        replace(SPACER, length=plates[1][0] - plates[0][1]),
    )
