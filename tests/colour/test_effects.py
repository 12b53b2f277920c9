"""What each toner does: the chart, the pick from it, and the old finish as the toners would make it."""

import numpy as np
import pytest
from paints import SHOP, mixed

from refinishlib.colour import effects, film, predict, surface, weights
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import d65, observer
from refinishlib.colour.optics import mixture
from refinishlib.colour.reading import from_lab
from refinishlib.colour.spectrum import FINE_NM
from refinishlib.colour.undercoat import grey
from refinishlib.colour.words import from_words
from refinishlib.entry import BadEntry
from refinishlib.shop.paint import PAINT_KINDS

BEIGE = ("white", "yellow oxide", "soft black", "red oxide"), [96.4, 2.4, 0.7, 0.5]
SILVER = ("medium silver", "soft black", "deep blue"), [90.0, 3.0, 7.0]


def of(chart, name):
    return next(effect for effect in chart if effect.toner.name == name)


def reading_of(names, masses, angles=(15, 25, 45, 75, 110)):
    lab = predict.lab(mixed(names, masses), Conditions(angles_deg=angles))[0]
    return from_lab(dict(zip(angles, lab, strict=True)))


def test_the_numbers_are_those_of_sums_at_one_nanometre_with_the_two_flux_equations_stepped_through():
    """Another model than the chart's: 1 nm, a film stepped through in thin slices, and the observer's sums by hand."""
    names, cup = BEIGE

    def colour(masses):
        paint = mixture(SHOP.picked(*names), masses, wavelengths_nm=FINE_NM)
        slices, under = 400, np.full(len(FINE_NM), grey(50.0)[0])
        k, s = film.absorption(paint), film.scattering(paint)
        # dR/dx = S - 2 (K + S) R + S R^2, upwards from the undercoat, by Runge and Kutta's fourth order.
        step = 18.0 / slices
        inside = under

        def rate(r):
            return s - 2 * (k + s) * r + s * r**2

        for _ in range(slices):
            a = rate(inside)
            b = rate(inside + step / 2 * a)
            c = rate(inside + step / 2 * b)
            inside = inside + step / 6 * (a + 2 * b + 2 * c + rate(inside + step * c))
        seen = surface.through_surface(inside, inside, surface.geometry(45.0, 0.0).passed)
        table = d65().power[:, None] * observer(10)
        white = table.sum(axis=0)
        return weights.lab_from_tristimulus(seen @ table / white, np.ones(3))

    added = 0.01 * sum(cup)
    chart = effects.chart(SHOP.picked(*names), cup)
    for i, name in enumerate(names):
        more = np.array(cup) + added * np.eye(len(names))[i]
        np.testing.assert_allclose(of(chart, name).shift[2], colour(more) - colour(cup), atol=0.04)


def test_the_strongest_comes_first_and_its_grams_for_one_really_make_one():
    names, cup = BEIGE
    chart = effects.chart(SHOP.picked(*names), cup)
    most = [effect.apart.max() for effect in chart]
    assert most == sorted(most, reverse=True)
    # Half of what the straight line says, so that its bend does not count.
    red = of(effects.chart(SHOP.picked(*names), cup, share=1e-4), "red oxide")
    more = np.array(cup) + red.grams_for_one / 10 * np.eye(4)[3]
    found = ciede2000(predict.lab(mixed(names, cup))[0], predict.lab(mixed(names, more))[0])
    assert found.max() == pytest.approx(0.1, rel=0.05)


def test_a_toner_that_is_not_in_the_formula_has_its_row_too():
    names, cup = BEIGE
    chart = effects.chart(SHOP.picked(*names), cup, others=SHOP.picked("deep blue", "white"))
    assert len(chart) == 5
    assert of(chart, "deep blue").shift[2, 2] < -1 and of(chart, "deep blue").words == (
        "everywhere muddier and darker",
    )


def test_a_pick_from_the_chart_is_the_toner_that_was_left_out():
    for name, missing in (("soft black", 1), ("deep blue", 2)):
        names, cup = SILVER
        wanted = np.array(cup) + np.eye(3)[missing] * 1.5
        found = effects.picks(
            effects.chart(SHOP.picked(*names), cup), reading_of(names, cup), reading_of(names, wanted)
        )
        assert found[0].effect.toner.name == name
        assert found[0].grams == pytest.approx(1.5, rel=0.25)
        assert found[0].left < 0.3 * found[0].before


def test_a_toner_that_pulls_the_other_way_is_not_picked():
    names, cup = BEIGE
    card = reading_of(names, cup)
    darker = from_words(card, "much darker")  # the card is too dark, so black is no help
    found = effects.picks(effects.chart(SHOP.picked(*names), cup), card, darker)
    black = next(pick for pick in found if pick.effect.toner.name == "soft black")
    assert black.grams == 0 and black.left == black.before


def test_a_pick_leaves_as_little_as_the_two_readings_allow_when_the_difference_is_measured():
    names, cup = SILVER
    card, panel = reading_of(names, cup, (45,)), reading_of(names, [90.0, 3.3, 7.0], (45,))
    assert effects.picks(effects.chart(SHOP.picked(*names), cup), card, panel)[0].effect.toner.name == "soft black"


@pytest.mark.parametrize(
    ("ask", "sentence"),
    [
        (lambda: effects.chart(SHOP.picked("white"), [0.0]), "an empty cup was given"),
        (lambda: effects.chart(SHOP.picked("white"), [-1.0]), "grams in the cup: -1 was given"),
        (lambda: effects.chart(SHOP.picked("white"), [1.0], share=0.5), "share: 0.5 was given"),
        (lambda: effects.picks((), reading_of(*BEIGE), reading_of(*BEIGE)), "toners: none was given"),
        (
            lambda: effects.picks(
                effects.chart(SHOP.picked("white"), [1.0], conditions=Conditions(angles_deg=(45,))),
                reading_of(*BEIGE),
                reading_of(*BEIGE),
            ),
            "aspecular angle: 15 was given, allowed are 45",
        ),
    ],
)
def test_a_bad_entry_is_refused_in_one_sentence(ask, sentence):
    with pytest.raises(BadEntry, match=sentence):
        ask()


def test_every_kind_of_paint_has_a_chart():
    seen = set()
    for formula in SHOP.colours:
        if formula.kind in seen:
            continue
        seen.add(formula.kind)
        chart = effects.chart(formula.toners, formula.weights)
        assert all(effect.words and np.isfinite(effect.shift).all() for effect in chart)
    assert {"solid", "metallic"} <= seen <= set(PAINT_KINDS)
