"""Forces in a plane frame of straight beams, by the direct stiffness method.

All per mm of thickness. Beams bend, stretch and shear (Timoshenko, shear factor 5/6); joints are
stiff.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SHEAR_SHARE = 5 / 6


@dataclass(frozen=True)
class PlaneFrame:
    """Beams between nodes, some of them held.

    Attributes
    ----------
    nodes : (n, 2) ndarray
        mm.
    beams : (e, 2) ndarray of int
        Node numbers of start and end.
    depth : (e,) ndarray
        Height of each beam's section in the plane, mm.
    held : (h,) ndarray of int
        Nodes that neither move nor turn.
    shear_ratio : float
        Shear modulus over Young's modulus; only ratios of stiffness count.
    """

    nodes: Floats
    beams: Ints
    depth: Floats
    held: Ints
    shear_ratio: float

    def section_forces(self, loads: Floats) -> Floats:
        """Return what acts on the ends of the beams.

        Parameters
        ----------
        loads : (n, 3, k) ndarray
            Forces in x and y, N/mm, and moment, N·mm/mm, on each node, k cases.

        Returns
        -------
        (e, 2, 3, k) ndarray
            At start and end of each beam: force along it from start to end and across it, moment.
        """
        count = 3 * len(self.nodes)
        parts, places = self._stiffness(), self._places()
        turns = self._turns()
        matrix = np.zeros((count, count))
        turned = np.swapaxes(turns, 1, 2) @ parts @ turns
        np.add.at(matrix, (places[:, :, None], places[:, None, :]), turned)
        held = 3 * self.held[:, None] + np.arange(3)
        free = np.setdiff1d(np.arange(count), held)
        given = loads.reshape(count, -1)
        moved = np.zeros(given.shape)
        moved[free] = np.linalg.solve(matrix[np.ix_(free, free)], given[free])
        forces = parts @ (turns @ moved[places])
        return np.asarray(forces.reshape(len(self.beams), 2, 3, -1))

    def _places(self) -> Ints:
        return np.asarray((3 * self.beams[:, :, None] + np.arange(3)).reshape(-1, 6))

    def _runs(self) -> Floats:
        return np.asarray(self.nodes[self.beams[:, 1]] - self.nodes[self.beams[:, 0]])

    def _turns(self) -> Floats:
        """(e, 6, 6) from the frame's axes to each beam's."""
        x, y = (self._runs() / np.hypot(*self._runs().T)[:, None]).T
        none, one = np.zeros(len(x)), np.ones(len(x))
        turn = np.moveaxis(np.array([[x, y, none], [-y, x, none], [none, none, one]]), -1, 0)
        return np.asarray(np.kron(np.eye(2), turn))

    def _stiffness(self) -> Floats:
        """(e, 6, 6) stiffness of each beam in its own axes, for a Young's modulus of 1."""
        length, depth = np.hypot(*self._runs().T), self.depth
        shear = depth**2 / (SHEAR_SHARE * self.shear_ratio * length**2)
        bend = depth**3 / (12 * length**3 * (1 + shear))
        near, far = (4 + shear) * length**2, (2 - shear) * length**2
        result = np.zeros((len(length), 6, 6))
        stretch = np.array([[1.0, -1.0], [-1.0, 1.0]])
        result[:, 0::3, 0::3] = (depth / length)[:, None, None] * stretch
        one, arm = np.full(len(length), 12.0), 6 * length
        rows = [
            [one, arm, -one, arm],
            [arm, near, -arm, far],
            [-one, -arm, one, -arm],
            [arm, far, -arm, near],
        ]
        across = np.array([1, 2, 4, 5])
        result[:, across[:, None], across] = (
            np.moveaxis(np.array(rows), -1, 0) * bend[:, None, None]
        )
        return result
