"""The scikit-learn face of lives: its own checks, agreement with fit_life, and the forms it takes and refuses."""

import pickle
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats
from sklearn.base import clone
from sklearn.exceptions import NotFittedError
from sklearn.model_selection import GridSearchCV, cross_val_score
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import StandardScaler
from sklearn.utils.estimator_checks import parametrize_with_checks

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.estimator import WeibullLife
from riskmodel.life.predictive import log_likelihoods

# Checks that cannot pass, each with its reason; any that passes after all fails the suite (strict).
EXPECTED_FAILURES = {
    "check_regressors_train": "it asks for a share of explained variance above 0.5; score is a mean log-likelihood",
}


@parametrize_with_checks(
    [WeibullLife(), WeibullLife(5.0, 8.0)],
    expected_failed_checks=lambda _: EXPECTED_FAILURES,
    xfail_strict=True,
)
def test_scikit_learns_own_checks(estimator, check):
    check(estimator)


@pytest.fixture(scope="module")
def parts():
    """500 parts, warm ones ageing twice as fast: surroundings (frame) and lower, upper, entry."""
    random = np.random.default_rng(5)
    warm, load = random.integers(0, 2, 500).astype(float), random.normal(size=500)
    true = 12.0 * random.weibull(2.5, 500) * 0.5**warm
    entry, last = random.uniform(0, 3, 500), random.uniform(4, 14, 500)
    kept = true > entry
    upper = np.where(true <= last, true, np.inf)
    ends = np.column_stack([np.minimum(true, last), upper, entry])[kept]
    return pd.DataFrame({"warm": warm, "load": load})[kept], ends


def test_it_finds_the_rate_it_was_given(parts):
    surroundings, ends = parts
    fitted = WeibullLife(4.0, 8.0, coefficient_sd=2.0).fit(surroundings, ends)
    assert abs(fitted.ageing_rates_[0] - np.log(2)) < 3 * fitted.ageing_rates_sd_[0]
    assert abs(fitted.ageing_rates_[1]) < 3 * fitted.ageing_rates_sd_[1]
    assert fitted.feature_names_in_.tolist() == ["warm", "load"]
    assert fitted.n_features_in_ == 2


def test_rates_agree_with_the_weibull_regression_of_lifelines(parts):
    """lifelines 0.30 WeibullAFTFitter with late entry, near-flat priors here: coefficients of log life are -rates."""
    from lifelines import WeibullAFTFitter

    surroundings, ends = parts
    failed = np.isfinite(ends[:, 1])
    table = surroundings.assign(age=ends[:, 0], failed=failed, entry=ends[:, 2])
    theirs = WeibullAFTFitter().fit(table, "age", "failed", entry_col="entry").params_["lambda_"]
    ours = WeibullLife(shape=2.0, shape_log_sd=50.0, coefficient_sd=50.0).fit(surroundings, ends)
    assert -ours.ageing_rates_ == pytest.approx(theirs[["warm", "load"]].to_numpy(), abs=1e-3)


def test_without_surroundings_that_differ_it_is_fit_life(parts):
    _, ends = parts
    fitted = WeibullLife(5.0, 8.0).fit(np.ones((len(ends), 1)), ends)
    life = fit_life(LifeRows(*ends.T), WeibullPrior.from_interval(5.0, 8.0))
    assert fitted.predict([[1.0]]) == pytest.approx(life.quantile(0.5).age, rel=1e-12)
    assert fitted.predict_failure(np.ones((3, 1)), [0, 2, 9], 1.0) == pytest.approx(
        life.failure_probability([0, 2, 9], 1.0), rel=1e-12
    )
    assert fitted.flags_ == ("column 0 is constant: left out",)


def test_score_is_the_mean_log_density_of_one_known_life():
    """scipy's Weibull for exact ages, intervals and survivors, at a prior that leaves no doubt."""
    life = fit_life(LifeRows.none(), WeibullPrior(np.log(2.0), 1e-7, np.log(5.0), 1e-7))
    theirs = stats.weibull_min(*(life.mode[0], 0, life.mode[1]))
    lower, upper = np.array([3.0, 2.0, 6.0, 0.0]), np.array([3.0, 4.0, np.inf, 5.0])
    entry = np.array([1.0, 0.5, 2.0, 0.0])
    last = [theirs.pdf(3.0), theirs.cdf(4) - theirs.cdf(2), theirs.sf(6), theirs.cdf(5)]
    assert log_likelihoods(life, lower, upper, entry) == pytest.approx(
        np.log(last / theirs.sf(entry)), abs=1e-6
    )


def test_densities_of_the_score_integrate_to_one(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    density, _ = integrate.quad(lambda age: np.exp(fitted.score(parts[0][:1], [age])), 0, 80, limit=200)
    assert density == pytest.approx(1.0, abs=1e-5)


def test_scores_of_chances_add_to_one(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    ends = [[0.0, 3.0], [3.0, 9.0], [9.0, np.inf]]
    assert sum(np.exp(fitted.score(parts[0][:1], [each])) for each in ends) == pytest.approx(1.0, abs=1e-9)


def test_an_outcome_past_all_chance_scores_low_without_a_warning(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    assert fitted.score(parts[0][:1], [[1e6, np.inf]]) < -50


def test_it_stands_in_a_pipeline_and_is_cross_validated(parts):
    surroundings, ends = parts
    line = make_pipeline(StandardScaler(), WeibullLife(4.0, 8.0))
    scores = cross_val_score(line, surroundings, ends, cv=4)
    assert np.isfinite(scores).all()
    blind = cross_val_score(line, surroundings[["load"]], ends, cv=4)
    assert scores.mean() > blind.mean()


def test_a_search_prefers_the_right_trade_interval(parts):
    surroundings, ends = parts
    search = GridSearchCV(WeibullLife(4.0, shape_log_sd=0.1), {"interval_low": [0.3, 5.0]}, cv=3)
    assert search.fit(surroundings[:12], ends[:12]).best_params_ == {"interval_low": 5.0}


def test_a_clone_and_a_pickle_are_the_same_again(parts):
    fitted = WeibullLife(4.0, 8.0, coefficient_sd=1.0).fit(*parts)
    again = pickle.loads(pickle.dumps(fitted))
    assert again.predict(parts[0]).tobytes() == fitted.predict(parts[0]).tobytes()
    copy = clone(fitted)
    assert copy.get_params() == fitted.get_params()
    assert copy.fit(*parts).score(*parts) == fitted.score(*parts)


def test_every_form_of_the_ages_is_the_same(parts):
    surroundings, ends = parts
    frame = pd.DataFrame(ends[:, [2, 0, 1]], columns=["entry", "lower", "upper"])
    records = frame.to_records(index=False)
    wanted = WeibullLife(4.0, 8.0).fit(surroundings, ends).score(surroundings, ends)
    for form in (frame, records, ends.tolist()):
        assert WeibullLife(4.0, 8.0).fit(surroundings, form).score(surroundings, form) == wanted


def test_exact_ages_alone_may_be_one_column():
    ages = np.array([2.0, 4.0, 5.5, 9.0])
    one = WeibullLife(4.0).fit(np.zeros((4, 1)), ages)
    two = WeibullLife(4.0).fit(np.zeros((4, 1)), np.column_stack([ages, ages]))
    assert one.predict([[0.0]]) == two.predict([[0.0]])


def test_a_weight_is_a_number_of_parts(parts):
    surroundings, ends = parts
    some, ends = surroundings[:40], ends[:40]
    weight = np.arange(40) % 3
    one = WeibullLife(4.0).fit(some, ends, sample_weight=weight)
    repeated = np.repeat(np.arange(40), weight)
    other = WeibullLife(4.0).fit(some.iloc[repeated], ends[repeated])
    assert one.ageing_rates_ == pytest.approx(other.ageing_rates_, abs=1e-8)
    assert one.score(some, ends, weight) == pytest.approx(
        other.score(some.iloc[repeated], ends[repeated]), abs=1e-9
    )


def test_rows_without_exposure_teach_nothing(parts):
    surroundings, ends = parts
    idle = np.array([[4.0, np.inf, 4.0]])
    more = pd.concat([surroundings[:1], surroundings])
    with_idle = WeibullLife(4.0).fit(more, np.vstack([idle, ends]))
    assert with_idle.predict(surroundings) == pytest.approx(
        WeibullLife(4.0).fit(surroundings, ends).predict(surroundings)
    )


def test_survivors_alone_are_enough_with_a_trade_interval():
    fitted = WeibullLife(5.0).fit([[0.0], [1.0]], [[3.0, np.inf], [4.0, np.inf]])
    assert (fitted.predict([[0.0], [1.0]]) > 5.0).all()


def test_chances_rise_with_the_horizon_and_lie_in_bounds(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    chances = np.array([fitted.predict_failure(parts[0], 2.0, years) for years in (0.0, 0.5, 3.0, 500.0)])
    assert (np.diff(chances, axis=0) >= 0).all()
    assert (chances[0] == 0).all()
    assert ((chances >= 0) & (chances <= 1)).all()


def test_surroundings_past_all_numbers_do_not_overflow(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    assert np.isfinite(fitted.predict(parts[0] * 1e9)).all()


def test_another_unit_of_time_changes_no_chance(parts):
    surroundings, ends = parts
    years = WeibullLife(4.0, 8.0).fit(surroundings, ends)
    days = WeibullLife(4.0 * 365.25, 8.0 * 365.25).fit(surroundings, ends * 365.25)
    assert days.predict(surroundings) == pytest.approx(365.25 * years.predict(surroundings), rel=1e-6)


def test_the_order_of_the_rows_changes_nothing(parts):
    surroundings, ends = parts
    back = WeibullLife(4.0, 8.0).fit(surroundings[::-1], ends[::-1])
    assert back.predict(surroundings) == pytest.approx(
        WeibullLife(4.0, 8.0).fit(surroundings, ends).predict(surroundings)
    )


@pytest.mark.parametrize(
    ("parameters", "says"),
    [
        ({"interval_low": -1.0}, "interval must be positive with low <= high, got -1.0"),
        (
            {"interval_low": 5.0, "interval_high": 4.0},
            "interval must be positive with low <= high, got 5.0 to 4.0",
        ),
        ({"interval_high": 4.0}, "interval_high needs an interval_low, got only 4.0"),
        ({"shape": 0.0}, "shape must be positive and finite, got 0.0"),
        ({"interval_low": 5.0, "shape": np.inf}, "shape must be positive and finite, got inf"),
        ({"shape_log_sd": -0.1}, "log_shape_sd must be 0 or more, got -0.1"),
        ({"coefficient_sd": 0.0}, "coefficient_sd must be above 0, got 0.0"),
        ({"coefficient_sd": np.nan}, "coefficient_sd must be above 0, got nan"),
    ],
)
def test_parameters_that_cannot_be_are_refused(parameters, says):
    with pytest.raises(ParameterError, match=says):
        WeibullLife(**parameters).fit([[0.0], [1.0]], [2.0, 3.0])


@pytest.mark.parametrize(
    ("ages", "says"),
    [
        ([[1, 2, 0, 1], [1, 2, 0, 1]], "y must have 2 or 3 columns"),
        (
            pd.DataFrame({"from": [1, 2], "to": [2, 3]}),
            "y must have the columns lower, upper and perhaps entry",
        ),
        (np.zeros(2, dtype=[("lower", float), ("entry", float)]), "y must have the columns lower, upper"),
        ([[3.0, 2.0], [1.0, 2.0]], "row 1: lower must not be above upper, got 3.0"),
        ([[np.nan, 2.0], [1.0, 2.0]], "row 1: lower must be a finite age of 0 or more, got nan"),
        ([0.0, 2.0], "row 1: lower a failure at age 0 has no date"),
        ([-1.0, 2.0], "row 1: lower must be a finite age of 0 or more, got -1.0"),
    ],
)
def test_ages_that_cannot_be_are_refused(ages, says):
    with pytest.raises(ParameterError, match=says):
        WeibullLife(5.0).fit([[0.0], [1.0]], ages)


def test_a_flat_prior_with_survivors_only_is_refused():
    with pytest.raises(ParameterError, match="a flat prior needs at least two failures at different ages"):
        WeibullLife().fit([[0.0], [1.0]], [[2.0, np.inf], [3.0, np.inf]])


@pytest.mark.parametrize("weight", [[-1.0, 1.0], [np.nan, 1.0], [0.0, 0.0]])
def test_weights_that_cannot_be_are_refused(weight):
    with pytest.raises(ValueError, match="sample_weight must be finite, 0 or more, and above zero somewhere"):
        WeibullLife(5.0).fit([[0.0], [1.0]], [2.0, 3.0], sample_weight=weight)


def test_too_few_weights_are_refused():
    with pytest.raises(ValueError, match="sample_weight must hold 2 numbers, a row each, got 1"):
        WeibullLife(5.0).fit([[0.0], [1.0]], [2.0, 3.0], sample_weight=[1.0])


def test_surroundings_and_ages_must_be_equally_many():
    with pytest.raises(ValueError, match="inconsistent numbers of samples"):
        WeibullLife(5.0).fit([[0.0], [1.0]], [[2.0, 3.0]])


def test_an_age_below_nothing_is_refused(parts):
    fitted = WeibullLife(4.0, 8.0).fit(*parts)
    with pytest.raises(ParameterError, match=r"age must be 0 or more and finite, got -1\.0"):
        fitted.predict_failure(parts[0], -1.0, 1.0)


@pytest.mark.parametrize(
    "ask", [lambda e: e.predict([[0.0]]), lambda e: e.score([[0.0]], [1.0])], ids=["predict", "score"]
)
def test_what_was_not_fitted_answers_nothing(ask):
    with pytest.raises(NotFittedError, match="not fitted yet"):
        ask(WeibullLife(5.0))


def test_the_other_faces_of_lives_start_without_scikit_learn():
    code = "import sys, riskmodel.life, riskmodel.life.saving; sys.exit('sklearn' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
