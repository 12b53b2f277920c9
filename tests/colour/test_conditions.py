"""Where the record of conditions ends, and the constants that every prediction stands on."""

import numpy as np
import pytest

from refinishlib.colour import surface
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.hiding import contrast_ratio
from refinishlib.colour.lamp import d65, lamp
from refinishlib.colour.metamerism import metamerism_index
from refinishlib.colour.optics import mixture, toner_scattering
from refinishlib.colour.predict import reflectance
from refinishlib.colour.weights import tristimulus
from refinishlib.entry import BadEntry
from refinishlib.shop.shop import load


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"tilt_factor": 4.1}, "tilt factor: 4.1 was given, allowed is a number from 0.2 to 4"),
        ({"tilt_factor": 0.1}, "tilt factor: 0.1 was given"),
        ({"film_um": 2e6}, "dry film: 2 000 000 was given, allowed is a number from 0 to 1 000 000 um"),
        ({"angles_deg": (140.0,)}, "aspecular angle: 140 was given"),
    ],
)
def test_what_no_spraying_does_is_refused_with_its_range(given, words):
    with pytest.raises(BadEntry, match=f"^{words}"):
        Conditions(**given)


def test_scattering_is_given_at_550_nm_and_falls_by_its_power():
    for toner in load().toners:
        at_550, at_605 = toner_scattering(toner, [550.0, 605.0])
        assert at_550 == toner.optics.scattering_per_um
        assert at_605 == pytest.approx(at_550 / 1.1**toner.optics.scattering_power)


def test_a_wipe_of_solvent_is_the_larger_part_clear_and_the_rest_matt():
    paint = mixture(load().picked("deep blue", "jet black"), [80.0, 20.0])
    clear, matt, wiped = (reflectance(paint, Conditions(surface_is=how)) for how in surface.SURFACES)
    np.testing.assert_allclose(wiped, 0.6 * clear + 0.4 * matt)


def test_flakes_under_a_matt_base_spread_their_light_over_more_angles():
    silver = mixture(load().picked("coarse silver"), [1.0])
    clear, matt = (
        reflectance(silver, Conditions(film_um=20.0, surface_is=how, angles_deg=(15.0, 75.0)))[:, 15]
        for how in ("clear", "matt")
    )
    lobe_of_clear, lobe_of_matt = clear[0] / clear[1], (matt[0] - 0.05) / (matt[1] - 0.05)
    # Slopes of 9 degrees: the face falls to less than two thirds against the flop.
    assert lobe_of_matt < 0.65 * lobe_of_clear


def test_a_pair_that_parts_is_told_by_lamp_a_where_nobody_names_another():
    nm = np.arange(400.0, 701.0, 10.0)
    one, other = 0.3 + 0.1 * np.sin(nm / 30), 0.3 + 0.1 * np.sin(nm / 31)
    usual = metamerism_index(one, other)
    assert usual == metamerism_index(one, other, judge_under=lamp("A"))
    assert abs(usual - metamerism_index(one, other, judge_under=lamp("FL11"))) > 0.02


def test_a_contrast_ratio_means_something_from_a_quarter_of_white_s_luminance_up():
    """ISO 6504-1 (2019), the limit from memory; the films hide, so that their own luminance counts."""
    told = []
    for black_g in np.linspace(6.0, 16.0, 12):
        paint = mixture(load().picked("white", "jet black"), [100.0 - black_g, black_g])
        factors = reflectance(paint, Conditions(film_um=np.inf, angles_deg=(45.0,)))
        told.append((float(tristimulus(factors, d65())[0, 1] / 100), contrast_ratio(paint, 200.0).meaningful))
    assert all(meaningful == (luminance >= 0.25) for luminance, meaningful in told)
    assert any(0.2 < luminance < 0.25 for luminance, _ in told) and any(0.25 < luminance < 0.3 for luminance, _ in told)
