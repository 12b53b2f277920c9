"""No answer is given away: what a guess earns, and what somebody earns who copies what the check says."""

import itertools
import json
import random
import re
from pathlib import Path

import pytest

from refinishlib.course import lessons
from refinishlib.course.key import judge_parts
from refinishlib.course.keys import key
from refinishlib.course.question import Choice, Chosen, Number, Order, Question, Table, Text, decision, fields
from refinishlib.course.reading import what_was_read

ROOT = Path(__file__).parents[2]
IDS = [f"a{number:02d}" for number in range(1, 41)]
GUESSES = 60
MOST_OF_A_QUESTION, MOST_OF_A_LESSON = 0.25, 0.20


def guess(form, dice):
    """An answer of the right form, without a thought."""
    match form:
        case Number(low=low, high=high):
            return round(dice.uniform(low, min(high, 1000.0)), 1)
        case Choice(options=options):
            return dice.choice(options)
        case Chosen(options=options):
            return [option for option in options if dice.random() < 0.5]
        case Order(tasks=tasks):
            return dice.sample(tasks, len(tasks))
        case Table(rows=rows, cell=cell):
            return [guess(cell, dice) for _ in rows]
        case Text():
            return "paint"


def from_what_is_said(part, sentences, dice):
    """An answer made of nothing but the numbers and quoted words of some sentences, in their order."""
    said = " ".join(sentences)
    words = re.findall(r'"([^"]+)"', said)
    numbers = [float(one.replace(" ", "")) for one in re.findall(r"\d[\d ]*(?:\.\d+)?", said)]
    match part.form:
        case Number():
            return dice.choice(numbers) if numbers else ...
        case Table(rows=rows):
            return [dice.choice(numbers) for _ in rows] if numbers else ...
        case Choice(options=options) | Chosen(options=options) | Order(tasks=options):
            mine = list(dict.fromkeys(word for word in words if word in options))
            if isinstance(part.form, Choice):
                return mine[0] if mine else ...
            # All that were named, as they were named, and whatever is left as the page shows it.
            return [*mine, *(one for one in options if one not in mine)]
        case Text():
            return words[0] if words else ...


def check_messages(question):
    """Everything that the check can be brought to say: nothing typed, nonsense, too little, too much."""
    texts = ["= ...", '= "zzz"', "= -1", "= 99999999", "= []", '= ["zzz"]', "= [1]", "= [...]", "= 1/0", "="]
    for part in question.parts:
        if isinstance(part.form, Order):
            tasks = part.form.tasks
            texts += [f"= {json.dumps(list(tasks[:n]))}" for n in range(1, len(tasks) + 1)]
            texts += [f"= {json.dumps([task, *tasks])}" for task in tasks]
    for text in texts:
        for part in question.parts:
            for said in what_was_read((part,), f"{part.name} {text}"):
                # What was typed is said back; only the rest is new.
                yield part.name, said.sentence.split(": read as ")[0]


def earned(question, keys, answers):
    return judge_parts(question, keys, answers).points


def shares(lesson, answers_of):
    """For each question, the average share of its points, over apprentices."""
    totals: dict[str, list[float]] = {}
    points: dict[str, float] = {}
    for whose in IDS:
        dice = random.Random(whose)
        keys = key(lesson, whose)
        for name, question in lessons.questions(lesson, whose).items():
            points[name] = question.points
            for answers in answers_of(question, dice):
                totals.setdefault(name, []).append(earned(question, keys[name], answers))
    averages = {name: sum(all_) / len(all_) for name, all_ in totals.items()}
    by_question = {name: averages[name] / points[name] for name in averages}
    return by_question, sum(averages.values()) / sum(points.values())


def random_answers(question, dice):
    for _ in range(GUESSES):
        yield {part.name: guess(part.form, dice) for part in question.parts}


def no_answers(question, dice):
    for nothing in (..., "", [], None):
        yield {part.name: nothing for part in question.parts}


def answers_from_messages(question, dice):
    said: dict[str, list[str]] = {}
    for name, sentence in check_messages(question):
        said.setdefault(name, []).append(sentence)
    for _ in range(3):
        yield {part.name: from_what_is_said(part, said[part.name], dice) for part in question.parts}


def neutral_answers(question, dice):
    """The first option, every option, all tasks as the page lists them, forwards and backwards."""
    for way in (1, -1):
        yield {
            part.name: list(part.form.tasks)[::way]
            if isinstance(part.form, Order)
            else list(part.form.options)
            if isinstance(part.form, Chosen)
            else part.form.options[::way][0]
            if isinstance(part.form, Choice)
            else 1
            for part in question.parts
        }


WAYS = [random_answers, no_answers, answers_from_messages, neutral_answers]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
@pytest.mark.parametrize("lesson", lessons.names())
def test_a_guess_earns_little_of_each_question_and_of_the_lesson(lesson, way):
    by_question, whole = shares(lesson, way)
    assert {name: share for name, share in by_question.items() if share > MOST_OF_A_QUESTION} == {}
    assert whole <= MOST_OF_A_LESSON


@pytest.mark.parametrize("lesson", lessons.names())
def test_the_answer_form_is_the_same_for_everyone(lesson):
    forms = {json.dumps([fields(q) for q in lessons.questions(lesson, whose).values()]) for whose in IDS}
    assert len(forms) == 1


@pytest.mark.parametrize("lesson", lessons.names())
def test_no_form_no_message_and_no_file_of_the_apprentices_holds_an_orders_key(lesson):
    shipped = [path.read_text(encoding="utf-8") for path in (ROOT / "lessons" / lesson).rglob("*.ipynb")]
    library = [
        path.read_text(encoding="utf-8")
        for path in (ROOT / "refinishlib").rglob("*")
        if path.suffix in (".py", ".md", ".toml", ".js", ".json") and "keys" not in path.parts
    ]
    for whose in IDS:
        for name, question in lessons.questions(lesson, whose).items():
            for part in question.parts:
                if not isinstance(part.form, Order):
                    continue
                keys = key(lesson, whose)[name]
                told = [json.dumps(fields(question)), question.text, *(s for _, s in check_messages(question))]
                for text in (*told, *(shipped + library if whose == IDS[0] else ())):
                    if all(task in text for task in part.form.tasks):
                        listed = sorted(part.form.tasks, key=text.index)
                        judged = judge_parts(Question("", "", "", "", (part,)), keys, {part.name: listed})
                        assert judged.points == 0, listed


@pytest.mark.parametrize("lesson", lessons.names())
def test_points_that_a_wrong_order_earns_are_earned_by_hardly_any(lesson):
    for name, question in lessons.questions(lesson, "demo").items():
        for part in question.parts:
            if isinstance(part.form, Order):
                dice = random.Random(1)
                alone = Question("", "", "", "", (part,))
                orders = [dice.sample(part.form.tasks, len(part.form.tasks)) for _ in range(3000)]
                points = [earned(alone, key(lesson, "demo")[name], {part.name: order}) for order in orders]
                assert sum(points) / len(points) < 0.05 * part.points


def test_options_and_tasks_always_stand_in_the_alphabets_order():
    words = ("wing", "Roof", "card 10", "card 2", "a-pillar")
    neutral = ("a-pillar", "card 2", "card 10", "Roof", "wing")
    for shuffled in itertools.islice(itertools.permutations(words), 24):
        assert Choice(shuffled).options == Chosen(shuffled).options == Order(shuffled).tasks == neutral


@pytest.mark.parametrize(
    ("parts", "why"),
    [
        (decision("join", "Join?", ("join", "blend", "correct"), ("flop", "face"))[:1], "needs a reason"),
        (decision("join", "Join?", ("join", "blend"), ("flop", "face"))[1:], "not there"),
        (decision("join", "", ("join", "blend"), ("flop", "face")), "needs a label"),
        (2 * decision("join", "Join?", ("join", "blend"), ("flop", "face")), "twice"),
    ],
)
def test_a_question_that_pays_for_guessing_cannot_be_made(parts, why):
    with pytest.raises(ValueError, match=why):
        Question("1", "", "", "", tuple(parts))


@pytest.mark.parametrize("options", [2, 3, 5])
def test_a_guessed_decision_earns_little_and_a_reason_counts_only_with_it(options):
    from refinishlib.course.key import PartKey

    offered, reasons = [f"way {n}" for n in range(options)], [f"reason {n}" for n in range(4)]
    question = Question("1", "", "", "", decision("way", "Which way?", offered, reasons))
    keys = {"way": PartKey("way 1"), "way_reason": PartKey("reason 3")}
    points = {
        (way, reason): earned(question, keys, {"way": way, "way_reason": reason})
        for way in offered
        for reason in reasons
    }
    assert points["way 1", "reason 3"] == 3
    assert points["way 0", "reason 3"] == 0
    assert points["way 1", "reason 0"] == (0 if options == 2 else 1)
    assert sum(points.values()) / len(points) <= MOST_OF_A_QUESTION * 3
