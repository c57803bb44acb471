"""Bolts in single shear, wood to wood.

Source: National Design Specification for Wood Construction, Table 12A, Douglas fir (from memory);
loads in lb, printed to 10 lb.
"""

import pytest

from gearwork.checks.hub import johansen

INCH, POUND, PSI = 25.4, 4.448222, 6.894757e-3  # mm, N, MPa


@pytest.mark.parametrize(
    ("main", "side", "bolt", "mode", "factor", "printed"),
    [
        (1.5, 1.5, 0.5, "c", 3.6, 480),
        (1.5, 1.5, 0.625, "c", 3.6, 600),
        (1.5, 1.5, 0.75, "c", 3.6, 720),
        (1.5, 1.5, 1.0, "c", 3.6, 970),
        (3.5, 1.5, 0.5, "d", 3.2 * 1.05, 610),
        (3.5, 1.5, 0.625, "d", 3.2 * 1.05, 880),
        (3.5, 3.5, 0.5, "f", 3.2 * 1.15, 720),
    ],
)
def test_bolt_in_single_shear_by_the_american_table(main, side, bolt, mode, factor, printed):
    """National Design Specification for Wood Construction, Table 12A, Douglas fir (from memory).

    Load in lb of one bolt along the grain, printed to 10 lb. Embedment 11200 · 0.50 = 5600 psi,
    bending yield strength of the bolt 45 000 psi (M_y = F_yb d³/6). Its yield modes II, III and
    IV divide Johansen's load by 3.6, 3.2 and 3.2; Eq. 8.6 multiplies (d) by 1.05, (f) by 1.15.
    """
    moment = 45_000.0 * PSI * (bolt * INCH) ** 3 / 6.0
    modes = johansen.wood_to_wood(
        (5600.0 * PSI,) * 2, (side * INCH, main * INCH), bolt * INCH, moment
    )
    assert modes[mode] / factor / POUND == pytest.approx(printed, abs=5.5)
