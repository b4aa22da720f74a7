"""The page of best intervals: 80 columns, every class and reason, and nothing that reads as leave to wait."""

import re

import numpy as np
import pytest

from riskmodel.plan import intervals_table
from riskmodel.report.intervals import intervals_page

WHERE = ("A fleet", "2026-11-02", "2027-11-15")


@pytest.fixture(scope="module")
def frame(demo):
    return intervals_table(demo)


@pytest.fixture(scope="module")
def page(demo, frame):
    return intervals_page(frame, demo.trade, WHERE, demo.notes)


def words(text):
    """The same on one line, words broken at a hyphen joined again."""
    return re.sub(r"- ", "-", re.sub(r"\s+", " ", text))


def test_the_page_keeps_to_eighty_columns(page):
    assert max(len(line) for line in page.splitlines()) <= 80


def test_every_class_and_every_reason_is_told(page, frame):
    told = words(page)
    for row in frame.itertuples():
        assert row.label.split()[0] in told
        assert words(row.words) in told
        assert words(row.look_words) in told


def test_a_reason_of_many_classes_is_told_once(page):
    assert words(page).count("money alone gives no age; keep the maker's interval") == 1


def test_where_no_age_pays_none_is_printed_and_not_a_number(page, frame):
    assert np.isinf(frame["best_age"]).any()
    assert "none" in page
    for bad in ("inf", "nan", "?"):
        assert not re.search(rf"(?<![a-z]){re.escape(bad)}(?![a-z])", page)


def test_where_no_age_is_published_a_dash_stands_for_it(page, frame):
    rows = [line for line in page.split("Trade:")[0].splitlines() if line.startswith("Drain plug")]
    cells = rows[0].removeprefix("Drain plug").split()
    assert (cells[0], cells[-1]) == ("-", "-")
    assert "no renewal age is published: by condition" in words(page)


def test_what_is_found_wanting_is_renewed_whatever_its_age(page, demo):
    told = words(page)
    assert "what is found wanting is renewed, whatever its age" in told
    for caution in demo.trade.cautions:
        if caution.topic == "foot":
            assert words(caution.text) in told
    for note in demo.notes:
        assert words(note.rstrip(".")) in told


def test_circumstances_stand_beside_the_class(demo):
    frame = intervals_table(demo, by=("kept",))
    page = intervals_page(frame[frame["item_class"] == "shaft_packing"], demo.trade, WHERE)
    assert "(afloat)" in page
    assert "(mooring)" in page
    assert max(len(line) for line in page.splitlines()) <= 80
