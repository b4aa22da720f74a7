"""What looking buys, plan by plan: which plans there are, what each averts, and that more looks avert more."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.looks import Looks, detection_nodes, open_beyond, window_nodes
from riskmodel.life.planned import PlannedLooks, chance_with_planned_looks
from riskmodel.risk.chances import Parameters
from riskmodel.risk.looking import (
    LOOKING,
    MOST_PLANNED,
    by_looking,
    look_interval,
    look_plans,
    mean_detection,
)
from riskmodel.risk.parts import Parts
from riskmodel.trade import load_trade

TRADE = load_trade()
MIDDLE = Parameters(np.array([2.8]), np.log([14.0]), np.ones(1), np.ones(1, dtype=np.intp))
WINDOWS = window_nodes(0.25, 2.0, 9)
AGES = np.linspace(0.5, 19.5, 20)


def parts_of(age, cell=None, looks=None, reach=1.0, speeds=(1.0,)):
    """Parts in turn of each surroundings; unknown ages spread evenly over AGES."""
    age = np.asarray(age, dtype=float)
    count, ones = len(age), np.ones(len(age))
    return Parts(
        age=age,
        gap=np.zeros(count),
        quantity=ones,
        cell=np.full(count, -1) if cell is None else np.asarray(cell),
        ages=AGES,
        weights=np.full((1, 3, len(AGES)), 1 / len(AGES)),
        kind=np.arange(count) % len(speeds),
        speed=np.array(speeds, dtype=float)[:, None],
        reach=reach * ones,
        looks=looks,
        windows=WINDOWS,
        lot=np.full(count, -1),
        lots=(),
        lot_correction=1.0,
        hours=np.zeros(count),
        unmetered=np.zeros(count),
        rate=ones,
        rate_sd=0.0,
    )


def plans_of(name, years=1.0):
    return look_plans(TRADE.classes[name], years)


def looked_at(parts, name="livewell_drain", years=1.0):
    return by_looking(plans_of(name, years), parts, MIDDLE, np.full(len(parts.age), years))


@pytest.mark.parametrize(
    ("name", "years"),
    # common practice, no source, and a boating insurer's articles: the trade tables' own look intervals.
    [("fuel_fill_hose", 1.0), ("livewell_drain", 0.5), ("bellows_drive", 0.5**0.5), ("shaft_packing", 0.04)],
)
def test_the_trades_interval_is_the_middle_of_its_rows(name, years):
    assert look_interval(TRADE.classes[name]) == pytest.approx(years)


def test_where_the_trade_names_no_interval_one_look_today_is_planned():
    silent = replace(TRADE.classes["livewell_drain"], intervals=())
    assert look_interval(silent) == np.inf
    assert [plan.looks for plan in look_plans(silent, 5.0)] == [1]


def test_each_look_is_planned_once_today_and_as_often_as_the_trade_looks():
    assert [(plan.task.task, plan.places) for plan in plans_of("livewell_drain")] == [
        ("fill_and_look", (0,)),
        ("fill_and_look", (0, 1)),
    ]
    assert [(plan.task.task, plan.looks) for plan in plans_of("fuel_fill_hose")] == [
        ("wipe_and_smell", 1),
        ("pressure_test", 1),
    ]
    assert [plan.looks for plan in plans_of("fuel_fill_hose", 3.0)] == [1, 3, 1, 3]


def test_work_out_of_the_water_is_planned_at_most_once_a_year():
    assert [plan.looks for plan in plans_of("bellows_drive", 1.0)] == [1]
    assert [plan.looks for plan in plans_of("bellows_drive", 2.0)] == [1, 2]
    for plan in plans_of("through_hull_seacock", 2.0):
        assert plan.looks <= (2 if plan.task.out_of_water else MOST_PLANNED)


def test_what_fails_unseen_has_one_test_today():
    for item_class in TRADE.classes.values():
        if item_class.fails_unseen:
            assert {plan.looks for plan in look_plans(item_class, 4.0)} == {1}


@pytest.mark.parametrize("years", [0.05, 0.4, 1.0, 2.7, 10.0])
def test_every_classs_plans_start_today_and_keep_within_bounds(years):
    for item_class in TRADE.classes.values():
        plans = look_plans(item_class, years)
        assert {plan.task.task for plan in plans} == {
            task.task for task in item_class.tasks if task.does in LOOKING
        }
        for plan in plans:
            assert plan.places[0] == 0
            assert 1 <= plan.looks <= MOST_PLANNED
            assert list(plan.places) == sorted(set(plan.places))
            assert plan.places[-1] < plan.grid


def test_a_plan_averts_what_planned_looks_say():
    age, years = 9.0, 1.0
    found = looked_at(parts_of([age]))
    task = plans_of("livewell_drain")[0].task
    miss = 1 - detection_nodes(task.detection_low, task.detection_high)
    times = np.array([age]), np.array([years])
    for column, ahead in enumerate(([0.0], [0.0, 0.5])):
        planned = PlannedLooks(np.array(ahead), np.array([[miss] * len(ahead)]))
        told = chance_with_planned_looks(times, None, planned, WINDOWS, MIDDLE.life)
        left = float((told.lets_go + told.renewed_lets_go)[0, 0, 0] / told.unplanned[0, 0])
        assert found.averted[0, column] == pytest.approx(1 - left, rel=1e-9)
    unseen, _ = open_beyond(*times, WINDOWS, MIDDLE.life, np.ones((1, 1)))
    assert found.seen[0] == pytest.approx(1 - float(unseen[0, 0] / told.unplanned[0, 0]), rel=1e-9)
    assert found.clean[0] == 1


def test_one_look_averts_about_its_detection_of_what_shows_today():
    found = looked_at(parts_of([6.0, 9.0, 12.0]))
    detection = mean_detection(plans_of("livewell_drain")[0].task)
    # A little less, for the part that is put in may let go too.
    assert (found.averted[:, 0] < detection * found.seen).all()
    assert found.averted[:, 0] == pytest.approx(detection * found.seen, rel=0.02)


def test_a_routine_averts_more_than_its_first_look_and_less_than_so_many():
    found = looked_at(parts_of([6.0, 9.0, 12.0]))
    once, often = found.averted.T
    assert (often > once).all()
    assert (often < 2 * once).all()


def test_an_unknown_age_is_the_mean_over_the_ages_it_may_be():
    found = looked_at(parts_of([0.0], cell=[0]))
    alone = looked_at(parts_of(AGES))
    times = AGES, np.ones(len(AGES))
    none = PlannedLooks(np.zeros(1), np.ones((1, 1, 1)))
    plain = chance_with_planned_looks(times, None, none, WINDOWS, MIDDLE.life).unplanned[:, 0]
    assert found.seen[0] == pytest.approx(plain @ alone.seen / plain.sum(), rel=1e-9)
    assert found.averted[0] == pytest.approx(plain @ alone.averted / plain.sum(), rel=1e-9)


def test_parts_of_all_sorts_together_are_each_alone():
    looks = Looks(np.array([[-np.inf], [-0.5], [-np.inf], [-0.2], [-np.inf]]), np.full((5, 1, 41), 0.4))
    parts = parts_of([9.0, 9.0, 0.0, 6.0, 0.0], [-1, -1, 0, -1, 0], looks, speeds=(1.0, 1.7))
    together = looked_at(parts)
    for n in range(5):
        only = Looks(looks.age[n : n + 1], looks.miss[n : n + 1])
        one = replace(
            parts_of(parts.age[n : n + 1], parts.cell[n : n + 1], only, speeds=(1.0, 1.7)),
            kind=parts.kind[n : n + 1],
        )
        alone = looked_at(one)
        assert together.seen[n] == pytest.approx(alone.seen[0], rel=1e-9)
        assert together.averted[n] == pytest.approx(alone.averted[0], rel=1e-9)
        assert together.clean[n] == pytest.approx(alone.clean[0], rel=1e-9)


def test_a_clean_look_lately_leaves_less_for_one_today():
    lately = Looks(np.array([[-0.05]]), np.zeros((1, 1, 41)))
    before, after = looked_at(parts_of([9.0])), looked_at(parts_of([9.0], looks=lately))
    assert after.seen[0] < 0.3 * before.seen[0]
    assert after.averted[0, 0] < 0.3 * before.averted[0, 0]
    assert 0 < after.clean[0] < 1


def test_a_trend_of_readings_draws_the_time_ahead_in_looks_and_all():
    drawn_in, plain = looked_at(parts_of([9.0], reach=2.0)), looked_at(parts_of([9.0]), years=2.0)
    assert drawn_in.seen == pytest.approx(plain.seen, rel=1e-9)
    assert drawn_in.averted[0, 0] == pytest.approx(plain.averted[0, 0], rel=1e-9)


def test_without_looks_in_the_trade_nothing_is_averted():
    found = by_looking((), parts_of([9.0, 3.0]), MIDDLE, np.ones(2))
    assert found.averted.shape == (2, 0)
    assert (found.seen > 0).all()


def test_a_fleet_too_many_for_one_run_is_worked_out_in_several():
    looks = Looks(np.full((600, 1), -0.5), np.full((600, 1, 41), 0.4))
    many = looked_at(parts_of(np.full(600, 9.0), looks=looks))
    one = looked_at(parts_of([9.0], looks=Looks(looks.age[:1], looks.miss[:1])))
    assert many.averted == pytest.approx(np.tile(one.averted, (600, 1)), rel=1e-12)


def test_demo_looks_avert_no_more_than_there_is_and_more_looks_no_less(demo):
    tasks = demo.tasks[demo.tasks["does"] != "renew"]
    once, often = (tasks[tasks["looks"] == 1], tasks[tasks["looks"] > 1])
    paired = often.merge(once, on=["item", "task"], suffixes=("", "_once"))
    assert len(paired) == len(often) > 50
    assert (paired["finds"] >= paired["finds_once"] - 1e-9).all()
    # The boat is lifted for each look that needs it, and each is paid for.
    assert paired["cost"].to_numpy() == pytest.approx(paired["looks"] * paired["cost_once"])
