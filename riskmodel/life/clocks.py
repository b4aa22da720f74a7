"""Two clocks on one part: years and running hours, each a mechanism of its own.

H(a, u) = (a / eta_a)**beta_a + (u / eta_u)**beta_u. A failure of unknown cause belongs to each clock in proportion to
the hazard it contributes at that moment, both in failures a year; the split is iterated with the two fits (expectation
and maximisation), so the spreads are a little too small.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.life import Life, fit_life
from riskmodel.life.posterior import most_probable
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows
from riskmodel.life.tally import tally_rows
from riskmodel.life.weibull import added_hazard, log_log

TURNS = 8
SETTLED = 5e-3
# Three-point Gauss-Hermite rule on a normal: deviates and weights.
THREE_POINTS = ((0.0, 2 / 3), (-(3.0**0.5), 1 / 6), (3.0**0.5, 1 / 6))
# Above this correlation between age and hours among the failures and survivors the clocks cannot be told apart.
ENTANGLED = 0.9


@dataclass(frozen=True)
class TwoClocks:
    """Lives by age and by hours, how the failures were shared out, and the correlation of age and hours at the end."""

    by_age: Life
    by_hours: Life
    share_by_age: FloatArray
    correlation: float

    @property
    def entangled(self) -> bool:
        """True when age and hours ran so nearly together that the data cannot say which one wears the part out."""
        return bool(abs(self.correlation) > ENTANGLED)


def fit_two_clocks(
    ages: LifeRows, hours: LifeRows, rate: FloatArray, priors: tuple[WeibullPrior, WeibullPrior]
) -> TwoClocks:
    """Both lives from rows kept on both clocks: row i of ``ages`` and of ``hours`` is the same life.

    Parameters
    ----------
    ages, hours : LifeRows
        In years and in running hours, of equal length, failed or whole alike.
    rate : (n,)
        Running hours a year of each life.
    priors : prior by age, prior by hours

    Raises
    ------
    ParameterError
        When the two do not describe the same lives.
    """
    failed = np.isfinite(ages.upper)
    if len(ages) != len(hours) or (failed != np.isfinite(hours.upper)).any():
        raise ParameterError("rows by age and by hours must describe the same lives in the same order")
    share = np.where(failed, 0.5, 0.0)
    for _ in range(TURNS):
        by_year, by_hour = _shared(ages, share, failed), _shared(hours, 1.0 - share, failed)
        modes = _mode(by_year, priors[0]), _mode(by_hour, priors[1])
        new = np.where(failed, _share_by_age(modes, (ages, hours), rate), 0.0)
        moved = float(np.abs(new - share).max(initial=0.0))
        share = new
        if moved < SETTLED:
            break
    by_age = fit_life(_shared(ages, share, failed), priors[0])
    by_hours = fit_life(_shared(hours, 1.0 - share, failed), priors[1])
    return TwoClocks(by_age, by_hours, share, _correlation(ages, hours))


def chance_by_both(by_age: FloatArray, by_hours: FloatArray) -> FloatArray:
    """Chance that either clock ends the life: 1 - (1 - p_age)(1 - p_hours), the hazards added."""
    either: FloatArray = by_age + by_hours - by_age * by_hours
    return either


def chance_by_hours(
    hours: FloatArray, running: FloatArray, shape: FloatArray, log_scale: FloatArray
) -> FloatArray:
    """Chance of failing by the hours clock while the meter runs from ``hours`` on by ``running``."""
    chance: FloatArray = -np.expm1(-added_hazard(hours, running, shape, log_scale))
    return chance


def chance_by_uncertain_hours(
    run: tuple[FloatArray, FloatArray],
    ahead: FloatArray,
    rate: FloatArray,
    rate_sd: float,
    life: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """(n, m) chance of failing by the hours clock in ``ahead`` (n,) years, averaged over the hours run a year.

    Those are log-normal about ``rate`` (n,) with log standard deviation ``rate_sd``, at three Gauss-Hermite points.
    One rate drives what was run and what is to come: ``run`` is the hours (n,) a meter tells, and the years (n,) that
    no meter tells of, on each part. Surviving so far is not held against a rate: the life's weights stand as they are.
    ``life``: shape (m,) and log scale (m,) in hours.
    """
    metered, unmetered = run
    points = THREE_POINTS if rate_sd > 0 else ((0.0, 1.0),)
    chance = np.zeros((len(rate), len(life[0])))
    for deviate, weight in points:
        hourly = rate * np.exp(deviate * rate_sd)
        hours = metered + unmetered * hourly
        chance += weight * chance_by_hours(hours[:, None], (ahead * hourly)[:, None], *life)
    return chance


def _shared(
    rows: LifeRows, share: FloatArray, failed: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> LifeRows:
    """The rows as this clock sees them: ``share`` of each failure its own, the rest ended whole by the other clock."""
    others = failed & (share < 1) & (rows.lower > rows.entry)
    lower = np.concatenate([rows.lower, rows.lower[others]])
    upper = np.concatenate([rows.upper, np.full(int(others.sum()), np.inf)])
    entry = np.concatenate([rows.entry, rows.entry[others]])
    count = np.concatenate([rows.count * np.where(failed, share, 1.0), (rows.count * (1 - share))[others]])
    return LifeRows(lower, upper, entry, count)


def _mode(rows: LifeRows, prior: WeibullPrior) -> tuple[float, float]:
    """Most probable (shape, scale): all that sharing out the failures needs."""
    shape, log_age = most_probable(tally_rows(rows), prior)
    return shape, float(np.exp(log_age - log_log(prior.quantile) / shape))


def _share_by_age(
    modes: tuple[tuple[float, float], tuple[float, float]], rows: tuple[LifeRows, LifeRows], rate: FloatArray
) -> FloatArray:
    ages, hours = (np.where(np.isfinite(r.upper), 0.5 * (r.lower + r.upper), r.lower) for r in rows)
    per_year, per_hour = _hazard(modes[0], ages), _hazard(modes[1], hours)
    share: FloatArray = per_year / np.maximum(per_year + rate * per_hour, np.finfo(float).tiny)
    return share


def _hazard(mode: tuple[float, float], age: FloatArray) -> FloatArray:
    shape, scale = mode
    safe = np.maximum(age, np.finfo(float).tiny)
    rate: FloatArray = shape / safe * np.exp(shape * (np.log(safe) - np.log(scale)))
    return rate


def _correlation(ages: LifeRows, hours: LifeRows) -> float:
    if len(ages) < 3 or np.ptp(ages.lower) == 0 or np.ptp(hours.lower) == 0:
        return 0.0
    return float(np.corrcoef(ages.lower, hours.lower)[0, 1])
