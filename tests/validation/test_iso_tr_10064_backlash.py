"""Least backlash of a mesh.

Source: ISO/TR 10064-2:1996, Table A.1, least normal backlash of metal drives (from memory):
2/3 (0.06 + 0.0005 a + 0.03 m), a and m in mm, rounded up to 0.01 mm. Plywood wants more: half as
much again is wanted (assumption).
"""

import pytest

from gearwork.checks.tooth.mesh import min_backlash


@pytest.mark.parametrize(("module", "distance", "printed"), [(3, 100, 0.14), (5, 200, 0.21)])
def test_least_backlash_as_printed(module, distance, printed):
    assert min_backlash(module, distance) == pytest.approx(printed, abs=1e-9)
