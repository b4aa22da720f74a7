"""Lives as a frame and as a page: prior and posterior, conflicts, and the other reading of unwritten reasons."""

import math

import pytest

from riskmodel.report.lives import class_page, lives_frame, lives_page, unknown_class

WHERE = ("A fleet", "2026-11-02", "2027-11-15")


@pytest.fixture(scope="module")
def frame(demo):
    return lives_frame(demo.lives, demo.trade).set_index("item_class")


def test_there_is_a_row_for_every_class_in_order_of_name(demo, frame):
    assert frame.index.tolist() == sorted(demo.lives.posterior)


def test_the_frame_says_what_the_lives_say(demo, frame):
    now = demo.lives.posterior["bellows_drive"]
    row = frame.loc["bellows_drive"]
    quantile = now.quantile([0.1, 0.5])
    assert row["age_10"] == float(quantile.age[0])
    assert row["age_50"] == float(quantile.age[1])
    assert (row["failures"], row["survivors"]) == (now.rows.failures, now.rows.survivors)
    assert row["shape"] == now.mode[0]


def test_ages_stand_in_order(frame):
    for name in ("prior_age_10", "age_10", "age_50"):
        assert (frame[f"{name}_low"] <= frame[name]).all() if f"{name}_low" in frame else True
        assert (frame[f"{name}_high"] >= frame[name]).all() if f"{name}_high" in frame else True
    assert (frame["age_10"] < frame["age_50"]).all()
    assert (frame["trade_low"] <= frame["trade_high"]).all()


def test_unwritten_reasons_read_as_failures_shorten_a_life(demo, frame):
    both = frame[frame["age_10_if_failed"].notna()]
    assert len(both) > 0
    assert (both["age_10_if_failed"] < both["age_10"]).all()
    rows = demo.lives.history.rows
    assert set(both.index) == set(rows.loc[rows["ending"] == "unknown", "item_class"])


def test_the_prior_is_worth_few_failures(frame):
    # judgement: most intervals weigh as much as one or two failures, a lone one of a random part up to 25
    assert frame["prior_worth"].median() < 2
    assert frame["prior_worth"].between(0.05, 25.001).all()


def test_the_page_warns_against_stretching_an_interval(demo):
    page = " ".join(lives_page(demo.lives, demo.trade, WHERE, demo.notes).split())
    assert "A longer life here is never a reason to stretch the maker's or the trade's renewal age." in page
    assert "Note: 1 boat sold" in page


def test_one_class_is_told_with_its_sources_and_both_expectations(demo):
    page = " ".join(class_page("bellows_drive", demo.lives, demo.trade, WHERE).split())
    assert page.index("Before records:") < page.index("After records:")
    assert "published" in page
    assert "The prior is worth" in page
    assert "not a survey" in page


def test_a_class_that_is_not_there_is_named_with_its_nearest():
    assert unknown_class("bilge_pmp", {"bilge_pump": 1}) == (
        "item class bilge_pmp is not in this fleet; the nearest is bilge_pump"
    )
    assert unknown_class("kite", {"bilge_pump": 1}) == "item class kite is not in this fleet"


def test_records_that_contradict_the_trade_are_flagged(assessed):
    items = [
        {"item_id": f"H{n}", "item_class": "raw_water_hose", "installed_on": "2016-01-01"} for n in range(60)
    ]
    failed = [
        {"item_id": f"H{n}", "date": f"2016-0{1 + n % 9}-2{n % 9}", "event": "failed", "finding": "failed"}
        for n in range(60)
    ]
    result = assessed(items, failed, boats=[{"records_from": "2016-01-01"}])
    page = " ".join(lives_page(result.lives, result.trade, WHERE, ()).split())
    assert bool(lives_frame(result.lives, result.trade)["conflict"].iloc[0])
    assert "records and trade interval disagree" in page
    assert math.isfinite(result.frame["failure_probability"].max())
