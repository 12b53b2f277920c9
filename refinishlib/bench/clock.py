"""The booth clock: the air, the coats, the timeline, what breaks and what to change, and the first and last start."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

import ipywidgets as widgets

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, slider_field, text_field
from refinishlib.booth.advice import Clock, Row, Scan, booth_clock, scan_starts
from refinishlib.booth.breaks import Break, clock_time
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.day import steady_day
from refinishlib.entry import BadEntry
from refinishlib.picture.bars import Bar, bars
from refinishlib.shop.product import ProductSheet
from refinishlib.shop.shop import Shop, load
from refinishlib.units import METRIC, ShopUnits, parse

AIR_C, HUMIDITY, START = 21.0, "55 %", "13:30"
MS_PER_MIN = 60_000
GROUND, COLOUR, CLEAR = "grey sealer", "water base", "clear"
NONE = "none"
COLOUR_COATS, CLEAR_COATS = 3, 2
ENDS = ("bake", "air dry")
MATERIALS = ("steel", "aluminium", "plastic")

SOURCES = {
    "AIR_C": "teaching value: an ordinary booth",
    "HUMIDITY": "teaching value: an ordinary booth",
    "START": "teaching value: an afternoon",
    "MS_PER_MIN": "definition",
    "GROUND": "invented for the demo",
    "COLOUR": "invented for the demo",
    "CLEAR": "invented for the demo",
    "NONE": "definition",
    "COLOUR_COATS": "teaching value: where the slider stands first",
    "CLEAR_COATS": "teaching value: where the slider stands first",
    "ENDS": "definition",
    "MATERIALS": "definition",
}


def BoothClock(
    air: str = "",
    humidity: str = HUMIDITY,
    start: str = START,
    *,
    remember: bool = True,
    shop: Shop | None = None,
    units: ShopUnits = METRIC,
) -> Calculator:
    """The booth clock as a widget, beginning with this air (21 °C if not given) and this start.

    One button lets it run from now on.

    >>> BoothClock(remember=False).shown.lead
    'Begun at 13:30, it ends at'
    """
    here = shop or load()
    sheets = {sheet.name: sheet for sheet in here.products}
    on_now: list[list[Row]] = [[]]  # the rows of what is shown, for the button that starts them
    running = widgets.HTML()
    running.layout.display = "none"

    def temperature(field: str) -> Callable[[str], float]:
        return lambda text: units.read(text, "temperature", field=field, low=0, high=50)

    def run(steps: Any) -> None:
        """Show these steps as a clock that runs; none takes it away."""
        found = _steps(steps)
        running.value = _running(found)
        running.layout.display = None if found else "none"
        start_it.description = "Stop the clock" if found else "Start the clock now"

    def tapped(_: Any) -> None:
        rows = on_now[0]
        steps = [] if running.value or not rows else _from_now(rows, time.time() * 1000)
        calculator.page.keep("running", steps)
        run(steps)

    def show(
        air: float,
        humidity: float,
        panel: float | str,
        start: float,
        ground: str,
        colour: str,
        coats: float,
        clear: str,
        clear_coats: float,
        end: str,
        material: str,
    ) -> Reply:
        plan = Plan(
            steps_for(_coatings(sheets, ground, colour, int(coats), clear, int(clear_coats)), end),
            steady_day(air, humidity, None if isinstance(panel, str) else panel),
            start_min=start,
            material=material,
        )
        clock, scan = booth_clock(plan), scan_starts(plan)
        on_now[0] = list(clock.rows)
        what = [name for name in (ground, colour, clear) if name != NONE]
        summary = f"{units.say(air, 'temperature')}, {humidity:g} %, {clock_time(start)}, {', '.join(what)}"
        return Reply(
            figure=clock_time(clock.ends_min),
            lead=f"Begun at {clock_time(start)}, it ends at",
            reason=clock.checked.sentence,
            picture=_timeline(clock),
            detail=_breaks(clock.breaks),
            about=f"<p><b>When to begin.</b> {escape(scan.sentence)}</p>",
            text=_text(clock, scan, summary),
            summary=summary,
            tasks=tuple(clock.checked.cautions),
        )

    base = [name for name, sheet in sheets.items() if "base" in name]
    clears = [name for name in sheets if "clear" in name]
    sealers = [name for name in sheets if "sealer" in name or "primer" in name]
    fields = {
        "air": text_field(
            "Air in the booth",
            temperature("Air in the booth"),
            air or units.say(AIR_C, "temperature"),
            hint="Such as 21 °C or 70 °F.",
        ),
        "humidity": text_field("Humidity", _humidity, humidity),
        "panel": text_field(
            "Panel",
            lambda text: temperature("Panel")(text) if text.strip() else "",
            "",
            hint="Its temperature; empty: as warm as the air.",
        ),
        "start": text_field("Begin at", _minutes, start, hint="Such as 13:30."),
        "ground": choice_field("Sealer or primer", [NONE, *sealers], GROUND if GROUND in sealers else NONE),
        "colour": choice_field("Colour", [NONE, *base], COLOUR if COLOUR in base else NONE),
        "coats": slider_field("Coats of colour", 1, 6, COLOUR_COATS),
        "clear": choice_field("Clear", [NONE, *clears], CLEAR if CLEAR in clears else NONE),
        "clear_coats": slider_field("Coats of clear", 1, 3, CLEAR_COATS),
        "end": choice_field("Then", list(ENDS)),
        "material": choice_field("The panel is of", list(MATERIALS)),
    }
    start_it = widgets.Button(description="Start the clock now")
    start_it.add_class("refinish-go")
    start_it.on_click(tapped)
    calculator = Calculator(
        "clock",
        "Booth clock",
        fields,
        show,
        rare=("clear_coats", "end", "material", "ground"),
        names={
            "air temperature": "air",
            "humidity": "humidity",
            "panel temperature": "panel",
            "start": "start",
            "products": "colour",
        },
        carries={"air": "air", "humidity": "humidity", "panel_temperature": "panel", "coats": "coats"},
        buttons=[start_it],
        below=[running],
        more={"running": run},
        remember=remember,
    )
    return calculator


def _from_now(rows: Sequence[Row], now_ms: float) -> list[dict[str, Any]]:
    """What is done when, from this moment on."""
    begins = rows[0].begins_min
    return [
        {
            "label": row.label,
            "begins_ms": round(now_ms + (row.begins_min - begins) * MS_PER_MIN),
            "ends_ms": round(now_ms + (row.ends_min - begins) * MS_PER_MIN),
        }
        for row in rows
    ]


def _steps(found: Any) -> list[dict[str, Any]]:
    """Steps as they were kept; none where that is not what came back."""
    if not isinstance(found, list):
        return []
    whole = all(
        isinstance(one, dict)
        and isinstance(one.get("label"), str)
        and all(isinstance(one.get(name), int) for name in ("begins_ms", "ends_ms"))
        for one in found
    )
    return found if whole else []


def _running(steps: Sequence[dict[str, Any]]) -> str:
    if not steps:
        return ""
    plan = escape(json.dumps(steps), quote=True)
    parts = "".join(f'<div data-part="{name}"></div>' for name in ("now", "left", "next"))
    return f'<div class="refinish-run refinish-screen-only" role="timer" data-refinish-clock="{plan}">{parts}</div>'


def _coatings(
    sheets: Mapping[str, ProductSheet], ground: str, colour: str, coats: int, clear: str, clear_coats: int
) -> list[Coating]:
    asked = ((ground, None), (colour, coats), (clear, clear_coats))
    found = [Coating(sheets[name], count) for name, count in asked if name != NONE]
    if not found:
        raise BadEntry("products: none was given, allowed is at least one that is sprayed.")
    return found


def _timeline(clock: Clock) -> str:
    looks = {"coat": "plain", "bake": "warn", "air dry": "warn"}
    begins = clock.rows[0].begins_min
    rows = [
        Bar(
            row.label,
            row.ends_min - row.begins_min,
            f"{clock_time(row.begins_min)}, {row.ends_min - row.begins_min:.0f} min",
            start=row.begins_min - begins,
            look=looks.get(row.action, "soft"),
        )
        for row in clock.rows
    ]
    return bars(rows, f"From {clock_time(begins)} to {clock_time(clock.ends_min)}")


def _breaks(found: Sequence[Break]) -> str:
    rows = "".join(
        f"<li><b>{escape(one.label)}.</b> {escape(one.sentence)}"
        + (f" {escape(one.changes[0].words)}" if one.changes else "")
        + "</li>"
        for one in found
    )
    return f"<p><b>What breaks, and what to change</b></p><ul>{rows}</ul>" if rows else ""


def _text(clock: Clock, scan: Scan, summary: str) -> str:
    lines = [f"{clock_time(row.begins_min)} {row.label}" for row in clock.rows]
    return "\n".join([summary, *lines, clock.checked.sentence, scan.sentence])


def _humidity(text: str) -> float:
    return parse(text, "percent", field="Humidity", low=1, high=100)


def _minutes(text: str) -> float:
    """Minutes after midnight of a time of the day.

    >>> _minutes("13:30"), _minutes("9.05")
    (810.0, 545.0)
    """
    found = re.fullmatch(r"\s*([01]?[0-9]|2[0-3])[:.h]([0-5][0-9])\s*", text, re.ASCII)
    if not found:
        raise BadEntry(f"Begin at: {text[:40]!r} was given, allowed is a time from 0:00 to 23:59, such as 13:30.")
    return float(int(found[1]) * 60 + int(found[2]))
