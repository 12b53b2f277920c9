"""A mistake in a lesson's text is one sentence with its line; what is built carries what it was built from."""

import json
import shutil
from pathlib import Path

import pytest

from refinishlib.course import builder, lessons, release
from refinishlib.course.builder import pieces
from refinishlib.entry import BadEntry

ROOT = Path(__file__).parents[2]
TEXT = (lessons.FOLDER / "mixing" / "lesson.md").read_text(encoding="utf-8")


def built(monkeypatch, tmp_path, text: str) -> str:
    """The mixing lesson's notebook with another text."""
    for name in ("mixing", "__init__.py"):
        source = lessons.FOLDER / name
        shutil.copytree(source, tmp_path / name) if source.is_dir() else shutil.copy(source, tmp_path)
    (tmp_path / "mixing" / "lesson.md").write_text(text, encoding="utf-8")
    monkeypatch.setattr(lessons, "FOLDER", tmp_path)
    return builder.written("mixing", ROOT)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{figur staircase}", "{figur} was given, allowed are cautions, id, how, figure"),
        ("{figure stairs}", "the figure stairs was given"),
        ("{figure}", "{figure} was given with 0 words"),
        ("{widget MixShet}", "widget"),
        ('{practise "Own wait"}', "practice"),
        ("{question 9.9}", "question"),
        ("{question 1.1}", "stands in the lesson twice"),
        ('{question 1.1 "What}', "a quote is not closed"),
        ("{cautions juggling}", "task"),
        ("{id}", "stands in the lesson twice"),
        ("{written 4}", "{written} was given twice"),
    ],
)
def test_a_mistake_in_the_text_is_one_sentence_with_its_line(monkeypatch, tmp_path, line, said):
    with pytest.raises(BadEntry) as bad:
        built(monkeypatch, tmp_path, f"{TEXT}\n{line}\n")
    sentence = str(bad.value)
    assert sentence.startswith(f"mixing/lesson.md, line {len(TEXT.splitlines()) + 2}: ")
    assert said in sentence and "\n" not in sentence and sentence.endswith(".")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("{id}\n", ""), "{question 1.1} was given above {id}"),
        (("{question 5.1", "{written 4}\n\n{question 4.1"), "twice"),
        (('{question 2.1 "The job needs a volume. The scale wants a weight."}', ""), "questions 2.1"),
        (("{written 4}", "{written 5}"), "as many points as"),
        (("{written 4}", "{written some}"), "a whole number of points"),
    ],
)
def test_a_text_that_does_not_fit_its_questions_is_one_sentence(monkeypatch, tmp_path, change, said):
    assert change[0] in TEXT
    with pytest.raises(BadEntry) as bad:
        built(monkeypatch, tmp_path, TEXT.replace(*change))
    assert said in str(bad.value) and "\n" not in str(bad.value)


def test_lines_in_code_and_brackets_in_prose_are_prose():
    found = list(pieces("Take {this} one.\n\n    {figure x}\n\n```\n{figure y}\n```\n- a\n{figure z}\nb\n## c\nd", "x"))
    assert [piece.words or piece.prose.split()[0] for piece in found] == ["Take", ("figure", "z"), "b", "##"]
    assert [piece.line for piece in found] == [1, 9, 10, 11]


def test_a_released_version_is_never_written_with_other_cards_or_marks():
    now = release.metadata(release.release("mixing"))
    for what, word in (("cards", "job cards"), ("marks", "right answers or points")):
        before = {"metadata": {"refinish": now | {what: "another"}}}
        with pytest.raises(BadEntry, match=rf"version {now['version']} was given, but its {word} are others"):
            builder._hold_released(before, {"metadata": {"refinish": now}})
        builder._hold_released(before, {"metadata": {"refinish": now | {"version": now["version"] + 1}}})
        draft = {"metadata": {"refinish": now | {what: "another", "version": 0}}}
        builder._hold_released(draft, {"metadata": {"refinish": now | {"version": 0}}})
    builder._hold_released({"metadata": {}}, {"metadata": {"refinish": now}})


@pytest.mark.parametrize("lesson", lessons.names())
def test_the_released_notebook_carries_lesson_world_and_library(lesson):
    path = ROOT / "lessons" / lesson / f"{lesson}.ipynb"
    said = release.stated(json.loads(path.read_text(encoding="utf-8"))["metadata"])
    assert said == release.release(lesson)


@pytest.mark.parametrize("lesson", lessons.names())
def test_a_record_names_the_skills_of_its_questions_and_needs_only_earlier_ones(lesson):
    record = lessons.record(lesson)
    assert set(record.skills) == {question.skill for question in lessons.questions(lesson, "demo").values()}
    earlier = [one for name in lessons.names() if (one := lessons.record(name)).order < record.order]
    assert set(record.needs) <= {skill for one in earlier for skill in one.skills}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("minutes = 63\n", ""), "minutes: nothing was given"),
        (("minutes = 63", 'minutes = "an hour"'), "a whole number"),
        (("needs = []", "need = []"), "needs: nothing was given"),
        (("minutes = 63", "minutes = 63\nlength = 3"), "length: it was given"),
        (("title", "title title"), "lesson.toml"),
    ],
)
def test_a_mistake_in_a_record_is_one_sentence(monkeypatch, tmp_path, change, said):
    (tmp_path / "mixing").mkdir()
    text = (lessons.FOLDER / "mixing" / "lesson.toml").read_text(encoding="utf-8")
    assert change[0] in text
    (tmp_path / "mixing" / "lesson.toml").write_text(text.replace(*change, 1), encoding="utf-8")
    monkeypatch.setattr(lessons, "FOLDER", tmp_path)
    lessons.record.cache_clear()
    try:
        with pytest.raises(BadEntry, match=said):
            lessons.record("mixing")
    finally:
        lessons.record.cache_clear()
