"""From trade intervals that disagree to one prior and one upkeep."""

import dataclasses
import math

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, fit_life
from riskmodel.life.prior import median_to_quantile, quantile_doubt
from riskmodel.life.seed import LEAST_SOURCE_SD, renewal_age, seed_class, warning_years
from riskmodel.trade import Interval

SHARES = (0.2, 0.45, 0.7)


@pytest.fixture
def made(trade):
    """A bellows of shape 3 with no warning time and the intervals given as (meaning, grade, low, high)."""

    def build(*rows, warning=(0.0, 0.0), unit="years"):
        base = trade.classes["bellows_drive"]
        intervals = tuple(Interval(base.item_class, *row, unit, "ours", "judgement", "") for row in rows)
        mechanism = dataclasses.replace(base.mechanism, shape=3.0, log_sd=0.3)
        low, high = warning
        return dataclasses.replace(
            base, intervals=intervals, mechanism=mechanism, warning_low_months=low, warning_high_months=high
        )

    return build


def test_one_renewal_interval_is_the_early_quantile_with_its_doubts(made):
    seed = seed_class(made(("renew_by", "lets_go", 5, 5)), SHARES)
    assert seed.prior.log_age == pytest.approx(math.log(5))
    assert seed.prior.log_age_sd == pytest.approx(math.hypot(quantile_doubt(3.0), 0.25))
    assert (seed.prior.log_shape, seed.prior.log_shape_sd) == (pytest.approx(math.log(3)), 0.3)
    assert seed.upkeep.renewal_age == pytest.approx(5)
    assert seed.upkeep.shares == SHARES


def test_a_typical_life_is_a_median_without_doubt_about_the_quantile(made):
    seed = seed_class(made(("typical_life", "lets_go", 12, 12)), SHARES)
    assert seed.prior.log_age == pytest.approx(math.log(12) + median_to_quantile(3.0))
    assert seed.prior.log_age_sd == pytest.approx(0.25)
    assert fit_life(LifeRows.none(), seed.prior).quantile(0.5).age == pytest.approx(12, rel=0.03)


def test_an_interval_about_needing_work_is_moved_by_the_warning_time(made):
    item = made(("renew_by", "needs_work", 5, 5), warning=(6, 24))
    assert warning_years(item) == pytest.approx(1.0)
    assert seed_class(item, SHARES).prior.log_age == pytest.approx(math.log(6))


def test_intervals_that_disagree_widen_the_prior_and_share_its_middle(made):
    seed = seed_class(made(("renew_by", "lets_go", 5, 5), ("renew_by", "lets_go", 20, 20)), SHARES)
    assert seed.prior.log_age == pytest.approx(math.log(10))
    spread = 0.5 * math.log(4) / 1.6448536
    assert seed.prior.log_age_sd == pytest.approx(math.hypot(quantile_doubt(3.0), spread))
    assert len(seed.intervals) == 2


def test_looks_and_opportunities_seed_no_life(made):
    rows = ("renew_by", "lets_go", 5, 5), ("look", "needs_work", 1, 1), ("opportunity", "needs_work", 1, 1)
    seed, alone = seed_class(made(*rows), SHARES), seed_class(made(rows[0]), SHARES)
    assert seed.prior == alone.prior
    assert len(seed.intervals) == 1


def test_doubt_about_the_quantile_counts_by_the_share_of_renewal_intervals(made):
    same = 12 * math.exp(median_to_quantile(3.0))
    rows = ("renew_by", "lets_go", same, same), ("typical_life", "lets_go", 12, 12)
    sd = seed_class(made(*rows), SHARES).prior.log_age_sd
    assert sd == pytest.approx(math.hypot(math.sqrt(0.5) * quantile_doubt(3.0), LEAST_SOURCE_SD))


def test_the_age_of_renewal_is_the_middle_of_renewal_intervals_and_else_the_typical_life(made):
    assert renewal_age(
        made(("renew_by", "lets_go", 4, 9), ("typical_life", "lets_go", 20, 30))
    ) == pytest.approx(6)
    assert renewal_age(made(("typical_life", "lets_go", 20, 45))) == pytest.approx(30)


def test_a_class_with_looks_only_or_hours_only_is_refused(made):
    with pytest.raises(ParameterError, match="bellows_drive: no renew_by or typical_life interval in years"):
        seed_class(made(("look", "needs_work", 1, 1)), SHARES)
    with pytest.raises(ParameterError, match="bellows_drive: no renew_by or typical_life interval in years"):
        seed_class(made(("renew_by", "lets_go", 300, 300), unit="hours"), SHARES)


def test_every_shipped_class_has_a_proper_prior_and_an_upkeep(trade):
    for name, item_class in trade.classes.items():
        seed = seed_class(item_class, SHARES)
        assert 0.05 <= seed.prior.log_age_sd < 1.5, name
        assert 0.1 < math.exp(seed.prior.log_age) < 60, name
        assert seed.upkeep.renewal_age > 0
        low, middle, high = fit_life(LifeRows.none(), seed.prior).quantile([0.05, 0.5, 0.95]).age
        assert 0 < low < middle < high < 400, name
        assert np.isfinite([low, middle, high]).all()
