"""Whether the way of a bit's centre, as read back, leaves the edges where they are drawn."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.checks.check import Check
from gearwork.geometry.outline import DEFAULT_TOLERANCE, Outline, depth_inside
from gearwork.geometry.toolpath import Run
from gearwork.geometry.tooth import Cutter
from gearwork.numbers import Floats
from gearwork.output.files import written_files
from gearwork.output.marking import HOLES, INNER, OUTER
from gearwork.output.toolpath_files import SUFFIX
from gearwork.verify.read_dxf import CutFiles, read_runs

JOIN = 1e-4  # ends of two stretches nearer than this are one point, mm
FINE = 0.0005  # how much too far apart way and edge may be read, mm
ELSEWHERE = 1.0  # a way whose bounds are farther off than this is that of another edge, mm
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
    if loose:
        value, why = np.inf, f"A way is not closed: it begins {_near(loose[0].vertices[0])}."
    elif len(ways) != len(edges):
        value, why = np.inf, f"It holds {len(ways)} closed ways for {len(edges)} edges."
    else:
        for edge, inside in edges:
            way = min(ways, key=lambda way: _unlike(way, edge, inside, bit_diameter))
            off, at = _deviation(way, edge, inside, bit_diameter)
            if off > value:
                value, why = off, f"The bit strays {off:.3f} mm from its way {_near(at)}."
    return Check(
        judged="way of the bit",
        part=name,
        kind="file",
        value=float(value),
        limit=DEFAULT_TOLERANCE,
        unit="mm",
        sense="at most",
        why=why,
        remedy=f"Write the files again; do not edit {name} by hand, nor use it with another bit.",
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


def bit_path_checks(files: CutFiles, bit: Cutter) -> Iterator[Check]:
    """Yield a check for each file of bit-centre paths in a folder that gearwork wrote."""
    for path in written_files(files.home):
        if path.name.endswith(f"{SUFFIX}.dxf"):
            edges = files[path.stem.removesuffix(SUFFIX)]
            through = [(edge, True) for edge in edges.get(INNER, ())]
            through += [(edge, False) for edge in edges.get(OUTER, ())]
            runs = [run for layer, run in read_runs(path) if layer != HOLES]
            yield way_check(path.name, through, runs, bit.cut_diameter)
