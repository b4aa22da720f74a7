"""Explanations: every step has a source, every default is named, and ids that are not there are refused."""

import pytest

from riskmodel.errors import ParameterError
from riskmodel.risk.explain import explain_item

SECTIONS = [
    *("The part", "The boat", "Its life", "Its chance", "If it lets go", "What stands between"),
    *("What can be done", "Its rank"),
]


@pytest.fixture(scope="module")
def bare(assessed):
    """A boat of which hardly anything is given."""
    boat = dict.fromkeys(
        ("fuel", "built_year", "length_m", "kept", "checked_every_days", "core", "climate"), ""
    )
    items = [{"item_class": "shaft_packing"}, {"item_class": "bilge_pump", "quantity": ""}]
    return assessed(items, boats=[boat | {"propulsion": "sail_shaft", "shore_power": ""}])


def by_what(steps):
    return {step.what: step for step in steps}


@pytest.mark.parametrize("rank", [1, 18, 40, 200, 800])
def test_every_step_of_an_explanation_has_a_value_and_a_source(demo, rank):
    item = demo.frame.loc[demo.frame["rank"] == rank, "item_id"].iloc[0]
    for step in explain_item(demo, item):
        assert step.value.strip(), step
        assert step.source.strip(), step


def test_sections_come_in_the_order_of_the_work(demo):
    item = demo.frame.loc[demo.frame["item_class"] == "shaft_packing", "item_id"].iloc[0]
    found = list(dict.fromkeys(step.section for step in explain_item(demo, item)))
    assert [section for section in found if section in SECTIONS] == SECTIONS


def test_every_default_the_boat_took_is_named_as_one(bare):
    steps = by_what(step for step in explain_item(bare, "I0") if step.section == "The boat")
    for column in (
        "fuel",
        "length_m",
        "water",
        "climate",
        "kept",
        "core",
        "checked_every_days",
        "shore_power",
    ):
        assert steps[column].source.startswith("default: "), column
    assert steps["propulsion"].source == steps["value"].source == "your vessels table"
    assert (steps["built_year"].value, steps["built_year"].source) == ("unknown", "not given")


def test_a_boat_after_a_sold_one_keeps_its_own_defaults(demo):
    item = demo.frame.loc[demo.frame["vessel_id"] == "L25", "item_id"].iloc[0]
    steps = by_what(explain_item(demo, item))
    assert steps["shore_power"].source == "default: our judgement"
    assert steps["core"].source == "your vessels table"


def test_an_unknown_age_says_how_it_was_treated(bare):
    step = by_what(explain_item(bare, "I0"))["Age"]
    assert step.value.startswith("unknown: ")
    assert "integrated over" in step.source


def test_an_assumed_part_says_where_it_comes_from(demo):
    item = demo.frame.loc[demo.frame["assumed"], "item_id"].iloc[0]
    assert by_what(explain_item(demo, item))["Class"].source == "the typical outfit of such a boat"


def test_a_part_without_a_path_to_an_end_is_said_not_to_apply(bare):
    steps = by_what(explain_item(bare, "I0"))
    burns = next(step for what, step in steps.items() if what.startswith("Burns it"))
    sinks = next(step for what, step in steps.items() if what.startswith("Sinks the boat"))
    assert burns.value == "does not apply"
    assert sinks.value.endswith("in 1,000")


def test_the_intervals_behind_a_life_come_with_source_and_status(demo):
    item = demo.frame.loc[demo.frame["item_class"] == "bellows_drive", "item_id"].iloc[0]
    sources = [step.source for step in explain_item(demo, item) if step.what == "renew by"]
    assert any(source.endswith("; published") for source in sources)


def test_the_chosen_task_is_marked_and_priced(demo):
    row = demo.frame.iloc[0]
    chosen = [step for step in explain_item(demo, row["item_id"]) if step.what.endswith("(chosen)")]
    assert [step.what for step in chosen] == [row["best_task"].replace("_", " ") + " (chosen)"]
    assert chosen[0].value.startswith(f"costs {row['task_cost']:,.0f}")


def test_the_rank_told_is_the_frames(demo):
    row = demo.frame.iloc[30]
    told = by_what(explain_item(demo, row["item_id"]))["Rank"].value
    assert told.startswith(f"31 of {len(demo.frame)} (90 %: {row['rank_low']} to {row['rank_high']})")


def test_cautions_of_the_class_are_told(demo):
    item = demo.frame.loc[demo.frame["item_class"] == "fuel_feed_hose", "item_id"].iloc[0]
    texts = [step.value for step in explain_item(demo, item) if step.section == "Cautions"]
    assert any("qualified person" in text for text in texts)


def test_a_hidden_part_says_from_when_its_chance_is_counted(bare):
    step = by_what(explain_item(bare, "I1"))["Counted from"]
    assert "it was new" in step.value


def test_an_item_that_is_not_there_is_refused_with_the_nearest(bare):
    with pytest.raises(ParameterError, match=r"^no item I00 in this fleet; the nearest is I0$"):
        explain_item(bare, "I00")


def test_an_item_like_no_other_is_refused_plainly(bare):
    with pytest.raises(ParameterError, match=r"^no item rowlock in this fleet$"):
        explain_item(bare, "rowlock")


def test_a_part_older_than_most_is_told_that_this_is_no_credit(assessed):
    old = assessed([{"item_class": "bellows_drive", "installed_on": "2001-05-01"}])
    young = assessed([{"item_class": "bellows_drive", "installed_on": "2025-05-01"}])
    told = [step.what for step in explain_item(old, "I0")]
    assert "It has held longer than most" in told
    assert "It has held longer than most" not in [step.what for step in explain_item(young, "I0")]
