"""Bars that explain one step of a calculation, as SVG that follows the theme.

A bar's label and value stand above it, not beside it, so that the letters are as large on a phone as anywhere and the
bar has the whole width. A limit is drawn through the bars only, never through words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, ROW, BAR_TOP, BAR_HEIGHT = 640, 46, 22, 16
LIMIT_ROW = 24
LOOKS = {
    "plain": "var(--refinish-accent, #653a58)",
    "soft": "var(--refinish-edge, #757a7d)",
    "warn": "var(--refinish-wrong, #8d321f)",
}
# Stripes from the top right to the bottom left, over the widest bar there can be.
STRIPES = "".join(f"M{x} 0l-{BAR_HEIGHT} {BAR_HEIGHT}" for x in range(8, WIDTH + BAR_HEIGHT, 8))
INK = "var(--refinish-ink, currentColor)"
FONT = 'font-family="var(--refinish-font, system-ui, sans-serif)" font-size="14"'


@dataclass(frozen=True)
class Bar:
    """One bar: what it is, where it starts, how long it is, and the words at its end.

    look : "plain", "soft" (for comparison), "warn" (what went wrong) or "later" (not there yet: hatched, not faded)
    """

    label: str
    length: float
    words: str
    start: float = 0.0
    look: str = "plain"


def bars(rows: Sequence[Bar], title: str, *, limit: float | None = None, limit_words: str = "") -> str:
    """Bars below each other on one scale, with a title above and, if wanted, a limit as a line across.

    Lengths and starts are in one unit, 0 or more. The text alternative says every bar in words.

    >>> '<svg role="img"' in bars([Bar("white", 3, "3 g")], "One toner")
    True
    """
    longest = max([bar.start + bar.length for bar in rows] + ([limit] if limit else [])) or 1.0
    height = ROW * len(rows) + (LIMIT_ROW if limit else 0)
    drawn = "".join(_bar(bar, ROW * index, longest) for index, bar in enumerate(rows))
    line = _limit(limit / longest, len(rows), limit_words) if limit else ""
    said = "; ".join(f"{bar.label}: {bar.words}" for bar in rows) + (f"; limit: {limit_words}" if limit else "")
    return (
        f'<figure class="refinish-bars" style="margin: 0; max-width: {WIDTH}px"><figcaption style="font-weight: 600; '
        f'margin-bottom: 8px">{escape(title)}</figcaption><svg role="img" width="100%" height="{height}" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(title)}</title><desc>{escape(said)}</desc>{drawn}{line}'
        f"</svg></figure>"
    )


def _bar(bar: Bar, top: float, longest: float) -> str:
    x, width = 100 * bar.start / longest, 100 * bar.length / longest
    return (
        f'<text x="0" y="{top + 15}" {FONT} fill="{INK}">{escape(bar.label)}</text>'
        f'<text x="100%" y="{top + 15}" {FONT} font-weight="600" text-anchor="end" fill="{INK}">{escape(bar.words)}'
        f"</text>{_hatched(x, top + BAR_TOP, width) if bar.look == 'later' else _filled(bar, x, top + BAR_TOP, width)}"
    )


def _filled(bar: Bar, x: float, y: float, width: float) -> str:
    return (
        f'<rect x="{x:.2f}%" y="{y}" width="{max(width, 0.4):.2f}%" height="{BAR_HEIGHT}" rx="2" '
        f'fill="{LOOKS[bar.look]}"/>'
    )


def _hatched(x: float, y: float, width: float) -> str:
    """Drawn by lines: a pattern needs a name, and a name in a hidden part of the page leaves the others unpainted."""
    return (
        f'<svg x="{x:.2f}%" y="{y}" width="{max(width, 0.4):.2f}%" height="{BAR_HEIGHT}"><path d="{STRIPES}" '
        f'stroke="{LOOKS["soft"]}" stroke-width="2"/></svg><rect x="{x:.2f}%" y="{y}" width="{max(width, 0.4):.2f}%" '
        f'height="{BAR_HEIGHT}" rx="2" fill="none" stroke="{LOOKS["soft"]}" stroke-width="1.5"/>'
    )


def _limit(at: float, rows: int, words: str) -> str:
    """A stroke through each bar, with an edge in the colour of the sheet, and its words below on the side with room."""
    x = f"{100 * at:.2f}%"
    strokes = "".join(
        f'<line x1="{x}" x2="{x}" y1="{top - 3}" y2="{top + BAR_HEIGHT + 3}" stroke="{colour}" stroke-width="{wide}"/>'
        for top in (ROW * index + BAR_TOP for index in range(rows))
        for colour, wide in (("var(--refinish-sheet, #fbfaf6)", 6), (INK, 2.5))
    )
    anchor = "start" if at < 1 / 3 else "end" if at > 2 / 3 else "middle"
    y = ROW * rows + 15
    return f'{strokes}<text x="{x}" y="{y}" {FONT} text-anchor="{anchor}" fill="{INK}">▲ {escape(words)}</text>'
