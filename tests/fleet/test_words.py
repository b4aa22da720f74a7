"""Words: chosen ones, free ones, and the nearest known one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet.nearest import folded, nearest, suggestion
from riskmodel.fleet.schema import read_schema
from riskmodel.fleet.words import parse_chosen, parse_text

WATER = ("salt", "brackish", "fresh")


def chosen(*words, known=WATER, own=None):
    return parse_chosen(np.array(words, dtype=object), known, own or {})


def test_a_known_word_is_read_without_regard_to_how_it_is_written():
    result = chosen("salt", "Salt", "FRESH", "")
    assert result.values.tolist() == ["salt", "salt", "fresh", ""]
    assert (result.rules == "").all()


@pytest.mark.parametrize("word", ["Shaft packing", "shaft-packing", "SHAFT_PACKING", " shaft  packing "])
def test_spaces_and_hyphens_stand_for_underscores(word):
    assert folded(word) == "shaft_packing"


def test_an_unknown_word_gets_the_nearest_or_the_choice():
    rules = chosen("brakish", "beer").rules.tolist()
    assert rules == [
        "must be a known word (nearest: brackish)",
        "must be a known word: salt, brackish, fresh",
    ]


def test_thousands_of_unknown_words_are_refused_without_a_suggestion_each():
    result = chosen(*(f"word{number}" for number in range(5000)))
    assert (result.rules != "").all()


def test_the_keepers_own_word_stands_for_a_known_one():
    assert chosen("Sea Water", own={"sea_water": "salt"}).values.tolist() == ["salt"]


def test_nothing_like_any_known_word_has_no_nearest():
    assert nearest("zzz", WATER) == ""
    assert suggestion("zzz", WATER) == ""
    assert suggestion("frsh", WATER) == " (nearest: fresh)"


@given(word=st.sampled_from(WATER), place=st.integers(0, 10), letter=st.sampled_from("abcxyz"))
def test_a_slip_of_one_letter_finds_its_word(word, place, letter):
    slip = word[:place] + letter + word[place:]
    assert nearest(slip, WATER) == word


def test_free_text_is_kept_as_it_is():
    words = np.array(["NA", "Ünder the berth", ""], dtype=object)
    result = parse_text(words, "")
    assert result.values.tolist() == words.tolist()
    assert (result.rules == "").all()


@pytest.mark.parametrize(
    ("day", "fine"),
    [
        ("04-15", True),
        ("02-29", True),
        ("12-31", True),
        ("02-30", False),
        ("04-31", False),
        ("13-01", False),
        ("4-15", False),
    ],
)
def test_a_month_and_day_must_exist(day, fine):
    pattern = next(field.pattern for field in read_schema("vessels").fields if field.name == "season_start")
    assert (parse_text(np.array([day], dtype=object), pattern).rules[0] == "") == fine


def test_an_unknown_class_names_the_nearest(problems):
    items = "item_id,vessel_id,item_class\nI,Wren,shaft_paking\nJ,Wren,flux_capacitor\n"
    assert problems(items=items) == [
        "items.csv row 2: item_class must be a known word (nearest: shaft_packing), got shaft_paking",
        "items.csv row 3: item_class must be a known word, got flux_capacitor",
    ]


def test_an_organisations_own_class_is_known(write, load, today):
    folder = write() / "ours"
    folder.mkdir()
    from importlib.resources import files

    head, first = files("riskmodel.data.trade").joinpath("classes.csv").read_text("utf-8").splitlines()[:2]
    (folder / "classes.csv").write_text(
        f"{head}\n{first.replace('shaft_packing', 'ice_drain')}\n", encoding="utf-8"
    )
    fleet = load(items="item_id,vessel_id,item_class\nI,Wren,Ice drain\n", settings='trade = "ours"\n')
    assert fleet.items["item_class"].tolist() == ["ice_drain"]


@pytest.mark.parametrize("table", ["vessels", "items", "records"])
def test_every_word_of_a_choice_is_accepted(table):
    for field in read_schema(table).fields:
        result = chosen(*field.enum, known=field.enum)
        assert result.values.tolist() == list(field.enum)
        assert (result.rules == "").all()
