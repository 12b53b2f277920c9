import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth import film
from refinishlib.entry import BadEntry

films = st.floats(0, 500)
solids = st.floats(0.05, 1)
thinnings = st.floats(0, 2)


@settings(deadline=None, max_examples=60)
@given(films, solids, thinnings)
def test_wet_and_dry_are_there_and_back(dry, volume_solids, thinning):
    wet = film.wet_from_dry(dry, volume_solids, thinning)
    assert wet >= dry
    assert film.dry_from_wet(wet, volume_solids, thinning) == pytest.approx(dry, abs=1e-9)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(0, 300), min_size=1, max_size=6), st.floats(0, 1))
def test_sanding_takes_from_the_top_and_loses_nothing(layers, share):
    removed = share * sum(layers) * (1 - 1e-12)
    left = film.layers_left(layers, removed)
    assert sum(left) == pytest.approx(sum(layers) - removed, abs=1e-6)
    touched = [n for n, (before, after) in enumerate(zip(layers, left, strict=True)) if before - after > 1e-9]
    assert all(left[n] == pytest.approx(0, abs=1e-9) for n in touched[:-1]), "a lower layer went before an upper one"


@settings(deadline=None, max_examples=60)
@given(st.floats(1, 300), solids, thinnings)
def test_coverage_times_wet_film_is_the_litre(dry, volume_solids, thinning):
    sprayed = film.thinned_solids(volume_solids, thinning)
    area = film.coverage_m2_per_l(dry, sprayed)
    assert area * film.wet_from_dry(dry, sprayed) == pytest.approx(1000)


def test_mix_of_equal_solids_keeps_them_and_arrays_keep_their_axes():
    assert film.mixed_solids((4, 1, 1), (0.3, 0.3, 0.3)) == pytest.approx(0.3)
    assert film.wet_from_dry(np.ones((3, 1)), np.full(4, 0.5)).shape == (3, 4)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: film.wet_from_dry(-3, 0.5), "dry film: -3 was given, allowed is a number from 0 to 5000 um."),
        (lambda: film.wet_from_dry(float("nan"), 0.5), "dry film: nan was given"),
        (lambda: film.wet_from_dry(50, 0), "volume solids: 0 was given"),
        (lambda: film.wet_from_dry(50, 48), "volume solids: 48 was given, allowed is a number from 0.01 to 1."),
        (lambda: film.layers_left((50, 20), 71), "removed: 71 was given, allowed is a number from 0 to 70 um."),
        (lambda: film.layers_left((50, -20), 1), "layers: -20 was given"),
        (lambda: film.mixed_solids((1, 2), (0.5,)), "volume solids: 1 values were given, allowed are 2."),
        (lambda: film.mixed_solids((0, 0), (0.5, 0)), "parts: 0 was given"),
        (lambda: film.coverage_m2_per_l("thin", 0.5), "dry film: something that is not a number was given"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
