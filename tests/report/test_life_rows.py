"""Each life beside the row it became: dates as recorded, ages as fitted, endings in words, 80 columns."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.report.life_rows import ENDINGS, rows_frame, rows_page
from riskmodel.risk.lives import learn_lives
from riskmodel.trade import load_trade

TRADE = load_trade()
WHERE = ("boats", "2026-06-01", "2026-11-01")
BELLOWS = {"item_class": "bellows_drive", "installed_on": "2016-05-01"}
BOATS = ({"records_from": "2016-01-01"},)
SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}
COLUMNS = [
    *("item_id", "item_class", "life", "made_from", "made_to", "installed_from", "installed_to"),
    *("ended_from", "ended_to", "recorded", "entry", "lower", "upper", "count", "pace"),
]


def record(date, event, finding="", reason=""):
    return {"item_id": "I0", "date": date, "event": event, "finding": finding, "reason": reason}


@pytest.fixture(scope="module")
def rows(fleet_of):
    def run(*records, items=(BELLOWS,), boats=BOATS):
        return rows_frame(learn_lives(fleet_of(items, [SEEN, *records], boats), TRADE))

    return run


def only(frame):
    assert len(frame) == 1
    return frame.iloc[0]


def page(frame):
    return " ".join(rows_page(frame, WHERE).split())


def recorded(frame):
    """The column of words, as it wraps."""
    lines = rows_page(frame, WHERE).split("\n\n")[1].splitlines()
    start, end = (lines[1].index(head) for head in ("As recorded", "from age"))
    return " ".join(" ".join(line[start:end] for line in lines[3:]).split())


def test_a_failure_stands_beside_its_age(rows):
    frame = rows(record("2022-05-01", "failed", "failed"))
    row = only(frame)
    assert row["recorded"] == "failed in service"
    assert (row["installed_from"], row["installed_to"]) == ("2016-05-01", "2016-05-01")
    assert (row["made_from"], row["made_to"]) == ("", "")
    assert row["lower"] == row["upper"] == pytest.approx(6.0, abs=0.01)
    assert page(frame).count(" 6.00 1") == 1


def test_a_survivor_has_no_upper_age(rows):
    frame = rows()
    row = only(frame)
    assert row["recorded"] == "in service, last known whole"
    assert np.isnan(row["upper"])
    assert (row["ended_from"], row["ended_to"]) == ("", "")
    assert "> 10.0" in page(frame)


@pytest.mark.parametrize(
    ("records", "ending"),
    [
        ([record("2022-05-01", "failed", "failed")], "failed"),
        ([record("2022-05-01", "inspected", "failed")], "found_failed"),
        ([record("2022-05-01", "replaced", reason="condition")], "condition"),
        ([record("2022-05-01", "replaced", reason="scheduled")], "scheduled"),
        ([record("2022-05-01", "replaced")], "unknown"),
    ],
)
def test_every_ending_is_said_in_words(rows, records, ending):
    frame = rows(*records)
    assert ENDINGS[ending] in frame["recorded"].tolist()
    assert ENDINGS[ending] in recorded(frame)


def test_a_renewed_part_is_two_lives_numbered_from_the_first_known(rows):
    frame = rows(record("2022-05-01", "replaced", reason="scheduled"))
    assert frame["life"].tolist() == [1, 2]
    assert frame["ended_to"].tolist() == ["2022-05-01", ""]
    assert frame["installed_to"].tolist() == ["2016-05-01", "2022-05-01"]
    assert "put in 2022-05-01; in service" in recorded(frame)
    assert "I0 (1)" in page(frame)


def test_a_part_that_needs_work_is_not_said_to_be_whole(rows):
    row = only(rows(record("2026-05-01", "inspected", "failing")))
    assert row["recorded"] == "in service, found needing work"
    assert row["upper"] > row["lower"]


def test_a_loose_date_is_shown_as_a_window_and_an_unknown_one_as_unknown(rows):
    loose = rows(items=[BELLOWS | {"installed_on": "2016"}])
    assert set(loose["installed_from"]) == {"2016-01-01"}
    assert "put in 2016-01-01 to 2016-12-31" in recorded(loose)
    unknown = rows(items=[{"item_class": "bellows_drive"}])
    assert unknown["count"].sum() == pytest.approx(1.0)
    assert "put in at a day unknown" in recorded(unknown)


def test_rubber_shows_its_making_beside_the_day_it_was_put_in(rows):
    frame = rows(items=[BELLOWS | {"installed_on": "2020-05-01", "made_on": "2018-05-01"}])
    row = only(frame)
    assert (row["made_to"], row["installed_to"]) == ("2018-05-01", "2020-05-01")
    assert row["entry"] == pytest.approx(2.0, abs=0.01)
    assert "made 2018-05-01, put in 2020-05-01; in service" in recorded(frame)


def test_the_frame_has_its_columns_with_or_without_rows(rows, fleet_of):
    assert rows().columns.tolist() == COLUMNS
    nothing = rows_frame(learn_lives(fleet_of([BELLOWS]), TRADE))
    assert nothing.columns.tolist() == COLUMNS
    assert page(nothing).endswith("No record has watched such a life yet.")


def test_pace_is_what_surroundings_make_of_the_years(assessed):
    warm = ({"climate": "tropical", "records_from": "2016-01-01"},)
    found = assessed([BELLOWS], [SEEN], warm)
    frame, lives = rows_frame(found.lives), found.lives
    speed = lives.ageing.speed("bellows_drive")[lives.ageing.kind["B1"]]
    assert speed != 1.0
    assert frame["pace"].tolist() == pytest.approx([speed])


def test_a_life_that_may_have_ended_at_once_has_its_pace_all_the_same(assessed):
    warm = ({"climate": "tropical", "records_from": "2016-01-01"},)
    found = assessed([BELLOWS], [SEEN, record("2022-05-01", "inspected", "failed")], warm)
    row = only(rows_frame(found.lives))
    assert row["lower"] == 0
    assert row["pace"] == pytest.approx(found.lives.ageing.speed("bellows_drive")[0])


def test_one_class_is_the_same_rows_as_in_the_whole(demo):
    whole, some = rows_frame(demo.lives), rows_frame(demo.lives, "hose_clamps")
    assert set(some["item_class"]) == {"hose_clamps"}
    mine = whole[whole["item_class"] == "hose_clamps"].reset_index(drop=True)
    pd.testing.assert_frame_equal(some, mine)
    assert rows_frame(demo.lives, "no_such_class").empty


def test_the_demos_rows_are_those_of_the_fit(demo):
    frame, fitted = rows_frame(demo.lives), demo.lives.history.rows
    assert len(frame) == len(fitted)
    assert frame["lower"].tolist() == fitted["lower"].tolist()
    assert frame["count"].sum() == pytest.approx(fitted["count"].sum())
    assert np.isfinite(frame["pace"]).all()
    assert (frame["pace"] > 0).all()
    assert (frame["life"] >= 1).all()
    assert (frame["recorded"].notna() & (frame["recorded"] != "")).all()


def test_the_demos_page_keeps_to_eighty_columns(demo):
    assert max(len(line) for line in rows_page(rows_frame(demo.lives), WHERE).splitlines()) <= 80


def test_many_like_parts_are_counted_in_plain_figures(rows):
    frame = rows(items=[{"item_class": "hose_clamps", "installed_on": "2016-05-01", "quantity": 240}])
    assert "240" in page(frame)
    assert "e+" not in page(frame)
