"""Every printed sentence that rests on a condition stands on its page just when the condition holds.

Pages of a few small results whose frames are then changed: what is asked is the sentence, not the sum behind it.
"""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from riskmodel.plan import best_plan
from riskmodel.plan.season.calendar import BEFORE_USE, season_calendar
from riskmodel.plan.season.season import season_of
from riskmodel.plan.what_if import Difference
from riskmodel.report import season as season_words
from riskmodel.report.budget import budget_page
from riskmodel.report.exposure_more import PLACES, worked_out
from riskmodel.report.limits import (
    EXAMPLES,
    MIXED,
    NO_OTHER_PATH,
    NO_PATH,
    OWN,
    none_over,
    over_by,
    whose_limits,
)
from riskmodel.report.lives_taught import taught
from riskmodel.report.rank import NO_DEFECT, NOTHING_LEFT, rank_page
from riskmodel.report.season import left_out_of_months, season_page
from riskmodel.report.season_figure import LIGHT, foot
from riskmodel.report.season_parts import MOST_STATES, states_that_matter
from riskmodel.report.what_if import what_if_page
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY
from riskmodel.words import LEAST_SAID

HOSE = [
    {"item_class": "fuel_feed_hose", "installed_on": "2015-05-02", "position": "port"},
    {"item_class": "deck_bedding", "installed_on": "2024-05-02"},
    {"item_class": "bilge_pump", "installed_on": "2022-05-02"},
]
FOUND = [{"item_id": "I2", "date": "2026-05-20", "event": "tested", "finding": "failed"}]
ANY = [False, True]


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def small(assessed):
    return assessed(HOSE, boats=[{"core": "balsa"}])


@pytest.fixture(scope="module")
def defect(assessed):
    return assessed(HOSE, FOUND, boats=[{"core": "balsa"}])


@pytest.fixture(scope="module")
def season(fleet_of):
    return season_of(fleet_of(HOSE, boats=[{"core": "balsa"}]), "B1")


@pytest.fixture(scope="module")
def work(season):
    return season_calendar(season.result)


def made(result, **columns):
    """The result with other columns in its frame."""
    return replace(result, frame=result.frame.assign(**columns))


def learned_as(result, fleet=None, trade=None):
    """The result of another fleet's settings or periods, or of other tables."""
    learned = result.learned
    return replace(
        result, learned=replace(learned, fleet=fleet or learned.fleet, trade=trade or learned.trade)
    )


# rank


def listed(page, head, until="\n\nTHEN"):
    return page.split(head)[1].split(until)[0]


@pytest.mark.parametrize("group", [KNOWN_DEFECT, CAN_KILL, MONEY])
def test_known_defects_are_none_on_record_just_when_there_are_none(small, group):
    page = rank_page(made(small, group=group), 5)
    assert (NO_DEFECT in listed(page, "known defects, whatever their chance or price")) == (
        group != KNOWN_DEFECT
    )
    assert ("None is over" in page) == (group != CAN_KILL)
    assert ("Listed here when" in page) == (group == CAN_KILL)
    assert (NOTHING_LEFT in page) == (group != MONEY)


@pytest.mark.parametrize("chance", [0.0, 0.00005, 0.0002, 0.00029])
def test_an_empty_list_names_its_limit_and_what_is_nearest(small, chance):
    kills = np.where(small.frame["item_class"] == "fuel_feed_hose", chance, 0.0)
    said = flat(rank_page(made(small, group=MONEY, kill_probability=kills), 5))
    assert "None is over 3 in 10,000 (an example: settings.toml may say kill_limit)." in said
    assert ("The nearest: B1: fuel feed and return hose, port, " in said) == (chance > 0)
    assert (NO_PATH in said) == (chance == 0)
    assert ("port, about 2 in 10,000" in said) == (chance == 0.0002)
    assert ("port, under 1 in 10,000" in said) == (chance == 0.00005)
    assert ("port, just under it" in said) == (chance == 0.00029)


@pytest.mark.parametrize("with_defect", ANY)
def test_known_defects_are_set_apart_only_where_there_are_any(small, with_defect):
    group = np.where(small.frame["item_class"] == "bilge_pump", KNOWN_DEFECT if with_defect else MONEY, MONEY)
    frame = small.frame.assign(group=group, kill_probability=0.0, what="")
    said = none_over(frame, small)
    assert ("known defects apart" in said) == with_defect
    assert (NO_OTHER_PATH in said) == with_defect
    assert (NO_PATH in said) != with_defect


@pytest.mark.parametrize("kill", [None, 0.002])
@pytest.mark.parametrize("sinking", [None, 0.01])
def test_limits_are_called_examples_just_when_nobody_set_them(small, kill, sinking):
    settings = replace(small.fleet.settings, kill_limit=kill, sinking_limit=sinking)
    result = learned_as(small, replace(small.fleet, settings=settings))
    said = whose_limits(result)
    assert (said == EXAMPLES) == (kill is None and sinking is None)
    assert (said == OWN) == (kill is not None and sinking is not None)
    assert (said == MIXED.format(own="sinking")) == (kill is None and sinking is not None)
    assert (said == MIXED.format(own="danger to people")) == (kill is not None and sinking is None)


def test_an_organisations_own_table_of_limits_is_no_example(small):
    limits = {name: replace(each, meaning="our board's") for name, each in small.trade.limits.items()}
    assert whose_limits(learned_as(small, trade=replace(small.trade, limits=limits))) == OWN


@pytest.mark.parametrize("limit", [0.0003, 0.00025, 0.002, 0.00001, 0.05])
def test_a_limit_is_said_with_every_digit_and_what_is_over_it_never_reads_as_not(limit):
    said = over_by(limit * 1.02, limit, "then")
    number, base = (
        said.split("limit ")[1].removeprefix("of ").removeprefix("is ").split(" by")[0].split(" in ")
    )
    assert float(number) / float(base.replace(",", "")) == pytest.approx(limit, rel=1e-9)
    assert ("just over" in said) == (limit in (0.0003, 0.002))


def test_boats_of_one_name_are_still_several(assessed):
    boats = [{"vessel_id": name, "name": "Tern"} for name in ("B1", "B2")]
    result = assessed(
        [{"item_class": "deck_bedding", "vessel_id": name} for name in ("B1", "B2")], boats=boats
    )
    page = flat(rank_page(made(result, group=MONEY, task_cost=1.0, loss_averted=9.0), 5))
    assert "the first 2 tasks of the money list, more averted than spent, on 2 boats" in page


@pytest.mark.parametrize("averted", [0.5, 2.0])
def test_nothing_beyond_pays_just_when_no_task_does(small, averted):
    page = flat(rank_page(made(small, group=MONEY, task_cost=1.0, loss_averted=averted), 5))
    assert ("Beyond that no task averts more loss" in page) == (averted < 1.0)
    assert ("more averted than spent" in page) == (averted > 1.0)


@pytest.mark.parametrize("chance", [0.0, 0.00001])
def test_a_part_without_a_path_is_not_said_to_have_a_small_one(small, chance):
    frame = {"sinking_probability": chance, "kill_probability": chance, "overdue": True, "group": MONEY}
    row = next(
        line
        for line in rank_page(made(small, **frame), 5).split("RENEWAL AGE")[1].splitlines()
        if "edding" in line
    )
    assert ("<0.1" in row) == (chance > 0)


# season


@pytest.mark.parametrize("chance", [0.0, LEAST_SAID / 2, 0.4])
def test_an_end_state_without_a_column_is_called_rare_just_when_it_is(season, chance):
    states = season.result.trade.end_states
    totals = pd.DataFrame(
        [
            {"end_state": name, "label": each.label, "can_kill": name != "machinery_damage", "chance": 0.2}
            for name, each in states.items()
        ]
    ).set_index("end_state")
    totals.loc["machinery_damage", "chance"] = chance
    months = season.months[["start", "end"]].assign(**dict.fromkeys(states, 0.01))
    made_up = replace(season, totals=totals.reset_index(), months=months)
    said = " ".join(left_out_of_months(made_up))
    label = states["machinery_damage"].label
    # The others are more than there is room for, and each of them likely.
    assert len(states_that_matter(made_up)) == MOST_STATES
    assert "No room here" in said
    assert (label in said.split("No room here")[0]) == (0 < chance < LEAST_SAID)
    assert (label in said) == (chance > 0)


def test_every_end_state_that_may_happen_is_in_the_table_of_months_or_named_under_it(season):
    said = " ".join(left_out_of_months(season))
    totals = season.totals.set_index("end_state")
    for name in season.months.columns[2:]:
        if totals.loc[name, "chance"] > 0 and name not in ("injury", "nuisance"):
            assert (name in states_that_matter(season)) != (totals.loc[name, "label"] in said)


@pytest.mark.parametrize("whose", [None, "B1", "B2"])
def test_no_periods_are_said_to_be_given_just_when_this_boat_has_none(season, work, whose):
    row = {"vessel_id": whose, "from": "11-01", "to": "03-31", "state": "ashore"}
    periods = pd.DataFrame([row] if whose else [], columns=list(row))
    fleet = replace(season.result.fleet, periods=periods)
    page = season_page(replace(season, result=learned_as(season.result, fleet)), work, 3)
    assert ("No periods are given" in page) == (whose != "B1")


@pytest.mark.parametrize("assumed", ANY)
def test_parts_are_called_listed_just_when_somebody_listed_them(season, work, assumed):
    page = flat(season_page(replace(season, result=made(season.result, assumed=assumed)), work, 3))
    assert ("The parts listed are counted" in page) != assumed
    assert ("The parts assumed are counted" in page) == assumed
    assert ("a typical outfit is assumed" in page) == assumed


@pytest.mark.parametrize("known", ["none", "one", "all"])
def test_what_presses_beside_defects_is_named_just_when_something_does(season, work, known):
    tasks = work.tasks.head(2).assign(group=BEFORE_USE, item_id=["I0", "I1"])
    held = {"none": [], "one": ["I0"], "all": ["I0", "I1"]}[known]
    group = np.where(season.result.frame["item_id"].isin(held), KNOWN_DEFECT, MONEY)
    made_up = replace(season, result=made(season.result, group=group))
    page = flat(season_page(made_up, replace(work, tasks=tasks), 3).split("WHAT MAY HAPPEN")[0])
    assert (season_words.NO_DEFECT in page) == (known == "none")
    assert (season_words.AS_PRESSING in page) == (known != "all")


@pytest.mark.parametrize("used", ANY)
def test_months_out_of_season_are_explained_just_when_there_are_any(season, work, used):
    first = work.dates.today if used else datetime.date(2030, 1, 1)
    dates = replace(work.dates, first_trip=first, starts=(), ends=())
    page = season_page(season, replace(work, dates=dates), 3)
    assert ("* begins out of season." in page) != used
    assert (LIGHT in foot(season, replace(work, dates=dates))) != used
    assert "{" not in foot(season, work)


# budget


@pytest.mark.parametrize("found", ["small", "defect"])
def test_a_plan_speaks_of_defects_put_right_just_when_there_are_any(request, found):
    result = request.getfixturevalue(found)
    settings = replace(result.fleet.settings, sinking_limit=0.9, kill_limit=0.9)
    result = replace(learned_as(result, replace(result.fleet, settings=settings)), limit=0.9)
    result = made(result, group=result.frame["group"].replace(CAN_KILL, MONEY))
    page = flat(budget_page(best_plan(result, 5000), 5))
    defects = (result.frame["group"] == KNOWN_DEFECT).any()
    assert defects == (found == "defect")
    assert ("is over its limit once the known defects are put right." in page) == defects
    assert ("No part and no boat is over its limit." in page) != defects
    assert ("paid first whatever the amount None on record." in page) != defects
    assert "The nearest: B1: fuel feed and return hose" in page


# what if


@pytest.mark.parametrize(("before", "after"), [(0, 0), (1, 0), (1, 1)])
def test_defects_are_left_by_a_change_only_where_there_were_any(small, defect, before, after):
    difference = Difference(*((small, defect)[each] for each in (before, after)), ("nothing",), (), 0.0)
    page = flat(what_if_page(difference, 5))
    assert ("No known defect is on record." in page) == (before == 0)
    assert ("No known defect is left by it." in page) == (before > after)
    assert ("1 known defect still to be put right" in page) == (after == 1)


# lives and exposure


@pytest.mark.parametrize("failures", [0.0, 0.4, 1.0, 7.0])
def test_the_trades_reading_stands_just_when_no_failure_is_on_record(small, failures):
    pooled = replace(small.lives.pooled, failures=failures)
    said = flat(" ".join(taught(replace(small.lives, pooled=pooled), small.trade)))
    assert ("No failure is on record" in said) == (failures == 0)
    assert ("from 0.4 recorded failures" in said) == (failures == 0.4)
    assert ("from 1 recorded failure," in said) == (failures == 1)


@pytest.mark.parametrize("spells", [None, "some"])
def test_places_are_in_the_year_just_when_boats_lie_together(spells):
    answer = SimpleNamespace(exposure=SimpleNamespace(spells=spells))
    assert (PLACES in worked_out(answer)) == (spells is not None)
