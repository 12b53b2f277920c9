"""A cup that is remembered: what was poured, as plain values that a browser can keep, and back again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from math import isfinite
from typing import Any

from refinishlib.bench.mix_view import Turn, WayChosen
from refinishlib.mixing.progress import Made
from refinishlib.mixing.scale import LARGEST_MIX_G
from refinishlib.shop.paint import Formula

CHOICES: tuple[WayChosen, ...] = ("", "open", "rescue", "leave")


@dataclass(frozen=True)
class Cup:
    """What was poured, and when the last of it was, in seconds since 1970."""

    turns: tuple[Turn, ...]
    at_s: float

    @property
    def in_it_g(self) -> float:
        return sum(turn.pour.add_g for turn in self.turns)


def as_entry(cup: Cup) -> dict[str, Any]:
    """The cup as plain values.

    >>> from refinishlib.mixing.progress import Made
    >>> as_entry(Cup((Turn(Made(0, "white", 9.0, 9.0, 9.0, 0.0), ""),), 5.0))["turns"][0]["own_g"]
    9.0
    """
    return {"at_s": cup.at_s, "turns": [asdict(turn.pour) | {"choice": turn.choice} for turn in cup.turns]}


def from_entry(entry: Any, formula: Formula) -> Cup | None:
    """The cup that was kept; None for anything that is no cup of this formula, as after the formula was changed."""
    try:
        turns = tuple(_turn(row, formula) for row in entry["turns"])
        at_s = float(entry["at_s"])
        datetime.fromtimestamp(at_s, UTC)
    except (TypeError, KeyError, IndexError, ValueError, OverflowError, OSError):
        return None
    decided = all(turn.choice != "open" for turn in turns[:-1])
    return Cup(turns, at_s) if turns and decided and isfinite(at_s) else None


def _turn(row: Any, formula: Formula) -> Turn:
    toner, name, choice = row["toner"], row["name"], row["choice"]
    if type(toner) is not int or toner < 0 or formula.parts[toner][0] != name or choice not in CHOICES:
        raise ValueError("another formula")
    own, add, together, off = (float(row[key]) for key in ("own_g", "add_g", "cumulative_g", "off_g"))
    if not (0 <= own <= LARGEST_MIX_G and 0 <= add <= LARGEST_MIX_G and add <= together <= 2 * LARGEST_MIX_G):
        raise ValueError("no masses")
    if not (isfinite(off) and (off > 0) == (choice != "")):
        raise ValueError("no slip, or one that was not asked about")
    return Turn(Made(toner, name, own, add, together, off), choice)


def when(at_s: float, now_s: float, east_of_utc_min: float = 0) -> str:
    """When that was, by the clock of whoever looks at it, and how long ago.

    >>> when(1_000_000_000, 1_000_000_000 + 1500, east_of_utc_min=120)
    'at 03:46, 25 minutes ago'
    >>> when(1_000_000_000, 1_000_000_000 + 3 * 86400)
    'on 9 September at 01:46, 3 days ago'
    """
    zone = timedelta(minutes=east_of_utc_min)
    at, now = (datetime.fromtimestamp(seconds, UTC) + zone for seconds in (at_s, max(at_s, now_s)))
    ago = now - at
    clock = f"at {at:%H:%M}"
    if at.date() != now.date():
        clock = f"on {at.day} {at:%B} {clock}"
    for words, one in (("day", timedelta(days=1)), ("hour", timedelta(hours=1)), ("minute", timedelta(minutes=1))):
        count = ago // one
        if count:
            return f"{clock}, {count} {words}{'s' if count > 1 else ''} ago"
    return f"{clock}, just now"


def poured_in(turns: Sequence[Turn]) -> str:
    """What is in the cup, in words.

    >>> from refinishlib.mixing.progress import Made
    >>> poured_in([Turn(Made(0, "white", 9.0, 9.0, 9.0, 0.0), ""), Turn(Made(1, "rose", 1.0, 1.0, 10.0, 0.0), "")])
    'white and rose'
    """
    names = list(dict.fromkeys(turn.pour.name for turn in turns))
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}"
