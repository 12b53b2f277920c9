"""Record and card log: what is written is read back, every fault has its line, and no proof is made up."""

import csv
import io
import tomllib
from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.job.card_log import (
    COLUMNS,
    VERDICTS,
    Card,
    cards_of,
    first_to_try,
    read_log,
    with_card,
    write_log,
)
from refinishlib.job.record import (
    CoatsOf,
    End,
    JobRecord,
    PanelFilm,
    Tinted,
    read_record,
    write_record,
)

RECORD = JobRecord(
    "2026-11-26", "demo 7", "dark red", "b", 40.0, "slow hardener", "normal reducer", 21.5, 52.0, 20.5, "MK",
    (Tinted("soft black", 1.2, 400.0),),
    (CoatsOf("grey sealer", 1, 22.0), CoatsOf("water base", 3, 6.0), CoatsOf("clear", 2, 28.0)),
    (PanelFilm("left rear door", 182.0, 128.0, 96.0),),
    (End("left rear door", "colour", "a hand short of the handle"), End("left rear door", "clear", "gap to the front")),
    "the door's own clear was thin at the lower edge",
)  # fmt: skip
CARD = Card("2026-03-02", "dark red", "a", 40.0, 3, 6.0, True, "gun 2", "demo 3", "not yet", 2.1, "two metres")

words = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=30).filter(
    lambda text: text[0] not in "=+-@" and "\ufffd" not in text and text.isprintable()
)
days = st.dates().map(lambda day: day.isoformat())
cards = st.builds(
    Card, days, words, words, st.floats(0, 100), st.integers(1, 20), st.floats(0.1, 900), st.booleans(), words, words,
    st.sampled_from(VERDICTS), st.one_of(st.none(), st.floats(0, 100)), st.one_of(st.just(""), words),
)  # fmt: skip
records = st.builds(
    JobRecord, days, words, words, words, st.floats(0, 100), words, words, st.floats(0, 50), st.floats(0, 100),
    st.floats(0, 50), words,
    st.lists(st.builds(Tinted, words, st.floats(0, 100), st.floats(1, 5000)), max_size=3).map(tuple),
    st.lists(st.builds(CoatsOf, words, st.integers(1, 9), st.floats(0.1, 100)), max_size=3).map(tuple),
    st.lists(st.builds(PanelFilm, words, *[st.floats(0, 900)] * 3), max_size=3).map(tuple),
    st.lists(st.builds(End, words, st.sampled_from(["colour", "clear"]), words), max_size=3).map(tuple),
    st.one_of(st.just(""), words),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(records)
def test_a_record_is_read_back_as_it_was_written(record):
    assert read_record(write_record(record)) == record


def test_a_record_holds_what_the_next_painter_asks_for_and_is_plain_toml():
    plain = tomllib.loads(write_record(RECORD))
    assert plain["format"] == "refinish record 1"
    for asked in ("colour", "variant", "correction", "undercoat_lightness", "coat", "film", "end", "air_c",
                  "humidity_percent", "panel_c", "hardener", "approved_by"):  # fmt: skip
        assert asked in plain
    assert plain["film"][0].keys() == {"panel", "flat_um", "edge_um", "added_um"}
    assert {end["what"] for end in plain["end"]} == {"colour", "clear"}


def test_every_fault_of_a_record_is_told_with_its_line_in_one_round():
    text = (
        write_record(RECORD).replace('date = "2026-11-26"', 'date = "yesterday"').replace("air_c = 21.5", "air_c = 80")
    )
    text = text.replace('what = "clear"', 'what = "wax"').replace("coats = 3", "coats = 2.5")
    with pytest.raises(BadEntry) as caught:
        read_record(text, file="door.toml")
    rows = str(caught.value).splitlines()
    assert len(rows) == 4
    for fault in ("date: 'yesterday'", "air_c: 80", "what: 'wax'", "coats: 2.5"):
        [row] = [row for row in rows if fault in row]
        line = int(row.split("line ")[1].split(":")[0].split(",")[0])
        assert fault.split(":")[0] in text.splitlines()[line - 1] or line > 1


@pytest.mark.parametrize("bad", ["", "a\nb", " a", "=1+1", "x" * 301, "a\x00"])
def test_what_could_not_be_read_again_is_not_written(bad):
    with pytest.raises(BadEntry):
        write_record(replace(RECORD, vehicle=bad))
    with pytest.raises(BadEntry):
        write_log([replace(CARD, vehicle=bad)])


def test_an_old_or_foreign_format_is_refused():
    with pytest.raises(BadEntry, match="format: 'refinish record 0' was given, allowed are refinish record 1"):
        read_record(write_record(RECORD).replace("record 1", "record 0"))


@settings(max_examples=60, deadline=None)
@given(st.lists(cards, max_size=5), cards)
def test_a_log_is_read_back_as_it_was_written_and_only_grows(log, card):
    text = write_log(log)
    assert read_log(text) == tuple(log)
    more = with_card(text, card)
    assert more.startswith(text.rstrip("\n")) and read_log(more) == (*log, card)


def test_a_log_is_plain_csv_with_the_columns_that_are_documented():
    rows = list(csv.DictReader(io.StringIO(write_log([CARD]))))
    assert tuple(rows[0]) == COLUMNS and rows[0]["cleared"] == "yes" and rows[0]["difference"] == "2.1"
    assert tuple(field.name for field in fields(Card)) == COLUMNS
    # a spreadsheet's own way of saving it: byte order mark, quotes, other line ends
    saved = "\ufeff" + write_log([CARD]).replace("dark red", '"dark red"').replace("\n", "\r\n")
    assert read_log(saved) == (CARD,)


def test_every_fault_of_a_log_is_told_with_its_line():
    good = write_log([CARD, CARD, CARD, CARD]).splitlines()
    good[1] = good[1].replace("2026-03-02", "2.3.2026")
    good[2] = good[2].replace("not yet", "perfect")
    good[3] = good[3].rsplit(",", 1)[0]
    good[4] = good[4].replace(",3,", ",three,")
    with pytest.raises(BadEntry) as caught:
        read_log("\n".join(good), file="cards.csv")
    rows = str(caught.value).splitlines()
    assert [row.split(":")[0] for row in rows] == [f"cards.csv, line {n}" for n in (2, 3, 4, 5)]
    assert "allowed are goes edge to edge, needs a fade, not yet" in rows[1] and "columns: 11 were given" in rows[2]
    with pytest.raises(BadEntry, match="line 1: 'date;colour' was given"):
        read_log("date;colour")


LOG = [
    CARD,
    replace(CARD, date="2026-05-02", variant="b", vehicle="demo 5", verdict="needs a fade", difference=0.9),
    replace(
        CARD, date="2026-06-09", variant="c", vehicle="demo 6", verdict="needs a fade", difference=0.7, cleared=False
    ),
    replace(CARD, date="2026-06-11", variant="d", colour="soft blue", verdict="goes edge to edge", difference=0.2),
]


def test_the_log_says_which_variant_to_try_first_and_why_that_is_no_proof():
    found = first_to_try(LOG, " Dark RED ", grey_lightness=41)
    assert found.variant == "b" and [card.vehicle for card in found.cards] == ["demo 5"]
    assert "demo 5 on 2026-05-02, 0.9 off" in found.why and "1 of 3 cards" in found.why
    assert found.not_a_proof.startswith("No proof yet: that was another vehicle")
    assert "it is one card" in found.not_a_proof and found.not_a_proof.endswith("Spray a card for this one.")
    assert [card.date for card in cards_of(LOG, "dark red")] == ["2026-06-09", "2026-05-02", "2026-03-02"]


def test_a_card_on_another_grey_counts_after_and_is_said_to_lie_on_it():
    lighter = replace(LOG[1], variant="e", grey_lightness=70.0, difference=0.1)
    assert first_to_try([*LOG, lighter], "dark red", grey_lightness=40).variant == "b"
    assert first_to_try([*LOG, lighter], "dark red").variant == "e"
    only = first_to_try([lighter], "dark red", grey_lightness=40)
    assert "it lay on a grey of L* 70 and this job has 40" in only.not_a_proof


def test_an_empty_log_makes_nothing_up():
    found = first_to_try([], "dark red")
    assert found.variant is None and found.cards == () and "spray a card" in found.not_a_proof


@settings(max_examples=60, deadline=None)
@given(st.lists(cards, min_size=1, max_size=6), st.one_of(st.none(), st.floats(0, 100)))
def test_the_first_to_try_is_never_worse_in_words_than_another_and_never_a_proof(log, grey):
    found = first_to_try(log, log[0].colour, grey_lightness=grey)
    own = cards_of(log, log[0].colour)
    best = min(VERDICTS.index(card.verdict) for card in own)
    assert best == min(VERDICTS.index(card.verdict) for card in found.cards)
    assert set(found.cards) <= set(own) and "No proof yet" in found.not_a_proof
