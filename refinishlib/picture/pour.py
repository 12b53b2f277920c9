"""The mix building up in its cup, as SVG. Words and lines follow the theme, paint does not.

The picture is as wide as there is room, and its letters are as large on a phone as anywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from math import inf
from typing import Literal

from refinishlib.mixing.progress import Made, Step
from refinishlib.picture.ink import NO_TONER
from refinishlib.units import show

State = Literal["poured", "over", "to come"]

WIDTH = 260
LEFT, RIGHT, TOP, LEAST_HEIGHT = 8, 92, 24, 302
LABEL_X, LABEL_STEP = 114, 37
STRIPE, STRIPE_STEP = 4.0, 9.0
LETTERS = 'font-family="var(--refinish-font, system-ui, sans-serif)" font-size="14"'
INK = "var(--refinish-ink, currentColor)"
LINE = "var(--refinish-edge, #757a7d)"
WARN = "var(--refinish-wrong, #8d321f)"


@dataclass(frozen=True)
class Portion:
    """One pour in the cup, from the bottom up.

    state : "poured", "over" (the part that was too much) or "to come"
    reading : words for everything in the cup when it is in
    ink : colour of the paint as #rrggbb
    """

    name: str
    mass_g: float
    state: State
    reading: str
    ink: str = NO_TONER


def pour(stack: Sequence[Portion], *, cup_g: float = inf, words: str = "") -> str:
    """The cup with its layers, what is in drawn full and what is to come hatched, as one SVG text.

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
    bottom = TOP + max(LEAST_HEIGHT, LABEL_STEP * len(drawn) + 24)
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
            f'<path d="M{LEFT - 8} {y:.1f}H{RIGHT + 8}" stroke="{WARN}" stroke-width="3"/>'
            f'<text x="0" y="13" {LETTERS} font-weight="600" fill="{WARN}">cup is full at the line</text>'
        )
    return (
        f'<svg role="img" width="100%" height="{bottom + 12}" style="max-width: {WIDTH}px" '
        f'xmlns="http://www.w3.org/2000/svg"><title>The mix in its cup</title>'
        f"<desc>{escape(words or describe(drawn))}</desc>{''.join(shapes)}{cup}{lines}</svg>"
    )


def layers(pours: Sequence[Made], steps: Sequence[Step], decimals: int, inks: Mapping[str, str]) -> tuple[Portion, ...]:
    """What was poured and what is to come, as layers; a pour that went over is drawn in two.

    inks : the colour of each toner by its name, from `refinishlib.picture.ink.inks`

    >>> from refinishlib.mixing.progress import Made
    >>> stack = layers([Made(0, "white", 66.0, 66.0, 66.0, 6.0)], [], 1, {"white": "#f0f1f1"})
    >>> [(layer.mass_g, layer.state) for layer in stack]
    [(60.0, 'poured'), (6.0, 'over')]
    """
    stack = []
    for pour in pours:
        asked = show(pour.cumulative_g - pour.over_g, "g", decimals=decimals)
        stack.append(Portion(pour.name, pour.own_g - pour.over_g, "poured", asked, inks[pour.name]))
        if pour.over_g:
            reading = show(pour.cumulative_g, "g", decimals=decimals)
            stack.append(Portion(pour.name, pour.over_g, "over", reading, inks[pour.name]))
    stack += [
        Portion(step.name, step.exact_g, "to come", show(step.cumulative_g, "g", decimals=decimals), inks[step.name])
        for step in steps
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


def _layer(layer: Portion, y: float, height: float) -> str:
    x, width, tall = LEFT + 1.25, RIGHT - LEFT - 2.5, max(height, 0.8)
    if layer.state == "to come":
        return (
            f'<rect x="{x}" y="{y:.2f}" width="{width}" height="{tall:.2f}" fill="none" stroke="{LINE}" '
            f'stroke-dasharray="3 3"/>{_stripes(x, y, width, tall, layer.ink)}'
        )
    look = f'stroke="{WARN}" stroke-width="2.5"' if layer.state == "over" else f'stroke="{LINE}" stroke-width="0.7"'
    inset = 1.25 if layer.state == "over" else 0.0
    return (
        f'<rect x="{x + inset}" y="{y:.2f}" width="{width - 2 * inset}" height="{tall:.2f}" fill="{layer.ink}" {look}/>'
    )


def _stripes(x: float, y: float, width: float, height: float, paint: str) -> str:
    """Slanting stripes of a paint, edged so that white paint shows on a white sheet and black on a black one.

    Drawn line by line: a pattern needs a name, and a name in a hidden part of the page leaves the others unpainted.
    """
    inset = min(2.0, height / 4)  # the ends of a slanting stripe stand out by so much
    x, y, width, height = x + inset, y + inset, width - 2 * inset, height - 2 * inset
    lines, start = [], STRIPE_STEP / 2
    while start < width + height:
        low, high = max(0.0, start - width), min(height, start)
        if high - low > 0.01:
            lines.append(f"M{x + start - low:.1f} {y + low:.1f}L{x + start - high:.1f} {y + high:.1f}")
        start += STRIPE_STEP
    path = "".join(lines)
    return (
        f'<path d="{path}" fill="none" stroke="{LINE}" stroke-width="{STRIPE + 1.5:g}"/>'
        f'<path d="{path}" fill="none" stroke="{paint}" stroke-width="{STRIPE:g}"/>'
    )


def _label(layer: Portion, at: float, beside: float) -> str:
    mark = {"poured": "✓ ", "over": "! ", "to come": ""}[layer.state]
    colour = WARN if layer.state == "over" else INK
    weight = 400 if layer.state == "to come" else 600
    return (
        f'<path d="M{RIGHT + 2} {at:.1f}L{LABEL_X - 12} {beside:.1f}H{LABEL_X - 5}" fill="none" stroke="{LINE}" '
        f'stroke-width="0.8"/><text x="{LABEL_X}" y="{beside - 2.5:.1f}" {LETTERS} '
        f'font-weight="{weight}" fill="{colour}">{mark}{escape(_words(layer))}</text>'
        f'<text x="{LABEL_X}" y="{beside + 14:.1f}" {LETTERS} font-weight="{weight}" fill="{colour}">'
        f"{escape(layer.reading)}</text>"
    )


def _spread(places: Sequence[float], bottom: float) -> list[float]:
    """Places for labels, from the bottom up: as near as can be to where they belong, never over each other."""
    spread = [min(place, bottom - 14.0) for place in places]
    for k in range(1, len(spread)):
        spread[k] = min(spread[k], spread[k - 1] - LABEL_STEP)
    lowest = float(TOP) + 8
    for k in reversed(range(len(spread))):
        spread[k] = max(spread[k], lowest)
        lowest = spread[k] + LABEL_STEP
    return spread


def _words(layer: Portion) -> str:
    return "too much" if layer.state == "over" else layer.name


def _state_words(layer: Portion) -> str:
    return "poured too much" if layer.state == "over" else layer.state
