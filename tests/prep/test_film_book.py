"""The film book: nothing is created or lost, doubt grows until somebody gauges, and the answers are a painter's."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.prep.film_book import (
    Film,
    gauged,
    may_take,
    next_visit,
    open_book,
    passes_left,
    sanded,
    sanded_with,
    sprayed,
    to_respray,
)
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import removed_um, scratch_depth_um

ZONES = ("flat", "crown", "edge")
DOOR = [Film("clear", 50.0), Film("colour", 18.0), Film("surfacer", 40.0), Film("primer", 20.0)]
WORK = st.lists(
    st.one_of(
        st.tuples(st.just("sand"), st.sampled_from(ZONES), st.floats(0, 1)),
        st.tuples(st.just("spray"), st.sampled_from(["colour", "clear"]), st.floats(0, 60)),
        st.tuples(st.just("gauge"), st.sampled_from(ZONES), st.floats(0, 300)),
        st.tuples(st.just("visit"), st.just(""), st.just(0.0)),
    ),
    max_size=8,
)


def worked(book, work):
    for what, where, amount in work:
        if what == "sand":
            book = sanded(book, where, amount * book.film_um(where))
        elif what == "spray":
            book = sprayed(book, where, amount)
        elif what == "gauge":
            book = gauged(book, where, amount)
        elif book.visit < 9:
            book = next_visit(book)
    return book


@settings(max_examples=80, deadline=None)
@given(WORK)
def test_nothing_is_created_or_lost(work):
    book = worked(open_book(DOOR), work)
    for zone in ZONES:
        sign = {"there": 1, "sprayed": 1, "gauged": 1, "sanded": -1, "polished": -1}
        balance = math.fsum(sign[line.what] * line.um for line in book.lines if line.zone == zone)
        assert book.film_um(zone) == pytest.approx(balance, abs=1e-6)
        assert all(film.um >= -1e-9 for film in book.layers[zone])
        assert 0 <= book.clear_um(zone) <= book.film_um(zone) + 1e-9


@settings(max_examples=60, deadline=None)
@given(WORK, st.sampled_from(ZONES))
def test_work_adds_doubt_and_a_gauge_takes_some_away(work, zone):
    book = worked(open_book(DOOR), [step for step in work if step[0] != "gauge"])
    assert book.doubt_um[zone] >= open_book(DOOR).doubt_um[zone] - 1e-12
    before = book.film_um(zone)
    after = gauged(book, zone, before)
    assert after.doubt_um[zone] < book.doubt_um[zone] and after.film_um(zone) == pytest.approx(before)
    moved = gauged(book, zone, before + 20)
    assert before < moved.film_um(zone) < before + 20


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 120), st.floats(0, 120), st.booleans())
def test_sanding_takes_from_the_top_and_the_next_layer_only_when_the_one_above_is_gone(first, second, clear):
    book = open_book([Film("clear", 50.0), Film("colour", 20.0), Film("primer", 200.0)])
    once = sanded(sanded(book, "flat", first), "flat", second)
    left = [film.um for film in once.layers["flat"]]
    want, rest = [], first + second
    for um in (50.0, 20.0, 200.0):
        want.append(max(um - rest, 0))
        rest = max(rest - um, 0)
    assert left == pytest.approx(want)
    assert once.layers["crown"] == book.layers["crown"]


@settings(max_examples=60, deadline=None)
@given(st.floats(20, 200), st.sampled_from(["P600", "P800", "P1000", "P1500", "P2000"]), st.booleans(), st.booleans())
def test_the_passes_that_are_left_leave_what_has_to_stay_even_at_the_worst_of_the_doubt(clear, name, more_clear, pad):
    book = open_book([Film("clear", clear), Film("colour", 20.0)])
    grain, keep = grade(name).grain_um, 0 if more_clear else 40
    depth = float(scratch_depth_um(grain, interface_pad=pad))
    for zone, passes in passes_left(book, name, more_clear=more_clear, interface_pad=pad).items():
        taken = [float(removed_um(grain, passes=n, zone=zone, interface_pad=pad)) for n in (passes, passes + 1)]
        worst = book.clear_um(zone) - book.doubt_um[zone] - depth - keep
        assert worst - taken[0] >= -1e-9 or passes == 0
        assert worst - taken[1] < 1e-9


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 120), st.floats(0, 60), st.floats(0, 60), st.sampled_from(ZONES), st.booleans())
def test_taking_more_never_sounds_better(clear, one, other, zone, more_clear):
    order = ["leaves enough", "too close to say", "thin", "through"]
    book = open_book([Film("clear", clear), Film("colour", 20.0)])
    less, more = (may_take(book, zone, um, more_clear=more_clear) for um in sorted((one, other)))
    assert order.index(less.answer) <= order.index(more.answer)
    finished = may_take(book, zone, one, more_clear=False)
    followed = may_take(book, zone, one, more_clear=True)
    assert order.index(followed.answer) <= order.index(finished.answer)


def test_may_i_take_8_um_out_of_55():
    """Common practice, no source: 40 um stay on a finished film."""
    book = open_book([Film("clear", 55.0), Film("colour", 20.0), Film("primer", 60.0)])
    flat = may_take(book, "flat", 8, more_clear=False)
    # 135 um gauged to 1 um and 3 %: 5 um; 8 um sanded to 30 %: 2.4 um
    assert flat.left_um == 47 and flat.doubt_um == pytest.approx(math.hypot(1 + 0.03 * 135, 0.3 * 8))
    assert flat.answer == "leaves enough"
    assert may_take(book, "crown", 8, more_clear=False).answer == "too close to say"
    assert may_take(book, "flat", 17, more_clear=False).answer == "too close to say"  # 38 um, give or take 7
    assert may_take(book, "flat", 24, more_clear=False).answer == "thin"  # 31 um, give or take 9
    assert may_take(book, "edge", 8, more_clear=False).answer == "thin"
    assert may_take(book, "edge", 8, more_clear=True).answer == "leaves enough"
    assert may_take(book, "edge", 40, more_clear=True).answer == "through"
    assert "gauge it first" in may_take(book, "crown", 8, more_clear=False).sentence


def test_two_visits_of_a_new_door():
    """Common practice: one coat of clear off the vehicle, sanded for the blend, then the sheet's coats over all."""
    book = open_book([Film("primer", 60.0)])
    for kind, um in (("sealer", 22.0), ("colour", 18.0), ("clear", 28.0)):
        book = sprayed(book, kind, um)
    assert may_take(book, "flat", 3, more_clear=False).answer == "thin"
    book = next_visit(book)
    for zone in ("flat", "crown"):
        book = sanded_with(book, zone, "P800", passes=4, interface_pad=True)
    book = sanded_with(book, "edge", "P800", passes=2, machine="hand")
    assert not any(book.through(zone) for zone in ZONES) and to_respray(book, more_clear=True) == ()
    book = sprayed(sprayed(book, "colour", 6.0, on=["flat"]), "clear", 56.0)
    assert to_respray(book) == ()
    assert {line.visit for line in book.lines} == {1, 2}
    assert book.clear_um("edge") > 40 > book.clear_um("edge") - 28 * 0.7


def test_when_the_answer_is_respray():
    book = open_book(DOOR)
    cases = {
        20.0: ("clear",),  # thin
        51.0: ("colour", "clear"),  # into the colour
        70.0: ("sealer", "colour", "clear"),  # into the surfacer
        128.0: ("primer", "colour", "clear"),  # to the metal
    }
    for taken, needs in cases.items():
        [found] = to_respray(sanded(book, "flat", taken))
        assert (found.zone, found.needs) == ("flat", needs)
    assert to_respray(open_book([Film("clear", 60.0), Film("filler", 500.0)]))[0].needs[0] == "strip"
    assert to_respray(book) == ()  # its edge has 35 um, and nobody has touched it


def test_polishing_is_film_too():
    book = open_book(DOOR)
    polished = sanded_with(book, "flat", "P3000", passes=6, what="polished")
    assert book.clear_um("flat") - polished.clear_um("flat") == pytest.approx(6 * 0.5 * 6.5 / 12.6)
    assert polished.lines[-1].what == "polished"


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: open_book([]), "layers: none was given"),
        (lambda: open_book([Film("varnish", 20)]), "layer: 'varnish' was given, allowed are clear, colour"),
        (lambda: open_book([Film("clear", -1)]), "film of clear: -1 was given"),
        (
            lambda: sanded(open_book(DOOR), "flat", 129),
            "taken off: 129 was given, allowed is a number from 0 to 128 um.",
        ),
        (lambda: sanded(open_book(DOOR), "roof", 1), "zone: 'roof' was given"),
        (lambda: sanded(open_book(DOOR), "flat", 1, what="rubbed"), "what was done: 'rubbed' was given"),
        (lambda: sprayed(open_book(DOOR), "clear", math.nan), "film of clear: nan was given"),
        (lambda: gauged(open_book(DOOR), "flat", -3), "gauge reading: -3 was given"),
        (lambda: may_take(open_book(DOOR), "flat", "8", more_clear=True), "to be taken: '8' was given"),
        (lambda: passes_left(open_book(DOOR), "P70", more_clear=True), "grade: 'P70' was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
