"""Whose notebook this is: the id that the grader hands over, and the one that the notebook itself claims.

A grader sets the environment variable ``REFINISH_APPRENTICE``. Where it is set, it alone counts; what the notebook
says is only compared with it, so that nobody is marked by a neighbour's numbers.
"""

from __future__ import annotations

import os
from typing import Any

from refinishlib.course.typed import bare

HANDED_OVER_IN = "REFINISH_APPRENTICE"
LONGEST_ID = 64


def current(my_id: Any) -> str:
    """The id that counts: the grader's, or the notebook's own where nobody grades. Empty when there is neither.

    Never raises. Capitals and blanks around an id do not matter, so that "Ann" and "ann " are one apprentice.

    >>> current(" Demo "), current(...), current(7)
    ('demo', '', '7')
    """
    given = given_by_grader()
    return own(my_id) if given is None else given


def given_by_grader() -> str | None:
    """The id that a grader handed over, or None outside of grading."""
    given = _plain(os.environ.get(HANDED_OVER_IN, ""))
    return given or None


def own(my_id: Any) -> str:
    """The id that the notebook claims, empty when it still is the three dots or not an id at all.

    >>> own("“A07”")
    'a07'
    """
    if isinstance(my_id, bool) or not isinstance(my_id, str | int):
        return ""
    if isinstance(my_id, int) and abs(my_id) >= 10**LONGEST_ID:
        return ""
    return _plain(bare(str(my_id)[: 2 * LONGEST_ID]))


def is_someone_elses(my_id: Any) -> bool:
    """Whether a grader handed over an id and the notebook claims another one.

    >>> is_someone_elses("demo")
    False
    """
    given, claimed = given_by_grader(), own(my_id)
    return given is not None and bool(claimed) and claimed != given


def _plain(text: str) -> str:
    return text.strip().casefold()[:LONGEST_ID]
