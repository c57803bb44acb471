"""Birch plywood of 1.4 mm veneers, sanded: the printed table, and the veneers it comes from.

Source: Handbook of Finnish Plywood, Finnish Forest Industries Federation, 2002 (ISBN 952-9506-63-5)
and 2007, chapter 3.1. Read in a copy: E_m and f_m along the grain of 18 mm, mean density
680. All else from memory, but a model of the veneers reproduces tension, compression, bending and
their moduli to the last digit. Spruce of thin veneers: from memory, less sure.
The limits of thickness are confirmed by a maker's datasheet, read; a second maker's means and the
density it declares are below.
"""

import numpy as np
import pytest

from gearwork.stock.plywood import (
    plywood,
    plywood_from_layup,
    plywood_kinds,
)

BIRCH = plywood("birch", 12)
ALL_SHEETS = [(kind, size) for kind, sizes in plywood_kinds().items() for size in sizes]

# Sanded birch veneers: 1.4 mm, the two faces 1.1; a ply across the load carries nothing.
VENEER = {"birch": (17500, 75, 52, 70), "thin-veneer spruce": (13000, 28, 36, 40)}


def _veneer_model(kind, plies, total):
    """Return (E, f_t, f_c, E_m, f_m), each along and across, plies summed one by one."""
    modulus, tension, compression, bending = VENEER[kind]
    veneers = [1.1] + [1.4] * (plies - 2) + [1.1]
    bottoms = np.cumsum([0.0, *veneers[:-1]]) - total / 2
    rows = []
    for first in (0, 1):
        active = [(b, b + v) for b, v in zip(bottoms, veneers, strict=True)][first::2]
        share = sum(top - bottom for bottom, top in active) / total
        second_moment = sum((top**3 - bottom**3) / 3 for bottom, top in active)
        stiff = second_moment / (total**3 / 12)
        outermost = max(abs(z) for ply in active for z in ply)
        rows.append(
            (
                modulus * share,
                tension * share,
                compression * share,
                modulus * stiff,
                bending * stiff * (total / 2) / outermost,
            )
        )
    return np.array(rows).T


PLIES = {4: 3, 6.5: 5, 9: 7, 12: 9, 15: 11, 18: 13, 21: 15, 24: 17}


@pytest.mark.parametrize(("kind", "size"), ALL_SHEETS)
def test_every_row_comes_out_of_the_veneers_to_its_last_digit(kind, size):
    sheet = plywood(kind, size)
    modulus, tension, compression, flat_modulus, flat = _veneer_model(
        kind, PLIES[size], sheet.thickness
    )
    assert sheet.modulus == pytest.approx(modulus, abs=0.5 + 1e-6)
    assert sheet.tension == pytest.approx(tension, abs=0.05 + 1e-6)
    assert sheet.compression == pytest.approx(compression, abs=0.05 + 1e-6)
    if kind == "birch":
        assert sheet.bending_modulus == pytest.approx(flat_modulus, abs=0.5 + 1e-6)
        assert sheet.bending == pytest.approx(flat, abs=0.05 + 1e-6)


@pytest.mark.parametrize(("kind", "size"), ALL_SHEETS)
def test_along_and_across_add_up_to_the_veneers(kind, size):
    sheet = plywood(kind, size)
    modulus, tension, compression, _ = VENEER[kind]
    assert sum(sheet.modulus) == pytest.approx(modulus, abs=1)
    assert sum(sheet.tension) == pytest.approx(tension, abs=0.1 + 1e-9)
    assert sum(sheet.compression) == pytest.approx(compression, abs=0.1 + 1e-9)


@pytest.mark.parametrize(("kind", "size"), ALL_SHEETS)
def test_mean_thickness_is_the_layups_and_lies_within_the_limits(kind, size):
    sheet = plywood(kind, size)
    assert sheet.thickness == pytest.approx(2 * 1.1 + (PLIES[size] - 2) * 1.4)
    assert sheet.thickness_limits[0] <= sheet.thickness <= sheet.thickness_limits[1]
    assert sheet.nominal_thickness == size
    assert "Handbook" in sheet.source
    assert "memory" in sheet.certainty


def test_glue_on_a_face_leans_on_the_small_shear_strength():
    assert BIRCH.planar_shear == 2.22  # the weaker direction of the 12 mm row, not 9.5
    assert plywood("birch", 4).planar_shear == 2.77


@pytest.mark.parametrize("size", plywood_kinds()["birch"])
def test_birch_from_its_layup_is_the_table(size):
    table = plywood("birch", size)
    made = plywood_from_layup([1.1] + (PLIES[size] - 2) * [1.4] + [1.1])
    assert made.thickness == pytest.approx(table.thickness)
    assert made.tension == pytest.approx(table.tension, abs=0.05 + 1e-6)
    assert made.compression == pytest.approx(table.compression, abs=0.05 + 1e-6)
    assert made.modulus == pytest.approx(table.modulus, abs=0.5 + 1e-6)
    assert made.planar_shear <= table.planar_shear


# Nominal thickness; mean thickness; f_m, E_m (flatwise), f_t, f_c, E in the plane, each along and
# across the face grain; the smaller planar shear f_r printed.
PRINTED = {
    4: (3.6, (65.9, 10.6), (16471, 1029), (45.8, 29.2), (31.8, 20.2), (10694, 6806), 2.77),
    6.5: (6.4, (50.9, 29.0), (12737, 4763), (42.2, 32.8), (29.3, 22.8), (9844, 7656), 1.78),
    9: (9.2, (45.6, 32.1), (11395, 6105), (40.8, 34.2), (28.3, 23.7), (9511, 7989), 2.35),
    12: (12.0, (42.9, 33.2), (10719, 6781), (40.0, 35.0), (27.7, 24.3), (9333, 8167), 2.22),
    15: (14.8, (41.3, 33.8), (10316, 7184), (39.5, 35.5), (27.4, 24.6), (9223, 8277), 2.39),
    18: (17.6, (40.2, 34.1), (10048, 7452), (39.2, 35.8), (27.2, 24.8), (9148, 8352), 2.34),
    21: (20.4, (39.4, 34.3), (9858, 7642), (39.0, 36.0), (27.0, 25.0), (9093, 8407), 2.41),
    24: (23.2, (38.9, 34.4), (9717, 7783), (38.8, 36.2), (26.9, 25.1), (9052, 8448), 2.39),
}


@pytest.mark.parametrize("size", PRINTED)
def test_birch_as_printed(size):
    sheet = plywood("birch", size)
    found = (
        sheet.thickness, sheet.bending, sheet.bending_modulus, sheet.tension, sheet.compression,
        sheet.modulus, sheet.planar_shear,
    )  # fmt: skip
    assert found == PRINTED[size]
    # For all thicknesses: panel shear, its modulus and the densities.
    assert (sheet.panel_shear, sheet.shear_modulus) == (9.5, 620.0)
    assert (sheet.characteristic_density, sheet.density) == (630.0, 680.0)


LIMITS = {
    4: (3.5, 4.1), 6.5: (6.1, 6.9), 9: (8.8, 9.5), 12: (11.5, 12.5), 15: (14.3, 15.3),
    18: (17.1, 18.1), 21: (20.0, 20.9), 24: (22.9, 23.7),
}  # fmt: skip


@pytest.mark.parametrize("size", LIMITS)
def test_thickness_limits_as_printed(size):
    assert plywood("birch", size).thickness_limits == LIMITS[size]


# A second maker's datasheet, read: mean thickness; density 660 to 710.
ANOTHER_MAKER = {4: 3.8, 15: 14.9, 18: 17.7, 21: 20.5, 24: 23.4}


@pytest.mark.parametrize("size", ANOTHER_MAKER)
def test_another_makers_birch_is_within_the_limits_and_as_heavy(size):
    sheet = plywood("birch", size)
    assert sheet.thickness_limits[0] <= ANOTHER_MAKER[size] <= sheet.thickness_limits[1]
    assert 660 <= sheet.density <= 710
