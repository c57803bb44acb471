"""Pieces known again wherever they lie and however they are turned."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gearwork.geometry.measure import depth_inside
from gearwork.geometry.outline import Array, Outline

Layers = Mapping[str, Sequence[Outline]]

ROUGH = 0.1
"""Chord error of the polygons that tell in which piece a cut lies and where its middle is, mm."""


@dataclass(frozen=True, eq=False)
class Piece:
    """An outer edge and what is cut within it, by what does not change when it is moved.

    Attributes
    ----------
    at : (float, float)
        Centroid of the outer edge, mm.
    layers : tuple of str
        Of its cuts, in order of layer and length.
    figures : ndarray
        Lengths of the paths, their areas over their lengths, distances of the cuts from the
        outer edge, and all distances between centroids, mm.
    """

    at: tuple[float, float]
    layers: tuple[str, ...]
    figures: Array

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
    """Return the pieces in a file, each outer edge with the cuts that lie within it.

    Parameters
    ----------
    layers : mapping of str to sequence of Outline
        All cut lines by layer.
    outer : str
        Layer of the outer edges.
    """
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


def _centroid(path: Outline) -> Array:
    """Centroid of the enclosed area by the polygon of points along the path, mm, shape (2,)."""
    points = path.points(ROUGH)
    following = np.roll(points, -1, axis=0)
    cross = points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]
    middle: Array = (points + following).T @ cross / (3 * cross.sum())
    return middle
