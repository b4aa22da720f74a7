"""The block on claims of the insurer's page, and its rows."""

from dataclasses import replace
from datetime import date

import pandas as pd
import pytest

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.report.exposure_claims import claims_block, claims_frame
from riskmodel.report.exposure_more import errors_block

CLAIMS = pd.DataFrame(
    {
        "vessel_id": ["B1", "B1", "B2", "B2"],
        "loss_on": pd.Timestamp("2024-05-02"),
        "cause": ["machinery_damage", "sinking", "machinery_damage", "rot"],
        "gross": [5000.0, 9000.0, 3000.0, 300.0],
        "paid": [4600.0, float("nan"), 2600.0, float("nan")],
    }
)


@pytest.fixture(scope="module")
def told(assessed, two_boats):
    """The answer for the two boats with these claims, of a policy that bears 400."""

    def make(claims):
        result = assessed(**two_boats, until=date(2027, 6, 1))
        settings = replace(result.fleet.settings, claims_from=None if claims is None else date(2020, 6, 1))
        frame = result.fleet.claims if claims is None else claims
        fleet = replace(result.fleet, claims=frame, settings=settings)
        exposure = exposure_of(
            replace(result, learned=replace(result.learned, fleet=fleet)), Policy(deductible=400)
        )
        return Answer(exposure, {}, pd.DataFrame(), (), {})

    return make


@pytest.fixture(scope="module")
def claimed(told):
    return told(CLAIMS)


def flat(text):
    return " ".join(text.split())


def test_the_block_says_what_was_seen_expected_and_moved(claimed):
    block = claims_block(claimed)
    assert max(map(len, block.splitlines())) <= 80
    assert "2020-06-01 (claims_from) to 2026-06-01: 12 boat-years" in flat(block)
    told = claimed.exposure.recalibration.told["machinery_damage"]
    (line,) = [line for line in block.splitlines() if line.startswith("engine or drive")]
    assert line.split()[3] == str(told.seen) == "2"
    assert f"x {told.frequency.mean:.2g} (" in line
    assert line.endswith(f"x {told.severity.mean:.2g}")


def test_the_mean_stands_there_with_and_without_the_claims(claimed):
    exposure, text = claimed.exposure, flat(claims_block(claimed))
    before, after = exposure.modelled
    assert f"USD: {before:,.0f} before terms and {after:,.0f} after by the model alone" in text
    assert f"{exposure.before.total.mean:,.0f} and {exposure.after.total.mean:,.0f} with the claims" in text


def test_the_terms_are_held_against_what_was_paid(claimed):
    text = flat(claims_block(claimed))
    assert "1 claim up to the deductible not counted." in text
    assert "Paid of gross: 90 % in 2 claims" in text


def test_rows_hold_the_same_figures(claimed):
    frame = claims_frame(claimed.exposure).set_index("row")
    told = claimed.exposure.recalibration.told["machinery_damage"]
    assert frame.loc["machinery_damage", "frequency"] == told.frequency.mean
    assert frame.loc["machinery_damage", "severity"] == told.severity.mean
    assert frame.loc["all", "mean_before_without_claims"] == claimed.exposure.modelled[0]
    assert frame.loc["all", "mean_before"] == claimed.exposure.before.total.mean


def test_the_sum_of_rank_is_that_of_the_model_alone(claimed, told):
    with_claims, without = errors_block(claimed), errors_block(told(None))
    gap = claimed.exposure.ranked - claimed.exposure.modelled[0]
    assert f"The mean before terms, without the claims, is `rank`'s sum less {gap:,.2f}" in flat(with_claims)
    assert f"The mean before terms is `rank`'s sum less {gap:,.2f}" in flat(without)


def test_without_claims_there_is_no_block(told):
    assert claims_block(told(None)) == ""
