"""Span measurement over k teeth, W/m, 20°, x 0.

Source: the span tables of gear handbooks after DIN 3960 (from memory, reproduced independently).
Tolerance: 1e-4, as printed. k is z/9 + 0.5, rounded half up.
"""

import pytest

from gearwork.geometry.gear import Gear

# DIN 3960 span tables of gear handbooks, m 1, 20°, x 0 (from memory, reproduced independently).
SPANS = [
    (9, 2, 4.5542), (12, 2, 4.5963), (17, 2, 4.6663), (18, 3, 7.6324), (24, 3, 7.7165),
    (27, 4, 10.7106), (36, 5, 13.7888), (40, 5, 13.8448), (44, 5, 13.9008), (45, 6, 16.8670),
    (54, 7, 19.9452), (60, 7, 20.0292),
]  # fmt: skip


@pytest.mark.parametrize(("teeth", "spanned", "printed"), SPANS)
def test_span_as_printed(teeth, spanned, printed):
    gear = Gear(module=1, teeth=teeth)
    assert gear.default_teeth_spanned == spanned
    assert gear.span() == pytest.approx(printed, abs=1e-4)
