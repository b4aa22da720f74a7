"""A boat that nobody has written anything down about moves no figure of another's."""

import numpy as np
import pytest

from riskmodel.risk import assess

# Sums of the same numbers with noughts among them may end in another last digit.
SAME = 1e-9
NEWCOMERS = [
    {"vessel_id": "N1", "propulsion": "outboard", "value": 20000, "built_year": 2020, "climate": "cold"},
    {"vessel_id": "N2", "propulsion": "sail_shaft", "fuel": "diesel", "built_year": 1951, "climate": "hot"},
]


@pytest.fixture(scope="module")
def alone(two_boats, fleet_of):
    return assess(fleet_of(**two_boats)).frame.set_index("item_id").sort_index()


@pytest.mark.parametrize("newcomer", NEWCOMERS, ids=lambda boat: boat["vessel_id"])
def test_a_boat_without_records_moves_no_other(two_boats, fleet_of, alone, newcomer):
    boats = [*two_boats["boats"], {"water": "fresh", **newcomer}]
    joined = assess(fleet_of(**{**two_boats, "boats": boats})).frame.set_index("item_id")
    columns = alone.select_dtypes("number").columns.drop(
        ["rank", "rank_low", "rank_high", "rank_expected", "top_probability"]
    )
    np.testing.assert_allclose(joined.loc[alone.index, columns], alone[columns], rtol=SAME, atol=1e-15)
