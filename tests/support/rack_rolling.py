"""A pinion turned along a rack, polygon against polygon."""

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from gearwork.geometry.gear_outline import tooth_outline

FINE = 5e-4


def polygons(cut):
    """Pinion about its axis, and the rack upright on its right with a space at y = 0."""
    pinion, rack = (Polygon(tooth_outline(t, FINE).points(FINE)) for t in (cut.pinion, cut.wheel))
    pitch = np.pi * cut.pair.pinion.module
    turned = affinity.rotate(rack, 90, origin=(0, 0))
    middle = (int(cut.pair.wheel.teeth) // 2 - 0.5) * pitch
    return pinion, affinity.translate(turned, cut.pair.centre_distance, -middle)


def overlaps(cut, turns=9):
    """Greatest overlap in mm² through a pitch, the rack amid its play."""
    pinion, rack = polygons(cut)
    teeth, pitch = cut.pair.pinion.teeth, np.pi * cut.pair.pinion.module
    return max(
        affinity.rotate(pinion, 360 / teeth * share, origin=(0, 0))
        .intersection(affinity.translate(rack, 0, pitch * share))
        .area
        for share in np.linspace(0, 1, turns)
    )


def play(cut, share):
    """How far the rack can be pushed down and up from amid its play at a share of a pitch, mm."""
    pinion, rack = polygons(cut)
    pitch = np.pi * cut.pair.pinion.module
    turned = affinity.rotate(pinion, 360 / cut.pair.pinion.teeth * share, origin=(0, 0))
    found = []
    for sign in (-1, 1):
        low, high = 0.0, pitch / 2
        for _ in range(40):
            middle = (low + high) / 2
            moved = affinity.translate(rack, 0, pitch * share + sign * middle)
            free = turned.intersection(moved).area < 1e-9
            low, high = (middle, high) if free else (low, middle)
        found.append(low)
    return found
