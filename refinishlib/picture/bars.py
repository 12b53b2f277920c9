"""Bars that explain one step of a calculation, as SVG that follows the theme."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, ROW, LABEL_WIDTH, VALUE_WIDTH = 700, 30, 200, 190
BAR = "var(--jp-brand-color1, #1976d2)"
SOFT = "var(--jp-border-color1, #bdbdbd)"
WARN = "var(--jp-error-color1, #b71c1c)"
INK = "var(--jp-ui-font-color1, #1a1a1a)"
FONT = 'font-family="var(--jp-ui-font-family, sans-serif)" font-size="14"'


@dataclass(frozen=True)
class Bar:
    """One bar: what it is, where it starts, how long it is, and the words at its end.

    look : "plain", "soft" (for comparison) or "warn" (what went wrong)
    """

    label: str
    length: float
    words: str
    start: float = 0.0
    look: str = "plain"


def bars(rows: Sequence[Bar], title: str, *, limit: float | None = None, limit_words: str = "") -> str:
    """Bars below each other on one scale, with a title above and, if wanted, a limit as a line across.

    Lengths and starts are in one unit, 0 or more. The text alternative says every bar in words.

    >>> bars([Bar("white", 3, "3 g")], "One toner").startswith('<svg role="img"')
    True
    """
    longest = max([bar.start + bar.length for bar in rows] + ([limit] if limit else []))
    scale = (WIDTH - LABEL_WIDTH - VALUE_WIDTH) / longest if longest else 0.0
    height = 30 + ROW * len(rows) + (20 if limit else 0)
    drawn = "".join(_bar(bar, 30 + ROW * index, scale) for index, bar in enumerate(rows))
    line = _limit(LABEL_WIDTH + limit * scale, 30 + ROW * len(rows), limit_words) if limit else ""
    said = "; ".join(f"{bar.label}: {bar.words}" for bar in rows) + (f"; limit: {limit_words}" if limit else "")
    return (
        f'<svg role="img" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'style="max-width:100%;height:auto" xmlns="http://www.w3.org/2000/svg"><title>{escape(title)}</title>'
        f'<desc>{escape(said)}</desc><text x="0" y="16" {FONT} font-weight="600" fill="{INK}">{escape(title)}</text>'
        f"{line}{drawn}</svg>"
    )


def _bar(bar: Bar, top: float, scale: float) -> str:
    colour = {"plain": BAR, "soft": SOFT, "warn": WARN}[bar.look]
    x, width = LABEL_WIDTH + bar.start * scale, max(bar.length * scale, 1.5)
    # The words are drawn with an edge in the page's own colour, so that a limit line never crosses them.
    edge = 'stroke="var(--jp-layout-color1, #fff)" stroke-width="4" paint-order="stroke"'
    return (
        f'<text x="0" y="{top + 17}" {FONT} fill="{INK}">{escape(bar.label)}</text>'
        f'<rect x="{x:.1f}" y="{top + 3}" width="{width:.1f}" height="{ROW - 10}" rx="2" fill="{colour}"/>'
        f'<text x="{x + width + 8:.1f}" y="{top + 17}" {FONT} {edge} fill="{INK}">{escape(bar.words)}</text>'
    )


def _limit(x: float, bottom: float, words: str) -> str:
    return (
        f'<path d="M{x:.1f} 26V{bottom}" stroke="{WARN}" stroke-width="2" stroke-dasharray="5 3"/>'
        f'<text x="{x:.1f}" y="{bottom + 14}" {FONT} fill="{INK}" text-anchor="middle">{escape(words)}</text>'
    )
