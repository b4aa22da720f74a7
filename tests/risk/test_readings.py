"""Measured readings: they find, they date, they bend what is left of a life, and impossible ones are refused."""

import math

import pandas as pd
import pytest

from riskmodel.errors import TableError
from riskmodel.risk.readings import read_readings, trend_reach
from riskmodel.trade import load_trade

TRADE = load_trade()
GLAND = {"item_class": "shaft_packing", "installed_on": "2018-05-01"}
HOSE = {"item_class": "raw_water_hose", "installed_on": "2020-05-01"}
TURNING, REST, YEAR = "drips/min turning", "drips/min at rest", "year marked"
# data/trade/readings.csv: a gland usually worsens by 2 to 15 drips a minute in a year; care.csv caps at 0.67.
USUAL = math.sqrt(2 * 15)
CAP = TRADE.care["reading_cap"].typical


def read(date, value, unit=TURNING, event="inspected", item="I0", **more):
    return {
        **{"item_id": item, "date": date, "event": event, "reading": value, "reading_unit": unit},
        **{"finding": "", "reason": ""},
    } | more


@pytest.fixture(scope="module")
def findings(fleet_of):
    """What the records of these are taken to have found, and the notes."""

    def run(*records, items=(GLAND,)):
        fleet, notes = read_readings(fleet_of(items, records), TRADE)
        return fleet.records["finding"].tolist(), notes

    return run


@pytest.fixture(scope="module")
def made(fleet_of):
    """The window in which the part was made, after its readings; None where nobody knows."""

    def run(*records, item=HOSE):
        row = read_readings(fleet_of([item], records), TRADE)[0].items.iloc[0]
        if pd.isna(row["made_by"]):
            return None
        return str(row["made_after"].date()), str(row["made_by"].date())

    return run


@pytest.fixture(scope="module")
def reach(fleet_of):
    """How the gland's trend changes its time ahead; None where it has no trend."""

    def run(*records, installed="2018-05-01"):
        days = pd.Series([pd.Timestamp(installed)], index=["I0"])
        found = trend_reach(fleet_of([GLAND], records), TRADE, days)
        return float(found["I0"]) if len(found) else None

    return run


# What a reading finds


@pytest.mark.parametrize(
    ("drips", "finding"), [(3, "sound"), (7, "suspect"), (12, "failing"), (2000, "failed")]
)
def test_a_reading_fills_in_what_its_record_left_out(findings, drips, finding):
    # common practice, no source: three or four drips are fine, about ten call for work
    assert findings(read("2025-05-01", drips)) == ([finding], ("1 finding read from measurements",))


def test_a_reading_that_finds_worse_than_its_keeper_is_believed(findings):
    assert findings(read("2025-05-01", 12, finding="sound"))[0] == ["failing"]


def test_a_reading_never_makes_a_finding_better(findings):
    assert findings(read("2025-05-01", 3, finding="failing")) == (["failing"], ())
    assert findings(read("2025-05-01", 12, finding="failing")) == (["failing"], ())


def test_an_unknown_finding_is_as_good_as_none(findings):
    assert findings(read("2025-05-01", 3, finding="unknown"))[0] == ["sound"]


def test_filled_findings_are_counted_together(findings):
    told, notes = findings(read("2024-05-01", 3), read("2025-05-01", 12), read("2023-05-01", 3, unit=""))
    assert told == ["sound", "failing", ""]
    assert notes[0] == "2 findings read from measurements"
    assert notes[1].startswith("1 reading not used: in a unit that says nothing of the part (none). Known: ")


def test_a_unit_is_known_however_it_is_spelt(findings):
    assert findings(read("2025-05-01", 12, unit=" Drips/min  TURNING "))[0] == ["failing"]


def test_a_unit_of_another_class_finds_nothing(findings):
    told, notes = findings(read("2025-05-01", 80, unit="% wasted"))
    assert told == [""]
    assert "not used: in a unit that says nothing of the part (% wasted)" in notes[0]


def test_what_is_measured_in_a_keepers_own_unit_is_left_alone(findings):
    # A potential is below nought; no trade row judges it.
    anode = {"item_class": "sacrificial_anode", "installed_on": "2025-05-01"}
    told, notes = findings(read("2025-06-01", -950, unit="mV"), items=[anode])
    assert told == [""]
    assert "(mV)" in notes[0]


def test_without_readings_the_fleet_is_handed_back_as_it_is(fleet_of):
    fleet = fleet_of([GLAND], [read("2025-05-01", "", unit="")])
    assert read_readings(fleet, TRADE) == (fleet, ())


def test_a_failing_reading_is_a_known_defect_in_the_ranking(assessed):
    result = assessed([GLAND, GLAND], [read("2025-05-01", 12), read("2025-05-01", 3, item="I1")])
    defect = result.standing.set_index("item_id")["defect"]
    assert defect.to_dict() == {"I0": "last found needing work", "I1": ""}
    assert "2 findings read from measurements" in result.notes


# What a marked year dates


def test_a_marked_year_dates_the_part_and_finds_nothing(made, findings):
    assert made(read("2024-05-01", 2018, YEAR)) == ("2018-01-01", "2018-12-31")
    assert findings(read("2024-05-01", 2018, YEAR), items=[HOSE]) == ([""], ())


def test_the_keepers_own_date_of_making_comes_before_a_mark_read(made):
    item = HOSE | {"made_on": "2019-03"}
    assert made(read("2024-05-01", 2018, YEAR), item=item) == ("2019-03-01", "2019-03-31")


def test_a_mark_read_on_a_part_since_renewed_dates_nothing(made):
    old, renewed = read("2016-05-01", 2008, YEAR), read("2020-05-01", "", "", "replaced")
    assert made(old, renewed) is None
    assert made(old, renewed, read("2024-05-01", 2019, YEAR)) == ("2019-01-01", "2019-12-31")


def test_a_mark_read_at_the_renewal_is_that_of_the_part_put_in(made):
    renewed = read("2020-05-01", 2019, YEAR, "replaced")
    assert made(renewed) == ("2019-01-01", "2019-12-31")


@pytest.mark.parametrize("when", ["2020-05-01", "2020"])
def test_a_fleet_with_a_marked_year_is_assessed_whatever_is_known_of_its_fitting(rows_of, when):
    marked = rows_of([HOSE | {"installed_on": when}], [read("2024-05-01", 2010, YEAR)])
    plain = rows_of([HOSE | {"installed_on": when}], [read("2024-05-01", "", "")])
    # Ten years on the shelf are ten years of age.
    assert marked.loc["I0", "failure_probability"] > 1.5 * plain.loc["I0", "failure_probability"]


@pytest.mark.parametrize("year", [2025, 1899, 0, 19, 2018.5, -2018, 20185])
def test_a_year_that_no_part_can_bear_is_refused(fleet_of, year):
    fleet = fleet_of([HOSE], [read("2024-05-01", year, YEAR)])
    with pytest.raises(
        TableError, match=r"records row 2: reading as a marked year must lie between 1900 and"
    ):
        read_readings(fleet, TRADE)


def test_every_impossible_reading_is_named_at_once(fleet_of):
    records = [read("2025-05-01", -3), read("2025-06-01", 3), read("2025-06-01", 2030, YEAR)]
    with pytest.raises(TableError, match=r"records row 2: reading must be 0 or more, got -3") as refused:
        read_readings(fleet_of([GLAND], records), TRADE)
    assert [problem.row for problem in refused.value.problems] == [2, 4]


# What a trend does


@pytest.mark.parametrize("factor", [0.4, 1.0, 2.9])
def test_the_time_ahead_goes_with_the_pace_of_the_readings(reach, factor):
    years = 731 / 365.25
    records = read("2023-05-01", 0.5), read("2025-05-01", 0.5 + factor * USUAL * years)
    assert reach(*records) == pytest.approx(factor, rel=1e-9)


def test_a_trend_moves_no_life_beyond_the_cap(reach):
    assert reach(read("2024-05-01", 1), read("2025-05-01", 900)) == pytest.approx(1 / (1 - CAP))
    assert reach(read("2024-05-01", 3), read("2025-05-01", 3)) == pytest.approx(1 - CAP)
    assert reach(read("2024-05-01", 9), read("2025-05-01", 3)) == pytest.approx(1 - CAP)


def test_three_readings_are_a_straight_line_through_all(reach):
    # On equal steps least squares by hand is the slope between the ends, wherever the middle lies.
    records = (read("2021-05-01", 1), read("2022-05-01", 30), read("2023-05-01", 1 + 2 * USUAL))
    assert reach(*records) == pytest.approx(1.0, rel=2e-3)


def test_one_reading_or_two_of_one_month_are_no_trend(reach):
    assert reach(read("2025-05-01", 3)) is None
    assert reach(read("2025-05-01", 3), read("2025-05-20", 8)) is None


def test_readings_of_a_part_since_renewed_are_no_trend(reach):
    assert reach(read("2018-06-01", 1), read("2020-05-01", 8), installed="2019-01-01") is None


@pytest.mark.parametrize("work", ["adjusted", "replaced"])
def test_what_the_work_itself_recorded_was_read_before_it(reach, work):
    records = read("2024-05-01", 12, event=work), read("2025-05-01", 3)
    assert reach(*records, installed="2024-05-01") is None
    later = read("2026-05-01", 3 + USUAL)
    assert reach(*records, later, installed="2024-05-01") == pytest.approx(1.0, rel=1e-2)


def test_a_trend_begins_anew_where_the_gland_was_adjusted(reach):
    before = read("2022-05-01", 1), read("2024-04-01", 60), read("2024-05-01", "", "", "adjusted")
    after = read("2024-06-01", 2), read("2025-06-01", 2 + USUAL)
    assert reach(*before, *after) == pytest.approx(1.0, rel=1e-2)


def test_one_unit_spelt_two_ways_is_one_trend(reach):
    records = read("2024-05-01", 2), read("2025-05-01", 2 + 2 * USUAL, "Drips/min Turning")
    assert reach(*records) == pytest.approx(2.0, rel=1e-2)


def test_of_several_measures_the_one_that_is_worst_counts(reach):
    slow = read("2024-05-01", 3), read("2025-05-01", 3)
    fast = read("2024-05-01", 0, REST), read("2025-05-01", 900, REST)
    assert reach(*slow, *fast) == pytest.approx(1 / (1 - CAP))


def test_what_should_be_high_worsens_as_it_falls(fleet_of):
    # A pump's own usual loss is 2 to 8 % of its rated flow a year.
    pump = {"item_class": "bilge_pump", "installed_on": "2022-05-01"}
    unit, usual = "% of rated flow", math.sqrt(2 * 8)
    days = pd.Series([pd.Timestamp("2022-05-01")], index=["I0"])
    falling = [read("2024-05-01", 60, unit), read("2025-05-01", 60 - 2 * usual, unit)]
    assert trend_reach(fleet_of([pump], falling), TRADE, days)["I0"] == pytest.approx(2.0, rel=1e-2)


def test_marked_years_are_no_trend(fleet_of):
    fleet = fleet_of([HOSE], [read("2021-05-01", 2018, YEAR), read("2025-05-01", 2019, YEAR)])
    assert trend_reach(fleet, TRADE, pd.Series(dtype="datetime64[ns]")).empty


def test_a_fast_trend_raises_the_chance_and_a_slow_one_lowers_it(rows_of):
    def chance(last):
        records = [read("2023-05-01", 0.5), read("2025-05-01", last)]
        return rows_of([GLAND], records).loc["I0", "failure_probability"]

    # Sound all along: only the pace differs.
    assert chance(0.5) < chance(4.5)


def test_a_part_without_two_readings_keeps_its_time_ahead(demo):
    read = demo.fleet.records.dropna(subset="reading").groupby("item_id").size()
    plain = ~demo.standing["item_id"].isin(read.index[read > 1])
    assert (demo.standing.loc[plain, "reach"] == 1.0).all()
    assert demo.standing["reach"].between(1 - CAP, 1 / (1 - CAP)).all()
