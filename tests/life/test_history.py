"""What each thing a record says makes of a life: the table of the methods, row by row."""

import datetime

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.looks import mean_window

PRIOR = WeibullPrior.from_interval(5)
BELLOWS = "B,Wren,bellows_drive,2014-05-01"
SWITCH = "S,Wren,float_switch,2014-05-01"


def years(first, last):
    """Years between two dates written as text."""
    day = datetime.date.fromisoformat
    return (day(last) - day(first)).days / 365.25


def only(told):
    assert len(told.rows) == 1
    return told.rows.iloc[0]


def assert_row(told, lower, upper, entry=0.0, start="2014-05-01"):
    """The one row runs from ``lower`` to ``upper`` (dates; None: not failed) for a part fitted on ``start``."""
    row = only(told)
    assert row["lower"] == pytest.approx(years(start, lower), abs=2e-3)
    assert row["upper"] == (np.inf if upper is None else pytest.approx(years(start, upper), abs=2e-3))
    assert row["entry"] == pytest.approx(entry, abs=2e-3)
    assert row["count"] == 1


def test_failed_on_a_day_is_exact(history):
    told = history([BELLOWS], ["B,,2020-07-10,failed"])
    assert_row(told, "2020-07-10", "2020-07-10")
    assert only(told)["lower"] == only(told)["upper"]


def test_failed_in_a_year_is_an_interval_as_wide_as_the_year(history):
    assert_row(history([BELLOWS], ["B,,2020,failed"]), "2020-01-01", "2020-12-31")


def test_found_failed_lies_between_the_last_clean_look_and_the_finding(history):
    told = history([BELLOWS], ["B,,2018-04-01,inspected,sound", "B,,2020-04-01,inspected,failed"])
    assert_row(told, "2018-04-01", "2020-04-01")


def test_found_failed_at_the_first_look_may_have_been_so_since_it_was_fitted(history):
    assert_row(history([BELLOWS], ["B,,2020-04-01,inspected,failed"]), "2014-05-01", "2020-04-01")
    assert_row(history([SWITCH], ["S,,2020-04-01,tested,failed"]), "2014-05-01", "2020-04-01")


def test_replaced_because_it_looked_bad_would_have_let_go_within_the_warning_time(history, trade):
    told = history([BELLOWS.replace("2014-05-01", "2019-05-01")], CONDITION)
    row = told.rows[told.rows["ending"] == "condition"].iloc[0]
    bellows = trade.classes["bellows_drive"]
    warning = mean_window(bellows.warning_low_months, bellows.warning_high_months) / 12
    assert 0.25 < warning < 1.5
    assert row["upper"] - row["lower"] == pytest.approx(warning)
    assert row["lower"] == pytest.approx(years("2014-05-01", "2019-05-01"), abs=2e-3)


CONDITION = ["B,,2014-05-01,replaced,,scheduled", "B,,2019-05-01,replaced,failing,condition"]


def test_coding_a_bad_look_as_a_survivor_gives_a_longer_life():
    right = fit_life(LifeRows([5], [6.5], count=[10]), PRIOR)
    wrong = fit_life(LifeRows([5], [np.inf], count=[10]), PRIOR)
    assert wrong.quantile(0.1).age > 1.5 * right.quantile(0.1).age
    assert wrong.failure_probability(5, 1) < right.failure_probability(5, 1) / 3


@pytest.mark.parametrize("reason", ["scheduled", "with_vessel"])
def test_replaced_on_schedule_or_with_its_boat_is_right_censored(history, reason):
    told = history(
        [BELLOWS.replace("2014", "2019")],
        [f"B,,2019-05-01,replaced,,{reason}", "B,,2014-05-01,replaced,,scheduled"],
    )
    row = told.rows[(told.rows["life"] == 1)].iloc[0]
    assert row["ending"] == "scheduled"
    assert (row["lower"], row["upper"]) == (
        pytest.approx(years("2014-05-01", "2019-05-01"), abs=2e-3),
        np.inf,
    )


def test_a_part_in_service_is_whole_until_somebody_last_saw_it(history):
    assert_row(history([BELLOWS], ["B,,2022-04-01,inspected"]), "2022-04-01", None)


def test_a_part_in_service_is_whole_until_its_boat_was_last_used(history):
    told = history([BELLOWS], ["B,,2022-04-01,inspected", ",Wren,2024-05-01,launched"])
    assert_row(told, "2024-05-01", None)


def test_a_part_nobody_saw_again_tells_nothing(history):
    assert history([BELLOWS], [",Wren,2013-05-01,launched"]).rows.empty


def test_a_boat_sold_is_followed_to_the_sale(history):
    told = history([BELLOWS], ["B,,2018-04-01,inspected,sound", ",Wren,2021-09-01,sold"])
    assert_row(told, "2021-09-01", None)


def test_what_fails_unseen_is_whole_until_its_last_passed_test(history):
    records = ["S,,2019-04-01,tested,sound", "S,,2023-04-01,inspected", ",Wren,2025-05-01,launched"]
    assert_row(history([SWITCH], records), "2019-04-01", None)


def test_what_fails_unseen_and_was_never_tested_tells_nothing(history):
    assert history([SWITCH], [",Wren,2025-05-01,launched"]).rows.empty


def test_a_renewal_without_a_reason_is_read_both_ways_and_counted(history):
    records = ["B,,2014-05-01,installed", "B,,2017-05-01,inspected,sound", "B,,2019-05-01,replaced"]
    told = history([BELLOWS.replace("2014", "2019")], records)
    sound, failed = told.of_class("bellows_drive"), told.of_class_read_as_failed("bellows_drive")
    age, look = years("2014-05-01", "2019-05-01"), years("2014-05-01", "2017-05-01")
    assert (sound.lower.item(), sound.upper.item()) == (pytest.approx(age, abs=2e-3), np.inf)
    assert failed.lower.item() == pytest.approx(look, abs=2e-3)
    assert failed.upper.item() == pytest.approx(age, abs=2e-3)
    assert [note for note in told.notes if "1 renewal without a written reason" in note]


def test_the_two_readings_agree_where_every_reason_is_written(history):
    told = history([BELLOWS], ["B,,2020-07-10,failed"])
    assert told.of_class("bellows_drive").upper == pytest.approx(
        told.of_class_read_as_failed("bellows_drive").upper
    )
    assert told.notes == ()


def test_a_part_there_before_the_records_enters_at_its_age_then(history):
    told = history(["B,Wren,bellows_drive,2008-05-01"], ["B,,2020-07-10,failed"])
    assert_row(told, "2020-07-10", "2020-07-10", years("2008-05-01", "2012-01-01"), "2008-05-01")


def test_records_begin_with_the_earliest_where_nobody_says(history):
    told = history(
        ["B,Wren,bellows_drive,2008-05-01"],
        [",Wren,2016-04-01,launched", "B,,2020-07-10,failed"],
        "vessel_id,propulsion,value,built_year\nWren,sterndrive,30000,2005\n",
    )
    assert only(told)["entry"] == pytest.approx(years("2008-05-01", "2016-04-01"), abs=2e-3)


def test_a_boat_without_records_tells_nothing(history):
    told = history([BELLOWS], [], "vessel_id,propulsion,value,built_year\nWren,sterndrive,30000,2005\n")
    assert told.rows.empty
    assert len(told.spans) == 1


def test_a_failure_on_the_day_the_records_begin_is_left_out_and_counted(history):
    told = history(["B,Wren,bellows_drive,2008-05-01"], ["B,,2012-01-01,failed"])
    assert told.rows.empty
    assert len(told.notes) == 1
    assert told.notes[0].startswith("1 failure on or before the day the boat's records begin")


def test_a_failure_on_the_day_of_fitting_is_that_of_the_part_taken_out(history):
    told = history([BELLOWS], ["B,,2014-05-01,failed"])
    assert set(told.rows["life"]) == {0}
    assert told.rows["count"].sum() == pytest.approx(1)
    assert told.rows["lower"].min() > 2


def test_a_part_that_failed_before_it_can_have_been_fitted_has_an_age_under_a_day(history):
    # Fitted some day in May, failed on the fourth: the middle of the month lies after the failure.
    row = only(history(["B,Wren,bellows_drive,2014-05"], ["B,,2014-05-04,failed"]))
    assert 0 <= row["lower"] < row["upper"] == pytest.approx(1 / 365.25)


def test_a_month_of_fitting_is_taken_at_its_middle(history):
    told = history(["B,Wren,bellows_drive,2014-05"], ["B,,2020-07-10,failed"])
    assert only(told)["lower"] == pytest.approx(years("2014-05-16", "2020-07-10"), abs=3e-3)
    assert not only(told)["age_unknown"]


def test_a_year_of_fitting_is_spread_over_the_year(history):
    rows = history(["B,Wren,bellows_drive,2014"], ["B,,2020-07-10,failed"]).rows
    assert rows["count"].sum() == pytest.approx(1)
    assert len(rows) > 3
    assert rows["age_unknown"].all()
    assert (
        rows["lower"]
        .between(years("2014-12-31", "2020-07-10") - 0.06, years("2014-01-01", "2020-07-10") + 0.06)
        .all()
    )


def test_a_part_of_unknown_age_is_spread_and_never_dropped(history):
    rows = history(["B,Wren,bellows_drive,"], ["B,,2020-07-10,failed"]).rows
    assert rows["count"].sum() == pytest.approx(1)
    assert rows["lower"].min() >= years("2012-01-01", "2020-07-10") - 0.06
    assert rows["lower"].max() <= years("2005-01-01", "2020-07-10") + 0.06
    watched = years("2012-01-01", "2020-07-10")
    assert (rows["lower"] - rows["entry"]).to_numpy() == pytest.approx(watched)


def test_a_predecessor_of_unknown_age_is_spread_with_shares_that_add_to_one(history):
    told = history(["B,Wren,bellows_drive,2016-05-01"], ["B,,2016-05-01,replaced,,failure"])
    first = told.rows[told.rows["life"] == 0]
    assert first["count"].sum() == pytest.approx(1)
    assert len(first) > 3
    assert (first["ending"] == "found_failed").all()


def test_one_of_many_that_fails_leaves_the_others_whole(history):
    told = history(["C,Wren,hose_clamps,2014-05-01,,,60"], ["C,,2020-07-10,failed"])
    rows = told.of_class("hose_clamps")
    assert (rows.failures, rows.survivors) == (1, 59)
    assert rows.lower == pytest.approx(years("2014-05-01", "2020-07-10"), abs=2e-3)


def test_many_in_service_count_as_so_many(history):
    rows = history(["C,Wren,hose_clamps,2014-05-01,,,60"], ["C,,2022-07-10,inspected,sound"]).of_class(
        "hose_clamps"
    )
    assert (rows.failures, rows.survivors) == (0, 60)


def test_a_class_without_rows_is_no_rows(history):
    assert len(history([BELLOWS], ["B,,2020-07-10,failed"]).of_class("float_switch")) == 0


def positions(seed, number=300, boat_years=25.0, window=5.0, shape=2.5, scale=12.3):
    """Lives in service in the last ``window`` years of ``number`` positions, renewed whenever they fail."""
    rng, rows = np.random.default_rng(seed), []
    for _ in range(number):
        start = 0.0
        while start < boat_years:
            end = start + scale * rng.weibull(shape)
            if end > boat_years - window:
                rows.append((start, end))
            start = end
    start, end = np.array(rows).T
    lower = np.minimum(end, boat_years) - start
    return lower, np.where(end <= boat_years, lower, np.inf), np.maximum(boat_years - window - start, 0)


def test_survivors_entered_at_nought_make_lives_look_endless_and_entered_at_the_window_do_not():
    # Closed form: shape 2.5 and scale 12.3 give a chance of 0.110 in the ninth year. Mean of twenty fleets.
    ours, naive = [], []
    for seed in range(20):
        lower, upper, entry = positions(seed)
        ours.append(fit_life(LifeRows(lower, upper, entry), PRIOR).failure_probability(8, 1))
        naive.append(fit_life(LifeRows(lower, upper), PRIOR).failure_probability(8, 1))
    assert np.mean(ours) == pytest.approx(0.110, abs=0.005)
    assert np.mean(naive) < 0.065
    assert max(naive) < min(ours)


def test_present_parts_alone_entered_at_nought_hide_nearly_all_failures():
    lower, upper, _ = positions(3)
    present = np.isinf(upper)
    naive = fit_life(LifeRows(lower[present], upper[present]), PRIOR)
    assert naive.failure_probability(8, 1) < 0.05
