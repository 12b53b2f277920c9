"""``refinish build``: each lesson's text made into the notebooks that are taught from it.

A lesson's ``lesson.md`` is Markdown with lines in curly brackets where something else stands:

    {cautions mix}                 the usual cautions of a task
    {id}                           who the apprentice is; stands once, above the first question
    {how}                          how each part goes
    {figure staircase "..."}       a function of the lesson's figures.py, with a few words about it
    {widget MixSheet "..."}        a calculator
    {from-last-time}               three mixed problems of earlier lessons; nothing where there are none
    {guess pour}                   a guess of the lesson's guesses.py, and the live picture that answers it
    {shown "Own weight"}           one worked example of a drill
    {practise "Own weight"}        drills of the lesson's practice.py
    {mixed}                        a mixed set of this lesson and the two before it
    {question 1.1 "..."}           a question of questions.py: job card, answer cell and check
    {written 4}                    an answer that is marked by hand, with its points
    {booth}                        the task for the hand, from booth.md; its points are given beside the panel
    {hand-in}                      how to hand in

All else about a cell (points, tags, ids, metadata, the form of an answer) comes from the questions' parts.
"""

from __future__ import annotations

import argparse
import json
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from string import Template
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.rules_block import StateBlock

from refinishlib.bench.registry import CALCULATORS
from refinishlib.booth.cautions import for_task
from refinishlib.course import keys, lessons, release
from refinishlib.course.folder import course_folder
from refinishlib.course.question import Choice, Chosen, Number, Order, Part, Question, Table, fields
from refinishlib.entry import BadEntry, one_of

LONGEST_LINE = 120
ID_FIELD = {"kind": "text", "name": "my_id", "label": "Your id", "longest": 64}
WRITTEN_FIELD = {"kind": "written", "name": "written-1", "label": "In your own words"}
BOOTH_FIELD = {"kind": "written", "name": "written-2", "label": "When it is done: the day, and what you saw"}
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}
# What a line in curly brackets calls by its own name.
TOOLS = ("cautions", "figure", "guess", "mixed", "practise", "shown")
DIRECTIVE = re.compile(r"\{([a-z][a-z-]*)((?:\s.*)?)\}\s*$")

SOURCES = {"LONGEST_LINE": "definition: the line length of the whole project"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", nargs="?", default="all", help="a lesson's name, or all (the usual)")
    parser.add_argument("--unreleased", action="store_true", help="the version was not handed out yet: let it change")


def run(arguments: argparse.Namespace) -> int:
    chosen = lessons.names() if arguments.lesson == "all" else (lessons.record(arguments.lesson).name,)
    for lesson in chosen:
        print(f"{lesson}: {build(lesson, course_folder(), unreleased=arguments.unreleased)}")
    return 0


def build(lesson: str, course: Path, *, unreleased: bool = False) -> Path:
    """Write a lesson's notebook into solutions/ and, with nbgrader, into lessons/; says where the first is.

    Raises
    ------
    BadEntry : a mistake in the text or the key, or job cards or marks that are others than those of a version that
        is handed out already
    """
    path = course / "solutions" / lesson / f"{lesson}.ipynb"
    text = written(lesson, course)
    if path.is_file() and not unreleased:
        _hold_released(json.loads(path.read_text(encoding="utf-8")), json.loads(text))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    words = ["generate_assignment", lesson, "--no-db", "--force"]
    command = [sys.executable, "-m", "nbgrader", *words]
    done = subprocess.run(command, cwd=course, capture_output=True, text=True, check=False)
    if done.returncode:
        raise BadEntry(f"{lesson}: nbgrader could not make lessons/{lesson}: {done.stderr.strip().splitlines()[-1]}")
    return path


def _hold_released(old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
    before, now = release.stated(old["metadata"]), release.stated(new["metadata"])
    if before is None or now is None or not before.version or before.version != now.version:
        return
    moved = [what for what in ("cards", "marks") if getattr(before, what) != getattr(now, what)]
    if moved:
        words = {"cards": "job cards", "marks": "right answers or points"}
        raise BadEntry(
            f"{now.lesson}/{lessons.RECORD}: version {now.version} was given, but its "
            f"{' and '.join(words[one] for one in moved)} are others than in the version {before.version} that was "
            f"built before; allowed is {now.version + 1}, or what it was before. "
            "If nobody was given it yet, type: refinish build --unreleased."
        )


def written(lesson: str, course: Path) -> str:
    """The notebook of a lesson, as the file in solutions/ has it.

    Raises
    ------
    BadEntry : a mistake in the text, with its line
    """
    notebook = _nbformat().v4.new_notebook(cells=_Cells(lesson, course).made())
    about = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    notebook.metadata = _nbformat().from_dict(about | {"refinish": release.metadata(release.release(lesson))})
    _nbformat().validate(notebook)
    text: str = _nbformat().writes(notebook)
    return text + "\n"


# --- reading the text ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Piece:
    """Prose, or a line in curly brackets: its words, the first of which says what stands there."""

    line: int
    prose: str = ""
    words: tuple[str, ...] = ()


def pieces(text: str, where: str) -> Iterator[Piece]:
    """The pieces of a text in their order. Prose begins anew at each heading of the second level.

    >>> [piece.words or piece.prose for piece in pieces("# A\\n\\nIt is.\\n{figure x}\\n```\\n{no}\\n```", "lesson.md")]
    ['# A\\n\\nIt is.', ('figure', 'x'), '```\\n{no}\\n```']
    """
    lines = text.splitlines()
    markdown = MarkdownIt("commonmark").enable("table").use(_directives)
    cuts = [
        (token.map[0], token)
        for token in markdown.parse(text)
        if token.map
        and token.level == 0
        and (token.type == "directive" or (token.type, token.tag) == ("heading_open", "h2"))
    ]
    start = 0
    for line, token in cuts:
        yield from _prose(lines, start, line)
        start = line
        if token.type == "directive":
            try:
                words = shlex.split(token.content)
            except ValueError:
                raise BadEntry(f"{where}, line {line + 1}: {lines[line]} was given, a quote is not closed.") from None
            yield Piece(line + 1, words=tuple(words))
            start = line + 1
    yield from _prose(lines, start, len(lines))


def _prose(lines: list[str], start: int, end: int) -> Iterator[Piece]:
    prose = "\n".join(lines[start:end]).strip("\n")
    if prose.strip():
        yield Piece(start + 1, prose)


def _directives(markdown: MarkdownIt) -> None:
    """Let markdown-it know a line in curly brackets, wherever a paragraph could begin."""
    markdown.block.ruler.before(
        "paragraph", "directive", _directive, {"alt": ["paragraph", "reference", "blockquote", "list"]}
    )


def _directive(state: StateBlock, start: int, end: int, silent: bool) -> bool:
    if state.is_code_block(start):
        return False
    found = DIRECTIVE.match(state.src[state.bMarks[start] + state.tShift[start] : state.eMarks[start]])
    if not found:
        return False
    if not silent:
        token = state.push("directive", "", 0)
        token.map, token.content = [start, start + 1], found[1] + found[2]
        state.line = start + 1
    return True


def standing(lesson: lessons.LessonRecord) -> dict[str, str]:
    """The texts that every lesson has, by the name that calls for them."""
    text = (Path(__file__).parent / "standing.md").read_text(encoding="utf-8")
    found: dict[str, str] = {}
    name = ""
    for piece in pieces(text, "standing.md"):
        if piece.words:
            name = piece.words[0]
        elif name:
            prose = Template(piece.prose).substitute(lesson=lesson.name, minutes=lesson.minutes)
            found[name] = f"{found[name]}\n\n{prose}" if name in found else prose
    return found


# --- making the cells ------------------------------------------------------------------------------------------------


@dataclass
class _Cells:
    """The cells of one lesson, made in the order of its text."""

    lesson: str
    course: Path
    cells: list[Any] = field(default_factory=list)
    section: str = "start"
    line: int = 0

    def made(self) -> list[Any]:
        self.record = lessons.record(self.lesson)
        self.texts = standing(self.record)
        self.asked = _asked(self.lesson)
        text = lessons.text(self.lesson)
        found = list(pieces(text, self.where))
        opening = found.pop(0).prose if found and found[0].prose and not found[0].prose.startswith("## ") else ""
        title = [f"# {self.record.title}", opening, self.texts["start"]]
        self.prose("title", "\n\n".join(part for part in title if part))
        self.code("set-up", _set_up(self.calculators(found), found))
        for piece in found:
            self.line = piece.line
            if piece.words:
                self.one(piece.words[0], piece.words[1:])
            else:
                if piece.prose.startswith("## "):
                    self.section = _slug(piece.prose.splitlines()[0])
                self.prose(self.free(self.section), piece.prose)
        self.all_there()
        return self.cells

    @property
    def where(self) -> str:
        return f"{self.lesson}/lesson.md"

    def fault(self, what: str) -> BadEntry:
        return BadEntry(f"{self.where}, line {self.line}: {what}")

    def one(self, name: str, words: tuple[str, ...]) -> None:
        known: dict[str, Callable[..., None]] = {
            "cautions": self.cautions,
            "id": self.id,
            "how": lambda: self.prose("how", self.texts["how"]),
            "figure": self.figure,
            "widget": self.widget,
            "from-last-time": self.from_last_time,
            "guess": self.guess,
            "shown": self.shown,
            "practise": self.practise,
            "mixed": self.mixed,
            "question": self.question,
            "written": self.written,
            "booth": self.booth,
            "hand-in": lambda: self.prose("hand-in", self.texts["hand-in"]),
        }
        if name not in known:
            raise self.fault(f"{{{name}}} was given, allowed are {', '.join(known)}.")
        try:
            known[name](*words)
        except TypeError:
            raise self.fault(f"{{{name}}} was given with {len(words)} words, which are too many or too few.") from None
        except BadEntry as bad:
            raise bad if str(bad).startswith(self.where) else self.fault(str(bad)) from None

    def cautions(self, task: str) -> None:
        for_task(task)
        self.code(f"cautions-{_slug(task)}", f"# The usual cautions for this work.\ncautions({_text(task)})")

    def id(self) -> None:
        self.prose("id-text", self.texts["id"])
        self.answer("my-id", "# Type your id after the = sign, in quotes, in place of the three dots.\nmy_id = ...",
                    'my_id = "demo"', [ID_FIELD])  # fmt: skip
        self.code("id-check", "# Says for whom this lesson is set up.\ncheck.who(my_id)")

    def figure(self, name: str, words: str = "") -> None:
        if not lessons.has(self.lesson, "figures") or not hasattr(lessons.module(self.lesson, "figures"), name):
            raise self.fault(f"the figure {name} was given, allowed is a function of {self.lesson}/figures.py.")
        about = f"A picture: {words}" if words else "A picture"
        self.code(f"figure-{_slug(name)}", f"# {about}.\nfigure({_text(self.lesson)}, {_text(name)})")

    def widget(self, name: str, words: str = "A calculator.") -> None:
        one_of("widget", name, _calculators())
        self.code(self.free(_slug(re.sub(r"(?<!^)(?=[A-Z])", "-", name))), f"# {words}\n{name}()")

    # What is practised and guessed brings the widgets, which take a second to load: only for who has any.

    def from_last_time(self) -> None:
        from refinishlib.course.practice import kinds_before

        if not kinds_before(self.lesson):
            return
        self.prose("from-last-time", self.texts["from-last-time"])
        said = "# Three problems from earlier lessons. Nothing here counts."
        self.code("mixed-before", f"{said}\nmixed({_text(self.lesson)}, before=True)")

    def guess(self, name: str) -> None:
        from refinishlib.course.guess import guesses

        one_of("guess", name, guesses(self.lesson))
        said = "# Guess first, with one tap. Nothing here counts."
        self.code(f"guess-{_slug(name)}", f"{said}\nguess({_text(self.lesson)}, {_text(name)})")

    def shown(self, skill: str) -> None:
        from refinishlib.course.practice import drills

        one_of("practice", skill, [drill.title for drill in drills(self.lesson)])
        self.code(f"shown-{_slug(skill)}", f"# One worked example.\nshown({_text(self.lesson)}, {_text(skill)})")

    def mixed(self) -> None:
        said = "# A mixed set. Nothing here counts."
        self.code("mixed-all", f"{said}\nmixed({_text(self.lesson)})")

    def practise(self, *skills: str) -> None:
        from refinishlib.course.practice import drills

        for skill in skills:
            one_of("practice", skill, [drill.title for drill in drills(self.lesson)])
        words = ", ".join(_text(word) for word in (self.lesson, *skills))
        said = "# Practice, as much as you like. Nothing here counts. Type your answer and press Check."
        self.code(f"practise-{_slug(skills[0] if skills else 'all')}", f"{said}\npractise({words})")

    def question(self, name: str, lead: str = "") -> None:
        asked = self.asked[one_of("question", name, self.asked)]
        if not self.has("answer-my-id"):
            raise self.fault(f"{{question {name}}} was given above {{id}}, allowed is below it.")
        slug, lesson = name.replace(".", "-"), _text(self.lesson)
        self.prose(f"text-{slug}", f"### {name}  {asked.title}" + (f"\n\n{lead}" if lead else ""))
        self.code(f"card-{slug}", f"# Your job card for {name}.\ncard({lesson}, {_text(name)}, my_id)")
        lines = [f"{part.name} = ...  # {hint}" for part, hint in ((part, _hint(part)) for part in asked.parts)]
        first = f"# {name}  Type your answer after the = sign, in place of the three dots."
        right = [f"{part.name} = right({lesson}, {_text(name)}, my_id)[{_text(part.name)}]" for part in asked.parts]
        solution = "\n".join(["from refinishlib.course.keys import right", "", *right])
        self.answer(slug, "\n".join([first, *lines]), solution, fields(asked))
        self.code(f"check-{slug}", _check(self.lesson, asked), grade=True, points=asked.points)

    def written(self, points: str) -> None:
        if not points.isdigit() or not int(points):
            raise self.fault(f"{{written {points}}} was given, allowed is a whole number of points.")
        name, rows, good = self.rubric("rubric")
        if rows != int(points) or not good:
            raise self.fault(
                f"{{written {points}}} was given, allowed are as many points as solutions/{name} has rows in its "
                'table; below it stands a part "## A good answer".'
            )
        self.by_hand("written-1", "written", rows, good, WRITTEN_FIELD)

    def booth(self) -> None:
        """The task for the hand: what to do, a line to say that it was done, and the instructor's points."""
        name, rows, _ = self.rubric("booth")
        path = lessons.FOLDER / self.lesson / "booth.md"
        if not path.is_file() or rows < 1:
            raise self.fault(f"{{booth}} was given, allowed with {self.lesson}/booth.md and solutions/{name}.")
        title, _, task = path.read_text(encoding="utf-8").removeprefix("# ").partition("\n")
        self.prose("booth", f"{self.texts['booth']}\n\n**{title.strip()}**\n\n{task.strip()}")
        self.by_hand("written-2", "booth", rows, "Done, and marked beside the panel.", BOOTH_FIELD)

    def rubric(self, what: str) -> tuple[str, int, str]:
        """The name of a rubric's file, the rows of its table, and the good answer below it."""
        path = self.course / "solutions" / f"{self.lesson}_{what}.md"
        text = path.read_text(encoding="utf-8") if path.is_file() else ""
        rows = len(re.findall(r"^\|.*\|\s*$", text, re.M)) - 2
        return path.name, rows, text.partition("\n## A good answer\n")[2].strip()

    def by_hand(self, grade_id: str, line: str, points: int, good: str, field: dict[str, Any]) -> None:
        """A cell that the instructor marks."""
        if self.has(grade_id):
            raise self.fault(f"{{{line}}} was given twice, allowed is once.")
        source = f"### BEGIN SOLUTION\n{good}\n### END SOLUTION"
        about = _about(grade_id, grade=True, solution=True, locked=False, points=points)
        metadata = {"nbgrader": about, **_form([field])}
        self.cells.append(_nbformat().v4.new_markdown_cell(source, id=grade_id, metadata=metadata))

    # --- the kinds of cells

    def prose(self, name: str, source: str) -> None:
        self.cells.append(
            _nbformat().v4.new_markdown_cell(source, id=name, metadata={"nbgrader": _about(self.checked(name))})
        )

    def code(self, name: str, source: str, **graded: Any) -> None:
        metadata = {"jupyter": {"source_hidden": True}, "tags": ["raises-exception"]}
        metadata["nbgrader"] = _about(self.checked(name), **graded)
        self.cells.append(_nbformat().v4.new_code_cell(source, id=name, metadata=metadata))

    def answer(self, slug: str, stub: str, solution: str, form: list[dict[str, Any]]) -> None:
        name = self.checked(f"answer-{slug}")
        metadata: dict[str, Any] = {"tags": ["raises-exception"]}
        metadata["nbgrader"] = _about(name, solution=True, locked=False)
        metadata |= _form(form)
        source = f"{stub}\n### BEGIN SOLUTION\n{solution}\n### END SOLUTION"
        self.cells.append(_nbformat().v4.new_code_cell(source, id=name, metadata=metadata))

    def has(self, name: str) -> bool:
        return any(cell.id == name for cell in self.cells)

    def checked(self, name: str) -> str:
        if self.has(name):
            raise self.fault(f"this stands in the lesson twice ({name}), allowed is once.")
        return name

    def free(self, name: str) -> str:
        taken = {cell.id for cell in self.cells}
        return next(one for one in (name, *(f"{name}-{n}" for n in range(2, 999))) if one not in taken)

    def calculators(self, found: list[Piece]) -> list[str]:
        wanted = {piece.words[1] for piece in found if piece.words[:1] == ("widget",) and len(piece.words) > 1}
        return [place for name, place in _calculators().items() if name in wanted]

    def all_there(self) -> None:
        missing = [name for name in self.asked if not self.has(f"card-{name.replace('.', '-')}")]
        if missing:
            raise BadEntry(f"{self.where}: nothing was given for the questions {', '.join(missing)} of questions.py.")
        unknown = {question.skill for question in self.asked.values()} ^ set(self.record.skills)
        if unknown:
            where = f"{self.lesson}/{lessons.RECORD}"
            raise BadEntry(f"{where}: skills: {', '.join(sorted(unknown))}: allowed are those of the questions.")


def _asked(lesson: str) -> dict[str, Question]:
    """The questions, which must have the same parts and the same form for everyone."""
    first, *others = (lessons.questions(lesson, whose) for whose in release.PROBES)
    for other in others:
        for name, question in first.items():
            same = name in other and (fields(question), question.points, question.skill, question.uses) == (
                fields(other[name]),
                other[name].points,
                other[name].skill,
                other[name].uses,
            )
            if not same or list(first) != list(other):
                raise BadEntry(
                    f"{lesson}/questions.py, {name}: another form for each apprentice was given, allowed is one."
                )
    keys.key(lesson, release.PROBES[0])
    return first


def _set_up(calculators: list[str], found: list[Piece]) -> str:
    lines = [f"from {module} import {name}" for module, _, name in sorted(p.rpartition(".") for p in calculators)]
    named = {piece.words[0] for piece in found if piece.words}
    named |= {"mixed"} if "from-last-time" in named else set()
    tools = ["card", "check", "start", *(tool for tool in TOOLS if tool in named)]
    lines.append(f"from refinishlib.course.lesson import {', '.join(sorted(tools))}")
    return "\n".join(["# Gets this lesson ready. Nothing to type here.", *lines, "", "start()"])


def _check(lesson: str, asked: Question) -> str:
    names = ", ".join(f"{_text(part.name)}: {part.name}" for part in asked.parts)
    typed = f"typed = {{{names}}}"
    if len(typed) > LONGEST_LINE:
        typed = "typed = {\n" + "".join(f"    {_text(part.name)}: {part.name},\n" for part in asked.parts) + "}"
    call = f"({_text(lesson)}, {_text(asked.name)}, my_id, typed"
    earlier = f"earlier = check.earlier(globals(), {', '.join(map(_text, asked.uses))})\n" if asked.uses else ""
    return (
        f"# Checks the form of your answer to {asked.name}. It does not say whether the value is right.\n"
        f"{typed}\ncheck.form{call})\n### BEGIN HIDDEN TESTS\n"
        f"{earlier}check.mark{call}{', earlier' if earlier else ''})\n### END HIDDEN TESTS"
    )


def _hint(part: Part) -> str:
    match part.form:
        case Number(symbol=unit):
            return f"{part.label}, in {unit}" if unit else f"{part.label}: a number"
        case Choice(options=options) | Chosen(options=options):
            words = "or ".join(_text(option) + " " for option in options).strip()
            if len(words) > LONGEST_LINE // 3:
                words = "one of those on the job card"
            if isinstance(part.form, Chosen):
                words = "a list of texts in quotes"
        case Table(cell=cell):
            words = f"a list of numbers in {cell.symbol}, one for each row, like [12.0, 30.5, 41.0]"
        case Order():
            words = "a list of all tasks, in quotes, with commas between them"
        case _:
            words = "a text in quotes"
    return f"{part.label}{'' if part.label.endswith('?') else ':'} {words}"


def _form(fields: list[dict[str, Any]]) -> dict[str, Any]:
    return {"refinish": {"answer": fields}} if fields else {}


def _about(name: str, **given: Any) -> dict[str, Any]:
    about = {"grade": False, "solution": False, "locked": True, "task": False, "grade_id": name, "schema_version": 3}
    points = given.get("points")
    return about | given | ({"points": int(points) if points == int(points) else points} if points else {})


def _calculators() -> dict[str, str]:
    return {one.function: f"refinishlib.bench.{one.module}.{one.function}" for one in CALCULATORS}


def _slug(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", words.casefold()).strip("-") or "part"


def _text(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)


def _nbformat() -> Any:
    """Loaded when something is built: its help need not wait a second for it."""
    import nbformat

    return nbformat
