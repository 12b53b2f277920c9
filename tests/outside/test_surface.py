"""What a surface of index 1.5 reflects, computed, against the published values."""

import numpy as np
import pytest

from refinishlib.colour import surface


def duntley(n):
    """Diffuse external reflection in closed form: Duntley (1942), J. Opt. Soc. Am. 32, 61; from memory."""
    below, above, squared = n**2 - 1, n**2 + 1, n**4
    return (
        0.5
        + (n - 1) * (3 * n + 1) / (6 * (n + 1) ** 2)
        + n**2 * below**2 / above**3 * np.log((n - 1) / (n + 1))
        - 2 * n**3 * (n**2 + 2 * n - 1) / (above * (squared - 1))
        + 8 * squared * (squared + 1) / (above * (squared - 1) ** 2) * np.log(n)
    )


@pytest.mark.parametrize("n", [1.33, 1.4, 1.5, 1.6, 2.0])
def test_diffuse_reflection_is_duntleys_closed_form(n):
    assert surface.diffuse_external_reflection(n) == pytest.approx(duntley(n), rel=1e-8)


def test_reflections_of_a_resin():
    """n = 1.5: 0.04 at the normal, 0.05 at 45 degrees (Fresnel); 0.092 diffuse outside and 0.596 diffuse inside, Judd
    (1942), J. Res. Nat. Bur. Stand. 29, 329, table 2."""
    assert surface.external_reflection([0, 45]).round(3).tolist() == [0.04, 0.05]
    assert round(surface.diffuse_external_reflection(), 3) == 0.092
    assert round(surface.diffuse_internal_reflection(), 3) == 0.596


def test_brewster_angle_reflects_one_polarisation_only():
    """At arctan n nothing of the light along the plane is mirrored, and ((n^2 - 1) / (n^2 + 1))^2 of the other."""
    n = 1.5
    expected = ((n**2 - 1) / (n**2 + 1)) ** 2 / 2
    assert surface.external_reflection(np.degrees(np.arctan(n))) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("inside", [0.0, 0.2, 0.7, 1.0])
def test_what_all_eyes_see_together_is_saundersons_formula(inside):
    """Saunderson (1942), J. Opt. Soc. Am. 32, 727, from the mean of the factor over all viewing directions."""
    nodes, spans = np.polynomial.legendre.leggauss(80)
    sine_squared = (nodes + 1) / 2
    view_deg = np.degrees(np.arcsin(np.sqrt(sine_squared)))
    factors = surface.through_surface(inside, inside, surface.geometry(45.0, view_deg).passed)
    external = float(surface.external_reflection(45.0))
    assert factors @ spans / 2 == pytest.approx(surface.saunderson(inside, external=external), rel=2e-4, abs=1e-12)


def test_snell_inside_the_clear():
    """Light at 45 degrees runs at 28.13 degrees in n = 1.5."""
    inside = surface.geometry(45.0, -45.0)
    assert np.degrees(np.arccos(inside.cos_in)) == pytest.approx(28.1255, abs=1e-4)
    assert inside.tilt_rad == pytest.approx(0.0, abs=1e-12)
