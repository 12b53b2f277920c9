from refinishlib.shop import paint


def test_every_formula_is_made_of_toners_on_the_shelf():
    for formula in paint.formulas().values():
        assert {name for name, _ in formula.parts} <= set(paint.toners())
        assert all(parts > 0 for _, parts in formula.parts)


def test_flakes_are_in_the_tins_that_say_so_and_sealer_is_not_on_the_shelf():
    assert {toner.kind for toner in paint.toners().values() if toner.flake} == {"flake", "pearl"}
    assert all(toner.kind == "solid" for toner in paint.toners().values() if not toner.flake)
    assert not set(paint.sealers()) & set(paint.toners())


def test_a_metallic_or_pearl_has_flakes_and_a_solid_has_none():
    for formula in paint.formulas().values():
        assert any(paint.toner(name).flake for name, _ in formula.parts) == (formula.kind != "solid")
