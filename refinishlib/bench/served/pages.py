"""The pages of the bench as HTML: what stands around a calculator, home, this job, shop and units."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from string import Template
from typing import Any

from refinishlib.bench.registry import CALCULATORS, JOB
from refinishlib.units import CHOSEN, ON_SCREEN, ShopUnits, unit_names

# Of the job, what needs more than one line.
LONG = ("ends", "notes")
KIND_WORDS = {"volume": "Volumes", "film": "Films", "temperature": "Temperatures", "area": "Areas"}

SOURCES = {"LONG": "definition", "KIND_WORDS": "definition", "HALF": "definition"}

# Half light, half dark, drawn, since not every machine has the sign among its letters.
HALF = (
    '<svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true"><circle cx="10" cy="10" r="7.5" fill="none" '
    'stroke="currentColor" stroke-width="1.8"/><path d="M10 2.5a7.5 7.5 0 0 1 0 15Z" fill="currentColor"/></svg>'
)

WHOLE = Template("""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title><link rel="stylesheet" href="$css"><link rel="icon" href="data:,"></head>
<body><header class="refinish-top"><h1>$title</h1>
<nav><a href="$at?all">All calculators</a><a href="$at/this-job">This job</a><a href="$at/shop">Shop</a>
<button type="button" id="theme" aria-label="Light or dark" title="Light or dark">$moon</button></nav></header>
<main>$main</main>
<script>
const look = document.documentElement.dataset;
const kept = { get: (name) => { try { return localStorage.getItem(name); } catch {} },
               set: (name, value) => { try { localStorage.setItem(name, value); } catch {} } };
if (kept.get("refinish: theme")) look.refinishTheme = kept.get("refinish: theme");
document.getElementById("theme").addEventListener("click", () => {
  const dark = look.refinishTheme ? look.refinishTheme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  look.refinishTheme = dark ? "light" : "dark";
  kept.set("refinish: theme", look.refinishTheme);
});
const here = location.pathname.replace(/\\/$$/, "");
if (document.getElementById("calculator")) kept.set("refinish: last", here);
// Whoever comes to the bench comes to the calculator that was used last, and from there to all of them.
const last = kept.get("refinish: last");
if (here === "$at" && !new URLSearchParams(location.search).has("all") && last) location.replace(last);
</script>$script</body></html>
""")


def whole(title: str, main: str, *, at: str, css: str, script: str = "") -> str:
    """A page with its heading, its ways to the others, and the switch between light and dark."""
    return WHOLE.substitute(title=escape(title), main=main, moon=HALF, at=escape(at), css=escape(css), script=script)


def script(source: str, about: Mapping[str, Any]) -> str:
    """A script and what it has to know."""
    data = json.dumps(about).replace("<", "\\u003c")
    plain = f'<script type="application/json" id="about">{data}</script>'
    return f'{plain}<script type="module" src="{escape(source)}"></script>'


def home(at: str, values: Mapping[str, str], faults: Sequence[str]) -> str:
    """A tile for each calculator, in the order of a job, below the job that is on."""
    tiles = "".join(
        f'<li><a href="{escape(at)}/{one.key}"><b>{escape(one.title)}</b><span>{escape(one.task)}</span></a></li>'
        for one in CALCULATORS
    )
    said = [values[name] for name in ("vehicle", "panel", "colour") if values.get(name)]
    on = f"The job: {', '.join(said)}." if said else "No job is begun. Any calculator works without one."
    return (
        f'{_faults(faults, f"{at}/shop")}<p class="refinish-on">{escape(on)}</p><ul class="refinish-tiles">{tiles}</ul>'
    )


def calculator(at: str, key: str, lesson: tuple[str, str] | None) -> str:
    """The place of one calculator, the list of all beside it, and the way to the lesson that teaches it."""
    rows = "".join(
        f'<li><a href="{escape(at)}/{one.key}"{_here(one.key == key)}>{escape(one.title)}</a></li>'
        for one in CALCULATORS
    )
    way = ""
    if lesson:
        title, where = lesson
        way = f'<p class="refinish-on"><a href="{escape(where)}">The lesson to it: {escape(title)}</a></p>'
    beside = f'<nav class="refinish-list" aria-label="Calculators"><ul>{rows}</ul></nav>'
    return f'{beside}<div><div id="calculator"><p class="refinish-wait">One moment …</p></div>{way}</div>'


def job(values: Mapping[str, str], aside: Sequence[str]) -> str:
    """All that the job carries, each in a field, and what can be done with the whole."""
    fields = "".join(_field(name, words, values.get(name, "")) for name, words in JOB.items())
    options = "".join(f"<option>{escape(name)}</option>" for name in aside)
    taken = (
        f'<label>Put aside<select id="aside">{options}</select></label>'
        '<button type="button" id="take-up">Take it up</button>'
        if aside
        else ""
    )
    return (
        '<p class="refinish-on">The calculators fill this in. You may too. It is kept as you type.</p>'
        f'<form class="refinish-job" id="job">{fields}</form><p id="said" role="status"></p>'
        '<div class="refinish-row"><button type="button" id="print" class="refinish-first">Print</button>'
        '<button type="button" id="record">Write the record</button>'
        '<button type="button" id="put-aside">Put it aside</button>'
        '<button type="button" id="new">New job</button></div>'
        f'<div class="refinish-row">{taken}<button type="button" id="save">Save as a file</button>'
        '<label class="refinish-open">Open a file<input type="file" id="open" accept=".json"></label></div>'
    )


def shop(folder: Path | None, faults: Sequence[str], units: ShopUnits, shared_at: str) -> str:
    """Whose paints, which units, how a phone gets in."""
    whose = (
        f"The paints, sheets and prices come from <code>{escape(str(folder))}</code>."
        if folder
        else "The paints are those of the invented shop. For your own: <code>refinish bench --shop FOLDER</code>."
    )
    chosen = "".join(
        f'<label>{KIND_WORDS[kind]}<select name="{kind}">'
        + "".join(
            f'<option value="{escape(unit)}"{" selected" if unit == getattr(units, kind) else ""}>'
            f"{escape(ON_SCREEN.get(unit, unit))}</option>"
            for unit in unit_names(kind)
        )
        + "</select></label>"
        for kind in CHOSEN
    )
    return (
        f"<section><h2>Your shop</h2><p>{whose}</p>{_faults(faults)}</section>"
        "<section><h2>Units</h2><p>What you read everywhere, and what a number alone means. You may still type any "
        'unit. The scale shows grams.</p><form class="refinish-job" id="units">'
        f'{chosen}</form><p id="said" role="status"></p></section>'
        f"<section><h2>On your phone</h2>{_shared(shared_at)}</section>"
    )


def _shared(address: str) -> str:
    if not address:
        return (
            "<p>Only this machine gets in. To let the phone by the booth in: <code>refinish bench --share</code>.</p>"
        )
    import segno

    drawn = segno.make(address, error="m").svg_inline(scale=6, border=3, dark="#000", light="#fff")
    return (
        f'<p>Same network, then point the camera at this. Whoever sees it gets in.</p><div class="refinish-code" '
        f'role="img" aria-label="The address of this bench as a code">{drawn}</div>'
        f"<p><code>{escape(address)}</code></p>"
    )


def _here(is_it: bool) -> str:
    return ' aria-current="page"' if is_it else ""


def _faults(faults: Sequence[str], more: str = "") -> str:
    if not faults:
        return ""
    link = f'<p><a href="{escape(more)}">Shop and units</a></p>' if more else ""
    rows = "".join(f"<li>{escape(one)}</li>" for one in faults)
    return (
        '<div class="refinish-fault" role="alert"><b>The shop\'s files cannot be used yet. No calculator opens until '
        f"they can. Correct them, then load this page again.</b><ul>{rows}</ul>{link}</div>"
    )


def _field(name: str, words: str, value: str) -> str:
    if name in LONG:
        box = f'<textarea name="{name}" rows="3">{escape(value)}</textarea>'
        return f'<label class="refinish-wide">{escape(words)}{box}</label>'
    return f'<label>{escape(words)}<input type="text" name="{name}" value="{escape(value)}" autocomplete="off"></label>'
