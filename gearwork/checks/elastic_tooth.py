"""Stress along the fillets of one tooth, from plane-stress finite elements.

The tooth stands on a piece of the wheel three pitches wide, with its two neighbours. The mesh
depends on the shape alone: every tooth of a wheel shares it, and only the stiffness turns.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from gearwork.checks.elastic import ElasticBody, stress_along
from gearwork.checks.plane_mesh import Floats, Ints, mesh_region
from gearwork.errors import GearworkError, number


@dataclass(frozen=True)
class ToothStress:
    """Stress at the fillets of a tooth, one row per load.

    Attributes
    ----------
    points : (n, 2) ndarray
        Places on the edge, mm, from mid-root at y < 0 up to the form diameter, then from the form
        diameter at y > 0 down to mid-root.
    tangents : (n, 2) ndarray
        Unit direction of the edge at these places.
    along : (k, n) ndarray
        Stress along the edge, MPa, tension positive.
    inner : (k, n, 3) ndarray
        Stresses σx, σy, τxy, MPa, at the reading depth below each place.
    reaction : (k, 2) ndarray
        What the rest of the wheel exerts on the piece, N per mm of thickness.
    """

    points: Floats
    tangents: Floats
    along: Floats
    inner: Floats
    reaction: Floats

    @property
    def stress(self) -> Floats:
        """(k, n, 3) stresses σx, σy, τxy at the edge, MPa."""
        return stress_along(self.tangents, self.along)

    @property
    def tangent_angle(self) -> Floats:
        """(n,) direction of the edge, degrees from the tooth's centre line, 0 to 180."""
        return np.asarray(np.degrees(np.arctan2(self.tangents[:, 1], self.tangents[:, 0])) % 180.0)


@dataclass(frozen=True)
class ToothMesh:
    """One tooth of a wheel, meshed for `solve`.

    Sides cut at mid-root would stiffen the fillets: in plywood at 45° they take 4 % off the
    tension there. With a neighbour at each side it is within 1 % of two neighbours. An inner edge
    held 2.5 modules below the root circle is within 2 % of one held at 4.

    Attributes
    ----------
    profile : (n, 2) ndarray
        Edge of the tooth, mm, from mid-root at y < 0 over the tip to mid-root at y > 0, tooth
        centred on +x, wheel centre at the origin. Facets with a chord error of at most a
        hundredth of the fillet size.
    rim_diameter : float
        Inner edge of the piece, mm.
    form_diameter : float
        Diameter up to which the fillets are finely meshed and read, mm.
    fillet_size : float
        Element length along the fillets, mm. Found on teeth of 12 to 45, birch plywood at all
        angles: a twelfth of the fillet radius gives the peak of stress within 2 %, an eighth
        within 4 %, a fourth within 8 %, mostly low.
    rim_held : bool
        Whether the wheel goes on inside the rim diameter (a disc), or ends there (a bare rim).
    reading_depth : float
        Distance below the edge at which inner stresses are read, mm.

    Raises
    ------
    GearworkError
        If the profile is no tooth, or the diameters do not fit it.
    """

    profile: Floats
    rim_diameter: float
    form_diameter: float
    fillet_size: float
    rim_held: bool = True
    reading_depth: float = 0.0

    def __post_init__(self) -> None:
        if (
            self.profile.ndim != 2
            or self.profile.shape[1] != 2
            or not np.isfinite(self.profile).all()
        ):
            raise GearworkError(
                f"the tooth profile has the shape {self.profile.shape}: (n, 2) is needed"
            )
        ends = np.hypot(*self.profile[[0, -1]].T)
        angles = np.arctan2(*self.profile[[0, -1], ::-1].T)
        even = np.allclose(ends, ends[0], rtol=1e-6) and np.isclose(angles.sum(), 0.0, atol=1e-6)
        if not even or not 0.0 < self._pitch < 2.0 * np.pi / 3.0:
            raise GearworkError(
                f"the tooth profile runs from {np.degrees(angles[0]):.4g}° at radius"
                f" {ends[0]:.5g} mm to {np.degrees(angles[1]):.4g}° at {ends[1]:.5g} mm: it must"
                " go from mid-root to mid-root, centred on +x, counter-clockwise"
            )
        root, tip = 2.0 * np.hypot(*self.profile.T).min(), 2.0 * np.hypot(*self.profile.T).max()
        number("form diameter", self.form_diameter, unit="mm", above=root, at_most=tip)
        number(
            "rim diameter", self.rim_diameter, unit="mm", above=0.0, at_most=root - self.fillet_size
        )
        number(
            "fillet element size", self.fillet_size, unit="mm", above=0.0, at_most=(tip - root) / 6
        )
        number(
            "reading depth", self.reading_depth, unit="mm", at_least=0.0, at_most=(tip - root) / 6
        )

    def solve(self, stiffness: Floats, points: Floats, forces: Floats) -> ToothStress:
        """Stress at the fillets under forces on the flanks.

        Parameters
        ----------
        stiffness : (3, 3) ndarray
            Plane-stress stiffness of the sheet in the tooth's axes, MPa: `Plywood.stiffness` at
            the angle of the tooth to the face grain.
        points : (k, 2) ndarray
            Where on the flanks each force acts, mm.
        forces : (k, 2) ndarray
            N per mm of thickness; each is a load by itself.
        """
        body, edges = self.body, self._fillet_edges
        solution = body.solve(stiffness, body.point_loads(points, forces))
        along = solution.edge_stress[:, edges]
        tangents = body.tangents[edges]
        inner = stress_along(tangents, along)
        if self.reading_depth:
            inner = solution.stress(self._inner_operator)
        return ToothStress(body.mesh.middles[edges], tangents, along, inner, solution.reaction)

    @cached_property
    def body(self) -> ElasticBody:
        """The meshed piece of the wheel."""
        loop, sizes = self._outline()
        mesh = mesh_region([loop], [sizes])
        diameter, angle = _polar(mesh.middles)
        below_root = diameter < _polar(self.profile[:1])[0] * (1.0 - 1e-6)
        at_rim = diameter < self.rim_diameter * (1.0 + 1e-3)
        held = below_root & (self.rim_held | ~at_rim) & (at_rim | (abs(angle) > 1.49 * self._pitch))
        return ElasticBody(mesh, np.repeat(held[:, None], 2, axis=1))

    @property
    def _pitch(self) -> float:
        """Angle from mid-root to mid-root, radians."""
        start, end = _polar(self.profile[[0, -1]])[1]
        return float(end - start)

    def _outline(self) -> tuple[Floats, Floats]:
        """Closed outline of the piece, and the element size wanted at each of its points."""
        diameter, _ = _polar(self.profile)
        coarse = (diameter.max() - diameter.min()) / 12.0
        rounded = diameter <= self.form_diameter
        own = np.where(rounded, self.fillet_size, coarse)
        other = np.where(rounded, min(3.0 * self.fillet_size, coarse), coarse)
        teeth = [_turned(self.profile, k * self._pitch)[:-1] for k in (-1, 0, 1)]
        last = _turned(self.profile[-1:], self._pitch)
        sweep = np.linspace(1.5, -1.5, 400) * self._pitch
        rim = 0.5 * self.rim_diameter * np.column_stack([np.cos(sweep), np.sin(sweep)])
        loop = np.vstack([*teeth, last, rim])
        sizes = [other[:-1], own[:-1], np.append(self.fillet_size, other[1:-1]), other[-1:]]
        return loop, np.concatenate([*sizes, np.full(len(rim), coarse)])

    @cached_property
    def _fillet_edges(self) -> Ints:
        diameter, angle = _polar(self.body.mesh.middles)
        root = _polar(self.profile)[0].min()
        chosen = (abs(angle) < 0.5 * self._pitch) & (diameter <= self.form_diameter)
        return np.flatnonzero(chosen & (diameter > root - 0.1 * self.fillet_size))

    @cached_property
    def _inner_operator(self) -> Any:
        x, y = self.body.tangents[self._fillet_edges].T
        places = self.body.mesh.middles[self._fillet_edges]
        return self.body.strain_operator(places + self.reading_depth * np.column_stack([-y, x]))


def _polar(points: Floats) -> tuple[Floats, Floats]:
    """Diameter and angle, radians, of points about the origin."""
    return 2.0 * np.hypot(*points.T), np.arctan2(points[:, 1], points[:, 0])


def _turned(points: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))
