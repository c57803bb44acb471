"""Finding a place for each dimension where it crosses no text and few lines."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from gearwork.geometry.outline import Array
from gearwork.shop.draft import Diameter, Length, Line, Shape, dimension_ink
from gearwork.shop.marking import Label, Marks

_CELL = 1.25
_AROUND = 150.0
_TEXT_COST = 50

D = TypeVar("D", Length, Diameter)


class Ground:
    """The sheet as a grid of cells, each knowing how much is drawn and written in it.

    Parameters
    ----------
    shapes : iterable of Shape
        What is drawn before any dimension.
    lines : iterable of Line
        The same.
    """

    def __init__(self, shapes: Iterable[Shape], lines: Iterable[Line]) -> None:
        closed = [shape.outline.points(0.05) for shape in shapes]
        paths = [np.vstack([points, points[:1]]) for points in closed]
        paths += [np.array([line.start, line.end]) for line in lines]
        every = np.vstack(paths)
        self._origin = every.min(axis=0) - _AROUND
        size = ((np.ptp(every, axis=0) + 2 * _AROUND) / _CELL).astype(int) + 1
        self._drawn = np.zeros(size, dtype=int)
        self._written = np.zeros(size, dtype=int)
        self._mark(Marks(strokes=tuple(paths)))

    def place(self, choices: Sequence[D]) -> D:
        """Return the dimension that crosses least, an early one if equal, and take its room."""
        return choices[self.least(_room(choice) for choice in choices)]

    def least(self, choices: Iterable[Marks]) -> int:
        """Return which marks cross least, an early one if equal, and take their room."""
        best, least, room = 0, math.inf, Marks()
        for place, marks in enumerate(choices):
            cost = self._cost(marks)
            if cost < least:
                best, least, room = place, cost, marks
            if cost == 0:
                break
        self._mark(room)
        return best

    def _cost(self, marks: Marks) -> int:
        text = self._cells(np.vstack([_filled(label) for label in marks.labels]))
        strokes = self._cells(np.vstack([_dots(stroke) for stroke in marks.strokes]))
        overwritten = self._written[text].sum() + self._written[strokes].sum()
        return int(self._drawn[text].sum() + _TEXT_COST * overwritten)

    def _mark(self, marks: Marks) -> None:
        for stroke in marks.strokes:
            self._drawn[self._cells(_dots(stroke))] = 1
        for label in marks.labels:
            self._written[self._cells(_filled(label))] = 1

    def _cells(self, points: Array) -> tuple[Array, ...]:
        """Indices of the cells points lie in; what is far outside counts as at the rim."""
        cells = ((points - self._origin) / _CELL).astype(int)
        return tuple(np.clip(cells, 0, np.array(self._drawn.shape) - 1).T)


def _room(dimension: Length | Diameter) -> Marks:
    """Return what a dimension covers, also for readers that turn a diameter along its leader."""
    marks = dimension_ink(dimension).marks
    if not isinstance(dimension, Diameter) or dimension.auxiliary:
        return marks
    label = marks.labels[0]
    x, y = label.corners.mean(axis=0)
    angle = (dimension.angle + 90) % 180 - 90
    return marks + Marks((replace(label, at=(x, y), anchor="middle", angle=angle),))


def _dots(path: Array) -> Array:
    """Return points along an open path, close enough to meet every cell, shape (n, 2)."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    places = np.linspace(0.0, along[-1], int(1.5 * along[-1] / _CELL) + 2)
    return np.column_stack([np.interp(places, along, column) for column in path.T])


def _filled(label: Label) -> Array:
    """Return points all over the room of a text, shape (n, 2)."""
    corner, right, _, upper = label.corners
    wide, high = right - corner, upper - corner
    x, y = (np.linspace(0.0, 1.0, int(1.5 * np.hypot(*side) / _CELL) + 2) for side in (wide, high))
    points: Array = corner + (x[:, None, None] * wide + y[None, :, None] * high).reshape(-1, 2)
    return points


def leaders(circle: Diameter, outside: float) -> list[Diameter]:
    """Return ways to dimension a circle, the best first: near it, and outside all others.

    Parameters
    ----------
    circle : Diameter
        Its angle is the side where there is room; leaders start halfway between that and the
        side across, where a text adds least to the width, and none runs along a centre line.
    outside : float
        Diameter of the largest circle about the same centre, mm.
    """
    gap = (outside - circle.diameter) / 2
    reaches = sorted({reach + extra for extra in (0.0, gap) for reach in (8.0, 14.0, 22.0)})
    steps = sorted(range(5, 180, 10), key=lambda turn: abs(turn - 45))
    turns = (sign * turn for turn in steps for sign in (1, -1))
    angles = [(circle.angle + turn) % 360 for turn in turns]
    return [
        replace(circle, angle=angle, reach=reach)
        for angle in angles
        if 8 < angle % 90 < 82
        for reach in reaches
    ]
