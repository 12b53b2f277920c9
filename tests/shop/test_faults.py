"""A data file with faults says all of them with their lines, and loads nothing."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.shop.faults import Field, load, read

SHEET = (
    Field("name", str, unique=True),
    Field("kind", str, choices=("clear", "base")),
    Field("film_um", low=0, above_low=True, high=200, unit="um"),
    Field("coats", int, low=1, high=4, optional=True),
    Field("tips_mm", low=0.5, high=3, many=True, optional=True),
    Field("mix", many=True, optional=True, row=(Field("part", str), Field("volume", low=0))),
    Field("cure", optional=True, fields=(Field("panel_c", low=0, high=120), Field("minutes", low=0))),
    Field("step", many=True, optional=True, fields=(Field("name", str, unique=True), Field("wet", bool))),
)
FILE = (Field("source", str), Field("sheet", many=True, fields=SHEET))

GOOD = """\
source = "invented for the demo"

[[sheet]]
name = "plain"  # the [[sheet]] in this comment is not one
kind = "clear"
film_um = 50
tips_mm = [
    1.2,  # fine
    1.3,
]
mix = [["clear", 2], ["hardener", 1.0]]

[sheet.cure]
panel_c = 60
minutes = 30

[[sheet.step]]
name = "first"
wet = true

[[sheet]]
name = "other"
kind = "base"
film_um = 12.5
coats = 2
cure = { panel_c = 20, minutes = 960 }
"""


def faults_of(text):
    with pytest.raises(BadEntry) as caught:
        read(text, FILE, file="sheets.toml")
    return str(caught.value).split("\n")


def test_a_right_file_is_read_with_its_types():
    plain, other = read(GOOD, FILE)["sheet"]
    assert plain["mix"] == [("clear", 2.0), ("hardener", 1.0)]
    assert plain["tips_mm"] == [1.2, 1.3]
    assert plain["step"] == [{"name": "first", "wet": True}]
    assert "coats" not in plain
    assert other["coats"] == 2 and other["cure"] == {"panel_c": 20.0, "minutes": 960.0}
    assert isinstance(plain["film_um"], float)


def test_all_faults_at_once_each_with_its_line():
    text = (
        GOOD.replace("film_um = 50", "film_um = -3")
        .replace('kind = "base"', 'kind = "glaze"')
        .replace("minutes = 30\n", "")
        .replace("wet = true", 'wet = "yes"')
        .replace('name = "other"', 'name = "plain"\nshade = "grey"')
        .replace("coats = 2", "coats = 2.5")
        .replace("    1.3", "    nan")
        .replace('["hardener", 1.0]', '["hardener"]')
    )
    assert faults_of(text) == [
        'sheets.toml, line 6, sheet "plain": film_um: -3 was given, allowed is a number above 0 and up to 200 um.',
        'sheets.toml, line 7, sheet "plain": tips_mm: nan was given, allowed is a number from 0.5 to 3.',
        "sheets.toml, line 11, sheet \"plain\": mix: ['hardener'] was given, allowed is a list of part, volume.",
        'sheets.toml, line 13, sheet "plain": minutes is missing.',
        "sheets.toml, line 18, step \"first\": wet: 'yes' was given, allowed is true or false.",
        "sheets.toml, line 21, sheet \"plain\": name: 'plain' was given twice, allowed is once.",
        'sheets.toml, line 22, sheet "plain": shade is not a known field, allowed are name, kind, film_um, coats, '
        "tips_mm, mix, cure, step.",
        "sheets.toml, line 23, sheet \"plain\": kind: 'glaze' was given, allowed are clear, base.",
        'sheets.toml, line 25, sheet "plain": coats: 2.5 was given, allowed is a whole number.',
    ]


def test_broken_syntax_does_not_hide_the_other_faults():
    text = (
        GOOD.replace("film_um = 50", "film_um = 5O")
        .replace('kind = "base"', "kind = base")
        .replace("film_um = 12.5", "film_um = 0")
    )
    first, second, third = faults_of(text)
    assert first.startswith("sheets.toml, line 6: not valid TOML")
    assert second.startswith("sheets.toml, line 23: not valid TOML")
    assert third.startswith('sheets.toml, line 24, sheet "other": film_um: 0 was given')


def test_a_broken_header_does_not_mix_two_tables_up():
    text = GOOD.replace('[[sheet]]\nname = "other"', '[[sheet]\nname = "other"').replace("film_um = 50", "film_um = 0")
    first, second = faults_of(text)
    assert first.startswith('sheets.toml, line 6, sheet "plain": film_um: 0 was given')
    assert second.startswith("sheets.toml, line 21: not valid TOML")


def test_a_file_of_another_kind_is_given_up_soon():
    faults = faults_of("\n".join(f"<p>row {n}</p>" for n in range(5000)))
    assert len(faults) == 21
    assert not any("missing" in fault for fault in faults)


@pytest.mark.parametrize(
    "text", ["", "source = ", 'source = "x"\n[[sheet', 'source = """never closed', "sheet = 3\nsource = 4", "]", "\0"]
)
def test_rubbish_is_one_bad_entry(text):
    assert all(line.startswith("sheets.toml, line ") for line in faults_of(text))


def test_rules_across_records_have_lines_too():
    def also(data):
        for index, sheet in enumerate(data["sheet"]):
            if sheet["name"] == "other":
                yield ("sheet", index, "cure", "minutes"), "minutes: too long for this shop."

    with pytest.raises(BadEntry, match=r'^the text, line 26, sheet "other": minutes: too long for this shop.$'):
        read(GOOD, FILE, also=also)


def test_a_file_is_read_from_its_place_and_named_in_its_faults(tmp_path):
    path = tmp_path / "sheets.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert [row["name"] for row in load(path, FILE)["sheet"]] == ["plain", "other"]
    path.write_text(GOOD.replace('source = "invented for the demo"', ""), encoding="utf-8")
    with pytest.raises(BadEntry, match=r"^sheets.toml, line 1: source is missing.$"):
        load(path, FILE)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(GOOD.splitlines()), max_size=30), st.integers(0, 30), st.text(max_size=4))
def test_any_jumble_of_lines_is_read_or_refused_and_never_fails_otherwise(rows, at, noise):
    text = "\n".join([*rows[:at], noise, *rows[at:]])
    try:
        values = read(text, FILE)
    except BadEntry as fault:
        assert str(fault)
    else:
        assert set(values) == set(tomllib.loads(text))
