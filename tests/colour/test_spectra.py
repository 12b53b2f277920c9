"""Spectra from files and at other steps, and the two observers of a typed reading."""

import numpy as np
import pytest
from paints import SHOP, paint_of, reflectance

from refinishlib.colour import (
    film,
    predict,
    reading,
    spectra_file,
    steps,
    surface,
    tolerance,
    variants,
    verdict,
    weights,
)  # fmt: skip
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.optics import mixture
from refinishlib.colour.reading import from_lab, from_spectra
from refinishlib.colour.spectrum import WAVELENGTHS_NM
from refinishlib.colour.undercoat import grey
from refinishlib.entry import BadEntry

ANGLES = (15, 25, 45, 75, 110)
SOLIDS = [formula for formula in SHOP.colours if formula.kind == "solid"]
SPECTRA = np.array([predict.reflectance(paint_of(formula.title))[2] for formula in SOLIDS])


# --- a typed reading and its observer ---------------------------------------------------------------------------------


def typed_for_two(formula):
    lab = weights.lab(predict.reflectance(paint_of(formula.title)), None, 2)[0]
    return from_lab(dict(zip(ANGLES, lab, strict=True)), observer_deg=2)


def test_cielab_for_two_degrees_read_as_ten_is_wrong_and_said_so_it_is_not():
    silent, said = [], []
    for formula in SOLIDS:
        panel = typed_for_two(formula)
        as_ten = from_lab(dict(zip(ANGLES, panel.lab, strict=True)))
        silent.append(variants.rank([formula], as_ten)[0].difference.max())
        said.append(variants.rank([formula], panel)[0].difference.max())
    assert max(silent) > 2.5 and np.median(silent) > 1.0
    assert max(said) < 0.01


def test_a_near_paint_turns_an_observer_by_nearly_as_much():
    """The panel is another variant than the one that lends its turn."""
    family = SHOP.variants("Kiln Red")
    panel = typed_for_two(family[1])
    turned = reading.for_observer(panel, 10, like=predict.reflectance(paint_of(family[0].title)))
    true = weights.lab(predict.reflectance(paint_of(family[1].title)))[0]
    assert ciede2000(true, panel.lab).max() > 0.8
    assert ciede2000(true, turned.lab).max() < 0.2


def test_a_measured_card_beside_a_panel_typed_for_two_degrees_is_worked_out_for_two():
    measured = from_spectra(predict.reflectance(paint_of(SOLIDS[0].title)))
    result = verdict.compare(typed_for_two(SOLIDS[0]), measured, tolerance.of_kind("solid"))
    assert result.differences.max() < 1e-9


def test_two_typed_readings_for_two_observers_are_not_compared():
    with pytest.raises(BadEntry, match="reading: CIELAB for 10 degrees was given, allowed beside one for 2 degrees"):
        reading.in_common(typed_for_two(SOLIDS[0]), from_lab({45: (50, 0, 0)}))
    with pytest.raises(BadEntry, match="observer: 5 was given, allowed are 10, 2"):
        from_lab({45: (50, 0, 0)}, observer_deg=5)
    with pytest.raises(BadEntry, match="readings: both observers were given"):
        reading.average([from_lab({45: (50, 0, 0)}, observer_deg=2), from_lab({45: (50, 0, 0)})])


def test_a_spot_keeps_its_distance_from_the_mean_when_the_observer_is_turned():
    spots = [from_spectra(SPECTRA[0][None] * factor, [45]) for factor in (0.98, 1.0, 1.03)]
    mean = reading.average(spots)
    turned = reading.for_observer(mean, 2)
    np.testing.assert_allclose(turned.spots - turned.lab, mean.spots - mean.lab)


# --- other steps ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("step", "within"), [(1, 0.12), (5, 0.12), (10, 1e-9), (20, 0.25)])
def test_spectra_at_other_steps_give_the_colour_that_they_give_at_ten(step, within):
    """The true spectra are the paints' own at these steps, worked out from the toners at each wavelength."""
    nm = np.arange(380.0, 731.0, step)
    for formula in SOLIDS:

        def seen(at, formula=formula):
            paint = mixture(formula.toners, formula.weights, wavelengths_nm=at)
            layer = film.free_film(paint.absorption_per_um, paint.scattering_per_um, 18.0)
            inside = film.over(*layer, np.full(len(at), grey(50.0)[0]))
            return surface.through_surface(inside, inside, surface.geometry(45.0, 0.0).passed)

        read = from_spectra(seen(nm)[None], [45], wavelengths_nm=nm)
        assert ciede2000(weights.lab(seen(WAVELENGTHS_NM)[None])[0], read.lab).max() < within


def test_fine_steps_are_averaged_so_that_noise_goes_down():
    nm = np.arange(380.0, 731.0, 1.0)
    rng = np.random.default_rng(3)
    noisy = 0.4 + rng.normal(0, 0.01, (200, len(nm)))
    assert steps.at_ten_nm("reading", noisy, nm).std() < 0.004


def test_uneven_steps_will_do():
    nm = np.arange(380.0, 732.0, 10.0) + np.random.default_rng(1).uniform(-4, 4, 36)
    nm[[0, -1]] = 380.0, 730.0

    def curve(at):
        return 0.3 + 0.2 * np.sin(at / 60)

    np.testing.assert_allclose(steps.at_ten_nm("reading", curve(nm), nm), curve(WAVELENGTHS_NM), atol=2e-3)


@pytest.mark.parametrize(
    ("nm", "sentence"),
    [
        (np.arange(420.0, 701.0, 10.0), "420 to 700 nm was given, allowed is 400 to 700 nm or more"),
        (np.arange(400.0, 701.0, 25.0), "a gap of 25 nm was given, allowed are up to 20 nm"),
        (np.arange(700.0, 399.0, -10.0), "allowed are rising ones"),
        (np.arange(0.4, 0.701, 0.01), "0.4 was given, allowed is a number from 100 to 5000 nm"),
    ],
)
def test_wavelengths_that_will_not_do_are_refused_in_one_sentence(nm, sentence):
    with pytest.raises(BadEntry, match=sentence):
        from_spectra(np.full((1, len(nm)), 0.2), [45], wavelengths_nm=nm)


def test_a_spectrum_of_another_length_than_its_wavelengths_is_refused():
    with pytest.raises(BadEntry, match="reflectance: 30 values were given, allowed are 36"):
        from_spectra(np.full((1, 30), 0.2), [45], wavelengths_nm=np.arange(380.0, 731.0, 10.0))


# --- files ------------------------------------------------------------------------------------------------------------

NM = range(380, 731, 10)
VALUES = 0.1 + 0.6 / (1 + np.exp(-(np.array(NM) - 600) / 20))


def csv_text(parted=",", point=".", scale=1.0):
    cells = [f"{v * scale:.5f}".replace(".", point) for v in VALUES]
    return "\n".join([parted.join(["Name", *map(str, NM)]), parted.join(["a red", *cells])])


def cgats_text(fields, cells, header=""):
    return (
        f'CGATS.17\nORIGINATOR "a bench"\n{header}NUMBER_OF_FIELDS {2 + len(fields)}\nBEGIN_DATA_FORMAT\nSAMPLE_ID '
        f"SAMPLE_NAME {' '.join(fields)}\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n"
        f'1 "a red" {" ".join(cells)}\nEND_DATA\n'
    )


FILES = {
    "commas": csv_text(),
    "semicolons and a decimal comma": csv_text(";", ","),
    "tabs and percent": csv_text("\t", scale=100),
    "a byte order mark": "\ufeff" + csv_text(),
    "one column for each wavelength": cgats_text([f"SPECTRAL_NM{nm}" for nm in NM], [f"{v:.5f}" for v in VALUES]),
    "percent by its keyword": cgats_text(
        [f"SPEC_{nm}" for nm in NM], [f"{100 * v:.4f}" for v in VALUES], 'SPECTRAL_NORM "100.0"\n'
    ),
    "pairs in percent": cgats_text(
        ["SPECTRAL_NM", "SPECTRAL_PCT"] * len(NM), [f"{n} {100 * v:.4f}" for n, v in zip(NM, VALUES, strict=True)]
    ),
    "pairs in shares": cgats_text(
        ["SPECTRAL_NM", "SPECTRAL_DEC"] * len(NM), [f"{n} {v:.5f}" for n, v in zip(NM, VALUES, strict=True)]
    ),
    "a set over several lines": cgats_text(
        [f"NM{nm}" for nm in NM], [f"{v:.5f}" + ("\n" if i % 9 == 8 else "") for i, v in enumerate(VALUES)]
    ),
}


@pytest.mark.parametrize("text", FILES.values(), ids=FILES)
def test_a_file_gives_the_spectrum_that_was_written(text):
    (row,) = spectra_file.samples(text)
    assert row.name == "a red"
    np.testing.assert_allclose(row.reflectance, VALUES[2:-3], atol=1e-5)
    (red,) = spectra_file.readings([row])
    assert red.angles_deg == (45,) and red.lab[0, 1] > 30


def test_the_file_of_a_multi_angle_instrument_becomes_one_reading_of_its_spots():
    silver = reflectance(["medium silver", "soft black"], [96.0, 4.0])
    head = ["sample", "angle", *map(str, range(400, 701, 10))]
    rows = [
        ["wing", str(angle), *(f"{v * spot:.6f}" for v in silver[i])]
        for spot in (0.99, 1.0, 1.02)
        for i, angle in enumerate(ANGLES)
    ]
    text = "\n".join(",".join(row) for row in [head, *rows])
    (wing,) = spectra_file.readings(spectra_file.samples(text, scale="share"))
    assert wing.angles_deg == ANGLES and wing.spots.shape == (3, 5, 3)
    np.testing.assert_allclose(wing.reflectance, silver * 3.01 / 3, atol=1e-5)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "an empty file was given"),
        ("name,400,700", "no row was given"),
        ("name,lightness\nred,40", "columns without wavelengths were given"),
        (csv_text().replace("0.10000", "n/a", 1).replace("0.1000", "n/a", 1), "'n/a"),
        (csv_text() + ",0.5", "row 1: 38 values were given, allowed are 37"),
        (csv_text(scale=5.0), "allowed is to say whether they are share or percent"),
        (cgats_text(["SPECTRAL_NM"], ["400"]), "SPECTRAL_NM without its value"),
        (FILES["pairs in shares"].replace('"a red"', '"a red'), "a quotation mark that is not closed"),
    ],
)
def test_a_file_that_will_not_do_is_refused_in_one_sentence(text, sentence):
    with pytest.raises(BadEntry) as error:
        spectra_file.samples(text)
    assert sentence in str(error.value)


def test_angles_read_unequally_often_are_refused():
    one = spectra_file.samples(csv_text())[0]
    other = spectra_file.Sample(one.name, 15, one.reflectance, {})
    with pytest.raises(BadEntry, match="angles read unequally often"):
        spectra_file.readings([one, one, other])
