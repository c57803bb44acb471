"""A tooth of plywood loaded until it breaks: plane stress with veneers that yield.

The veneers along and across the face grain lie in parallel and share their strains. In each, the
grain pulls linearly and yields in compression, across the grain and in shear it yields: three
laws that do not touch each other, so that they have a potential and Newton's steps converge.
Unloading is not modelled (deformation theory): right while the load only grows.

Not modelled: veneers that slide on each other, splits that run, contact that crushes. So the load
at which a fibre at the edge reaches its tensile strength is where a tooth may begin to split, and
the load at which the tension averaged over a characteristic distance does is where it can hardly
be whole any more; between them lies the break.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu
from skfem import Basis

from gearwork.fem.plane import ElasticBody
from gearwork.numbers import Bools, Floats, Ints
from gearwork.stock.plywood import Plywood

CROSS_STIFFNESS = 0.05
"""Modulus of a veneer across its grain over that along it: E_T/E_L of yellow birch, Wood Handbook
Table 5-1 (from memory)."""

CROSS_YIELD = 0.006
"""Strain at which a veneer yields across its grain, pulled or pushed. Assumption: yellow birch has
6.7 MPa in compression and 6.3 in tension (mean, Wood Handbook Table 5-3a) at E_T 830 MPa, times
0.78 for the 5th percentile. A pulled veneer is held together by its neighbours, so that it keeps
what it carries."""

HARDENING = 0.01
"""Slope beyond yield over the elastic one. Assumption; it also keeps the equations regular."""

DEPTHS = 0.5 + 0.5 * np.array([-0.8611363116, -0.3399810436, 0.3399810436, 0.8611363116])
WEIGHTS = 0.5 * np.array([0.3478548451, 0.6521451549, 0.6521451549, 0.3478548451])
"""Gauss' points and weights over the characteristic distance."""

STEP = 1.15
"""Each movement of the load over the one before."""

FURTHEST = 15.0
"""Movements beyond this many times the one at first yield are not tried."""

ITERATIONS = 30
TOLERANCE = 1e-3


@dataclass(frozen=True)
class Veneers:
    """What the veneers of a sheet do, index 0 along and 1 across the face grain.

    Attributes
    ----------
    share : (2,) ndarray
        Of the thickness.
    modulus, cross_modulus, shear_modulus : float
        Of one veneer, MPa.
    tension, compression : (2,) ndarray
        Strain of the fibre at its characteristic strength.
    shear : float
        Characteristic, at which shear yields, MPa.
    """

    share: Floats
    modulus: float
    cross_modulus: float
    shear_modulus: float
    tension: Floats
    compression: Floats
    shear: float
    tears: bool = True  # False: fibres yield in tension too, which bounds the load from above

    @classmethod
    def of(cls, sheet: Plywood) -> "Veneers":
        """Return the veneers that make up a sheet's moduli and strengths.

        The fibres break and yield at the strains at which the sheet does when pulled and pushed
        along them, so that no assumption about what lies across enters there.
        """
        along = np.array(sheet.modulus)
        whole = along.sum() / (1.0 + CROSS_STIFFNESS)
        share = np.clip((along / whole - CROSS_STIFFNESS) / (1.0 - CROSS_STIFFNESS), 0.0, 1.0)
        return cls(
            share,
            float(whole),
            float(CROSS_STIFFNESS * whole),
            sheet.shear_modulus,
            np.array(sheet.tension) / along,
            np.array(sheet.compression) / along,
            sheet.panel_shear,
        )

    def respond(self, strain: Floats, angle: float) -> tuple[Floats, Floats]:
        """Stress (..., 3), MPa, and its slope (..., 3, 3) at strains (..., 3).

        Axes are turned by `angle`, degrees, from the face grain; stresses count on the sheet.
        """
        turn = self._turn(angle)
        grain = strain @ turn.T
        stress, slope = np.zeros_like(grain), np.zeros_like(grain)
        far = self.cross_modulus, CROSS_YIELD
        for ply in (0, 1):
            one, two = grain[..., ply], grain[..., 1 - ply]
            torn = np.inf if self.tears else self.tension[ply]
            along = _law(one, self.modulus, torn, self.compression[ply])
            across = _law(two, far[0], far[1], far[1])
            for axis, (s, d) in ((ply, along), (1 - ply, across)):
                stress[..., axis] += self.share[ply] * s
                slope[..., axis] += self.share[ply] * d
        limit = self.shear / self.shear_modulus
        stress[..., 2], slope[..., 2] = _law(grain[..., 2], self.shear_modulus, limit, limit)
        return stress @ turn, np.einsum("ia,...i,ib->...ab", turn, slope, turn)

    def fibre_strains(self, strain: Floats, angle: float) -> Floats:
        """(..., 2) strain of the fibres along and across the face grain."""
        return np.asarray(strain @ self._turn(angle)[:2].T)

    @staticmethod
    def _turn(angle: float) -> Floats:
        """(3, 3) from strains in turned axes to those in the grain axes."""
        c, s = np.cos(np.radians(-angle)), np.sin(np.radians(-angle))
        return np.array(
            [
                [c * c, s * s, c * s],
                [s * s, c * c, -c * s],
                [-2.0 * c * s, 2.0 * c * s, c * c - s * s],
            ]
        )


def _law(strain: Floats, modulus: float, upper: float, lower: float) -> tuple[Floats, Floats]:
    """Stress and slope of a fibre that yields beyond `upper` and below `-lower`."""
    inside = np.clip(strain, -lower, upper)
    beyond = HARDENING * (strain - inside)
    return modulus * (inside + beyond), modulus * np.where(inside == strain, 1.0, HARDENING)


@dataclass(frozen=True)
class BrokenTooth:
    """What a tooth bears, N per mm of thickness, with the strengths of the sheet's table.

    With every strength times a factor, all loads and movements are so too: means are the
    characteristic values over 0.75 to 0.8.

    Attributes
    ----------
    angle : float
        Of the tooth's axis to the face grain, degrees.
    first_yield : float
        At which a fibre first yields in compression along the fillet, if nothing else did before.
    elastic_tension : float
        At which a fibre at the edge would reach its tensile strength if nothing yielded.
    edge_tension : float
        At which a fibre at the edge of the fillet reaches its tensile strength.
    mean_tension : float
        At which the tension averaged over the characteristic distance reaches it.
    section : float
        Greatest up to the largest movement followed: where the mean tension is reached, or, with
        veneers that do not tear, `FURTHEST`, which is then the load of a section that yields.
    stiffness : float
        Load over the movement of its point along it, at the start, MPa.
    movement, load : (n,) ndarray
        Of the load's point along it, mm, and N/mm.
    """

    angle: float
    first_yield: float
    elastic_tension: float
    edge_tension: float
    mean_tension: float
    section: float
    stiffness: float
    movement: Floats
    load: Floats


@dataclass(frozen=True)
class YieldingTooth:
    """A meshed tooth with one force on its flank.

    Attributes
    ----------
    body : ElasticBody
        Of the tooth; eight elements to the fillet's radius do.
    fillet : (k,) ndarray of int
        Its boundary edges along the fillets, where stress is read.
    point, force : (2,) ndarray
        Where the force acts, mm, and its direction, as N per mm of thickness.
    distance : float
        Characteristic distance over which tension is averaged, mm.
    quiet : float
        Distance from the force within which the sheet stays elastic, mm: the corner under the
        force crushes, which this model cannot follow.
    """

    body: ElasticBody
    fillet: Ints
    point: Floats
    force: Floats
    distance: float = 1.0
    quiet: float = 0.0

    def load(self, veneers: Veneers, angle: float, edge_only: bool = False) -> BrokenTooth:
        """Push until tension averaged over the distance reaches its strength.

        Parameters
        ----------
        veneers : Veneers
            The sheet.
        angle : float
            Of the tooth's axis to the face grain, degrees.
        edge_only : bool
            Stop where the edge has reached it, which takes half the time.
        """
        force = self.body.point_loads(self.point[None], self.force[None])[:, 0]
        state = np.zeros(len(force))
        _, factors = self._equations(state, veneers, angle)
        unit = np.zeros_like(state)
        unit[self._free] = factors.solve(force[self._free])
        give = float(force @ unit)
        read = self._read(unit, veneers, angle)
        # All is elastic up to where the first of them reaches its limit: there the steps begin.
        start = max(*read[:2], read[3] * veneers.shear_modulus / veneers.shear)
        moved, level, state = give / start, 1.0 / start, unit / start
        rows, first = [(moved, level, *(read / start))], moved
        judged = 3 if edge_only else 4
        while (rows[-1][judged] < 1.0 or not veneers.tears) and moved * STEP < FURTHEST * first:
            found = self._balanced(state * STEP, level * STEP, moved * STEP, force, veneers, angle)
            if found is None:
                break
            moved, (state, level) = moved * STEP, found
            rows.append((moved, level, *self._read(state, veneers, angle)))
        table = np.array(rows)
        movement, loads, _, edge, mean, _ = table.T
        return BrokenTooth(
            angle=angle,
            first_yield=float(1.0 / read[0]),
            elastic_tension=float(1.0 / read[1]),
            edge_tension=_crossing(edge, loads),
            mean_tension=_crossing(mean, loads),
            section=float(loads.max()),
            stiffness=float(1.0 / give),
            movement=np.append(0.0, movement),
            load=np.append(0.0, loads),
        )

    def _read(self, state: Floats, veneers: Veneers, angle: float) -> Floats:
        """Share of the fibre strains used: compression, tension at the edge, its mean; shear."""
        strains = (self._operator @ state).reshape(3, -1).T
        fibres = veneers.fibre_strains(strains, angle).reshape(len(DEPTHS) + 1, -1, 2)
        pushed = float((-fibres[0] / veneers.compression).max())
        pulled = float((fibres[0] / veneers.tension).max())
        mean = np.einsum("d,dnf->nf", WEIGHTS, fibres[1:])
        sheared = (strains @ veneers._turn(angle)[2]).reshape(len(DEPTHS) + 1, -1)
        return np.array([pushed, pulled, float((mean / veneers.tension).max()), abs(sheared).max()])

    def _balanced(
        self,
        state: Floats,
        level: float,
        target: float,
        force: Floats,
        veneers: Veneers,
        angle: float,
    ) -> tuple[Floats, float] | None:
        """Newton's steps at a given movement of the load, which is an unknown with them.

        None where they do not settle.
        """
        held = force[self._free]
        scale = float(np.linalg.norm(held))
        for _ in range(ITERATIONS):
            answer, factors = self._equations(state, veneers, angle)
            missing = (level * force - answer)[self._free]
            if np.linalg.norm(missing) < TOLERANCE * abs(level) * scale:
                return state, level
            both = factors.solve(np.column_stack([missing, held]))
            gain = float((target - force @ state - held @ both[:, 0]) / (held @ both[:, 1]))
            step = np.zeros_like(state)
            step[self._free] = both[:, 0] + gain * both[:, 1]
            part = self._part(state, step, answer, force * (level + gain), veneers, angle)
            state, level = state + part * step, level + gain
        return None

    def _part(
        self,
        state: Floats,
        step: Floats,
        answer: Floats,
        load: Floats,
        veneers: Veneers,
        angle: float,
    ) -> float:
        """How much of a Newton step to go: to near the least of the potential along it."""
        first, part = float((answer - load) @ step), 1.0
        for _ in range(6):
            slope = float((self._inner(state + part * step, veneers, angle)[0] - load) @ step)
            if slope < 0.5 * abs(first):
                break
            part *= first / (first - slope)  # the slope changes its sign in between
        return part

    def _inner(self, state: Floats, veneers: Veneers, angle: float) -> tuple[Floats, Floats]:
        """Inner forces, and the slope of the stresses at the points."""
        strain = np.einsum("eqia,ea->eqi", self._strains, state[self._dofs])
        stress, slope = veneers.respond(strain, angle)
        elastic = veneers.respond(np.zeros(3), angle)[1]
        stress[self._elastic] = strain[self._elastic] @ elastic
        slope[self._elastic] = elastic
        inner = np.einsum("eqia,eq,eqi->ea", self._strains, self._weights, stress)
        total = np.bincount(self._dofs.ravel(), inner.ravel(), minlength=len(state))
        return np.asarray(total, dtype=np.float64), slope

    def _equations(self, state: Floats, veneers: Veneers, angle: float) -> tuple[Floats, Any]:
        """Inner forces, and the factors of their slope."""
        answer, slope = self._inner(state, veneers, angle)
        heavy = np.einsum("eqij,eqjb->eqib", slope, self._strains) * self._weights[..., None, None]
        parts = np.matmul(
            self._strains.reshape(len(heavy), -1, 12).transpose(0, 2, 1),
            heavy.reshape(len(heavy), -1, 12),
        )
        rows, columns, size = self._pattern
        matrix = csc_matrix((parts.ravel(), (rows, columns)), shape=(size, size))
        matrix = matrix[self._free][:, self._free]
        options = {"SymmetricMode": True}
        return answer, splu(
            matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options
        )

    @cached_property
    def _basis(self) -> Any:
        whole = self.body._basis
        return Basis(whole.mesh, whole.elem, mapping=whole.mapping, intorder=2)

    @cached_property
    def _dofs(self) -> Ints:
        return np.asarray(self._basis.element_dofs.T)

    @cached_property
    def _weights(self) -> Floats:
        return np.asarray(self._basis.dx)

    @cached_property
    def _strains(self) -> Floats:
        """(elements, points, 3, 12) from an element's displacements to strains."""
        basis = self._basis
        count, points = basis.dx.shape
        result = np.zeros((count, points, 3, basis.Nbfun))
        for shape in range(basis.Nbfun):
            grad = basis.basis[shape][0].grad
            result[..., 0, shape] = grad[0, 0]
            result[..., 1, shape] = grad[1, 1]
            result[..., 2, shape] = grad[0, 1] + grad[1, 0]
        return result

    @cached_property
    def _elastic(self) -> Bools:
        mesh = self.body.mesh
        centres = mesh.vertices[self._basis.mesh.t.T].mean(axis=1)
        return np.asarray(np.hypot(*(centres - self.point).T) < self.quiet)

    @cached_property
    def _pattern(self) -> tuple[Ints, Ints, int]:
        dofs = self._dofs
        rows, columns = np.repeat(dofs, 12, axis=1), np.tile(dofs, (1, 12))
        return rows.ravel(), columns.ravel(), self.body.unknowns

    @cached_property
    def _free(self) -> Ints:
        body = self.body
        held = np.repeat(body.held[:, None, :], 3, axis=1)
        fixed = np.unique(body._edge_dofs[held])
        return np.setdiff1d(np.arange(body.unknowns), fixed)

    @cached_property
    def _operator(self) -> Any:
        """Strains along the fillets just below the edge, then at each depth."""
        body, edges = self.body, self.fillet
        x, y = body.tangents[edges].T
        places, inward = body.mesh.middles[edges], np.column_stack([-y, x])
        size = np.linalg.norm(np.diff(body.edge_points[edges, ::2], axis=1), axis=2).min()
        depths = [0.02 * size, *(self.distance * DEPTHS)]
        return body.strain_operator(np.vstack([places + d * inward for d in depths]))


def _crossing(share: Floats, values: Floats) -> float:
    """Value where a share reaches 1, between the steps; infinite where it never does."""
    reached = np.flatnonzero(share >= 1.0)
    if not len(reached):
        return float("inf")
    last = int(reached[0])
    if last == 0:
        return float(values[0] / share[0])
    part = (1.0 - share[last - 1]) / (share[last] - share[last - 1])
    return float(values[last - 1] + part * (values[last] - values[last - 1]))
