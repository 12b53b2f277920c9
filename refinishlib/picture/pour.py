"""The mix building up in its cup, as SVG that takes its colours for text and lines from JupyterLab's theme."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import inf
from typing import Literal

from refinishlib.mixing.progress import Made, Step
from refinishlib.units import show

State = Literal["poured", "over", "to come"]

# Roughly how each toner looks on a screen. The name always stands beside it, so nobody has to tell by colour.
INKS = {
    "white": "#f3f3ee", "jet black": "#141416", "soft black": "#33343a", "deep blue": "#1b2f7d",
    "bright blue": "#1e6fd0", "violet": "#5b2a8c", "green": "#157a4a", "clean yellow": "#f2cf1d",
    "yellow oxide": "#c1923a", "red oxide": "#8e3f2b", "warm red": "#c8281e", "rose": "#c2316f",
    "transparent red": "#a01f2c", "transparent oxide": "#a4602a", "fine silver": "#c3c7cb",
    "medium silver": "#adb1b6", "coarse silver": "#989da3", "white pearl": "#e9e4ee", "blue pearl": "#a9c3e6",
}  # fmt: skip
OTHER_INKS = ("#7f8a94", "#a9a08c", "#6f7f6b", "#8b7a8f")

SOURCES = {
    "INKS": "invented for the demo: screen colours for the picture, not computed",
    "OTHER_INKS": "invented for the demo: for a component that is no toner of the shop",
}

WIDTH = 330
LEFT, RIGHT, TOP, LEAST_HEIGHT = 8, 100, 16, 302
LABEL_X, LABEL_STEP = 124, 20
TEXT = 'font-family="var(--jp-ui-font-family, sans-serif)"'
INK = "var(--jp-ui-font-color1, #1a1a1a)"
LINE = "var(--jp-border-color0, #777)"
WARN = "var(--jp-error-color1, #b71c1c)"


@dataclass(frozen=True)
class Portion:
    """One pour in the cup, from the bottom up.

    state : "poured", "over" (the part that was too much) or "to come"
    reading : words for everything in the cup when it is in
    """

    name: str
    mass_g: float
    state: State
    reading: str


def pour(stack: Sequence[Portion], *, cup_g: float = inf, words: str = "") -> str:
    """The cup with its layers, what is in drawn solid and what is to come drawn pale, as one SVG text.

    Parameters
    ----------
    stack : the pours, from the bottom up
    cup_g : what the cup holds; a line is drawn there if it comes into the picture
    words : the text alternative; made from the layers if not given

    >>> pour([Portion("white", 120.0, "poured", "120.0 g")]).startswith('<svg role="img"')
    True
    """
    drawn = [layer for layer in stack if layer.mass_g > 0]
    total = sum(layer.mass_g for layer in drawn)
    # The cup is drawn a little taller than the mix; a cup that holds up to twice as much is drawn to scale.
    full = cup_g if total <= cup_g <= 2 * total else 1.08 * total
    bottom = TOP + max(LEAST_HEIGHT, LABEL_STEP * len(drawn))
    scale = (bottom - TOP) / full if full > 0 else 0.0
    shapes, tops, level = [], [], float(bottom)
    for layer in drawn:
        height = layer.mass_g * scale
        level -= height
        tops.append(level + height / 2)
        shapes.append(_layer(layer, level, height))
    lines = "".join(
        _label(layer, at, beside) for layer, at, beside in zip(drawn, tops, _spread(tops, bottom), strict=True)
    )
    cup = (
        f'<path d="M{LEFT} {TOP - 8}V{bottom - 6}q0 6 6 6H{RIGHT - 6}q6 0 6 -6V{TOP - 8}" fill="none" '
        f'stroke="{LINE}" stroke-width="2.5"/>'
    )
    if total > cup_g:
        y = bottom - cup_g * scale
        cup += (
            f'<path d="M{LEFT - 8} {y:.1f}H{RIGHT + 8}" stroke="{WARN}" stroke-width="2.5" stroke-dasharray="2 3"/>'
            f'<text x="{LEFT + 4}" y="{y - 5:.1f}" {TEXT} font-size="12" font-weight="600" fill="{WARN}" '
            f'stroke="var(--jp-layout-color1, #fff)" stroke-width="3" paint-order="stroke">cup full</text>'
        )
    return (
        f'<svg role="img" viewBox="0 0 {WIDTH} {bottom + 12}" width="{WIDTH}" height="{bottom + 12}" '
        f'xmlns="http://www.w3.org/2000/svg"><title>The mix in its cup</title>'
        f"<desc>{escape(words or describe(drawn))}</desc>{''.join(shapes)}{cup}{lines}</svg>"
    )


def layers(pours: Sequence[Made], steps: Sequence[Step], decimals: int) -> tuple[Portion, ...]:
    """What was poured and what is to come, as layers; a pour that went over is drawn in two.

    >>> from refinishlib.mixing.progress import Made
    >>> [(layer.mass_g, layer.state) for layer in layers([Made(0, "white", 66.0, 66.0, 66.0, 6.0)], [], 1)]
    [(60.0, 'poured'), (6.0, 'over')]
    """
    stack = []
    for pour in pours:
        asked = show(pour.cumulative_g - pour.over_g, "g", decimals=decimals)
        stack.append(Portion(pour.name, pour.own_g - pour.over_g, "poured", asked))
        if pour.over_g:
            stack.append(Portion(pour.name, pour.over_g, "over", show(pour.cumulative_g, "g", decimals=decimals)))
    stack += [
        Portion(step.name, step.exact_g, "to come", show(step.cumulative_g, "g", decimals=decimals)) for step in steps
    ]
    return tuple(stack)


def describe(stack: Sequence[Portion]) -> str:
    """The layers in words, from the bottom up.

    >>> describe([Portion("white", 120.0, "poured", "120.0 g"), Portion("rose", 9.0, "to come", "129.0 g")])
    'From the bottom up: white, poured, 120.0 g in the cup; rose, to come, 129.0 g in the cup.'
    """
    if not stack:
        return "The cup is empty."
    return (
        "From the bottom up: "
        + "; ".join(f"{layer.name}, {_state_words(layer)}, {layer.reading} in the cup" for layer in stack)
        + "."
    )


def ink(name: str) -> str:
    """The screen colour of a toner, or a grey that stays the same for any other name.

    >>> ink("jet black"), ink("hardener") == ink("hardener")
    ('#141416', True)
    """
    return INKS.get(name) or OTHER_INKS[sum(map(ord, name)) % len(OTHER_INKS)]


def _layer(layer: Portion, y: float, height: float) -> str:
    look = {
        "poured": f'stroke="{LINE}" stroke-width="0.7"',
        "over": f'stroke="{WARN}" stroke-width="2.5" stroke-dasharray="5 3"',
        "to come": f'fill-opacity="0.22" stroke="{LINE}" stroke-width="0.7" stroke-dasharray="3 3"',
    }[layer.state]
    inset = 1.25 if layer.state == "over" else 0.0
    return (
        f'<rect x="{LEFT + 1.25 + inset}" y="{y:.2f}" width="{RIGHT - LEFT - 2.5 - 2 * inset}" '
        f'height="{max(height, 0.8):.2f}" fill="{ink(layer.name)}" {look}/>'
    )


def _label(layer: Portion, at: float, beside: float) -> str:
    mark = {"poured": "✓ ", "over": "! ", "to come": ""}[layer.state]
    colour = WARN if layer.state == "over" else INK
    weight = 400 if layer.state == "to come" else 600
    return (
        f'<path d="M{RIGHT + 2} {at:.1f}L{LABEL_X - 12} {beside:.1f}H{LABEL_X - 5}" fill="none" stroke="{LINE}" '
        f'stroke-width="0.8"/><text x="{LABEL_X}" y="{beside + 4.5:.1f}" {TEXT} font-size="14" '
        f'font-weight="{weight}" fill="{colour}">{mark}{escape(_words(layer))}</text>'
        f'<text x="{WIDTH - 2}" y="{beside + 4.5:.1f}" {TEXT} font-size="14" text-anchor="end" '
        f'font-weight="{weight}" fill="{colour}">{escape(layer.reading)}</text>'
    )


def _spread(places: Sequence[float], bottom: float) -> list[float]:
    """Places for labels, from the bottom up: as near as can be to where they belong, never over each other."""
    spread = [min(place, bottom - 4.0) for place in places]
    for k in range(1, len(spread)):
        spread[k] = min(spread[k], spread[k - 1] - LABEL_STEP)
    lowest = float(TOP) - 4
    for k in reversed(range(len(spread))):
        spread[k] = max(spread[k], lowest)
        lowest = spread[k] + LABEL_STEP
    return spread


def _words(layer: Portion) -> str:
    return "too much" if layer.state == "over" else layer.name


def _state_words(layer: Portion) -> str:
    return "poured too much" if layer.state == "over" else layer.state
