"""What check says: every problem on a line, the rules broken often counted, and the defaults that stand in."""

from riskmodel.errors import Problem
from riskmodel.report.check import clean_page, problems_frame, problems_page
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.trade import load_trade

WRONG = [Problem("items.csv", row, "quantity", "must be 0 or more", "-1") for row in range(2, 8)]


def test_every_problem_stands_on_a_line_of_its_own():
    lines = problems_page(WRONG).splitlines()
    assert lines[:6] == [str(problem) for problem in WRONG]
    assert lines[-1] == "6 problems. Nothing was read in and nothing was written."


def test_a_rule_broken_often_is_counted():
    assert "6 times: items.csv quantity must be 0 or more" in problems_page(WRONG)
    assert "times:" not in problems_page(WRONG[:3])


def test_one_problem_is_singular():
    assert problems_page(WRONG[:1]).endswith("1 problem. Nothing was read in and nothing was written.\n")


def test_problems_as_a_frame_keep_their_five_parts():
    frame = problems_frame(WRONG)
    assert frame.columns.tolist() == ["file", "row", "column", "rule", "value"]
    assert frame["row"].tolist() == [2, 3, 4, 5, 6, 7]
    assert problems_frame(()).empty


def test_a_clean_fleet_is_counted_and_its_defaults_are_told(fleet_of):
    page = clean_page(fleet_of([{"item_class": "bilge_pump"}], boats=[{"climate": ""}]))
    assert "1 vessel, 1 item, 0 records: no problems." in page
    assert "Where the tables say nothing:" in page
    (row,) = [line for line in page.splitlines() if line.startswith("vessels  climate ")]
    assert row.split()[2:5] == ["temperate", "1", "judgement"]


def test_notes_stand_a_line_each_and_nothing_is_nothing():
    assert notes_block(["1 boat sold", "2 left out"]) == "Note: 1 boat sold.\nNote: 2 left out."
    assert notes_block([]) == ""


def test_a_note_that_ends_in_a_stop_gets_no_second(fleet_of):
    page = clean_page(fleet_of([{"item_class": "bilge_pump"}]))
    assert "alone." in page
    assert ".." not in page


def test_the_head_names_fleet_day_and_end():
    assert heading("Boats", "2026-06-01", "2027-06-01") == "Boats, seen on 2026-06-01, up to 2027-06-01."


def test_the_cautions_are_the_trades_foot_lines():
    trade = load_trade()
    block = cautions_block(trade)
    for caution in trade.cautions:
        assert (" ".join(caution.text.split()) in " ".join(block.split())) == (caution.topic == "foot")
