"""Markdown to HTML for the pages on which an instructor or an apprentice reads what somebody else wrote.

nbgrader's pages put this HTML beside buttons that change grades, so nothing in it may run, load anything from
elsewhere, or carry a name that the page's own scripts look for. Formulas become MathML, which every browser draws by
itself: no script, no network, and a feedback file that can be opened at home.
"""

from __future__ import annotations

import html
import re
from typing import Any

import nh3
from jinja2 import pass_context
from latex2mathml.converter import convert
from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath, MathBlockParser, MathInlineParser

LONGEST_FORMULA = 2_000
LONGEST_TEXT = 60_000

_MATH_TAGS = {"math", "mi", "mn", "mo", "ms", "mspace", "mtext", "mfrac", "mrow", "msqrt", "mroot", "merror"} | {
    *("mpadded", "mphantom", "msub", "msup", "msubsup", "munder", "mover", "munderover", "mtable", "mtr", "mtd")
}
_TAGS = (nh3.ALLOWED_TAGS | _MATH_TAGS | {"mark"}) - {"map", "area", "center", "font"}
_ATTRIBUTES = {
    "a": {"href", "title"},
    "img": {"src", "alt", "title", "width", "height"},
    "td": {"colspan", "rowspan", "align"},
    "th": {"colspan", "rowspan", "align", "scope"},
    "ol": {"start"},
    "math": {"display"},
    "mo": {"stretchy", "fence", "form"},
    "mi": {"mathvariant"},
    "mtable": {"columnalign"},
    "mfrac": {"linethickness"},
    "mspace": {"width"},
}
_PICTURE = re.compile(r"data:image/(png|jpeg|gif|webp);base64,[A-Za-z0-9+/=]*")
_LINK = re.compile(r"(https?://|mailto:|#)[^\s]*")


def _bounded(patterns: dict[str, str]) -> dict[str, str]:
    """nbconvert's patterns with a limit on how far a formula reaches.

    Without it each opening sign that is never closed looks through the rest of the text: the square of its length.
    """
    within = {".*?": f".{{0,{LONGEST_FORMULA}}}?", ".+?": f".{{1,{LONGEST_FORMULA}}}?"}
    return {
        name: re.sub(r"\.[*+]\?", lambda found: within[found[0]], pattern) if _is_formula(name) else pattern
        for name, pattern in patterns.items()
    }


def _is_formula(name: str) -> bool:
    return "math" in name or name == "latex_environment"


class _Blocks(MathBlockParser):
    SPECIFICATION = _bounded(MathBlockParser.SPECIFICATION)


class _Inline(MathInlineParser):
    SPECIFICATION = _bounded(MathInlineParser.SPECIFICATION)


class _Renderer(IPythonRenderer):
    """nbconvert's renderer, with formulas as MathML and without files, diagrams or missing pictures."""

    def block_math(self, body: str) -> str:
        return f"<p>{_formula(body, 'block')}</p>"

    def multiline_math(self, text: str) -> str:
        return _formula(text.strip("$"), "block")

    def latex_environment(self, name: str, body: str) -> str:
        return _formula(f"\\begin{{{name}}}{body}\\end{{{name}}}", "block")

    def inline_math(self, body: str) -> str:
        return _formula(body, "inline")

    def block_mermaidjs(self, code: str) -> str:
        return f"<pre><code>{html.escape(code)}</code></pre>"

    def _embed_image_or_attachment(self, src: str) -> str:
        name = src.removeprefix("attachment:")
        kinds = self.attachments.get(name, {}) if name != src else {}
        return next((f"data:{kind};base64,{data}" for kind, data in kinds.items()), src)


@pass_context
def markdown2html(context: Any, source: str) -> str:
    """A filter for nbconvert's templates: Markdown to HTML that cannot do anything."""
    cell = context.get("cell", {})
    return to_html(source, cell.get("attachments", {}))


def to_html(source: str, attachments: Any = None) -> str:
    """Markdown to HTML in which nothing runs and nothing is loaded.

    >>> to_html("*fine*<script>alert(1)</script>")
    '<p><em>fine</em></p>\\n'
    """
    if len(source) > LONGEST_TEXT:
        return sanitize(f"<pre>{html.escape(source[:LONGEST_TEXT])}</pre>")
    renderer = _Renderer(escape=False, attachments=attachments or {}, exclude_anchor_links=True)
    try:
        rendered = MarkdownWithMath(renderer, _Blocks(), _Inline(hard_wrap=False)).render(source)
    except Exception:
        rendered = f"<pre>{html.escape(source)}</pre>"
    return sanitize(rendered)


def sanitize(rendered: str) -> str:
    """HTML reduced to text, tables, pictures that it carries itself, links and formulas."""
    return nh3.clean(
        rendered,
        tags=_TAGS,
        attributes=_ATTRIBUTES,
        attribute_filter=_keep,
        url_schemes={"http", "https", "mailto", "data"},
        link_rel="noopener noreferrer nofollow",
    )


def _keep(tag: str, name: str, value: str) -> str | None:
    if name == "src":
        return value if _PICTURE.fullmatch(value) else None
    if name == "href":
        return value if _LINK.fullmatch(value) else None
    return value


def _formula(tex: str, display: str) -> str:
    if len(tex) <= LONGEST_FORMULA:
        try:
            return convert(tex, display=display)
        except Exception:
            pass
    return f"<code>{html.escape(tex)}</code>"
