"""Tables as HTML, for cards and calculators."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape


def html_table(head: Iterable[str], rows: Iterable[Iterable[object]], *, caption: str = "") -> str:
    """A table in the style of the calculators, everything escaped.

    >>> html_table(["toner", "g"], [["white", 12.5]])
    '<table class="refinish-table"><thead><tr><th>toner</th><th>g</th></tr></thead><tbody><tr><td>white</td>...
    """
    above = f"<caption>{escape(caption)}</caption>" if caption else ""
    top = "".join(f"<th>{escape(word)}</th>" for word in head)
    body = "".join("<tr>" + "".join(f"<td>{escape(str(cell))}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<table class="refinish-table">{above}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'
