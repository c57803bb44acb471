"""Pieces known again wherever they lie and however they are turned.

Whether the files of parts and sheets hold the pieces of the design, whole and in number.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from gearwork.checks.check import Check
from gearwork.geometry.outline import DEFAULT_TOLERANCE, Outline, depth_inside
from gearwork.geometry.part import Part
from gearwork.machine.parts import file_stem
from gearwork.numbers import Floats
from gearwork.output.marking import NOT_CUT, OUTER, cut_paths
from gearwork.verify.read_dxf import CutFiles, Layers

ROUGH = 0.1
"""Chord error of the polygons that tell in which piece a cut lies and where its middle is, mm."""

SOURCE = (
    "lengths, areas and distances of the paths as read back against those of the design; the"
    " outlines' tolerance"
)
AGAIN = "Write the files again; do not change cut lines by hand."


@dataclass(frozen=True, eq=False)
class Piece:
    """An outer edge and what is cut within it, by what does not change when it is moved.

    `at` is the centroid of the outer edge, mm. `layers` are those of its cuts, in order of layer
    and length; `figures` the lengths of the paths, their areas over their lengths, distances of
    the cuts from the outer edge, and all distances between centroids, mm.
    """

    at: tuple[float, float]
    layers: tuple[str, ...]
    figures: Floats

    @classmethod
    def of(cls, outer: Outline, cuts: Sequence[tuple[str, Outline]]) -> "Piece":
        """Return the piece of an outer edge and cuts with their layers."""
        ordered = sorted(cuts, key=lambda cut: (cut[0], round(cut[1].length, 3)))
        paths = [outer, *(outline for _, outline in ordered)]
        lengths = np.array([path.length for path in paths])
        areas = np.abs([path.area for path in paths])
        middles = np.array([_centroid(path) for path in paths])
        first, second = np.triu_indices(len(paths), 1)
        apart = np.hypot(*(middles[first] - middles[second]).T)
        edges = depth_inside(middles[1:], outer, ROUGH) if cuts else np.empty(0)
        figures = [lengths, areas / lengths, np.sort(edges), np.sort(apart)]
        at = float(middles[0, 0]), float(middles[0, 1])
        return cls(at, tuple(layer for layer, _ in ordered), np.concatenate(figures))

    def unlike(self, other: "Piece") -> float:
        """Return by how much the figures of two pieces differ, mm; infinite for other cuts."""
        if self.layers != other.layers:
            return np.inf
        return float(np.abs(self.figures - other.figures).max())


def pieces_of(layers: Layers, outer: str) -> list[Piece]:
    """Return the pieces in a file, each edge of the layer `outer` with the cuts that lie within."""
    edges = layers.get(outer, ())
    held: list[list[tuple[str, Outline]]] = [[] for _ in edges]
    for layer, outlines in layers.items():
        for outline in outlines if layer != outer else ():
            home = _home(outline, edges)
            if home is not None:
                held[home].append((layer, outline))
    return [Piece.of(edge, cuts) for edge, cuts in zip(edges, held, strict=True)]


def _home(cut: Outline, edges: Sequence[Outline]) -> int | None:
    """The edge in which a cut begins, None where it lies in the waste."""
    x, y = cut.vertices[0]
    for place, edge in enumerate(edges):
        left, low, right, high = edge.bounds
        if left < x < right and low < y < high and depth_inside([(x, y)], edge, ROUGH)[0] > 0:
            return place
    return None


def _centroid(path: Outline) -> Floats:
    """Centroid of the enclosed area by the polygon of points along the path, mm, shape (2,)."""
    points = path.points(ROUGH)
    following = np.roll(points, -1, axis=0)
    cross = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    middle: Floats = (points + following).T @ cross / (3 * cross.sum())
    return middle


def piece_checks(parts: Sequence[Part], pieces: Sequence[Part], files: CutFiles) -> Iterator[Check]:
    """Yield a check for the file of each part and of each sheet, and one for the numbers.

    Each part has its file and lies on the sheets as often as its count says; `pieces` have files
    and lie on no sheet.
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
    for stem in files.sheets:
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
    judged, limit = "pieces as designed", DEFAULT_TOLERANCE
    return Check(judged, worst, limit, "mm", "at most", why, AGAIN, SOURCE, part=name, kind="file")


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
    off = float(missing.total() + surplus.total())
    judged = "pieces missing or too many on the sheets"
    return Check(judged, off, 0.0, "", "at most", why, AGAIN, SOURCE, kind="file")
