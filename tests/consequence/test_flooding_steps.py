"""What is told of the physics: words and plain figures, each with where it comes from."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence import TABLE, area_steps
from riskmodel.consequence.areas import AREAS
from riskmodel.consequence.flooding.openings import opening_classes
from riskmodel.consequence.flooding.steps import flooding_steps
from riskmodel.consequence.told import about_in, middle, own_or_source, per_cent, source_of, two_figures
from riskmodel.trade import load_trade

TRADE = load_trade()
CLASSES = sorted(opening_classes(TRADE))
EXPONENT = re.compile(r"\de[+-]?\d")
NO_NUMBER = re.compile(r"\b(nan|inf|None)\b", re.IGNORECASE)
STATUSES = ("published", "common practice", "judgement", "from memory")


@pytest.fixture(scope="module")
def told(kinds_of, trade, cube):
    """Steps of one kind, what it adds to packing on a plain boat."""

    def run(change):
        return flooding_steps(kinds_of(change), trade, cube)

    return run


def assert_plain(lines):
    assert lines
    for line in lines:
        what, value, source = line
        assert all(isinstance(word, str) and word.strip() for word in line), line
        for words in (what, value):
            assert not EXPONENT.search(words), line
            assert not NO_NUMBER.search(words), line
        assert not NO_NUMBER.search(source), line


def line_of(lines, what):
    (found,) = [value for each, value, _ in lines if each == what]
    return found


@pytest.mark.parametrize("name", CLASSES)
def test_every_opening_is_told_in_plain_words(told, name):
    assert_plain(told({"item_class": name}))


@pytest.mark.parametrize(
    "change",
    [
        {"state": "ashore"},
        {"state": "on_trailer", "shore_power": False},
        {"kept": "mooring", "shore_power": False, "battery_ah": 0.0},
        {"depth_m": 0.0},
        {"hulls": 3.0},
        {"pump_lpm": 0.0},
        {"pump_lpm": 60.0, "pump_head_m": 9.0},
        {"length_m": 3.0},
        {"length_m": 25.0},
        {"visited_every_days": 120.0},
    ],
    ids=str,
)
def test_an_unusual_boat_is_told_in_plain_words(told, change):
    assert_plain(told(change))


def test_each_mode_has_a_line_and_shares_of_failures_add_to_a_hundred(told):
    whats = [what for what, _, _ in told({})]
    shares = [float(re.search(r"([\d.]+) %", what)[1]) for what in whats if "% of failures" in what]
    assert [what.split(",")[0] for what in whats[:3]] == ["Weep", "Split", "Parted"]
    assert sum(shares) == pytest.approx(100, abs=2)


def test_a_figure_of_the_boats_own_names_the_vessels_table(told):
    lines = {what: source for what, _, source in told({"flooding_volume_m3": 4.0, "pump_lpm": 40.0})}
    assert lines["Water to going down"] == "your vessels table"
    assert lines["Automatic pump, as installed"].startswith("its label")
    assert line_of(told({"flooding_volume_m3": 4.0}), "Water to going down") == "4 m3"


def test_a_judged_figure_names_its_source_and_status(told):
    for what, _, source in told({}):
        assert source.endswith(STATUSES), what


def test_a_boat_ashore_says_how_much_it_lies_afloat_and_one_afloat_does_not(told):
    assert "Lies afloat unattended" in {what for what, _, _ in told({"state": "ashore"})}
    assert "Lies afloat unattended" not in {what for what, _, _ in told({})}


def test_steps_are_of_the_first_kind(kinds_of, trade, cube):
    both = flooding_steps(kinds_of({}, {"item_class": "sea_strainer"}), trade, cube)
    assert both == flooding_steps(kinds_of({}), trade, cube)


@pytest.mark.parametrize("power", [True, False])
def test_a_pump_never_shortens_the_time_that_is_told(told, power):
    # Time to going down with no pump and with one: what the line says, read back.
    for _, value, _ in told({"shore_power": power})[:3]:
        dry, wet = re.search(r"goes down (.*) with no pump, (.*) with one", value).groups()
        assert hours(wet) >= hours(dry), value


def test_a_leak_the_pump_holds_off_never_sinks_the_boat(told):
    weep = told({"shore_power": True, "pump_lpm": 100.0})[0][1]
    assert " with no pump, never with one; adds " in weep
    assert not weep.startswith("never")


def hours(words):
    if words == "never":
        return np.inf
    number, unit = words.removeprefix("in ").split(" ")
    return float(number.replace(",", "")) * {"days": 24.0, "hours": 1.0}[unit]


# Every area, as a boat's own report has it


@pytest.fixture(
    scope="module",
    params=[
        {"length_m": 11, "core": "balsa"},
        {"length_m": 4, "propulsion": "outboard", "kept": "trailer", "climate": "cold"},
        {"length_m": 14, "fuel": "diesel", "propulsion": "sail_shaft", "kept": "mooring", "climate": "hot"},
        {"people_aboard": 2, "cabin_m3": 0, "engine_space_m3": 1.5, "vent_area_cm2": 0, "blower_flow_lpm": 0},
    ],
    ids=str,
)
def boat(request, followed):
    return followed([{"item_class": name} for name in TRADE.classes], [request.param])


@pytest.mark.parametrize("area", [area.name for area in AREAS])
def test_every_area_is_told_in_plain_words_with_a_source(boat, trade, area):
    items = boat.rows.loc[boat.rows["origin"] == area, "item"].unique()
    assert len(items)
    for item in items:
        assert_plain(area_steps(area, boat, item, trade))


def test_the_table_is_no_area():
    assert TABLE not in {area.name for area in AREAS}


# Figures in words


@given(st.floats(1e-4, 9e9))
def test_two_figures_are_near_and_have_no_exponent(value):
    words = two_figures(value)
    assert not EXPONENT.search(words)
    assert float(words.replace(",", "")) == pytest.approx(value, rel=0.051)


@pytest.mark.parametrize("value", [4.7e-5, 1.2e-9])
def test_a_tiny_figure_too_has_no_exponent(value):
    # A cold diesel's vapour in parts of what burns.
    assert not EXPONENT.search(two_figures(value))


@pytest.mark.parametrize(
    ("value", "words"), [(0.0, "0"), (0.0123, "0.012"), (9.96, "10"), (1234.0, "1,200"), (55.5, "56")]
)
def test_two_figures_by_hand(value, words):
    assert two_figures(value) == words


@pytest.mark.parametrize(("share", "words"), [(1.0, "100 %"), (0.0256, "2.6 %"), (0.0, "0 %")])
def test_a_share_is_told_in_per_cent(share, words):
    assert per_cent(share) == words


@pytest.mark.parametrize(
    ("chance", "words"), [(0.005, "about 1 in 200"), (2e-6, "about 1 in 500,000"), (1.0, "about 1 in 1")]
)
def test_a_chance_is_told_as_one_in_so_many(chance, words):
    assert about_in(chance) == words


@given(st.floats(0, 1e-6))
def test_a_tiny_chance_is_never_told_as_nothing(chance):
    assert about_in(chance) == "under 1 in a million"


def test_the_middle_is_the_median():
    assert middle(np.array([[1.0, 9.0], [2.0, 100.0]])) == 5.5


def test_a_blank_is_told_by_its_source_and_a_figure_by_its_table():
    row = TRADE.physics["co_cabin"]
    assert source_of("co_cabin", TRADE) == f"{row.source}; {row.status}"
    assert own_or_source(np.nan, "co_cabin", TRADE) == source_of("co_cabin", TRADE)
    assert own_or_source(9.0, "co_cabin", TRADE) == "your vessels table"
