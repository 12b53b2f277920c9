"""The shop as a value: loaded from the library or a folder, equal when it is the same, whole or not at all."""

from dataclasses import replace
from importlib.resources import files

import pytest

from refinishlib.entry import BadEntry
from refinishlib.shop.shop import COLOURS, FILES, PANELS, TONERS, load


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
    assert first.startswith('toners.toml, line 21, toner "white": price_per_litre is missing.')
    assert second.startswith('toners.toml, line 26, toner "white": price_per_liter is not a known field, allowed are')
    assert third.startswith("panels.toml, line 34, panel \"bonnet\": material: 'tin' was given, allowed are steel")


def test_a_colour_of_a_toner_that_is_not_on_the_shelf_is_named_with_its_line(folder):
    change(folder / COLOURS, '["violet", 17.0]', '["violett", 17.0]')
    change(folder / COLOURS, 'kind = "metallic"', 'kind = "solid"')
    first, second = faults_of(folder)
    assert first.startswith("colours.toml, line 9, colour \"Tarn Evening\": parts: 'violett' was given, allowed are")
    assert "kind: 'solid' was given, allowed for its toners is metallic." in second
