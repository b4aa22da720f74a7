"""Small invented books, and what they lose worked out the slow way."""

import itertools

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.book import Book
from riskmodel.exposure.severities import SIZES, Severities


@pytest.fixture(scope="session")
def book():
    """Makes chances (n,), whole losses (n, k) and weights (n, k)."""

    def make(seed, risks=40, outcomes=1, most=0.1, largest=30):
        random = np.random.default_rng(seed)
        loss = random.integers(0, largest, (risks, outcomes)).astype(float)
        return random.uniform(0, most, risks), loss, random.dirichlet(np.ones(outcomes), risks)

    return make


@pytest.fixture(scope="session")
def convolved():
    """Chances of totals 0, 1, … by adding one risk after the other."""

    def convolve(chance, loss, weight):
        total = np.ones(1)
        for p, losses, weights in zip(chance, loss, weight, strict=True):
            one = np.zeros(int(losses.max()) + 1)
            one[0] = 1 - p
            np.add.at(one, losses.astype(int), p * weights)
            total = np.convolve(total, one)
        return total

    return convolve


@pytest.fixture(scope="session")
def every_year():
    """Every year a very small book can have: its chance, and what each risk loses in it."""

    def years(chance, loss, weight):
        rows = np.arange(len(chance))
        for year in itertools.product(range(loss.shape[1] + 1), repeat=len(chance)):
            happened = np.array(year)
            place, lost = np.maximum(happened - 1, 0), happened > 0
            each = np.where(lost, chance * weight[rows, place], 1 - chance)
            yield float(each.prod()), np.where(lost, loss[rows, place], 0.0)

    return years


@pytest.fixture(scope="session")
def quantiles():
    """Quantiles of chances of 0, 1, … the plain way."""

    def find(pmf, probabilities):
        upto = np.cumsum(pmf)
        return np.array([np.searchsorted(upto, p - 1e-12) for p in probabilities], dtype=float)

    return find


@pytest.fixture(scope="session")
def padded():
    """Chances at some number of points, with noughts behind; what is cut off must be nought."""

    def pad(pmf, length):
        assert np.abs(pmf[length:]).sum() < 1e-14
        found = np.zeros(length)
        found[: len(pmf)] = pmf[:length]
        return found

    return pad


@pytest.fixture(scope="session")
def plain():
    """Makes a book of boats whose losses are sure amounts (n, K), with chances (n, K, D)."""

    def make(chance, loss, groups=None, log_sd=1e-9):
        chance, loss = np.asarray(chance, dtype=float), np.asarray(loss, dtype=float)
        boats, states, _ = chance.shape
        median = np.repeat(loss[:, :, None], SIZES, axis=2)
        value = 100.0 * loss.max(axis=1)
        vessels = pd.DataFrame(
            {
                "vessel_id": [f"V{n}" for n in range(boats)],
                "value": value,
                "deductible": np.nan,
                "limit": np.nan,
            }
        )
        severity = Severities(
            median,
            np.zeros_like(median),
            np.full(states, log_sd),
            value,
            np.zeros(chance.shape, np.int8),
            0.0 * chance,
        )
        names = tuple(f"state{n}" for n in range(states))
        return Book(vessels, names, groups or tuple((n,) for n in range(states)), chance, severity)

    return make
