"""Bad spells of places: what the shipped table says, and what is refused in an organisation's own."""

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import load_trade

COLD = {
    "spell": "hard_frost",
    "label": "frost",
    "chance_low": 0.1,
    "chance_high": 0.2,
    "days": 10,
    "climate": "cold",
}
FROST = COLD | {"classes": "sea_strainer", "factor_low": 2, "factor_high": 4, "note": "", "source": "us"}
CUT = {"spell": "power_cut", "label": "cut", "chance_low": 0, "chance_high": 0.9, "days": 3, "climate": ""}
DARK = CUT | {
    "classes": "",
    "factor_low": "",
    "factor_high": "",
    "note": "",
    "source": "us",
    "status": "judgement",
}


def test_shipped_spells_leave_most_years_usual_and_say_they_are_judged(trade):
    assert set(trade.place_years) == {"power_cut", "nobody_comes", "hard_frost"}
    assert sum(row.chance_high for row in trade.place_years.values()) < 0.5
    assert {row.status for row in trade.place_years.values()} == {"judgement"}


def test_an_own_row_replaces_the_shipped_one(trade, overlay):
    own = load_trade(overlay("place_years", FROST | {"status": "judgement"})).place_years
    assert own["hard_frost"].classes == ("sea_strainer",)
    assert own["power_cut"] == trade.place_years["power_cut"]


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        (FROST | {"classes": "strainers"}, "classes must name known classes"),
        (FROST | {"factor_low": ""}, "factor_low must be given"),
        (FROST | {"factor_low": 0.5}, "factor_low must be a number from 1 up"),
        (FROST | {"spell": "flood"}, "spell must be one of power_cut, nobody_comes, hard_frost"),
        (DARK | {"classes": "bilge_pump"}, "classes must be empty: what the spell does is worked out"),
        (DARK | {"days": 0}, "days must be a number above 0"),
        (FROST | {"chance_high": 0.96}, "chance_high must leave a chance of a year without any spell"),
        (FROST | {"chance_low": 0.3}, "chance_low must not be above chance_high"),
    ],
)
def test_rows_that_cannot_be_are_refused(overlay, row, rule):
    with pytest.raises(TableError, match=rule):
        load_trade(overlay("place_years", {"status": "judgement"} | row))
