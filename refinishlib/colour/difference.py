"""How far two colours are apart, as the standards count it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.entry import numbers, one_of

HIGHEST_LAB = 1000.0
FLOP = (2.69, 1.11, 0.86)
ACCEPTABILITY = (2.0, 1.0)

SOURCES = {
    "HIGHEST_LAB": "teaching value: CIELAB of a metallic's face stays far below",
    "FLOP": "Alman (1987), flop index of metallic colours, as quoted in ASTM E2194 (2014) practice; from memory",
    "ACCEPTABILITY": "BS 6923 (1988): l = 2, c = 1 for acceptability",
}


def ciede2000(reference_lab: ArrayLike, sample_lab: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 between CIELAB values (..., 3), kL = kC = kH = 1; symmetric.

    Source
    ------
    ISO/CIE 11664-6 (2022), as colour-science has it.

    >>> float(ciede2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]).round(4))
    2.0425
    """
    from colour.difference import delta_E_CIE2000

    return np.asarray(delta_E_CIE2000(*_pair(reference_lab, sample_lab)))


def cie76(reference_lab: ArrayLike, sample_lab: ArrayLike) -> NDArray[np.float64]:
    """Plain distance in CIELAB between values (..., 3); symmetric.

    Source
    ------
    ISO/CIE 11664-4 (2019).

    >>> float(cie76([50.0, 0.0, 0.0], [50.0, 3.0, 4.0]))
    5.0
    """
    reference, sample = _pair(reference_lab, sample_lab)
    found: NDArray[np.float64] = np.linalg.norm(reference - sample, axis=-1)
    return found


def cie94(reference_lab: ArrayLike, sample_lab: ArrayLike) -> NDArray[np.float64]:
    """CIE94 between CIELAB values (..., 3), kL = kC = kH = 1, the reference's chroma counting; not symmetric.

    Source
    ------
    CIE 116 (1995), as colour-science has it.

    >>> float(cie94([50.0, 0.0, 0.0], [51.0, 0.0, 0.0]).round(4))
    1.0
    """
    from colour.difference import delta_E_CIE1994

    return np.asarray(delta_E_CIE1994(*_pair(reference_lab, sample_lab), textiles=False))


def cmc(
    reference_lab: ArrayLike,
    sample_lab: ArrayLike,
    *,
    lightness: float = ACCEPTABILITY[0],
    chroma: float = ACCEPTABILITY[1],
) -> NDArray[np.float64]:
    """CMC(l:c) between CIELAB values (..., 3), CMC(2:1) if not said otherwise; not symmetric.

    Source
    ------
    Clarke, McDonald and Rigg (1984), J. Soc. Dyers Colour. 100, 128; BS 6923 (1988), as colour-science has it.

    >>> bool(cmc([50.0, 20.0, 0.0], [51.0, 20.0, 0.0]) < cmc([50.0, 20.0, 0.0], [51.0, 20.0, 0.0], lightness=1.0))
    True
    """
    from colour.difference import delta_E_CMC

    return np.asarray(delta_E_CMC(*_pair(reference_lab, sample_lab), l=lightness, c=chroma))


FORMULAS: dict[str, Callable[..., NDArray[np.float64]]] = {
    "CIEDE2000": ciede2000,
    "CIE94": cie94,
    "CMC": cmc,
    "CIELAB": cie76,
}


def difference(formula: str, reference_lab: ArrayLike, sample_lab: ArrayLike) -> NDArray[np.float64]:
    """The difference by the formula's name: "CIEDE2000", "CIE94", "CMC" or "CIELAB".

    Raises
    ------
    BadEntry : another name, or values that are not CIELAB

    >>> float(difference("CIELAB", [50.0, 0.0, 0.0], [53.0, 0.0, 4.0]))
    5.0
    """
    return FORMULAS[one_of("difference formula", formula, FORMULAS)](reference_lab, sample_lab)


def flop_index(lightness_15: ArrayLike, lightness_45: ArrayLike, lightness_110: ArrayLike) -> NDArray[np.float64]:
    """How much lighter the face is than the flop: 2.69 (L15 - L110)^1.11 / L45^0.86; 0 where L15 <= L110.

    Parameters
    ----------
    lightness_15, lightness_45, lightness_110 : CIELAB L* at these aspecular angles, 0 or more, (...)

    Returns
    -------
    (...), 0 or more, infinite only where L45 is 0 and the face is lighter than the flop

    Source
    ------
    Alman (1987), the flop index of multi-angle instruments; from memory.

    >>> flop_index([120.0, 30.0], [60.0, 30.0], [35.0, 31.0]).round(2).tolist()
    [11.02, 0.0]
    """
    face, middle, flop = (
        numbers("lightness", v, low=0, high=HIGHEST_LAB) for v in (lightness_15, lightness_45, lightness_110)
    )
    factor, rise, fall = FLOP
    falls = factor * np.maximum(face - flop, 0.0) ** rise
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(falls > 0, falls / middle**fall, 0.0)


def _pair(reference_lab: ArrayLike, sample_lab: ArrayLike) -> tuple[NDArray[Any], NDArray[Any]]:
    pair = (
        numbers(field, values, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(3,))
        for field, values in (("reference CIELAB", reference_lab), ("sample CIELAB", sample_lab))
    )
    reference, sample = np.broadcast_arrays(*pair)
    return reference, sample
