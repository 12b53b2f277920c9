"""The card log: what the shop has sprayed of a colour before, and which variant to try first."""

from __future__ import annotations

import base64
import datetime
import io
import os
import re
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, slider_field, text_field, tick_field
from refinishlib.colour.tolerance import VERDICTS
from refinishlib.entry import BadEntry
from refinishlib.job.card_log import Card, cards_of, first_to_try, read_log, with_card
from refinishlib.picture.table import html_table
from refinishlib.shop.shop import Shop, load
from refinishlib.units import METRIC, ShopUnits, parse

LOG = Path("cards.csv")
COLOUR = "Kiln Red"
GREY, DARKEST, LIGHTEST, GREY_STEP = 56, 36, 90, 2
COATS = 3
FILM_UM = 6.0
NOT_NAMED = "not named"
PHOTOS, PHOTO = "photos", "photo"
LARGEST_PHOTO, SMALL_PHOTO, MOST_PHOTOS = 1600, 220, 8

SOURCES = {
    "LOG": "definition",
    "COLOUR": "definition",
    "GREY": "teaching value: where the slider stands first",
    "DARKEST": "teaching value: about the range of the demo's sealers",
    "LIGHTEST": "teaching value: about the range of the demo's sealers",
    "GREY_STEP": "teaching value: what a slider moves by",
    "COATS": "teaching value: where the slider stands first",
    "NOT_NAMED": "definition",
    "PHOTOS": "definition",
    "PHOTO": "definition",
    "LARGEST_PHOTO": "teaching value: pixels at the longer side, enough to see orange peel",
    "SMALL_PHOTO": "teaching value: pixels at the longer side on the screen",
    "MOST_PHOTOS": "teaching value: as many as stand on a screen",
    "FILM_UM": "teaching value: dry film of one coat of base",
}


def CardLog(
    colour: str = COLOUR,
    *,
    log: Path = LOG,
    remember: bool = True,
    shop: Shop | None = None,
    units: ShopUnits = METRIC,
) -> Calculator:
    """The card log as a widget; the cards are lines of one plain file.

    log : the file, made when the first card is added

    >>> CardLog(log=Path("there is none.csv"), remember=False).shown.figure
    'No card yet'
    """
    here = shop or load()
    names = list(dict.fromkeys(one.name for one in here.colours))
    variants = list(dict.fromkeys(one.variant for one in here.colours))

    def show(
        colour: str,
        grey: float,
        variant: str,
        verdict: str,
        difference: float | str,
        vehicle: str,
        coats: float,
        film: float,
        gun: str,
        cleared: bool,
        note: str,
    ) -> Reply:
        cards = read_log(text, file=log.name) if (text := _text(log)) else ()
        first, found = first_to_try(cards, colour, grey_lightness=grey), cards_of(cards, colour)
        table = html_table(
            ("day", "variant", "grey", "verdict", "off by", "vehicle", "note"),
            [
                (
                    one.date,
                    one.variant,
                    f"L* {one.grey_lightness:g}",
                    f"{one.verdict}{'' if one.cleared else ', not cleared'}",
                    "" if one.difference is None else f"{one.difference:.2f}",
                    one.vehicle,
                    one.note,
                )
                for one in found
            ],
            caption=f"Cards of {colour}, the newest first",
        )
        return Reply(
            figure=first.variant or "No card yet",
            lead=f"{colour} over L* {grey:g}, first to try:",
            reason=f"{first.why} {first.not_a_proof}",
            about=f'<div class="refinish-words">{table}</div>{_photos(log.parent / PHOTOS, found)}' if found else "",
            text="\n".join(f"{one.date} {one.colour}, {one.variant}: {one.verdict}" for one in found),
            summary=f"{colour}, L* {grey:g}",
            tasks=("spray the stepped card",),
            hands={"undercoat": f"{grey:g}"},
        )

    def add(_: object) -> None:
        if any(one.reading is None for one in fields.values()):
            return
        said = {name: one.reading for name, one in fields.items()}
        day = datetime.date.today().isoformat()
        try:
            said["note"] = _with_photo(said["note"], photo.value, log.parent / PHOTOS, day)
        except BadEntry as bad:
            fields["note"].complain(str(bad))
            return
        card = Card(
            day, said["colour"], said["variant"], float(said["grey"]), int(said["coats"]),
            said["film"], said["cleared"], said["gun"], said["vehicle"], said["verdict"],
            None if said["difference"] == "" else said["difference"], said["note"],
        )  # fmt: skip
        try:
            _keep(log, with_card(_text(log), card))
        except BadEntry as bad:
            fields["note"].complain(str(bad))
        except OSError as error:
            fields["note"].complain(f"{log.name}: it cannot be written here ({error.strerror}); nothing was added.")
        else:
            photo.value = ()
            calculator.again()

    photo = widgets.FileUpload(accept="image/*", description="Photo, if you like")
    photo.add_class("refinish-photo")
    button = widgets.Button(description="Add this card")
    button.add_class("refinish-go")
    button.on_click(add)
    fields = {
        "colour": choice_field("Colour", names, colour),
        "grey": slider_field("Grey under it, L*", DARKEST, LIGHTEST, GREY, step=GREY_STEP),
        "variant": choice_field("Variant sprayed", variants),
        "verdict": choice_field("Beside the vehicle it", list(VERDICTS)),
        "difference": text_field("Read, CIEDE2000", _difference, "", hint="May stay empty."),
        "vehicle": text_field("Vehicle", _named, "", hint="As the shop calls it; may stay empty."),
        "coats": slider_field("Coats", 1, 6, COATS),
        "film": text_field(
            "Film of one coat",
            lambda text: units.read(text, "film", field="Film of one coat", low=0.1, high=100),
            units.say(FILM_UM, "film"),
        ),
        "gun": text_field("Gun", _named, ""),
        "cleared": tick_field("It was cleared", True),
        "note": text_field("Note", _words, ""),
    }
    calculator = Calculator(
        "cards",
        "Card log",
        fields,
        show,
        rare=("vehicle", "coats", "film", "gun", "cleared", "note"),
        carries={"undercoat": "grey", "vehicle": "vehicle", "coats": "coats"},
        buttons=[button, photo],
        remember=remember,
    )
    return calculator


def _with_photo(note: str, uploads: Sequence[Any], folder: Path, day: str) -> str:
    """The note with the name of the photo, which is kept smaller and without what else a phone writes into it.

    Raises
    ------
    BadEntry : what is no picture, or too large; a folder that cannot be written in
    """
    if not uploads:
        return note
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(uploads[0]["content"])) as found:
            upright = ImageOps.exif_transpose(found).convert("RGB")
            upright.thumbnail((LARGEST_PHOTO, LARGEST_PHOTO))
        folder.mkdir(parents=True, exist_ok=True)
        number = len(list(folder.glob(f"{day}-*.jpg"))) + 1
        upright.save(folder / f"{day}-{number}.jpg", quality=85)
    except (OSError, ValueError, Image.DecompressionBombError):
        raise BadEntry("Photo: this file was given, allowed is a picture of up to 8 MB; nothing was added.") from None
    return f"{note} {PHOTO} {day}-{number}.jpg".strip()


def _photos(folder: Path, cards: Sequence[Card]) -> str:
    """Small pictures of the newest cards that have one."""
    from PIL import Image

    drawn: list[str] = []
    for one in cards:
        found = re.search(rf"{PHOTO} (\d{{4}}-\d\d-\d\d-\d+\.jpg)$", one.note)
        if not found or len(drawn) == MOST_PHOTOS:
            continue
        try:
            with Image.open(folder / found[1]) as photo:
                photo.thumbnail((SMALL_PHOTO, SMALL_PHOTO))
                small = io.BytesIO()
                photo.save(small, "JPEG", quality=80)
        except (OSError, ValueError):
            continue
        words = f"{one.date}, {one.variant}: {one.verdict}"
        coded = base64.b64encode(small.getvalue()).decode()
        drawn.append(
            f'<figure><img alt="Photo of the card. {escape(words)}" src="data:image/jpeg;base64,{coded}">'
            f"<figcaption>{escape(words)}</figcaption></figure>"
        )
    return f'<div class="refinish-photos">{"".join(drawn)}</div>' if drawn else ""


def _text(log: Path) -> str:
    try:
        return log.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError):
        raise BadEntry(f"{log.name}: it cannot be read, allowed is a plain text; put back the last copy.") from None


def _keep(log: Path, text: str) -> None:
    """Write it whole or not at all: a log that ends in the middle of a line would be lost."""
    fresh = log.with_suffix(f".{os.getpid()}.new")
    fresh.write_text(text, encoding="utf-8")
    fresh.replace(log)


def _words(text: str) -> str:
    return " ".join(text.split())


def _named(text: str) -> str:
    return _words(text) or NOT_NAMED


def _difference(text: str) -> float | str:
    return parse(text, "number", field="Read, CIEDE2000", low=0, high=50) if text.strip() else ""
