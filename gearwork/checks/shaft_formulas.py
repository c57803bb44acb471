"""Formulas of machine elements: bearing life, fatigue of threads, load on the edge of teeth."""

from math import inf, pow, sqrt

_ENDURANCE_CYCLES = 2e6
# Mesh stiffness of a steel pair of spur gears, N/(mm·µm), and its Young's modulus, MPa.
_STEEL_MESH, _STEEL_MODULUS = 20.0, 206_000.0


def bearing_life(rating: float, load: float, speed: float) -> float:
    """Return the life L10 of a ball bearing that nine in ten reach, hours.

    Parameters
    ----------
    rating : float
        Dynamic rating C, N.
    load : float
        Equivalent load P, N; for radial load alone the force itself. Less than a billionth of the
        rating is the rounding of the statics and counts as none.
    speed : float
        rpm.

    References
    ----------
    ISO 281: L10 = (C/P)³ · 10⁶ revolutions.
    """
    return inf if load <= 1e-9 * rating else (rating / load) ** 3 * 1e6 / (60.0 * speed)


def thread_fatigue_strength(diameter: float, cycles: float) -> float:
    """Return the stress amplitude a rolled thread bears for so many load cycles, MPa.

    Parameters
    ----------
    diameter : float
        Nominal, mm.
    cycles : float
        Fewer than 10 000 count as 10 000, from 2 million on the endurance limit.

    References
    ----------
    VDI 2230 Part 1, 5.5.3 (from memory): σ_A = 0.85 (150/d + 45), finite life with exponent 1/3.
    """
    endurance = 0.85 * (150.0 / diameter + 45.0)
    counted = min(max(cycles, 1e4), _ENDURANCE_CYCLES)
    return endurance * pow(_ENDURANCE_CYCLES / counted, 1.0 / 3.0)


def face_load_factor(edge_gap: float, face_width: float, force: float, modulus: float) -> float:
    """Return how much harder the teeth's edge is loaded than on average, K_Hβ.

    Parameters
    ----------
    edge_gap : float
        Misalignment over the face width, mm, of both shafts together.
    face_width : float
        mm.
    force : float
        Tooth force, N.
    modulus : float
        Young's modulus of the gears, MPa: their mesh is softer than steel's in this proportion.

    References
    ----------
    ISO 6336-1 (from memory): K = 1 + F_β c/(2 F/b), above 2 (contact over part of the width)
    K = sqrt(2 F_β c/(F/b)); c = 20 N/(mm·µm) · E/E_steel.
    """
    if force == 0.0:
        return 1.0
    stiffness = _STEEL_MESH * modulus / _STEEL_MODULUS
    share = 1000.0 * edge_gap * stiffness * face_width / force
    return 1.0 + share / 2.0 if share <= 2.0 else sqrt(2.0 * share)
