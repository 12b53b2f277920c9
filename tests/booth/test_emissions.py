"""VOC: totals, order of the two ways of counting, and no number held against the wrong table."""

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth.emissions import (
    EuVoc,
    MixPart,
    Ready,
    UsVoc,
    eu_limits,
    eu_voc,
    hold_eu,
    hold_eu_system,
    hold_us,
    hold_us_system,
    job_emissions,
    one_litre,
    ready_mix,
    us_limits,
    us_multi_stage,
    us_topcoat,
    us_voc,
)
from refinishlib.entry import BadEntry
from refinishlib.shop.product import KINDS, ready_to_spray
from refinishlib.shop.shop import load

NAMES = [sheet.name for sheet in load().products]


@st.composite
def parts(draw):
    volatile = draw(st.floats(0.1, 0.95))
    water = draw(st.floats(0, 0.6)) * volatile
    exempt = draw(st.floats(0, 0.6)) * (volatile - water)
    return MixPart("part", draw(st.floats(0.8, 1.6)), volatile, water, exempt, draw(st.floats(0.7, 1.4)))


POURS = st.lists(st.tuples(parts(), st.floats(1, 5000)), min_size=1, max_size=4)


def countable(ready):
    return ready.volume_ml > 1.1 * (ready.water_ml + ready.exempt_ml)


@settings(max_examples=80)
@given(POURS, st.floats(0.1, 20))
def test_totals_add_up_and_a_bigger_batch_has_the_same_content(pour, times):
    ready = ready_mix(pour)
    assert ready.volume_ml == pytest.approx(sum(volume for _, volume in pour))
    assert ready.volatile_g >= ready.water_g + ready.exempt_g - 1e-9
    if countable(ready):
        more = ready_mix([(part, volume * times) for part, volume in pour])
        assert us_voc(more).g_per_l == pytest.approx(us_voc(ready).g_per_l)
        assert eu_voc(more, "topcoat").g_per_l == pytest.approx(eu_voc(ready, "topcoat").g_per_l)


@settings(max_examples=80)
@given(POURS)
def test_without_water_and_exempt_compounds_both_ways_count_the_same(pour):
    plain = ready_mix([(dataclasses.replace(p, water_share=0.0, exempt_share=0.0), v) for p, v in pour])
    assert us_voc(plain).g_per_l == pytest.approx(eu_voc(plain, "topcoat").g_per_l)
    assert eu_voc(plain, "pre-cleaner").g_per_l == pytest.approx(plain.volatile_g / plain.volume_ml * 1000)


@settings(max_examples=80)
@given(POURS, st.floats(0.1, 3))
def test_water_changes_nothing_where_it_is_discounted_and_thins_where_it_is_not(pour, share):
    ready = ready_mix(pour)
    if not countable(ready):
        return
    thinned = ready_mix([*pour, (MixPart("water", 0.9982, 1.0, 1.0), ready.volume_ml * share)])
    assert us_voc(thinned).g_per_l == pytest.approx(us_voc(ready).g_per_l, rel=1e-6)
    assert eu_voc(thinned, "topcoat").g_per_l == pytest.approx(eu_voc(ready, "topcoat").g_per_l, rel=1e-6)
    assert eu_voc(thinned, "pre-cleaner").g_per_l <= eu_voc(ready, "pre-cleaner").g_per_l


@settings(max_examples=80)
@given(POURS, st.floats(0.05, 2))
def test_reducer_raises_the_content_of_whatever_has_less(pour, share):
    ready = ready_mix(pour)
    if not countable(ready):
        return
    thinned = ready_mix([*pour, (MixPart("reducer", 0.87, 1.0), ready.volume_ml * share)])
    assert min(us_voc(ready).g_per_l, 870) - 1e-6 <= us_voc(thinned).g_per_l <= max(us_voc(ready).g_per_l, 870) + 1e-6


@settings(max_examples=50)
@given(st.lists(st.floats(100, 900), min_size=2, max_size=6))
def test_a_multi_stage_topcoat_lies_between_its_stages_and_leans_to_the_clear(contents):
    base, *mids, clear = (UsVoc(g) for g in contents)
    found = us_multi_stage(base, mids, clear).g_per_l
    assert min(contents) - 1e-9 <= found <= max(contents) + 1e-9
    alike = us_multi_stage(base, mids, UsVoc(clear.g_per_l + 30)).g_per_l - found
    assert alike == pytest.approx(60 / (len(mids) + 3))


def test_the_number_of_one_rule_is_never_held_against_the_table_of_the_other():
    us, eu = UsVoc(400.0), EuVoc(400.0, "topcoat")
    assert not hold_us(us, "primer sealer").above and not hold_eu(eu).above
    for wrong in (eu, 400.0, "400", None):
        with pytest.raises(BadEntry, match=r"^VOC: .* allowed is a content that us_voc"):
            hold_us(wrong, "primer sealer")
        with pytest.raises(BadEntry, match=r"^VOC: .* allowed is a content that us_voc"):
            us_multi_stage(us, [wrong], us)
    for wrong in (us, 400.0, None):
        with pytest.raises(BadEntry, match=r"^VOC: .* allowed is a content that eu_voc"):
            hold_eu(wrong)
    assert not set(us_limits().limits) & set(eu_limits().limits)
    for name in eu_limits().limits:
        with pytest.raises(BadEntry, match=r"^category: "):
            hold_us(us, name)
    for name in us_limits().limits:
        with pytest.raises(BadEntry, match=r"^product: "):
            hold_eu(EuVoc(400.0, name))


@pytest.mark.parametrize("name", list(us_limits().limits))
def test_a_us_limit_may_be_reached_but_not_passed_and_the_note_is_always_there(name):
    limit = us_limits().limits[name].g_per_l
    assert not hold_us(UsVoc(limit), name).above and hold_us(UsVoc(limit + 0.1), name).above
    assert hold_us(UsVoc(1.0), name).note == us_limits().stricter


@pytest.mark.parametrize("name", list(eu_limits().limits))
def test_an_eu_limit_may_be_reached_but_not_passed_and_the_note_is_always_there(name):
    limit = eu_limits().limits[name].g_per_l
    assert not hold_eu(EuVoc(limit, name)).above and hold_eu(EuVoc(limit + 0.1, name)).above
    assert hold_eu(EuVoc(1.0, name)).note == eu_limits().stricter


def test_a_coating_for_two_uses_meets_the_stricter_limit():
    """40 CFR 59.102(b)."""
    held = hold_us(UsVoc(560), "primer or primer surfacer", "primer sealer")
    assert (held.limit.name, held.above) == ("primer sealer", True)


def test_the_topcoat_category_turns_at_three_stages():
    names = [us_topcoat(n) for n in (1, 2, 3, 4)]
    assert names == ["single or two-stage topcoat"] * 2 + ["topcoat of three or more stages"] * 2
    assert set(names) <= set(us_limits().limits)


def test_the_parts_and_the_average_of_a_system_are_held_in_words():
    """A base above the limit beside a clear below it said "within False" twice."""
    base, clear = (us_voc(one_litre(ready_to_spray(sheet))) for sheet in map(load().product, ("solvent base", "clear")))
    held = hold_us_system(base, [], clear)
    assert [part.above for part in held.parts] == [True, False] and not held.average.above
    assert held.decides == (held.average,)
    assert "The base alone has 784 g/L, 184 above the limit of 600 g/L" in held.words
    assert held.words.count("not above") == 2 and held.words.endswith(us_limits().stricter)
    assert hold_us_system(base, [base], clear).average.limit.name == "topcoat of three or more stages"
    three = hold_us_system(base, [base, base], clear)
    assert [part.what for part in three.parts][1:3] == ["The midcoat 1 alone", "The midcoat 2 alone"]
    assert three.average.limit.name == "topcoat of three or more stages"


def test_the_european_union_knows_no_average():
    base, clear = EuVoc(784, "topcoat"), EuVoc(397, "topcoat")
    held = hold_eu_system(base, [], clear)
    assert held.average is None and [part.above for part in held.decides] == [True, False]
    assert "364 above the limit of 420 g/L" in held.words and held.words.endswith(eu_limits().stricter)
    with pytest.raises(BadEntry, match="allowed is a content that eu_voc counted"):
        hold_eu_system(UsVoc(400), [], clear)


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.sampled_from(NAMES), st.floats(0, 3000)), max_size=5),
    st.floats(0, 500),
)
def test_what_a_job_gives_to_the_air_is_all_that_is_volatile_in_its_cups(cups, cleaner):
    job = job_emissions(((n, ready_to_spray(load().product(n)), ml) for n, ml in cups), cleaning_g=cleaner)
    volatile = sum(ready_to_spray(load().product(n)).volatile_g_per_l * ml / 1000 for n, ml in cups)
    assert job.voc_g - cleaner + job.exempt_g + job.water_g == pytest.approx(volatile)
    assert job.voc_g >= cleaner and len(job.products) == len(cups)


def test_grams_of_a_job_by_hand():
    """500 mL of clear 2:1:0.1 from tins of 418, 308 and 880 g/L: (2 x 418 + 308 + 88) / 3.1 / 2 = 198.7 g."""
    job = job_emissions([("clear", ready_to_spray(load().product("clear")), 500)])
    assert job.voc_g == pytest.approx((2 * 418 + 308 + 88) / 3.1 / 2)
    # base 1:1 with an exempt reducer of 835 g/L, 395 of it exempt: (688 + 835 - 395) / 2 is VOC
    exempt = job_emissions(
        [("base", ready_to_spray(load().product("solvent base"), reducer_speed="exempt reducer"), 1000)]
    )
    assert (exempt.voc_g, exempt.exempt_g) == (pytest.approx((688 + 835 - 395) / 2), pytest.approx(395 / 2))
    with pytest.raises(BadEntry, match="clear, amount: -1 was given"):
        job_emissions([("clear", ready_to_spray(load().product("clear")), -1)])


WET = Ready(1000, 700, 500, 50, 500, 50)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: ready_mix([]), "parts: nothing was given"),
        (
            lambda: ready_mix([(MixPart("clear", 0.98, 0.4), -3)]),
            "volume of clear: -3 was given, allowed is a number above",
        ),
        (lambda: ready_mix([(MixPart("clear", 0, 0.4), 10)]), "density of clear: 0 was given"),
        (lambda: ready_mix([(MixPart("clear", 0.98, 1.4), 10)]), "volatile share of clear: 1.4 was given"),
        (lambda: ready_mix([(MixPart("base", 1, 0.6, 0.7), 10)]), "water share of base: 0.7 was given"),
        (lambda: ready_mix([(MixPart("base", 1, 0.6, 0.4, 0.3), 10)]), "exempt share of base: 0.3 was given"),
        (lambda: ready_mix([(MixPart("base", 1, float("nan")), 10)]), "volatile share of base: nan was given"),
        (lambda: us_voc(dataclasses.replace(WET, water_ml=950)), "volume: water and exempt compounds fill it"),
        (lambda: us_voc(dataclasses.replace(WET, water_g=701)), "mass of water: 701 was given"),
        (lambda: eu_voc(dataclasses.replace(WET, volume_ml=0), "topcoat"), "volume: 0 was given"),
        (lambda: eu_voc(WET, "clear"), "product: 'clear' was given, allowed are preparatory product, pre-cleaner"),
        (lambda: hold_us(UsVoc(400)), "category: nothing was given, allowed are pretreatment wash primer"),
        (lambda: hold_us(UsVoc(float("nan")), "primer sealer"), "VOC: nan was given"),
        (lambda: us_multi_stage(UsVoc(400), [UsVoc(400)] * 10, UsVoc(400)), "midcoats: 10 was given"),
        (lambda: us_topcoat(0), "stages: 0 was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)


@pytest.mark.parametrize("sheet", load().products, ids=lambda sheet: sheet.name)
def test_a_mix_of_the_shop_counts_the_same_from_its_sheet_and_from_its_tins(sheet):
    mix = ready_to_spray(sheet)
    poured = []
    for tin, share in mix.parts:
        litre_g = tin.density_g_per_ml * 1000
        density = tin.exempt_g_per_l / tin.exempt_ml_per_l if tin.exempt_ml_per_l else 1.0
        shares = (tin.volatile_g_per_l / litre_g, tin.water_g_per_l / litre_g, tin.exempt_g_per_l / litre_g)
        poured.append((MixPart(tin.name, tin.density_g_per_ml, *shares, density), share * 500))
    litre, cup = one_litre(mix), ready_mix(poured)
    assert us_voc(litre).g_per_l == pytest.approx(us_voc(cup).g_per_l)
    (product,) = eu_limits().of_kind(sheet.kind)
    assert eu_voc(litre, product).g_per_l == pytest.approx(eu_voc(cup, product).g_per_l)
    assert us_limits().of_kind(sheet.kind)


def test_every_kind_of_sheet_falls_under_both_tables():
    for kind in KINDS:
        assert len(eu_limits().of_kind(kind)) == 1
        assert 1 <= len(us_limits().of_kind(kind)) <= 2
    with pytest.raises(BadEntry, match=r"^kind: 'wax' was given"):
        us_limits().of_kind("wax")


def test_shares_that_add_up_exactly_are_fine():
    ready = ready_mix([(MixPart("cleaner", 1, 0.7, 0.4, 0.3), 100)])
    assert us_voc(ready).g_per_l == pytest.approx(0, abs=1e-6)
