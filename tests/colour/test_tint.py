from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paints import SHOP, paint_of, reflectance

from refinishlib.colour import optics, predict, reading, search, tint, variants
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import lamp
from refinishlib.colour.tint import Pourable
from refinishlib.colour.tolerance import FADE, Tolerance
from refinishlib.entry import BadEntry

SAND = ("white", "yellow oxide", "soft black", "red oxide")
CUP = (192.8, 4.8, 1.4, 1.0)


def card_of(names, cup, **conditions):
    return reading.from_spectra(reflectance(names, cup, **conditions))


def correct(names, cup, card, panel, others=(), **given):
    return tint.correct(SHOP.picked(*names), cup, card, panel, others=SHOP.picked(*others), **given)


@settings(max_examples=15, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    readability=st.sampled_from([0.01, 0.1, 0.5]),
    smallest=st.sampled_from([0.0, 0.2, 1.0]),
    toners=st.integers(1, 4),
    surplus=st.sampled_from([0.0, 0.02, 0.3]),
)
def test_only_what_can_be_poured_is_ever_proposed(seed, readability, smallest, toners, surplus):
    rng = np.random.default_rng(seed)
    names = rng.choice([toner.name for toner in SHOP.toners], size=5, replace=False).tolist()
    cup, other = (np.round(rng.dirichlet(np.ones(5)) * 150 + 0.5, 1) for _ in range(2))
    pourable = Pourable(readability, smallest, toners, surplus)
    made = correct(names, cup, card_of(names, cup), card_of(names, other), lamps=[lamp("D65")], pourable=pourable)
    grams = np.array(made.tried.add_g)
    assert (grams >= max(smallest, readability) - 1e-9).all()
    assert np.allclose(grams / readability, np.round(grams / readability), atol=1e-5)
    assert len(grams) <= toners
    assert made.tried.surplus_g <= surplus * cup.sum() + 1e-9
    assert made.tried.mean_after <= made.tried.mean_before
    assert made.pour is made.tried or not made.pour.add_g


def test_the_card_needs_what_the_cup_lacks():
    lacking = np.add(CUP, (0, 2.4, 0.8, 0))
    made = correct(SAND, CUP, card_of(SAND, CUP), card_of(SAND, lacking))
    assert dict(zip(made.pour.names, made.pour.add_g, strict=True)) == {"yellow oxide": 2.4, "soft black": 0.8}
    assert made.decision == "add"
    assert made.promised.worst < 0.05 < made.ruling.worst
    assert made.pour.before.shape == (3, 5)


def test_the_change_is_added_to_the_measured_card_so_a_model_that_is_off_still_helps():
    """The true card is sprayed thinner and over another undercoat than the model believes."""
    truth = {"film_um": 40.0, "undercoat": 70.0}
    names, cup = ("white", "green", "soft black"), (150.0, 30.0, 8.0)
    panel = card_of(names, np.add(cup, (0, 9.0, 3.0)), **truth)
    made = correct(names, cup, card_of(names, cup, **truth), panel, conditions=Conditions(film_um=60.0))
    added = [dict(zip(made.pour.names, made.pour.add_g, strict=True)).get(name, 0.0) for name in names]
    second = card_of(names, np.add(cup, added), **truth)
    left = tint.mean_difference(panel.lab[None], second.lab[None])
    assert left < 0.2 * made.pour.mean_before


def test_paint_cannot_be_taken_out_and_the_advice_says_so():
    black = ("jet black",)
    made = correct(black, (90,), card_of(black, (90,)), card_of(("white",), (1.0,)))
    assert (made.pour.names, made.decision) == ((), "no addition")
    assert "another variant" in made.why
    assert np.array_equal(made.pour.before, made.pour.after)


def test_a_card_that_is_in_is_left_alone():
    card = card_of(SAND, CUP)
    made = correct(SAND, CUP, card, card)
    assert (made.decision, made.pour.surplus_g) == ("leave it", 0.0)


def test_a_silver_that_is_right_needs_nothing_and_raises_nothing():
    """It was a ValueError: an array of no rows could not be reshaped."""
    silver, cup = zip(*SHOP.colour("Millrace Silver, as built").parts, strict=True)
    card = card_of(silver, cup)
    assert correct(silver, cup, card, card).decision == "leave it"
    # One that no toner changes for the better has no rows to try either.
    no_limit = Tolerance("metallic", (0, 0, 0), (9, 9, 9))
    assert correct(silver, cup, card_of(silver, cup, film_um=18.1), card, allowed=no_limit).pour.before.max() > 0


def test_an_addition_that_changes_no_verdict_is_named_and_not_poured():
    """From 49 to 24 with the whole surplus it said "add and look again"; coarser flake cost 50 g for 4.22 to 3.21."""
    green, silver = (
        zip(*SHOP.colour("Lichen Row, as built").parts, strict=True),
        SHOP.colour("Millrace Silver, as built"),
    )
    names, cup = green
    far = correct(names, cup, card_of(names, cup), card_of(("clean yellow",), (1.0,)))
    assert far.tried.surplus_g > 0 and far.tried.mean_after < far.tried.mean_before - 1
    assert (far.decision, far.pour.surplus_g) == ("no addition", 0.0)
    assert f"{far.tried.surplus_g:.1f} g" in far.why
    coarser = reading.from_spectra(predict.reflectance(paint_of("Millrace Silver, coarser")))
    own = tint.correct(
        silver.toners, np.multiply(silver.weights, 2), card_of(*zip(*silver.parts, strict=True)), coarser
    )
    assert (own.decision, own.pour.surplus_g) == ("no addition", 0.0)


def test_too_coarse_a_flake_is_named_since_no_addition_takes_it_back():
    names, cup = ("coarse silver", "fine silver", "soft black"), (80.0, 12.0, 5.0)
    panel = card_of(names, (20.0, 72.0, 5.0))
    made = correct(names, cup, card_of(names, cup), panel)
    assert made.decision != "add"
    assert made.cannot_undo[0] == "coarse silver"
    assert "too much coarse silver" in made.why


def test_where_a_fade_is_planned_a_colour_that_a_fade_can_take_is_left_alone():
    panel = card_of(SAND, np.add(CUP, (0, 1.0, 0.3, 0)))
    made = correct(SAND, CUP, card_of(SAND, CUP), panel)
    assert (made.decision, made.ruling.verdict) == ("add", FADE)
    assert correct(SAND, CUP, card_of(SAND, CUP), panel, fade_planned=True).decision == "leave it"


def test_with_hardener_in_the_cup_only_little_is_added_and_each_gram_with_its_own():
    panel = card_of(SAND, np.add(CUP, (0, 2.4, 0.8, 0)))
    made = correct(SAND, CUP, card_of(SAND, CUP), panel, hardener_g=100.0)
    assert made.decision == "add"
    assert made.hardener_g == pytest.approx(made.pour.surplus_g * 100 / 200)
    assert f"{made.hardener_g:.1f} g more" in made.why
    whiter = card_of(SAND, np.add(CUP, (40.0, 0, 0, 0)))
    before, after = (correct(SAND, CUP, card_of(SAND, CUP), whiter, hardener_g=grams) for grams in (0.0, 100.0))
    assert after.tried.surplus_g <= tint.ACTIVATED_SHARE * 200 < before.tried.surplus_g


def test_what_is_poured_has_its_price():
    made = correct(SAND, CUP, card_of(SAND, CUP), card_of(SAND, np.add(CUP, (0, 2.4, 0.8, 0))))
    assert made.pour.price == pytest.approx(2.4 * 68 / 1140 + 0.8 * 64 / 970)
    assert correct(SAND, CUP, card_of(SAND, CUP), card_of(SAND, CUP)).pour.price == 0


def test_the_mid_coat_of_a_three_stage_colour_is_tinted_over_its_ground_coat():
    ground = Layer(paint_of("Orchard Dusk, ground coat"), 20.0)
    mid = SHOP.colour("Orchard Dusk, mid coat")
    cup = np.multiply(mid.weights, 2)
    short = np.add(cup, (0, 6.0, 0))
    at = Conditions(film_um=8.0)

    def read(paint):
        return reading.from_spectra(predict.of_layers([ground, Layer(paint, 8.0)], at))

    card, panel = (read(optics.mixture(mid.toners, grams)) for grams in (cup, short))
    made = tint.correct(mid.toners, cup, card, panel, below=[ground], conditions=at)
    assert dict(zip(made.pour.names, made.pour.add_g, strict=True)) == {"white pearl": 6.0}
    alone = tint.correct(mid.toners, cup, card, panel, conditions=at)
    assert alone.tried.mean_after > 10 * made.pour.mean_after + 0.05, "what lies under the mid coat counts"


def test_own_toners_come_first_and_others_only_when_they_pay():
    green = card_of((*SAND, "green"), (*CUP, 4.0))
    own = correct(SAND, CUP, card_of(SAND, CUP), green)
    wider = correct(SAND, CUP, card_of(SAND, CUP), green, others=["green", "violet"])
    assert "green" in wider.tried.names
    assert wider.tried.mean_after < own.tried.mean_after - tint.FOREIGN
    shaded = card_of(SAND, np.add(CUP, (0, 2.0, 0, 0)))
    assert correct(SAND, CUP, card_of(SAND, CUP), shaded, others=["clean yellow"]).pour.names == ("yellow oxide",)


def test_a_reading_typed_by_hand_is_enough_and_asks_for_no_spectrum():
    panel = reading.from_lab({45: card_of(SAND, np.add(CUP, (0, 2.0, 0, 0))).lab[2]})
    made = correct(SAND, CUP, card_of(SAND, CUP), panel)
    assert made.pour.names == ("yellow oxide",)
    with pytest.raises(BadEntry, match="spectra"):
        correct(SAND, CUP, card_of(SAND, CUP), panel, lamps=[lamp("D65"), lamp("A")])


def test_weights_decide_which_angle_is_served():
    silver, cup = zip(*SHOP.colour("Millrace Silver, as built").parts, strict=True)
    panel = reading.from_spectra(predict.reflectance(paint_of("Millrace Silver, coarser")))
    face = correct(silver, cup, card_of(silver, cup), panel, weights=[1, 1, 0, 0, 0])
    flop = correct(silver, cup, card_of(silver, cup), panel, weights=[0, 0, 0, 1, 1])
    assert face.tried.after[:, :2].mean() < flop.tried.after[:, :2].mean()
    assert flop.tried.after[:, 3:].mean() < face.tried.after[:, 3:].mean()


def test_the_variant_that_the_panel_was_sprayed_in_ranks_first():
    for name in ("Millrace Silver", "Tarn Evening", "Kiln Red"):
        family = SHOP.variants(name)
        for formula in family:
            ranked = variants.rank(family, reading.from_spectra(predict.reflectance(paint_of(formula.title))))
            assert ranked[0].formula == formula
            assert ranked[0].mean < 1e-9 < ranked[1].mean
            assert ranked[0].words == "the same"


def test_a_vague_reading_leaves_open_which_variant_is_the_nearest():
    family = SHOP.variants("Millrace Silver")
    clear = reading.from_spectra(predict.reflectance(paint_of("Millrace Silver, as built")))
    vague = replace(clear, doubt=np.full((5, 3), 1.0))
    sure, open_ = (variants.rank(family, one) for one in (clear, vague))
    assert sure[0].nearest > open_[0].nearest
    assert sum(one.nearest for one in open_) == pytest.approx(1)
    assert sum(one.nearest > 0.02 for one in open_) > 2


def test_the_variants_of_a_mid_coat_are_ranked_over_its_ground_coat():
    ground, mid = Layer(paint_of("Orchard Dusk, ground coat"), 20.0), SHOP.colour("Orchard Dusk, mid coat")
    redder = replace(mid, variant="redder", weights=(80.0, 13.0, 7.0))
    at = Conditions(film_um=8.0)
    panel = reading.from_spectra(predict.of_layers([ground, Layer(optics.of_formula(redder), 8.0)], at))
    ranked = variants.rank([mid, redder], panel, below=[ground], conditions=at)
    assert ranked[0].formula == redder and ranked[0].ruling.worst < 1e-9


def test_search_counts_down_to_nothing():
    limits = search.Steps(smallest=3, together=2, toners=2)
    steps, apart, _ = search.least(
        2,
        limits,
        np.ones((1, 3)),
        lambda rows: np.ones((len(rows), 1, 3)),
        np.zeros((1, 3)),
        np.ones(1),
        lambda a, b: np.abs(b - a).sum(axis=-1),
    )
    assert steps.tolist() == [[0, 0]]
    assert apart.tolist() == [[3]]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"cup": (192.8, -1.0, 1.4, 1.0)}, "grams in the cup: -1"),
        ({"cup": (192.8, np.nan, 1.4, 1.0)}, "grams in the cup: nan"),
        ({"cup": (192.8, 1.0)}, "2 values were given, allowed are 4"),
        ({"weights": (0, 0, 0, 0, 0)}, "weights: nothing above 0"),
        ({"weights": (1, 1)}, "weights: 2 values"),
    ],
)
def test_a_bad_entry_is_one_sentence(changed, words):
    entry = {"names": SAND, "cup": CUP, "card": card_of(SAND, CUP), "panel": card_of(SAND, CUP)} | changed
    with pytest.raises(BadEntry, match=words):
        correct(**entry)


def test_pourable_is_checked():
    with pytest.raises(BadEntry, match="readability: 0"):
        Pourable(readability_g=0)
    with pytest.raises(BadEntry, match="toners: 0"):
        Pourable(most_toners=0)
