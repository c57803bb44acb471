"""Whether the way of a bit's centre, as read back, leaves the edges where they are drawn."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.checks.check import Check
from gearwork.geometry.outline import DEFAULT_TOLERANCE, Outline, as_pairs, circle_of, depth_inside
from gearwork.geometry.part import Part
from gearwork.geometry.toolpath import Run, Tabs
from gearwork.geometry.tooth import Cutter
from gearwork.machine.layout import SheetLayout
from gearwork.numbers import Floats
from gearwork.output.marking import HOLES, INNER, OUTER, Marks, path_key
from gearwork.output.toolpath_files import INNER as BIT_INNER
from gearwork.output.toolpath_files import OUTER as BIT_OUTER
from gearwork.output.toolpath_files import SUFFIX, tab_layer
from gearwork.verify.pieces import SLACK, mark_faults, names_said
from gearwork.verify.read_dxf import CutFiles

JOIN = 1e-4  # ends of two stretches nearer than this are one point, mm
FINE = 0.0005  # how much too far apart way and edge may be read, mm
ELSEWHERE = 1.0  # a way whose bounds are farther off than this is that of another edge, mm
COARSE = 0.01  # chord error where a pass is looked for in a piece, mm
BARE = 0.75  # share of a piece's edge without a tab, beyond which it can swing about them
LOOKED_AT = 40  # points of a way at which its side of the edge is tried


@dataclass(frozen=True)
class Way:
    """A closed way of the bit's centre, and the stretch that leads onto it, if any."""

    loop: Outline
    lead_in: Run | None


def join_runs(runs: Sequence[Run]) -> tuple[list[Way], list[Run]]:
    """Return the closed ways that stretches in their order make, and what does not close.

    Each begins where the one before ends, or begins a new way.
    """
    ways: list[Way] = []
    open_ends: list[Run] = []
    current: Run | None = None
    for run in runs:
        gap = np.inf if current is None else np.hypot(*(current.vertices[-1] - run.vertices[0]))
        if current is not None and gap > JOIN:
            open_ends.append(current)
            current = None
        current = run if current is None else current.followed_by(run)
        way = _closed(current)
        if way is not None:
            ways.append(way)
            current = None
    return ways, open_ends if current is None else [*open_ends, current]


def _closed(run: Run) -> Way | None:
    """The way whose end meets one of its earlier vertices; what lies before that leads in."""
    near = np.flatnonzero(np.hypot(*(run.vertices[:-2] - run.vertices[-1]).T) < JOIN)
    if not len(near):
        return None
    first = int(near[0])
    loop = Outline(run.vertices[first:-1], run.bulges[first:])
    lead_in = Run(run.vertices[: first + 1], run.bulges[:first], run.height) if first else None
    return Way(loop, lead_in)


def way_check(
    name: str, edges: Sequence[tuple[Outline, bool]], runs: Sequence[Run], bit_diameter: float
) -> Check:
    """Judge whether a bit on its way leaves every edge where it is drawn, no wood more or less.

    `name` is that of the file that holds the runs; with each edge goes whether the bit must be
    inside of it. Every point of the way must lie the bit's radius from the edge, on the right
    side, and every point of the edge as far from the way; the lead-in no nearer. That needs no
    offsetting.
    """
    ways, loose = join_runs(runs)
    value, why = 0.0, f"A bit of {bit_diameter:g} mm on this way leaves every edge as it is drawn."
    backwards = "runs backwards, the wood to its left"
    if loose:
        first, *others = loose[0].vertices
        met_again = np.hypot(*(np.array(others) - first).T).min() < JOIN
        how = backwards if met_again else "is not closed"
        value, why = np.inf, f"A way {how}: it begins {_near(first)}."
    elif len(ways) != len(edges):
        value, why = np.inf, f"It holds {len(ways)} closed ways for {len(edges)} edges."
    else:
        for edge, inside in edges:
            way = min(ways, key=lambda way: _unlike(way, edge, inside, bit_diameter))
            off, at = _deviation(way, edge, inside, bit_diameter)
            told = f"The bit strays {off:.3f} mm from its way {_near(at)}."
            if off < ELSEWHERE and (way.loop.area > 0) != inside:
                off, told = np.inf, f"A way {backwards}: it begins {_near(way.loop.vertices[0])}."
            if off > value:
                value, why = off, told
    return Check(
        judged="way of the bit",
        part=name,
        kind="file",
        value=float(value),
        limit=DEFAULT_TOLERANCE,
        unit="mm",
        sense="at most",
        why=why,
        otherwise=f"Write the files again; never edit {name} by hand, and use its own bit.",
        source="distance of the way from the edges, both as read back; the outlines' tolerance",
    )


def _unlike(way: Way, edge: Outline, inside: bool, bit: float) -> float:
    """How much the bounds of a way differ from those it should have."""
    aside = bit / 2 * (-1 if inside else 1) * np.array([-1, -1, 1, 1])
    return float(np.abs(np.array(way.loop.bounds) - edge.bounds - aside).max())


def _deviation(way: Way, edge: Outline, inside: bool, bit: float) -> tuple[float, Floats]:
    """How far way and edge are from being the bit's radius apart, mm, and where it is most."""
    from scipy.spatial import cKDTree

    unlike = _unlike(way, edge, inside, bit)
    if unlike > ELSEWHERE:
        return unlike, edge.vertices[0]
    path, line = _dense(way.loop, bit / 2), _dense(edge, bit / 2)
    to_edge, to_path = cKDTree(line).query(path)[0], cKDTree(path).query(line)[0]
    off = np.abs(np.concatenate([to_edge, to_path]) - bit / 2)
    places = np.concatenate([path, line])
    looked_at = path[:: max(len(path) // LOOKED_AT, 1)]
    if way.lead_in is not None:
        looked_at = np.vstack([looked_at, way.lead_in.closed.points()])
    side = 1 if inside else -1
    gouged = bit / 2 - side * depth_inside(looked_at, edge, FINE)
    off, places = np.append(off, gouged), np.concatenate([places, looked_at])
    worst = int(off.argmax())
    return float(off[worst]), places[worst]


def _dense(path: Outline, radius: float) -> Floats:
    """Points along a path, so dense that a point `radius` aside has one at most FINE farther.

    Half a step s / 2 off its foot, a point is s² / 8 r farther; beside an arc of the radius ρ
    the steps widen by (ρ + r) / ρ on the way there.
    """
    return path.spaced(np.sqrt(8 * radius * FINE / (1 + radius / path.radii)))


def _near(point: Floats) -> str:
    return f"near ({point[0]:.2f}, {point[1]:.2f}) mm"


def path_faults(
    files: CutFiles,
    stem: str,
    bit: Cutter,
    tabs: Tabs | None,
    work: SheetLayout | Part,
    marks: Marks,
) -> Iterator[str]:
    """Yield what is wrong with holes, layers, order, tabs and texts of a file of bit-centre paths.

    `work`: a sheet, which the bit must not leave, or a part alone. `marks`: what stands beside.
    """
    lines, edges = files.ways(stem), files[stem]
    sheet = work.stock if isinstance(work, SheetLayout) else None
    size = (sheet.width, sheet.height) if sheet else None
    drilled = [line for layer, line in lines if isinstance(line, Outline) and layer == HOLES]
    found, wanted = (Counter(map(path_key, group)) for group in (drilled, edges.get(HOLES, ())))
    if found != wanted:
        off = (found - wanted).total() + (wanted - found).total()
        yield f"drilled holes missing, moved, too many or of another size: {off}"
    layers: dict[str, bool] = {BIT_INNER: True, BIT_OUTER: False}
    over: dict[str, bool] = {}
    if tabs is not None:
        over = {tab_layer(name, tabs.height): inside for name, inside in layers.items()}
    layers |= over
    outers, radius = edges.get(OUTER, []), bit.cut_diameter / 2
    windows = edges.get(INNER, [])
    rims: dict[int, list[tuple[float, bool]]] = {}  # stretches round pieces begun, which are tabs
    held: Counter[int] = Counter()  # by window
    for layer, run in lines:
        if isinstance(run, Outline):
            if layer != HOLES:
                yield f"a circle is on {layer}, not on {HOLES}"
            continue
        x, y = run.vertices[0]
        at = f"near ({x:.0f}, {y:.0f}) mm"
        if layer not in layers:
            yield f"layer {layer} {at} is none that this design cuts on"
            continue
        path = run.closed.along(np.arange(len(run.bulges))[:, None], [0.0, 0.3, 0.7])[0]
        points = as_pairs(path.ravel())
        if (
            size is not None
            and ((points < radius - SLACK) | (points > np.array(size) - radius + SLACK)).any()
        ):
            yield f"the bit leaves the sheet {at}"
        near = _around(points, outers, radius)
        home = max(near, key=near.__getitem__, default=-1)
        wide = _length(run) - bit.cut_diameter
        if layers[layer]:
            within = _around(points, windows, 0.0)
            window = max(within, key=within.__getitem__, default=-1)
            if within.get(window, -np.inf) < radius - SLACK:
                yield f"a pass on {layer} {at} is not within an inner edge"
            if home in rims:
                yield f"a pass on {layer} {at} comes after its piece is cut free"
            held[window] += layer in over
        else:
            if near and max(near.values()) > SLACK - radius:
                yield f"a pass on {layer} {at} runs across a piece"
            rims.setdefault(home, []).append((_length(run), layer in over))
        if tabs is not None and layer in over and wide < tabs.width - SLACK:
            yield f"a tab {at} leaves {max(wide, 0.0):.2f} mm of wood, less than {tabs.width:g} mm"
    wanted_tabs = tabs.count if tabs is not None else 0
    for place, edge in enumerate(outers):
        x, y = edge.vertices[0]
        count, bare = _held(rims.get(place, []))
        if count != wanted_tabs:
            yield f"the piece near ({x:.0f}, {y:.0f}) mm has {count} of {wanted_tabs} tabs"
        elif count > 1 and bare > BARE:
            yield f"{bare:.0%} of the edge of the piece near ({x:.0f}, {y:.0f}) mm has no tab"
    for place, edge in enumerate(windows):
        long = tabs is not None and edge.lengths.max() > tabs.width + 3.0 * bit.cut_diameter
        if long and circle_of(edge) is None and not held[place]:
            x, y = edge.vertices[0]
            yield f"what falls out of the window near ({x:.0f}, {y:.0f}) mm has no tab"
    notes, on_sheet = files.notes[f"{stem}{SUFFIX}"], files.notes[stem]
    yield from mark_faults(notes, marks)
    names = [label.text for label in marks.labels]
    here, there = (names_said(outers, said, names) for said in (notes, on_sheet))
    for place, said in here.items():
        if said != there.get(place, said):
            x, y = outers[place].vertices[0]
            yield f"{there[place][0]} near ({x:.0f}, {y:.0f}) mm is called {said[0]}"


def _held(rim: Sequence[tuple[float, bool]]) -> tuple[int, float]:
    """How many tabs hold a piece, and the largest share of its edge between two of them."""
    lengths, over = np.array(rim).reshape(-1, 2).T
    middles = (np.cumsum(lengths) - lengths / 2)[over > 0]
    if not len(middles):
        return 0, 1.0
    whole = float(lengths.sum())
    return len(middles), float(np.diff(middles, append=middles[0] + whole).max()) / whole


def _around(points: Floats, edges: Sequence[Outline], reach: float) -> dict[int, float]:
    """Which edges points come so near to, by their bounds, mm, and how deep in it the deepest is.

    The shallowest where the reach is 0, as for what must lie within.
    """
    left, low = points.min(axis=0) - reach - SLACK
    right, high = points.max(axis=0) + reach + SLACK
    found = {}
    for place, edge in enumerate(edges):
        bounds = edge.bounds
        if bounds[0] < right and bounds[2] > left and bounds[1] < high and bounds[3] > low:
            depths = depth_inside(points, edge, COARSE)
            found[place] = float(depths.max() if reach else depths.min())
    return found


def _length(run: Run) -> float:
    return float(run.closed.lengths[: len(run.bulges)].sum())


def bit_path_checks(files: CutFiles, bit: Cutter) -> Iterator[Check]:
    """Yield a check for each file of bit-centre paths in a folder that gearwork wrote."""
    for stem in files.with_ways:
        edges = files[stem]
        through = [(edge, True) for edge in edges.get(INNER, ())]
        through += [(edge, False) for edge in edges.get(OUTER, ())]
        runs = [way for layer, way in files.ways(stem) if layer != HOLES and isinstance(way, Run)]
        yield way_check(f"{stem}{SUFFIX}.dxf", through, runs, bit.cut_diameter)
