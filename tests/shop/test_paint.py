from refinishlib.shop import paint


def test_every_formula_is_made_of_toners_on_the_shelf():
    for formula in paint.formulas().values():
        assert {name for name, _ in formula.parts} <= set(paint.toners())
        assert all(parts > 0 for _, parts in formula.parts)
