"""When to stop: what is chosen among leaving, measuring, spraying, adding, another variant and a fade, and why."""

import numpy as np
import pytest
from paints import SHOP, paint_of

from refinishlib.colour import decision, doubt, optics, predict, reading, words
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.decision import Costs
from refinishlib.colour.film import Layer
from refinishlib.colour.tolerance import EDGE
from refinishlib.entry import BadEntry

ANGLES = (15, 25, 45, 75, 110)
BARN, SILVER = SHOP.colour("Chalk Barn, as built"), SHOP.colour("Millrace Silver, as built")
CUP = np.multiply(BARN.weights, 2)


def card_of(formula, masses_g, **conditions):
    return reading.from_spectra(predict.reflectance(optics.mixture(formula.toners, masses_g), Conditions(**conditions)))


def what(made):
    return [option.what for option in made.options]


def test_a_card_that_goes_edge_to_edge_is_left():
    made = decision.decide(BARN, CUP, card_of(BARN, CUP), card_of(BARN, CUP))
    assert made.chosen.what == "leave it" and made.chosen.price == 0
    assert made.card.said == EDGE


def test_what_the_cup_lacks_is_added_and_costs_paint_and_a_card():
    made = decision.decide(BARN, CUP, card_of(BARN, CUP), card_of(BARN, np.add(CUP, (0, 2.4, 0.8, 0))))
    assert (made.chosen.what, made.chosen.cards, made.chosen.promised.verdict) == ("add", 1, EDGE)
    assert made.chosen.price > made.correction.pour.price > 0
    assert made.sureness is not None and made.sureness.verdict == EDGE
    assert "of 100" in made.why


def test_what_was_sprayed_wrong_is_sprayed_again_and_gets_no_toner_and_no_other_variant():
    cup = np.multiply(SILVER.weights, 2)
    card = card_of(SILVER, cup, tilt_factor=1.18)
    made = decision.decide(SILVER, cup, card, card_of(SILVER, cup), variants=SHOP.variants("Millrace Silver"))
    assert made.chosen.what == "spray it again" and "drier" in made.why
    assert not {"add", "mix a variant"} & set(what(made))


def test_the_next_variant_is_mixed_where_no_addition_reaches_it():
    cup = np.multiply(SILVER.weights, 2)
    coarser = SHOP.colour("Millrace Silver, coarser")
    made = decision.decide(
        SILVER, cup, card_of(SILVER, cup), card_of(coarser, coarser.weights), variants=SHOP.variants("Millrace Silver")
    )
    assert (made.chosen.what, made.chosen.name) == ("mix a variant", coarser.title)
    assert made.chosen.promised.worst < 0.05
    assert made.chosen.paint_g >= 200


def test_among_what_reaches_the_same_the_cheapest_is_taken():
    near = [variant for variant in SHOP.variants("Chalk Barn") if variant != BARN]
    panel = card_of(BARN, np.add(CUP, (0, 2.4, 0.8, 0)))
    made = decision.decide(BARN, CUP, card_of(BARN, CUP), panel, variants=near)
    reach = [option for option in made.options if option.promised.verdict == made.chosen.promised.verdict]
    assert made.chosen.price == min(option.price for option in reach)
    dear = decision.decide(BARN, CUP, card_of(BARN, CUP), panel, costs=Costs(30.0, 60.0, 100.0))
    assert dear.chosen.price == pytest.approx(made.chosen.price + 100 - 25, abs=0.01)


def test_a_fade_is_enough_where_one_is_planned_and_the_second_choice_where_not():
    panel = card_of(BARN, np.add(CUP, (0, 1.0, 0.3, 0)))
    free = decision.decide(BARN, CUP, card_of(BARN, CUP), panel)
    assert what(free)[:2] == ["add", "fade it"]
    assert decision.decide(BARN, CUP, card_of(BARN, CUP), panel, fade_planned=True).chosen.what == "leave it"
    assert "fade it" not in what(decision.decide(BARN, CUP, card_of(BARN, CUP), panel, fade_hides=False))


def test_nothing_that_changes_no_verdict_is_done():
    """49.3 to 23.8 with the whole allowed surplus said "add and look again"."""
    made = decision.decide(
        BARN,
        CUP,
        card_of(BARN, CUP),
        card_of(SHOP.colour("Kiln Red, as built"), SHOP.colour("Kiln Red, as built").weights),
    )
    assert (made.chosen.what, made.correction.pour.surplus_g) == ("start again", 0.0)
    assert made.correction.tried.mean_after < made.correction.tried.mean_before
    assert "Nothing that was tried brings it in" in made.why


def test_a_reading_that_says_nothing_is_read_again_first():
    lab = card_of(BARN, CUP).lab
    rng = np.random.default_rng(0)

    def spots(step):
        return reading.average(
            [
                reading.from_lab(
                    dict(zip(ANGLES, lab + np.array([step, 0, 0]) + rng.normal(0, (1.0, 0.1, 0.1)), strict=True))
                )
                for _ in range(3)
            ]
        )

    made = decision.decide(BARN, CUP, spots(0.8), spots(0.0))
    assert made.card.said == doubt.MEASURE_AGAIN
    assert made.chosen.what == "measure again"
    assert made.card.buys[0].what.capitalize() in made.why


def test_what_an_eye_says_is_decided_upon_with_its_doubt():
    card = card_of(BARN, CUP)
    said = {
        words_: decision.decide(BARN, CUP, words.beside(card), words.from_words(card, words_))
        for words_ in ("the same", "a little lighter", "lighter")
    }
    assert [made.chosen.what for made in said.values()] == ["leave it", "measure again", "add"]
    assert "look at the panel" in said["a little lighter"].why
    assert said["lighter"].correction.pour.names[0] == "soft black"


def test_a_silver_that_looks_dark_on_the_face_and_light_on_the_flop_is_sprayed_drier():
    cup = np.multiply(SILVER.weights, 2)
    card = card_of(SILVER, cup)
    made = decision.decide(SILVER, cup, words.beside(card), words.from_words(card, face="darker", flop="lighter"))
    assert made.chosen.what == "spray it again" and made.cause.spraying == ("drier",)


def test_the_mid_coat_of_a_three_stage_colour_is_decided_over_its_ground_coat():
    ground = Layer(paint_of("Orchard Dusk, ground coat"), 20.0)
    mid, at = SHOP.colour("Orchard Dusk, mid coat"), Conditions(film_um=8.0)
    cup = np.multiply(mid.weights, 2)

    def read(grams):
        return reading.from_spectra(predict.of_layers([ground, Layer(optics.mixture(mid.toners, grams), 8.0)], at))

    made = decision.decide(mid, cup, read(cup), read(np.add(cup, (0, 12.0, 0))), below=[ground], conditions=at)
    assert made.chosen.what == "add"
    assert made.correction.pour.names == ("white pearl",)


def test_a_bad_entry_is_one_sentence():
    card = card_of(BARN, CUP)
    with pytest.raises(BadEntry, match="grams in the cup: 2 values"):
        decision.decide(BARN, (1.0, 2.0), card, card)
    with pytest.raises(BadEntry, match="price of an hour: -1"):
        Costs(price_per_hour=-1)
