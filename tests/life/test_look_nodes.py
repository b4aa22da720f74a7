"""Lengths of warning windows and chances of detection as a few values: their spreads, and what is refused."""

import numpy as np
import pytest
from scipy import stats

from riskmodel.errors import ParameterError
from riskmodel.life.looks import (
    BEST_DETECTION,
    DETECTION_NODES,
    WIDTH_90,
    detection_nodes,
    mean_window,
    window_nodes,
)


def beta_of(low, high):
    mean, sd = 0.5 * (low + high), (high - low) / WIDTH_90
    worth = max(mean * (1 - mean) / sd**2 - 1, 1 / mean, 1 / (1 - mean))
    return stats.beta(mean * worth, (1 - mean) * worth)


@pytest.mark.parametrize(("low", "high"), [(0.25, 1.5), (0.008, 0.1), (2.0, 10.0)])
def test_window_nodes_carry_the_log_normals_middle_mean_and_range(low, high):
    theirs = stats.lognorm(np.log(high / low) / WIDTH_90, scale=np.sqrt(low * high))
    windows = window_nodes(low, high)
    assert windows.weight.sum() == pytest.approx(1.0)
    assert windows.weight @ np.log(windows.length) == pytest.approx(np.log(theirs.median()), abs=1e-9)
    assert windows.weight @ windows.length == pytest.approx(theirs.mean(), rel=2e-3)
    assert windows.weight[windows.length < low].sum() == pytest.approx(0.05, abs=0.02)
    assert mean_window(low, high) == pytest.approx(theirs.mean(), rel=1e-12)


def test_a_window_known_for_certain_is_one_length():
    assert window_nodes(0.5, 0.5).length == pytest.approx(np.full(25, 0.5))
    assert mean_window(0.5, 0.5) == pytest.approx(0.5)


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.5), (0.6, 0.9), (0.02, 0.1)])
def test_detection_nodes_are_quantiles_of_the_beta(low, high):
    places = (np.arange(DETECTION_NODES) + 0.5) / DETECTION_NODES
    expected = np.minimum(beta_of(low, high).ppf(places), BEST_DETECTION)
    assert detection_nodes(low, high) == pytest.approx(expected, abs=1e-3)


def test_nobody_finds_everything():
    assert detection_nodes(0.9, 1.0).max() == BEST_DETECTION
    assert (detection_nodes(1.0, 1.0) == BEST_DETECTION).all()
    assert (detection_nodes(0.0, 0.0) == 0).all()
    assert detection_nodes(0.0, 1e-300) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-1.0, 1.0), (2.0, 1.0), (np.nan, 1.0)])
def test_a_window_must_be_a_range_above_nought(low, high):
    with pytest.raises(ParameterError, match="a warning window must satisfy 0 < low <= high, got"):
        window_nodes(low, high)


@pytest.mark.parametrize(("low", "high"), [(-0.1, 0.5), (0.5, 0.2), (0.5, 1.2), (np.nan, 0.5)])
def test_detection_must_be_a_range_of_chances(low, high):
    with pytest.raises(ParameterError, match="a detection range must satisfy 0 <= low <= high <= 1, got"):
        detection_nodes(low, high)
