"""Plates and bars of elements for tests of the elastic solver."""

from functools import cache

import numpy as np

from gearwork.fem.grid import mesh_region
from gearwork.fem.plane import ElasticBody
from gearwork.stock.orthotropic import stiffness

BIRCH = ((9333.0, 8167.0), 620.0, 0.04)  # 12 mm birch plywood, Handbook of Finnish Plywood
ISOTROPIC = stiffness(0.0, (1000.0, 1000.0), 1000.0 / 2.6, 0.3)
TURNED = stiffness(-30.0, *BIRCH)  # face grain 30° counter-clockwise from x


def rectangle(length, height):
    return np.array(
        [[0, -height / 2], [length, -height / 2], [length, height / 2], [0, height / 2]]
    )


def body_of(loops, sizes, held):
    """Body with boundary edges held where `held` says so of their middles (x, y)."""
    mesh = mesh_region(loops, sizes)
    chosen = np.broadcast_to(held(*mesh.middles.T), len(mesh.edges))
    return ElasticBody(mesh, np.repeat(chosen[:, None], 2, axis=1))


@cache
def clamped_bar():
    """Clamped at x = 0, unit force per mm of thickness down at its end, length 24, height 2."""
    bar = rectangle(24.0, 2.0)
    body = body_of([bar], [np.full(4, 0.4)], lambda x, y: x == 0.0)
    return body, body.point_loads(np.array([[24.0, 0.0]]), np.array([[0.0, -1.0]]))
