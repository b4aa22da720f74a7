"""The best plan: brute force on a tiny fleet, floors first, both sums true, more money never worse."""

import itertools

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.plan import best_plan
from riskmodel.plan.budget.floors import floors, outcomes_done
from riskmodel.plan.budget.money import LARGEST, Till
from riskmodel.plan.budget.options import plan_options, planning_ground
from riskmodel.plan.budget.plan import MONEY
from riskmodel.risk.after import vessel_losses_of

TINY = [
    {"item_class": "shaft_packing", "installed_on": "2019-05-02"},
    {"item_class": "through_hull_seacock", "installed_on": "2004"},
    {"item_class": "bilge_pump", "installed_on": "2017"},
]
NO_FLOORS = "kill_limit = 0.9\nsinking_limit = 0.9\n"


@pytest.fixture(scope="module")
def tiny(assessed):
    return assessed(TINY, boats=[{"propulsion": "inboard_shaft", "climate": "hot"}], settings=NO_FLOORS)


@pytest.fixture(scope="module")
def plans(demo):
    return {amount: best_plan(demo, amount) for amount in (0, 1000, 7100, 8000, 12000)}


@pytest.fixture(scope="module")
def every_plan(tiny):
    """Cost [cents] and loss averted of every set of options with at most one a part."""
    ground = planning_ground(tiny)
    options = plan_options(tiny, ground=ground)
    assert floors(options, ground) == ()
    till, averted = Till(options, ground.lift), options["averted"].to_numpy()
    sets = itertools.product(*([None, *rows.index] for _, rows in options.groupby("item")))
    chosen = [[row for row in some if row is not None] for some in sets]
    return np.array([till.together(rows) for rows in chosen]), np.array(
        [averted[rows].sum() for rows in chosen]
    )


@pytest.mark.parametrize("amount", [0, 30, 90, 140, 400, 900, 1500, 5000])
def test_the_plan_is_that_of_brute_force(tiny, every_plan, amount):
    cost, averted = every_plan
    plan = best_plan(tiny, amount)
    assert plan.averted == pytest.approx(averted[cost <= 100 * amount].max(), rel=1e-9)
    assert plan.cost <= amount


def test_every_plan_has_the_columns_of_every_other(plans, tiny):
    def columns(plan):
        frames = {name: value for name, value in vars(plan).items() if isinstance(value, pd.DataFrame)}
        return {name: list(frame.columns) for name, frame in frames.items()}

    rich = columns(plans[12000])
    assert "per_cost" in rich["next_best"]
    assert {amount: columns(plan) for amount, plan in plans.items()} == dict.fromkeys(plans, rich)
    # Of a boat that nothing comes first for, with money for all that pays or for none of it.
    assert [columns(best_plan(tiny, amount)) for amount in (0, 1e6)] == [rich, rich]


def test_the_plans_own_sums_are_true(demo, plans):
    for amount, plan in plans.items():
        assert plan.averted == pytest.approx(plan.frame["averted"].sum())
        assert plan.cost == pytest.approx(plan.frame["cost"].sum() + plan.lifts["cost"].sum())
        assert plan.cost <= amount
        assert plan.bound >= plan.averted - 1e-9
        assert 0 <= plan.gap < 1e-3
        assert not plan.frame["item_id"].duplicated().any()


def test_losses_before_and_after_are_recomputed_in_full(demo, plans):
    plan = plans[12000]
    ground = planning_ground(demo)
    options = plan_options(demo, ground=ground)
    keys = options.set_index(["item_id", "task", "looks", "when"]).index
    rows = keys.get_indexer(plan.frame.set_index(["item_id", "task", "looks", "when"]).index)
    after = vessel_losses_of(ground.result, outcomes_done(options, rows, ground))
    assert plan.before == pytest.approx(demo["expected_loss"].sum() + demo.background["loss"].sum(), rel=1e-6)
    assert plan.after == pytest.approx(after.sum())
    assert plan.vessels["loss_after"].to_numpy() == pytest.approx(after)
    # Single tasks' losses averted add up to more than doing them all averts.
    assert 0 < plan.before - plan.after < plan.averted


def test_a_boats_loss_never_rises_by_work(plans):
    frame = plans[12000].vessels
    assert (frame["loss_after"] <= frame["loss_before"] * (1 + 1e-9)).all()


def test_more_money_never_averts_less(demo, plans):
    averted = [plans[amount].averted for amount in sorted(plans)]
    assert (np.diff(averted) >= 0).all()
    curve = plans[8000].curve
    assert (np.diff(curve["averted"]) >= 0).all()
    assert (np.diff(curve["amount"]) > 0).all()
    assert (curve["bound"] >= curve["averted"]).all()


def test_the_curve_holds_the_plan_itself(plans):
    curve = plans[8000].curve.set_index("amount")
    assert curve.loc[8000.0, "averted"] == pytest.approx(plans[8000].averted)


def test_a_funded_floor_stays_funded_as_the_amount_rises(demo, plans):
    paid = set()
    for amount in sorted(plans):
        status = plans[amount].floors
        now = set(map(tuple, status.loc[status["met"], ["kind", "vessel_id", "item_id"]].to_numpy()))
        assert paid <= now
        paid = now
    assert len(paid) == len(status)


def test_with_too_little_the_rest_is_kept_and_boats_stay_ashore(plans):
    plan = plans[1000]
    assert not plan.satisfied
    assert set(plan.frame["reason"]) == {"known defect"}
    unmet = set(plan.floors.loc[~plan.floors["met"], "vessel_id"])
    assert set(plan.instead["vessel_id"]) == unmet
    assert plan.instead["advice"].str.startswith("keep ashore, or attended").all()
    assert plan.proof == "kept for floors"


@pytest.fixture(scope="module")
def tight(demo):
    return {amount: best_plan(demo, amount) for amount in (100, 500, 3000, 5000)}


def test_what_the_kept_money_would_pay_for_is_undone_affordable_and_dangerous_first(tight):
    seen = 0
    for amount, plan in tight.items():
        offer = plan.would_pay
        seen += len(offer)
        assert offer["cost"].sum() + offer["lift"].sum() <= amount - plan.cost + 1e-9
        assert not set(offer["item_id"]) & set(plan.frame["item_id"])
        assert offer["danger"].is_monotonic_decreasing
        assert not offer["item_id"].duplicated().any()
        # The first that is not reached is dearer than what is kept: it is never in the offer.
        first = plan.floors[plan.floors["possible"] & ~plan.floors["paid"]].iloc[0]
        assert first["cost"] > amount - plan.cost
        assert first["item_id"] not in set(offer["item_id"])
    assert seen


def test_what_comes_first_costs_what_its_floors_cost_one_after_another(tight, plans):
    for plan in (*tight.values(), *plans.values()):
        assert plan.first_cost == pytest.approx(plan.floors["cost"].sum())
    assert plans[8000].would_pay.empty


def test_with_nothing_every_floor_is_named(plans):
    plan = plans[0]
    assert plan.frame.empty
    assert plan.cost == 0
    assert not plan.floors["met"].any()
    assert plan.after == pytest.approx(plan.before)


def test_with_enough_every_floor_is_met_and_the_rest_goes_to_money(plans):
    plan = plans[8000]
    assert plan.satisfied
    assert plan.floors["met"].all()
    limited = plan.floors[plan.floors["kind"] != "known defect"]
    assert (limited["after"] <= limited["limit"]).all()
    assert (plan.frame["reason"] == MONEY).any()
    assert plan.proof == "optimal"


def test_known_defects_are_in_every_plan_that_can_pay_for_them(demo, plans):
    defects = set(demo.frame.loc[demo.frame["defect"] != "", "item_id"])
    for amount in (7100, 8000, 12000):
        first = plans[amount].frame[plans[amount].frame["reason"] == "known defect"]
        assert set(first["item_id"]) == defects
        assert set(first["does"]) == {"renew"}


def test_what_comes_next_is_not_in_the_plan_and_worth_no_more_than_the_shadow_price_says(plans):
    plan = plans[8000]
    assert 0 < len(plan.next_best) <= 5
    done = set(zip(plan.frame["item_id"], plan.frame["task"], plan.frame["looks"], strict=True))
    for row in plan.next_best.itertuples():
        assert (row.item_id, row.task, row.looks) not in done
    assert plan.next_best["per_cost"].is_monotonic_decreasing
    assert plan.next_best["per_cost"].max() <= plan.shadow_price * 1.5


def test_overdue_rubber_that_is_left_is_named_likeliest_first(demo, plans):
    plan = plans[8000]
    late = set(demo.frame.loc[demo.frame["overdue"], "item_id"])
    assert set(plan.overdue["item_id"]) <= late
    assert not set(plan.overdue["item_id"]) & set(plan.frame["item_id"])
    assert plan.overdue["risk"].is_monotonic_decreasing
    # All of it, whatever it may lead to: "all of them" is a sum.
    assert set(plan.overdue["item_id"]) == late - set(plan.frame["item_id"])


def test_yard_hours_move_work_on_and_take_from_its_worth(demo, plans):
    free, tight = plans[8000], best_plan(demo, 8000, yard_hours=10)
    assert tight.averted < free.averted
    assert tight.after > free.after
    assert tight.bound == pytest.approx(free.bound)
    yard = tight.frame[tight.frame["skill"].isin(["yard", "licensed"])]
    months = yard["date"].dropna().map(lambda day: (day.year, day.month)).nunique()
    assert months > 1


def test_a_yard_without_hours_leaves_money_work_out_and_boats_waiting(demo):
    plan = best_plan(demo, 8000, yard_hours=0)
    assert not plan.satisfied
    alone = plan.unplaced[~plan.unplaced["out_of_water"].astype(bool)]
    assert set(alone["skill"]) <= {"yard", "licensed"}
    money = plan.frame[plan.frame["reason"] == MONEY]
    assert money["date"].notna().all()
    assert plan.cost <= 8000


def test_the_fleets_yard_hours_stand_where_none_are_asked_for(assessed):
    boats = [{"propulsion": "inboard_shaft"}]
    result = assessed(TINY, boats=boats, settings=NO_FLOORS + "yard_hours_per_month = 3\n")
    assert best_plan(result, 500).yard_hours == 3
    assert best_plan(result, 500, yard_hours=40).yard_hours == 40


def test_a_boat_on_hire_has_a_note_on_work_in_its_season(assessed):
    boat = {"propulsion": "inboard_shaft", "day_rate": 300, "season_start": "04-01", "season_end": "10-31"}
    plan = best_plan(assessed(TINY, boats=[boat], settings=NO_FLOORS), 900)
    assert plan.frame.loc[plan.frame["when"] == "now", "note"].str.contains("hand-over").all()


def test_a_defect_that_needs_a_lift_pays_it_once_for_all(assessed):
    items = [{"item_class": "through_hull_seacock", "installed_on": "2004"} for _ in range(3)]
    records = [
        {"item_id": f"I{n}", "date": "2026-05-20", "event": "inspected", "finding": "failing"} for n in (0, 1)
    ]
    plan = best_plan(assessed(items, records, [{"climate": "hot"}], settings=NO_FLOORS), 10_000)
    assert len(plan.lifts) == 1
    assert plan.frame["haul_out"].sum() >= 2


@pytest.mark.parametrize(
    ("amount", "hours"), [(-1, None), (float("nan"), None), (float("inf"), None), (100, -2)]
)
def test_amounts_and_hours_below_nothing_are_refused(tiny, amount, hours):
    with pytest.raises(ParameterError, match="must be 0 or more"):
        best_plan(tiny, amount, yard_hours=hours)


@pytest.mark.parametrize("amount", [LARGEST * 1.01, 1e18, 1e300])
def test_an_amount_beyond_all_money_is_refused(tiny, amount):
    with pytest.raises(ParameterError, match="amount must be at most 1,000,000,000,000"):
        best_plan(tiny, amount)


def test_the_largest_amount_buys_all_that_averts_anything(tiny):
    plan = best_plan(tiny, LARGEST)
    assert plan.satisfied
    assert plan.averted == pytest.approx(best_plan(tiny, 1e6).averted)
    assert (np.diff(plan.curve["amount"]) > 0).all()


def test_a_notebook_shows_the_sums_and_the_work(plans):
    shown = plans[8000]._repr_html_()
    assert "<table" in shown
    assert "of 8,000" in shown
