"""Our part of the Jupyter server, asked as a page asks it; and the desk that it keeps."""

import json
from datetime import UTC, datetime

import pytest

from refinishlib.course.keys import right
from refinishlib.course.lab import desk
from refinishlib.course.lab.entries import of_question
from refinishlib.entry import BadEntry
from refinishlib.grading import handin


@pytest.fixture
def released():
    from classrooms import HERE

    return json.loads((HERE / desk.path_of("mixing")).read_text(encoding="utf-8"))


def test_where_a_lesson_stands_comes_from_the_notebook_itself(released):
    fresh = desk.standing("mixing", released, None)
    assert (fresh.state, fresh.answered, fresh.whose) == (desk.NOT_BEGUN, 0, "")
    begun = handin.filled(released, handin.texts("mixing", "a07", only=2))
    assert desk.standing("mixing", begun, None).state == desk.BEGUN
    texts = handin.texts("mixing", "a07") | {"written-1": "The scale."}
    done = handin.filled(released, texts)
    stands = desk.standing("mixing", done, None)
    assert (stands.state, stands.answered, stands.whose) == (desk.ALL_ANSWERED, stands.asked, "a07")
    slip = handin.filled(released, texts | {"answer-1-1": 'own_g = "seven"'})
    assert desk.standing("mixing", slip, None).state == desk.BEGUN
    assert "seven" in desk.standing("mixing", slip, None).unreadable[0]

    given = desk.handed_in_copy(done, "mixing", datetime(2030, 1, 2, 3, 4, 5, tzinfo=UTC))
    assert given["metadata"]["refinish"]["handed_in"] == "2030-01-02T03:04:05+00:00"
    assert given["cells"] == done["cells"] and "handed_in" not in done["metadata"]["refinish"]
    assert (desk.standing("mixing", done, given).state, desk.standing("mixing", done, given).changed) == (
        "handed in",
        False,
    )
    assert desk.standing("mixing", slip, given).changed


def test_what_is_said_is_what_the_grader_reads_and_never_what_is_right():
    for typed in ("34.2", '"34,2 g"', '"7 oz"', "34,2", "7 * 28.35"):
        [said] = of_question("mixing", "1.1", "a07", [f"own_g = {typed}"])
        assert said.state == "read" and said.sentence.startswith("Read as ")
    wrong, fine = (
        of_question("mixing", "1.1", "a07", [f"own_g = {mass}"])[0]
        for mass in (5, right("mixing", "1.1", "a07")["own_g"])
    )
    assert wrong.state == fine.state == "read"
    [said] = of_question("mixing", "1.1", "a07", ["wanted = 300", "own_g = wanted / 10"])
    assert said.sentence == "Read as 30 g."
    with pytest.raises(BadEntry):
        of_question("no such lesson", "1.1", "a07", [])


@pytest.mark.parametrize("typed", ["", " ", "../a", "a/b", "a b", "con:", ".a", "a" * 65, "ä07", "-a"])
def test_an_id_that_is_no_file_name_is_not_kept(tmp_path, typed):
    with pytest.raises(BadEntry, match=r"^Your id: "):
        desk.remember(tmp_path, typed)
    assert desk.remembered(tmp_path) == ""


def test_an_id_is_remembered_for_the_folder_and_damage_is_forgotten(tmp_path):
    assert desk.remember(tmp_path, " A07 ") == desk.remembered(tmp_path) == "a07"
    for damage in ("", "{", "[]", '{"id": 7.5, "x": 1}', '{"id": "a b"}'):
        (tmp_path / desk.REMEMBERED).write_text(damage)
        assert desk.remembered(tmp_path) in ("", "7.5")
