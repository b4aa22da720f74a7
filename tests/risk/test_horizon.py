"""How far an answer looks: as asked, some months, or to the end of the coming season."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.risk import coming_season, given_horizon, months_ahead

DAYS = st.dates(datetime.date(1990, 1, 1), datetime.date(2080, 1, 1))


def day(text):
    return datetime.date.fromisoformat(text)


@pytest.fixture
def season(fleet_of):
    def until(as_of, *ends, settings=""):
        boats = [
            {"vessel_id": f"V{n}", "season_start": "01-01", "season_end": end} for n, end in enumerate(ends)
        ]
        return coming_season(fleet_of(boats=boats or ({},), settings=settings), day(as_of))

    return until


@pytest.mark.parametrize(
    ("as_of", "months", "until"),
    [("2026-06-01", 12, "2027-06-01"), ("2026-01-31", 1, "2026-02-28"), ("2027-12-31", 2, "2028-02-29")],
)
def test_months_end_on_the_same_day_or_the_months_last(as_of, months, until):
    assert months_ahead(day(as_of), months).until == day(until)


@given(DAYS, st.integers(1, 60))
def test_months_ahead_are_months_long(as_of, months):
    assert months_ahead(as_of, months).years == pytest.approx(months / 12, abs=4 / 365)


def test_a_year_is_a_year():
    assert given_horizon(day("2026-01-01"), day("2030-01-01")).years == 4.0


def test_no_months_are_refused():
    with pytest.raises(ParameterError, match="months must be 1 or more, got 0"):
        months_ahead(day("2026-06-01"), 0)


def test_a_day_not_after_the_day_is_refused():
    with pytest.raises(ParameterError, match="until must lie after 2026-06-01, got 2026-05-31"):
        given_horizon(day("2026-06-01"), day("2026-05-31"))


def test_the_season_in_hand_is_the_coming_one(season):
    assert season("2026-06-01", "10-15").until == day("2026-10-15")


def test_a_season_as_good_as_over_gives_way_to_the_next(season):
    assert season("2026-09-30", "10-15").until == day("2027-10-15")
    assert season("2026-09-10", "10-15").until == day("2026-10-15")


def test_the_latest_boats_season_is_meant(season):
    assert season("2026-06-01", "09-30", "11-15").until == day("2026-11-15")


def test_without_a_season_a_year_is_looked_at_and_said(season):
    horizon = season("2026-06-01")
    assert (horizon.until, horizon.wording) == (day("2027-06-01"), "12 months: no season is given")


def test_the_settings_season_stands_for_boats_without_one(season):
    settings = 'season_start = "05-01"\nseason_end = "09-20"\n'
    assert season("2026-06-01", settings=settings).until == day("2026-09-20")


def test_a_season_that_ends_on_the_last_of_february_exists_every_year(season):
    assert season("2026-06-01", "02-29").until == day("2027-02-28")
