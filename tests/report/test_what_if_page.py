"""The page of what a change would make: both figures, known defects first, eighty columns."""

import pytest

from riskmodel.plan.what_if import read_change, what_if
from riskmodel.report.what_if import what_if_page


@pytest.fixture(scope="module")
def page(demo, demo_fleet):
    changes = ("checked_every_days=3", "fit=high_water_alarm", "renew=hose>10")
    return what_if_page(what_if(demo, demo_fleet, tuple(read_change(text) for text in changes)), 5)


def test_it_keeps_to_eighty_columns(page):
    assert max(map(len, page.splitlines())) <= 80


def test_it_says_what_was_changed_and_both_figures(page):
    words = " ".join(page.split())
    assert "checked_every_days is 3 on every boat" in words
    assert "high-water alarm fitted today on" in words
    assert "As it is Changed" in words
    assert "expected loss USD" in words


def test_as_many_boats_as_asked_for_are_listed(page):
    table = page.split("most saved first")[1].split("Renewing")[0]
    assert (
        len(
            [
                line
                for line in table.splitlines()
                if line and not line.startswith(("-", " ", "(", "Loss", "Boat"))
            ]
        )
        == 5
    )
    assert "(19 more: ask for --top 24, or --format csv for all.)" in table


def test_it_is_no_reason_to_leave_a_defect_alone(page):
    words = " ".join(page.split())
    assert "known defects still to be put right before the boats are used again" in words
    assert "Nothing here is a reason to leave a known defect or a dangerous part alone" in words
    assert "not a survey" in words
