"""The series of small chances: sums by point, powers of split losses, and what it leaves out, against closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.exposure import annual_loss, checked_risks, lognormal_factor, shared_factor_loss
from riskmodel.exposure.lattice import Lattice, choose_lattice, place
from riskmodel.exposure.moments import errors, moments
from riskmodel.exposure.runs import order_of, runs_of
from riskmodel.exposure.series import SERIES_ERROR, SMALL
from riskmodel.exposure.spectrum import spectrum_of
from riskmodel.exposure.splits import may_matter, split_powers
from riskmodel.exposure.transforms import roots


@given(st.lists(st.tuples(st.sampled_from([0, 1, 2, 65_536, 65_537, 2**33, 2**33 + 1]), st.integers(0, 9))))
def test_sums_by_run_are_those_by_point(risks):
    index, mass = np.array([each[0] for each in risks], dtype=np.int64), [float(each[1]) for each in risks]
    order = order_of(index)
    runs = runs_of(index[order])
    found = dict.fromkeys(set(index.tolist()), 0.0)
    for point, summed in zip(runs.point.tolist(), runs.sums(np.array(mass)[order]), strict=True):
        found[point] += summed
    assert found == {point: sum(m for i, m in zip(index, mass, strict=True) if i == point) for point in found}


def test_points_of_up_to_two_keys_stand_in_one_run_each():
    random = np.random.default_rng(0)
    index = 2**16 * random.integers(0, 5, 5000) + random.integers(0, 3, 5000)
    assert len(runs_of(index[order_of(index)]).point) == len(np.unique(index))


@pytest.mark.parametrize("order", [1, 2, 3, 7])
def test_powers_of_split_losses_are_powers_of_their_transform(order):
    random = np.random.default_rng(order)
    point, share, mass = np.arange(5), random.random(5), random.random(5)
    lattice = Lattice(1.0, 0, 64, True)
    root = roots(lattice, np.arange(33))
    index, masses = split_powers(order, point, [mass * share**upper for upper in range(order + 1)])
    phi = root ** point[:, None] * (1 + share[:, None] * (root - 1))
    np.testing.assert_allclose(masses @ root ** index[:, None], mass @ phi**order, atol=1e-12)


@pytest.mark.parametrize("reach", [0.01, 0.3, 2.0])
@pytest.mark.parametrize("kept", [1, 2, 5])
def test_what_is_left_out_of_a_power_is_no_more_than_said(reach, kept):
    share = 0.8
    binomial = np.polynomial.polynomial.polypow([1.0, share], 5)
    left = [binomial[upper] * reach**upper for upper in range(kept, 6)]
    assert max(left) <= may_matter(5, kept, share ** (kept - 1), reach)
    assert may_matter(5, 6, 1.0, reach) == 0


@pytest.mark.parametrize("count", [150, 30_000])
@pytest.mark.parametrize("unit", [1.0, 0.01])
def test_the_series_leaves_out_no_more_than_it_says(count, unit):
    """Chances from one in a thousand million to the largest that go by it; few losses a year, and many."""
    random = np.random.default_rng(count)
    chance = np.minimum(10.0 ** random.uniform(-9, -0.5, count), SMALL)
    loss = np.maximum(np.round(random.lognormal(6, 1, count) / unit) * unit, unit)
    risks = checked_risks(chance, loss, None)
    lattice = choose_lattice(risks, 7.0 if unit < 1 else None)
    spectrum = spectrum_of(risks, lattice)
    some = np.unique(np.linspace(0, len(spectrum.frequencies) - 1, 60).astype(int))
    placed = place(loss, lattice.step)
    frequency = spectrum.frequencies[some][:, None]
    # Whole turns taken off first: a power of a rounded root would lose more digits than the series does.
    turned = np.exp(-2j * np.pi / lattice.points * (frequency * placed.index % lattice.points))
    turned = turned * (1 + placed.share * (roots(lattice, frequency) - 1))
    exact = np.exp(np.log1p(chance * (turned - 1)).sum(axis=1))
    # Besides what is left out, the last digits of as many losses as come in a year.
    assert np.abs(spectrum.value[some] - exact).max() <= SERIES_ERROR + 1e-15 * chance.sum()


@pytest.mark.parametrize("step", [1.0, 2.7])
def test_a_book_in_blocks_is_the_book(monkeypatch, book, step):
    chance, loss, _ = book(19, risks=60, most=0.2)
    count = np.random.default_rng(1).integers(0, 4, 60)
    risks, shared = checked_risks(chance, loss, None, count), lognormal_factor(0.3, 8)
    lattice = choose_lattice(risks, step)

    def everything():
        found = annual_loss(chance, loss, step=step, count=count)
        mixed = shared_factor_loss(chance, loss, shared, step=step, count=count)
        return found, mixed, moments(risks), errors(risks, lattice, 1.0)

    whole = everything()
    monkeypatch.setattr("riskmodel.exposure.risks.BLOCK", 7)
    blocks = everything()
    for one, other in zip(whole[:2], blocks[:2], strict=True):
        np.testing.assert_allclose(one.pmf, other.pmf, atol=1e-15)
    assert (blocks[2].mean, blocks[2].squares) == pytest.approx((whole[2].mean, whole[2].squares), rel=1e-14)
    assert blocks[3].moved == pytest.approx(whole[3].moved, rel=1e-12)
