"""The lessons on the start page: what each is called, how long it takes and what it is good for at work."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Book:
    """One lesson on the shelf."""

    lesson: str
    title: str
    minutes: int
    good_for: str

    @property
    def path(self) -> str:
        return f"lessons/{self.lesson}/{self.lesson}.ipynb"


def shelf() -> tuple[Book, ...]:
    """All lessons in the order in which they are worked."""
    return (
        Book(
            "mixing",
            "Mixing a colour by weight",
            55,
            "You weigh right the first time, and know what to do when the pour went wrong.",
        ),
    )
