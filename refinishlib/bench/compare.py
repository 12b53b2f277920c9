"""Compare two colours: how far off, which way, on the face and on the flop, and whether it goes edge to edge."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, lines_field, text_field
from refinishlib.colour import doubt, fitness, lamp, predict, words
from refinishlib.colour.optics import of_formula
from refinishlib.colour.reading import Reading, at_angles, from_lab, from_spectra, in_common, lab_under
from refinishlib.colour.spectra_file import readings as of_file
from refinishlib.colour.spectra_file import samples
from refinishlib.colour.tolerance import of_kind
from refinishlib.colour.verdict import compare
from refinishlib.entry import BadEntry
from refinishlib.picture.panel import curved
from refinishlib.picture.screen import figure
from refinishlib.picture.table import html_table
from refinishlib.picture.vision import EYES, seen_by
from refinishlib.shop.paint import PAINT_KINDS
from refinishlib.shop.shop import Shop, load

PANEL, CARD = "Kiln Red, as built", "Kiln Red, darker"
OWN, SAID = "a reading of my own", "what my eye says"
NORMAL = "normal"
AS_IT_IS, METALLIC = "as the card", "metallic"
LAMPS = ("D65", "A", "FL11", lamp.DAYLIGHT_LAMP)
READINGS, CARD_READINGS = "Panel, as read", "Card, as read"
CARD_EXAMPLE = "15: 26.2 34.6 12.5\n45: 26.1 34.9 12.4\n110: 25.0 33.9 12.3"
HOW = "A line an angle: 45: 30.5 36.0 17.5. Or all of a file of spectra, CGATS.17 or CSV."
MOST_LETTERS = 200_000
EXAMPLE = "15: 26.4 35.2 12.6\n45: 26.4 35.3 12.6\n110: 25.3 34.2 12.4"

SOURCES = {
    "PANEL": "definition",
    "CARD": "definition",
    "OWN": "definition",
    "SAID": "definition",
    "NORMAL": "definition",
    "AS_IT_IS": "definition",
    "METALLIC": "common practice, no source: what most vehicles wear",
    "LAMPS": "common practice, no source: daylight, a bulb, a shop tube, and the demo's daylight lamp",
    "READINGS": "definition",
    "CARD_READINGS": "definition",
    "CARD_EXAMPLE": "invented for the demo",
    "HOW": "definition",
    "MOST_LETTERS": "teaching value: a file of a few spots and angles",
    "EXAMPLE": "invented for the demo",
}


def CompareColours(
    panel: str = PANEL, card: str = CARD, *, remember: bool = True, shop: Shop | None = None
) -> Calculator:
    """Two colours as a widget: one of the shop, a reading of one's own or words of the eye, against a card of the shop.

    >>> calculator = CompareColours(remember=False)
    >>> calculator.shown.figure, calculator.shown.lead
    ('needs a fade', 'The card, beside the panel:')
    """
    here = shop or load()
    formulas = {one.title: one for one in here.colours}

    @cache
    def sprayed(title: str) -> Reading:
        return from_spectra(predict.reflectance(of_formula(formulas[title])), name=title)

    def read(panel: str, card: Reading, typed: Reading, said: str) -> tuple[Reading, Reading]:
        if panel == OWN:
            return in_common(typed, card)
        if panel == SAID:
            heard = words.from_words(card, said)
            return heard, at_angles(words.beside(card), heard.angles_deg)
        return in_common(sprayed(panel), card)

    def show(
        panel: str, card: str, kind: str, light: str, eye: str, typed: Reading, typed_card: Reading, said: str
    ) -> Reply:
        of_card = typed_card if card == OWN else sprayed(card)
        reference, sample = read(panel, of_card, typed, said)
        known = formulas.get(card) or formulas.get(panel)
        allowed = of_kind((known.kind if known else METALLIC) if kind == AS_IT_IS else kind)  # type: ignore[arg-type]
        burning = lamp.lamp(light)
        both_spectra = reference.reflectance is not None and sample.reflectance is not None
        if not both_spectra and light != "D65":
            raise BadEntry(
                f"lamp: {light} was given, allowed is D65 for a panel without spectra: its numbers hold in daylight."
            )
        found = compare(reference, sample, allowed, lamps=(burning, *([lamp.d65()] if light != "D65" else [])))
        sure = doubt.doubted(reference, sample, allowed, lamp=burning)
        labs = lab_under(reference, burning), lab_under(sample, burning)
        picture = curved(labs[0], reference.angles_deg, below_lab=labs[1], lamp=burning)
        light_words = "" if light == "D65" else f"<p><b>The lamp.</b> {fitness.report(burning).why}</p>"
        table = html_table(
            ("angle", "off by", "verdict"),
            [
                (f"{angle}°", f"{apart:.2f}", verdict)
                for angle, apart, verdict in zip(
                    found.angles_deg, found.differences[0], found.ruling.per_angle, strict=True
                )
            ],
            caption=f"CIEDE2000 under {light}",
        )
        told = _told(found.words)
        parts = f" Under {' and '.join(found.parts_under)} it would be a worse verdict." if found.parts_under else ""
        return Reply(
            figure=found.verdict,
            lead="The card, beside the panel:",
            reason=f"{found.why} {told}{parts}",
            picture=figure(seen_by(picture, eye), short=True),
            detail=table,
            about=f"<p><b>How sure.</b> {sure.why}</p>{light_words}",
            text=f"{panel} and {card} under {light}: {found.verdict}. {found.why} {told}",
            summary=f"{panel} and {card}, {light}",
            tasks=("spray the stepped card",),
            hands={"colour": card} if card in formulas else {},
        )

    fields = {
        "panel": choice_field("The panel is", [*formulas, OWN, SAID], panel),
        "card": choice_field("The card is", [*formulas, OWN], card),
        "kind": choice_field("Judged as", [AS_IT_IS, *PAINT_KINDS], hint=f"Two readings of one's own: as {METALLIC}."),
        "light": choice_field("Under", list(LAMPS)),
        "eye": choice_field("Seen by an eye that is", [NORMAL, *EYES]),
        "typed": lines_field(READINGS, lambda text: readings(text, READINGS), EXAMPLE, rows=3, hint=HOW),
        "typed_card": lines_field(
            CARD_READINGS, lambda text: readings(text, CARD_READINGS), CARD_EXAMPLE, rows=3, hint="In the same way."
        ),
        "said": text_field(
            "What the eye says of the card", str.strip, "a little lighter, flop darker", hint=f"Counts with “{SAID}”."
        ),
    }
    for name in ("typed", "typed_card"):
        fields[name].add_class("refinish-from-file")
    return Calculator(
        "compare",
        "Compare two colours",
        fields,
        show,
        rare=("kind", "eye", "typed", "typed_card", "said"),
        names={"words": "said", "place": "said", "lamp": "light"},
        carries={"colour": "card"},
        remember=remember,
    )


def readings(text: str, field: str = READINGS) -> Reading:
    """A reading from typed lines, each an angle and L*, a*, b*; or from the whole text of a file with spectra.

    Parameters
    ----------
    text : as typed or pasted
    field : its name on the screen

    Raises
    ------
    BadEntry : a line that is not four numbers, an angle given twice, what no colour has; a file of spectra with more
        than one name, or that cannot be read

    >>> readings("15: 48,0 34,0 18,0\\n45 30.5 36 17.5").angles_deg
    (15, 45)
    """
    if len(text) > MOST_LETTERS:
        raise BadEntry(f"{field}: {len(text)} letters were given, allowed are up to {MOST_LETTERS}.")
    lines = [one.strip() for one in text.splitlines() if one.strip()]
    if len(lines) > 1 and re.search(r"[A-Za-z]{3}|\d{3}.*\d{3}.*\d{3}", lines[0]):
        return _of_file(text, field)
    rows: dict[int, tuple[float, ...]] = {}
    for line in lines:
        numbers = re.split(r"[\s;:]+", line)
        try:
            angle, *lab = (float(_plain(one)) for one in numbers)
        except ValueError:
            angle, lab = 0.0, []
        if len(lab) != 3 or angle != int(angle):
            raise BadEntry(
                f"{field}: {line[:40]!r} was given, allowed is a line with an angle and three numbers, "
                "such as 45: 30.5 36.0 17.5, or all of a file of spectra."
            )
        if int(angle) in rows:
            raise BadEntry(f"{field}: {int(angle)} degrees was given twice, allowed is each angle once.")
        rows[int(angle)] = tuple(lab)
    if not rows:
        raise BadEntry(f"{field}: nothing was given, allowed is at least one line, such as 45: 30.5 36.0 17.5.")
    try:
        return from_lab(dict(sorted(rows.items())), name=field)
    except BadEntry as bad:
        raise BadEntry(f"{field}: {bad}") from None


def _of_file(text: str, field: str) -> Reading:
    try:
        found = of_file(samples(text))
    except BadEntry as bad:
        raise BadEntry(f"{field}: {bad}") from None
    if len(found) > 1:
        names = ", ".join(repr(one.name[:20]) for one in found[:5])
        raise BadEntry(f"{field}: {len(found)} samples were given, {names}, allowed is one: paste the lines of one.")
    return found[0]


def _told(places: Sequence[str]) -> str:
    """What is said of the face, the middle and the flop; once where it is the same everywhere."""
    said = [one.partition(" the card is ") for one in places]
    if len({words for *_, words in said}) == 1 and len(said) > 1:
        return f"It is so everywhere, face and flop: {said[0][2]}."
    return " ".join(f"{one[:1].upper()}{one[1:]}." for one in places)


def _plain(word: str) -> str:
    """A number with a comma or a point, and nothing else that Python takes for one, such as nan."""
    if not re.fullmatch(r"[+-]?[0-9]{1,4}(?:[.,][0-9]{1,6})?°?", word, re.ASCII):
        raise ValueError(word)
    return word.rstrip("°").replace(",", ".")
