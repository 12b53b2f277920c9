"""The bank of typings: what a person who paints and does not program types behind ``name =``, and what is read.

Each row is typed bare, as it stands here, and again as the answer form writes it, in one pair of quotes. Written from
imagination and the trade's habits; nobody's real answers.
"""

import json
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refinishlib.course.question import Choice, Chosen, Number, Order, Part, Table, Text
from refinishlib.course.reading import CANNOT_BE_READ, NOT_ANSWERED, READ, what_was_read

FORMS = {
    "grams": Number("mass", "g"),
    "share": Number("percent", "%", 0, 100),
    "fit": Choice(("yes", "no")),
    "machine": Choice(("3/16 in", "3/32 in", "by hand", "long board", "none")),
    "tools": Chosen(("scale", "cup", "stirring stick", "gloves")),
    "order": Order(("stir", "tare the cup", "pour the job's toner")),
    "rows": Table(("white", "soft black", "violet"), Number("mass", "g"), "toner", 5),
    "code": Text(),
}
OZ = 28.349523125
STEPS = ("stir", "tare the cup", "pour the job's toner")
ROWS = (12.0, 30.5, 41.0)

# (field, what is typed, the value that is meant)
READ_AS_MEANT = [
    # Numbers, points and commas
    ("grams", "34.2", 34.2),
    ("grams", "34.2 g", 34.2),
    ("grams", "34,2", 34.2),
    ("grams", "34,2 g", 34.2),
    ("grams", "34.2g", 34.2),
    ("grams", "34,05", 34.05),
    ("grams", "0,8", 0.8),
    ("grams", ",8", 0.8),
    ("grams", "34.", 34.0),
    ("grams", "34,", 34.0),
    ("grams", "007", 7.0),
    ("grams", "1e2", 100.0),
    # Units
    ("grams", "7 oz", 7 * OZ),
    ("grams", "7oz.", 7 * OZ),
    ("grams", "1 lb 4 oz", 20 * OZ),
    ("grams", "0,25 kg", 250.0),
    ("grams", "34.2 grams", 34.2),
    ("grams", "34.2 G", 34.2),
    ("grams", "g 34.2", 34.2),
    ("grams", "oz 7", 7 * OZ),
    ("grams", "34.2\tg", 34.2),
    ("grams", "34.2   g", 34.2),
    ("share", "12.5 %", 12.5),
    ("share", "12,5%", 12.5),
    ("share", "12.5 percent", 12.5),
    ("share", "% 12.5", 12.5),
    # Thousands marks and fractions
    ("grams", "1 000", 1000.0),
    ("grams", "1'000 g", 1000.0),
    ("grams", "1’000 g", 1000.0),
    ("grams", "1,234.5 g", 1234.5),
    ("grams", "1.234,5", 1234.5),
    ("grams", "1 1/2 oz", 1.5 * OZ),
    ("grams", "1 1/2", 1.5),
    ("grams", "1½ oz", 1.5 * OZ),
    ("grams", "¾", 0.75),
    ("grams", "3/4", 0.75),
    # Quotes of every kind
    ("grams", '"34.2"', 34.2),
    ("grams", "'34.2 g'", 34.2),
    ("grams", "“34.2 g”", 34.2),
    ("grams", "„34,2 g“", 34.2),
    ("grams", "«34.2»", 34.2),
    ("grams", '""34.2 g""', 34.2),
    ("grams", "''34.2''", 34.2),
    ("grams", '"34.2', 34.2),
    ("grams", "34.2 g'", 34.2),
    ("grams", "`34.2`", 34.2),
    ("grams", '"34.2" g', 34.2),
    # Other keyboards
    ("grams", "３４．２", 34.2),
    ("grams", "３４，２ ｇ", 34.2),
    ("grams", "٣٤", 34.0),
    # Sums
    ("grams", "7 * 28.35", 198.45),
    ("grams", "7 x 28.35", 198.45),
    ("grams", "7x28,35", 198.45),
    ("grams", "7 × 28,35 g", 198.45),
    ("grams", "12 + 3,5", 15.5),
    ("grams", "12 g + 3.5 g", 15.5),
    ("grams", "1 kg - 20 g", 980.0),
    ("grams", "560 − 25", 535.0),
    ("grams", "70 ÷ 2", 35.0),
    ("grams", "(12 + 3) * 2", 30.0),
    ("grams", "round(34.21, 1)", 34.2),
    ("grams", "sum([12, 3.5])", 15.5),
    # Said around the number
    ("grams", "= 34.2", 34.2),
    ("grams", "about 34.2 g", 34.2),
    ("grams", "ca. 34,2", 34.2),
    ("grams", "34.2 g.", 34.2),
    ("grams", "34.2;", 34.2),
    ("grams", "34.2 g   # of white", 34.2),
    ("grams", "(34.2)", 34.2),
    ("grams", "34.2)", 34.2),
    ("grams", "[34.2]", 34.2),
    # Words
    ("fit", "yes", "yes"),
    ("fit", "Yes", "yes"),
    ("fit", "YES!", "yes"),
    ("fit", "no.", "no"),
    ("fit", "'no'", "no"),
    ("fit", "“Yes”", "yes"),
    ("fit", '"yes', "yes"),
    ("fit", "y", "yes"),
    ("fit", "True", "yes"),
    ("fit", "(yes)", "yes"),
    ("machine", "3/16 in", "3/16 in"),
    ("machine", "By Hand", "by hand"),
    ("machine", "by-hand", "by hand"),
    ("machine", '"long   board"', "long board"),
    ("code", "RD-7", "RD-7"),
    ("code", "'RD 7'", "RD 7"),
    # Lists of words
    ("tools", '["scale", "cup"]', {"scale", "cup"}),
    ("tools", "scale, cup", {"scale", "cup"}),
    ("tools", "[scale, cup]", {"scale", "cup"}),
    ("tools", "scale; Stirring-Stick", {"scale", "stirring stick"}),
    ("tools", "scale and cup", {"scale", "cup"}),
    ("tools", "[stirring stick, cup", {"stirring stick", "cup"}),
    ("tools", "“scale”, “cup”", {"scale", "cup"}),
    ("tools", "scale", {"scale"}),
    ("order", "stir, tare the cup, pour the job's toner", STEPS),
    ("order", "[stir, tare the cup, pour the job’s toner]", STEPS),
    ("order", '["stir", "tare the cup", "pour the job\'s toner"]', STEPS),
    ("order", "stir\ntare the cup\npour the job's toner", STEPS),
    ("order", "1. stir\n2. tare the cup\n3. pour the job's toner", STEPS),
    ("order", "stir > tare the cup > pour the job's toner", STEPS),
    # Lists of numbers
    ("rows", "[12.0, 30.5, 41.0]", ROWS),
    ("rows", "12, 30.5, 41", ROWS),
    ("rows", "[12, 30,5, 41]", ROWS),
    ("rows", "12,0; 30,5; 41,0", ROWS),
    ("rows", "12 30,5 41", ROWS),
    ("rows", "[12, 30.5, 41", ROWS),
    ("rows", "12 g, 30.5 g, 41 g", ROWS),
    ("rows", "12\n30,5\n41", ROWS),
    ("rows", "white 12, soft black 30,5, violet 41", ROWS),
    ("rows", '["12 g", "30,5 g", "41 g", "", ""]', ROWS),
]

# (field, what is typed, words of the cure)
RIGHT_CURE = [
    ("grams", "1,000", "type 1000 or 1.000 with a point"),
    ("grams", "34, 2", "such as 34.2"),
    ("grams", "3^2", "3 * 3"),
    ("grams", "1/0", "divides by zero"),
    ("grams", "1² g", "type a mass such as 250 g"),
    ("grams", "34.2 ml", "type a mass in g, kg, oz, lb"),
    ("grams", "5 %", "type a mass in g, kg, oz, lb"),
    ("grams", "seven", "type a mass such as 250 g"),
    ("grams", "3-4 g", "type a mass such as 250 g"),
    ("grams", "-5", "allowed is a number from 0 to 1 000 000 g"),
    ("grams", "2 000 000", "allowed is a number from 0 to 1 000 000 g"),
    ("grams", "import math", "type a mass such as 250 g"),
    ("grams", "totl_g * 2", "Fill in the cell that gives it"),
    ("grams", "round(5, -10**7)", "round(...) takes -6 to 12 digits"),
    ("fit", "maybe", 'type one of "no", "yes"'),
    ("tools", "hammer", "type some of"),
    ("order", "stir, stir, tare the cup", "stands there twice"),
    ("order", "stir", "each of the 3 tasks once"),
    ("rows", "12,0,30,5,41,0", "Type a point for a decimal comma"),
    ("rows", "[12, 30]", "your job card has 3 rows"),
]


def read_back(field, line):
    """The value that is read, by way of the sentence: nothing but the reader's own words is looked at."""
    part = Part(field, f"The {field}", FORMS[field], 1)
    (said,) = what_was_read((part,), line)
    return part, said


@pytest.mark.parametrize("in_quotes", [False, True], ids=["bare", "as the form writes it"])
@pytest.mark.parametrize(("field", "typed", "meant"), READ_AS_MEANT)
def test_a_typing_is_read_as_meant_and_said_back(field, typed, meant, in_quotes):
    part, said = read_back(field, f"{field} = {json.dumps(typed.split('#')[0]) if in_quotes else typed}")
    if in_quotes and "(" in typed and typed[:1].isalpha():
        assert said.state == CANNOT_BE_READ  # a function is a line's own, not a field's
        return
    meant = frozenset(meant) if isinstance(meant, set) else meant
    said_back = {40 * OZ / 2: 566.99046}.get(meant, meant)
    assert (said.state, said.sentence) == (READ, f"The {field}: read as {part.form.say(said_back)}.")


@pytest.mark.parametrize(("field", "typed", "cure"), RIGHT_CURE)
def test_what_is_not_read_gets_the_right_cure(field, typed, cure):
    _, said = read_back(field, f"{field} = {typed}")
    assert said.state == CANNOT_BE_READ
    assert cure in said.sentence
    assert "e+0" not in said.sentence and "\n" not in said.sentence and len(said.sentence) < 250


def test_the_bank_has_at_least_76_typings():
    assert len({(field, typed) for field, typed, _ in READ_AS_MEANT + RIGHT_CURE}) >= 76


@pytest.mark.parametrize("typed", ["...", "…", '""', '" "', "None"])
def test_an_empty_field_is_not_answered(typed):
    _, said = read_back("grams", f"grams = {typed}")
    assert said.state == (CANNOT_BE_READ if not typed.strip('" ') else NOT_ANSWERED) or typed.startswith('"')
    assert "read as" not in said.sentence


ANY_TEXT = st.text(max_size=60) | st.text(alphabet="0123456789.,/ -½gmlozb()[]{}\"'=#x*^+;:\n\t%", max_size=40)


@given(st.sampled_from(sorted(FORMS)), ANY_TEXT)
def test_the_reader_never_raises_and_says_one_sentence(field, typed):
    for line in (f"{field} = {typed}", f"{field} = {json.dumps(typed)}", typed):
        _, said = read_back(field, line)
        assert said.state in (READ, NOT_ANSWERED, CANNOT_BE_READ)
        assert said.sentence.startswith((f"The {field}: ", f"The {field}, "))
        assert len(said.sentence) < 700


@pytest.mark.parametrize(
    "typed",
    [
        "round(5, -10**7)",
        "round(5, 10**9)",
        "9**9**9",
        "9" * 5900,
        "(" * 2900 + ")" * 2900,
        "1+" * 2900 + "1",
        "-" * 5900 + "1",
        "1e999999",
        "[" * 2900,
        "'" * 5900,
        "a, " * 1900,
        "1 " * 2900,
        "sum([" + "9**150, " * 400 + "1])",
        "max(" * 900 + "[1]" + ")" * 900,
        "\\" * 5900,
        "x" * 5900,
        "#" * 5900,
        "\n" * 5900,
        "a = \n" * 1000,
        "²" * 5900,
    ],
    ids=range(20),
)
def test_nothing_that_is_typed_takes_long(typed):
    """Bounded by design; a second is a hundred times what each takes, so that only a fault can fail here."""
    for field in FORMS:
        for line in (f"{field} = {typed}", f"{field} = {json.dumps(typed)}"):
            before = time.process_time()
            read_back(field, line)
            assert time.process_time() - before < 1.0
