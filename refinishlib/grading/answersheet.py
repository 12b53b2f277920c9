"""An apprentice's answers to one lesson, question by question: what the answers page and the feedback are made of.

Built from the released lesson and the texts that were handed in; nothing of what was handed in is run. Right values
are not in it: only the answers page adds them, from the key.
"""

from __future__ import annotations

import ast
import io
import tokenize
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refinishlib.course import lessons
from refinishlib.course.question import Part, Question
from refinishlib.grading.clean import to_html
from refinishlib.grading.ledger import question_of
from refinishlib.grading.standing import Graded

NOTHING = "nothing yet"
LONGEST_SHOWN = 2_000


@dataclass(frozen=True)
class Line:
    """One field of a question: its label as it stands on the screen, and what was typed."""

    name: str
    label: str
    typed: str


@dataclass(frozen=True)
class Sheet:
    """One graded question with what was answered and what it earned.

    name : "1.1", or "" for a written answer
    card : the job card or the question, HTML that is ours or was cleaned
    written : a written answer as cleaned HTML, "" for other questions
    sentences : what the check says, in words for an apprentice
    text : the answer cells as they were typed
    section : the heading of the lesson's part that the question stands in, where that part has practice
    """

    grade_id: str
    name: str
    title: str
    card: str
    lines: tuple[Line, ...]
    written: str
    sentences: tuple[str, ...]
    mark: Graded
    skill: str = ""
    asked: Question | None = None
    text: str = ""
    section: str = ""


def sheets(
    lesson: str,
    apprentice: str,
    cells: Sequence[Any],
    outcomes: Mapping[str, Any],
    marks: Mapping[str, Graded],
    once: str = "",
) -> list[Sheet]:
    """The questions of a rebuilt notebook in its order.

    Parameters
    ----------
    cells : the cells of the rebuilt notebook: the school's own, with the apprentice's texts in the answer cells
    outcomes : for each check, what it said
    marks : for each graded cell, what the grade book has
    once : a sentence that the page says for all questions together, so that each need not
    """
    asked = lessons.questions(lesson, apprentice) if lesson in lessons.names() else {}
    found: list[Sheet] = []
    typed: dict[str, str] = {}
    heading = text = section = practice = ""
    for cell in cells:
        about = cell["metadata"].get("nbgrader") or {}
        grade_id = about.get("grade_id", "")
        if cell["cell_type"] == "markdown" and not about.get("solution"):
            heading = cell["source"]
            if heading.startswith("## "):
                section, practice = _parted(heading)[0], ""
        elif "practise(" in cell["source"]:
            practice = section
        elif about.get("solution") and not about.get("grade"):
            typed |= typed_lines(cell["source"])
            text += cell["source"] + "\n"
        if not about.get("grade") or grade_id not in marks:
            continue
        mark = marks[grade_id]
        if cell["cell_type"] == "markdown":
            title, body = _parted(heading)
            text = to_html(cell["source"][: LONGEST_SHOWN * 10], cell.get("attachments", {}))
            found.append(Sheet(grade_id, "", title, to_html(body), (), text, (), mark))
            continue
        name = question_of(grade_id)
        question = asked.get(name)
        parts = question.parts if question is not None else ()
        lines = tuple(Line(part.name, part.label, typed.get(part.name, NOTHING)) for part in parts)
        if question is None:
            lines = tuple(Line(one, one, words) for one, words in typed.items())
        told = [one for one in (outcomes.get(grade_id) or {}).get("sentences", ()) if one != once]
        said = tuple(_sentence(sentence, parts) for sentence in told)
        title = question.title if question is not None else _parted(heading)[0]
        card = question.text if question is not None else ""
        skill = question.skill if question is not None else ""
        found.append(Sheet(grade_id, name, title, card, lines, "", said, mark, skill, question, text, practice))
        typed, text = {}, ""
    return found


def typed_lines(text: str) -> dict[str, str]:
    """What an answer cell says for each of its names, in the words that were typed, without quotes and brackets.

    >>> typed_lines('# 1.1  Type it here.\\nown_g = 34.2  # grams\\nway = "one cup"\\nlist_g = [1, 2.50]')
    {'own_g': '34.2', 'way': 'one cup', 'list_g': '1, 2.50'}
    >>> typed_lines("own_g = 7 grams")
    {'own_g': '7 grams'}
    """
    found: dict[str, str] = {}
    try:
        tree = ast.parse(text[:LONGEST_SHOWN])
        for node in tree.body:
            if not isinstance(node, ast.Assign) or not all(isinstance(one, ast.Name) for one in node.targets):
                raise ValueError
            words = _words(text[:LONGEST_SHOWN], node.value)
            found |= {one.id: words for one in node.targets if isinstance(one, ast.Name)}
        return found
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return _as_it_stands(text[:LONGEST_SHOWN])


def _words(text: str, value: ast.expr) -> str:
    if isinstance(value, ast.Constant):
        if value.value is ... or value.value is None:
            return NOTHING
        if isinstance(value.value, str):
            return value.value.strip() or NOTHING
    if isinstance(value, ast.List | ast.Tuple):
        return ", ".join(_words(text, one) for one in value.elts) or NOTHING
    if isinstance(value, ast.Dict):
        pairs = zip(value.keys, value.values, strict=True)
        return ", ".join(f"{_words(text, key) if key else '**'}: {_words(text, one)}" for key, one in pairs) or NOTHING
    return ast.get_source_segment(text, value) or NOTHING


def _as_it_stands(text: str) -> dict[str, str]:
    """A cell that is no plain answer: its lines as they stand, less the comments that the lesson came with."""
    found: dict[str, str] = {}
    last = ""
    for line in text.splitlines():
        bare = _without_comment(line)
        if not bare:
            continue
        name, equals, value = bare.partition("=")
        if equals and name.strip().isidentifier():
            last = name.strip()
            found[last] = value.strip() or NOTHING
        else:
            found[last] = f"{found[last]} {bare}" if last in found else bare
    return found


def _without_comment(line: str) -> str:
    try:
        for token in tokenize.generate_tokens(io.StringIO(line).readline):
            if token.type == tokenize.COMMENT:
                return line[: token.start[1]].strip()
    except (tokenize.TokenError, SyntaxError, IndentationError):
        pass
    return line.strip()


def _sentence(sentence: str, parts: Sequence[Part]) -> str:
    """A check's sentence; where the question has one field only, without the field's label before it."""
    if len(parts) == 1 and sentence.startswith(f"{parts[0].label}: "):
        sentence = sentence.removeprefix(f"{parts[0].label}: ")
    return sentence[:1].upper() + sentence[1:]


def _parted(text: str) -> tuple[str, str]:
    """A Markdown text's heading, without its marks, and the rest."""
    first, _, rest = text.strip().partition("\n")
    if first.startswith("#"):
        return first.lstrip("#").strip(), rest.strip()
    return "", text
