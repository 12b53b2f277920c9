"""Tins measured from drawdowns, held against pigments of an open table.

The truth is not the solver's: films are stepped through by the two differential equations of Kubelka and Munk (1931),
with the K and S of real pigments (pigments.csv says whose), which no smooth shapes of ours made. That K and S describe
a paint at all, and add by volume, is taken by both. The light through the surface is by `surface`, which has its own
tests against published values.
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from paints import SHOP

from refinishlib.colour import doubt, optics, own_toner, predict, surface, tint, tolerance, weights
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.own_toner import Drawdown
from refinishlib.colour.reading import from_lab, from_spectra
from refinishlib.entry import BadEntry
from refinishlib.shop import faults
from refinishlib.shop.paint import TONER_FILE, Toner, toners_of

WHITE_PER_UM = 0.2  # the table has its own unit; this makes white hide in about as much film as a coat has
with (Path(__file__).parent / "pigments.csv").open(encoding="utf-8") as file:
    ROWS = {(row[0], row[1]): np.array(row[2:], dtype=float) for row in csv.reader(file) if row[1] in ("K", "S")}
PIGMENTS = tuple(dict.fromkeys(name for name, _ in ROWS))
BLACK, YELLOW, RED, BLUE, WHITE = TINS = tuple(Toner(name, "solid", 1.2, 0.3, 50.0) for name in PIGMENTS)
CARDS = np.stack([np.full(31, 0.01), np.linspace(0.74, 0.82, 31)])
GREY_CARD = np.full((1, 31), 0.2)


def true_ks(masses):
    """K and S per micrometre of a mix of tins that are alike in density and solids."""
    share = np.array([grams for _, grams in masses]) / sum(grams for _, grams in masses)
    return tuple(
        WHITE_PER_UM * sum(part * ROWS[tin.name, what] for part, (tin, _) in zip(share, masses, strict=True))
        for what in "KS"
    )


def seen(masses, film_um, cards):
    """Factors outside, by dR/dx = S - 2 (K + S) R + S R^2 stepped up from each card: Runge and Kutta, fourth order."""
    k, s = true_ks(masses)
    inside = surface.beneath_surface(cards)
    slices = 300
    step = min(film_um, 300.0) / slices

    def rate(r):
        return s - 2 * (k + s) * r + s * r**2

    for _ in range(slices):
        a = rate(inside)
        b = rate(inside + step / 2 * a)
        c = rate(inside + step / 2 * b)
        inside = inside + step / 6 * (a + 2 * b + 2 * c + rate(inside + step * c))
    return surface.through_surface(inside, inside, surface.geometry(45.0, 0.0).passed)


PLAN = [
    *(((tin, 1.0),) for tin in TINS),
    *(((tin, part), (WHITE, 1 - part)) for tin in (RED, BLUE, YELLOW) for part in (0.1, 0.5)),
    *(((tin, 0.95), (BLACK, 0.05)) for tin in (RED, BLUE, YELLOW)),
    *(((BLACK, part), (WHITE, 1 - part)) for part in (0.02, 0.15)),
]
UNSEEN = [
    [(WHITE, 70.0), (BLUE, 20.0), (BLACK, 10.0)],
    [(WHITE, 90.0), (YELLOW, 8.0), (RED, 2.0)],
    [(RED, 60.0), (YELLOW, 30.0), (BLACK, 3.0), (WHITE, 7.0)],
    [(BLUE, 50.0), (RED, 5.0), (WHITE, 45.0)],
    [(WHITE, 97.0), (BLACK, 1.0), (YELLOW, 2.0)],
    [(YELLOW, 70.0), (BLUE, 10.0), (WHITE, 20.0)],
]


def drawn(rng=None, *, noise=own_toner.NOISE, film_share=0.0, films=(8.0, 25.0), plan=PLAN):
    rows = []
    for masses in plan:
        for um in films:
            really = um * (1.0 if rng is None else np.exp(film_share * rng.normal()))
            read = seen(masses, really, CARDS)
            if rng is not None:
                read = np.maximum(read + rng.normal(size=read.shape) * np.hypot(noise[0], noise[1] * read), 0.0)
            tins, grams = zip(*masses, strict=True)
            rows.append(Drawdown(tins, grams, um, CARDS, read))
    return rows


def unseen_misses(found):
    """CIEDE2000 of mixes that nobody drew down, at another film over another card."""
    tins = dict(zip((tin.name for tin in found.toners), found.toners, strict=True))
    apart = []
    for masses in UNSEEN:
        told = own_toner.drawn_by_model(tuple(tins[t.name] for t, _ in masses), [g for _, g in masses], 15.0, GREY_CARD)
        apart.append(ciede2000(*(weights.lab(r)[0] for r in (seen(masses, 15.0, GREY_CARD), told.readings)))[0])
    return np.array(apart)


def test_without_noise_the_tins_are_found_and_unseen_mixes_are_right():
    found = own_toner.estimate(drawn(), film_share=0.0)
    assert unseen_misses(found).max() < 0.02
    assert not found.odd


@pytest.mark.parametrize("seed", range(4))
def test_with_an_instruments_noise_and_a_gauges_scatter_unseen_mixes_are_within_a_third_of_what_an_eye_sees(seed):
    found = own_toner.estimate(drawn(np.random.default_rng(seed), film_share=0.05))
    misses = unseen_misses(found)
    assert np.median(misses) < 0.15 and misses.max() < 0.35


def test_the_films_that_the_gauge_got_wrong_are_put_right_where_the_readings_tell():
    rng = np.random.default_rng(11)
    taken = own_toner.estimate(drawn(np.random.default_rng(11), film_share=0.08), film_share=0.0)
    fitted = own_toner.estimate(drawn(rng, film_share=0.08), film_share=0.08)
    assert unseen_misses(fitted).max() < 0.5 * unseen_misses(taken).max()


def test_masstones_alone_do_not_make_a_tin():
    alone = own_toner.estimate(drawn(films=(np.inf,), plan=PLAN[: len(TINS)]), film_share=0.0)
    assert unseen_misses(alone).max() > 3
    assert alone.deviation[:, 1].min() > 1.0  # and the doubt says so


def test_the_doubt_covers_the_true_constants():
    z = []
    for seed in range(6):
        found = own_toner.estimate(drawn(np.random.default_rng(seed)), film_share=0.0)
        for i, tin in enumerate(found.toners):
            true = true_ks([(tin, 1.0)])
            for part, table in enumerate(
                (tin.optics.measured_absorption_per_um, tin.optics.measured_scattering_per_um)
            ):
                sd = found.deviation[i, part]
                known = sd < 0.3  # where a logarithm is nearly a straight line
                z.append(((np.log(table) - np.log(true[part])) / sd)[known])
    shares = np.abs(np.concatenate(z)) < 1.96
    assert 0.92 < shares.mean() < 0.99 and len(shares) > 1000


def test_the_doubt_of_the_tins_is_carried_to_a_colour_and_covers_it():
    inside, count = 0, 0
    for seed in range(5):
        found = own_toner.estimate(drawn(np.random.default_rng(seed)), film_share=0.0)
        tins = {tin.name: tin for tin in found.toners}
        for masses in UNSEEN[:3]:
            names, grams = [tins[t.name] for t, _ in masses], [g for _, g in masses]
            usual = Conditions(film_um=15.0, angles_deg=(45,), undercoat=surface.beneath_surface(GREY_CARD[0]))
            sd = np.sqrt(np.square(own_toner.scatter(found, names, grams, conditions=usual).shifts).sum(axis=0))[0]
            off = (
                predict.lab(optics.mixture(names, grams), usual)[0, 0]
                - weights.lab(seen(masses, 15.0, GREY_CARD))[0, 0]
            )
            inside += int((np.abs(off) < 2.2 * sd + 0.01).sum())
            count += 3
    assert inside / count > 0.85


def test_a_drawdown_that_was_weighed_wrong_is_named():
    rows = drawn()
    wrong = rows[12]
    rows[12] = Drawdown(
        wrong.toners, (wrong.masses_g[0] * 1.5, *wrong.masses_g[1:]), 8.0, CARDS, wrong.readings, "cup 13"
    )
    assert "cup 13" in own_toner.estimate(rows).odd


def test_a_measured_tin_stands_on_the_shelf_like_any_other():
    """It survives a shop's file, it tints, and its doubt goes into a verdict."""
    found = own_toner.estimate(drawn(), film_share=0.0)
    text = 'source = "invented for the demo"\n' + "".join(map(own_toner.as_toml, found.toners))
    text += "".join(
        f'[[sealer]]\nname = "{tin.name}"\nkind = "sealer"\ndensity_g_per_ml = 1.3\nvolume_solids = 0.4\n'
        "price_per_litre = 9.0\n"
        for tin in SHOP.sealers
    )
    tins = {tin.name: tin for tin in toners_of(faults.read(text, TONER_FILE)["toner"])}
    assert tins.keys() == set(PIGMENTS)
    mine = [tins[name] for name in ("PW6", "PB29", "PBk9")]
    cup = [80.0, 15.0, 5.0]
    card, panel = (from_spectra(predict.reflectance(optics.mixture(mine, grams))) for grams in (cup, [80.0, 21.0, 5.0]))
    tinted = tint.correct(mine, cup, card, panel)
    assert tinted.pour.names == ("PB29",) and tinted.pour.add_g[0] == pytest.approx(6.0, rel=0.15)
    said = doubt.doubted(
        card, from_lab(dict(zip(card.angles_deg, card.lab, strict=True))), tolerance.of_kind("solid"),
        scatters=[own_toner.scatter(found, [t for t in found.toners if t.name in ("PW6", "PB29")], [80.0, 15.0])],
    )  # fmt: skip
    assert "the measurement of the tins" in dict(said.comes_from)


@pytest.mark.parametrize(
    ("ask", "sentence"),
    [
        (lambda: own_toner.estimate([]), "drawdowns: none was given"),
        (lambda: own_toner.estimate(drawn(plan=PLAN[:1]), known=TINS), "tins: none that is not known was given"),
        (
            lambda: own_toner.estimate([Drawdown((RED,), (1.0,), 8.0, CARDS[:1], CARDS[:1])]),
            "readings of PR254: 1 was given, allowed are 2 or more",
        ),
        (lambda: Drawdown((RED,), (1.0,), 0.0, CARDS, CARDS), "dry film: 0 was given"),
        (lambda: Drawdown((RED,), (1.0,), 8.0, CARDS, CARDS[:1]), "1 readings over 2 cards were given"),
        (lambda: Drawdown((RED,), (1.0,), 8.0, CARDS, 100 * CARDS), "1 g PR254, readings: "),
        (
            lambda: Drawdown(SHOP.picked("medium silver"), (1.0,), 8.0, CARDS, CARDS),
            "toner: 'medium silver' with flakes was given",
        ),
        (lambda: own_toner.estimate(drawn(), noise=(0.0, 0.0)), "noise: 0 was given"),
    ],
)
def test_a_bad_entry_is_refused_in_one_sentence(ask, sentence):
    with pytest.raises(BadEntry, match=sentence):
        ask()
