"""A picture as an eye with a colour vision deficiency sees it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from numpy.typing import NDArray

from refinishlib.entry import number, one_of
from refinishlib.picture.screen import Picture, decode, encode, with_note

EYES = {
    "red-weak": "Protanomaly",
    "green-weak": "Deuteranomaly",
    "blue-weak": "Tritanomaly",
}

SOURCES = {"EYES": "Machado, Oliveira and Fernandes (2009), IEEE Trans. Visualization and Computer Graphics 15, 1291"}


def seen_by(picture: Picture, eye: str, severity: float = 1.0) -> Picture:
    """The picture as this eye sees it. The numbers and words stay: they are what such an eye goes by.

    Parameters
    ----------
    eye : "normal", "red-weak", "green-weak" or "blue-weak"
    severity : 0 normal to 1, where the cone is missing (Machado's matrices for the blue-weak eye are an approximation)

    Raises
    ------
    BadEntry : another eye, or a severity outside 0-1

    Source
    ------
    Machado, Oliveira and Fernandes (2009), IEEE Transactions on Visualization and Computer Graphics 15, 1291,
    from colour-science; applied to linear sRGB.

    >>> import numpy as np
    >>> from refinishlib.picture.screen import finish
    >>> red = finish(np.full((1, 1, 3), [0.6, 0.05, 0.05]), "D65")
    >>> seen_by(red, "green-weak").rgb[0, 0].tolist()
    [137, 124, 59]
    """
    one_of("eye", eye, ["normal", *EYES])
    number("severity", severity, low=0, high=1)
    if eye == "normal" or severity == 0:
        return picture
    rgb, clipped = encode(decode(picture.rgb) @ _matrix(eye, round(float(severity), 3)).T)
    note = f"Simulated for a {eye} eye, severity {severity:g}."
    if clipped:
        note += f" {clipped:.1%} of the pixels would need more than a screen can show and were clipped."
    return replace(with_note(picture, rgb, note), clipped=max(picture.clipped, clipped))


@cache
def _matrix(eye: str, severity: float) -> NDArray[Any]:
    import colour
    from colour.utilities import suppress_warnings

    # It warns that the blue-weak eye is an approximation, which the docstring of `seen_by` says.
    with suppress_warnings(colour_usage_warnings=True):
        return colour.matrix_cvd_Machado2009(EYES[eye], severity)
