"""Guess first: one tap before an idea is shown, never graded, and kept to stand beside what really happens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

import ipywidgets as widgets

from refinishlib.bench.fields import EntryField, grid, live
from refinishlib.bench.page import Page, sheet
from refinishlib.course import lessons, remembered
from refinishlib.course.remembered import Memory
from refinishlib.entry import one_of
from refinishlib.shop.shop import Shop


@dataclass(frozen=True)
class Guess:
    """What will happen? One tap, and then the live picture with which it can be tried.

    question, options : what is asked, and what can be guessed
    outcome : of the shop: the option that comes true, and a sentence with the engine's numbers
    watch : of the shop: what to look at, a widget or HTML
    """

    question: str
    options: tuple[str, ...]
    outcome: Callable[[Shop], tuple[str, str]]
    watch: Callable[[Shop], Any]


def guesses(lesson: str) -> dict[str, Guess]:
    """The guesses of a lesson, by name.

    >>> list(guesses("mixing"))[0]
    'pour'
    """
    found: dict[str, Guess] = lessons.module(lesson, "guesses").GUESSES if lessons.has(lesson, "guesses") else {}
    return found


def guess(lesson: str, name: str, *, memory: Memory | None = None) -> widgets.Widget:
    """Ask for a guess; then show what happens, with the guess beside it. A guess that was made before is shown again.

    memory : what is remembered (for tests); left out, the course's folder remembers
    """
    known = guesses(lesson)
    asked = known[one_of("guess", name, known)]
    kept, place, shop = memory or remembered.of_this_notebook(), f"{lesson}/{name}", lessons.record(lesson).shop
    said, below = widgets.HTML(), widgets.VBox()
    buttons = widgets.HBox([widgets.Button(description=option) for option in asked.options])
    buttons.add_class("refinish-guesses")
    said.layout.display = below.layout.display = "none"

    def show(option: str) -> None:
        happens, why = asked.outcome(shop)
        words = "That is what you guessed." if option == happens else f"You guessed: {option}."
        said.value = (
            f'<div role="status" class="refinish-guessed"><p><b>{escape(_capital(happens))}.</b> {escape(words)}</p>'
            f"<p>{escape(_capital(why))}</p></div>"
        )
        buttons.layout.display, said.layout.display, below.layout.display = "none", None, None
        watched = asked.watch(shop)
        below.children = [watched if isinstance(watched, widgets.Widget) else widgets.HTML(watched)]

    def tapped(button: widgets.Button) -> None:
        kept.keep_guess(place, button.description)
        show(button.description)

    for button in buttons.children:
        button.on_click(tapped)
    before = kept.guess(place)
    if before in asked.options:
        show(before)
    page = Page()
    page.layout.display = "none"
    question = widgets.HTML(f'<div class="refinish-say"><b>{escape(asked.question)}</b></div>')
    return sheet("Guess first", question, buttons, said, below, page)


def moving(draw: Callable[..., str], *fields: EntryField) -> widgets.Widget:
    """A live picture: fields above, and below them the picture that is drawn from their readings."""
    picture = widgets.HTML()

    def again(*readings: Any) -> None:
        picture.value = draw(*readings)

    problem = live(again, fields, result=picture)
    moving = widgets.VBox([grid(*fields), problem, picture])
    moving.add_class("refinish-moving")
    return moving


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
