"""The whole job: its frame, what may not change its answer, and how far it can look."""

import datetime
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.exposure.book import book_of
from riskmodel.risk import assess, given_horizon, months_ahead
from riskmodel.risk.redrawn import BANDS

COLUMNS = [
    *("item_id", "vessel_id", "item_class", "position", "age_years", "hours", "failure_probability"),
    *("failure_low", "failure_high", "sinking_probability", "fire_probability", "expected_loss", "loss_low"),
    *("loss_high", "severity", "best_task", "task_cost", "loss_averted", "averted_per_cost", "rank"),
    *("rank_low", "rank_high", "top_probability", "why"),
]
CHANCES = [
    *("failure_probability", "failure_low", "failure_high", "sinking_probability", "fire_probability"),
    *("kill_probability", "top_probability"),
]
DAY = datetime.date(2026, 6, 1)


def by_item(result):
    return result.frame.set_index("item_id").sort_index()


def shuffled(frame, seed):
    return frame.sample(frac=1, random_state=seed).reset_index(drop=True)


def in_another_order(fleet, seed):
    """The same fleet with boats, parts and records each in an order of its own."""
    names = ("vessels", "items", "records")
    frames = {name: shuffled(getattr(fleet, name), seed) for name in names}
    return replace(fleet, **frames, given={name: shuffled(fleet.given[name], seed) for name in names})


def assert_same(one, other):
    for column in one.columns:
        if pd.api.types.is_float_dtype(one[column]):
            np.testing.assert_allclose(one[column], other[column], rtol=1e-10, atol=1e-12, err_msg=column)
        else:
            assert one[column].tolist() == other[column].tolist(), column


def test_the_frame_holds_the_glossarys_columns(demo):
    assert [column for column in demo.frame.columns if column in COLUMNS] == COLUMNS


def test_the_frame_has_one_row_a_part_still_owned(demo, demo_fleet):
    listed = demo_fleet.items[demo_fleet.items["vessel_id"] != "L24"]
    assert set(listed["item_id"]) == set(demo.frame.loc[~demo.frame["assumed"], "item_id"])
    assert demo.frame["item_id"].is_unique


@pytest.mark.parametrize("column", CHANCES)
def test_chances_lie_between_nought_and_one(demo, column):
    assert demo[column].between(0, 1).all()


def test_every_part_can_let_go(demo):
    assert (demo["failure_probability"] > 0).all()


@pytest.mark.parametrize("name", ["failure", "loss"])
def test_bands_hold_their_means_ends_in_order(demo, name):
    mean = demo["failure_probability" if name == "failure" else "expected_loss"]
    assert (demo[f"{name}_low"] <= demo[f"{name}_high"]).all()
    inside = (demo[f"{name}_low"] <= mean + 1e-12) & (mean <= demo[f"{name}_high"] + 1e-12)
    # A mean can leave its own 90 % band when the draws are very lopsided, but hardly ever does.
    assert inside.mean() > 0.99


def test_money_is_finite_and_not_negative(demo):
    for column in ("expected_loss", "loss_low", "loss_high", "task_cost", "loss_averted", "averted_per_cost"):
        assert np.isfinite(demo[column]).all(), column
        assert (demo[column] >= 0).all(), column


def test_no_task_averts_more_than_the_loss_unless_it_restores_a_barrier(demo):
    barriers = {name for barrier in demo.trade.barriers for name in barrier.needs}
    plain = demo.frame[~demo.frame["item_class"].isin(barriers)]
    assert (plain["loss_averted"] <= plain["expected_loss"] * (1 + 1e-9)).all()


def test_the_order_of_rows_changes_nothing_on_the_demo(demo, demo_fleet):
    assert_same(by_item(demo), by_item(assess(in_another_order(demo_fleet, 5))))


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_changes_nothing(two_boats, fleet_of, seed):
    fleet = fleet_of(**two_boats)
    assert_same(by_item(assess(fleet)), by_item(assess(in_another_order(fleet, seed))))


def test_equal_parts_rank_by_their_ids_and_not_by_their_rows(fleet_of):
    items = [{"item_id": name, "item_class": "deck_bedding", "installed_on": "2015"} for name in "CABD"]
    assert assess(fleet_of(items))["item_id"].tolist() == list("ABCD")


def test_the_same_question_has_the_same_answer(two_boats, fleet_of):
    fleet = fleet_of(**two_boats)
    pd.testing.assert_frame_equal(assess(fleet).frame, assess(fleet).frame, check_exact=True)


def test_assessing_changes_nothing_in_the_fleet(two_boats, fleet_of):
    fleet = fleet_of(**two_boats)
    before = {name: getattr(fleet, name).copy() for name in ("vessels", "items", "records")}
    assess(fleet)
    for name, frame in before.items():
        pd.testing.assert_frame_equal(getattr(fleet, name), frame)


@pytest.mark.parametrize("seed", [2, 3])
def test_the_seed_moves_bands_and_ranks_over_draws_and_nothing_else(two_boats, fleet_of, seed):
    fleet = fleet_of(**two_boats)
    one, other = by_item(assess(fleet, seed=1)), by_item(assess(fleet, seed=seed))
    assert_same(one.drop(columns=list(BANDS)), other.drop(columns=list(BANDS)))
    for name in ("failure_low", "loss_low", "loss_high", "rank_expected"):
        assert (one[name] != other[name]).any()
    # Another set of draws, and no other beliefs.
    np.testing.assert_allclose(one["loss_high"], other["loss_high"], rtol=0.5, atol=0.01)


def test_what_means_are_off_by_for_their_draws_being_so_few(two_boats, fleet_of):
    fleet = fleet_of(**two_boats)
    results = [assess(fleet, seed=seed) for seed in (2, 3)]
    one, other = (by_item(result.redrawn) for result in results)
    hours = one["item_class"].isin(results[0].lives.clocks)
    records = results[0].fleet.records
    looked = one.index.isin(records.loc[records["finding"].isin(["sound", "suspect"]), "item_id"])
    sure = (one["defect"] == "") & ~hours & ~looked
    assert sure.sum() >= 3
    np.testing.assert_allclose(
        one.loc[sure, "failure_probability"], other.loc[sure, "failure_probability"], rtol=1e-9
    )
    # What looks and running hours change is told by the draws: a few per cent of itself at most.
    rest = (one["defect"] == "") & ~sure
    np.testing.assert_allclose(
        one.loc[rest, "failure_probability"], other.loc[rest, "failure_probability"], rtol=0.05
    )
    # 160 draws leave a mean loss uncertain by some per cent, more where it hangs on three wide ranges.
    np.testing.assert_allclose(one["expected_loss"], other["expected_loss"], rtol=0.2)


def test_what_is_written_later_is_not_known_earlier(two_boats, fleet_of):
    later = {"item_id": "I0", "date": "2026-05-30", "event": "inspected", "finding": "failing"}
    day = datetime.date(2026, 5, 1)
    plain = two_boats | {"records": [each for each in two_boats["records"] if each["date"] < "2026-05-01"]}
    known = by_item(assess(fleet_of(**plain, as_of=day)))
    told = by_item(assess(fleet_of(**(two_boats | {"records": [*plain["records"], later]}), as_of=day)))
    assert_same(known, told)


@pytest.mark.parametrize("column", ["failure_probability", "failure_low", "failure_high"])
def test_a_longer_horizon_never_lowers_a_parts_chance(horizons, column):
    for shorter, longer in pairwise(horizons):
        assert (longer[column] >= shorter[column] - 1e-12).all()


@pytest.mark.parametrize(
    "column", ["sinking_probability", "fire_probability", "kill_probability", "expected_loss"]
)
def test_a_longer_horizon_never_lowers_what_may_befall_a_boat(horizons, column):
    # By boat: a part's own share may fall when others become likelier, for a boat is lost once.
    totals = [frame.groupby("vessel_id")[column].sum() for frame in horizons]
    for shorter, longer in pairwise(totals):
        assert (longer >= shorter - 1e-12).all()


@pytest.mark.parametrize("name", ["shaft_packing", "deck_bedding", "float_switch", "rode_chain"])
def test_alone_on_its_boat_no_part_gets_safer_by_looking_further(fleet_of, name):
    fleet = fleet_of([{"item_class": name, "installed_on": "2012"}], boats=[{"propulsion": "sail_shaft"}])
    frames = [assess(fleet, until=months_ahead(DAY, months)).frame.iloc[0] for months in (1, 6, 24)]
    for column in ("failure_probability", "sinking_probability", "kill_probability", "expected_loss"):
        values = [frame[column] for frame in frames]
        assert values == sorted(values), column


@pytest.fixture(scope="module")
def horizons(demo_fleet):
    """The demo's frames, by item, over ever longer horizons."""
    day = demo_fleet.as_of
    return [by_item(assess(demo_fleet, until=months_ahead(day, months))) for months in (1, 12, 36)]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(kept=st.sets(st.integers(0, 8)))
def test_taking_records_away_never_breaks_it(two_boats, fleet_of, kept):
    fleet = fleet_of(**two_boats)
    some = fleet.records.iloc[sorted(kept)].reset_index(drop=True)
    frame = assess(replace(fleet, records=some)).frame
    assert len(frame) == len(two_boats["items"])
    assert frame["failure_probability"].between(0, 1).all()


def test_a_head_without_records_reads_like_no_records(two_boats, fleet_of):
    none = by_item(assess(fleet_of(**(two_boats | {"records": None}))))
    fleet = fleet_of(**two_boats)
    assert_same(none, by_item(assess(replace(fleet, records=fleet.records.iloc[:0]))))


def test_a_later_day_than_the_fleets_may_be_asked_and_ages_the_parts(two_boats, fleet_of):
    fleet = fleet_of(**two_boats)
    later = assess(fleet, as_of=datetime.date(2027, 6, 1), until=datetime.date(2028, 6, 1))
    assert later.horizon.as_of == datetime.date(2027, 6, 1)
    aged = by_item(later)["age_years"] - by_item(assess(fleet))["age_years"]
    assert aged.dropna().to_numpy() == pytest.approx(1.0, abs=0.01)


def test_a_day_before_the_fleets_is_refused(two_boats, fleet_of):
    with pytest.raises(
        ParameterError, match="as_of must not be before the day the fleet was read as of, 2026-06-01"
    ):
        assess(fleet_of(**two_boats), as_of=datetime.date(2026, 5, 31))


def test_a_horizon_of_an_earlier_day_is_refused(two_boats, fleet_of):
    with pytest.raises(ParameterError, match="as_of must not be before the day the fleet was read as of"):
        assess(fleet_of(**two_boats), until=months_ahead(datetime.date(2025, 1, 1), 12))


def test_a_day_and_a_horizon_that_disagree_are_refused(two_boats, fleet_of):
    horizon = given_horizon(DAY, datetime.date(2027, 1, 1))
    with pytest.raises(ParameterError, match="as_of must be the day the horizon starts from, 2026-06-01"):
        assess(fleet_of(**two_boats), as_of=datetime.date(2026, 7, 1), until=horizon)


def test_an_empty_horizon_is_refused(two_boats, fleet_of):
    with pytest.raises(ParameterError, match="until must lie after 2026-06-01, got 2026-06-01"):
        assess(fleet_of(**two_boats), until=DAY)


def test_a_sold_boat_teaches_and_is_not_ranked(demo):
    assert "L24" not in set(demo["vessel_id"])
    assert "L24" in set(demo.lives.history.rows["vessel_id"])
    assert any("sold: learned from, not ranked" in note for note in demo.notes)


def test_a_fleet_all_sold_has_a_frame_of_no_rows_and_a_book_of_none_is_refused(assessed):
    sale = {"vessel_id": "B1", "date": "2025-06-01", "event": "sold"}
    rows = [{"item_class": "bilge_pump", "installed_on": "2019"}]
    owned, sold = assessed(rows), assessed(rows, [sale])
    assert list(sold.frame.columns) == list(owned.frame.columns)
    assert (len(sold.frame), len(sold.tasks), sold.learned.sold, owned.learned.sold) == (0, 0, 1, 0)
    with pytest.raises(ParameterError, match="must hold a boat: every one of this fleet is sold"):
        book_of(sold)


def test_a_column_of_the_frame_can_be_asked_of_the_answer(demo):
    pd.testing.assert_series_equal(demo["rank"], demo.frame["rank"])


def test_severity_is_a_word_of_the_standard_or_says_that_it_does_not_apply(demo):
    # published: MIL-STD-882E, table I, the four words
    words = {"Catastrophic", "Critical", "Marginal", "Negligible", "does not apply"}
    assert set(demo["severity"]) <= words
    bellows = demo.frame[demo.frame["item_class"] == "bellows_drive"]
    # Losing the boat: by money critical from 2,000 and catastrophic from 20,000 in our tailoring.
    assert set(bellows["severity"]) <= {"Catastrophic", "Critical"}


def test_every_line_of_reasons_says_age_and_look(demo):
    assert demo["why"].str.contains("y old|age unknown").all()
    assert demo["why"].str.contains("last look|no look on record").all()
