"""Centring: how far the teeth of a gear stand off the axis it turns about.

The crests of a threaded rod stand in the bore of the gear, and in that of the bearing. A nut or a
shim presses the rod to one side of either, so that half of each play is an eccentricity, in any
direction to the other. Trueing on the rod in its bearings takes both out down to what a pointer
shows, as far as the bore lets the gear move.
"""

from dataclasses import dataclass
from math import radians, tan

import numpy as np

from gearwork.checks.check import Step
from gearwork.checks.hub.fixing import Fixing, HubRating
from gearwork.checks.hub.joints import BoltedJoint, FaceFriction, FaceGlue, nut_face
from gearwork.numbers import Floats
from gearwork.stock.hardware import Bearing

TRUED = 0.1
"""Run-out of a gear trued on its rod, full swing of a pointer, mm: a strip of office paper, 0.1 mm,
tells it (common practice)."""


@dataclass(frozen=True)
class Centring:
    """A bore on a rod in a bearing, mm; `rod`: least and greatest diameter over its crests."""

    bore: float
    rod: tuple[float, float]
    bearing_bore: float

    @classmethod
    def of(cls, fixing: Fixing, bearing: Bearing) -> "Centring":
        """Return that of a gear held like this, on its rod in this bearing, or in the bush in it.

        A bush is of tube, which slides into the bearing and over the rod of its name.
        """
        held = min(bearing.bore, fixing.rod.diameter)
        return cls(fixing.bore_diameter, fixing.rod.outside, held)

    def eccentricity(self, bore: Floats, rod: Floats, turn: Floats, max_run_out: float) -> Floats:
        """Return the distance of the teeth's centre from the axis, mm, one entry a sample.

        `bore`: as cut, mm; `rod`: from 0, the thinnest, to 1; `turn`: of the play in the bearing
        against that in the bore, radians; `max_run_out`: what trueing leaves at most, mm.
        """
        diameter = self.rod[0] + rod * (self.rod[1] - self.rod[0])
        in_bore = np.maximum(bore - diameter, 0.0) / 2.0
        in_bearing = np.maximum(self.bearing_bore - diameter, 0.0) / 2.0
        fit = np.sqrt(in_bore**2 + in_bearing**2 + 2.0 * in_bore * in_bearing * np.cos(turn))
        out_of_reach = np.maximum(in_bearing - in_bore, 0.0)
        return np.asarray(np.minimum(fit, np.maximum(max_run_out / 2.0, out_of_reach)))

    @property
    def max_eccentricity(self) -> float:
        """What the fits alone let it be at most, mm."""
        return (self.bore + self.bearing_bore) / 2.0 - self.rod[0]

    @property
    def steps(self) -> tuple[Step, ...]:
        """The fits, for the basis of a check."""
        return (
            Step("bore of the gear", self.bore, "mm", "as drawn, cut with its scatter"),
            Step("thinnest rod", self.rod[0], "mm", "ISO 965-1, 6g, or as measured"),
            Step("bore of bearing or bush", self.bearing_bore, "mm", "ISO 15, ISO 492"),
            Step("eccentricity of the fits at most", self.max_eccentricity, "mm", "half the plays"),
        )


NUT_FACE_TILT = 1.0
"""Bearing face of a nut to its thread, degrees at most (ISO 4759-1, from memory)."""


def seat_diameter(fixing: Fixing) -> float | None:
    """Return the width of what a gear leans on across its rod, mm; None where its bore alone."""
    for joint in fixing.joints:
        if isinstance(joint, FaceFriction | FaceGlue):
            return joint.seat.outer_diameter
        if isinstance(joint, BoltedJoint):
            return joint.circle_diameter
    return nut_face(fixing.rod).outer_diameter if fixing.below else None


def tilt(held: HubRating, tip_diameter: float, max_wobble: float) -> tuple[float, str]:
    """Return by how much a gear stands askew on its rod at most, mm per mm, and what lets it.

    As it is seated, or what trueing leaves: what a pointer shows at the face, over the tip
    diameter, mm.
    """
    trued = max_wobble / tip_diameter, f"trueing its face to {max_wobble:g} mm"
    return min(seated_tilt(held), trued)


def seated_tilt(held: HubRating) -> tuple[float, str]:
    """Return the same before it is trued.

    What a nut's face is out over its own width tilts a washer, flange or plate the less, the wider
    that is (assumption: it lies flat on the wood); a long bore holds a gear straight within its
    play.
    """
    fixing = held.fixing
    ways = [((fixing.bore_diameter - fixing.rod.outside[0]) / held.panel.thickness, "the bore")]
    if width := seat_diameter(fixing):
        out = nut_face(fixing.rod).outer_diameter * tan(radians(NUT_FACE_TILT))
        ways.append((out / width, f"a seat of {width:g} mm under nuts"))
    return min(ways)
