"""The days of a policy at the fleet's door: read, ahead of the calendar or not, and refused where they cannot be."""

import pandas as pd
import pytest

from riskmodel.errors import TableError

HEAD = "vessel_id,propulsion,value,inception,expiry,lay_up_from,lay_up_to,value_basis,deductible_percent\n"


def table(*lines):
    return HEAD + "".join(f"{line}\n" for line in lines)


def test_a_policy_may_begin_and_end_after_today(load):
    vessels = load(
        vessels=table("A,sterndrive,1,2026-09-01,2027-09-01,11-01,03-31,Market,1.5", "B,sterndrive,1,,,,,,")
    ).vessels
    assert vessels["inception"].tolist() == [pd.Timestamp("2026-09-01"), pd.NaT]
    assert vessels["expiry"].tolist() == [pd.Timestamp("2027-09-01"), pd.NaT]
    assert vessels["lay_up_from"].tolist() == ["11-01", ""]
    assert vessels["value_basis"].tolist() == ["market", ""]
    assert vessels["deductible_percent"][0] == 1.5


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        (
            "2026-05-02,2026-05-01,,,,",
            r"vessels.csv row 3: expiry must lie after inception, 2026-05-02, got 2026-05-01",
        ),
        ("2026-05-02,2026-05-02,,,,", r"row 3: expiry must lie after inception, 2026-05-02, got 2026-05-02"),
        ("2026-05,,,,,", r"row 3: inception must be a day such as 2019-05-14, got 2026-05"),
        (",,11-01,,,", r"row 3: lay_up_to must be given with lay_up_from, got nothing"),
        (",,,03-31,,", r"row 3: lay_up_from must be given with lay_up_to, got nothing"),
        (",,11-31,03-31,,", r"row 3: lay_up_from must"),
        (",,,,insured,", r"row 3: value_basis must be a known word"),
        (",,,,,120", r"row 3: deductible_percent must not be above 100, got 120"),
    ],
)
def test_terms_that_cannot_be_are_refused_with_their_row(load, line, rule):
    with pytest.raises(TableError, match=rule):
        load(vessels=table("A,sterndrive,1,2026-05-01,2027-05-01,,,,", f"B,sterndrive,1,{line}"))


def test_a_boat_is_insured_by_the_day_its_policy_began(load):
    head = "vessel_id,propulsion,value,inception,insured_since\n"
    assert (
        load(vessels=head + "A,sterndrive,1,2026-05-01,2019-05-01\n").vessels["insured_since"].notna().all()
    )
    rule = r"row 2: insured_since must not lie after inception, 2026-05-01, got 2026-05-02"
    with pytest.raises(TableError, match=rule):
        load(vessels=head + "A,sterndrive,1,2026-05-01,2026-05-02\n")
