"""Tasks: what is offered, what it costs with and without a lift, and which one is worth most."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.risk.haul_out import haul_out_costs
from riskmodel.risk.tasks import Benefits, choose_tasks
from riskmodel.trade import load_trade, task_cost

TRADE = load_trade()
HAULED = {"vessel_id": "B1", "date": "2026-03-12", "event": "hauled"}
LONG_AGO = {"vessel_id": "B1", "date": "2019-03-12", "event": "hauled"}
BELLOWS = [{"item_class": "bellows_drive", "installed_on": "2015-05-01"}]


def middle(task, length=8.0):
    """Middle cost of one such task."""
    return sum(task_cost(task, length)) / 2


def task_named(item_class, name):
    return next(task for task in TRADE.classes[item_class].tasks if task.task == name)


@pytest.fixture(scope="module")
def bellows(rows_of):
    def run(records=None, **boat):
        return rows_of(BELLOWS, records, [boat]).loc["I0"]

    return run


@pytest.mark.parametrize(
    ("records", "boat", "pays"),
    [
        ([LONG_AGO], {}, True),
        ([HAULED], {}, False),
        (None, {}, False),
        (None, {"climate": "hot"}, True),
        ([LONG_AGO], {"kept": "trailer"}, False),
        ([LONG_AGO], {"kept": "rack"}, False),
        ([LONG_AGO], {"kept": "ashore"}, False),
        ([LONG_AGO], {"kept": "mooring"}, True),
    ],
    ids=["long ago", "this spring", "cold winters", "hot", "trailer", "rack", "ashore", "mooring"],
)
def test_a_lift_is_paid_for_where_the_boat_is_not_out_anyway(bellows, records, boat, pays):
    row = bellows(records, **boat)
    lift = float(haul_out_costs(np.array([8.0]), TRADE)[0])
    assert row["haul_out_cost"] == pytest.approx(lift if pays else 0.0)
    work = middle(task_named("bellows_drive", row["best_task"]))
    assert row["task_cost"] == pytest.approx(work + row["haul_out_cost"])


def test_the_tests_lift_is_real_money():
    assert haul_out_costs(np.array([8.0]), TRADE)[0] > 100
    assert (np.diff(haul_out_costs(np.array([6.0, 9.0, 14.0]), TRADE)) > 0).all()


def test_work_done_afloat_never_pays_for_a_lift(demo):
    tasks = demo.tasks
    afloat = tasks[~tasks["out_of_water"].astype(bool)]
    assert (afloat["haul_out"] == 0).all()
    assert (tasks["cost"] == tasks["work"] + tasks["haul_out"]).all()


def test_every_part_has_a_renewal_to_choose(demo):
    renewals = demo.tasks[demo.tasks["does"] == "renew"]
    assert set(renewals["item"]) == set(range(len(demo.fleet.items)))


def test_many_like_parts_cost_many_times_the_work(rows_of):
    items = [{"item_class": "hose_clamps", "installed_on": "2018", "quantity": n} for n in (1, 12)]
    frame = rows_of(items)
    assert frame["best_task"].nunique() == 1
    assert frame.loc["I1", "task_cost"] == pytest.approx(12 * frame.loc["I0", "task_cost"])


def test_of_many_found_bad_one_is_put_right(rows_of):
    found = [{"item_id": "I0", "date": "2026-04-01", "event": "inspected", "finding": "failing"}]
    row = rows_of([{"item_class": "hose_clamps", "installed_on": "2018", "quantity": 12}], found).loc["I0"]
    assert row["task_cost"] == pytest.approx(middle(task_named("hose_clamps", row["best_task"])))


def test_a_price_of_the_keepers_own_is_taken(rows_of):
    found = [{"item_id": "I0", "date": "2026-04-01", "event": "inspected", "finding": "failing"}]
    row = rows_of([{"item_class": "fuel_fill_hose", "installed_on": "2018", "renew_cost": 77}], found).loc[
        "I0"
    ]
    assert row["task_cost"] == 77


@pytest.mark.parametrize("name", ["bellows_drive", "bellows_shift", "fuel_fill_hose", "fuel_feed_hose"])
def test_rubber_past_its_age_is_renewed_whatever_it_looks_like(rows_of, name):
    looked = [
        {
            "item_id": "I0",
            "date": "2026-05-20",
            "event": "inspected",
            "finding": "sound",
            "thoroughness": "opened",
        }
    ]
    row = rows_of([{"item_class": name, "installed_on": "2009-05-01"}], looked).loc["I0"]
    assert row["task_does"] == "renew"


def test_the_makers_age_comes_before_the_trades(rows_of):
    items = [
        {"item_class": "fuel_fill_hose", "installed_on": "2023-05-01", "maker_interval_years": years}
        for years in (2, 30)
    ]
    assert rows_of(items).loc["I0", "task_does"] == "renew"
    assert "maker renews at 2 y" in rows_of(items).loc["I0", "why"]


def test_no_demo_rubber_past_its_age_is_offered_a_look(demo):
    items = demo.fleet.items.set_index("item_id")
    frame = demo.frame.set_index("item_id")
    maker = items["maker_interval_years"].reindex(frame.index)
    trade = frame["item_class"].map(
        {name: seed.upkeep.renewal_age for name, seed in demo.lives.seeds.items()}
    )
    on_age = frame["item_class"].map({name: each.renewed_on_age for name, each in demo.trade.classes.items()})
    past = on_age & (frame["age_years"] >= maker.fillna(trade))
    assert past.sum() > 10
    assert set(frame.loc[past, "task_does"]) == {"renew"}


def test_the_best_task_is_worth_most_after_its_cost():
    tasks = pd.DataFrame(
        {"item": [0, 0], "task": ["renew", "look"], "does": ["renew", "inspect"], "finds": [1.0, 0.5]}
    )
    dear, cheap = tasks.assign(cost=[90.0, 10.0]), tasks.assign(cost=[10.0, 9.0])
    benefits = Benefits(np.array([[100.0]]), np.array([[80.0]]))
    none = np.array([False])
    assert choose_tasks(dear, benefits, none)[0]["task"].tolist() == ["look"]
    assert choose_tasks(cheap, benefits, none)[0]["task"].tolist() == ["renew"]
    assert choose_tasks(dear, benefits, ~none)[0]["task"].tolist() == ["renew"]


def test_where_nothing_pays_the_cheapest_relief_is_named():
    tasks = pd.DataFrame(
        {"item": [0, 0], "task": ["renew", "look"], "does": ["renew", "test"], "finds": [1.0, 0.5]}
    )
    benefits = Benefits(np.array([[1.0]]), np.array([[1.0]]))
    best, averted = choose_tasks(tasks.assign(cost=[1000.0, 20.0]), benefits, np.array([False]))
    assert best["task"].tolist() == ["look"]
    assert averted.tolist() == [[0.5]]


def test_a_perfect_look_averts_no_more_than_a_renewal_of_what_has_no_boat_to_guard(demo):
    barriers = {name for barrier in demo.trade.barriers for name in barrier.needs}
    plain = demo.frame[~demo.frame["item_class"].isin(barriers)]
    looks = plain[plain["task_does"].isin(["inspect", "test"])]
    assert len(looks) > 100
    assert (looks["loss_averted"] <= looks["expected_loss"] * (1 + 1e-9)).all()


def test_a_routine_of_looks_is_chosen_where_it_is_worth_more_than_one():
    tasks = pd.DataFrame(
        {
            **{"item": [0, 0, 0], "task": ["renew", "look", "look"], "does": ["renew", "inspect", "inspect"]},
            **{"looks": [1, 1, 4], "finds": [1.0, 0.5, 0.8]},
        }
    )
    benefits, none = Benefits(np.array([[100.0]]), np.array([[80.0]])), np.array([False])
    for costs, looks, worth in (([90.0, 5.0, 20.0], 4, 64.0), ([90.0, 10.0, 40.0], 1, 40.0)):
        best, averted = choose_tasks(tasks.assign(cost=costs), benefits, none)
        assert (best["looks"].tolist(), averted.tolist()) == ([looks], [[worth]])


def test_many_looks_cost_many_times_one(rows_of):
    chosen = rows_of([{"item_class": "drain_plug", "installed_on": "2008"}]).loc["I0"]
    assert chosen["task_does"] == "inspect"
    assert chosen["task_looks"] > 1
    assert chosen["task_cost"] == pytest.approx(
        chosen["task_looks"] * middle(task_named("drain_plug", chosen["best_task"]))
    )


def test_looking_first_is_worth_its_net_over_renewing_or_leaving(demo):
    frame = demo.frame.set_index("item_id")
    tasks = demo.tasks.assign(item_id=demo.fleet.items["item_id"].to_numpy()[demo.tasks["item"]])
    renew = tasks[tasks["does"] == "renew"]
    worth = demo.benefits.renew.mean(axis=1)[renew["item"]] - renew["cost"]
    others = worth.groupby(renew["item_id"]).max().clip(lower=0).reindex(frame.index).fillna(0)
    net = frame["loss_averted"] - frame["task_cost"]
    looked = frame["task_does"] != "renew"
    expected = np.where(looked, np.maximum(net - others, 0), 0)
    assert frame["look_value"].to_numpy() == pytest.approx(expected, abs=1e-6)
    assert (frame["look_value"] > 0).sum() > 20


def test_where_renewal_is_chosen_looking_changes_nothing(demo):
    assert (demo.frame.loc[demo["task_does"] == "renew", "look_value"] == 0).all()
