"""The money lattice: its step and window, and what is placed on it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, poisson

from riskmodel.exposure.factors import NEGLIGIBLE, alive
from riskmodel.exposure.kinds import distinct_rows, kinds_of, loss_transforms
from riskmodel.exposure.lattice import FEWEST_POINTS, MOST_POINTS, choose_lattice, place
from riskmodel.exposure.moments import moments
from riskmodel.exposure.risks import checked_risks
from riskmodel.exposure.smoothing import closing_spread, kernel, lumpiness
from riskmodel.exposure.spectrum import spectrum_at
from riskmodel.exposure.transforms import roots
from riskmodel.exposure.window import OUTSIDE, bands_of, common_unit, limits


@given(st.lists(st.floats(0, 1e6), min_size=1, max_size=20), st.floats(0.01, 1e4))
@settings(max_examples=80, deadline=None)
def test_placing_keeps_every_mean(losses, step):
    losses = np.array(losses)
    placed = place(losses, step)
    assert ((placed.share >= 0) & (placed.share < 1)).all()
    np.testing.assert_allclose((placed.index + placed.share) * step, losses, rtol=1e-9, atol=2e-8 * step)


@pytest.mark.parametrize(
    ("values", "unit"),
    [
        ([0.05, 0.10], 0.05),
        ([100, 250, 0], 50),
        ([0, 0], 0),
        ([np.pi], 0),
        ([0.001], 0),
        ([3, 3], 3),
        ([1e17], 0),
    ],
)
def test_the_common_unit_of_amounts(values, unit):
    assert common_unit(np.array(values, dtype=float)) == pytest.approx(unit)


def test_the_common_unit_holds_for_the_last_amount_too():
    assert common_unit(np.append(np.full(5000, 500.0), 750.0)) == 250
    assert common_unit(np.append(np.full(5000, 500.0), 750.001)) == 0


@pytest.mark.parametrize(("count", "chance"), [(10_000, 0.01), (300, 0.4), (5, 1e-4)])
def test_less_than_the_promised_chance_lies_outside_the_limits(count, chance):
    risks = checked_risks([chance], [1000.0], None, [count])
    bands = bands_of(risks)
    low, high = limits(bands.loss, bands.number(risks.times(risks.chance))[None, :])
    assert binom.sf(high[0] / 1000 - 1e-9, count, chance) <= OUTSIDE
    assert binom.cdf(low[0] / 1000 - 1e-9, count, chance) <= OUTSIDE
    assert poisson.sf(high[0] / 1000 - 1e-9, count * chance) <= OUTSIDE
    # And not much room is wasted.
    assert high[0] <= 1000 * (count * chance + 14 * np.sqrt(count * chance) + 35)


def test_bands_keep_the_mean_and_widen_no_more_than_a_band():
    random = np.random.default_rng(0)
    risks = checked_risks(
        random.uniform(0, 0.1, 500), random.lognormal(8, 2, (500, 3)), random.dirichlet(np.ones(3), 500)
    )
    bands, found = bands_of(risks), moments(risks)
    number = bands.number(risks.chance)
    assert number @ bands.loss == pytest.approx(found.mean, rel=1e-12)
    assert found.squares <= number @ bands.loss**2 <= found.squares * (1 + 2.0**-16)


def test_the_whole_support_is_taken_where_it_fits():
    lattice = choose_lattice(checked_risks([0.5, 0.5], [300.0, 500.0], None), None)
    assert (lattice.step, lattice.first, lattice.points, lattice.whole) == (100, 0, 16, True)
    assert lattice.losses[-1] == 1500


def test_many_outcomes_of_many_boats_take_a_coarser_lattice_unless_a_step_is_given():
    random = np.random.default_rng(1)
    risks = checked_risks(np.full(4000, 0.005), random.lognormal(10, 1, (4000, 6)), np.full((4000, 6), 1 / 6))
    assert choose_lattice(risks, None).points == FEWEST_POINTS
    assert FEWEST_POINTS < choose_lattice(risks, 100.0).points <= MOST_POINTS


def test_frequencies_left_out_are_negligible():
    random = np.random.default_rng(2)
    for most in (0.2, 0.9):
        risks = checked_risks(
            random.uniform(0, most, 3000), random.integers(1, 200, 3000).astype(float), None
        )
        lattice = choose_lattice(risks, 1.0)
        kept = alive(risks, risks.chance * (1 - risks.chance), lattice)
        assert 0 < len(kept) < lattice.points // 2
        left = np.setdiff1d(np.arange(lattice.points // 2 + 1), kept)
        assert (
            np.abs(spectrum_at(risks, lattice, left[:: max(len(left) // 500, 1)])).max()
            <= np.exp(-NEGLIGIBLE) * 1.1
        )


@pytest.mark.parametrize("outcomes", [2, 400])
def test_transforms_of_losses_are_the_same_outcome_by_outcome_and_at_once(outcomes):
    random = np.random.default_rng(3)
    risks = checked_risks(
        [0.5, 0.5], random.uniform(0, 50, (2, outcomes)), random.dirichlet(np.ones(outcomes), 2)
    )
    lattice = choose_lattice(risks, 0.5)
    frequencies = np.arange(lattice.points // 2 + 1)
    kinds = kinds_of(risks, lattice)
    found = np.vstack([block for _, block in loss_transforms(kinds, lattice, frequencies)])
    money = np.vstack([block for _, block in loss_transforms(kinds, lattice, frequencies, power=1)])
    placed = kinds.placed
    for row in range(2):
        points = np.concatenate([placed.index[row], placed.index[row] + 1])
        mass = kinds.losses.weight[row] * np.stack([1 - placed.share[row], placed.share[row]])
        turned = roots(lattice, frequencies) ** points[:, None]
        np.testing.assert_allclose(found[row], mass.ravel() @ turned, atol=1e-11)
        np.testing.assert_allclose(money[row], (mass.ravel() * points * lattice.step) @ turned, atol=1e-9)


def test_rows_that_one_number_cannot_tell_apart_are_still_told_apart():
    root = np.sqrt(2.0) / np.sqrt(3.0)
    table = np.array([[1.0, 0.0], [0.0, root], [1.0, 0.0], [2.0, 5.0]])
    first, which = distinct_rows(table)
    np.testing.assert_array_equal(table[first][which], table)
    assert len(first) == 3


def test_kernels_keep_the_mean_and_have_no_mass_below_nought():
    risks = checked_risks([0.5], [200.0], None)
    lattice = choose_lattice(risks, 1.0)
    frequencies = np.arange(lattice.points // 2 + 1)
    for shift, half in ((0.0, 10.0), (3.4, 7.0), (20.25, 0.0)):
        centre = np.exp(-2j * np.pi / lattice.points * frequencies * 50)
        mass = np.fft.irfft(centre * kernel(lattice, frequencies, shift, half), lattice.points)
        assert mass.min() > -1e-14
        assert mass @ np.arange(lattice.points) == pytest.approx(50 + shift, rel=1e-10)
        spread = mass @ (np.arange(lattice.points) - 50 - shift) ** 2
        assert spread == pytest.approx(half**2 / 6, abs=0.45)


def test_gaps_are_measured_in_deviations_and_closed_with_the_variance_kept():
    mean, weight = np.array([10.0, 40.0, 20.0, 90.0]), np.array([0.3, 0.2, 0.4, 0.1])
    assert lumpiness(mean, np.full(4, 5.0), weight) == pytest.approx(10)
    assert lumpiness(mean, np.full(4, 5.0), np.array([0.5, 0.0, 0.5, 0.0])) == pytest.approx(2)
    assert lumpiness(mean[:1], np.ones(1), np.ones(1)) == 0
    spread = closing_spread(mean, weight, np.array([4.0, 99.0, 99.0, 99.0]))
    np.testing.assert_allclose(spread.half, [4, 50, 20, 50])
    moved = mean + spread.shift
    assert moved @ weight == pytest.approx(mean @ weight)
    variance = weight @ (moved - mean @ weight) ** 2 + weight @ spread.half**2 / 6
    assert variance == pytest.approx(weight @ (mean - mean @ weight) ** 2)
