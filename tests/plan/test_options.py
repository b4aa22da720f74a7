"""What could be done to each part, what it costs and what it is worth."""

import datetime

import numpy as np
import pytest

from riskmodel.plan.budget.options import LATER, NOW, plan_options, planning_ground, work_done
from riskmodel.risk.haul_out import haul_out_costs
from riskmodel.risk.worked import early_failures
from riskmodel.trade import load_trade, task_cost

TRADE = load_trade()
BELLOWS = {"item_class": "bellows_drive", "installed_on": "2022-06-02"}
PACKING = {"item_class": "shaft_packing", "installed_on": "2020-05-02"}
TO_SPRING = datetime.date(2027, 6, 1)


@pytest.fixture(scope="module")
def offered(assessed):
    def run(items, records=None, boats=({},), until=TO_SPRING, settings=""):
        result = assessed(items, records, boats, settings, until)
        return plan_options(result), result

    return run


@pytest.fixture(scope="module")
def everything(demo):
    return plan_options(demo)


def test_every_row_is_one_of_the_trades_tasks(demo, everything):
    named = {(name, task.task) for name, each in TRADE.classes.items() for task in each.tasks}
    assert set(zip(everything["item_class"], everything["task"], strict=True)) <= named
    assert set(everything["does"]) == {"renew", "inspect", "test", "adjust"}


def test_every_part_can_be_renewed_today(demo, everything):
    today = everything[(everything["does"] == "renew") & (everything["when"] == NOW)]
    assert set(today["item_id"]) == set(demo.fleet.items["item_id"])


def test_nothing_costs_or_averts_less_than_nothing(everything):
    for column in ("cost", "hours", "averted", "averted_life"):
        assert (everything[column] >= 0).all()
        assert np.isfinite(everything[column]).all()
    assert (everything["averted_life"] >= everything["averted"] - 1e-9).all()


def test_parts_that_must_be_renewed_have_no_look_in_its_place(demo, everything):
    must = set(demo.fleet.items["item_id"][demo.must_renew])
    assert must
    assert set(everything.loc[everything["item_id"].isin(must), "does"]) == {"renew"}


def test_known_defects_wait_for_no_haul_out(demo, everything):
    defects = set(demo.frame.loc[demo.frame["defect"] != "", "item_id"])
    assert set(everything.loc[everything["item_id"].isin(defects), "when"]) == {NOW}


def test_a_renewals_worth_has_early_faults_taken_off(offered):
    options, result = offered([PACKING])
    row = options[(options["does"] == "renew")].iloc[0]
    faults = TRADE.care["early_failure_share"].typical
    drawn, loss = result.parts.drawn[0], planning_ground(result).now.loss[0]
    new = result.parts.kept[0] * drawn
    # Loss of one failure times (chance now - chance new or of an early fault), draw by draw.
    fresh = new + faults * (1 - new)
    by_hand = np.maximum(loss / drawn * (drawn - fresh), 0).mean()
    assert row["averted"] == pytest.approx(by_hand, rel=1e-9)
    assert row["averted"] < result.benefits.renew[0].mean()


def test_many_like_parts_have_many_chances_of_a_fault(assessed):
    clamps = [{"item_class": "hose_clamps", "installed_on": "2015", "quantity": n} for n in (1, 40)]
    one, many = early_failures(assessed(clamps))
    assert one == pytest.approx(0.02)
    assert many == pytest.approx(1 - 0.98**40)


def test_renewing_a_new_part_averts_nothing(offered):
    options, _ = offered([{**PACKING, "installed_on": "2026-05-30"}])
    assert options.loc[options["does"] == "renew", "averted"].max() == 0.0


def test_now_pays_the_lift_and_the_next_haul_out_does_not(offered):
    records = [
        {"vessel_id": "B1", "date": "2026-03-12", "event": "hauled"},
        {"vessel_id": "B1", "date": "2026-04-02", "event": "launched"},
    ]
    options, _ = offered([BELLOWS], records)
    renew = options[options["does"] == "renew"].set_index("when")
    assert set(renew.index) == {NOW, LATER}
    assert renew.loc[NOW, "haul_out"]
    assert not renew.loc[LATER, "haul_out"]
    assert renew.loc[NOW, "cost"] == renew.loc[LATER, "cost"]
    assert renew.loc[LATER, "date"] == datetime.date(2027, 3, 12)
    assert 0 < renew.loc[LATER, "averted"] < renew.loc[NOW, "averted"]
    assert 0 < renew.loc[LATER, "share"] < 1


@pytest.mark.parametrize("kept", ["trailer", "rack", "ashore"])
def test_a_boat_on_land_pays_no_lift_and_waits_for_none(offered, kept):
    options, _ = offered([BELLOWS], boats=[{"kept": kept}])
    assert not options["haul_out"].any()
    assert set(options["when"]) == {NOW}


def test_a_boat_that_is_never_out_anyway_pays_for_every_look_ashore(offered):
    options, _ = offered([BELLOWS], boats=[{"climate": "hot"}], until=datetime.date(2029, 6, 1))
    routine = options[options["looks"] > 1].iloc[0]
    once = options[(options["looks"] == 1) & (options["task"] == routine["task"])].iloc[0]
    lift = haul_out_costs(np.array([8.0]), TRADE)[0]
    assert routine["haul_out"]
    assert routine["cost"] == pytest.approx(routine["looks"] * once["cost"] + (routine["looks"] - 1) * lift)


def test_adjusting_is_offered_and_small(offered):
    options, result = offered([PACKING])
    adjust = options[options["does"] == "adjust"].iloc[0]
    low, high = task_cost(next(t for t in TRADE.classes["shaft_packing"].tasks if t.does == "adjust"), 8.0)
    assert adjust["cost"] == pytest.approx((low + high) / 2)
    assert 0 < adjust["averted"] < 0.5 * planning_ground(result).now.loss[0].mean()


def test_hours_count_every_look_and_every_like_part(offered):
    options, _ = offered([{"item_class": "hose_clamps", "installed_on": "2018", "quantity": 12}])
    task = next(t for t in TRADE.classes["hose_clamps"].tasks if t.does == "inspect")
    looks = options[options["task"] == task.task]
    middle = (task.hours_low + task.hours_high) / 2
    assert looks["hours"].to_numpy() == pytest.approx(12 * middle * looks["looks"].to_numpy())


def test_hire_lost_makes_work_worth_more(offered):
    plain, _ = offered([PACKING])
    let, _ = offered([PACKING], boats=[{"day_rate": 400, "downtime_days": 7}])
    assert (let["averted"] > plain["averted"]).all()
    assert let["cost"].equals(plain["cost"])


def test_hire_without_a_downtime_is_lost_for_the_week(offered):
    week, _ = offered([PACKING], boats=[{"day_rate": 400, "downtime_days": 7}])
    blank, _ = offered([PACKING], boats=[{"day_rate": 400}])
    assert blank["averted"].to_numpy() == pytest.approx(week["averted"].to_numpy())


def test_over_its_life_an_old_part_is_worth_more_to_renew(offered):
    options, _ = offered([PACKING])
    renew = options[options["does"] == "renew"].iloc[0]
    assert renew["averted_life"] > 1.5 * renew["averted"]


def test_a_barriers_worth_goes_with_the_time_it_stands_there(demo, everything):
    pumps = everything[(everything["item_class"] == "bilge_pump") & (everything["does"] == "renew")]
    life = min(demo.lives.seeds["bilge_pump"].upkeep.renewal_age, 10.0)
    some = pumps[pumps["averted"] > 0.1]
    assert len(some)
    ratio = some["averted_life"] / some["averted"]
    assert ratio.to_numpy() == pytest.approx(max(life / demo.horizon.years, 1.0))


def test_work_done_is_told_by_part(everything):
    rows = everything.drop_duplicates("item").head(6)
    renewed, finds = work_done(rows, int(everything["item"].max()) + 1)
    for row in rows.itertuples():
        assert renewed[row.item] == (row.share if row.does == "renew" else 0.0)
        looked = row.does in ("inspect", "test")
        assert finds[row.item] == pytest.approx(row.finds * row.share if looked else 0.0)


def test_a_fleet_that_has_nothing_to_adjust_or_haul_is_no_trouble(offered):
    options, _ = offered([{"item_class": "deck_bedding", "installed_on": "2015"}])
    assert set(options["does"]) <= {"renew", "inspect", "test"}
