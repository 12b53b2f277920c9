"""The shop as a value: loaded from the library or a folder, equal when it is the same, whole or not at all."""

from dataclasses import replace
from importlib.resources import files

import pytest

from refinishlib.booth import solvent
from refinishlib.entry import BadEntry
from refinishlib.shop import product
from refinishlib.shop.shop import COLOURS, FILES, PANELS, PRODUCTS, TONERS, load


@pytest.fixture
def folder(tmp_path):
    for name in FILES:
        (tmp_path / name).write_bytes(files("refinishlib.shop").joinpath(name).read_bytes())
    return tmp_path


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def faults_of(folder):
    with pytest.raises(BadEntry) as caught:
        load(folder)
    return str(caught.value).split("\n")


def test_the_same_files_are_the_same_shop_and_a_changed_toner_is_another(folder):
    assert load(folder) == load()
    assert hash(load(folder)) == hash(load())
    change(folder / TONERS, "price_per_litre = 62.0", "price_per_litre = 63.0")
    assert load(folder) != load()
    assert load(folder).colour("Chalk Barn, as built").toners[0].price_per_litre == 63


def test_a_folder_with_colours_alone_has_the_rest_of_the_built_in_shop(folder):
    for name in FILES:
        if name != COLOURS:
            (folder / name).unlink()
    change(folder / COLOURS, "96.4", "95.4")
    shop = load(folder)
    assert replace(shop, colours=load().colours) == load()
    assert shop.colour("Chalk Barn, as built").parts[0] == ("white", 95.4)


def test_a_folder_without_any_file_of_a_shop_is_refused(tmp_path):
    with pytest.raises(BadEntry, match=r"allowed is a folder with at least one of toners\.toml"):
        load(tmp_path)


def test_a_wrong_toner_key_is_a_sentence_with_its_line_and_so_are_all_other_faults_in_the_same_round(folder):
    change(folder / TONERS, "price_per_litre = 62.0", "price_per_liter = 62.0")
    change(folder / PANELS, 'material = "aluminium"', 'material = "tin"')
    first, second, third = faults_of(folder)
    rows = (folder / TONERS).read_text(encoding="utf-8").split("\n")
    at, wrong = rows.index("[[toner]]") + 1, rows.index("price_per_liter = 62.0") + 1
    assert first.startswith(f'toners.toml, line {at}, toner "white": price_per_litre is missing.')
    assert second.startswith(
        f'toners.toml, line {wrong}, toner "white": price_per_liter is not a known field, allowed are'
    )
    assert third.startswith("panels.toml, line 32, panel \"bonnet\": material: 'tin' was given, allowed are steel")


def test_a_misspelt_solvent_is_found_when_the_shop_is_loaded_and_not_when_it_dries(folder):
    change(folder / PRODUCTS, 'solvent = "n-butyl acetate"', 'solvent = "n-butyl acetat"')
    (fault,) = faults_of(folder)
    assert "solvent: 'n-butyl acetat' was given, allowed are water, acetone" in fault


def test_every_solvent_that_a_sheet_may_name_is_one_whose_vapour_pressure_is_known():
    assert set(product.SOLVENTS) == {"water", *solvent.SOLVENTS}


@pytest.mark.parametrize("name", FILES)
def test_a_byte_order_mark_in_front_changes_nothing(folder, name):
    (folder / name).write_bytes(b"\xef\xbb\xbf" + (folder / name).read_bytes())
    assert load(folder) == load()


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda raw: raw + "\n# gr\xfcn".encode("latin-1"), "a foreign encoding was given"),
        (lambda raw: raw.decode().encode("utf-16"), "line 1: a foreign encoding was given"),
        (lambda raw: raw + b"\nx = " + 5000 * b"[" + 5000 * b"]", "nested too deeply"),
        (lambda raw: b"x = " + 5000 * b"9" + b"\n" + raw, "line 1: not valid TOML, a number of more than 1000 digits"),
    ],
    ids=["latin letters", "UTF-16", "deep nesting", "5000 digits"],
)
def test_a_file_that_is_hardly_one_is_a_sentence_with_its_line(folder, name, spoil, words):
    raw = (folder / name).read_bytes()
    (folder / name).write_bytes(spoil(raw))
    faults = faults_of(folder)
    assert any(words in fault for fault in faults)
    assert all(fault.startswith(f"{name}, line ") for fault in faults)


def test_a_number_too_large_for_any_machine_is_a_sentence(folder):
    change(folder / PANELS, "area_m2 = 1.05", "area_m2 = " + 500 * "9")
    (fault,) = faults_of(folder)
    assert "area_m2: a number of hundreds of digits was given, allowed is a number above 0 and up to 10 m2." in fault


def test_faults_of_all_four_files_come_in_one_round(folder):
    change(folder / TONERS, "[toner.optics]", "[toner.optic]")
    change(folder / COLOURS, 'variant = "as built"', "variant = 3")
    change(folder / PRODUCTS, 'role = "paint"', 'role = "glaze"')
    change(folder / PANELS, "area_m2 = 1.05", "area_m2 = 105")
    faults = faults_of(folder)
    assert [fault.split(",")[0] for fault in faults] == list(FILES)


def test_seams_join_panels_that_exist_and_shares_fill_a_panel(folder):
    change(folder / PANELS, 'panels = ["front bumper", "bonnet"]', 'panels = ["front bumper", "hood"]')
    change(folder / PANELS, "flat = 0.35", "flat = 0.45")
    first, second = faults_of(folder)
    assert "flat, crown, edge: 1.1 was given, allowed is 1 together" in first
    assert "panels: 'hood' was given, allowed are front bumper" in second


def test_a_colour_of_a_toner_that_is_not_on_the_shelf_is_named_with_its_line(folder):
    change(folder / COLOURS, '["violet", 17.0]', '["violett", 17.0]')
    change(folder / COLOURS, 'kind = "metallic"', 'kind = "solid"')
    first, second = faults_of(folder)
    assert first.startswith("colours.toml, line 9, colour \"Tarn Evening\": parts: 'violett' was given, allowed are")
    assert "kind: 'solid' was given, allowed for its toners is metallic." in second
