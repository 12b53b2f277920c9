"""The shop's colours leave a decision: variants that are close, and a blue that shows what lies under it."""

import numpy as np
import pytest

from refinishlib.colour import hiding, predict, verdict
from refinishlib.colour.difference import ciede2000
from refinishlib.shop.paint import PAINT_KINDS
from tests.shared.paints import SHOP, paint_of

CLOSE = (0.4, 2.5)
COLOURS = dict.fromkeys(formula.name for formula in SHOP.colours)


def close_variants(name):
    """Each close variant's CIELAB by its name, and the colour's own."""
    own, *others = (predict.lab(paint_of(formula.title))[0] for formula in SHOP.variants(name))
    named = zip([formula.variant for formula in SHOP.variants(name)[1:]], others, strict=True)
    return own, {variant: lab for variant, lab in named if CLOSE[0] <= ciede2000(own, lab).max() <= CLOSE[1]}


def test_several_colours_have_five_close_variants_that_differ_in_kind():
    offered = []
    for name in COLOURS:
        own, close = close_variants(name)
        said = {tuple(verdict.direction(own[at], lab[at]) for at in (1, -1)) for lab in close.values()}
        apart = [ciede2000(a, b).max() for one, a in close.items() for other, b in close.items() if one < other]
        if len(said) >= 5:
            offered.append(name)
            assert min(apart) > CLOSE[0], name
    assert len(offered) >= 6
    assert {SHOP.variants(name)[0].kind for name in offered} >= set(PAINT_KINDS[:2])


@pytest.mark.parametrize("name", ["Millrace Silver", "Wet Slate", "Heron Glint"])
def test_a_variant_of_a_silver_says_what_its_flakes_do(name):
    own, close = close_variants(name)
    face, flop = 0, -1
    darker_flop = close["darker flop"] - own
    assert darker_flop[flop, 0] < min(-0.5, darker_flop[face, 0] - 0.5)
    if "coarser" in close:
        coarser = close["coarser"] - own
        assert coarser[face, 0] > 0 > coarser[flop - 2, 0]


def test_the_transparent_blue_needs_three_coats_over_a_medium_grey_and_more_over_any_other():
    blue = paint_of("Kingfisher Pool, as built")
    coats = {grey: hiding.coats_to_hide(blue, grey) for grey in (20.0, 30.0, 50.0, 70.0, 80.0)}
    assert coats[50.0] == 3
    assert min(coats[grey] for grey in coats if grey != 50.0) > 3
    others = ("Tarn Evening", "Night Ferry", "Lichen Row")
    moved = [hiding.card_shift(paint_of(f"{name}, as built"), 30.0, 70.0, coats=2).max() for name in others]
    assert hiding.card_shift(blue, 30.0, 70.0, coats=2).max() > 4 > np.max(moved)
