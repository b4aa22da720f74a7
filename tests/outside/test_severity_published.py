"""Severity, risk words and losses against the standard, closed forms and public accident records."""

import csv
import math
from importlib.resources import files

import numpy as np
import pytest

from riskmodel.consequence.losses import loss_distribution
from riskmodel.consequence.severity import probability_level, risk_level
from riskmodel.lognormal import limited_mean
from riskmodel.trade import load_trade

TRADE = load_trade()


def reference(name):
    text = files("riskmodel.data.reference").joinpath(name).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


MATRIX = [
    (row["probability"], int(column[-1]), word)
    for row in reference("mil_std_882e_table_iii.csv")
    for column, word in row.items()
    if column != "probability"
]
ACCIDENTS = {row["first_event"]: row for row in reference("accident_severity.csv")}


def test_the_matrix_has_six_levels_and_four_categories():
    assert len(MATRIX) == 24


@pytest.mark.parametrize(("level", "category", "word"), MATRIX)
def test_each_cell_has_the_standards_word(level, category, word):
    # MIL-STD-882E (2012), Table III, from memory
    assert risk_level(level, category, TRADE) == word


@pytest.mark.parametrize(
    ("chance", "level"),
    [
        *((1.0, "A"), (0.1, "A"), (np.nextafter(0.1, 0), "B"), (0.01, "B"), (np.nextafter(0.01, 0), "C")),
        *(
            (1e-3, "C"),
            (np.nextafter(1e-3, 0), "D"),
            (1e-6, "D"),
            (np.nextafter(1e-6, 0), "E"),
            (5e-324, "E"),
        ),
        (0.0, "F"),
    ],
)
def test_levels_begin_where_the_standards_example_numbers_say(chance, level):
    # MIL-STD-882E (2012), Appendix A, Table A-II, from memory; F: incapable of occurrence, never reached by rounding
    assert probability_level(chance, TRADE) == level


def test_the_standards_own_money_bands_are_ten_million_one_million_and_a_hundred_thousand():
    # MIL-STD-882E (2012), Table I, from memory
    bands = [TRADE.severities[word].money_at_least for word in ("Catastrophic", "Critical", "Marginal")]
    assert bands == [10e6, 1e6, 100e3]


def test_limited_expected_value_of_a_log_normal():
    # closed form, by scipy and R's actuar: log-normal(mu 10, sigma 1.5), E[min(X, 50,000)]
    assert float(limited_mean(math.exp(10), 1.5, 50_000)) == pytest.approx(26163.3518551, rel=1e-11)


@pytest.mark.parametrize(
    ("end_state", "event"),
    [
        ("partial_flooding", "flooding/swamping, all"),
        ("sinking_unattended", "flooding/swamping, all"),
        ("sinking_under_way", "flooding/swamping, all"),
        ("fire_explosion", "fire/explosion (fuel), all"),
    ],
)
def test_bills_on_one_boat_spread_less_than_those_on_all_and_make_up_much_of_their_spread(end_state, event):
    # US Coast Guard accident records, public domain, computed by us; the records mix boats of every value, whose
    # values alone spread by a log-sd of about 1 (judgement). Our spreads were chosen with these in sight.
    row = ACCIDENTS[event]
    recorded = math.sqrt(2 * math.log(float(row["damage_usd_mean"]) / float(row["damage_usd_median"])))
    own = TRADE.end_states[end_state].repair_log_sd
    assert own < recorded
    assert math.hypot(own, 1.0) == pytest.approx(recorded, rel=0.1)


@pytest.mark.parametrize(
    ("end_state", "event"),
    [("sinking_under_way", "flooding/swamping, all"), ("fire_explosion", "fire/explosion (fuel), all")],
)
def test_total_losses_of_an_ordinary_boat_are_as_many_as_the_records_allow(end_state, event):
    # As above: complete losses as a share of reports, from "not said is no" to "of those that answered". Severe cases
    # are over-reported, and a flooding reported is often not a sinking: a wide check, with a fifth either way.
    row, state = ACCIDENTS[event], TRADE.end_states[end_state]
    share = float(loss_distribution(state, np.array([25_000.0]), np.array([7.0])).total_loss_share[0])
    low, high = float(row["loss_share_unknown_as_no"]), float(row["loss_share_of_answered"])
    print(f"{end_state}: {share:.2f} lost for good; records {low:.2f} to {high:.2f}")
    assert 0.8 * low <= share <= 1.2 * high


def test_damage_of_partly_flooded_boats_has_the_recorded_size():
    # As above: median 3,750, nine in ten under 25,000; ours are boats that did not sink, so not dearer than these.
    row = ACCIDENTS["flooding/swamping, all"]
    spread = loss_distribution(TRADE.end_states["partial_flooding"], np.array([25_000.0]), np.array([7.0]))
    assert 0.3 * float(row["damage_usd_median"]) < spread.median[0] < float(row["damage_usd_median"])
    assert spread.p90[0] < float(row["damage_usd_p90"])
