"""Sheets, stacks and what time and moisture do to them."""

import itertools
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
from norris import holds, max_multiple

from gearwork.errors import GearworkError
from gearwork.stock.laminate import Stack, weakest_direction
from gearwork.stock.orthotropic import norris_index
from gearwork.stock.plywood import (
    plywood,
    plywood_from_layup,
    plywood_from_strengths,
    plywood_kinds,
)
from gearwork.stock.timber import (
    equilibrium_moisture,
    gamma_m,
    k_mod,
    swelling,
)

BIRCH = plywood("birch", 12)
ALL_SHEETS = [(kind, size) for kind, sizes in plywood_kinds().items() for size in sizes]
ANGLES = np.arange(0.0, 180.0, 7.5)

DECLARED = {
    "name": "poplar 10 mm",
    "thickness": 10.0,
    "tension": (20.0, 15.0),
    "compression": (18.0, 12.0),
    "panel_shear": 4.0,
    "modulus": (5000.0, 3500.0),
    "shear_modulus": 300.0,
    "density": 420.0,
}


# ---------------------------------------------------------------- Norris interaction


SKEWED = plywood_from_strengths(
    **DECLARED | {"tension": (60.0, 9.0), "compression": (15.0, 33.0), "panel_shear": 40.0}
)


@pytest.mark.parametrize(("kind", "size"), ALL_SHEETS)
def test_along_and_across_the_grain_the_table_comes_back(kind, size):
    sheet = plywood(kind, size)
    assert [sheet.tension_at(a) for a in (0.0, 90.0)] == pytest.approx(sheet.tension)
    assert [sheet.compression_at(a) for a in (0.0, 90.0)] == pytest.approx(sheet.compression)
    assert [sheet.modulus_at(a) for a in (0.0, 90.0)] == pytest.approx(sheet.modulus)
    assert sheet.shear_at(0.0) == pytest.approx(sheet.panel_shear)


def test_agrain_stress_alone_is_capped_by_its_strength():
    # Without the caps the interaction would credit more than F1 / cos² near the grain.
    angle = 10.0
    index = norris_index(1.0, 0.0, 0.0, angle, (40.0, 10.0), (15.0, 33.0), 1e4)
    assert 1 / index == pytest.approx(40.0 / np.cos(np.radians(angle)) ** 2)


def test_both_strengths_reached_together_just_hold():
    assert BIRCH.norris_index(*BIRCH.tension, 0.0) == pytest.approx(1.0)
    assert BIRCH.norris_index(-BIRCH.compression[0], -BIRCH.compression[1], 0.0) == pytest.approx(1)


def test_index_grows_in_proportion_to_the_load():
    loads = np.array([0.0, 1.0, 2.0, 7.0])
    index = BIRCH.norris_index(3.0 * loads, -2.0 * loads, loads, 20.0)
    assert index == pytest.approx(index[1] * loads)


def test_angles_are_even_and_repeat_after_half_a_turn():
    for strength in (BIRCH.tension_at, BIRCH.compression_at, BIRCH.modulus_at, BIRCH.shear_at):
        assert strength(-ANGLES) == pytest.approx(strength(ANGLES))
        assert strength(ANGLES + 180.0) == pytest.approx(strength(ANGLES))


def test_a_float_gives_a_float_and_an_array_an_array_of_its_shape():
    for panel in (BIRCH, Stack(BIRCH, (0, 45))):
        for ask in (panel.tension_at, panel.compression_at, panel.modulus_at, panel.shear_at):
            assert type(ask(30)) is float
            assert ask(np.zeros((2, 3))).shape == (2, 3)
        assert panel.stiffness(30.0).shape == (3, 3)
        assert panel.stiffness(ANGLES).shape == (ANGLES.size, 3, 3)
        assert panel.norris_index(np.ones((5, 1)), 0.0, 0.0, np.zeros(4)).shape == (5, 4)


# ---------------------------------------------------------------- stiffness


def _turned_stiffness(sheet, angle):
    """Fourth-order tensor transformation, the long way."""
    e1, e2 = sheet.modulus
    minor = sheet.poisson * e2 / e1
    q = 1 / (1 - sheet.poisson * minor)
    c = np.zeros((2, 2, 2, 2))
    c[0, 0, 0, 0], c[1, 1, 1, 1] = e1 * q, e2 * q
    c[0, 0, 1, 1] = c[1, 1, 0, 0] = sheet.poisson * e2 * q
    for i, j, k, m in ((0, 1, 0, 1), (0, 1, 1, 0), (1, 0, 0, 1), (1, 0, 1, 0)):
        c[i, j, k, m] = sheet.shear_modulus
    a = np.radians(angle)
    axes = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])  # rows: new axes
    t = np.einsum("ai,bj,ck,dm,ijkm->abcd", axes, axes, axes, axes, c)
    pairs = ((0, 0), (1, 1), (0, 1))
    return np.array([[t[p + q] for q in pairs] for p in pairs])


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0, 110.0, -30.0])
def test_turned_stiffness_is_the_transformed_tensor(angle):
    for sheet in (BIRCH, SKEWED):
        expected = _turned_stiffness(sheet, angle)
        assert sheet.stiffness(angle) == pytest.approx(expected, rel=1e-9, abs=1e-8)


def test_modulus_is_the_inverse_of_the_turned_compliance():
    compliance = np.linalg.inv(BIRCH.stiffness(ANGLES))
    assert BIRCH.modulus_at(ANGLES) == pytest.approx(1 / compliance[:, 0, 0])


def test_isotropic_sheet_is_stiff_alike_in_all_directions():
    sheet = replace(BIRCH, modulus=(2000.0, 2000.0), poisson=0.25, shear_modulus=800.0)
    assert sheet.modulus_at(ANGLES) == pytest.approx(np.full(ANGLES.size, 2000.0))


# ---------------------------------------------------------------- the table


PLIES = {4: 3, 6.5: 5, 9: 7, 12: 9, 15: 11, 18: 13, 21: 15, 24: 17}


# ---------------------------------------------------------------- measured sheets


def test_thinner_sheet_has_lost_face_veneer():
    real = BIRCH.measured(11.4)
    modulus, tension, compression, *_ = zip(
        *(
            (17500 * share, 75 * share, 52 * share)
            for share in ((6.4 - 0.6) / 11.4, BIRCH.tension[1] / 75)
        ),
        strict=True,
    )
    assert real.tension == pytest.approx(tension, abs=0.05)
    assert real.compression[0] == pytest.approx(compression[0], abs=0.05)
    assert real.modulus[0] == pytest.approx(modulus[0], abs=1.0)
    assert real.panel_shear == BIRCH.panel_shear
    assert real.thickness == 11.4
    assert real.nominal_thickness == 12


def test_thicker_sheet_carries_no_more_force():
    real = BIRCH.measured(12.6)
    for angle in (0.0, 30.0, 45.0, 90.0):
        for ask in ("tension_at", "compression_at", "shear_at", "modulus_at"):
            force = getattr(real, ask)(angle) * 12.6
            assert force == pytest.approx(getattr(BIRCH, ask)(angle) * 12.0)


def test_no_measured_thickness_raises_a_force():
    for thickness in np.linspace(10.3, 13.7, 18):
        force = BIRCH.measured(thickness).tension_at(ANGLES) * thickness
        assert (force <= BIRCH.tension_at(ANGLES) * 12.0 * (1 + 1e-12)).all()


def test_sheet_as_thick_as_the_table_keeps_its_figures():
    same = BIRCH.measured(12.0)
    assert (same.tension, same.compression, same.modulus) == (
        BIRCH.tension,
        BIRCH.compression,
        BIRCH.modulus,
    )


# ---------------------------------------------------------------- sheets of the user


def test_layup_with_a_doubled_core():
    made = plywood_from_layup([1.0, 1.5, 1.5, 1.0], across=[False, True, True, False])
    assert made.tension == pytest.approx((75 * 2 / 5, 75 * 3 / 5))


def test_declared_sheet_says_what_was_assumed():
    sheet = plywood_from_strengths(**DECLARED)
    assert sheet.tension_at(0.0) == pytest.approx(20.0)
    assert sheet.characteristic_density == pytest.approx(350.0)  # EN 384: mean / 1.2
    assert sheet.face_compression == pytest.approx(2.45)  # EN 384: 0.007 x 350
    assert sheet.planar_shear == 0.8  # EN 1995-1-1 6.1.7 with EN 338: 2 x 0.4
    for words in ("characteristic density", "planar shear", "compression across the face"):
        assert words in sheet.certainty
    known = plywood_from_strengths(
        **DECLARED, characteristic_density=380.0, planar_shear=1.1, face_compression=3.0
    )
    assert (known.characteristic_density, known.planar_shear, known.face_compression) == (
        380.0,
        1.1,
        3.0,
    )
    assert known.certainty == "as declared"


def test_a_sheet_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        BIRCH.thickness = 3.0


def test_ordinary_spruce_is_not_rated_by_the_figures_of_thin_veneers():
    # One maker's declaration of ordinary spruce plywood, read: f_t 6.9 to 13.4 MPa along the grain,
    # where thin veneers have 14.6 to 15.2.
    with pytest.raises(GearworkError, match=r"6\.9 to 13\.4.*kind = 'declared'"):
        plywood("spruce", 12)
    assert plywood("thin-veneer spruce", 12).tension[0] > 13.4


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        ({"modulus": (5.0, 3.5)}, r"modulus of poplar.*along.*5 MPa.*in GPa it would be 5000 MPa"),
        ({"tension": (20e6, 15e6)}, r"tension.*in N/m² \(Pa\) it would be 20 MPa"),
        ({"compression": (18e3, 12e3)}, r"compression.*in kN/m² \(kPa\) it would be 18 MPa"),
        ({"panel_shear": 580.0}, r"panel shear.*in psi it would be 3.999 MPa"),
        ({"density": 0.42}, r"density.*0.42 kg/m³.*in g/cm³ it would be 420 kg/m³"),
        ({"density": 26.0}, r"density.*in lb/ft³ it would be 416.5 kg/m³"),
        ({"thickness": 0.4}, r"thickness.*in cm it would be 4 mm, in inches it would be 10.16 mm"),
        ({"shear_modulus": 1e12}, "shear modulus.*look at the declaration again"),
        ({"planar_shear": 4.5}, "planar shear.*4.5, its panel shear 4.*swapped"),
        ({"characteristic_density": 430.0}, "characteristic density.*swapped"),
    ],
)
def test_declared_figures_are_checked_for_sense(slip, words):
    with pytest.raises(GearworkError, match=words):
        plywood_from_strengths(**DECLARED | slip)


@pytest.mark.parametrize("kind", ["poplar", "combi", "", None, ["birch"]])
def test_a_sheet_without_figures_is_not_rated(kind):
    with pytest.raises(GearworkError, match=r"birch.*spruce.*declaration of performance.*f_t,k"):
        plywood(kind, 9)


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda: plywood("birch", 11.8), r"4, 6.5, 9, 12.*plywood\('birch', 12\).measured\(11.8\)"),
        (lambda: plywood("birch", "12"), "nominal thickness.*number in mm"),
        (lambda: plywood("birch", float("nan")), "finite"),
        (lambda: BIRCH.measured(9.0), "measured thickness.*at least 10.2 mm"),
        (lambda: BIRCH.measured(14.0), "at most 13.8 mm"),
        (lambda: BIRCH.tension_at("steep"), "finite degrees"),
        (lambda: BIRCH.modulus_at(np.array([0.0, np.nan])), "finite degrees"),
        (lambda: replace(BIRCH, tension=(40.0, 0.0)), "tension.*across.*above 0"),
        (lambda: replace(BIRCH, modulus=9000.0), "two numbers"),
        (lambda: replace(BIRCH, panel_shear=-1.0), "panel shear.*above 0"),
        (lambda: replace(BIRCH, poisson=2.0), "Poisson"),
        (lambda: plywood_from_strengths(**DECLARED | {"density": "light"}), "density.*number"),
        (lambda: plywood_from_layup([1.1, 1.4, 1.1], wood="poplar"), "plywood_from_strengths"),
        (lambda: plywood_from_layup([3.0, 3.0, 3.0]), "veneer 1.*at most 2 mm"),
        (lambda: plywood_from_layup([1.1, -1.4, 1.1]), "veneer 2.*above 0"),
        (lambda: plywood_from_layup([]), "no plywood"),
        (lambda: plywood_from_layup([1.1, 1.4], across=[True]), "1 veneers of 2"),
        (lambda: plywood_from_layup([1.1, 1.4], across=[False, False]), "run one way"),
        (lambda: Stack(BIRCH, ()), "one angle"),
        (lambda: Stack(BIRCH, (0.0, "x")), "angle of a layer"),
        (lambda: weakest_direction(BIRCH, "shear"), "tension, compression, both"),
    ],
)
def test_bad_input_gets_a_sentence(act, words):
    with pytest.raises(GearworkError, match=words):
        act()


# ---------------------------------------------------------------- stacks


def _weakest_layer(stack, angle, sign):
    """Both bounds of load sharing, layer by layer with the transformed tensor."""
    each = [_turned_stiffness(stack.sheet, angle - a) for a in stack.layers]
    strain = np.linalg.solve(np.mean(each, axis=0), [sign, 0.0, 0.0])
    moduli = [1 / np.linalg.inv(c)[0, 0] for c in each]
    found = []
    for layer, c, modulus in zip(stack.layers, each, moduli, strict=True):
        sx, sy, tau = c @ strain
        glued = np.array([[sx, tau], [tau, sy]])
        free = np.array([[sign * modulus / np.mean(moduli), 0.0], [0.0, 0.0]])
        found += [
            max_multiple(lambda m, t=t, a=layer: holds(stack.sheet, m * t, angle - a))
            for t in (glued, free)
        ]
    return min(found)


@pytest.mark.parametrize("layers", [(0, 45), (0, 60, 120), (10, 50, 90)])
@pytest.mark.parametrize("angle", [0.0, 22.5, 45.0, 77.0, 102.5, 135.0])
def test_the_first_layer_to_fail_counts(layers, angle):
    stack = Stack(BIRCH, layers)
    assert stack.tension_at(angle) == pytest.approx(_weakest_layer(stack, angle, 1.0), rel=1e-8)
    assert stack.compression_at(angle) == pytest.approx(
        _weakest_layer(stack, angle, -1.0), rel=1e-8
    )


def test_layers_share_by_their_stiffness_in_the_direction_of_the_load():
    # From the printed row: E 9333 and 2181 at 0 and 45°, f_t 40.0 and 18.4; the stiff layer gives
    # way first, at 40.0 x mean E / 9333. The held-together bound may only lower it.
    stack = Stack(BIRCH, (0, 45))
    mean = (9333 + 2181) / 2
    assert stack.modulus_at(0.0) == pytest.approx(mean, abs=0.5)
    assert stack.tension_at(0.0) <= 40.0 * mean / 9333 < 18.4 * mean / 2181


@pytest.mark.parametrize("layers", [(0,), (0, 0, 0), (30, 30)])
def test_layers_all_one_way_are_one_thick_sheet(layers):
    stack = Stack(BIRCH, layers)
    turned = ANGLES - layers[0]
    assert stack.thickness == 12 * len(layers)
    assert stack.panel_shear == pytest.approx(9.5)
    for ask in ("tension_at", "compression_at", "modulus_at", "shear_at", "stiffness"):
        expected = getattr(BIRCH, ask)(turned)
        assert getattr(stack, ask)(ANGLES) == pytest.approx(expected, rel=1e-9, abs=1e-8)
    index = stack.norris_index(3.0, -4.0, 5.0, 20.0)
    assert index == pytest.approx(BIRCH.norris_index(3.0, -4.0, 5.0, 20.0 - layers[0]))


def test_turning_the_whole_stack_turns_its_strength():
    stack, turned = Stack(BIRCH, (0, 45, 80)), Stack(BIRCH, (20, 65, 100))
    assert turned.tension_at(ANGLES + 20) == pytest.approx(stack.tension_at(ANGLES))
    assert turned.stiffness(ANGLES + 20) == pytest.approx(stack.stiffness(ANGLES), abs=1e-8)


def test_order_of_layers_does_not_matter():
    roses = [Stack(BIRCH, o).compression_at(ANGLES) for o in itertools.permutations((0, 30, 75))]
    assert np.ptp(roses, axis=0) == pytest.approx(np.zeros(ANGLES.size), abs=1e-12)


def test_a_sheet_is_a_stack_of_itself():
    stack = Stack(BIRCH, [0, 45])
    assert stack.layers == (0.0, 45.0)
    assert stack.name.endswith("layers at 0°, 45°")
    assert BIRCH.sheet is stack.sheet is BIRCH
    assert BIRCH.layers == (0.0,)


def test_the_weakest_direction_of_birch_lies_near_45_degrees():
    for side, printed in (("tension", 18.4), ("compression", 17.8), ("both", 17.8)):
        direction, strength = weakest_direction(BIRCH, side)
        assert min(direction, 180.0 - direction) == pytest.approx(45.0, abs=5.0)
        assert strength == pytest.approx(printed, abs=0.05)


def test_turned_layers_help_in_tension_and_harm_in_compression():
    # The mean of the two layers' strengths would make the weakest direction a quarter stronger.
    # Sharing by stiffness until the first layer fails leaves about half of that in tension and
    # takes some away in compression.
    single, stack = Stack(BIRCH, (0, 0)), Stack(BIRCH, (0, 45))
    directions = np.arange(0.0, 180.0, 1.0)
    mean = (BIRCH.tension_at(directions) + BIRCH.tension_at(directions - 45)) / 2
    weakest = weakest_direction(single, "tension")[1]
    assert mean.min() / weakest == pytest.approx(1.25, abs=0.03)
    assert 1.10 < weakest_direction(stack, "tension")[1] / weakest < 1.20
    crushing = weakest_direction(stack, "compression")[1]
    assert crushing < 0.95 * weakest_direction(single, "compression")[1]


# ---------------------------------------------------------------- time and moisture


def test_moisture_rises_with_humidity_and_falls_with_warmth():
    humidity = np.linspace(0, 100, 51)
    assert equilibrium_moisture(20.0, 0.0) == 0.0
    assert (np.diff(equilibrium_moisture(20.0, humidity)) > 0).all()
    assert (
        equilibrium_moisture(35.0, humidity[1:]) < equilibrium_moisture(5.0, humidity[1:])
    ).all()


def test_swelling_by_hand():
    # 0.02 % a point in the plane: a 400 mm wheel from 6 to 12 % grows by 0.48 mm
    assert 400 * swelling(6.0) == pytest.approx(0.48)
    assert swelling([1.0, -1.0], "thickness") == pytest.approx([0.004, -0.004])


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda: k_mod(4, "short"), "service class '4'.*1, 2, 3"),
        (lambda: k_mod(1, "brief"), "load duration 'brief'.*permanent"),
        (lambda: k_mod(1, []), "load duration"),
        (lambda: gamma_m("steel"), "plywood, connections"),
        (lambda: equilibrium_moisture(20, 120), "humidity is 120.*0 to 100 %"),
        (lambda: equilibrium_moisture(200, 50), "temperature.*-10 to 70"),
        (lambda: equilibrium_moisture("warm", 50), "temperature is 'warm'"),
        (lambda: equilibrium_moisture(20, float("nan")), "humidity"),
        (lambda: swelling(1.0, "length"), "in_plane, thickness"),
    ],
)
def test_bad_climate_or_load_gets_a_sentence(act, words):
    with pytest.raises(GearworkError, match=words):
        act()
