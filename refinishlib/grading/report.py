"""``refinish report``: one page for the instructor that can be kept, printed or mailed, and the same numbers as CSV.

The page begins with who needs the instructor now. It sorts and filters by itself, without a server; every cell of its
table leads to the answers page of that apprentice and lesson, which is written beside it.
"""

from __future__ import annotations

import argparse
import webbrowser
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from refinishlib.grading.classlist import Apprentice
    from refinishlib.grading.standing import HandIn, Lesson, Standing

NOT_COUNTED = ("", "not answered")
# Below this share of the marked points somebody is listed as needing help.
HELP_BELOW = 0.5
MOST_IDS = 6

SOURCES = {
    "NOT_COUNTED": "definition",
    "HELP_BELOW": "teaching value: half of the points",
    "MOST_IDS": "teaching value: more ids than these are folded away",
}


@dataclass(frozen=True)
class MarkRow:
    """One apprentice in one lesson. score is None where nothing was handed in; most counts only what is marked."""

    apprentice: str
    name: str
    group: str
    lesson: str
    score: float | None
    most: float
    not_marked_yet: float
    late_h: float
    handed_in: str
    time_from: str
    to_mark: int
    to_look_at: str


@dataclass(frozen=True)
class SkillRow:
    """One apprentice in one skill: points earned and points that could be earned."""

    apprentice: str
    lesson: str
    skill: str
    points: float
    most: float


@dataclass(frozen=True)
class MistakeRow:
    """One mistake and who made it."""

    lesson: str
    question: str
    mistake: str
    count: int
    apprentices: str


@dataclass(frozen=True)
class LessonPart:
    """What the report says about one lesson.

    skills : skill, the class's share of its points, and who earned less than half of theirs; weakest first
    people : for each apprentice who handed in, the share of each skill in the order of ``skills``
    """

    lesson: Lesson
    handed_in: int
    late: int
    missing: list[str]
    to_mark: int
    share: float | None
    skills: list[tuple[str, float, list[str]]]
    people: list[tuple[str, list[float | None]]]
    mistakes: list[MistakeRow]


@dataclass(frozen=True)
class Report:
    """All numbers of the class, in plain rows, in the order of the course and of the class list."""

    standing: Standing
    marks: list[MarkRow]
    skills: list[SkillRow]
    mistakes: list[MistakeRow]
    parts: list[LessonPart]

    @property
    def look(self) -> list[tuple[Apprentice, Lesson, str]]:
        """Hand-ins that somebody should look at, and why."""
        return [
            (one, lesson, "; ".join(hand_in.look_at))
            for lesson in self.standing.lessons
            for one in self.standing.people
            if (hand_in := self.standing.hand_ins.get((one.id, lesson.name))) and hand_in.look_at
        ]

    @property
    def behind(self) -> list[tuple[Apprentice, list[Lesson]]]:
        """Who has not handed in what is due, the most lessons first."""
        rows = []
        for one in self.standing.people:
            lessons = [
                lesson
                for lesson in self.standing.lessons
                if self.standing.overdue(lesson) and (one.id, lesson.name) not in self.standing.hand_ins
            ]
            rows += [(one, lessons)] if lessons else []
        return sorted(rows, key=lambda row: -len(row[1]))

    @property
    def to_mark(self) -> list[tuple[Lesson, int, list[str]]]:
        """Lessons with written answers that wait: how many, and whose."""
        rows = []
        for lesson in self.standing.lessons:
            who = [
                one.id
                for one in self.standing.people
                if (hand_in := self.standing.hand_ins.get((one.id, lesson.name))) and hand_in.to_mark
            ]
            count = sum(self.standing.hand_ins[one, lesson.name].to_mark for one in who)
            rows += [(lesson, count, who)] if who else []
        return rows

    @property
    def struggling(self) -> list[tuple[Apprentice, float]]:
        """Who earned less than half of what is marked so far, the weakest first."""
        rows = [(one, share) for one in self.standing.people if (share := self.share_of(one.id)) is not None]
        return sorted(((one, share) for one, share in rows if share < HELP_BELOW), key=lambda row: row[1])

    def share_of(self, who: str) -> float | None:
        """The share of the marked points of all lessons that were handed in, None when there are none."""
        mine = [one for (name, _), one in self.standing.hand_ins.items() if name == who]
        most = sum(one.most for one in mine)
        return max(0.0, sum(one.score for one in mine)) / most if most else None

    def needs(self, who: str) -> bool:
        """Whether an apprentice needs the instructor: to look, because of what is due, or because marks are low."""
        lists = ([row[0] for row in self.look], [row[0] for row in self.behind], [row[0] for row in self.struggling])
        return any(one.id == who for rows in lists for one in rows)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--open", action="store_true", help="show the page in the browser")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    page = write(course_folder())
    print(f"The report is {page}")
    if arguments.open:
        webbrowser.open(page.as_uri())
    return 0


def write(root: Path) -> Path:
    """Write ``report/report.html``, the answers pages and the CSV files beside it; says where the page is."""
    from refinishlib.grading import answerspage, standing
    from refinishlib.grading.table import write_table

    now = standing.load(root)
    report = collect_numbers(now)
    folder = root / "report"
    folder.mkdir(exist_ok=True)
    kinds: dict[str, tuple[Any, list[Any]]] = {
        "marks": (MarkRow, report.marks),
        "skills": (SkillRow, report.skills),
        "mistakes": (MistakeRow, report.mistakes),
    }
    for name, (kind, rows) in kinds.items():
        write_table(folder / f"{name}.csv", [one.name for one in fields(kind)], map(_as_row, rows))
    answerspage.write(root, now)
    page = folder / "report.html"
    page.write_text(as_html(report), encoding="utf-8")
    return page


def collect_numbers(now: Standing) -> Report:
    """The class's numbers: marks from the grade book, skills and mistakes from the ledger."""
    marks = [_mark_row(one, lesson, now) for lesson in now.lessons for one in now.people]
    skills: list[SkillRow] = []
    mistakes: list[MistakeRow] = []
    parts: list[LessonPart] = []
    for lesson in now.lessons:
        mine = [row for one in now.people for row in _skill_rows(now.hand_ins.get((one.id, lesson.name)), lesson)]
        made = _mistake_rows(lesson.name, now)
        skills += mine
        mistakes += made
        parts.append(_part(lesson, now, mine, made))
    return Report(now, marks, skills, mistakes, parts)


def as_html(report: Report) -> str:
    """The page: one small script of ours and nothing loaded from elsewhere, every text escaped."""
    from refinishlib.grading import pages
    from refinishlib.grading.answerspage import page_name

    now = report.standing
    shares = {one.id: report.share_of(one.id) for one in now.people}
    lists = (report.look, report.behind, report.struggling)
    return pages.render(
        "report.html.j2",
        report=report,
        now=now,
        groups=sorted({one.group for one in now.people} - {""}),
        shares=shares,
        needy={row[0].id for rows in lists for row in rows},
        look=report.look,
        behind=report.behind,
        struggling=report.struggling,
        to_mark=report.to_mark,
        page_name=page_name,
        most_ids=MOST_IDS,
    )


def _mark_row(one: Apprentice, lesson: Lesson, now: Standing) -> MarkRow:
    hand_in = now.hand_ins.get((one.id, lesson.name))
    if hand_in is None:
        why = "not handed in" + (", overdue" if now.overdue(lesson) else "")
        return MarkRow(one.id, one.name, one.group, lesson.name, None, lesson.total, 0.0, 0.0, "", "", 0, why)
    return MarkRow(
        one.id,
        one.name,
        one.group,
        lesson.name,
        round(hand_in.score, 4),
        hand_in.most,
        hand_in.unmarked,
        hand_in.late_h,
        f"{hand_in.handed_in:%Y-%m-%d %H:%M}" if hand_in.handed_in else "",
        hand_in.time_from,
        hand_in.to_mark,
        "; ".join(hand_in.look_at),
    )


def _skill_rows(hand_in: HandIn | None, lesson: Lesson) -> Iterable[SkillRow]:
    if hand_in is None:
        return []
    marks = {one.name: one for one in hand_in.cells}
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for check, outcome in (hand_in.row.get("outcomes") or {}).items():
        if outcome.get("skill") and check in marks:
            sums[outcome["skill"]][0] += marks[check].points
            sums[outcome["skill"]][1] += marks[check].most
    return [SkillRow(hand_in.apprentice, lesson.name, skill, points, limit) for skill, (points, limit) in sums.items()]


def _mistake_rows(lesson: str, now: Standing) -> list[MistakeRow]:
    from refinishlib.grading.ledger import question_of

    who_made: dict[tuple[str, str], list[str]] = defaultdict(list)
    for one in now.people:
        hand_in = now.hand_ins.get((one.id, lesson))
        for check, outcome in ((hand_in.row.get("outcomes") if hand_in else None) or {}).items():
            for mistake in Counter(outcome.get("mistakes", [])):
                if mistake not in NOT_COUNTED and not outcome["flag"]:
                    who_made[question_of(check), mistake].append(one.id)
    rows = [MistakeRow(lesson, question, name, len(who), " ".join(who)) for (question, name), who in who_made.items()]
    return sorted(rows, key=lambda row: (-row.count, row.question, row.mistake))


def _part(lesson: Lesson, now: Standing, rows: list[SkillRow], mistakes: list[MistakeRow]) -> LessonPart:
    mine = [one for one in (now.hand_ins.get((who.id, lesson.name)) for who in now.people) if one is not None]
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    weak: dict[str, list[str]] = defaultdict(list)
    each: dict[tuple[str, str], float] = {}
    for row in rows:
        sums[row.skill][0] += row.points
        sums[row.skill][1] += row.most
        if row.most:
            each[row.apprentice, row.skill] = row.points / row.most
            if row.points < HELP_BELOW * row.most:
                weak[row.skill].append(row.apprentice)
    skills = sorted(
        ((skill, got / most, weak[skill]) for skill, (got, most) in sums.items() if most), key=lambda one: one[1]
    )
    most = sum(one.most for one in mine)
    return LessonPart(
        lesson=lesson,
        handed_in=len(mine),
        late=sum(one.late_h > 0 for one in mine),
        missing=[one.id for one in now.missing(lesson)],
        to_mark=sum(one.to_mark for one in mine),
        share=max(0.0, sum(one.score for one in mine)) / most if most else None,
        skills=skills,
        people=[(one.apprentice, [each.get((one.apprentice, skill)) for skill, _, _ in skills]) for one in mine],
        mistakes=mistakes,
    )


def _as_row(row: Any) -> dict[str, Any]:
    return {name: "" if value is None else value for name, value in vars(row).items()}
