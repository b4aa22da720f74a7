"""The tables of severity categories and probability levels, and an organisation's own rows over them."""

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import load_trade

OWN = {"source": "our safety office", "status": "judgement"}


def test_four_categories_from_worst_to_mildest(trade):
    assert [(each.category, each.word) for each in trade.severities.values()] == [
        *((1, "Catastrophic"), (2, "Critical"), (3, "Marginal"), (4, "Negligible")),
    ]


def test_six_levels_of_which_the_last_cannot_happen(trade):
    assert [each.level for each in trade.probability_levels.values()] == list("ABCDEF")
    assert trade.probability_levels["F"].at_least is None
    assert trade.probability_levels["E"].at_least == 0.0


def test_our_scale_of_the_money_bands_says_that_it_is_ours(trade):
    limit = trade.limits["severity_money_scale"]
    assert 0 < limit.value < 1
    assert limit.status == "judgement"
    assert limit.meaning.startswith("Our tailoring")
    assert "never rescaled" in limit.meaning


def test_an_organisation_may_set_its_own_scale(overlay):
    own = load_trade(overlay("limits", {"limit": "severity_money_scale", "value": 0.01, **OWN}))
    assert own.limits["severity_money_scale"].value == 0.01


def test_an_organisation_may_move_a_level(overlay):
    own = load_trade(overlay("probability_levels", {"level": "D", "at_least": 1e-5, **OWN}, like=3))
    assert own.probability_levels["D"].at_least == 1e-5
    assert own.probability_levels["D"].source == "our safety office"


@pytest.mark.parametrize(
    ("table", "row", "like", "message"),
    [
        ("severity", {"word": "Awful"}, 0, "word must be one of Catastrophic, Critical"),
        ("severity", {"category": 2}, 0, "category must not repeat category"),
        ("severity", {"money_at_least": 10}, 0, "money_at_least must be above that of the next row"),
        ("severity", {"money_at_least": 10}, 3, "money_at_least must be 0 in the last row"),
        ("severity", {"category": "5"}, 0, "category must be one of 1, 2, 3, 4"),
        ("probability_levels", {"level": "G"}, 0, "level must be one of A, B, C, D, E, F"),
        ("probability_levels", {"at_least": 0.2}, 1, "at_least must be above that of the next row"),
        ("probability_levels", {"at_least": 0.001}, 5, "at_least must be empty for level F and for no other"),
        ("probability_levels", {"at_least": ""}, 2, "at_least must be empty for level F and for no other"),
        ("probability_levels", {"at_least": 1e-9}, 4, "at_least must be 0 in the last row"),
        ("probability_levels", {"critical": "Fine"}, 0, "critical must be one of High, Serious"),
        ("end_states", {"people_severity": "Bad"}, 0, "people_severity must be one of Catastrophic"),
        ("end_states", {"value_share_high": 1}, 0, "value_share_high must be a number from 0 to 0.99"),
        ("end_states", {"repair_log_sd": 0}, 0, "repair_log_sd must be a number above 0"),
        ("end_states", {"repair_per_metre_low": 9e9}, 0, "repair_per_metre_low must not be above"),
    ],
)
def test_a_broken_rule_is_refused(overlay, table, row, like, message):
    with pytest.raises(TableError, match=message):
        load_trade(overlay(table, row, like=like))


def test_swapped_categories_are_refused(overlay):
    rows = ({"category": 2, "word": "Catastrophic"}, {"category": 1, "word": "Critical"})
    with pytest.raises(TableError, match="category must be the standard's number for the word"):
        load_trade(overlay("severity", *rows))
