"""Draws of a range have exactly the mean of the log-normal they stand for."""

import numpy as np
import pytest
from scipy import stats

from riskmodel.hypercube import WIDTH_90
from riskmodel.risk.draws import Draws


@pytest.mark.parametrize(("low", "high"), [(2.0, 8.0), (0.001, 0.4), (500.0, 90_000.0), (3.0, 3.0)])
def test_the_mean_of_a_range_is_exactly_the_log_normals(low, high):
    theirs = stats.lognorm(np.log(high / low) / WIDTH_90 or 1e-12, scale=np.sqrt(low * high)).mean()
    drawn = Draws().between("x", np.array([low]), np.array([high]))
    assert drawn.mean() == pytest.approx(theirs, rel=1e-12)


def test_ranges_drawn_together_keep_each_its_own_mean():
    low, high = np.array([1.0, 0.0, 0.2]), np.array([4.0, 8.0, 0.2])
    middle = np.sqrt(np.maximum(low, high * np.exp(-WIDTH_90)) * high)
    sd = np.array([np.log(4.0) / WIDTH_90, 1.0, 0.0])
    assert Draws().between("x", low, high).mean(axis=1) == pytest.approx(
        middle * np.exp(sd**2 / 2), rel=1e-12
    )
