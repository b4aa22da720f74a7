"""The default trade tables against what the trade does and what has been published about it.

Each check names its source beside it. "Common practice, no source" means just that: it is how the work
is done, and nobody whom we could quote has written it down.
"""

from __future__ import annotations

import pytest

from riskmodel.trade import Interval, ItemClass, Practice, Trade, load_trade

NO_SOURCE = "common practice, no source"


@pytest.fixture(scope="module")
def trade() -> Trade:
    return load_trade()


def practice(trade: Trade, item_class: str, measure: str, status: str = "common practice") -> list[Practice]:
    return [
        row
        for row in trade.practice
        if (row.item_class, row.measure, row.status) == (item_class, measure, status)
    ]


def ranges(rows: list[Practice] | list[Interval]) -> set[tuple[float, float]]:
    return {(row.low, row.high) for row in rows}


def intervals(item: ItemClass, meaning: str, status: str) -> list[Interval]:
    return [row for row in item.intervals if (row.meaning, row.status) == (meaning, status)]


# Shaft packing


def test_a_turning_gland_may_drip_three_or_four_times_a_minute(trade: Trade) -> None:
    # common practice, no source
    rows = practice(trade, "shaft_packing", "drips_turning")
    assert ranges(rows) == {(3.0, 4.0)}
    assert {row.source for row in rows} == {NO_SOURCE}


def test_published_drip_rates_are_kept_though_they_disagree(trade: Trade) -> None:
    # published: a boating insurer's loss-prevention articles, both 2014
    rows = practice(trade, "shaft_packing", "drips_turning", "published")
    assert ranges(rows) == {(2.0, 3.0), (60.0, 120.0)}
    low, high = sorted(rows, key=lambda row: row.low)
    assert high.low / low.high == pytest.approx(20.0)
    assert high.high / low.low == pytest.approx(60.0)


def test_ten_drips_turning_or_any_at_rest_call_for_work(trade: Trade) -> None:
    # common practice, no source
    rows = {row.condition: row for row in practice(trade, "shaft_packing", "drips_calling_for_work")}
    assert (rows["shaft turning"].low, rows["shaft turning"].high) == (10.0, 10.0)
    assert (rows["shaft at rest"].low, rows["shaft at rest"].high) == (0.0, 0.0)


def test_no_drip_on_wet_packing_is_a_finding(trade: Trade) -> None:
    # common practice, no source
    (row,) = practice(trade, "shaft_packing", "drips_too_few")
    assert row.high == 0.0
    assert "wet-lubricated" in row.condition


def test_dry_warm_packing_counts_as_needing_work(trade: Trade) -> None:
    # common practice, no source
    assert "dry" in trade.classes["shaft_packing"].needs_work
    assert "at rest" in trade.classes["shaft_packing"].needs_work


def test_packing_goes_by_running_hours(trade: Trade) -> None:
    # common practice, no source; 200 hours is published on a boat owners' forum, the upper end is judgement
    hours = [row for row in trade.classes["shaft_packing"].intervals if row.unit == "hours"]
    assert [row.meaning for row in hours] == ["renew_by"]


def test_repacking_each_season_is_an_opportunity_and_no_life(trade: Trade) -> None:
    # published: a boating insurer's loss-prevention article, 2014
    (row,) = [row for row in trade.classes["shaft_packing"].intervals if row.low == row.high == 1.0]
    assert (row.meaning, row.status) == ("opportunity", "published")


def test_repacking_is_about_an_hour_with_the_boat_out(trade: Trade) -> None:
    # common practice, no source
    (effort,) = practice(trade, "shaft_packing", "repacking_effort")
    assert effort.low <= 1.0 <= effort.high
    repack = next(task for task in trade.classes["shaft_packing"].tasks if task.does == "renew")
    assert repack.out_of_water
    assert repack.hours_low == 1.0


def test_a_gland_can_be_adjusted_afloat(trade: Trade) -> None:
    # common practice, no source
    adjust = next(task for task in trade.classes["shaft_packing"].tasks if task.does == "adjust")
    assert not adjust.out_of_water
    assert "engine stopped" in adjust.what


# Bellows

BELLOWS = ("bellows_drive", "bellows_shift", "bellows_exhaust")


@pytest.mark.parametrize("name", BELLOWS)
def test_bellows_are_looked_at_at_both_ends_of_the_season(trade: Trade, name: str) -> None:
    # common practice, no source
    assert ranges(intervals(trade.classes[name], "look", "common practice")) == {(0.5, 0.5)}
    assert ranges(practice(trade, name, "looks_per_season")) == {(2.0, 2.0)}


@pytest.mark.parametrize("name", BELLOWS)
def test_bellows_are_renewed_at_their_age_whatever_they_look_like(trade: Trade, name: str) -> None:
    # common practice, no source
    assert trade.classes[name].renewed_on_age


@pytest.mark.parametrize("name", BELLOWS)
def test_published_bellows_ages_are_kept(trade: Trade, name: str) -> None:
    # published: a boating insurer's articles, 2006 and 2014 (3-5 years); a trade article (3-6 years)
    assert ranges(intervals(trade.classes[name], "renew_by", "published")) == {(3.0, 5.0), (3.0, 6.0)}


# Hoses


@pytest.mark.parametrize("name", ["fuel_fill_hose", "fuel_vent_hose"])
def test_fill_and_vent_hose_go_by_ten_years_and_by_five_where_a_maker_asks(trade: Trade, name: str) -> None:
    # common practice, no source
    assert ranges(intervals(trade.classes[name], "renew_by", "common practice")) == {(10.0, 10.0), (5.0, 5.0)}
    assert ranges(practice(trade, name, "renew_by")) == {(10.0, 10.0), (5.0, 5.0)}


@pytest.mark.parametrize("name", ["fuel_fill_hose", "fuel_vent_hose", "fuel_feed_hose"])
def test_fuel_hose_is_renewed_on_age(trade: Trade, name: str) -> None:
    # common practice, no source
    assert trade.classes[name].renewed_on_age


def test_a_fill_hose_has_two_clamps_at_each_end(trade: Trade) -> None:
    # common practice, no source
    assert ranges(practice(trade, "fuel_fill_hose", "clamps_each_end")) == {(2.0, 2.0)}
    renew = next(task for task in trade.classes["fuel_fill_hose"].tasks if task.does == "renew")
    assert "two clamps at each end" in renew.what


@pytest.mark.parametrize(
    "name",
    [
        "fuel_fill_hose",
        "fuel_vent_hose",
        "fuel_feed_hose",
        "raw_water_hose",
        "wet_exhaust_hose",
        "sanitation_hose",
        "shaft_log_hose",
    ],
)
def test_the_published_life_of_hose_is_kept_for_each_kind(trade: Trade, name: str) -> None:
    # published: a trade magazine and a forum expert, ten years for hose in general
    assert ranges(intervals(trade.classes[name], "typical_life", "published")) == {(10.0, 10.0)}


def test_raw_water_hose_keeps_four_years_beside_ten(trade: Trade) -> None:
    # published: a technical question-and-answer page, four years regardless of looks
    assert ranges(intervals(trade.classes["raw_water_hose"], "renew_by", "published")) == {(4.0, 4.0)}


def test_silicone_outlasts_rubber_by_one_to_six_times(trade: Trade) -> None:
    # published: a trade article
    assert ranges(practice(trade, "wet_exhaust_hose", "life_ratio", "published")) == {(1.0, 6.0)}


def test_clamps_are_pulled_twice_a_year_to_yearly_and_last_a_few_years(trade: Trade) -> None:
    # published: a boating insurer's article, 2006; it gives no lower end, ours is two years
    clamps = trade.classes["hose_clamps"]
    assert ranges(intervals(clamps, "look", "published")) == {(0.5, 1.0)}
    (life,) = intervals(clamps, "typical_life", "published")
    assert life.high == 5.0
    assert "ours" in life.note


# Deck


def test_deck_hardware_is_rebedded_every_seven_to_ten_years(trade: Trade) -> None:
    # common practice, no source
    assert ranges(practice(trade, "deck_bedding", "rebed_every")) == {(7.0, 10.0)}
    assert ranges(intervals(trade.classes["deck_bedding"], "renew_by", "common practice")) == {(7.0, 10.0)}


def test_published_bedding_lives_of_twenty_years_and_more_are_kept(trade: Trade) -> None:
    # published: a trade article says decades; common advice of 10-20 years is judgement
    bedding = trade.classes["deck_bedding"]
    assert ranges(practice(trade, "deck_bedding", "rebed_every", "published")) == {(20.0, 30.0)}
    assert ranges(intervals(bedding, "typical_life", "published")) == {(20.0, 30.0)}
    assert ranges(intervals(bedding, "typical_life", "judgement")) == {(10.0, 20.0)}


def test_both_bedding_ages_say_which_deck_they_are_for(trade: Trade) -> None:
    # common practice, no source
    conditions = [row.condition for row in trade.practice if row.measure == "rebed_every"]
    assert all("deck" in condition and "loaded" in condition for condition in conditions)
    assert "core" in trade.classes["deck_bedding"].description


# Rode


def test_a_rope_rode_is_laid_out_once_a_year(trade: Trade) -> None:
    # common practice, no source, and published: three trade pages
    assert practice(trade, "rode_rope", "lay_out")[0].low == 1.0
    assert ranges(intervals(trade.classes["rode_rope"], "look", "published")) == {(1.0, 1.0)}


def test_a_hard_worked_rope_goes_in_three_to_five_years(trade: Trade) -> None:
    # published: a chandlery article
    assert ranges(intervals(trade.classes["rode_rope"], "renew_by", "published")) == {(3.0, 5.0)}


# Pumps, valves, the rest


@pytest.mark.parametrize("name", ["bilge_pump", "float_switch"])
def test_pumps_are_tested_with_water_twice_a_year_to_quarterly(trade: Trade, name: str) -> None:
    # common practice, no source
    assert ranges(practice(trade, name, "water_tests")) == {(2.0, 4.0)}
    assert ranges(intervals(trade.classes[name], "look", "common practice")) == {(0.25, 0.5)}
    test = next(task for task in trade.classes[name].tasks if task.does == "test")
    assert "water" in test.what


def test_installed_pumps_move_half_of_what_the_label_says(trade: Trade) -> None:
    # published: a trade page on installed pump tests
    assert ranges(practice(trade, "bilge_pump", "flow_share", "published")) == {(0.4, 0.5)}
    assert ranges(practice(trade, "bilge_pump", "flow_loss", "published")) == {(0.1, 0.1), (0.1, 0.2)}


def test_rubber_ages_two_to_three_times_faster_ten_degrees_warmer(trade: Trade) -> None:
    # published: the rule of two, and nitrile's activation energy of 22 kcal/mol (Sandia, 1993, abstract)
    assert ranges(practice(trade, "any", "ageing_ratio", "published")) == {(1.8, 3.3)}


def test_impellers_are_renewed_yearly_or_every_other_year(trade: Trade) -> None:
    # published: a claims article, 2021, every other year; yearly is common practice, no source
    impeller = trade.classes["raw_water_impeller"]
    published = intervals(impeller, "renew_by", "published")
    assert ranges([row for row in published if row.unit == "years"]) == {(2.0, 2.0)}
    assert ranges(intervals(impeller, "renew_by", "common practice")) == {(1.0, 1.0)}


def test_impellers_go_by_running_hours_too(trade: Trade) -> None:
    # published: an engine parts dealer's page, an engine repairer's page, a maker's schedule as quoted
    published = intervals(trade.classes["raw_water_impeller"], "renew_by", "published")
    hours = [row for row in published if row.unit == "hours"]
    assert ranges(hours) == {(100.0, 200.0), (200.0, 300.0), (300.0, 300.0)}


@pytest.mark.parametrize(
    ("name", "meaning", "status", "expected"),
    [
        ("face_shaft_seal", "renew_by", "from memory", (6.0, 10.0)),
        ("through_hull_seacock", "typical_life", "from memory", (20.0, 40.0)),
        ("through_hull_seacock", "typical_life", "from memory", (5.0, 10.0)),
        ("float_switch", "typical_life", "judgement", (3.0, 7.0)),
        ("bilge_pump", "typical_life", "judgement", (5.0, 10.0)),
    ],
    ids=["face seal", "bronze", "brass", "float switch", "bilge pump"],
)
def test_starting_figures_stand_as_they_came(
    trade: Trade, name: str, meaning: str, status: str, expected: tuple[float, float]
) -> None:
    # from memory or judgement, as the status says; no source
    assert expected in ranges(intervals(trade.classes[name], meaning, status))


def test_practice_without_a_source_says_so(trade: Trade) -> None:
    for row in trade.practice:
        assert (row.status == "common practice") == (row.source == NO_SOURCE)


# Rules and rubber in store


@pytest.mark.parametrize(
    ("rule", "condition", "value"),
    [
        # published: the regulations' own text
        ("33 CFR 183.630(d)", "natural ventilation, each of supply and exhaust", "A=5*ln(V/5)"),
        ("33 CFR 183.630(e)", "each opening or duct exceeds", "3.0"),
        ("33 CFR 183.605", "open to the atmosphere", "15"),
        ("46 CFR 182.460(b)", "over 1500 cu ft", "5"),
        ("33 CFR 183.558", "B1/B2 hose allowed if severed-hose discharge no more than", "5 fl oz in 2.5 min"),
        # published: secondary pages
        ("ISO 15083", "6 to 12 m", "15 (900 L/h)"),
        ("SAE J1527 / trade explainer", "A1 permeation max", "100"),
        ("SAE ARP5316", "NBR (nitrile)", "15"),
        ("ISO 2230 initial storage", "EPDM/EPR", "10"),
    ],
)
def test_published_rules_are_kept(trade: Trade, rule: str, condition: str, value: str) -> None:
    (row,) = [row for row in trade.regulations if (row.rule, row.condition) == (rule, condition)]
    assert (row.value, row.status) == (value, "published")


def test_recalled_rules_never_pose_as_read(trade: Trade) -> None:
    # from memory: the blower table of 33 CFR 183.610
    rows = [row for row in trade.regulations if row.rule.startswith("33 CFR 183.610")]
    assert len(rows) == 6
    assert {row.status for row in rows} == {"from memory"}


def test_each_rule_says_for_whom_it_holds(trade: Trade) -> None:
    # published: 33 CFR 183 is for gasoline boats, 46 CFR 182 for inspected passenger vessels
    for row in trade.regulations:
        if row.rule.startswith("33 CFR 183"):
            assert "gasoline" in row.applies_to
        if row.rule.startswith("46 CFR 182"):
            assert "inspected passenger vessels" in row.applies_to


def test_shelf_life_is_never_called_service_life(trade: Trade) -> None:
    # published: SAE ARP5316 and ISO 2230 as quoted in secondary pages
    rows = [row for row in trade.regulations if row.rule.startswith(("SAE ARP5316", "ISO 2230"))]
    assert len(rows) == 30
    assert all("not service life" in row.applies_to for row in rows)


# Cautions


@pytest.mark.parametrize(
    "words",
    [
        ("not a survey",),
        ("maker", "local code", "stricter"),
        ("Fuel", "hull openings", "steering", "qualified", "licensed"),
        ("hull openings", "ashore"),
        ("gland", "engine stopped", "start disabled", "turning shaft"),
        ("Oily bilge water", "never goes overboard"),
        ("blower", "sniff", "before every start", "after fuelling"),
        ("blower", "does not clear liquid fuel"),
        ("Low risk", "no reason", "safety"),
    ],
    ids=lambda words: " ".join(words),
)
def test_the_foot_of_every_report_holds_each_caution(trade: Trade, words: tuple[str, ...]) -> None:
    # common practice, no source
    foot = [caution.text for caution in trade.cautions if caution.topic == "foot"]
    assert any(all(word in line for word in words) for line in foot), foot


def test_the_foot_is_three_to_six_lines_for_all(trade: Trade) -> None:
    # judgement, no source
    foot = [caution for caution in trade.cautions if caution.topic == "foot"]
    assert 3 <= len(foot) <= 6
    assert {caution.applies_to for caution in foot} == {("all",)}


def test_pumps_are_tested_with_clean_water(trade: Trade) -> None:
    # common practice, no source
    texts = [caution.text for caution in trade.cautions if "bilge_pump" in caution.applies_to]
    assert any("clean water" in text for text in texts)


@pytest.mark.parametrize(
    "name", ["through_hull_seacock", "saildrive_diaphragm", "bellows_drive", "shaft_packing"]
)
def test_every_hull_opening_carries_its_caution(trade: Trade, name: str) -> None:
    # common practice, no source
    topics = {caution.topic for caution in trade.cautions if name in caution.applies_to}
    assert {"ashore", "qualified"} <= topics
