"""Shares of segments in a book's mean, spread and tail: they add up, and are what the slow way finds."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure import (
    annual_loss,
    checked_risks,
    contributions,
    contributions_at_nodes,
    mixture_loss,
    node_chances,
)

LABELS = np.array(list("aabbccc"))
WEIGHT = np.array([0.3, 0.5, 0.2])


def slow_tail(years, quantile, level):
    """E[each risk's loss | a year of the tail], of the years at the quantile only as many as are needed."""
    above = sum(p for p, losses in years if losses.sum() > quantile)
    at = sum(p for p, losses in years if losses.sum() == quantile)
    beyond = sum(p * losses for p, losses in years if losses.sum() > quantile)
    on_it = sum(p * losses for p, losses in years if losses.sum() == quantile)
    return (beyond + on_it * (1 - level - above) / at) / (1 - level)


@pytest.mark.parametrize("outcomes", [1, 2])
@pytest.mark.parametrize(
    "chance", [[0.02, 0.05, 0.01, 0.03, 0.09, 0.02, 0.05], [0.02, 0.05, 0.5, 0.3, 0.9, 1.0, 0.5]]
)
@pytest.mark.parametrize("level", [0.5, 0.95])
def test_the_tail_is_shared_as_in_every_possible_year(book, every_year, chance, outcomes, level):
    _, loss, weight = book(4, risks=7, outcomes=outcomes, largest=9)
    chance = np.array(chance)
    found = contributions(checked_risks(chance, loss, weight), LABELS, level, 1.0)
    year = annual_loss(chance, loss, weight, 1.0)
    slow = slow_tail(list(every_year(chance, loss, weight)), year.quantile(level), level)
    exact = pd.Series(slow).groupby(LABELS).sum()
    np.testing.assert_allclose(found["tail_mean"], exact, atol=1e-10)
    np.testing.assert_allclose(
        found["mean"], pd.Series(chance * (loss * weight).sum(axis=1)).groupby(LABELS).sum()
    )


@pytest.mark.parametrize("outcomes", [1, 3])
def test_shares_add_up_to_the_book(outcomes):
    random = np.random.default_rng(1)
    chance, loss = random.uniform(0, 0.03, 400), random.lognormal(8, 1, (400, outcomes))
    weight = random.dirichlet(np.ones(outcomes), 400)
    found = contributions(checked_risks(chance, loss, weight), random.integers(0, 6, 400), 0.98)
    year = annual_loss(chance, loss, weight)
    assert list(found.columns) == ["mean", "sd", "tail_mean"]
    assert found["mean"].sum() == pytest.approx(year.mean, rel=1e-12)
    assert found["sd"].sum() == pytest.approx(year.sd, rel=1e-12)
    assert found["tail_mean"].sum() == pytest.approx(year.tail_mean(0.98), rel=1e-9)


def test_shares_under_a_mixture_add_up_and_follow_the_nodes():
    random = np.random.default_rng(2)
    # Only the first segment feels what is shared.
    feels = np.repeat([True, False], 300)
    base = np.full((600, 1), 0.01)
    nodes = node_chances(np.where(feels[:, None], base * np.array([0.4, 0.8, 2.4]), base), WEIGHT)
    loss = random.lognormal(8, 0.5, 600)
    risks = checked_risks(nodes.average, loss, None)
    found = contributions_at_nodes(risks, nodes, np.where(feels, "shared", "alone"), 0.99)
    year = mixture_loss(nodes, loss)
    assert found["mean"].sum() == pytest.approx(year.mean, rel=1e-12)
    assert found["sd"].sum() == pytest.approx(year.sd, rel=1e-10)
    assert found["tail_mean"].sum() == pytest.approx(year.tail_mean(0.99), rel=1e-9)
    assert found.loc["shared", "tail_mean"] > 1.5 * found.loc["alone", "tail_mean"]


def test_the_share_is_what_a_little_more_of_the_segment_would_add():
    random = np.random.default_rng(3)
    chance, loss = random.uniform(0, 0.05, 60), random.integers(1, 40, 60).astype(float)
    label = np.repeat(["one", "two"], 30)
    found = contributions(checked_risks(chance, loss, None), label, 0.9, 0.01)
    more = 0.01
    scaled = [
        annual_loss(chance, np.where(label == "one", loss * (1 + d), loss), step=0.01) for d in (-more, more)
    ]
    spread = (scaled[1].sd - scaled[0].sd) / (2 * more)
    assert found.loc["one", "sd"] == pytest.approx(spread, rel=1e-3)
    # The tail of a step curve has kinks: its slope is that of many small ones.
    tail = (scaled[1].tail_mean(0.9) - scaled[0].tail_mean(0.9)) / (2 * more)
    assert found.loc["one", "tail_mean"] == pytest.approx(tail, rel=0.05)


def test_one_segment_is_the_book():
    found = contributions(checked_risks([0.2, 0.05], [10.0, 30.0], None), ["all", "all"], 0.9)
    year = annual_loss([0.2, 0.05], [10.0, 30.0])
    assert found.loc["all"].to_numpy() == pytest.approx([year.mean, year.sd, year.tail_mean(0.9)])


def test_counts_stand_for_rows(book):
    chance, loss, weight = book(7, risks=6, outcomes=2, most=0.4)
    count = np.array([1, 2, 3, 1, 2, 4])
    label, rows = np.array(list("aabbcc")), np.repeat(np.arange(6), count)
    one = contributions(checked_risks(chance, loss, weight, count), label, 0.95, 1.0)
    other = contributions(checked_risks(chance[rows], loss[rows], weight[rows]), label[rows], 0.95, 1.0)
    np.testing.assert_allclose(one, other, rtol=1e-10)


def test_labels_and_levels_must_fit():
    risks = checked_risks([0.1, 0.2], [1.0, 2.0], None)
    with pytest.raises(ParameterError, match="one label for each of 2 risks"):
        contributions(risks, ["a"])
    with pytest.raises(ParameterError, match="level must lie between 0 and 1"):
        contributions(risks, ["a", "b"], 1.0)
