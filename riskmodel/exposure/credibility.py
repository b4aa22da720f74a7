"""What a record says beside a model: conjugate posteriors of a number of claims and of their mean size.

Greatest accuracy credibility (Bühlmann & Gisler, A Course in Credibility Theory; Klugman, Panjer & Willmot, Loss
Models: both from memory): the record's weight grows with what it holds, so few claims move little and many much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray

# Quantiles of a 90 % interval.
TAILS = (0.05, 0.95)


@dataclass(frozen=True)
class Frequency:
    """Posterior of the factor on an expected number: gamma of ``shape`` and ``rate``, before the record of mean 1.

    ``credibility`` is the record's weight: the mean is that share of seen / expected, and the rest of 1.
    """

    shape: float
    rate: float
    credibility: float

    @property
    def mean(self) -> float:
        """Its mean."""
        return self.shape / self.rate

    @property
    def sd(self) -> float:
        """Its standard deviation."""
        return float(np.sqrt(self.shape)) / self.rate

    @property
    def band(self) -> tuple[float, float]:
        """Its central 90 %."""
        from scipy.special import gammaincinv

        low, high = (float(gammaincinv(self.shape, tail)) / self.rate for tail in TAILS)
        return low, high


def gamma_poisson(expected: FloatArray, seen: int) -> Frequency | None:
    """Posterior of the factor on draws (D,) of an expected number, after ``seen``: a Poisson number's conjugate.

    The gamma before the record has mean 1 and the draws' own relative spread: shape a = mean**2 / variance. After it
    the shape is a + seen and the rate a + mean. None where nothing is expected or the draws agree: nothing can move.
    """
    mean, variance = float(expected.mean()), float(expected.var())
    if mean <= 0 or variance <= 0:
        return None
    prior = mean**2 / variance
    return Frequency(prior + seen, prior + mean, mean / (prior + mean))


def draw_factors(expected: FloatArray, found: Frequency) -> FloatArray:
    """(D,) factor on each draw, so that the draws (D,) of the number have the posterior's mean and deviation.

    The line through the draws that has both: their order stays, and all keep equal weight. No draw falls below nothing,
    for the posterior is never relatively wider than what came before it.
    """
    mean, sd = float(expected.mean()), float(expected.std())
    moved = mean * found.mean + (expected - mean) * (mean * found.sd / sd)
    return np.divide(np.maximum(moved, 0.0), expected, out=np.ones_like(expected), where=expected > 0)


@dataclass(frozen=True)
class Severity:
    """Posterior of the factor on a mean loss: log-normal with this ``mean`` and deviation ``log_sd`` of its log."""

    mean: float
    log_sd: float
    credibility: float


def log_normal_ratio(ratio: float, process: float, prior: float) -> Severity:
    """Posterior of the factor on a mean loss whose record came to ``ratio`` of it; normal-normal on the log.

    ``prior`` is the variance of the log of the modelled mean, of which the factor is 1 in the mean; ``process`` the
    variance of the record's relative to it, by which the log of a mean also falls short, by half. The mean is then
    exp(credibility (log ratio + process / 2)).
    """
    if prior <= 0 or ratio <= 0:
        return Severity(1.0, float(np.sqrt(max(prior, 0.0))), 0.0)
    credibility = prior / (prior + process)
    mean = float(np.exp(credibility * (np.log(ratio) + 0.5 * process)))
    return Severity(mean, float(np.sqrt(prior * (1.0 - credibility))), credibility)
