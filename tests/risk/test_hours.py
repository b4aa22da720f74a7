"""Running hours on a part: the meter now less the meter at its renewal, or nothing said."""

import math

import pytest

ITEM = {"item_class": "raw_water_impeller", "installed_on": "2020-05-01", "installed_hours": 100}


def read(date, hours, event="hours_read", item=""):
    return {"vessel_id": "" if item else "B1", "item_id": item, "date": date, "event": event, "hours": hours}


@pytest.fixture(scope="module")
def hours(rows_of):
    def run(*records, **item):
        return rows_of([ITEM | item], list(records)).loc["I0", "hours"]

    return run


def test_hours_are_the_last_reading_less_that_at_installation(hours):
    assert hours(read("2021-10-01", 180), read("2025-10-01", 460)) == 360


def test_the_order_of_the_rows_is_of_no_account(hours):
    assert hours(read("2025-10-01", 460), read("2021-10-01", 180)) == 360


def test_a_recorded_renewal_takes_the_place_of_the_items_table(hours):
    records = (read("2023-05-01", 300, "replaced", "I0"), read("2025-10-01", 460))
    assert hours(*records) == 160


def test_a_renewal_without_a_reading_leaves_hours_unknown(hours):
    assert math.isnan(hours(read("2023-05-01", "", "replaced", "I0"), read("2025-10-01", 460)))


def test_a_meter_changed_since_leaves_hours_unknown(hours):
    assert math.isnan(hours(read("2023-05-01", 0, "meter_changed"), read("2025-10-01", 460)))


def test_a_meter_changed_before_is_of_no_account(hours):
    assert hours(read("2019-05-01", 0, "meter_changed"), read("2025-10-01", 460)) == 360


@pytest.mark.parametrize(
    "known", [{"installed_hours": ""}, {}], ids=["no reading at installation", "no meter"]
)
def test_without_both_readings_hours_are_unknown(hours, known):
    records = (read("2025-10-01", 460),) if known else ()
    assert math.isnan(hours(*records, **known))


def test_demo_hours_are_empty_where_nobody_read_a_meter(demo):
    assert demo["hours"].isna().all()
