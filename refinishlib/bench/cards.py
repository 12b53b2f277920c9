"""The card log: what the shop has sprayed of a colour before, and which variant to try first."""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import ipywidgets as widgets

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, slider_field, text_field, tick_field
from refinishlib.colour.tolerance import VERDICTS
from refinishlib.entry import BadEntry
from refinishlib.job.card_log import Card, cards_of, first_to_try, read_log, with_card
from refinishlib.picture.table import html_table
from refinishlib.shop.shop import Shop, load
from refinishlib.units import parse

LOG = Path("cards.csv")
COLOUR = "Kiln Red"
GREY, DARKEST, LIGHTEST, GREY_STEP = 56, 36, 90, 2
COATS = 3
FILM = "6 µm"
NOT_NAMED = "not named"

SOURCES = {
    "LOG": "definition",
    "COLOUR": "definition",
    "GREY": "teaching value: where the slider stands first",
    "DARKEST": "teaching value: about the range of the demo's sealers",
    "LIGHTEST": "teaching value: about the range of the demo's sealers",
    "GREY_STEP": "teaching value: what a slider moves by",
    "COATS": "teaching value: where the slider stands first",
    "NOT_NAMED": "definition",
    "FILM": "teaching value: dry film of one coat of base",
}


def CardLog(colour: str = COLOUR, *, log: Path = LOG, remember: bool = True, shop: Shop | None = None) -> Calculator:
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
            about=f'<div class="refinish-words">{table}</div>' if found else "",
            text="\n".join(f"{one.date} {one.colour}, {one.variant}: {one.verdict}" for one in found),
            summary=f"{colour}, L* {grey:g}",
            tasks=("spray the stepped card",),
            hands={"undercoat": f"{grey:g}"},
        )

    def add(_: object) -> None:
        if any(one.reading is None for one in fields.values()):
            return
        said = {name: one.reading for name, one in fields.items()}
        card = Card(
            datetime.date.today().isoformat(), said["colour"], said["variant"], float(said["grey"]), int(said["coats"]),
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
            calculator.again()

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
        "film": text_field("Film of one coat", _film, FILM),
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
        buttons=[button],
        remember=remember,
    )
    return calculator


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


def _film(text: str) -> float:
    return parse(text, "film", field="Film of one coat", low=0, high=100, above_low=True)
