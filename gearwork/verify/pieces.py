"""Pieces known again wherever they lie and however they are turned.

Whether the files of parts and sheets hold the pieces of the design, whole and in number.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from itertools import combinations, pairwise
from math import inf
from zlib import adler32

import numpy as np
from numpy.typing import ArrayLike

from gearwork.checks.check import Check
from gearwork.geometry.outline import DEFAULT_TOLERANCE, Outline, as_pairs, circle_of, depth_inside
from gearwork.geometry.part import Part
from gearwork.machine.gear_set import GearSet
from gearwork.machine.layout import Stock
from gearwork.machine.parts import file_stem
from gearwork.numbers import Floats
from gearwork.output.marking import NOT_CUT, OUTER, CutLines, Marks, plain_text
from gearwork.verify.read_dxf import CutFiles, Layers, Notes

ROUGH = 0.1
"""Chord error of the polygons that tell in which piece a cut lies and where its middle is, mm."""

MAX_TURN = 0.5
"""Of a piece against the grain, degrees: strengths change by less than a hundredth."""

SLACK = 0.02
"""What distances on a sheet may be short by, mm."""

SAME = 0.1
"""What turned pieces are first held to be one by, mm."""

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
    the cuts from the outer edge, and all distances between centroids, mm. `paths` are the outer
    edge and the cuts themselves.
    """

    at: tuple[float, float]
    layers: tuple[str, ...]
    figures: Floats
    paths: tuple[Outline, ...]

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
        layers = tuple(layer for layer, _ in ordered)
        return cls(at, layers, np.concatenate(figures), tuple(paths))

    def unlike(self, other: "Piece") -> float:
        """Return by how much the figures of two pieces differ, mm; infinite for other cuts."""
        if self.layers != other.layers:
            return np.inf
        return float(np.abs(self.figures - other.figures).max())

    @property
    def outer(self) -> Outline:
        """Its outer edge."""
        return self.paths[0]

    @cached_property
    def knots(self) -> Floats:
        """Points that a piece turned has turned, from the middle of its edge, shape (n, 3).

        Ends and middles of all lines and arcs, of a full circle its centre; the third figure tells
        layers, lines and sizes of circles apart.
        """
        rows = []
        for layer, path in zip((OUTER, *self.layers), self.paths, strict=True):
            circle, kind = circle_of(path), 1000.0 * (adler32(layer.encode()) % 9973)
            if circle is None:
                middles = as_pairs(path.along(np.arange(len(path)), 0.5)[0])
                places = np.vstack([path.vertices, middles])
            else:
                places, kind = np.array([circle[0]]), kind + circle[1]
            rows.append(np.column_stack([places - self.at, np.full(len(places), kind)]))
        return np.vstack(rows)

    def turns_from(self, other: "Piece") -> tuple[float, Floats]:
        """Return how far this is from another piece turned, mm, and by how much it is turned.

        Degrees, several where the piece looks alike; never a mirror image.
        """
        own, theirs = self.knots, other.knots
        radii = [np.hypot(knots[:, 0], knots[:, 1]) for knots in (own, theirs)]
        far = np.flatnonzero(radii[1] > 1.0)
        if not len(far):
            return (0.0 if len(own) == len(theirs) else inf), np.zeros(1)
        # What there is fewest of tells most: a witness mark, mostly.
        alike = np.round(np.column_stack([theirs[far, 2], radii[1][far]]), 1)
        _, first, count = np.unique(alike, axis=0, return_index=True, return_counts=True)
        mark = far[first[np.argmin(count)]]
        same = (np.abs(own[:, 2] - theirs[mark, 2]) < SAME) & (
            np.abs(radii[0] - radii[1][mark]) < SAME
        )
        angles = np.arctan2(own[same, 1], own[same, 0]) - np.arctan2(*theirs[mark, 1::-1])
        found = []
        for angle in angles:
            c, s = np.cos(angle), np.sin(angle)
            turned = theirs @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
            off = _farthest(turned, own)
            if off < SAME and len(own) != len(theirs):
                off = max(off, _farthest(own, turned))
            found.append(off)
        offs = np.array(found)
        good = offs <= DEFAULT_TOLERANCE
        if good.any():
            return float(offs[good].min()), np.degrees(angles[good]) % 360.0
        best = np.argsort(offs)[:1]
        return float(offs[best].min(initial=inf)), np.degrees(angles[best]) % 360.0


_ALONG = np.array([0.48, 0.64, 0.6])
"""A direction in which few knots of a piece are level: points near each other are so along it."""


def _farthest(points: Floats, others: Floats) -> float:
    """Distance (n, 3) of the point farthest from any other, mm; infinite from `SAME` on."""
    level = others @ _ALONG
    order = np.argsort(level)
    wanted, level = points @ _ALONG, level[order]
    first, last = np.searchsorted(level, wanted - SAME), np.searchsorted(level, wanted + SAME)
    nearest = np.full(len(points), inf)
    for further in range(int((last - first).max())):
        tried = others[order[np.minimum(first + further, len(others) - 1)]]
        nearest = np.minimum(nearest, np.sqrt(((points - tried) ** 2).sum(axis=1)))
    farthest = float(nearest.max())
    return farthest if farthest < SAME else inf


def pieces_of(layers: Layers, outer: str) -> list[Piece]:
    """Return the pieces in a file, each edge of the layer `outer` with the cuts that lie within."""
    edges = layers.get(outer, ())
    held: list[list[tuple[str, Outline]]] = [[] for _ in edges]
    cuts = [(layer, line) for layer in layers if layer != outer for line in layers[layer]]
    for home, cut in zip(_begin_in([line for _, line in cuts], edges), cuts, strict=True):
        if home is not None:
            held[home].append(cut)
    return [Piece.of(edge, within) for edge, within in zip(edges, held, strict=True)]


def _begin_in(cuts: Sequence[Outline], edges: Sequence[Outline]) -> list[int | None]:
    """The edge in which each cut begins, None where it lies in the waste."""
    return _homes([cut.vertices[0] for cut in cuts], edges)


def _homes(points: ArrayLike, edges: Sequence[Outline]) -> list[int | None]:
    """The first edge in which each point lies."""
    places = np.reshape(points, (-1, 2))
    found: list[int | None] = [None] * len(places)
    for number, edge in reversed(list(enumerate(edges))):
        left, low, right, high = edge.bounds
        near = np.flatnonzero(((places > (left, low)) & (places < (right, high))).all(axis=1))
        for place in near[depth_inside(places[near], edge, ROUGH) > 0] if len(near) else ():
            found[place] = number
    return found


def _centroid(path: Outline) -> Floats:
    """Centroid of the enclosed area by the polygon of points along the path, mm, shape (2,)."""
    circle = circle_of(path)
    if circle is not None:
        return np.array(circle[0])
    points = path.points(ROUGH)
    following = np.roll(points, -1, axis=0)
    cross = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    if not cross.any():  # so small that nothing is enclosed
        return np.asarray(points.mean(axis=0))
    middle: Floats = (points + following).T @ cross / (3 * cross.sum())
    return middle


def piece_checks(
    design: GearSet, files: CutFiles, drawn: Mapping[str, CutLines]
) -> Iterator[Check]:
    """Yield checks of the file of each part and of each sheet, and one of the numbers.

    `drawn`: what the design writes into each file, by its name. Each part has its file and lies on
    the sheets as often as its count says; test parts have files and lie on no sheet.
    """
    known: dict[str, Piece] = {}
    wanted: Counter[str] = Counter()
    parts = {part.name: part for part in (*design.parts, *design.test_parts)}
    for part in parts.values():
        stem = file_stem(part.name)
        designed = _as_designed(drawn[stem])
        known[part.name] = designed
        found = pieces_of(files[stem], OUTER)
        yield _file_check(f"{stem}.dxf", found, {part.name: designed}, 1)
        yield _order_check(files, stem)
        if len(found) == 1:
            given = files.notes[stem], drawn[stem].marks
            yield _part_check(f"{stem}.dxf", found[0], designed, *given)
    known = {part.name: known[part.name] for part in design.parts}
    wanted.update({part.name: part.count for part in design.parts})
    counted: Counter[str] = Counter()
    sheets = {f"sheet-{sheet.number}": sheet for sheet in design.sheets}
    layouts = {stem: sheet.stock for stem, sheet in sheets.items()}
    for stem in files.sheets:
        on_sheet = pieces_of(files[stem], OUTER)
        yield _file_check(f"{stem}.dxf", on_sheet, known)
        yield _order_check(files, stem)
        if stem in layouts:
            named_so = names_said([piece.outer for piece in on_sheet], files.notes[stem], known)
            named = [
                _named(piece, known, parts, layouts[stem], named_so.get(place, ()))
                for place, piece in enumerate(on_sheet)
            ]
            counted.update(name for name, _ in named)
            faults = [
                *(fault for _, fault in named if fault),
                *_name_faults(on_sheet, [name for name, _ in named], named_so),
                *_room_faults(
                    on_sheet,
                    layouts[stem],
                    design.brief.stock.margin,
                ),
                *_gap_faults(on_sheet, design.brief.bit.cut_diameter),
                *mark_faults(files.notes[stem], drawn[stem].marks),
            ]
            yield faults_check("pieces as they must lie", f"{stem}.dxf", faults)
    yield _count_check(counted, wanted)


def _named(
    piece: Piece,
    known: Mapping[str, Piece],
    parts: Mapping[str, Part],
    stock: Stock,
    said: Collection[str],
) -> tuple[str, str]:
    """Which part a piece on a sheet is, by shape and grain, and what is wrong with how it lies.

    Layers of a gear often differ in nothing but their grain: the turn of the piece tells them. Of
    parts that are alike it is the one whose name stands on it, `said`.
    """
    off, nearest = _nearest(piece, known)
    close = [name for name, other in known.items() if piece.unlike(other) <= off + SAME]
    turned = {}
    for name in close:
        apart, angles = piece.turns_from(known[name])
        if apart <= DEFAULT_TOLERANCE:
            grain = parts[name].grain
            astray = 0.0 if grain is None else (angles + grain - stock.grain + 90.0) % 180.0 - 90.0
            turned[name] = float(np.abs(astray).min())
    at = f"near ({piece.at[0]:.0f}, {piece.at[1]:.0f}) mm"
    if not turned:
        return nearest, "" if off > DEFAULT_TOLERANCE else (
            f"the piece {at} is {nearest} mirrored, or with cuts turned against its edge"
        )
    name = min(turned, key=lambda one: (round(turned[one] / MAX_TURN), one not in said))
    if turned[name] > MAX_TURN:
        return name, f"the grain of {name} {at} lies {turned[name]:.1f} degrees astray"
    if abs(parts[name].thickness - stock.thickness) > SAME:
        return name, (
            f"{name} {at} is of {parts[name].thickness:g} mm and lies on {stock.thickness:g} mm"
        )
    return name, ""


def _part_check(name: str, found: Piece, designed: Piece, notes: Notes, marks: Marks) -> Check:
    """Whether the piece in a part's file stands as drawn: not mirrored, nor of another grain."""
    off, angles = found.turns_from(designed)
    astray = np.abs((angles + 90.0) % 180.0 - 90.0).min(initial=180.0)
    x, y = np.subtract(found.at, designed.at)
    faults = []
    if off > DEFAULT_TOLERANCE:
        faults = ["the piece is mirrored, bent, or its cuts are moved or turned against its edge"]
    elif astray > MAX_TURN:
        faults = [f"the piece is turned by {astray:.1f} degrees against its grain arrow"]
    elif np.hypot(x, y) > SLACK:
        faults = [f"the piece was moved by {np.hypot(x, y):.2f} mm: move it back"]
    return faults_check("piece as drawn", name, [*faults, *mark_faults(notes, marks)])


def mark_faults(notes: Notes, marks: Marks) -> Iterator[str]:
    """Texts and lines beside what is cut that are not as written: changed, added, gone."""
    said = Counter([*(text for text, _ in notes.texts), *notes.dimensions])
    wanted = Counter(plain_text(label.text) for label in marks.labels)
    lacking = wanted - said
    for text in (said - wanted).elements():
        near = get_close_matches(text, lacking.elements(), n=1)
        lacking -= Counter(near)
        told = f' where "{near[0]}" must stand' if near else ", which was not written there"
        yield f'the text says "{text[:90]}"{told}'
    for text in lacking.elements():
        yield f'the text "{text}" is gone'
    pairs = [pair for stroke in marks.strokes for pair in pairwise(stroke.tolist())]
    right, drawn = (np.reshape(ends, (-1, 4)) for ends in (pairs, notes.strokes))
    off = np.minimum(*(np.abs(drawn[:, None, way] - right).max(axis=2) for way in _EITHER_WAY))
    for x, y, to_x, to_y in right[off.min(axis=0, initial=inf) > SLACK]:
        far, angle = np.hypot(to_x - x, to_y - y), np.degrees(np.arctan2(to_y - y, to_x - x))
        yield (
            f"a line of {far:.1f} mm at {angle:.0f} degrees that is not cut, near ({x:.0f},"
            f" {y:.0f}) mm, is gone, moved or turned"
        )
    for x, y, *_ in drawn[off.min(axis=1, initial=inf) > SLACK]:
        yield f"a line that is not cut, near ({x:.0f}, {y:.0f}) mm, is none that was written"
    for name in notes.others:
        yield f"{name} was not written there"


_EITHER_WAY = [0, 1, 2, 3], [2, 3, 0, 1]
"""The ends of a line, x and y, in either order."""


def names_said(
    edges: Sequence[Outline], notes: Notes, known: Collection[str]
) -> dict[int, list[str]]:
    """Names that stand on pieces, by the number of the outer edge."""
    by_text = {plain_text(name): name for name in known}
    found: dict[int, list[str]] = {}
    texts = [(text, at) for text, at in notes.texts if text in by_text]
    for home, (text, _) in zip(_homes([at for _, at in texts], edges), texts, strict=True):
        if home is not None:
            found.setdefault(home, []).append(by_text[text])
    return found


def _name_faults(
    pieces: Sequence[Piece], names: Sequence[str], said: Mapping[int, Sequence[str]]
) -> Iterator[str]:
    """Names that stand on a piece of another name: layers are told apart by them."""
    for home, texts in said.items():
        x, y = pieces[home].at
        for text in texts:
            if text != names[home]:
                yield f"{names[home]} near ({x:.0f}, {y:.0f}) mm is called {text}"


def _order_check(files: CutFiles, stem: str) -> Check:
    """Whether every cut lies in a piece, and is cut before that comes free."""
    lines = files.lines(stem)
    edges = [(place, line) for place, (layer, line) in enumerate(lines) if layer == OUTER]
    cuts = [(place, *line) for place, line in enumerate(lines) if line[0] != OUTER]
    homes = _begin_in([line for _, _, line in cuts], [edge for _, edge in edges])
    faults = []
    for home, (place, layer, line) in zip(homes, cuts, strict=True):
        x, y = line.vertices[0]
        if home is None:
            faults.append(f"a path on {layer} near ({x:.0f}, {y:.0f}) mm begins in the waste")
        elif edges[home][0] < place:
            faults.append(
                f"the outer edge is cut before the {layer} near ({x:.0f}, {y:.0f}) mm in it"
            )
    return faults_check("order and place of the cuts", f"{stem}.dxf", faults)


def _room_faults(pieces: Sequence[Piece], stock: Stock, margin: float) -> Iterator[str]:
    """Pieces that reach beyond the sheet, or into the margin that is kept for clamps."""
    for piece in pieces:
        left, low, right, high = piece.outer.bounds
        room = min(left, low, stock.width - right, stock.height - high)
        at = f"the piece near ({piece.at[0]:.0f}, {piece.at[1]:.0f}) mm"
        if room < -SLACK:
            yield f"{at} reaches {-room:.2f} mm beyond the sheet"
        elif room < margin - SLACK:
            yield f"{at} leaves {room:.2f} mm of the {margin:g} mm kept for clamps"


def _gap_faults(pieces: Sequence[Piece], bit: float) -> Iterator[str]:
    """Pieces so near to each other that the bit, going round the one, cuts the other."""
    for one, other in combinations(pieces, 2):
        bounds = np.array([one.outer.bounds, other.outer.bounds])
        low, high = bounds[:, :2].max(axis=0) - bit, bounds[:, 2:].min(axis=0) + bit
        if (low > high).any():
            continue
        gap = min(
            _room_between(one.outer, other.outer, low, high),
            _room_between(other.outer, one.outer, low, high),
        )
        if gap < bit - SLACK:
            (x, y), (a, b) = one.at, other.at
            told = f"overlap by {-gap:.2f} mm" if gap < 0 else f"are {gap:.2f} mm apart"
            yield (
                f"pieces near ({x:.0f}, {y:.0f}) and ({a:.0f}, {b:.0f}) mm {told}: the bit takes"
                f" {bit:g} mm"
            )


def _room_between(one: Outline, other: Outline, low: Floats, high: Floats) -> float:
    """Least distance of points of one path within bounds from another, mm; below 0 inside it."""
    points = one.spaced(1.0)
    near = points[((points >= low) & (points <= high)).all(axis=1)]
    return -float(depth_inside(near, other, 0.01).max(initial=-inf))


def faults_check(judged: str, part: str, faults: Sequence[str]) -> Check:
    """A check that counts faults and tells the first."""
    why = "All as it must be."
    if faults:
        more = f"; and {len(faults) - 1} more" if len(faults) > 1 else ""
        where = f"In {part} " if part else ""
        why = f"{where}{faults[0]}{more}."
    source = "the file as read back against the design"
    return Check(
        judged, float(len(faults)), 0.0, "", "at most", why, AGAIN, source, part=part, kind="file"
    )


def _as_designed(file: CutLines) -> Piece:
    *cuts, (_, edge) = (
        (layer, line)
        for layer, line in file.lines
        if layer != NOT_CUT and isinstance(line, Outline)
    )
    return Piece.of(edge, cuts)


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
            f" the design, the nearest from {like}."
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
