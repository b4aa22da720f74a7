"""Engine meters that only run forward."""

import pytest


@pytest.fixture
def faults(problems, plain):
    def found(*rows):
        text = "\n".join(["item_id,vessel_id,date,event,hours", *rows]) + "\n"
        return problems(**{**plain, "records": text})

    return found


def test_hours_that_run_forward_are_fine(faults):
    assert (
        faults("W1,,2018-05-01,inspected,120", "W1,,2019-05-01,inspected,120", "W1,,2020-05-01,inspected,180")
        == []
    )


def test_hours_that_run_backwards_name_the_record_before(faults):
    assert faults("W1,,2018-05-01,inspected,120", "W1,,2019-05-01,inspected,100") == [
        "records.csv row 3: hours must not be below 120, the meter in row 2, got 100"
    ]


def test_the_order_of_rows_does_not_matter_but_the_order_of_days_does(faults):
    assert faults("W1,,2019-05-01,inspected,180", "W1,,2018-05-01,inspected,120") == []
    assert len(faults("W1,,2019-05-01,inspected,100", "W1,,2018-05-01,inspected,120")) == 1


def test_a_boats_own_meter_is_held_too(faults):
    assert faults(",Wren,2018-05-01,hours_read,500", ",Wren,2019-05-01,hauled,400") == [
        "records.csv row 3: hours must not be below 500, the meter in row 2, got 400"
    ]


def test_one_slip_is_one_problem(faults):
    rows = [
        f"W1,,20{year}-05-01,inspected,{hours}"
        for year, hours in ((16, 100), (17, 9999), (18, 120), (19, 140))
    ]
    assert [message.split(":")[0] for message in faults(*rows)] == ["records.csv row 4"]


def test_two_items_have_two_meters(faults):
    assert faults("W1,,2018-05-01,inspected,900", "P1,,2019-05-01,inspected,100") == []


def test_a_changed_meter_starts_again(faults):
    before, change, after = (
        "W1,,2018-05-01,inspected,900",
        ",Wren,2018-09-01,meter_changed,",
        "W1,,2019-05-01,inspected,40",
    )
    assert faults(before, change, after) == []
    assert len(faults(before, change.replace("Wren", "Plover"), after)) == 1
    assert len(faults(before, change.replace("2018-09", "2019-09"), after)) == 1
    assert len(faults(before, change.replace("2018-09", "2017-09"), after)) == 1


def test_a_boats_readings_start_again_with_its_meter(faults):
    assert (
        faults(
            ",Wren,2018-05-01,hours_read,900",
            ",Wren,2018-09-01,meter_changed,0",
            ",Wren,2019-05-01,hours_read,40",
        )
        == []
    )


def test_records_of_one_day_or_of_overlapping_windows_have_no_order(faults):
    assert faults("W1,,2018-05-01,inspected,120", "W1,,2018-05-01,tested,100") == []
    assert faults("W1,,2018,inspected,120", "W1,,2018-05-01,inspected,100") == []
    assert len(faults("W1,,2018,inspected,120", "W1,,2019,inspected,100")) == 1


def test_missing_hours_are_passed_over(faults):
    assert (
        len(
            faults(
                "W1,,2017-05-01,inspected,120", "W1,,2018-05-01,inspected,", "W1,,2019-05-01,inspected,100"
            )
        )
        == 1
    )
