"""How sure a verdict is: held by simulation, where the truth is known and scatters in another way."""

import numpy as np
import pytest
from paints import SHOP, paint_of
from scipy import stats

from refinishlib.colour import doubt, hand, pour_error, predict, reading, tolerance
from refinishlib.colour.optics import mixture
from refinishlib.colour.tolerance import EDGE, FADE, NOT_YET, VERDICTS
from refinishlib.entry import BadEntry

ANGLES = (15, 25, 45, 75, 110)
METALLIC = tolerance.of_kind("metallic")
SILVER = SHOP.colour("Millrace Silver, as built")
PANEL = reading.from_spectra(predict.reflectance(paint_of(SILVER.title)))


def typed(lab):
    return reading.from_lab(dict(zip(ANGLES, lab, strict=True)))


def lighter(lab, step):
    return lab + np.array([step, 0.0, 0.0])


def spots_of(lab, rng, n=4):
    """Spots that scatter together over all angles, not normally: a skew common part and an even own part."""
    common = (rng.exponential(0.3, (n, 1, 1)) - 0.3) * np.array([1.0, 0.2, 0.1])
    return reading.average([typed(spot) for spot in lab + common + rng.uniform(-0.15, 0.15, (n, *lab.shape))])


def test_what_is_said_is_as_often_true_as_it_says():
    """400 pairs whose truth is known: said plainly it is true 19 times of 20, with a probably two times of three."""
    rng = np.random.default_rng(3)
    right = {"plain": [], "probably": [], "again": []}
    stated = []
    for _ in range(400):
        truth = PANEL.lab + rng.normal(0, 0.5, 3) + rng.normal(0, 0.3, (5, 3))
        standing = int(tolerance.standing(METALLIC.apart(PANEL.lab, truth), ANGLES, METALLIC))
        found = doubt.doubted(spots_of(PANEL.lab, rng), spots_of(truth, rng), METALLIC, tries=300)
        kind = "plain" if found.said in VERDICTS else "again" if found.said == doubt.MEASURE_AGAIN else "probably"
        right[kind].append(VERDICTS[standing] == found.verdict)
        stated.append(found.chances[standing] if kind == "plain" else np.nan)
    assert min(map(len, right.values())) > 30
    assert np.mean(right["plain"]) > 0.93
    assert 0.65 < np.mean(right["probably"]) < 0.97
    assert np.mean(right["again"]) < np.mean(right["probably"])


def test_the_interval_holds_the_truth_19_times_of_20():
    """JCGM 101 coverage, of a difference of 1.5 to 3 read on four spots of either panel."""
    rng = np.random.default_rng(4)
    inside = []
    for _ in range(400):
        truth = lighter(PANEL.lab, rng.choice([-1, 1]) * rng.uniform(1.5, 3.0))
        found = doubt.doubted(spots_of(PANEL.lab, rng), spots_of(truth, rng), METALLIC, tries=300)
        at = ANGLES.index(found.worst_deg)
        apart = METALLIC.apart(PANEL.lab, truth)[at]
        inside.append(found.interval[0] <= apart <= found.interval[1])
    assert 0.92 <= np.mean(inside) <= 0.99


def test_a_full_unit_lighter_is_more_or_less_sure_by_its_scatter():
    panel, card = reading.from_lab({45: (50.0, 0, 0)}), reading.from_lab({45: (50.9, 0, 0)})
    chances = [doubt.doubted(panel, card, METALLIC, spot=(s, 0, 0)).chances[0] for s in (0.02, 0.1, 0.5)]
    assert chances[0] > 0.99 > chances[1] > 0.6 > chances[2] > 0.3
    # Two readings of 0.1 each: the difference has sqrt(2) times that, and 0.1 is left up to the limit.
    assert chances[1] == pytest.approx(stats.norm.cdf((1.0 - 0.9) / np.sqrt(2) / 0.1), abs=0.03)


@pytest.mark.parametrize("n", [3, 5, 12])
def test_the_mean_of_few_spots_is_shifted_as_students_t_says(n):
    """JCGM 101 (2008), 6.4.9, held against scipy's t distribution."""
    spots = np.random.default_rng(n).normal(50, 1, (n, 1, 3))
    mean = reading.average([reading.from_lab({45: spot[0]}) for spot in spots])
    shift = doubt._of_reading(mean, np.zeros((1, 3)), np.random.default_rng(0), 100_000)[0][:, 0, 0]
    expected = stats.t(n - 1, scale=spots[:, 0, 0].std(ddof=1) / np.sqrt(n)).ppf([0.05, 0.25, 0.75, 0.95])
    assert np.percentile(shift, [5, 25, 75, 95]) == pytest.approx(expected, rel=0.05)


def test_first_order_does_to_a_mix_what_pouring_it_again_and_again_does():
    """Against pours played through one by one, with the whole prediction for each."""
    barn = SHOP.colour("Chalk Barn, as built")
    cup = np.array(barn.weights) * 0.6
    played = pour_error.scatter(barn, 60.0, 0.1, way="tared", tries=2000)
    shifts = doubt.of_pour(barn.toners, cup).shifts
    dice = np.random.default_rng(0).normal(size=(4000, len(shifts)))
    clean = predict.lab(mixture(barn.toners, cup))[0]
    worst = METALLIC.apart(clean, clean + np.einsum("ni,iac->nac", dice, shifts)).max(axis=1)
    assert np.median(worst) == pytest.approx(played.typical, rel=0.25)


def test_first_order_does_to_a_silver_what_a_hand_does():
    """Against panels whose tilt, film and grey are drawn and predicted whole."""
    painter = hand.Hand(readability_g=0.0)
    lab = hand.panels(SILVER, painter, tries=2000)
    shifts = doubt.of_spraying(SILVER, painter).shifts
    assert np.sqrt(np.square(shifts).sum(axis=0))[:, 0] == pytest.approx(lab[..., 0].std(axis=0), rel=0.15)


def test_what_a_hand_scatters_leaves_a_silver_in_doubt_and_a_black_not():
    said = {}
    for title, step in (("Millrace Silver, as built", 0.4), ("Night Ferry, as built", 0.4)):
        formula = SHOP.colour(title)
        paint = mixture(formula.toners, formula.weights)
        lab = predict.lab(paint)[0]
        scatters = [doubt.of_spraying(formula), doubt.of_pour(formula.toners, np.multiply(formula.weights, 3))]
        found = doubt.doubted(
            typed(lab), typed(lighter(lab, step)), tolerance.of_kind(formula.kind), scatters=scatters, spot=(0.05,) * 3
        )
        said[formula.name] = found
    assert said["Night Ferry"].said == EDGE
    assert said["Millrace Silver"].said != EDGE
    assert said["Millrace Silver"].comes_from[0][0] == doubt.SPRAYING
    assert "most of the doubt is the spraying" in said["Millrace Silver"].why
    assert said["Night Ferry"].buys == ()


def test_what_scatters_most_is_what_one_more_of_it_buys_most():
    rng = np.random.default_rng(5)
    rough = reading.average([typed(PANEL.lab + rng.normal(0, (0.8, 0.1, 0.1))) for _ in range(3)])
    smooth = reading.average([typed(lighter(rough.lab, 0.9) + rng.normal(0, 0.02, (5, 3))) for _ in range(3)])
    found = doubt.doubted(rough, smooth, METALLIC)
    assert found.said not in VERDICTS
    assert found.comes_from[0][0] == doubt.PANEL
    assert found.buys[0].what == "one more spot of the panel"
    assert found.buys[0].right > found.buys[-1].right


def test_a_reading_that_brings_its_own_doubt_is_believed_that_far():
    card = reading.from_lab({45: (50.8, 0.0, 0.0)})
    told = reading.Reading(card.angles_deg, card.lab, doubt=np.array([[0.6, 0.0, 0.0]]))
    panel = reading.from_lab({45: (50.0, 0.0, 0.0)})
    sure, unsure = (doubt.doubted(panel, one, METALLIC, spot=(0.02,) * 3) for one in (card, told))
    assert (sure.said, unsure.said) == (EDGE, doubt.MEASURE_AGAIN)
    far = reading.Reading(card.angles_deg, lighter(card.lab, 9.0), doubt=told.doubt)
    assert doubt.doubted(panel, far, METALLIC).said == NOT_YET
    faded = reading.from_lab({45: (51.7, 0.0, 0.0)})
    assert doubt.doubted(panel, faded, METALLIC).said == FADE


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (lambda: doubt.doubted(PANEL, PANEL, METALLIC, spot=(-1, 0, 0)), "scatter of a spot: -1"),
        (lambda: doubt.doubted(PANEL, PANEL, METALLIC, tries=1), "tries: 1"),
        (lambda: doubt.of_spraying(SILVER, hand.Hand(tilt=0.9)), "scatter of the tilt: 0.9"),
        (lambda: doubt.of_pour(SILVER.toners, SILVER.weights, readability_g=0), "readability: 0"),
        (
            lambda: doubt.doubted(PANEL, PANEL, METALLIC, scatters=[doubt.Scatter("the wind", np.zeros((1, 2, 3)))]),
            "scatter of the wind",
        ),
    ],
)
def test_a_bad_entry_is_one_sentence(made, words):
    with pytest.raises(BadEntry, match=words):
        made()
