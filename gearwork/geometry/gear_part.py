"""A gear or rack as one piece of sheet: its toothed edge and everything cut into it."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from gearwork.errors import GearworkError
from gearwork.geometry.features import MIN_WALL, Bore, Feature, NutPocket, Witness
from gearwork.geometry.outline import Outline, depth_inside, wood_between
from gearwork.geometry.part import Cut, Part
from gearwork.geometry.rack import BarPiece
from gearwork.geometry.tooth import Cutter

WITNESS = Witness()


def gear_part(
    name: str,
    outline: Outline,
    bit: Cutter,
    thickness: float,
    features: Sequence[Feature] = (),
    witness: Witness | None = WITNESS,
    count: int = 1,
    grain: float = 0.0,
    notes: tuple[str, ...] = (),
) -> Part:
    """Return a gear as one piece of sheet, everything cut into it.

    The outline's tooth 0 is centred on +x; thickness in mm; grain in degrees from tooth 0; without
    a witness there is no mark. Refused where a feature cannot be cut with the bit, or two of them,
    or one and the root circle, leave less wood between them than they need.
    """
    root = 2 * float(np.hypot(*outline.points().T).min())
    marks = () if witness is None else (witness,)
    cut = [(feature, feature.cuts(bit, root)) for feature in (*features, *marks)]
    for feature, cuts in cut:
        reach = max(np.hypot(*path.outline.points().T).max() for path in cuts)
        short = feature.wall - (root / 2 - reach)
        if short > 1e-6:
            raise GearworkError(
                f"{feature.label} leaves {root / 2 - reach:.2f} mm of wood to the root circle of"
                f" {root:.2f} mm: {feature.wall:g} mm is needed; bring it in by {short:.2f} mm,"
                f" that is {2 * short:.2f} mm in diameter, or take a larger gear"
            )
    for one, other in combinations(cut, 2):
        _check_wood(one, other)
    return Part(
        name,
        outline,
        thickness,
        tuple(path for _, cuts in cut for path in cuts),
        count,
        grain,
        notes,
        None if witness is None else witness.place(root),
    )


def bar_part(
    name: str,
    piece: BarPiece,
    outline: Outline,
    bit: Cutter,
    thickness: float,
    hole_diameter: float,
    witness: Witness | None = WITNESS,
    count: int = 1,
    grain: float = 0.0,
    notes: tuple[str, ...] = (),
) -> Part:
    """Return a piece of a rack with its row of screw holes and a mark under its first tooth.

    Thickness and holes in mm; grain in degrees from the reference line. Refused where the wood
    beside a hole is less than its width.
    """
    rack = piece.rack
    wood = (rack.back_depth - rack.root_depth - hole_diameter) / 2
    if wood < max(hole_diameter, MIN_WALL):
        raise GearworkError(
            f"screw holes of {hole_diameter:g} mm leave {max(wood, 0.0):.2f} mm of wood beside"
            f" them: {max(hole_diameter, MIN_WALL):g} mm is needed; make the rack higher or the"
            " holes smaller"
        )
    cuts = [Cut.drilled(hole_diameter, (x, -rack.hole_depth)) for x in piece.holes]
    mark = None
    if witness is not None:
        mark = (0.0, -rack.root_depth - MIN_WALL - witness.diameter / 2)
        cuts.append(witness.cut_at(bit, mark))
    return Part(name, outline, thickness, tuple(cuts), count, grain, notes, mark)


def _check_wood(one: tuple[Feature, Sequence[Cut]], other: tuple[Feature, Sequence[Cut]]) -> None:
    (first, first_cuts), (second, second_cuts) = one, other
    if {type(first), type(second)} == {Bore, NutPocket}:
        _check_nested(first_cuts[0], second_cuts[0])
        return
    wall = max(first.wall, second.wall)
    left = min(wood_between(a.outline, b.outline) for a in first_cuts for b in second_cuts)
    if left < wall - 0.01:
        raise GearworkError(
            f"{first.label} and {second.label} have {max(left, 0.0):.2f} mm of wood between them:"
            f" {wall:g} mm is needed; move them apart by {wall - left:.2f} mm, that is"
            f" {2 * (wall - left):.2f} mm in diameter, or leave one out"
        )


def _check_nested(one: Cut, other: Cut) -> None:
    """Refuse a bore that does not lie within its nut pocket, or is swallowed by it."""
    bore, pocket = (one, other) if len(one.outline) == 2 else (other, one)
    if pocket.depth is None:
        raise GearworkError(
            "nut pocket goes through the sheet and swallows the bore: leave the bore out or give"
            " the pocket a depth"
        )
    width = 2 * float(depth_inside((0.0, 0.0), pocket.outline)[0])
    hole = float(np.hypot(*bore.outline.chords[0]))
    if hole >= width:
        raise GearworkError(
            f"bore is {hole:g} mm: it must be below the nut pocket's {width:.2f} mm across flats"
        )
