"""The grey with the fewest coats: all greys and coats at once beside one after another; the sealer for a grey."""

import numpy as np
from paints import SHOP, paint_of
from scipy.optimize import brentq

from refinishlib.colour import hiding, undercoat

BLUE = paint_of("Kingfisher Pool, as built")
GREYS = tuple(np.arange(10.0, 91.0, 4.0))


def plain():
    """Each grey for itself, one coat more until nothing shows."""
    found = []
    for grey in GREYS:
        for coats in range(1, hiding.MOST_COATS + 1):
            shows = float(hiding.show_through(BLUE, grey, coats=coats).max())
            if shows <= hiding.VISIBLE:
                found.append((coats, shows, grey))
                break
    return min(found)


def test_fewest_coats(benchmark):
    found = benchmark(hiding.fewest_coats, BLUE, stock=GREYS)
    coats, shows, grey = plain()
    assert (found.coats, found.lightness) == (coats, grey)
    assert abs(found.largest_difference - shows) < 1e-9


def test_fewest_coats_plain(benchmark):
    benchmark(plain)


def test_sealer(benchmark):
    mix = benchmark(undercoat.sealer_for, SHOP.sealers, 60.0, over=20.0)
    assert abs(mix.white_g - sealer_plain()) <= 0.05 + 1e-9


def sealer_plain():
    """A root finder over the endless amount, one coat, before rounding to the scale."""

    def missing(white_g):
        film = undercoat.sealed(SHOP.sealers, white_g, 100 - white_g, coats=1, over=20.0)
        return float(undercoat.lightness_of(film)) - 60.0

    return brentq(missing, 50, 99.9)


def test_sealer_plain(benchmark):
    benchmark(sealer_plain)
