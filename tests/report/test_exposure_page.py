"""The insurer's page: its words, its sums, its width, its figure; and the rows it is made of."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.answer import Answer, Conditions, answer, on_defaults
from riskmodel.exposure.conditions import read_condition
from riskmodel.exposure.cover import Policy
from riskmodel.report.exposure import exposure_page, exposure_rows
from riskmodel.report.exposure_figure import exposure_figure, write_exposure_figure

pytestmark = pytest.mark.thorough

UNTIL = date(2027, 6, 1)


@pytest.fixture(scope="module")
def told(assessed, two_boats) -> Answer:
    result = assessed(**two_boats, until=UNTIL)
    asked = Conditions((read_condition("visits=5"), read_condition("renew=hose>10")), 0.75, 15.0)
    return answer(result, Policy(deductible=250.0), ("propulsion", "end_state", "item_class"), asked)


@pytest.fixture(scope="module")
def page(told):
    return exposure_page(told, 8)


def flat(text):
    return " ".join(text.split())


def test_the_page_fits_a_terminal(page):
    assert max(map(len, page.splitlines())) <= 80


def test_the_head_says_what_is_not_in_it(page):
    assert "WET-SYSTEM LOSSES ONLY: not weather, collision, theft or liability" in flat(page)
    assert page.index("WET-SYSTEM") < page.index("THE BOOK")


def test_the_share_of_value_on_defaults_is_printed(page):
    assert "of the value rests on defaults" in flat(page)
    assert "where most parts' ages are unknown" in flat(page)


def test_both_parts_of_the_spread_are_printed(page):
    assert "by chance alone (process)" in page
    assert "doubt about all boats (parameter)" in page


def test_the_curve_has_its_return_periods_and_band(page):
    block = page[page.index("HOW BAD") : page.index("WHERE THE LOSS SITS")]
    assert [line.split()[0] for line in block.splitlines() if line[:7].strip().isdigit()] == [
        *("2", "5", "10", "20", "50", "100", "200", "500")
    ]
    assert "Largest one loss" in block
    assert "The largest loss one boat can bring" in flat(block)


def test_each_segment_asked_for_has_its_block(page):
    for by in ("propulsion", "end state", "item class"):
        assert f"WHERE THE LOSS SITS, by {by}" in page


def test_conditions_are_no_advice_on_cover(page):
    assert "CONDITIONS, kept by 75 % of the boats they touch" in page
    text = flat(page)
    assert "no advice on cover or price" in text
    assert "work on dangerous parts is not a matter of credits" in text
    assert "A known defect, or a path that can kill, is seen to whatever a book says" in text


def test_the_errors_of_the_arithmetic_are_said(page):
    assert "losses between are split with their mean kept" in flat(page)
    assert "A year off that scale has a chance under 2e-13" in flat(page)


def test_the_cautions_stand_at_the_foot(page):
    assert "These are estimates from tables, not a survey" in flat(page[-1200:])


def test_terms_are_said(told, page):
    assert "Terms: each boat's deductible on each loss (USD 250 where it has none of its own)." in flat(page)
    plain = exposure_page(answer(told.exposure.result), 3)
    assert "Terms: none given" in plain
    assert "CONDITIONS" not in plain
    policy = Policy(deductible=9.0, salvage_inside=0.0, value_share=0.8, without=frozenset({"nuisance"}))
    every = flat(exposure_page(answer(told.exposure.result, policy), 3))
    assert "salvage and clean-up paid on top of both; at most 80 % of the value" in every
    assert "not covered: mess and a lost day" in every


def test_days_on_risk_are_said_and_their_figures_are_rows(assessed, two_boats):
    said = ({"expiry": "2026-12-01", "lay_up_from": "11-01", "lay_up_to": "03-31"}, {"deductible_percent": 1})
    boats = [boat | more for boat, more in zip(two_boats["boats"], said, strict=True)]
    found = answer(assessed(**two_boats | {"boats": boats}, until=UNTIL), None, ("water",))
    page = exposure_page(found, 3)
    assert max(map(len, page.splitlines())) <= 80
    assert "1 boat on risk for part of the time (50 % of the days)" in flat(page)
    assert "of the days on which an end state can happen (in use, afloat, or any) all count alike" in flat(
        page
    )
    rows = exposure_rows(found)
    terms = rows[rows["table"] == "terms"].set_index(["row", "figure"])["value"]
    assert terms["B1", "on_risk"] == pytest.approx(183 / 365)
    assert terms["B2", "deductible"] == pytest.approx(600)
    assert ("B1", "limit") not in terms.index
    assert rows["value"].notna().all()


def test_large_books_are_told_in_thousands(told):
    large = told.exposure.after.table.copy()
    money = [name for name in large if name != "return_period"]
    large[money] *= 1e5
    after = replace(told.exposure.after, table=large)
    page = exposure_page(replace(told, exposure=replace(told.exposure, before=after, after=after)), 3)
    block = page[page.index("HOW BAD") : page.index("WHERE THE LOSS SITS")]
    assert "USD million" in block or "USD thousand" in block
    assert max(map(len, block.splitlines())) <= 80


def test_rows_hold_every_figure_and_add_up(told):
    rows = exposure_rows(told)
    assert list(rows) == ["table", "row", "figure", "value"]
    assert {
        "year",
        "curve before terms",
        "curve after terms",
        "segment propulsion",
        "boat",
        "place",
        "condition",
    } <= set(rows["table"])
    assert "terms" not in set(rows["table"])
    wide = rows[rows["table"] == "segment propulsion"].pivot_table(
        index="row", columns="figure", values="value"
    )
    mean = rows[(rows["table"] == "year") & (rows["row"] == "mean loss") & (rows["figure"] == "after")][
        "value"
    ]
    assert wide["after"].sum() == pytest.approx(mean.item(), rel=1e-9)
    assert rows["value"].notna().all()


def test_value_on_defaults_is_counted_once(assessed):
    boats = [
        {"vessel_id": "B1", "value": 30000, "water": "salt"},
        {"vessel_id": "B2", "value": 10000, "water": "salt"},
    ]
    items = [{"item_class": "bellows_drive", "installed_on": "2022-05-02"}]
    shares = on_defaults(assessed(items, boats=boats, until=UNTIL))
    assert shares["outfit"] == pytest.approx(0.25)
    assert shares["ages"] == pytest.approx(0.25)
    assert shares["circumstances"] == 0
    assert shares["any"] == pytest.approx(0.25)


def test_the_figure_has_a_curve_with_a_band_bars_and_ages(told):
    figure = exposure_figure(told)
    curve, drivers, ages = figure.axes
    assert curve.get_xscale() == "log"
    # A band before terms and a band after them, each about its own curve.
    assert len(curve.collections) == 2
    assert "propulsion" in drivers.get_title(loc="left")
    assert "Age of the hulls" in ages.get_title(loc="left")
    assert sum(bar.get_height() for bar in ages.containers[0]) == pytest.approx(1.0)
    assert sum(bar.get_width() for bar in drivers.containers[0]) == pytest.approx(1.0)
    named = {line.get_label(): line for line in curve.lines}
    for label in (
        "total of all losses (aggregate), before terms",
        "total of all losses (aggregate), after terms",
        "largest single loss (occurrence), after terms",
    ):
        assert (np.diff(named[label].get_ydata()) >= 0).all()
    assert curve.get_xlabel() == "Exceeded once in so many years, on average"


def test_bars_of_more_segments_than_are_listed_still_add_up(told, monkeypatch):
    by_class = replace(told, segments={"item_class": told.segments["item_class"]})
    monkeypatch.setattr("riskmodel.report.exposure_figure.LISTED", 3)
    _, drivers, _ = exposure_figure(by_class).axes
    for bars in drivers.containers:
        assert sum(bar.get_width() for bar in bars) == pytest.approx(1.0)
    names = [label.get_text() for label in drivers.get_yticklabels()]
    assert len(names) == 4
    assert names[0] == f"{len(told.segments['item_class']) - 3} others"


def test_names_that_differ_stay_apart_in_the_figure(told):
    frame = told.segments["propulsion"]
    names = [f"a harbour with a long name (inner part) {number}" for number in range(len(frame))]
    named = replace(told, segments={"home_port": frame.assign(segment=names)})
    labels = {label.get_text() for label in exposure_figure(named).axes[1].get_yticklabels()}
    assert len(labels) == len(names) > 1


def test_a_figure_without_terms_has_one_total(told):
    curve = exposure_figure(answer(told.exposure.result)).axes[0]
    assert len(curve.collections) == 1
    assert not any("terms" in str(line.get_label()) for line in curve.lines)


@pytest.mark.parametrize(("kind", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_the_same_answer_makes_the_same_bytes(told, tmp_path, kind, start):
    paths = [tmp_path / f"{name}.{kind}" for name in "ab"]
    for path in paths:
        write_exposure_figure(path, told)
    first, second = (path.read_bytes() for path in paths)
    assert first == second
    assert first.startswith(start)


def test_rows_survive_a_round_trip(told, tmp_path):
    path = tmp_path / "rows.csv"
    exposure_rows(told).to_csv(path, index=False)
    pd.testing.assert_frame_equal(pd.read_csv(path, dtype={"row": str}), exposure_rows(told))


@pytest.fixture(scope="module")
def moored_together(assessed, two_boats):
    boats = [boat | {"home_port": "Quay"} for boat in two_boats["boats"]]
    return answer(assessed(**two_boats | {"boats": boats}, until=UNTIL))


def test_boats_by_themselves_are_said_to_share_nothing(page):
    assert "In the curve: nothing. No two boats of this book" in flat(page)


def test_spells_in_the_curve_are_named_with_their_chance_and_standing(moored_together):
    page = exposure_page(moored_together, 3)
    block = flat(page[page.index("BOATS THAT LIE") : page.index("Arithmetic")])
    assert "no shore power for a week (1-5 % a year, judgement)" in block
    assert "a hard frost (4-15 % a year, judgement; in cold and temperate climates" in block
    assert "if no two boats lay together" in block
    assert max(map(len, page.splitlines())) <= 80


def test_rows_tell_what_places_do_to_the_worst_years(moored_together):
    rows = (
        exposure_rows(moored_together)
        .query("table == 'spell of a place'")
        .set_index(["row", "figure"])["value"]
    )
    after = moored_together.exposure.after
    assert rows["worst year in 100", "together"] == pytest.approx(float(after.total.tail_mean(0.99)))
    assert rows["worst year in 100", "apart"] == pytest.approx(float(after.apart.tail_mean(0.99)))
    assert rows["hard_frost", "factor_high"] == 5


def test_places_of_thousands_of_boats_fit_a_terminal(told):
    many = told.places.copy()
    many["place"], many["boats"], many["value"] = "port 1984", 4221, 109_699_300.0
    for name in [column for column in many.columns if "sinkings" in column]:
        many[name] = 6.4
    for name in ("power_cut", "nobody_comes"):
        many[name], many[f"{name}_usual"] = 300_000.0, 30_000.0
    text = exposure_page(replace(told, places=many), 8)
    assert "6,400/6,400" in text
    assert max(map(len, text.splitlines())) <= 80
