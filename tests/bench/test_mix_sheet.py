"""The mix sheet driven from Python, as a painter would drive it in the browser."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.bench import mix_sheet
from refinishlib.bench.mix_sheet import MixSheet
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import rounded, to_mass, to_volume
from refinishlib.shop.paint import formulas, toner

COLOUR = "Tarn Evening, as built"  # deep blue 62, violet 17, jet black 14.5, white 6.5


@pytest.fixture(autouse=True)
def every_tap_counts_and_none_fails(monkeypatch, caplog):
    monkeypatch.setattr(mix_sheet, "DOUBLE_TAP_S", -1)
    yield
    # ipywidgets only logs what a button's function raises.
    assert "Exception in callback" not in caplog.text


def asked(sheet):
    """What the sheet asks the painter to pour, and the large figure."""
    return re.sub(r"<[^>]+>", " ", sheet.now.value).split(), re.search(r"([\d.]+) g", sheet.now.value).group(1)


def rows(sheet):
    """The pour table as text, one list for each row."""
    body = sheet.table.value.split("<tbody>")[1]
    return [
        [" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row)]
        for row in re.findall(r"<tr.*?>(.*?)</tr>", body)
    ]


def pour(sheet, reading=""):
    sheet.shows.entry.value = reading
    sheet.poured.click()


def shown(widget):
    return widget.layout.display != "none"


def test_the_table_is_the_engines():
    sheet = MixSheet(COLOUR, "0.75 kg")
    exact = rounded(to_mass(formulas()[COLOUR].parts, 750), 0.1)
    assert [row[1:] for row in rows(sheet)] == [
        [f"{own:.1f}", f"{together:.1f}"] for own, together in zip(exact.own_g, exact.cumulative_g, strict=True)
    ]
    sheet.scale.entry.label = "0.01 g"
    sheet.way.entry.index = 1
    exact = rounded(to_mass(formulas()[COLOUR].parts, 750), 0.01, "tared")
    assert [row[1] for row in rows(sheet)] == [f"{own:.2f}" for own in exact.own_g]
    assert "Set the scale to zero" in sheet.now.value


@pytest.mark.parametrize("typed", ["1 US pint", "473,176473 ml", "0.473176473 L"])
def test_a_volume_goes_through_the_densities(typed):
    sheet = MixSheet(COLOUR, typed)
    parts = formulas()[COLOUR].parts
    density = {name: toner(name).density_g_per_ml for name, _ in parts}
    assert rows(sheet)[-1][-1] == f"{to_volume(parts, 473.176473, density).total_g:.1f}"


def test_toners_are_ticked_off_one_by_one_and_the_picture_fills():
    sheet = MixSheet(COLOUR, "500 g")
    for k, (name, _) in enumerate(formulas()[COLOUR].parts):
        words, figure = asked(sheet)
        assert words[:4][-1] == "until" or name.split()[0] in words
        assert figure == rows(sheet)[k][2]
        assert sheet.drawing.value.count("✓ ") == k
        pour(sheet)
        assert rows(sheet)[k][0].startswith("✓")
    assert "All poured" in sheet.now.value and "500.0 g" in sheet.now.value
    assert not shown(sheet.poured) and not shown(sheet.shows)
    assert sheet.drawing.value.count("✓ ") == 4


def test_too_much_in_the_middle_is_rescued_to_the_right_ratios():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402,5")
    plan = rescue(formulas()[COLOUR].parts, (310, 92.5, 0, 0), 500)
    assert "went over by" in sheet.now.value and "7.5 g" in sheet.now.value
    for words in (f"+ {plan.add_g[0]:.1f} g", f"{plan.total_g:.1f} g", f"{plan.surplus_g:.1f} g", "+7.2 %"):
        assert words in sheet.now.value
    assert "too much" in sheet.drawing.value
    assert not shown(sheet.poured)
    sheet.choose_rescue.click()
    assert asked(sheet)[1] == f"{402.5 + plan.add_g[0]:.1f}"
    for _ in range(3):
        pour(sheet)
    assert "All poured" in sheet.now.value and f"{plan.total_g:.1f} g" in sheet.now.value


def test_leaving_it_pours_the_rest_as_planned_and_says_what_is_off():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402.5")
    sheet.choose_leave.click()
    assert [row[1] for row in rows(sheet)[2:]] == ["72.5", "32.5"]
    pour(sheet)
    pour(sheet)
    assert "507.5 g" in sheet.now.value and "violet is off by +7.2 %" in sheet.now.value


def test_slipping_again_during_the_rescue():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402.5")
    sheet.choose_rescue.click()
    pour(sheet)
    pour(sheet, f"{float(asked(sheet)[1]) + 10:.1f}")
    assert "jet black</b> went over" in sheet.now.value
    sheet.choose_rescue.click()
    while shown(sheet.poured):
        pour(sheet)
    masses = {}
    for turn in sheet.turns:
        masses[turn.pour.name] = masses.get(turn.pour.name, 0) + turn.pour.add_g
    total = sum(masses.values())
    for name, parts in formulas()[COLOUR].parts:
        assert masses[name] == pytest.approx(parts / 100 * total, abs=0.2)


def test_too_little_asks_for_the_rest_of_the_same_toner():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet, "300")
    assert "more" in sheet.now.value and asked(sheet)[1] == "310.0" and "10.0 g of it" in sheet.now.value


def test_a_cup_that_is_too_small_for_the_rescue_is_said_and_filled():
    sheet = MixSheet(COLOUR, "500 g")
    sheet.cup.entry.value = "520 g"
    pour(sheet)
    pour(sheet, "402.5")
    assert "the cup holds 520.0 g" in sheet.now.value and "544.1 g" in sheet.now.value
    sheet.choose_rescue.click()
    while shown(sheet.poured):
        pour(sheet)
    assert "520.0 g" in sheet.now.value and "violet is off by" in sheet.now.value
    sheet.cup.entry.value = ""
    assert shown(sheet.poured), "a larger cup mends the rest"


def test_garbage_is_answered_beside_its_field_and_nothing_is_lost():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402.5")
    sheet.choose_rescue.click()
    before = sheet.turns, sheet.table.value
    for field, typed, words in [
        (sheet.amount, "half a tin", "type a mass or a volume"),
        (sheet.amount, "1,000 g", "type 1000 or 1.000 with a point"),
        (sheet.amount, "0", "allowed is a number above 0"),
        (sheet.amount, "90 kg", "up to 50000"),
        (sheet.cup, "a big one", "type a mass or a volume"),
        (sheet.shows, "4o2.5", "type a mass"),
    ]:
        was = field.entry.value
        field.entry.value = typed
        sheet.poured.click()
        assert words in field.sentence and field.entry.value == typed
        assert (sheet.turns, sheet.table.value) == before
        field.entry.value = was
        assert field.sentence == "" and (sheet.turns, sheet.table.value) == before


def test_what_stands_on_the_scale_cannot_fall():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "30.9")
    assert sheet.shows.sentence == "scale shows: 30.9 g was given, allowed is 310 g or more, which was on it before."
    assert sheet.shows.entry.value == "30.9" and len(sheet.turns) == 1


def test_more_than_the_cup_holds_is_refused_and_a_small_cup_is_filled():
    sheet = MixSheet(COLOUR, "500 g")
    sheet.cup.entry.value = "350 g"
    assert "The cup holds 350.0 g" in sheet.about.value
    assert [row[2] for row in rows(sheet)] == ["217.0", "276.5", "327.3", "350.0"]
    pour(sheet, "400")
    assert "allowed is 400 g or more, which is in it already" in sheet.shows.sentence and not sheet.turns
    for _ in range(4):
        pour(sheet)
    assert "All poured" in sheet.now.value and "off by" not in sheet.now.value


def test_a_cup_smaller_than_what_is_in_it_is_said_in_one_line():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    table = sheet.table.value
    sheet.cup.entry.value = "200 g"
    lines = [w.value for w in sheet.children[0].children if "refinish-sentence" in getattr(w, "value", "")]
    assert len(lines) == 1 and "allowed is 310 g or more, which is in it already" in lines[0]
    assert sheet.table.value == table


def test_every_step_can_be_undone_also_a_fresh_cup():
    sheet = MixSheet(COLOUR, "500 g")
    seen = [sheet.now.value]
    pour(sheet)
    seen.append(sheet.now.value)
    pour(sheet, "402.5")
    seen.append(sheet.now.value)
    sheet.choose_rescue.click()
    seen.append(sheet.now.value)
    sheet.fresh.click()
    assert sheet.now.value == seen[0] and not sheet.turns
    while shown(sheet.undo):
        sheet.undo.click()
        assert sheet.now.value == seen.pop()
    assert len(seen) == 0


def test_undoing_a_fresh_cup_that_was_smaller_asks_for_a_larger_one():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    sheet.fresh.click()
    sheet.cup.entry.value = "200 g"
    sheet.undo.click()
    assert "allowed is 310 g or more, which is in it already" in sheet.cup.sentence
    sheet.cup.entry.value = "600 g"
    assert len(sheet.turns) == 1 and asked(sheet)[1] == "395.0"


def test_another_colour_has_its_own_cup_and_a_larger_amount_goes_on_from_what_is_in_it():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    sheet.colour.entry.label = "Kiln Red, as built"
    assert not sheet.turns and asked(sheet)[1] == "355.0"
    sheet.colour.entry.label = COLOUR
    assert len(sheet.turns) == 1
    sheet.amount.entry.value = "600 g"
    assert asked(sheet)[1] == "372.0" and "62.0 g of it" in sheet.now.value


def test_a_typed_reading_is_shown_on_the_button_before_it_counts():
    sheet = MixSheet(COLOUR, "500 g")
    sheet.shows.entry.value = "312,5"
    assert sheet.poured.description == "Poured: 312.5 g" and not sheet.turns
    sheet.shows.entry.value = "3l2"
    assert sheet.poured.description == "Poured"
    assert not sheet.shows.entry.continuous_update


def test_two_taps_in_one_are_one(monkeypatch):
    monkeypatch.setattr(mix_sheet, "DOUBLE_TAP_S", 3600)
    sheet = MixSheet(COLOUR, "500 g")
    sheet.poured.click()
    sheet.poured.click()
    sheet.undo.click()
    assert len(sheet.turns) == 1


def test_copy_holds_the_sheet_as_text_and_entries_are_remembered():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    lines = sheet.page.text.splitlines()
    assert lines[0] == "Tarn Evening, as built, 500.0 g"
    assert lines[2].split() == ["[x]", "deep", "blue", "310.0", "g", "310.0", "g"]
    assert lines[-1].split() == ["[", "]", "white", "32.5", "g", "500.0", "g"]
    sheet.amount.entry.value = "20 oz"
    again = MixSheet()
    again.page.remembered = sheet.page.entries
    assert again.amount.entry.value == "20 oz" and again.colour.reading == COLOUR


def test_a_mix_below_the_smallest_sensible_one_is_warned_about():
    sheet = MixSheet("Chalk Barn, as built", "100 g")
    assert "refinish-caution" in sheet.about.value and "400.0 g" in sheet.about.value
    sheet.amount.entry.value = "401 g"
    assert "refinish-caution" not in sheet.about.value


TYPED = st.sampled_from(
    ["", "0.2 g", "310", "402,5", "77 g", "1 1/2 lb", "1 US qt", "9 kg", "1,000", "12 cups", "-3", "½"]
)
ACTIONS = st.one_of(
    st.tuples(st.sampled_from(["amount", "cup", "shows"]), TYPED),
    st.tuples(st.sampled_from(["colour", "scale", "way"]), st.integers(0, 1)),
    st.tuples(st.sampled_from(["poured", "poured", "poured", "choose_rescue", "choose_leave", "undo", "fresh"])),
)


@settings(max_examples=25, deadline=None)
@given(st.lists(ACTIONS, max_size=20))
def test_whatever_is_typed_and_tapped_the_sheet_stands_and_what_was_typed_stays(actions):
    sheet = MixSheet(COLOUR, "500 g")
    for name, *entry in actions:
        control = getattr(sheet, name)
        if not entry:
            before = sum(turn.pour.own_g for turn in sheet.turns)
            control.click()
            if name not in ("undo", "fresh"):
                assert sum(turn.pour.own_g for turn in sheet.turns) >= before, "nothing leaves the cup"
        elif name in ("amount", "cup", "shows"):
            control.entry.value = entry[0]
            assert control.entry.value == entry[0]
        else:
            control.entry.index = entry[0]
        assert "nan" not in sheet.table.value + sheet.drawing.value + sheet.about.value
        assert "Traceback" not in sheet.now.value
