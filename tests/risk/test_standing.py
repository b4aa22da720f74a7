"""Where a part stands: what makes a known defect, what clears it, and what an unknown age does."""

import pytest

RENEWED = {"item_id": "I0", "date": "2026-04-20", "event": "replaced", "reason": "condition"}


def look(date, finding, item="I0", event="inspected"):
    return {"item_id": item, "date": date, "event": event, "finding": finding}


@pytest.fixture(scope="module")
def packing(rows_of):
    """A packing, renewed in 2015, with a hose beside it that nothing is wrong with; the frame by item."""

    def run(records, **more):
        items = [
            {"item_class": "shaft_packing", "installed_on": "2015-04-01", **more},
            {"item_class": "raw_water_hose", "installed_on": "2005-04-01"},
        ]
        return rows_of(items, records, boats=[{"propulsion": "sail_shaft", "checked_every_days": 30}])

    return run


@pytest.mark.parametrize(
    ("records", "says"),
    [
        ([look("2026-04-01", "failing")], "last found needing work"),
        ([look("2026-04-01", "failed")], "last found let go"),
        ([{"item_id": "I0", "date": "2026-05-01", "event": "failed"}], "last found let go"),
        (
            [look("2025-04-01", "sound"), look("2026-04-01", "failing", event="adjusted")],
            "last found needing work",
        ),
    ],
    ids=["found failing", "found failed", "failed in service", "adjusted, still failing"],
)
def test_a_finding_of_needing_work_or_worse_heads_the_list(packing, records, says):
    frame = packing(records)
    assert frame.loc["I0", ["rank", "group", "defect"]].tolist() == [1, "known defect", says]
    assert frame.loc["I0", "task_does"] == "renew"


def test_a_recall_heads_the_list_and_is_named(packing):
    frame = packing([], recall="lead seal")
    assert frame.loc["I0", ["rank", "defect"]].tolist() == [1, "under recall (lead seal)"]


def test_a_recall_and_a_finding_are_both_said(packing):
    frame = packing([look("2026-04-01", "failing")], recall="lead seal")
    assert frame.loc["I0", "defect"] == "last found needing work; under recall (lead seal)"


@pytest.mark.parametrize(
    "records",
    [
        [look("2026-04-01", "failing"), RENEWED],
        [look("2026-04-01", "failed"), RENEWED],
        [{"item_id": "I0", "date": "2026-04-01", "event": "failed"}, RENEWED],
        [look("2026-04-20", "failing"), RENEWED],
        [look("2026-04-01", "failing"), look("2026-05-01", "sound")],
        [look("2026-04-01", "failing"), look("2026-05-01", "sound", event="adjusted")],
        [look("2026-05-01", "suspect")],
    ],
    ids=[
        "renewed",
        "let go, renewed",
        "failed, renewed",
        "same day",
        "sound look",
        "adjusted to sound",
        "suspect",
    ],
)
def test_renewal_or_a_later_sound_look_clears_it(packing, records):
    assert packing(records).loc["I0", "defect"] == ""


def test_a_look_that_wrote_no_finding_clears_nothing(packing):
    frame = packing([look("2026-04-01", "failing"), look("2026-05-01", "")])
    assert frame.loc["I0", "defect"] == "last found needing work"


def test_a_finding_about_another_part_is_no_defect_of_this_one(packing):
    frame = packing([look("2026-04-01", "failing", item="I1")])
    assert frame.loc["I0", "defect"] == ""
    assert frame.loc["I1", "rank"] == 1


def test_a_part_found_needing_work_is_likelier_to_let_go_and_one_let_go_is_certain(packing):
    plain, failing, failed = (
        packing(records).loc["I0", "failure_probability"]
        for records in ([], [look("2026-04-01", "failing")], [look("2026-04-01", "failed")])
    )
    assert plain < failing < failed == 1.0


def test_renewal_starts_the_age_anew(packing):
    frame = packing([RENEWED])
    assert frame.loc["I0", "age_years"] == pytest.approx(42 / 365.25, abs=0.01)
    assert frame.loc["I1", "age_years"] == pytest.approx(21.2, abs=0.1)


@pytest.mark.parametrize("name", ["shaft_packing", "raw_water_hose", "fuel_feed_hose", "rode_rope"])
def test_an_unknown_age_lies_between_new_and_never_renewed_and_says_so(rows_of, name):
    dates = {"new": "2026-05-20", "unknown": "", "old": "2000-05-01"}
    items = [{"item_id": word, "item_class": name, "installed_on": date} for word, date in dates.items()]
    frame = rows_of(items, boats=[{"propulsion": "sail_shaft"}])
    chance = frame["failure_probability"]
    assert chance["new"] < chance["unknown"] < chance["old"]
    assert "age unknown" in frame.loc["unknown", "why"]
    assert frame["age_years"].isna().tolist() == (frame.index == "unknown").tolist()


def test_a_part_on_an_older_boat_of_unknown_age_is_no_safer(rows_of):
    boats = [{"vessel_id": f"B{built}", "built_year": built} for built in (2024, 2015, 1990)]
    items = [
        {"item_id": boat["vessel_id"], "vessel_id": boat["vessel_id"], "item_class": "raw_water_hose"}
        for boat in boats
    ]
    chance = rows_of(items, boats=boats)["failure_probability"]
    assert chance["B2024"] < chance["B2015"] < chance["B1990"]


def test_no_part_is_older_than_its_boat_though_the_fleets_records_are(rows_of):
    boats = [{"built_year": 2025, "records_from": "2010-01-01"}]
    row = rows_of([{"item_class": "raw_water_hose"}], boats=boats).loc["I0"]
    assert "age unknown (1 to 2 y)" in row["why"]


def test_a_boat_of_unknown_build_and_parts_of_unknown_age_still_have_an_answer(rows_of):
    frame = rows_of([{"item_class": "bellows_drive"}], boats=[{"built_year": ""}])
    assert 0 < frame.loc["I0", "failure_probability"] < 0.5


def test_more_of_a_part_are_likelier_to_hold_one_that_lets_go(rows_of):
    items = [{"item_class": "hose_clamps", "installed_on": "2018", "quantity": n} for n in (1, 4, 60)]
    chance = rows_of(items)["failure_probability"]
    assert chance["I0"] < chance["I1"] < chance["I2"] < 1
    # Any of n, were the chance known exactly; doubt about it makes n parts fail or hold together.
    assert chance["I1"] <= 1 - (1 - chance["I0"]) ** 4 + 1e-12


@pytest.mark.parametrize("name", ["float_switch", "bilge_pump", "deck_bedding"])
def test_what_fails_unseen_is_counted_from_its_last_passed_test(rows_of, name):
    items = [{"item_class": name, "installed_on": "2016-05-01"} for _ in range(2)]
    frame = rows_of(items, [look("2026-05-01", "sound", item="I0", event="tested")])
    assert frame.loc["I0", "failure_probability"] < frame.loc["I1", "failure_probability"]
