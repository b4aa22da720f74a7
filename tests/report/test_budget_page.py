"""A plan's page, figure and workbook: defects first, then what can kill, then money; both sums; nothing hidden."""

import io
import math
import re

import openpyxl
import pytest

from riskmodel.plan import best_plan
from riskmodel.report.budget import HEADS, budget_page
from riskmodel.report.budget_figure import COMES_FIRST, budget_figure, write_budget_figure
from riskmodel.report.budget_first import NOT_MET
from riskmodel.report.budget_left import OVERDUE, named_work
from riskmodel.report.plan_book import plan_workbook
from riskmodel.report.text import paragraph
from riskmodel.words import band, money, price

pytestmark = pytest.mark.thorough

FIRST, SECOND, THIRD = HEADS.values()


@pytest.fixture(scope="module")
def plan(demo):
    return best_plan(demo, 8000)


@pytest.fixture(scope="module")
def short(demo):
    return best_plan(demo, 1000)


@pytest.fixture(scope="module")
def page(plan):
    return budget_page(plan, 5)


def flat(text):
    return " ".join(text.split())


def section(page, head, after):
    return page.split(head)[1].split(after)[0]


@pytest.mark.parametrize("top", [1, 5, 500])
def test_no_line_is_wider_than_eighty_columns_or_ends_in_blanks(plan, short, top):
    for each in (plan, short):
        lines = budget_page(each, top).splitlines()
        assert [line for line in lines if len(line) > 80 or line != line.rstrip()] == []


def test_defects_come_first_then_what_can_kill_then_money(page):
    places = [page.index(head) for head in (FIRST, SECOND, THIRD, "THE BOATS", paragraph(OVERDUE))]
    assert places == sorted(places)


def test_every_known_defect_is_there_with_what_is_known(demo, page):
    told = flat(section(page, FIRST, SECOND))
    defects = demo.frame[demo.frame["defect"] != ""]
    assert told.count("last found") + told.count("under recall") == len(defects)
    assert "do nothing" not in page


def test_the_limits_are_said_to_be_examples(page):
    told = flat(section(page, SECOND, THIRD))
    assert "3 in 10,000 that a part kills, 5 in 1,000 that a boat sinks" in told
    assert "examples" in told


def test_limits_of_the_fleets_own_are_not_called_examples(assessed):
    result = assessed([{"item_class": "deck_bedding"}], settings="kill_limit = 0.01\nsinking_limit = 0.5\n")
    told = flat(budget_page(best_plan(result, 100), 5))
    assert "from its settings or trade tables" in told
    assert "examples" not in told
    assert "No part and no boat is over its limit" in told


def test_both_losses_and_both_sums_are_printed(plan, page):
    told = flat(page)
    assert f"USD {money(plan.before)} before the plan and {money(plan.after)} after it" in told
    assert f"add up to {money(plan.averted)}" in told
    assert f"No plan for this money averts more than USD {plan.bound:,.2f}" in told
    assert "proved the best" in told


def test_the_money_is_accounted_for(plan, page):
    lifts = plan.lifts["cost"].sum()
    assert f"Of USD 8,000 the plan spends {price(plan.cost)} on" in flat(page)
    assert f"for {price(lifts)}" in flat(page)


def test_what_is_not_shown_is_counted(plan, page):
    work = (plan.frame["reason"] == "money").sum()
    assert f"({work - 5} more that avert less: ask for --top {work}" in flat(page)


def test_dates_are_printed_by_boat(page):
    rows = re.findall(r"^(\d{4}-\d\d-\d\d)  ", section(page, THIRD, "Of USD"), flags=re.MULTILINE)
    assert len(rows) == 5


def test_too_little_money_is_said_first_with_what_to_do_instead(short):
    page = budget_page(short, 5)
    told = section(page, NOT_MET, FIRST)
    assert told.count("keep ashore") == len(short.instead)
    assert "money goes nowhere else meanwhile" in flat(told)
    assert "not reached" in section(page, FIRST, SECOND)
    assert "proved" not in page


def test_too_little_money_is_told_how_much_is_enough_and_what_comes_next(demo, short):
    told = flat(section(budget_page(short, 5), NOT_MET, FIRST))
    enough = math.ceil(short.first_cost)
    assert f"All that comes first costs USD {enough:,}, lifts in it." in told
    assert best_plan(demo, enough).satisfied
    assert not best_plan(demo, short.first_cost - 1).satisfied
    assert re.search(r"Next comes \w+: [^.]+, for USD \d+", told)


def test_what_the_kept_money_would_pay_for_is_listed_and_the_dearer_one_stays_first(short):
    page = budget_page(short, 500)
    told = flat(section(page, NOT_MET, FIRST))
    kept = price(short.amount - short.cost)
    assert f"The USD {kept} kept would pay for what follows, if its keeper so chooses" in told
    assert "A larger amount starts with the dearer one" in told
    assert "stands until all of it is done" in told
    for row in named_work(short, short.would_pay).itertuples():
        assert row.boat in told
    few = budget_page(short, 1)
    assert f"({len(short.would_pay) - 1} more: ask for --top {len(short.would_pay)}.)" in few


def test_with_nothing_nothing_is_kept_and_nothing_has_changed(demo):
    plan = best_plan(demo, 0)
    told = flat(budget_page(plan, 5))
    assert "is kept for it" not in told
    assert "would pay for" not in told
    limited = plan.floors[plan.floors["before"].notna()]
    assert len(limited)
    assert limited["before"].to_numpy() == pytest.approx(limited["after"].to_numpy(), rel=1e-12)


def test_chances_before_have_their_bands(plan, page):
    told = section(page, SECOND, THIRD)
    for row in plan.floors[plan.floors["before"].notna()].itertuples():
        assert row.before_low <= row.before <= row.before_high
        assert band(row.before, row.before_low, row.before_high) in told
    boats = plan.vessels.iloc[0]
    assert boats["sinking_before_low"] <= boats["sinking_before"] <= boats["sinking_before_high"]
    assert "1,000 (90 %)" in section(page, "THE BOATS", paragraph(OVERDUE))


def test_all_rubber_past_its_age_is_counted_whatever_it_may_lead_to(plan):
    told = flat(budget_page(plan, 500))
    assert f"All of them: USD {price(plan.overdue['cost'].sum())}, without lifts." in told
    assert len(section(told, OVERDUE.replace(chr(10), " "), "All of them").split("renew ")) > len(
        plan.overdue
    )


def test_nobody_is_told_that_leaving_danger_pays(plan, short):
    for each in (plan, short):
        told = flat(budget_page(each, 500)).lower()
        for word in ("acceptable", "run to failure", "worth leaving", "can wait", "safe enough"):
            assert word not in told
    assert "no plan is a reason to leave them" in flat(budget_page(plan, 5))


def test_cautions_stand_at_the_foot(demo, page):
    end = flat(page)[-1300:]
    for caution in demo.trade.cautions:
        if caution.topic == "foot":
            assert caution.text in end


def test_work_has_plain_names(plan):
    named = named_work(plan, plan.frame)
    assert not named["do"].str.contains("_").any()
    assert (named.loc[named["looks"] > 1, "do"].str.contains(" times")).all()
    assert named_work(plan, plan.frame.head(0)).empty


def test_a_yard_without_hours_is_named(demo):
    page = budget_page(best_plan(demo, 8000, yard_hours=0), 3)
    assert "NO HOURS LEFT in a yard of 0 hours a month" in page
    assert "(no yard" in page


def test_the_figure_marks_the_amount_and_what_comes_first(plan):
    figure = budget_figure(plan)
    (axes,) = figure.axes
    words = " ".join(text.get_text() for text in axes.texts)
    assert "USD 8,000 averts" in words
    assert "\n".join(COMES_FIRST) in words
    curves = [line for line in axes.lines if len(line.get_xdata()) > 5]
    assert len(curves) == 2
    assert "no reason to leave" in flat(" ".join(text.get_text() for text in figure.texts))


@pytest.mark.parametrize("amount", [0, 8000, 60_000, 1_000_000])
def test_no_words_in_the_figure_print_over_the_axis_or_one_another(demo, amount):
    figure = budget_figure(best_plan(demo, amount))
    figure.canvas.draw()
    (axes,) = figure.axes
    boxes = [text.get_window_extent() for text in axes.texts]
    labels = [
        label.get_window_extent()
        for label in (*axes.get_yticklabels(), *axes.get_xticklabels())
        if label.get_text()
    ]
    assert len(boxes) == 2
    assert not boxes[0].overlaps(boxes[1])
    assert not any(box.overlaps(label) for box in boxes for label in labels)
    assert all(box.x1 <= figure.bbox.x1 for box in boxes)


def test_the_figure_of_too_little_money_says_so(short):
    words = " ".join(text.get_text() for text in budget_figure(short).axes[0].texts)
    assert "not enough for what comes first" in words


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_the_same_plan_draws_the_same_bytes(plan, tmp_path, kind):
    files = [tmp_path / f"{name}.{kind}" for name in "ab"]
    for file in files:
        write_budget_figure(file, plan)
    assert files[0].read_bytes() == files[1].read_bytes()


@pytest.fixture(scope="module")
def book(plan):
    return openpyxl.load_workbook(io.BytesIO(plan_workbook(plan)))


def test_the_book_has_a_sheet_for_each_question(book):
    assert book.sheetnames == [
        *("summary", "work", "lifts", "boats", "first", "would_pay", "instead", "next", "overdue"),
        *("no_hours", "curve"),
    ]


def test_the_book_of_too_little_money_has_every_sheet_too(short, book):
    poor = openpyxl.load_workbook(io.BytesIO(plan_workbook(short)))
    assert poor.sheetnames == book.sheetnames
    heads = {name: [cell.value for cell in poor[name][1]] for name in poor.sheetnames}
    assert heads == {name: [cell.value for cell in book[name][1]] for name in book.sheetnames}


def test_heads_are_frozen_and_say_their_units(book):
    for sheet in book:
        assert sheet.freeze_panes == "B2"
    heads = [cell.value for cell in book["work"][1]]
    assert "cost, USD, without lift" in heads
    assert "hours" in heads


def test_the_book_holds_the_whole_plan(plan, book):
    work = book["work"]
    assert work.max_row == len(plan.frame) + 1
    heads = [cell.value for cell in work[1]]
    cost = heads.index("cost, USD, without lift")
    total = sum(row[cost] for row in work.iter_rows(min_row=2, values_only=True))
    assert total == pytest.approx(plan.frame["cost"].sum())
    assert book["boats"].max_row == len(plan.vessels) + 1


@pytest.mark.parametrize("start", "=+-@")
def test_no_cell_is_taken_for_a_formula(assessed, start):
    name = f'{start}HYPERLINK("x")'
    items = [
        {"item_id": f"{start}1+1", "item_class": "shaft_packing", "installed_on": "2018", "position": name}
    ]
    result = assessed(items, boats=[{"name": name}])
    book = openpyxl.load_workbook(io.BytesIO(plan_workbook(best_plan(result, 500))))
    cells = [cell for sheet in book for row in sheet for cell in row]
    assert any(cell.value == name for cell in cells)
    assert {cell.data_type for cell in cells} <= {"s", "n", "d"}


def test_the_same_plan_makes_the_same_book(plan):
    assert plan_workbook(plan) == plan_workbook(plan)
