"""Why Hankinson's formula, made for solid wood, is not taken for plywood.

Source: Wood Handbook (FPL-GTR-190), Eq. 5-2: N = PQ/(P sinⁿθ + Q cosⁿθ), n 1.5 to 2 in tension
(exponents from memory). Plywood is weakest at 45° to its face grain: between its axes Hankinson
would promise twice what Norris' criterion leaves.
"""

import pytest

from gearwork.stock.plywood import plywood


def test_hankinson_would_promise_plywood_twice_its_strength_at_45_degrees():
    sheet = plywood("birch", 12)
    along, across = sheet.tension
    promised = along * across / (along / 2 + across / 2)  # n = 2; more with a smaller n
    assert promised == pytest.approx(37.3, abs=0.05)
    assert promised / sheet.tension_at(45.0) == pytest.approx(2.0, abs=0.05)
