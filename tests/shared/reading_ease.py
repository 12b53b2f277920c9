"""How hard a text is to read: the grade of Flesch and Kincaid, of the words as they are read.

Kincaid, Fishburne, Rogers and Chissom (1975), Derivation of new readability formulas for Navy enlisted personnel, Naval
Technical Training Command: 0.39 words a sentence + 11.8 syllables a word - 15.59.
"""

import html
import re

import textstat

SENTENCE_END = re.compile(r"[.!?:]$")


def plain(text: str) -> str:
    """A text of Markdown or HTML as somebody reads it aloud: no marks, no tables, headings and list items as sentences.

    >>> plain("## Two rules\\n\\n- The **share rule** asks for 34.2 g.\\n- It is strict")
    'Two rules. The share rule asks for ten g. It is strict.'
    """
    text = re.sub(r"<table.*?</table>", " ", text, flags=re.S)
    text = re.sub(r"</(p|li|h\d|div)>|<br>", "\n\n", text)
    text = html.unescape(re.sub(r"<[^>]+>", "", text))
    text = re.sub(r"\{[a-z][^}]*\}", "", text)
    pieces = re.split(r"\n\s*\n|\n(?=\s*(?:[-*]|\d+\.|#+|\|)\s)|\n(?=\|)", text)
    found = []
    for piece in pieces:
        words = " ".join(re.sub(r"^\s*(?:[-*]|\d+\.|#+)\s+", "", piece).split())
        words = re.sub(r"\d+(?:[.,]\d+)*", "ten", re.sub(r"[*`_|\"“”]", "", words)).strip()
        if words:
            found.append(words if SENTENCE_END.search(words) else f"{words}.")
    return " ".join(found)


def grade(text: str) -> float:
    """The grade of a text that `plain` made."""
    return textstat.flesch_kincaid_grade(text)
