"""What one bolt carries across a wood joint: embedment, yield moment, Johansen's yield modes."""

from math import pow, sqrt

_THIN, _THICK = 0.5, 1.0


def bolt_embedment(diameter: float, density: float) -> float:
    """Return the embedment strength of a bolt in plywood, MPa, in any direction.

    EN 1995-1-1:2004 Eq. 8.36; diameter in mm, characteristic density in kg/m³.
    """
    return 0.11 * (1.0 - 0.01 * diameter) * density


def threaded_embedment(diameter: float, density: float) -> float:
    """Return the embedment strength where a thread bears on the plywood, MPa.

    EN 1995-1-1:2004 8.7.1(3) to (5): with an effective diameter, 1.1 times the core, above 6 mm as
    a bolt, else as a nail (Eq. 8.20, from memory).
    """
    if diameter > 6.0:
        return bolt_embedment(diameter, density)
    return 0.11 * density * pow(diameter, -0.3)


def timber_embedment(diameter: float, density: float) -> float:
    """Return the embedment strength of a nail in timber that is not predrilled, MPa.

    EN 1995-1-1:2004 Eq. 8.15 (from memory); units as of `bolt_embedment`.
    """
    return 0.082 * density * pow(diameter, -0.3)


def yield_moment(tensile_strength: float, diameter: float) -> float:
    """Return the characteristic yield moment of a round bolt, N·mm (EN 1995-1-1:2004 Eq. 8.30)."""
    return 0.3 * tensile_strength * pow(diameter, 2.6)


def wood_to_wood(
    embedment: tuple[float, float], thickness: tuple[float, float], diameter: float, moment: float
) -> dict[str, float]:
    """Return the load per bolt of every yield mode, one shear plane between two wood parts, N.

    By the letter of the mode, EN 1995-1-1:2004 Eq. 8.6 (a) to (f); the smallest counts. Embedment
    strengths f_h,k in MPa and thicknesses in mm of the two parts, yield moment M_y,Rk in N·mm. The
    rope effect is left out, which is on the safe side.
    """
    (f1, f2), (t1, t2), d, m = embedment, thickness, diameter, moment
    b, r = f2 / f1, t2 / t1
    whole = f1 * t1 * d
    tilt = sqrt(b + 2 * b**2 * (1 + r + r**2) + b**3 * r**2) - b * (1 + r)

    def one_hinge(part: float, k: float, flip: float) -> float:
        bend = 4 * b * k * m / (f1 * d * part**2)
        return 1.05 * f1 * part * d / k * (sqrt(2 * flip * (1 + b) + bend) - b)

    return {
        "a": whole,
        "b": f2 * t2 * d,
        "c": whole / (1 + b) * tilt,
        "d": one_hinge(t1, 2 + b, b),
        "e": one_hinge(t2, 1 + 2 * b, b**2),
        "f": 1.15 * sqrt(2 * b / (1 + b)) * sqrt(2 * m * f1 * d),
    }


def wood_to_steel(
    embedment: float, thickness: float, diameter: float, moment: float, plate: float
) -> float:
    """Return the load per bolt, one shear plane between wood and a steel plate, N.

    EN 1995-1-1:2004 8.2.3(1), Eq. 8.9 (a, b) and 8.10 (c, d, e) without the rope effect; units as
    in `wood_to_wood`. Up to half the bolt's diameter the plate is thin, from one diameter on thick
    and clamps the bolt; straight between.
    """
    f, t, d, m = embedment, thickness, diameter, moment
    whole, bend = f * t * d, m * f * d
    thin = min(0.4 * whole, 1.15 * sqrt(2.0 * bend))
    one_hinge = whole * (sqrt(2.0 + 4.0 * m / (f * d * t**2)) - 1.0)
    thick = min(whole, one_hinge, 2.3 * sqrt(bend))
    share = min(max((plate / d - _THIN) / (_THICK - _THIN), 0.0), 1.0)
    return thin + share * (thick - thin)
