"""Parts whose areas are known in closed form, for the tests of the writers."""

import math

from gearwork.geometry.outline import Outline
from gearwork.geometry.part import Cut, Part
from gearwork.machine.layout import Stock
from gearwork.output.dxf import cut_dxf
from gearwork.output.marking import CutLines
from gearwork.output.svg import cut_svg

QUARTER = math.tan(math.pi / 8)


def rounded_plate(wide=100.0, high=60.0, radius=8.0):
    """A rectangle with round corners: its area is w·h - (4 - pi)·r²."""
    w, h, r = wide, high, radius
    vertices = [(r, 0), (w - r, 0), (w, r), (w, h - r), (w - r, h), (r, h), (0, h - r), (0, r)]
    return Outline(vertices, [0, QUARTER] * 4)


def slot(length=20.0, width=6.0):
    """Two straights and two half circles: its area is l·w + pi·w²/4."""
    half = width / 2
    return Outline([(0, -half), (length, -half), (length, half), (0, half)], [0, 1, 0, 1])


PLATE_AREA = 100 * 60 - (4 - math.pi) * 64
SLOT_AREA = 20 * 6 + math.pi * 9


def plate(**changes):
    cuts = (
        Cut(Outline.circle(8.0, (25, 30)), "inside edge"),
        Cut(Outline.circle(14.5, (25, 30)), "pocket", 4.5),
        Cut(slot().moved(50, 20), "inside edge"),
        Cut.drilled(5.0, (60, 45)),
    )
    values = {
        "name": "side plate α",
        "outer": rounded_plate(),
        "thickness": 12.0,
        "cuts": cuts,
        "count": 2,
        "grain": 30.0,
        "notes": ("a = 130.25 mm ± 0.10", "20°"),
        "witness": (90.0, 10.0),
    }
    return Part(**{**values, **changes})


def part_dxf(part, version="R2010"):
    return cut_dxf(CutLines.of_part(part), version)


def part_svg(part):
    return cut_svg(CutLines.of_part(part))


def sheet_dxf(parts, width, height, notes=(), version="R2010"):
    return cut_dxf(CutLines.of_sheet(parts, Stock(width, height, 12), notes), version)


def sheet_svg(parts, width, height, notes=()):
    return cut_svg(CutLines.of_sheet(parts, Stock(width, height, 12), notes))
