"""Answer cells read as data: the same values as running the cell would give, and nothing is ever run.

What a person types who does not program has a bank of its own, in ``tests/course/test_typings.py``.
"""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.course.answers import CODE, SLIP, TOO_MUCH, assigned_names, read_cell, worked_out

NUMBERS = st.one_of(st.integers(-(10**6), 10**6), st.floats(-1e6, 1e6, allow_nan=False))


def arithmetic(inner):
    return st.builds("({} {} {})".format, inner, st.sampled_from(["+", "-", "*", "/", "//", "%"]), inner)


EXPRESSIONS = st.recursive(NUMBERS.map(repr) | st.just("first"), arithmetic, max_leaves=8)
WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=20)
VALUES = st.one_of(
    EXPRESSIONS,
    WORDS.map(repr),
    st.just("..."),
    st.lists(EXPRESSIONS, max_size=5).map(lambda items: "[" + ", ".join(items) + "]"),
    st.dictionaries(WORDS, EXPRESSIONS, max_size=4).map(
        lambda pairs: "{" + ", ".join(f"{key!r}: {value}" for key, value in pairs.items()) + "}"
    ),
)


@settings(max_examples=150, deadline=None)
@given(first=NUMBERS, values=st.lists(VALUES, min_size=1, max_size=4))
def test_an_honest_cell_gives_what_running_it_would_give(first, values):
    text = "\n".join([f"first = {first!r}", *(f"answer_{n} = {value}" for n, value in enumerate(values))])
    ran: dict = {}
    try:
        exec(text, {"__builtins__": {}}, ran)
    except (ZeroDivisionError, OverflowError):
        # Running stops there; reading goes on with the next line.
        assert read_cell(text).problem == SLIP
        assert list(ran.items()) == list(read_cell(text).values.items())[: len(ran)]
        return
    reading = read_cell(text)
    assert dict(reading.values) == ran or repr(dict(reading.values)) == repr(ran)
    assert not reading.loose


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("x = 7 * 28.35", {"x": 7 * 28.35}),
        ('x = "34.2 g"  # grams', {"x": "34.2 g"}),
        ("\n\n  x = 3\n  y = x / 2", {"x": 3, "y": 1.5}),
        ("x = y = 2", {"x": 2, "y": 2}),
        ('x = {"white": 1.5, "black": -2}', {"x": {"white": 1.5, "black": -2}}),
        ("x = 2 ** 10", {"x": 1024}),
        ("x = ...", {"x": ...}),
        ("x = -(2.5 + 1)", {"x": -3.5}),
        ("# only a comment", {}),
        ("x = round(34.25, 1)", {"x": round(34.25, 1)}),
        ("x = round(1234.5, -2)", {"x": 1200.0}),
        ("x = sum([0.1, 0.2, 0.3])", {"x": sum([0.1, 0.2, 0.3])}),
        ("x = [1, 4, 2]\ny = max(x) - min(x)", {"x": [1, 4, 2], "y": 3}),
        ("x = abs(2 - 5.5)", {"x": 3.5}),
        ("x = 3.5\nprint(x)\nprint('all in', x, sep=': ')", {"x": 3.5}),
        ("x = 3.5\nx", {"x": 3.5}),
        ("x == 3", {"x": 3}),
        ("x: 3", {"x": 3}),
        ("", {}),
    ],
)
def test_plain_answers(text, values):
    reading = read_cell(text)
    assert (dict(reading.values), reading.problem) == (values, "")


@pytest.mark.parametrize(
    "text",
    [
        "x = open('canary', 'w')",
        "import os\nx = 3",
        "x = ().__class__",
        "x = [n for n in (1, 2)]",
        "x = lambda: 3",
        "x = f'{3}'",
        "x = (y := 3)",
        "x = 3 if 1 else 4",
        "x = [1, 2][0]",
        "x = not 3",
        "x = 1 << 3",
        "x = b'3'",
        "x += 1",
        "x: int = 3",
        "(x, y) = 1, 2",
        "a.b = 3",
        "def f(): pass",
        "del x",
        "%time x = 3",
        "!ls",
        "x = !ls",
        "print?",
        "x = 3; __import__('os').system('true')",
        "_x = 3",
        "__builtins__ = {}",
        "while True: pass",
        "{**a}",
        "[*a]",
        "await x",
        "x = print(3)",
        "print(open('canary', 'w'))",
        "x = sum(n for n in [1])",
        "x = sum([1], 2, 3)",
        "x = round(number=3.2)",
        "x = [3].pop()",
        "x = max([1], key=print)",
        "round = 3\nx = round(3.2)",
        "x = 7 g\nimport os",
    ],
)
def test_code_is_said_to_be_code_and_gives_no_value(text):
    reading = read_cell(text)
    assert (dict(reading.values), reading.problem) == ({}, CODE)
    assert "not run" in reading.sentence


@pytest.mark.parametrize(
    "text",
    [
        "x = 1/0",
        "x = 10.0 ** 999",
        "x = (-8) ** 0.5",
        "x = '3' * 4",
        "x = {[1]: 2}",
        "x =",
        "x = 3^2",
        "x = unknown * 2",
        "x = round(5, -10**7)",
        "x = round(5, 13)",
        "x = round(1e308 * 10)",
        "x = sum(5)",
        "x = max([])",
        "x = sum([1, 'a'])",
    ],
)
def test_a_typing_slip_is_one_sentence_and_costs_only_its_own_line(text):
    reading = read_cell("above = 1\n" + text + "\nbelow = above * 2")
    assert reading.problem == SLIP
    assert reading.sentence.count("\n") == 0
    assert dict(reading.values) == {"above": 1, "below": 2}
    assert list(reading.slips) == ["x"]


def test_a_line_that_uses_a_line_that_could_not_be_read_says_so():
    reading = read_cell("x = 1/0\ny = x + 1")
    assert set(reading.slips) == {"x", "y"} and "own line" in reading.slips["y"]


def test_a_name_from_an_unreadable_cell_of_ones_own_is_no_word():
    assert read_cell("x = help_g").values == {"x": "help_g"}
    reading = read_cell("x = help_g", lost=["help_g"])
    assert reading.own and "a cell of your own" in reading.slips["x"]


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "9" * 5000,
        "x = 0x" + "f" * 3000,
        "x = 9 ** 9 ** 9",
        "x = 2 ** 100000",
        "x = " + "-" * 3000 + "1",
        "x = " + "+".join(["1"] * 2500),
        "x = " + "(" * 250 + "1" + ")" * 250,
        "x = [" * 80 + "]" * 80,
        "x = '" + "a" * 3000 + "'",
        "a = [0, 0]\n" + "\n".join(f"a = [{', '.join(['a'] * 9)}]" for _ in range(30)),
        "x = 3 # " + "a" * 100_000,
        "x = '\0'",
        "x = '\ud800'",
    ],
    ids=range(13),
)
def test_bombs_are_refused_at_once(text):
    reading = read_cell(text)
    as_a_text = {"x": text.removeprefix("x = ")}
    assert (dict(reading.values), reading.problem) in (({}, TOO_MUCH), ({}, SLIP), (as_a_text, ""))


def test_later_cells_use_earlier_answers_and_look_alikes_stay_other_names():
    assert read_cell("y = x * 2", {"x": 4}).values == {"y": 8}
    assert "total_g" not in read_cell("t\u03bftal_g = 3").values


PIECES = st.sampled_from(
    ["x", " = ", "own_g", "\n", "1", "2,5", "(", ")", "[", "]", ", ", '"', "'", "#", "\\", "import os", "round(",
     "sum([", "**", "^", "%", "!", ":", ";", "...", "lambda", "def f():", "  ", "\t", "\0", "\r", "\ud800", "²", "=="]
)  # fmt: skip


@given(st.lists(PIECES | st.text(max_size=8), max_size=25).map("".join))
def test_whatever_a_cell_holds_is_read_without_an_error(text):
    reading = read_cell(text, {"earlier": 3}, ["lost"])
    assert reading.problem in ("", CODE, SLIP, TOO_MUCH)
    assert bool(reading.sentence) == bool(reading.problem)
    assert reading.problem != CODE or not reading.values
    assert not set(reading.values) & set(reading.slips)
    assert all(isinstance(name, str) for name in assigned_names(text))
    with contextlib.suppress(ValueError):
        assert isinstance(worked_out(text), int | float)
