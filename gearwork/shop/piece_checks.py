"""Whether the files of parts and sheets hold the pieces of the design, whole and in number."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import inf

from gearwork.checks.piece_match import Layers, Piece, pieces_of
from gearwork.checks.verdict import Check
from gearwork.geometry.outline import DEFAULT_TOLERANCE
from gearwork.geometry.part import Part
from gearwork.shop.marking import NOT_CUT, OUTER, cut_paths
from gearwork.shop.parts import file_stem

SOURCE = (
    "lengths, areas and distances of the paths as read back against those of the design; the"
    " outlines' tolerance"
)
AGAIN = "Write the files again; do not change cut lines by hand."


def piece_checks(
    parts: Sequence[Part],
    pieces: Sequence[Part],
    files: Mapping[str, Layers],
    sheets: Sequence[str],
) -> Iterator[Check]:
    """Yield a check for the file of each part and of each sheet, and one for the numbers.

    Parameters
    ----------
    parts : sequence of Part
        Of the design: each has its file and lies on the sheets as often as its count says.
    pieces : sequence of Part
        That have files and lie on no sheet.
    files : mapping of str to layers
        Cut lines by file name, without ending.
    sheets : sequence of str
        Names of the files of the sheets, without ending.
    """
    known: dict[str, Piece] = {}
    wanted: Counter[str] = Counter()
    for place, part in enumerate((*parts, *pieces)):
        stem, designed = file_stem(part.name), _as_designed(part)
        yield _file_check(f"{stem}.dxf", pieces_of(files[stem], OUTER), {part.name: designed}, 1)
        if place < len(parts):
            # Layers of a gear that differ in their grain alone are one kind.
            off, kind = _nearest(designed, known)
            if off > DEFAULT_TOLERANCE:
                kind = part.name
                known[kind] = designed
            wanted[kind] += part.count
    found: Counter[str] = Counter()
    for stem in sheets:
        on_sheet = pieces_of(files[stem], OUTER)
        yield _file_check(f"{stem}.dxf", on_sheet, known)
        found.update(_nearest(piece, known)[1] for piece in on_sheet)
    yield _count_check(found, wanted)


def _as_designed(part: Part) -> Piece:
    lines = [(layer, line) for layer, line in cut_paths([part]) if layer != NOT_CUT]
    return Piece.of(lines[-1][1], lines[:-1])


def _nearest(piece: Piece, known: Mapping[str, Piece]) -> tuple[float, str]:
    """By how much a piece differs from the known one most like it, mm, and its name."""
    return min(((piece.unlike(other), name) for name, other in known.items()), default=(inf, ""))


def _file_check(
    name: str, found: Sequence[Piece], known: Mapping[str, Piece], wanted: int | None = None
) -> Check:
    worst, like, at = max(
        ((*_nearest(piece, known), piece.at) for piece in found), default=(0.0, "", (0.0, 0.0))
    )
    why = f"Every piece in {name} is the one designed, with all that is cut into it."
    if worst > DEFAULT_TOLERANCE:
        why = (
            f"The piece in {name} near ({at[0]:.0f}, {at[1]:.0f}) mm differs from every part of"
            f" the design, the least from {like}."
        )
    if wanted is not None and len(found) != wanted:
        worst, why = inf, f"{name} holds {len(found)} outer edges where one is needed."
    return Check(
        name=f"pieces as designed, {name}",
        value=worst,
        limit=DEFAULT_TOLERANCE,
        unit="mm",
        sense="at most",
        why=why,
        remedy=AGAIN,
        source=SOURCE,
    )


def _count_check(found: Counter[str], wanted: Counter[str]) -> Check:
    missing, surplus = wanted - found, found - wanted
    why = f"The sheets hold all {wanted.total()} pieces."
    if missing or surplus:
        why = " ".join(
            f"{'Missing from' if short is missing else 'Too many on'} the sheets:"
            f" {', '.join(f'{count} of {name}' for name, count in short.items())}."
            for short in (missing, surplus)
            if short
        )
    return Check(
        name="pieces missing or too many on the sheets",
        value=float(missing.total() + surplus.total()),
        limit=0.0,
        unit="",
        sense="at most",
        why=why,
        remedy=AGAIN,
        source=SOURCE,
    )
