"""What if: boats kept otherwise, parts fitted, old parts renewed; and what is refused."""

import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.plan.what_if import Change, by_boat, read_change, what_if
from riskmodel.risk import assess

ITEMS = [
    {"item_id": "bellows", "item_class": "bellows_drive", "installed_on": "2012-05-01"},
    {"item_id": "young", "item_class": "raw_water_hose", "installed_on": "2024-05-01"},
    {"item_id": "old", "item_class": "raw_water_hose", "installed_on": "2010-05-01"},
    {"item_id": "other", "vessel_id": "B2", "item_class": "raw_water_hose", "installed_on": "2010-05-01"},
    {"item_id": "undated", "vessel_id": "B2", "item_class": "fuel_feed_hose"},
]
BOATS = [{}, {"vessel_id": "B2", "checked_every_days": 30}]


@pytest.fixture(scope="module")
def fleet(fleet_of):
    return fleet_of(ITEMS, boats=BOATS)


@pytest.fixture(scope="module")
def before(fleet):
    return assess(fleet)


@pytest.fixture(scope="module")
def changed(fleet, before):
    known = {}

    def run(*texts):
        if texts not in known:
            known[texts] = what_if(before, fleet, tuple(read_change(text) for text in texts))
        return known[texts]

    return run


def test_a_change_is_read_from_its_words():
    assert read_change("checked_every_days=3") == Change("", "checked_every_days", "3")
    assert read_change(" B1: kept = ashore ") == Change("B1", "kept", "ashore")
    assert read_change("renew=hose>10") == Change("", "renew", "hose>10")


@pytest.mark.parametrize("text", ["", "kept", "=3", "kept=", "a:b:c=1"])
def test_other_words_are_refused(text):
    with pytest.raises(ParameterError, match="must be COLUMN=VALUE, fit=CLASS or renew=CLASS>YEARS"):
        read_change(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("B9:kept=ashore", "names no boat of this fleet: 'B9'"),
        ("kept=moon", "kept must be a known word"),
        ("checked_every_days=often", "checked_every_days must be a number"),
        ("checked_every_days=0", "checked_every_days must be above 0"),
        ("vessel_id=X", "cannot change vessel_id: it says what the boat is"),
        ("propulsion=outboard", "cannot change propulsion"),
        ("colour=red", "column must be a column of vessels"),
        ("fit=lifebelt", "fit must name a class of parts, got 'lifebelt'"),
        ("renew=keel>3", "renew must name a class of parts or a word in one, got 'keel'"),
        ("renew=hose>soon", "must give years as a number from 0 up, got 'soon'"),
    ],
)
def test_what_cannot_be_is_refused_by_name(fleet, before, text, says):
    with pytest.raises(ParameterError, match=says):
        what_if(before, fleet, (read_change(text),))


def test_nothing_of_the_fleet_itself_changes(fleet, changed):
    vessels, items, records = fleet.vessels.copy(), fleet.items.copy(), fleet.records.copy()
    changed("checked_every_days=1", "fit=high_water_alarm", "renew=hose")
    for now, then in ((fleet.vessels, vessels), (fleet.items, items), (fleet.records, records)):
        pd.testing.assert_frame_equal(now, then)


def test_looking_oftener_sinks_fewer_boats_and_changes_no_part(changed, before):
    difference = changed("checked_every_days=1")
    boats = by_boat(difference)
    assert (boats["sinking_probability_after"] < boats["sinking_probability_before"]).all()
    now, then = (
        each.frame.set_index("item_id")["failure_probability"] for each in (difference.after, before)
    )
    assert now.loc[then.index].tolist() == pytest.approx(then.tolist(), rel=1e-12)


def test_a_change_of_one_boat_leaves_the_others(changed):
    boats = by_boat(changed("B2:checked_every_days=1")).set_index("vessel_id")
    assert boats.loc["B2", "saved"] > 0
    assert boats.loc["B1", "saved"] == pytest.approx(0.0, abs=1e-9)


def test_the_same_setting_changes_nothing(changed):
    assert by_boat(changed("B1:checked_every_days=7"))["saved"].abs().max() == pytest.approx(0.0, abs=1e-9)


def test_an_alarm_is_fitted_where_none_is_listed(changed):
    difference = changed("fit=high_water_alarm")
    new = difference.after.frame[difference.after.frame["item_class"] == "high_water_alarm"]
    assert sorted(new["vessel_id"]) == ["B1", "B2"]
    assert new["age_years"].max() < 0.01
    assert (
        by_boat(difference)["sinking_probability_after"] < by_boat(difference)["sinking_probability_before"]
    ).all()
    assert difference.told == ("high-water alarm fitted today on 2 boats that carry such and list none",)


def test_what_is_fitted_already_is_not_fitted_again(changed):
    assert changed("B1:fit=bellows_drive").told == (
        "drive bellows (universal joint) fitted today on 0 boats that carry such and list none",
    )


def test_old_hoses_are_renewed_and_young_ones_are_not(changed, before):
    difference = changed("renew=hose>10")
    assert set(difference.renewed) == {"old", "other", "undated"}
    now = difference.after.frame.set_index("item_id")
    assert now.loc[["old", "other", "undated"], "age_years"].max() == pytest.approx(0.0, abs=0.01)
    assert now.loc["young", "age_years"] > 2
    assert difference.told == (
        "3 parts (hose over 10 years) renewed today, 1 of them of unknown age that may be older",
    )
    assert by_boat(difference)["saved"].sum() > 0


def test_renewal_costs_what_the_tasks_say(changed, before):
    tasks = before.tasks[before.tasks["does"] == "renew"]
    named = before.fleet.items["item_id"].to_numpy()[tasks["item"]]
    expected = tasks["cost"].groupby(named).min()[["old", "other", "undated"]].sum()
    assert changed("renew=hose>10").cost == pytest.approx(expected)


def test_a_class_by_its_name_renews_that_class_only(changed):
    assert set(changed("renew=raw_water_hose").renewed) == {"young", "old", "other"}


def test_several_changes_add_up_in_one_difference(changed):
    both = changed("checked_every_days=1", "renew=hose>10")
    alone = changed("renew=hose>10")
    assert len(both.told) == 2
    assert by_boat(both)["loss_after"].sum() < by_boat(alone)["loss_after"].sum()


def test_a_part_is_fitted_only_where_such_boats_carry_it_and_costs_what_it_costs(changed):
    assert (
        changed("fit=saildrive_diaphragm").told[0].startswith("saildrive diaphragm fitted today on 0 boats")
    )
    fitted = changed("fit=high_water_alarm")
    assert len(fitted.renewed) == 2
    assert fitted.cost > 0
