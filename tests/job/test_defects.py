"""Defects: every cause in the table can be provoked in an engine, and everything an engine provokes is found."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth.advice import booth_clock
from refinishlib.booth.clock import HARM, QUALITY, RULES, BoothStep, Coating, Plan, steps_for
from refinishlib.booth.day import steady_day
from refinishlib.entry import BadEntry
from refinishlib.job.defects import (
    MARKLESS,
    Evidence,
    defects,
    from_clock,
    from_film,
    from_order,
    from_scratch,
    mend,
    suspects,
    texture_beside,
)
from refinishlib.prep.film_book import Film, open_book
from refinishlib.prep.order import good_order, jobs
from refinishlib.shop.shop import load

CLEAR, WATER, SURFACER = map(load().product, ("clear", "water base", "filling primer"))
GOOD = steady_day(22, 50)
DOOR = steps_for([Coating(WATER), Coating(CLEAR)])
BOOK = open_book([Film("clear", 56.0), Film("colour", 18.0), Film("primer", 40.0)])
CAUSES = [(defect.name, cause.evidence) for defect in defects().values() for cause in defect.causes]

# A plan for each rule of the clock that leaves a mark, with what breaks it and as little else as can be.
PROVOKED = {
    "flash": Plan(tuple(replace(s, minutes=1.0) if s.action == "flash" else s for s in DOOR), GOOD),
    "too thick": Plan(steps_for([Coating(CLEAR, film_ratio=3.0)]), GOOD),
    "too thin": Plan(steps_for([Coating(CLEAR, coat_min=1.0, film_ratio=0.3)]), GOOD),
    "reducer too fast": Plan(steps_for([Coating(CLEAR, coat_min=2.0)]), steady_day(30, 50)),
    "reducer too slow": Plan(steps_for([Coating(CLEAR, reducer="slow")]), steady_day(18, 50)),
    "too cold": Plan(steps_for([Coating(CLEAR)]), steady_day(10, 50)),
    "too hot": Plan(steps_for([Coating(CLEAR, coat_min=1.0)]), steady_day(40, 30)),
    "too dry": Plan(steps_for([Coating(WATER)], ""), steady_day(22, 12)),
    "too humid": Plan(steps_for([Coating(CLEAR)]), steady_day(22, 90)),
    "dew point": Plan(steps_for([Coating(CLEAR)]), steady_day(22, 60, surface_c=13)),
    "wet edge": Plan(steps_for([Coating(CLEAR, coat_min=12.0)]), GOOD),
    "pot life": Plan(steps_for([Coating(CLEAR, 9, hardener="fast")]), GOOD),
    "recoat": Plan((*DOOR[:-7], BoothStep("wait", minutes=3000), *DOOR[-6:]), GOOD, closes_min=1440),
    "bake": Plan((*DOOR[:-1], BoothStep("bake", minutes=5)), GOOD),
    "too hot for the sheet": Plan(DOOR, GOOD, bake_air_c=85),
    "sanded soft": Plan((*steps_for([Coating(SURFACER)], ""), BoothStep("sand")), GOOD),
    "unmasked soft": Plan((*steps_for([Coating(CLEAR, 1)], ""), BoothStep("unmask")), GOOD),
}


# The table a second time, on purpose: common practice, no source.
TABLE = {
    "pop": {"clock: flash", "clock: too thick", "clock: reducer too fast", "clock: too hot for the sheet"},
    "runs": {"clock: too thick", "clock: too cold", "clock: reducer too slow", "clock: flash"},
    "orange peel": {
        "clock: reducer too fast",
        "clock: too hot",
        "clock: too thin",
        "clock: wet edge",
        "clock: pot life",
    },
    "dry spray": {"clock: too hot", "clock: too dry", "clock: too thin", "clock: wet edge", "clock: reducer too fast"},
    "dieback": {"clock: bake", "clock: flash", "clock: too thick", "scratch: too coarse", "film: thin clear"},
    "wrinkling": {"clock: recoat", "clock: flash", "clock: too thick"},
    "lifting": {"clock: recoat", "order: let the epoxy cure", "order: fill", "order: featheredge"},
    "fisheyes": {
        "order: degrease",
        "order: final clean",
        "order: clean with plastic cleaner",
        "order: clean the inside edges",
    },
    "sand-scratch swelling": {
        "scratch: leap",
        "scratch: too coarse",
        "clock: sanded soft",
        "order: let the surfacer cure",
    },
    "water spots": {"clock: dew point", "clock: too humid", "clock: bake", "order: dry again"},
    "dust": {"order: tack", "order: blow out", "clock: unmasked soft"},
    "mottling": {"clock: too thick", "clock: flash", "clock: too humid", "clock: too cold", "clock: reducer too slow"},
    "poor hiding": {"film: too few coats", "clock: too thin"},
    "peeling": {
        "scratch: too fine",
        "clock: recoat",
        "order: scuff with paste",
        "order: adhesion promoter",
        "clock: pot life",
    },
}


def test_the_table_is_what_the_trade_says():
    assert {
        name: {f"{c.evidence.engine}: {c.evidence.rule}" for c in d.causes} for name, d in defects().items()
    } == TABLE


def evidence_of(one):
    """What the engines find when a cause is so."""
    if one.engine == "clock":
        return from_clock(booth_clock(PROVOKED[one.rule]).breaks)
    if one.engine == "scratch":
        papers = {"leap": ["P600", "P800"], "too coarse": ["P240", "P320"], "too fine": ["P2000"]}[one.rule]
        start = {"leap": "P180", "too coarse": "P180", "too fine": "P1500"}[one.rule]
        return from_scratch("blend into old clear", start, papers)
    if one.engine == "film":
        return from_film(coats=2, coats_to_hide=3, clear_um=30)
    found = []
    for job in jobs().values():
        order = good_order(job)
        if one.rule in order:
            found += from_order(job, [task for task in order if task != one.rule])
    return found


@pytest.mark.parametrize(("defect", "cause"), CAUSES, ids=[f"{name}, {cause.rule}" for name, cause in CAUSES])
def test_every_cause_can_be_provoked_in_its_engine_and_the_defect_is_found(defect, cause):
    found = evidence_of(cause)
    assert cause in found
    assert (defect, cause) in {(one.defect, one.cause.evidence) for one in suspects(found)}


def test_everything_that_the_clock_can_break_leaves_a_mark_or_is_said_to_leave_none():
    told = {cause.rule for _, cause in CAUSES if cause.engine == "clock"}
    assert told | set(MARKLESS) == set(RULES) and not told & set(MARKLESS)
    assert set(QUALITY) <= told and set(MARKLESS) <= {*HARM, "opening", "closing"}
    assert set(PROVOKED) == told


@settings(max_examples=40, deadline=None)
@given(
    st.floats(5, 45), st.floats(5, 100), st.floats(0.1, 4), st.floats(1, 12),
    st.sampled_from(["clear", "filling primer"]), st.one_of(st.none(), st.floats(0, 20)),
)  # fmt: skip
def test_whatever_a_clock_provokes_is_found(air_c, humidity, film, coat_min, name, flash_min):
    steps = steps_for([Coating(load().product(name), coat_min=coat_min, film_ratio=film)])
    steps = tuple(replace(s, minutes=flash_min) if s.action == "flash" else s for s in steps)
    found = from_clock(booth_clock(Plan(steps, steady_day(air_c, humidity))).breaks)
    assert {one.cause.evidence for one in suspects(found)} == set(found)


def test_what_is_kept_provokes_nothing():
    assert from_clock(booth_clock(Plan(DOOR, GOOD)).breaks) == ()
    assert from_scratch("blend into old clear", "P320", ["P500", "P600", "P800"]) == ()
    assert from_film(coats=3, coats_to_hide=3, clear_um=50) == ()
    for job in jobs().values():
        assert from_order(job, good_order(job)) == ()
    assert suspects([]) == ()


def test_new_clear_on_gloss_peels():
    [found] = from_scratch("blend into old clear", "gloss", [])
    assert found.rule == "too fine" and {one.defect for one in suspects([found])} == {"peeling"}
    # a coarse paper after a fine one is what is left
    assert [one.rule for one in from_scratch("blend into old clear", "gloss", ["P800", "P320"])] == ["too coarse"]


def test_the_second_visit_leaves_the_same_marks():
    job = jobs()["new part, second visit"]
    order = [task for task in good_order(job) if task != "tack for the blend"]
    assert from_order(job, order) == (Evidence("order", "tack"),)


@pytest.mark.parametrize("name", defects())
def test_a_defect_says_what_to_look_for_what_to_check_and_how_it_is_mended(name):
    defect = defects()[name]
    assert min(len(defect.look), len(defect.check), len(defect.mend)) > 20 and len(defect.causes) >= 2
    assert (defect.takes_um > 0) == (defect.depth == "surface")
    assert {one.evidence.engine for one in defect.causes} <= {"clock", "scratch", "film", "order"}


# Trade cases, common practice, no source: where it is, how much clear is there, and what a painter does.
CASES = [
    ("dust", "flat", 60.0, "cut and polish"),
    ("dust", "edge", 54.0, "sand and clear"),  # 38 um at the edge
    ("orange peel", "flat", 42.0, "sand and clear"),
    ("orange peel", "flat", 52.0, "gauge first"),
    ("runs", "flat", 54.0, "sand and clear"),
    ("pop", "flat", 90.0, "sand and clear"),  # a crater is opened by polishing, however much film there is
    ("mottling", "flat", 90.0, "sand, colour and clear"),
    ("peeling", "flat", 90.0, "start below"),
    ("runs", "edge", 30.0, "sand, colour and clear"),  # 21 um of clear, 25 to level the run
]


@pytest.mark.parametrize(("name", "zone", "clear", "how"), CASES)
def test_the_cure_is_the_one_that_the_film_allows(name, zone, clear, how):
    book = open_book([Film("clear", clear), Film("colour", 18.0), Film("primer", 40.0)])
    found = mend(name, book, zone)
    assert found.how == how and found.sentence.startswith(name)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(list(defects())), st.floats(0, 150), st.floats(0, 60), st.sampled_from(["flat", "crown", "edge"])
)
def test_more_film_never_asks_for_more_work(name, clear, more, zone):
    order = ["cut and polish", "gauge first", "sand and clear", "sand, colour and clear", "start below"]
    thin, thick = (
        order.index(mend(name, open_book([Film("clear", um), Film("colour", 18.0)]), zone).how)
        for um in (clear, clear + more)
    )
    assert thick <= thin


@pytest.mark.parametrize(
    ("peel", "gloss", "clear", "how"),
    [
        ((3, 3), (88, 88), 60, "leave"),  # the same beside the same
        ((1, 5), (90, 85), 60, "leave"),  # smoother: peel is not polished on
        ((6, 2), (88, 88), 60, "cut and polish"),
        ((3, 3), (70, 88), 60, "polish"),
        ((6, 2), (88, 88), 40, "leave, and say so"),
        ((6, 2), (88, 88), 48, "gauge first"),
        ((3, 2), (84, 88), 60, "leave"),  # neither is seen
    ],
)
def test_texture_beside_the_neighbour_is_a_decision(peel, gloss, clear, how):
    book = open_book([Film("clear", float(clear)), Film("colour", 18.0), Film("primer", 40.0)])
    assert texture_beside(*peel, *gloss, book, "flat").how == how


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: mend("rust", BOOK, "flat"), "defect: 'rust' was given, allowed are pop"),
        (lambda: mend("dust", BOOK, "roof"), "zone: 'roof' was given"),
        (lambda: mend("dust", BOOK, "flat", takes_um=-1), "takes: -1 was given"),
        (lambda: from_film(coats=-1, coats_to_hide=3, clear_um=50), "coats: -1 was given"),
        (lambda: from_scratch("wax", "P800", []), "next coat: 'wax' was given"),
        (lambda: texture_beside(11, 2, 80, 80, BOOK, "flat"), "peel of our panel: 11 was given"),
        (lambda: texture_beside(1, 2, 80, 130, BOOK, "flat"), "gloss of the neighbour: 130 was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
