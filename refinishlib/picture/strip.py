"""Panels as an unrolled strip along the side of the car, and how far colour and clear run on each, as SVG.

The front of the car is at the left. What lies beside the strip (a sill, a bonnet beside a wing) stands above or below
it. Lengths are true to scale along the strip; letters stay as large on a phone as anywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from html import escape

from refinishlib.picture.bars import FONT, INK, LOOKS, STRIPES, WIDTH
from refinishlib.shop.vehicle import Panel, Seam, Vehicle, neighbours

# Metres along the strip to hundredths of its width.
Place = Callable[[float], float]

HEIGHT, BESIDE, GAP, NAMES = 96, 40, 4, 50
SLICES = 10
LINE = 14
NARROW = 18.0

SOURCES = {
    "HEIGHT": "definition",
    "BESIDE": "definition",
    "GAP": "definition",
    "NAMES": "definition",
    "SLICES": "definition: steps that a fade is drawn in",
    "LINE": "definition",
    "NARROW": "definition: a share of the strip, in hundredths, that a word of seven letters needs on a phone",
}


@dataclass(frozen=True)
class _Piece:
    """A panel on the strip: from and to in metres along it, and from which side colour comes on."""

    name: str
    begins_m: float
    ends_m: float
    comes_from: str = ""


def strip(vehicle: Vehicle, panel: Panel, colour_m: Mapping[str, float], cleared: Collection[str], title: str) -> str:
    """The repaired panel with those around it.

    Parameters
    ----------
    vehicle, panel : the car, and which panel is repaired
    colour_m : how far colour runs on each panel that gets some, metres from the edge that it comes over
    cleared : names of the panels that get clear
    title : stands above the strip

    >>> from refinishlib.shop.shop import load
    >>> car = load().vehicle
    >>> door = car.panel("left rear door")
    >>> drawn = strip(car, door, {"left rear door": 0.95, "left quarter panel": 0.4}, ["left front door"], "A plan")
    >>> "left quarter panel: colour to 0.40 m" in drawn, "left front door: clear only" in drawn
    (True, True)
    """
    row, beside = _laid_out(vehicle, panel, {*colour_m, *cleared})
    begins, ends = row[0].begins_m, row[-1].ends_m

    def x(at_m: float) -> float:
        return 100 * (at_m - begins) / (ends - begins)

    above = BESIDE + GAP if any(one.comes_from == "below" for one in beside) else 0
    below = BESIDE + GAP if any(one.comes_from == "above" for one in beside) else 0
    top = NAMES + above
    drawn = [_names(piece.name, x(piece.begins_m), x(piece.ends_m), top=0) for piece in row]
    for piece in row:
        run = colour_m.get(piece.name)
        drawn.append(_panel(piece, run, piece.name in cleared, x, top, HEIGHT, piece.name == panel.name))
    for piece in beside:
        at = NAMES if piece.comes_from == "below" else top + HEIGHT + GAP
        whole = vehicle.panel(piece.name).width_m
        drawn.append(_beside(piece, colour_m.get(piece.name), whole, piece.name in cleared, x, at))
    said = "; ".join(_said(name, vehicle.panel(name), colour_m) for name in dict.fromkeys([*colour_m, *cleared]))
    height = top + HEIGHT + below
    return (
        f'<figure class="refinish-bars" style="margin: 0; max-width: {WIDTH}px"><figcaption style="font-weight: 600; '
        f'margin-bottom: 8px">{escape(title)}</figcaption><svg role="img" width="100%" height="{height}" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(title)}</title><desc>{escape(said)}</desc>{"".join(drawn)}'
        f'</svg><p class="refinish-hint" style="margin: 4px 0 0">Front of the car at the left. Filled: colour and '
        f"clear. Striped: clear only. Empty: nothing.</p></figure>"
    )


def _laid_out(vehicle: Vehicle, panel: Panel, touched: Collection[str]) -> tuple[list[_Piece], list[_Piece]]:
    """The panels one behind the other, front to back, and those beside them."""
    row = [_Piece(panel.name, 0.0, panel.length_m, "all")]
    while (before := _next_in_line(vehicle, row[0].name, touched, ahead=True)) and row[0].name in {
        panel.name,
        *touched,
    }:
        at = row[0].begins_m
        row.insert(0, _Piece(before, at - vehicle.panel(before).length_m, at, "right"))
    while (after := _next_in_line(vehicle, row[-1].name, touched, ahead=False)) and row[-1].name in {
        panel.name,
        *touched,
    }:
        at = row[-1].ends_m
        row.append(_Piece(after, at, at + vehicle.panel(after).length_m, "left"))
    in_line = {piece.name: piece for piece in row}
    beside: list[_Piece] = []
    for name in touched:
        if name in in_line:
            continue
        over = next((other for other in neighbours(vehicle, vehicle.panel(name)) if other in in_line), panel.name)
        side = "above" if any(one.comes_from == "below" for one in beside) else "below"
        beside.append(_Piece(name, in_line[over].begins_m, in_line[over].ends_m, side))
    return row, beside


def _next_in_line(vehicle: Vehicle, name: str, touched: Collection[str], *, ahead: bool) -> str | None:
    """The panel before or behind this one: the one that is touched, else the one with the longest edge to it."""
    order = [panel.name for panel in vehicle.panels]

    def is_there(other: str, seam: Seam) -> bool:
        return seam.runs == "across" and (order.index(other) < order.index(name)) == ahead

    found = [
        (other in touched, seam.length_m, other)
        for other, seam in neighbours(vehicle, vehicle.panel(name)).items()
        if is_there(other, seam)
    ]
    return max(found)[2] if found else None


def _said(name: str, panel: Panel, colour_m: Mapping[str, float]) -> str:
    if name not in colour_m:
        return f"{name}: clear only"
    return f"{name}: colour {'all over' if colour_m[name] >= panel.length_m else f'to {colour_m[name]:.2f} m'}"


def _names(name: str, left: float, right: float, *, top: float) -> str:
    """A name above its panel, a word a line, so that it fits a narrow one."""
    words = name.split()
    x, anchor = (left + right) / 2, "middle"
    if right - left < NARROW and (left <= 0 or right >= 100):  # at an end of the strip words would be cut off
        x, anchor = (0.0, "start") if left <= 0 else (100.0, "end")
    return "".join(
        f'<text x="{x:.2f}%" y="{top + NAMES - 6 - LINE * (len(words) - 1 - at)}" {FONT} '
        f'text-anchor="{anchor}" fill="{INK}">{escape(word)}</text>'
        for at, word in enumerate(words)
    )


def _panel(piece: _Piece, run_m: float | None, cleared: bool, x: Place, top: float, height: float, whole: bool) -> str:
    left, right = x(piece.begins_m), x(piece.ends_m)
    parts = []
    if cleared or run_m is not None:
        parts.append(_striped(left, top, right - left, height))
    if run_m is not None:
        length = piece.ends_m - piece.begins_m
        run = min(run_m, length)
        if whole and run >= length:
            parts.append(_filled(left, top, right - left, height, 1.0))
        else:
            parts += _fade(piece, run, x, top, height)
    parts.append(_outline(left, top, right - left, height))
    return "".join(parts)


def _fade(piece: _Piece, run_m: float, x: Place, top: float, height: float) -> list[str]:
    """Colour from the edge inwards, thinner with each slice; over all of it where it comes from everywhere."""
    slices = []
    for at in range(SLICES):
        begin, end = run_m * at / SLICES, run_m * (at + 1) / SLICES
        here = (piece.ends_m - end, piece.ends_m - begin) if piece.comes_from == "right" else (
            piece.begins_m + begin, piece.begins_m + end
        )  # fmt: skip
        slices.append(_filled(x(here[0]), top, x(here[1]) - x(here[0]), height, 1 - at / SLICES))
    return slices


def _beside(piece: _Piece, run_m: float | None, width_m: float, cleared: bool, x: Place, top: float) -> str:
    left, right = x(piece.begins_m), x(piece.ends_m)
    parts = [_striped(left, top, right - left, BESIDE)] if cleared or run_m is not None else []
    if run_m is not None:
        run = BESIDE * min(run_m / width_m, 1.0)
        for at in range(SLICES):
            begin = run * at / SLICES
            y = top + BESIDE - begin - run / SLICES if piece.comes_from == "below" else top + begin
            parts.append(_filled(left, y, right - left, run / SLICES, 1 - at / SLICES))
    parts.append(_outline(left, top, right - left, BESIDE))
    middle = f'x="{(left + right) / 2:.2f}%" y="{top + BESIDE / 2 + 5}" {FONT} text-anchor="middle"'
    parts.append(
        f'<text {middle} stroke="var(--refinish-sheet, #fbfaf6)" stroke-width="5" fill="none">'
        f"{escape(piece.name)}</text>"
        f'<text {middle} fill="{INK}">{escape(piece.name)}</text>'
    )
    return "".join(parts)


def _filled(x: float, y: float, width: float, height: float, strength: float) -> str:
    return (
        f'<rect x="{x:.2f}%" y="{y:.1f}" width="{width:.2f}%" height="{height:.1f}" fill="{LOOKS["plain"]}" '
        f'fill-opacity="{strength:.2f}"/>'
    )


def _striped(x: float, y: float, width: float, height: float) -> str:
    """Stripes by lines, row below row, since a pattern needs a name that another drawing may have too."""
    rows = "".join(f'<path transform="translate(0 {16 * at})" d="{STRIPES}"/>' for at in range(int(height // 16) + 1))
    return (
        f'<svg x="{x:.2f}%" y="{y}" width="{width:.2f}%" height="{height}"><g stroke="{LOOKS["soft"]}" '
        f'stroke-width="1.5">{rows}</g></svg>'
    )


def _outline(x: float, y: float, width: float, height: float) -> str:
    return (
        f'<rect x="{x:.2f}%" y="{y}" width="{width:.2f}%" height="{height}" fill="none" stroke="{INK}" '
        f'stroke-width="1.5" rx="2"/>'
    )
