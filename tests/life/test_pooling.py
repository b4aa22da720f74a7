"""Pooling: what other classes' records say of one, what they leave alone, and the factor that fleets are told."""

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.pooling import TAU_NODES, TAU_WEIGHTS, Doubt, _fleet_grid, common_doubt, pool_lives
from riskmodel.life.prior import quantile_doubt

SHARE = 0.6
SOURCE = 0.25
USUAL = Doubt(SOURCE, 1.0)


def prior_of(interval=5.0, doubt=USUAL, shape=2.5):
    """The prior of a class seeded by renewal intervals alone, with the doubts that pooling takes apart again."""
    return WeibullPrior(
        np.log(shape), 0.3, np.log(interval), np.hypot(doubt.source, doubt.loading * common_doubt())
    )


def seen(seed, number, prior, times=1.0):
    """Records of a class whose lives run ``times`` what its interval says."""
    rng = np.random.default_rng(seed)
    shape = np.exp(prior.log_shape)
    scale = times * np.exp(prior.log_age) / (-np.log(0.9)) ** (1 / shape)
    life, end = scale * rng.weibull(shape, number), rng.uniform(0, 2 * scale, number)
    return LifeRows(np.minimum(life, end), np.where(life <= end, life, np.inf))


def fleet_of(times, classes=12, number=60, doubt=USUAL):
    """Lives of classes with records and of one without, "none", and their doubts."""
    prior = prior_of(doubt=doubt)
    lives = {f"class {k}": fit_life(seen(k, number, prior, times), prior) for k in range(classes)}
    lives["none"] = fit_life(LifeRows.none(), prior)
    return lives, dict.fromkeys(lives, doubt)


def median(life):
    return float(life.quantile(0.1).age)


def test_without_any_records_it_is_the_same_lives():
    lives = {name: fit_life(LifeRows.none(), prior_of()) for name in ("one", "other")}
    pooled = pool_lives(lives, dict.fromkeys(lives, USUAL), SHARE)
    assert pooled.lives is lives
    assert pooled.factor == (1.0, 1.0, 1.0)
    assert pooled.failures == 0


@pytest.mark.parametrize("times", [1.5, 0.67])
def test_when_all_classes_run_alike_the_factor_is_near_the_truth(times):
    pooled = pool_lives(*fleet_of(times), SHARE)
    low, middle, high = pooled.factor
    assert low < times < high
    assert middle == pytest.approx(times, rel=0.15)
    assert high / low < 2


def test_the_factor_counts_the_failures_behind_it():
    lives, doubts = fleet_of(1.0, classes=3)
    pooled = pool_lives(lives, doubts, SHARE)
    assert pooled.failures == sum(life.rows.failures for life in lives.values()) > 50


@pytest.mark.parametrize("times", [1.5, 0.67])
def test_a_class_without_records_moves_toward_what_the_others_say(times):
    lives, doubts = fleet_of(times)
    pooled = pool_lives(lives, doubts, SHARE)
    before, after = median(lives["none"]), median(pooled.lives["none"])
    assert before == pytest.approx(5, rel=0.02)
    assert abs(np.log(after / (5 * times))) < 0.4 * abs(np.log(before / (5 * times)))
    # It has less to doubt than it had: the reading of intervals is known now, its own sources are not.
    spread = {name: life.failure_interval(5.0, 1.0) for name, life in (("own", lives["none"]),)}
    own, now = (
        np.diff(np.log(spread["own"])),
        np.diff(np.log(pooled.lives["none"].failure_interval(5.0, 1.0))),
    )
    assert now[0] < own[0]


def test_a_class_with_many_records_of_its_own_hardly_moves():
    lives, doubts = fleet_of(1.5)
    prior = prior_of()
    lives["own"] = fit_life(seen(99, 3000, prior, times=0.9), prior)
    doubts["own"] = USUAL
    pooled = pool_lives(lives, doubts, SHARE)
    assert median(pooled.lives["own"]) == pytest.approx(median(lives["own"]), rel=0.01)


def test_a_class_seeded_by_typical_lives_alone_is_not_moved_and_tells_nothing():
    lives, doubts = fleet_of(1.5)
    alone = pool_lives(lives, doubts, SHARE)
    typical = WeibullPrior(np.log(2.5), 0.3, np.log(5), SOURCE)
    lives["typical"] = fit_life(seen(98, 400, typical, times=0.7), typical)
    doubts["typical"] = Doubt(SOURCE, 0.0)
    pooled = pool_lives(lives, doubts, SHARE)
    assert pooled.lives["typical"] is lives["typical"]
    assert pooled.factor == alone.factor
    assert pooled.failures == alone.failures


@pytest.mark.parametrize("times", [10.0, 0.1])
def test_a_class_in_outright_conflict_moves_no_other_and_is_not_moved(times):
    lives, doubts = fleet_of(1.0, classes=4)
    alone = pool_lives(lives, doubts, SHARE)
    lives["odd"] = fit_life(seen(97, 60, prior_of(), times), prior_of())
    doubts["odd"] = USUAL
    assert lives["odd"].conflict
    pooled = pool_lives(lives, doubts, SHARE)
    assert pooled.lives["odd"] is lives["odd"]
    assert pooled.factor == alone.factor
    assert median(pooled.lives["none"]) == median(alone.lives["none"])


def test_one_class_alone_is_learned_as_it_was():
    # delta and tau averaged over leave its prior as it was, but for the shape of the mixture's tails.
    prior = prior_of()
    lives = {"one": fit_life(seen(7, 40, prior), prior)}
    pooled = pool_lives(lives, {"one": USUAL}, SHARE)
    assert median(pooled.lives["one"]) == pytest.approx(median(lives["one"]), rel=0.01)


def test_pooling_changes_weights_only_and_they_add_to_one():
    lives, doubts = fleet_of(1.5, classes=3)
    for name, life in pool_lives(lives, doubts, SHARE).lives.items():
        assert life.nodes.weight.sum() == pytest.approx(1.0, abs=1e-12)
        assert (life.nodes.weight >= 0).all()
        assert life.nodes.log_age is lives[name].nodes.log_age
        assert life.rows is lives[name].rows


def test_the_order_of_classes_does_not_matter():
    lives, doubts = fleet_of(1.5, classes=4)
    back = dict(reversed(lives.items()))
    one, other = pool_lives(lives, doubts, SHARE), pool_lives(back, doubts, SHARE)
    assert other.factor == pytest.approx(one.factor, rel=1e-12)
    for name in lives:
        assert other.lives[name].nodes.weight == pytest.approx(one.lives[name].nodes.weight, abs=1e-14)


@pytest.mark.parametrize("unit", [365.25, 31_557_600.0])
def test_the_unit_of_time_does_not_matter(unit):
    prior, scaled = prior_of(), prior_of(5.0 * unit)
    rows = seen(3, 60, prior, 1.4)
    years = {"a": fit_life(rows, prior), "b": fit_life(LifeRows.none(), prior)}
    other = {
        "a": fit_life(LifeRows(rows.lower * unit, rows.upper * unit), scaled),
        "b": fit_life(LifeRows.none(), scaled),
    }
    doubts = dict.fromkeys(years, USUAL)
    one, two = pool_lives(years, doubts, SHARE), pool_lives(other, doubts, SHARE)
    assert two.factor == pytest.approx(one.factor, rel=1e-8)
    assert median(two.lives["b"]) / unit == pytest.approx(median(one.lives["b"]), rel=1e-8)


def test_more_of_the_doubt_in_common_lets_classes_say_more_of_each_other():
    lives, doubts = fleet_of(1.5)
    little, much = (median(pool_lives(lives, doubts, share).lives["none"]) for share in (0.1, 0.9))
    assert 5 < little < much


def test_a_class_that_doubts_the_quantile_more_is_moved_more():
    lives, doubts = fleet_of(1.5)
    for name, loading in (("firm", 0.5), ("loose", 2.0)):
        doubts[name] = Doubt(SOURCE, loading)
        lives[name] = fit_life(LifeRows.none(), prior_of(doubt=doubts[name]))
    pooled = pool_lives(lives, doubts, SHARE).lives
    moved = {name: median(pooled[name]) / median(lives[name]) for name in ("firm", "none", "loose")}
    assert 1 < moved["firm"] < moved["none"] < moved["loose"]


def test_the_grid_of_fleets_holds_the_variances_it_is_made_of():
    shifts, tau, weight = _fleet_grid(SHARE)
    variance = common_doubt() ** 2
    assert weight.sum() == pytest.approx(1.0)
    assert weight.sum(axis=1) @ shifts**2 == pytest.approx(SHARE * variance, rel=2e-3)
    assert weight.sum(axis=0) @ tau**2 == pytest.approx((1 - SHARE) * variance, rel=1e-12)
    assert TAU_WEIGHTS.sum() == pytest.approx(1.0)
    assert (np.diff(TAU_NODES) > 0).all()


def test_the_common_doubt_is_that_of_a_shape_in_the_middle_of_the_trade():
    assert common_doubt() == pytest.approx(quantile_doubt(2.5))
    assert common_doubt() == pytest.approx(0.349, abs=0.001)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.5, 2.0, np.nan])
def test_a_common_share_must_lie_between_nought_and_one(share):
    with pytest.raises(ParameterError, match="common_share must lie between 0 and 1, got"):
        pool_lives({}, {}, share)
