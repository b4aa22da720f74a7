"""A glance proves nothing of what fails unseen; a part taken in hand, opened or tested does."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.life.history import read_history
from riskmodel.life.spans import life_spans

SWITCH = {"item_class": "float_switch", "installed_on": "2016-05-01"}
BELLOWS = {"item_class": "bellows_drive", "installed_on": "2016-05-01"}
BOATS = ({"records_from": "2016-01-01"},)


def look(date, thoroughness="", event="inspected", finding="sound"):
    return {
        **{"item_id": "I0", "date": date, "event": event, "finding": finding},
        **{"thoroughness": thoroughness},
    }


@pytest.fixture
def span(fleet_of):
    def run(*records, item=SWITCH):
        return life_spans(fleet_of([item], records, BOATS)).iloc[-1]

    return run


@pytest.fixture
def rows(fleet_of, trade, tables):
    def run(*records, item=SWITCH):
        return read_history(fleet_of([item], records, BOATS), trade.classes, tables).rows

    return run


@pytest.mark.parametrize(
    ("thoroughness", "event"), [("handled", "inspected"), ("opened", "adjusted"), ("", "tested")]
)
def test_what_was_taken_in_hand_or_tested_passed(span, thoroughness, event):
    row = span(look("2020-05-01", thoroughness, event))
    assert row["passed_on"] == row["sound_on"] == pd.Timestamp("2020-05-01")


@pytest.mark.parametrize("thoroughness", ["glanced", ""])
def test_a_glance_is_a_sound_look_that_proves_nothing(span, thoroughness):
    row = span(look("2020-05-01", thoroughness))
    assert row["sound_on"] == pd.Timestamp("2020-05-01")
    assert pd.isna(row["passed_on"])


@pytest.mark.parametrize("finding", ["suspect", "failing", "failed", "unknown", ""])
def test_only_a_sound_finding_passes(span, finding):
    assert pd.isna(span(look("2020-05-01", "opened", "tested", finding))["passed_on"])


def test_a_later_glance_does_not_take_an_earlier_test_away(span):
    row = span(look("2018-05-01", event="tested"), look("2020-05-01", "glanced"))
    assert row["passed_on"] == pd.Timestamp("2018-05-01")
    assert row["sound_on"] == pd.Timestamp("2020-05-01")


def test_a_test_of_the_part_before_proves_nothing_of_this_one(span):
    renewed = look("2019-05-01", event="replaced", finding="") | {"reason": "scheduled"}
    assert pd.isna(span(look("2018-05-01", event="tested"), renewed)["passed_on"])


def test_what_fails_unseen_is_watched_to_the_last_proof_and_no_glance(rows):
    seen = rows(look("2019-05-01", "handled"), look("2024-05-01", "glanced"))
    assert seen["lower"].item() == pytest.approx(3.0, abs=0.01)
    assert seen["upper"].item() == np.inf
    assert rows(look("2024-05-01", "glanced")).empty


def test_what_shows_itself_is_watched_to_any_look(rows):
    seen = rows(look("2019-05-01", "handled"), look("2024-05-01", "glanced"), item=BELLOWS)
    assert seen["lower"].item() == pytest.approx(8.0, abs=0.01)


def test_a_hidden_failure_may_be_as_old_as_the_last_proof(rows):
    found = look("2025-05-01", event="tested", finding="failed")
    after_glance = rows(look("2019-05-01", "handled"), look("2024-05-01", "glanced"), found)
    assert after_glance["lower"].item() == pytest.approx(3.0, abs=0.01)
    assert after_glance["upper"].item() == pytest.approx(9.0, abs=0.01)
    after_hand = rows(look("2019-05-01", "handled"), look("2024-05-01", "handled"), found)
    assert after_hand["lower"].item() == pytest.approx(8.0, abs=0.01)


def test_an_item_never_proved_has_a_longer_gap_than_one_tested(assessed):
    def gap(*records):
        return assessed([SWITCH], records, BOATS).standing["gap_years"].item()

    assert gap(look("2024-06-01", event="tested")) == pytest.approx(2.0, abs=0.01)
    assert np.isnan(gap(look("2024-06-01", "glanced")))
