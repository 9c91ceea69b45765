import numpy as np

from cardgen.physics.build_atlas.pinmodel import (
    BASE_RADIUS_M,
    BELLY_HEIGHT_M,
    OUTLINE_IN,
    PIN_HEIGHT_M,
    PIN_MASS_KG,
    outline_radius_m,
    pin_body,
)
from cardgen.units import DEGREE_RAD, INCH_M, POUND_KG


def test_uniform_density_puts_the_centre_of_gravity_where_pins_have_it() -> None:
    # USBC equipment specifications: 5 40/64 to 5 60/64 in up. Nothing in the outline was fitted.
    cg_in = pin_body().cg_m / INCH_M
    assert 5 + 40 / 64 <= cg_in <= 5 + 60 / 64
    assert abs(cg_in - 5.80) < 0.01


def test_mass_is_within_the_specification() -> None:
    # USBC equipment specifications: 3 lb 6 oz to 3 lb 10 oz.
    assert 3 + 6 / 16 <= PIN_MASS_KG / POUND_KG <= 3 + 10 / 16


def test_a_pin_tips_at_a_lean_of_about_ten_degrees() -> None:
    # Geometry: base radius over height of the centre of gravity.
    assert abs(pin_body().tip_angle_rad / DEGREE_RAD - 9.9) < 0.1


def test_outline_goes_through_its_table_and_never_beyond_the_widest_place() -> None:
    knots = np.array(OUTLINE_IN) * INCH_M
    assert np.allclose(outline_radius_m(knots[:, 0]), knots[:, 1] / 2)
    fine = outline_radius_m(np.linspace(0, PIN_HEIGHT_M, 2000))
    assert fine.max() <= knots[:, 1].max() / 2 + 1e-9
    assert outline_radius_m(np.array(PIN_HEIGHT_M)) < 1e-6


def test_inertia_lies_between_a_rod_and_a_cylinder() -> None:
    pin = pin_body()
    rod = PIN_MASS_KG * PIN_HEIGHT_M**2 / 12
    assert 0.5 * rod < pin.transverse_inertia_kgm2 < rod * 1.2
    assert 0 < pin.axial_inertia_kgm2 < PIN_MASS_KG * (2.383 * INCH_M) ** 2 / 2


def test_integrals_match_a_stack_of_frusta() -> None:
    # Solid geometry: a frustum's volume is pi h (a^2 + a b + b^2) / 3.
    height = np.linspace(0, PIN_HEIGHT_M, 20001)
    radius = outline_radius_m(height)
    a, b, h = radius[:-1], radius[1:], np.diff(height)
    volume = np.pi * h * (a * a + a * b + b * b) / 3
    middle = (height[:-1] + height[1:]) / 2
    assert np.isclose((volume * middle).sum() / volume.sum(), pin_body().cg_m, rtol=1e-4)


def test_spheres_fill_the_outline_and_stay_inside_it() -> None:
    height = np.linspace(1.3 * INCH_M, PIN_HEIGHT_M, 1500)
    gap = outline_radius_m(height) - pin_body().envelope_radius_m(height)
    assert gap.min() > -1e-5
    assert gap.max() < 0.25 * INCH_M
    meets = (height > 2.2 * INCH_M) & (height < 6 * INCH_M)  # where balls and upright pins touch
    assert gap[meets].max() < 0.085 * INCH_M
    assert np.isclose(pin_body().envelope_radius_m(np.array([BELLY_HEIGHT_M]))[0], 2.383 * INCH_M)


def test_only_the_base_stands_on_the_deck() -> None:
    pin = pin_body()
    assert (pin.sphere_height_m - pin.sphere_radius_m).min() > 0
    assert pin.sphere_radius_m.max() > BASE_RADIUS_M
