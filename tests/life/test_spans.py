"""Records split into lives: where each begins, how each ends, and what was seen in it."""

import pandas as pd
import pytest

from riskmodel.life.spans import life_spans

BELLOWS = "B,Wren,bellows_drive,2019-05-01"


@pytest.fixture
def spans(fleet):
    def found(items, records=()):
        return life_spans(fleet(items, records)).sort_values(["item_id", "life"], ignore_index=True)

    return found


def test_a_part_without_records_has_one_life_in_service(spans):
    row = spans([BELLOWS]).iloc[0]
    assert row["ending"] == "in_service"
    assert row["start_after"] == row["start_by"] == pd.Timestamp("2019-05-01")
    assert pd.isna(row["end_by"])


def test_a_part_of_unknown_date_begins_at_no_time(spans):
    row = spans(["B,Wren,bellows_drive,"]).iloc[0]
    assert pd.isna(row["start_by"])
    assert row["ending"] == "in_service"


def test_a_renewal_ends_one_life_and_begins_the_next(spans):
    told = spans([BELLOWS], ["B,,2014-06-01,replaced,,scheduled", "B,,2019-05-01,replaced,,scheduled"])
    assert told["ending"].tolist() == ["scheduled", "scheduled", "in_service"]
    assert told["start_by"].tolist()[1:] == [pd.Timestamp("2014-06-01"), pd.Timestamp("2019-05-01")]
    assert told["end_by"].tolist()[:2] == [pd.Timestamp("2014-06-01"), pd.Timestamp("2019-05-01")]


def test_a_first_installation_is_no_life_before_it(spans):
    told = spans([BELLOWS], ["B,,2019-05-01,installed"])
    assert len(told) == 1
    assert told["ending"].item() == "in_service"


def test_the_items_date_that_the_records_tell_already_is_not_told_twice(spans):
    told = spans(["B,Wren,bellows_drive,2019"], ["B,,2019-05-01,replaced,,scheduled"])
    assert told["ending"].tolist() == ["scheduled", "in_service"]


ENDINGS = [
    (["B,,2018-07-01,failed", "B,,2018-07-05,replaced,,failure"], "failed"),
    (["B,,2018-07-01,inspected,failed", "B,,2018-07-05,replaced,,failure"], "found_failed"),
    (["B,,2018-07-05,replaced,,failure"], "found_failed"),
    (["B,,2018-07-05,replaced,failed"], "found_failed"),
    (["B,,2018-07-05,replaced,,condition"], "condition"),
    (["B,,2018-07-05,replaced,failing"], "condition"),
    (["B,,2018-04-01,inspected,failing", "B,,2018-07-05,replaced,,scheduled"], "condition"),
    (["B,,2018-07-05,replaced,,scheduled"], "scheduled"),
    (["B,,2018-07-05,replaced,,with_vessel"], "scheduled"),
    (["B,,2018-07-05,replaced,sound"], "scheduled"),
    (["B,,2018-07-05,replaced"], "unknown"),
]


@pytest.mark.parametrize(("records", "ending"), ENDINGS)
def test_the_plainest_evidence_says_how_a_life_ended(spans, records, ending):
    told = spans(["B,Wren,bellows_drive,2018-07-05"], ["B,,2014-05-01,installed", *records])
    ended = told[told["end_by"].notna()]
    assert ended["ending"].tolist()[-1] == ending


def test_a_failure_ends_its_life_on_its_own_day_and_not_on_that_of_the_repair(spans):
    told = spans(
        ["B,Wren,bellows_drive,2018-08-20"], ["B,,2018-07-01,failed", "B,,2018-08-20,replaced,,failure"]
    )
    assert told.loc[told["ending"] == "failed", "end_by"].item() == pd.Timestamp("2018-07-01")


def test_what_was_found_on_the_day_of_a_renewal_is_about_the_part_taken_out(spans):
    records = ["B,,2019-05-01,replaced,,condition", "B,,2019-05-01,inspected,failing"]
    told = spans([BELLOWS], records)
    assert told["ending"].tolist() == ["condition", "in_service"]
    assert told["found"].tolist()[0] == "failing"
    assert pd.isna(told["found"].tolist()[1])


def test_adjusting_ends_no_life_and_is_a_look(spans):
    told = spans([BELLOWS], ["B,,2021-05-01,adjusted,sound"])
    assert told["ending"].tolist() == ["in_service"]
    assert told["sound_on"].item() == told["seen_on"].item() == pd.Timestamp("2021-05-01")


def test_the_latest_finding_and_the_last_sound_look_are_kept_apart(spans):
    records = ["B,,2020-05-01,inspected,sound", "B,,2021-05-01,inspected,suspect", "B,,2022-05-01,inspected"]
    row = spans([BELLOWS], records).iloc[0]
    assert (row["found"], row["found_on"]) == ("suspect", pd.Timestamp("2021-05-01"))
    assert row["sound_on"] == pd.Timestamp("2020-05-01")
    assert row["seen_on"] == pd.Timestamp("2022-05-01")


def test_the_first_finding_of_needing_work_is_dated(spans):
    row = spans([BELLOWS], ["B,,2021-05-01,inspected,failing", "B,,2022-05-01,inspected,failing"]).iloc[0]
    assert row["failing_on"] == pd.Timestamp("2021-05-01")


def test_the_order_of_records_in_the_file_changes_nothing(spans):
    records = [
        "B,,2014-06-01,replaced,,scheduled",
        "B,,2017-06-01,inspected,sound",
        "B,,2019-05-01,replaced,,failure",
    ]
    pd.testing.assert_frame_equal(spans([BELLOWS], records), spans([BELLOWS], records[::-1]))


def test_parts_do_not_mix(spans):
    told = spans(
        [BELLOWS, "S,Wren,float_switch,2016-05-01"], ["B,,2022-07-01,failed", "S,,2020-05-01,tested,sound"]
    )
    assert told.set_index("item_id")["ending"].to_dict() == {"B": "failed", "S": "in_service"}
    assert pd.isna(told.set_index("item_id")["sound_on"]["B"])


TWICE = [
    ["B,,2018-07-05,replaced,,scheduled", "B,,2018-07-05,replaced,,scheduled"],
    ["B,,2018-07-05,replaced,,scheduled", "B,,2018-07-05,installed"],
    ["B,,2018-07,replaced,,scheduled", "B,,2018-07-05,installed"],
    ["B,,2018-07,replaced,,scheduled", "B,,2018-07,replaced"],
    ["B,,2018,replaced,,scheduled", "B,,2018,replaced,,scheduled"],
    ["B,,2018-07-05,replaced", "B,,2018-07-05,replaced,sound", "B,,2018-07-05,replaced"],
]


@pytest.mark.parametrize("records", TWICE)
def test_a_renewal_written_down_more_than_once_is_one(spans, records):
    told = spans(["B,Wren,bellows_drive,"], ["B,,2014-05-01,installed", *records])
    assert told["ending"].tolist() == ["scheduled", "in_service"]


def test_of_two_records_of_one_renewal_the_strongest_evidence_is_kept(spans):
    records = ["B,,2018-07-05,replaced,,scheduled", "B,,2018-07-05,installed,,failure"]
    for told in (spans(["B,Wren,bellows_drive,"], order) for order in (records, records[::-1])):
        assert told["ending"].tolist() == ["found_failed", "in_service"]


def test_of_two_records_of_one_renewal_the_window_is_what_both_allow(spans):
    told = spans(["B,Wren,bellows_drive,"], ["B,,2018-07,replaced,,scheduled", "B,,2018-07-05,installed"])
    ended = told[told["end_by"].notna()]
    assert ended["end_after"].item() == ended["end_by"].item() == pd.Timestamp("2018-07-05")


@pytest.mark.parametrize("failed", ["B,,2018-07-05,failed", "B,,2018-07-05,inspected,failed"])
@pytest.mark.parametrize("when", ["2018-07-05", "2018-07", "2018"])
def test_a_failure_and_the_renewal_that_answers_it_are_one_event_however_roughly_dated(spans, failed, when):
    told = spans(["B,Wren,bellows_drive,"], [failed, f"B,,{when},replaced,,failure"])
    assert told["ending"].tolist() in (["failed", "in_service"], ["found_failed", "in_service"])
    assert told["end_by"].tolist()[0] == pd.Timestamp("2018-07-05")
    assert pd.isna(told["found"].tolist()[1])


def test_two_renewals_of_different_days_stay_two(spans):
    records = ["B,,2018-07-05,replaced,,failure", "B,,2018-07-06,replaced,,failure"]
    assert len(spans(["B,Wren,bellows_drive,"], records)) == 3


def test_renewals_of_one_day_of_two_parts_are_two(spans):
    records = ["B,,2018-07-05,replaced", "C,,2018-07-05,replaced"]
    told = spans(["B,Wren,bellows_drive,", "C,Wren,bellows_drive,"], records)
    assert told["item_id"].tolist() == ["B", "B", "C", "C"]
