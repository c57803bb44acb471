"""Plane-stress finite elements on a body with straight grain at any angle.

Quadratic triangles with curved edges (scikit-fem), for any stiffness of the sheet. The equations
are assembled once for a body; each stiffness costs one factorisation, each load one back
substitution. All forces are per mm of thickness.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import splu

from gearwork.errors import GearworkError
from gearwork.fem.grid import PlaneMesh, cross
from gearwork.numbers import Bools, Floats, Ints

PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
GAUSS = 0.5 + np.array([-0.5, 0.5]) / np.sqrt(3.0)  # points of Gauss on an edge from 0 to 1
GAUSS_3 = 0.5 + np.sqrt(0.15) * np.array([-1.0, 0.0, 1.0])
WEIGHTS_3 = np.array([5.0, 8.0, 5.0]) / 18.0
SMOOTH = np.cos(np.radians(30.0))  # least cosine between the directions of edges on one curve


@dataclass(frozen=True)
class ElasticBody:
    """A meshed body with the boundary edges that are held, (m, 2) in x and in y."""

    mesh: PlaneMesh
    held: Bools

    def __post_init__(self) -> None:
        if self.held.shape != (len(self.mesh.edges), 2):
            raise GearworkError(
                f"the held edges have the shape {self.held.shape}: a yes or no for x and y"
                f" of each of the {len(self.mesh.edges)} boundary edges is needed"
            )
        if not self.held.any(axis=0).all():
            raise GearworkError("the body is free to move: hold edges in x and in y")
        a, b, c = self.mesh.vertices[self._basis.mesh.t]
        winding = np.sign(cross(b - a, c - a))
        folded = np.any(self._basis.mapping.detDF(self._basis.X) * winding[:, None] <= 0.0, axis=1)
        if folded.any():
            x, y = self.mesh.vertices[self._basis.mesh.t[:, np.argmax(folded)]].mean(axis=0)
            raise GearworkError(
                f"the element at the curved edge near ({x:.3g}, {y:.3g}) folds over:"
                " ask for smaller elements there"
            )

    @cached_property
    def edge_points(self) -> Floats:
        """(m, 3, 2) start, middle and end of each boundary edge, mm."""
        ends = self.mesh.vertices[self.mesh.edges]
        return np.stack([ends[:, 0], self.mesh.middles, ends[:, 1]], axis=1)

    @cached_property
    def tangents(self) -> Floats:
        """(m, 2) unit direction of the boundary at `mesh.middles`, body on the left."""
        run = self.edge_points[:, 2] - self.edge_points[:, 0]
        return np.asarray(run / np.hypot(*run.T)[:, None])

    def second_difference(self, values: Floats) -> Floats:
        """Second differences of values (..., m) along the boundary; zero beside a corner."""
        before, after = self._neighbours
        smooth = np.minimum(
            np.sum(self.tangents * self.tangents[before], axis=1),
            np.sum(self.tangents * self.tangents[after], axis=1),
        )
        bend = values[..., before] - 2.0 * values + values[..., after]
        return np.where(smooth > SMOOTH, bend, 0.0)

    @cached_property
    def _neighbours(self) -> tuple[Ints, Ints]:
        """Numbers of the boundary edges before and after each one."""
        starts = self.mesh.edges[:, 0]
        after = np.empty(starts.max() + 1, dtype=np.intp)
        after[starts] = np.arange(len(starts))
        after = after[self.mesh.edges[:, 1]]
        return np.argsort(after), after

    @property
    def unknowns(self) -> int:
        """Number of displacement components, the held ones among them."""
        return int(self._basis.N)

    def point_loads(self, points: Floats, forces: Floats) -> Floats:
        """Loads (unknowns, k) of single forces, each at the boundary place nearest to a point.

        Points (k, 2), mm; forces (k, 2), N per mm of thickness, one load case a column. A force
        goes to the three nodes of its edge by their shape functions: resultant and moment are
        exact, the stress within about an element of the force is not.
        """
        edge, along, gap = self._nearest_on_edges(points)
        if np.any(
            gap > 0.3 * np.linalg.norm(np.diff(self.edge_points[edge, ::2], axis=1), axis=2)[:, 0]
        ):
            x, y = points[np.argmax(gap)]
            raise GearworkError(
                f"the force at ({x:.4g}, {y:.4g}) acts {gap.max():.3g} mm off the boundary:"
                " give a point on it"
            )
        loads = np.zeros((self.unknowns, len(points)))
        share = _edge_shapes(along)
        cases = np.arange(len(points))
        for node in range(3):
            for axis in range(2):
                loads[self._edge_dofs[edge, node, axis], cases] += share[:, node] * forces[:, axis]
        return loads

    def tractions(self, tractions: Floats) -> Floats:
        """(unknowns, 1) load of a uniform traction (m, 2), MPa, on each boundary edge."""
        loads = np.zeros((self.unknowns, 1))
        for at, weight in zip(GAUSS_3, WEIGHTS_3, strict=True):
            stretch = np.einsum("n,mnx->mx", _edge_slopes(np.array([at]))[0], self.edge_points)
            length = weight * np.hypot(*stretch.T)
            share = _edge_shapes(np.array([at]))[0]
            part = np.einsum("n,m,mx->mnx", share, length, tractions)
            np.add.at(loads[:, 0], self._edge_dofs, part)
        return loads

    def solve(
        self, stiffness: Floats, loads: Floats, displacements: Floats | None = None
    ) -> "PlaneSolution":
        """Displacements under some loads (unknowns, k), one case a column.

        The stiffness (3, 3), MPa, is that of the sheet as it lies in the body: (σx, σy, τxy) =
        stiffness @ (εx, εy, γxy). Held edges stay, or move by `displacements` (m, 3, 2), mm, at
        `edge_points`.
        """
        stiffness = np.asarray(stiffness, dtype=np.float64)
        stable = stiffness.shape == (3, 3) and np.allclose(stiffness, stiffness.T, rtol=1e-9)
        if not stable or np.linalg.eigvalsh(stiffness)[0] <= 0.0:
            raise GearworkError(
                f"the stiffness is {stiffness.tolist()}: a symmetric, positive definite matrix"
                " (3, 3) in MPa is needed"
            )
        matrix = sum(
            stiffness[pair] * part for pair, part in zip(PAIRS, self._parts, strict=True)
        ).tocsc()
        result = np.zeros(loads.shape)
        held = np.repeat(self.held[:, None, :], 3, axis=1)
        fixed = np.unique(self._edge_dofs[held])
        if displacements is not None:
            result[self._edge_dofs[held]] = displacements[held][:, None]
        free = np.setdiff1d(np.arange(self.unknowns), fixed)
        # Symmetric and positive definite: no pivoting is needed, and the ordering can keep to it.
        factors = splu(
            matrix[free][:, free],
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        result[free] = factors.solve((loads - matrix @ result)[free])
        return PlaneSolution(self, stiffness, result, matrix @ result - loads)

    def strain_operator(self, points: Floats) -> Any:
        """Sparse matrix (3n, unknowns) from displacements to strains at points (n, 2) inside.

        Rows are all εx, then all εy, then all γxy. Made once, it serves any solution of the body.
        """
        basis, count = self._basis, len(points)
        elements, local = self._located(points)
        operator = csr_matrix((3 * count, self.unknowns))
        for shape in range(basis.Nbfun):
            grad = basis.elem.gbasis(basis.mapping, local, shape, tind=elements)[0].grad[..., 0]
            strains = np.concatenate([grad[0, 0], grad[1, 1], grad[0, 1] + grad[1, 0]])
            where = (np.arange(3 * count), np.tile(basis.element_dofs[shape, elements], 3))
            operator = operator + csr_matrix((strains, where), shape=operator.shape)
        return operator

    def _located(self, points: Floats) -> tuple[Ints, Floats]:
        """The element around each point, and the point in its local coordinates (2, n, 1)."""
        corners = self.mesh.vertices[self._basis.mesh.t]
        depth = np.array([_barycentric(point, corners).min(axis=0) for point in points])
        elements = np.argmax(depth, axis=1)
        mapping = self._basis.mapping
        local = np.full((2, len(points), 1), 1.0 / 3.0)
        # Newton's method through the curved mapping, from the middle of the element.
        for _ in range(8):
            miss = points.T[:, :, None] - mapping.F(local, tind=elements)
            local = local + np.einsum("ijkl,jkl->ikl", mapping.invDF(local, tind=elements), miss)
        off = np.maximum(-local.min(axis=0), local.sum(axis=0) - 1.0)[:, 0]
        if np.any(off > 0.02):
            x, y = points[np.argmax(off)]
            raise GearworkError(
                f"the point ({x:.4g}, {y:.4g}) lies outside the body: move it inwards"
            )
        return elements, local

    def _nearest_on_edges(self, points: Floats) -> tuple[Ints, Floats, Floats]:
        """Nearest boundary edge, where along it (0 to 1), and how far off, of each point."""
        start, end = self.edge_points[:, 0], self.edge_points[:, 2]
        run = end - start
        reach = points[:, None] - start
        along = np.clip(np.sum(reach * run, axis=2) / np.sum(run**2, axis=1), 0.0, 1.0)
        gaps = np.linalg.norm(reach - along[:, :, None] * run, axis=2)
        edge = np.argmin(gaps, axis=1)
        cases = np.arange(len(points))
        return edge, along[cases, edge], gaps[cases, edge]

    @cached_property
    def _basis(self) -> Any:
        from skfem import Basis, ElementTriP2, ElementVector, MeshTri, MeshTri2  # slow to load

        mesh = MeshTri2.from_mesh(
            MeshTri(self.mesh.vertices.T.copy(), self.mesh.triangles.T.copy())
        )
        mesh.doflocs[:, mesh.dofs.facet_dofs[0, self._facets_of(mesh)]] = self.mesh.middles.T
        return Basis(mesh, ElementVector(ElementTriP2()), intorder=4)

    def _facets_of(self, mesh: Any) -> Ints:
        """The number scikit-fem gives each boundary edge."""
        count = len(self.mesh.vertices)
        keys = np.sort(mesh.facets, axis=0).T @ [count, 1]
        order = np.argsort(keys)
        wanted = np.sort(self.mesh.edges, axis=1) @ [count, 1]
        return np.asarray(order[np.searchsorted(keys[order], wanted)])

    @cached_property
    def _edge_dofs(self) -> Ints:
        """(m, 3, 2) unknowns at start, middle and end of each boundary edge, in x and y."""
        basis = self._basis
        ends = basis.nodal_dofs[:, self.mesh.edges]
        middle = basis.facet_dofs[:, self._facets_of(basis.mesh)]
        return np.asarray(np.stack([ends[..., 0], middle, ends[..., 1]]).transpose(2, 0, 1))

    @cached_property
    def _parts(self) -> list[Any]:
        """Stiffness matrices of the body for a unit in each entry of the sheet's stiffness."""
        return [_form(i, j).assemble(self._basis) for i, j in PAIRS]


@dataclass(frozen=True)
class PlaneSolution:
    """Displacements of a body for one stiffness and some loads."""

    body: ElasticBody
    stiffness: Floats  # (3, 3), MPa
    displacements: Floats  # (unknowns, k), mm, one load case a column
    residual: Floats  # (unknowns, k) inner less outer forces, N per mm: reactions where held

    @property
    def reaction(self) -> Floats:
        """(k, 2) total force of the supports on the body, N per mm of thickness."""
        dofs, held = self.body._edge_dofs, self.body.held
        each = [np.unique(dofs[held[:, axis], :, axis]) for axis in (0, 1)]
        return np.stack([self.residual[d].sum(axis=0) for d in each], axis=1)

    def stress(self, operator: Any) -> Floats:
        """(k, n, 3) stresses σx, σy, τxy, MPa, at the points of a `strain_operator` of the body."""
        strains = (operator @ self.displacements).T.reshape(self.displacements.shape[1], 3, -1)
        return np.asarray(strains.transpose(0, 2, 1) @ self.stiffness.T)

    @cached_property
    def edge_stress(self) -> Floats:
        """(k, m) stress along the boundary at `mesh.middles`, MPa; holds where the edge is free.

        On a free edge it is the only stress, so the strain along the edge gives it, without the
        less accurate strains of the element.
        """
        body = self.body
        movement = self.edge_displacements(np.arange(len(body.mesh.edges)))
        runs = np.einsum("gn,mnx->gmx", _edge_slopes(GAUSS), body.edge_points)
        stretches = np.einsum("gn,kmnx,gmx->kgm", _edge_slopes(GAUSS), movement, runs)
        length = np.linalg.norm(runs, axis=2)
        strain = np.sum(stretches / length, axis=1) / np.sum(length, axis=0)
        unit = stress_along(body.tangents, np.ones(len(strain[0])))
        mean = strain / np.einsum("ni,ij,nj->n", unit, np.linalg.inv(self.stiffness), unit)
        # The mean over an edge is the most accurate value: vertices move more accurately than the
        # strain in between follows. The value half-way is the mean less a 24th of the means'
        # second difference, which is what a parabola has.
        return np.asarray(mean - body.second_difference(mean) / 24.0)

    def edge_displacements(self, edges: Ints) -> Floats:
        """(k, e, 3, 2) movement at start, middle and end of some boundary edges, mm."""
        return np.asarray(np.moveaxis(self.displacements[self.body._edge_dofs[edges]], -1, 0))


def stress_along(tangents: Floats, stress: Floats) -> Floats:
    """Stresses σx, σy, τxy (..., n, 3) of a stress (..., n) along unit directions (n, 2), MPa."""
    x, y = tangents.T
    return np.asarray(stress[..., None] * np.column_stack([x * x, y * y, x * y]))


def _edge_shapes(along: Floats) -> Floats:
    """(k, 3) shape functions of a quadratic edge, 0 to 1 from start to end."""
    return np.column_stack(
        [(1 - along) * (1 - 2 * along), 4 * along * (1 - along), along * (2 * along - 1)]
    )


def _edge_slopes(along: Floats) -> Floats:
    return np.column_stack([4 * along - 3, 4 - 8 * along, 4 * along - 1])


def _barycentric(point: Floats, corners: Floats) -> Floats:
    """(3, t) barycentric coordinates of a point in triangles (3, t, 2)."""
    a, b, c = corners
    det = cross(b - a, c - a)
    second = cross(point - a, c - a) / det
    third = cross(b - a, point - a) / det
    return np.stack([1.0 - second - third, second, third])


def _form(i: int, j: int) -> Any:
    from skfem import BilinearForm

    def strains(u: Any) -> tuple[Any, Any, Any]:
        return u.grad[0, 0], u.grad[1, 1], u.grad[0, 1] + u.grad[1, 0]

    def integrand(u: Any, v: Any, _: Any) -> Any:
        a, b = strains(u), strains(v)
        return a[i] * b[j] if i == j else a[i] * b[j] + a[j] * b[i]

    return BilinearForm(integrand)
