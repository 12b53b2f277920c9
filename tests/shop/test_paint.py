"""The paint of the built-in shop, read from its value."""

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
