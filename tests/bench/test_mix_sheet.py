"""The mix sheet driven from Python, as a painter would drive it in the browser."""

import gc
import html
import json
import re
import subprocess
import sys
import weakref

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ipywidgets import Widget

from refinishlib.bench import mix_sheet
from refinishlib.bench.calculator import cautions
from refinishlib.bench.mix_sheet import MixSheet
from refinishlib.bench.page import Page
from refinishlib.booth.cautions import for_task
from refinishlib.colour.pour_error import accept_or_rescue
from refinishlib.mixing.progress import in_cup
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import rounded, to_mass, to_volume
from refinishlib.shop.shop import load

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


def shown(sheet, widget):
    """Whether a control can be seen: somewhere in the sheet, and nothing around it is hidden."""

    def within(box):
        if box.layout.display == "none":
            return False
        return box is widget or any(within(child) for child in getattr(box, "children", ()))

    return within(sheet)


def test_the_table_is_the_engines():
    sheet = MixSheet(COLOUR, "0.75 kg")
    exact = rounded(to_mass(load().colour(COLOUR).parts, 750), 0.1)
    assert [row[1:] for row in rows(sheet)] == [
        [f"{own:.1f}", f"{together:.1f}"] for own, together in zip(exact.own_g, exact.cumulative_g, strict=True)
    ]
    sheet.scale.entry.label = "0.01 g"
    sheet.way.entry.index = 1
    exact = rounded(to_mass(load().colour(COLOUR).parts, 750), 0.01, "tared")
    assert [row[1] for row in rows(sheet)] == [f"{own:.2f}" for own in exact.own_g]
    assert "Set the scale to zero" in sheet.now.value


@pytest.mark.parametrize("typed", ["1 US pint", "473,176473 ml", "0.473176473 L"])
def test_a_volume_goes_through_the_densities(typed):
    sheet = MixSheet(COLOUR, typed)
    parts = load().colour(COLOUR).parts
    density = {name: load().toner(name).density_g_per_ml for name, _ in parts}
    assert rows(sheet)[-1][-1] == f"{to_volume(parts, 473.176473, density).total_g:.1f}"


def test_toners_are_ticked_off_one_by_one_and_the_picture_fills():
    sheet = MixSheet(COLOUR, "500 g")
    for k, (name, _) in enumerate(load().colour(COLOUR).parts):
        words, figure = asked(sheet)
        assert words[:4][-1] == "until" or name.split()[0] in words
        assert figure == rows(sheet)[k][2]
        assert sheet.drawing.value.count("✓ ") == k
        pour(sheet)
        assert rows(sheet)[k][0].startswith("✓")
    assert "All poured" in sheet.now.value and "500.0 g" in sheet.now.value
    assert not shown(sheet, sheet.poured) and not shown(sheet, sheet.shows)
    assert sheet.drawing.value.count("✓ ") == 4


def test_too_much_in_the_middle_is_rescued_to_the_right_ratios():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402,5")
    plan = rescue(load().colour(COLOUR).parts, (310, 92.5, 0, 0), 500)
    assert "went over by" in sheet.now.value and "7.5 g" in sheet.now.value
    for words in (f"+ {plan.add_g[0]:.1f} g", f"{plan.total_g:.1f} g", f"{plan.surplus_g:.1f} g", "+7.2 %"):
        assert words in sheet.detail.value
    assert "too much" in sheet.drawing.value
    assert not shown(sheet, sheet.poured)
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
    while shown(sheet, sheet.poured):
        pour(sheet)
    masses = {}
    for turn in sheet.turns:
        masses[turn.pour.name] = masses.get(turn.pour.name, 0) + turn.pour.add_g
    total = sum(masses.values())
    for name, parts in load().colour(COLOUR).parts:
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
    assert "the cup holds 520.0 g" in sheet.detail.value and "544.1 g" in sheet.detail.value
    sheet.choose_rescue.click()
    while shown(sheet, sheet.poured):
        pour(sheet)
    assert "520.0 g" in sheet.now.value and "violet is off by" in sheet.now.value
    sheet.cup.entry.value = ""
    assert shown(sheet, sheet.poured), "a larger cup mends the rest"


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
    assert sheet.shows.sentence == (
        "What the scale shows: 30.9 g was given, allowed is 310 g or more, which was on it before."
    )
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
    while shown(sheet, sheet.undo):
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


def test_a_reading_that_is_off_by_less_than_half_a_step_did_not_go_over_by_zero():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet, "310.04")
    assert "went over" not in sheet.now.value and len(sheet.turns) == 1 and sheet.turns[0].pour.off_g == 0
    pour(sheet, "395.05")
    assert "went over by <b>0.1 g" in sheet.now.value


@pytest.mark.parametrize(
    ("title", "amount", "reading", "best"),
    [(COLOUR, "500 g", None, "leave"), ("Chalk Barn, as built", "200 g", None, "rescue")],
)
def test_the_way_out_that_the_colour_asks_for_comes_first_with_its_reason(title, amount, reading, best):
    sheet = MixSheet(title, amount)
    names = [name for name, _ in load().colour(title).parts]
    while asked(sheet)[0] and sheet.poured in sheet._main.children:
        last = len(sheet.turns) == len(names) - 1 or (best == "leave" and len(sheet.turns) == 1)
        pour(sheet, f"{float(asked(sheet)[1]) + (7.5 if best == 'leave' else 3):.1f}" if last else "")
    there = in_cup([turn.pour for turn in sheet.turns], len(names))
    judged = accept_or_rescue(load().colour(title), there, float(amount.split()[0]))
    assert judged.word == {"leave": "accept", "rescue": "rescue"}[best]
    first, second = sheet._main.children
    assert (first is sheet.choose_leave, second is sheet.choose_rescue) == (best == "leave", best == "leave")
    assert {"leave": "Leave it:</b> nobody will see", "rescue": "Rescue it:</b> left as it is, it would show"}[
        best
    ] in sheet.now.value
    assert f"{judged.accepted_difference.max():.2f}" in sheet.detail.value
    heads = re.findall(r"<th scope='col'>(\w+):", sheet.detail.value)
    assert heads == (["Leave", "Rescue"] if best == "leave" else ["Rescue", "Leave"])


def test_leaving_is_not_recommended_when_the_rest_does_not_fit_into_the_cup():
    sheet = MixSheet(COLOUR, "500 g")
    sheet.cup.entry.value = "504 g"
    pour(sheet)
    pour(sheet, "402.5")
    assert sheet._main.children[0] is sheet.choose_rescue
    assert "the rest does not fit into the cup" in sheet.now.value


def reload(sheet):
    """The page is loaded again with a new kernel: all that is left is what the browser keeps, as JSON."""
    again = MixSheet()
    again.page.remembered = json.loads(json.dumps(sheet.page.entries))
    return again


def test_a_reload_does_not_lose_the_pour_while_the_paint_is_in_the_cup():
    sheet = MixSheet(COLOUR, "600 g")
    pour(sheet)
    pour(sheet, "490.9")
    sheet.choose_rescue.click()
    pour(sheet)
    again = reload(sheet)
    assert not again.turns and "begun before" in again.now.value and "just now" in again.now.value
    assert shown(again, again.go_on) and shown(again, again.fresh) and not shown(again, again.poured)
    again.poured.click()
    assert not again.turns, "nothing is poured before it is said which cup it is"
    again.go_on.click()
    assert again.turns == sheet.turns and again.now.value == sheet.now.value
    assert again.table.value == sheet.table.value
    again.undo.click()
    assert again.turns == sheet.turns[:-1]


def test_a_reload_in_the_middle_of_the_choice_asks_again():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    pour(sheet, "402.5")
    again = reload(sheet)
    again.go_on.click()
    assert again.now.value == sheet.now.value and shown(again, again.choose_leave)


def test_a_fresh_cup_forgets_the_kept_one_and_only_that_of_its_colour():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    sheet.colour.entry.label = "Kiln Red, as built"
    pour(sheet)
    again = reload(sheet)
    again.fresh.click()
    assert not again.turns and asked(again)[1] == "355.0" and shown(again, again.poured)
    third = reload(again)
    assert shown(third, third.poured)
    third.colour.entry.label = COLOUR
    assert shown(third, third.go_on)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda row: row.update(toner=9),
        lambda row: row.update(toner="0"),
        lambda row: row.update(name="rose"),
        lambda row: row.update(own_g=-1),
        lambda row: row.update(own_g=1e9),
        lambda row: row.update(cumulative_g=float("nan")),
        lambda row: row.update(choice="throw away"),
        lambda row: row.update(off_g=2.0),
        lambda row: row.pop("add_g"),
    ],
)
def test_a_kept_cup_that_is_none_of_this_formula_is_left_alone(spoil):
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    entries = json.loads(json.dumps(sheet.page.entries))
    spoil(entries["cups"][COLOUR]["turns"][0])
    for kept in (entries, {"cups": 7}, {"cups": {COLOUR: None, "no colour": {}}}):
        again = MixSheet(COLOUR)
        again.page.remembered = kept
        assert shown(again, again.poured) and not shown(again, again.go_on)


def test_sentences_call_the_fields_as_the_screen_does():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    labels = {field.entry.description for field in (*sheet._asked, sheet.shows)}
    [problem] = [box for box in sheet.children[0].children if box.layout.display == "none"]
    for field, typed in [
        (sheet.amount, "half a tin"), (sheet.amount, "0.01 g"), (sheet.amount, "90 kg"), (sheet.cup, "a big one"),
        (sheet.cup, "200 g"), (sheet.cup, "0"), (sheet.shows, "30.9"), (sheet.shows, "4o2.5"),
    ]:  # fmt: skip
        was = field.entry.value
        field.entry.value = typed
        if field is sheet.shows:
            sheet.poured.click()
        sentence = field.sentence or html.unescape(re.sub(r"<[^>]+>", "", problem.value))
        assert sentence.split(":")[0] in labels, sentence
        field.entry.value = was


def test_nothing_can_be_tapped_while_an_entry_cannot_be_used():
    sheet = MixSheet(COLOUR, "500 g")
    pour(sheet)
    sheet.amount.entry.value = "half a tin"
    assert all(button.disabled for button in (sheet.poured, sheet.undo, sheet.fresh))
    sheet.amount.entry.value = "400 g"
    assert not any(button.disabled for button in (sheet.poured, sheet.undo, sheet.fresh))


def test_the_sheet_shows_every_caution_of_the_task_in_the_librarys_words():
    text = html.unescape(re.sub(r"<[^>]+>", " ", cautions(("mix",), "At the mixing bench")))
    for caution in for_task("mix"):
        assert caution.title in text and caution.danger in text and caution.usual in text and caution.defer in text
    everything = [MixSheet(COLOUR)]
    for widget in everything:
        everything += getattr(widget, "children", ())
    assert cautions(("mix",), "At the mixing bench") in [getattr(widget, "value", "") for widget in everything]


def test_the_first_ounce_and_the_first_slip_load_nothing_more():
    """In a kernel of its own, since here everything was loaded long ago."""
    code = """
import sys
from refinishlib.bench import mix_sheet, way_out
sheet = mix_sheet.MixSheet("Tarn Evening, as built")
assert "colour" not in sys.modules, "the colour engine is not paid for before paint is poured"
mix_sheet._in_the_background(mix_sheet._load_units).join()
before = set(sys.modules)
sheet.amount.entry.value = "17 oz"
sheet.amount.entry.value = "1 US qt"
assert set(sys.modules) == before, set(sys.modules) - before
sheet.poured.click()
mix_sheet._in_the_background(way_out.load_engine).join()
before = set(sys.modules)
mix_sheet.DOUBLE_TAP_S = -1
sheet.shows.entry.value = "950"
sheet.poured.click()
assert sheet.turns[-1].choice == "open"
assert set(sys.modules) == before, set(sys.modules) - before
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_no_file_watcher_keeps_a_sheet_alive():
    assert isinstance(Page._esm, str) and isinstance(Page._css, str)
    sheet = MixSheet(COLOUR)
    watched = weakref.ref(sheet.page)
    Widget.close_all()
    del sheet
    gc.collect()
    assert watched() is None


TYPED = st.sampled_from(
    ["", "0.2 g", "310", "402,5", "77 g", "1 1/2 lb", "1 US qt", "9 kg", "1,000", "12 cups", "-3", "½"]
)
ACTIONS = st.one_of(
    st.tuples(st.sampled_from(["amount", "cup", "shows"]), TYPED),
    st.tuples(st.sampled_from(["colour", "scale", "way"]), st.integers(0, 1)),
    st.tuples(
        st.sampled_from(["poured", "poured", "poured", "choose_rescue", "choose_leave", "undo", "fresh", "go_on"])
    ),
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
