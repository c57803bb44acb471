"""Rack-generated teeth meshed for the elastic solver, and the load at their tip."""

import numpy as np
from rack_tooth import rack_tooth

from gearwork.checks.tooth.elements import ToothMesh
from gearwork.stock.orthotropic import stiffness

STEEL_LIKE = stiffness(0.0, (2100.0, 2100.0), 2100.0 / 2.6, 0.3)


def tip_load(profile, z, alpha=20.0):
    """Tip of the flank at y > 0, and the force there that carries a unit tangential force.

    ISO 6336: the normal force touches the base circle; F_n = F_t / cos α at the reference circle.
    """
    radius = np.hypot(*profile.T)
    point = profile[np.flatnonzero(radius >= radius.max() - 1e-9)[-1]]
    base = z / 2 * np.cos(np.radians(alpha))
    towards = np.arctan2(point[1], point[0]) - np.arccos(base / radius.max())
    force = base * np.array([np.cos(towards), np.sin(towards)]) - point
    return point[None], force[None] / np.linalg.norm(force) / np.cos(np.radians(alpha))


def tooth(z, size=0.05, **options):
    profile = rack_tooth(z)
    root = 2 * np.hypot(*profile[0])
    options = {"rim_diameter": root - min(5.0, root / 2), "form_diameter": root + 1.4} | options
    return ToothMesh(profile, fillet_size=size, **options)
