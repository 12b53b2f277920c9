"""The paint of the built-in shop, read from its value."""

from importlib.resources import files

import pytest

from refinishlib.entry import BadEntry
from refinishlib.shop.paint import Flake, kind_of
from refinishlib.shop.shop import load

SHOP = load()


def test_every_formula_is_made_of_toners_on_the_shelf():
    for formula in SHOP.colours:
        assert set(formula.toners) <= set(SHOP.toners)
        assert all(weight > 0 for weight in formula.weights)


def test_flakes_are_in_the_tins_that_say_so_and_sealer_is_not_on_the_shelf():
    assert {toner.kind for toner in SHOP.toners if toner.flake} == {"flake", "pearl"}
    assert all(toner.kind == "solid" for toner in SHOP.toners if not toner.flake)
    assert not set(SHOP.sealers) & set(SHOP.toners)


def test_the_kind_of_a_paint_follows_from_its_toners():
    kinds = {formula.title: formula.kind for formula in SHOP.colours}
    assert set(kinds.values()) == {"solid", "metallic", "pearl"}
    assert kinds["Kiln Red, as built"] == "solid"
    assert kinds["Millrace Silver, as built"] == "metallic"
    assert kinds["Orchard Dusk, mid coat"] == "pearl"


def test_one_pearl_among_metal_makes_a_paint_a_pearl():
    metal, pearl = Flake(0.1, 8.0, 0.8, 0.2), Flake(0.1, 8.0, 0.3, 0.1)
    assert [kind_of(flakes) for flakes in ([], [metal], [pearl], [metal, pearl], [pearl, metal])] == [
        "solid", "metallic", "pearl", "pearl", "pearl",
    ]  # fmt: skip


@pytest.mark.parametrize("ink", ["red", "#f0f1f", "#F0F1F1", "url(javascript:0)", '#f0f1f1" onload="'])
def test_an_ink_that_is_no_plain_colour_is_refused_with_its_line(tmp_path, ink):
    """It goes into pictures as it stands."""
    text = files("refinishlib.shop").joinpath("toners.toml").read_text("utf-8")
    (tmp_path / "toners.toml").write_text(text.replace('"#f0f1f1"', f"'{ink}'"), encoding="utf-8")
    with pytest.raises(BadEntry) as caught:
        load(tmp_path)
    line = text[: text.index('ink = "#f0f1f1"')].count("\n") + 1
    assert str(caught.value).startswith(f'toners.toml, line {line}, toner "white": ink: {ink!r} was given, allowed is')


def test_a_flake_that_gives_more_than_it_gets_is_refused(tmp_path):
    text = files("refinishlib.shop").joinpath("toners.toml").read_text("utf-8")
    (tmp_path / "toners.toml").write_text(text.replace("absorptance = ", "absorptance = 0.9 # ", 1), encoding="utf-8")
    with pytest.raises(BadEntry, match="flake: reflectance and absorptance above 1 were given"):
        load(tmp_path)
