"""Engines know paints by what they are: no name is looked up, and nothing is remembered under a name."""

from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
from paints import SHOP, paint_of

from refinishlib.colour import optics, predict
from refinishlib.colour.conditions import Conditions
from refinishlib.entry import BadEntry

BARN = SHOP.colour("Chalk Barn, as built")


def test_doubling_the_scattering_of_white_changes_the_colour_although_its_name_stays():
    white = SHOP.toner("white")
    stronger = replace(white, optics=replace(white.optics, scattering_per_um=2 * white.optics.scattering_per_um))
    before, after, again = (
        predict.lab(optics.mixture((first, *BARN.toners[1:]), BARN.weights))[0, 2, 0]
        for first in (white, stronger, white)
    )
    assert after > before + 0.5
    assert again == before


def test_a_heavier_toner_of_the_same_name_takes_less_room_in_the_film():
    white, black = SHOP.picked("white", "jet black")
    heavier = replace(white, density_g_per_ml=2 * white.density_g_per_ml)
    usual, less = (optics.dry_volumes((first, black), [50.0, 50.0])[0] for first in (white, heavier))
    assert less == pytest.approx(usual / (2 - usual))


@pytest.mark.parametrize(
    ("title", "kind"),
    [("Kiln Red, as built", "solid"), ("Wet Slate, as built", "metallic"), ("Orchard Dusk, mid coat", "pearl")],
)
def test_a_mixture_is_of_the_kind_of_its_formula(title, kind):
    assert SHOP.colour(title).kind == paint_of(title).kind == kind


def test_flakes_of_which_nothing_was_poured_make_no_metallic():
    assert optics.mixture(SHOP.picked("white", "medium silver"), [100.0, 0.0]).kind == "solid"


def test_conditions_are_one_frozen_value_checked_when_it_is_made():
    assert Conditions(film_um=12.0) == Conditions(film_um=12.0) != Conditions()
    assert len({Conditions(), Conditions(undercoat=50.0)}) == 1
    with pytest.raises(FrozenInstanceError):
        Conditions().film_um = 3.0
    with pytest.raises(BadEntry, match="aspecular angle: 170 was given"):
        Conditions(angles_deg=(15, 170))


def test_each_part_of_the_conditions_changes_what_is_seen():
    silver = paint_of("Millrace Silver, as built")
    usual = predict.lab(silver)
    for given in ({"film_um": 5.0}, {"undercoat": 80.0}, {"surface_is": "matt"}, {"tilt_factor": 1.2}):
        thin = {"film_um": 5.0} | given
        reference = usual if "undercoat" not in given else predict.lab(silver, Conditions(film_um=5.0))
        assert np.abs(predict.lab(silver, Conditions(**thin)) - reference).max() > 0.1
    assert predict.lab(silver, Conditions(angles_deg=(45,))) == pytest.approx(usual[:, 2:3])
