"""Books so large that no single loss shows: against closed forms, the lattice's own year, and plain simulation."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from riskmodel.exposure.book import BOATS
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.exposed import drawn_quantiles, side_of
from riskmodel.exposure.groups import Part
from riskmodel.exposure.many import (
    MANY_LOSSES,
    closing,
    draw_moments,
    large_enough,
    many_contributions,
    many_years,
    mixed_total,
    reading_lattice,
    sized_losses,
)
from riskmodel.exposure.schedule.side import ManySide, side_of_schedule
from riskmodel.exposure.smoothing import Spread
from riskmodel.exposure.tails import contributions

TAIL = np.array([0.01, 0.1, 0.5, 0.9, 0.99, 0.999])


@pytest.fixture(scope="session")
def counted_book(plain):
    """Rows of equal boats with sure losses (n, K) and chances (n, K, D), counted."""

    def make(count, chance, loss, groups=None, log_sd=1e-9):
        made = plain(chance, loss, groups, log_sd)
        vessels = made.vessels.assign(**{BOATS: np.asarray(count, dtype=float)})
        return replace(made, vessels=vessels)

    return make


@pytest.fixture(scope="session")
def mid_size(counted_book):
    """A few hundred thousand boats of four rows, two of their end states excluding each other, in twelve draws."""
    random = np.random.default_rng(3)
    chance = random.uniform(0.002, 0.02, (4, 3, 12))
    loss = [
        [30000.0, 9000.0, 700.0],
        [52000.0, 20000.0, 400.0],
        [8000.0, 8000.0, 8000.0],
        [1500.0, 900.0, 90.0],
    ]
    return counted_book([50000, 80000, 120000, 1000], chance, loss, groups=((0, 1), (2,)), log_sd=0.8)


def of_book(book):
    part = Part(book, Cover.of_all(book.severity.value, len(book.states)))
    losses = sized_losses(part)
    found = draw_moments(part, losses)
    return part, losses, found


def years_and_spread(book):
    part, losses, found = of_book(book)
    spread = closing(found)
    return many_years(part, losses, found, reading_lattice(found, spread)), spread, found


def cover_of(book):
    return Cover.of_all(book.severity.value, len(book.states))


def moments_of(pmf, losses):
    mean = pmf @ losses
    return mean, pmf @ losses**2 - mean**2


def test_equal_boats_are_binomial(counted_book):
    """100,000 boats that lose 1000 with a chance of 1 %: the binomial, on a lattice 8 losses wide."""
    side = side_of_schedule(counted_book([100_000], [[[0.01]]], [[1000.0]]), Cover.of_all(np.array([1e5]), 1))
    assert isinstance(side, ManySide)
    wanted = 1000.0 * stats.binom.ppf(TAIL, 100_000, 0.01)
    assert side.total.step > 5000.0
    np.testing.assert_allclose(side.total.quantile(TAIL), wanted, atol=side.total.step + 1000.0)
    assert side.total.mean == pytest.approx(1e6, rel=1e-9)
    # A loss between two sizes is split between them, which is said and adds a ten-thousandth here.
    true = 1000.0 * np.sqrt(100_000 * 0.01 * 0.99)
    assert true < side.total.sd < true + side.total.errors.discretisation < 1.001 * true


def test_the_lattices_own_year_is_too_wide_at_that_size(counted_book):
    """The trap: split between two points far apart, losses of 1000 add more spread than chance does."""
    book = counted_book([10_000_000, 1], [[[0.01]], [[0.5]]], [[1000.0], [5e6]])
    side, cover = side_of(book, cover_of(book)), cover_of(book)
    true = np.sqrt(1e7 * 0.01 * 0.99 * 1000.0**2 + 0.25 * 5e6**2)
    many = draw_moments(Part(book, cover), sized_losses(Part(book, cover)))
    assert float(many.sd[0]) == pytest.approx(true, rel=3e-4)
    mean, variance = moments_of(side.total.pmf, side.total.losses)
    assert mean == pytest.approx(float(many.mean[0]), rel=1e-6)
    assert np.sqrt(variance) > 1.02 * true


def test_moments_of_every_draw(mid_size):
    """By the lattice's transform they are what they are in closed form; end states that exclude each other included."""
    years, _, found = years_and_spread(mid_size)
    book = mid_size
    mean = book.severity.drawn(np.broadcast_to(book.severity.payouts(cover_of(book)).mean, (4, 3, 5)))
    once = book.chance * mean
    np.testing.assert_allclose(found.mean, book.count @ once.sum(axis=1), rtol=1e-9)
    for draw in range(12):
        middle, variance = moments_of(years.pmf[draw], years.lattice.losses)
        assert middle == pytest.approx(found.mean[draw], rel=1e-6)
        assert variance == pytest.approx(found.sd[draw] ** 2, rel=1e-6)


def test_as_the_lattice_has_it(mid_size):
    """The same book by single losses on the lattice: one step and its own error apart."""
    side, other = side_of_schedule(mid_size, cover_of(mid_size)), side_of(mid_size, cover_of(mid_size))
    assert isinstance(side, ManySide)
    apart = side.total.step + other.total.step + other.total.errors.discretisation
    # Draw by draw: with twelve of them closing the gaps between moves the mixture.
    mine, theirs = (drawn_quantiles(each.total.losses, each.years.pmf, TAIL) for each in (side, other))
    np.testing.assert_allclose(mine, theirs, atol=apart)
    assert side.total.mean == pytest.approx(other.total.mean, rel=1e-9)
    assert side.total.sd == pytest.approx(other.total.sd, rel=1e-3)


def test_contributions_to_everything_are_mean_losses(mid_size):
    part, losses, _ = of_book(mid_size)
    years, _, _ = years_and_spread(mid_size)
    still = Spread(np.zeros(12), np.zeros(12))
    every = many_contributions(part, losses, years, np.ones(years.lattice.points), still)
    np.testing.assert_allclose(every, mid_size.mean_losses(part.cover).mean(axis=2), rtol=1e-6)


def test_contributions_to_the_worst_years(mid_size):
    """By single losses on the lattice they are the same, on one lattice and without closing gaps."""
    part, losses, _ = of_book(mid_size)
    years, _, _ = years_and_spread(mid_size)
    other = side_of(mid_size, part.cover)
    still = Spread(np.zeros(12), np.zeros(12))
    low, high = other.total.quantile(np.array([0.9, 0.97]))
    weights = [
        np.clip((each - low) / (high - low), 0.0, 1.0) for each in (years.lattice.losses, other.total.losses)
    ]
    mine = many_contributions(part, losses, years, weights[0], still)
    theirs = contributions(part, other.years, weights[1])
    np.testing.assert_allclose(mine, theirs, rtol=0.01)
    # They add up by themselves: nothing has to be shared out besides.
    assert mine.sum() == pytest.approx(
        float(years.pmf.mean(axis=0) @ (years.lattice.losses * weights[0])), rel=1e-6
    )


def test_closing_gaps_keeps_mean_and_variance(mid_size):
    years, spread, found = years_and_spread(mid_size)
    assert spread.half.any()
    middle, variance = moments_of(mixed_total(years, spread), years.lattice.losses)
    assert middle == pytest.approx(float(found.mean.mean()), rel=1e-9)
    assert variance == pytest.approx(float((found.sd**2).mean() + found.mean.var()), rel=2e-3)


def test_one_draw_has_no_gaps(counted_book):
    _, spread, _ = years_and_spread(counted_book([100_000], [[[0.01]]], [[1000.0]]))
    assert not spread.half.any()
    assert not spread.shift.any()


def test_a_lump_is_not_for_this_arithmetic(counted_book):
    """One boat in two of whose years five million are lost: its lump is no normal, and the lattice takes over."""
    book = counted_book([1_000_000, 1], [[[0.001]], [[0.5]]], [[1000.0], [5e6]])
    part, losses, found = of_book(book)
    assert large_enough(found)
    assert many_years(part, losses, found, reading_lattice(found, closing(found))) is None
    assert not isinstance(side_of_schedule(book, part.cover), ManySide)


@pytest.mark.parametrize(("boats", "large"), [(29_000, False), (31_000, True)])
def test_how_many_losses_are_many(counted_book, boats, large):
    book = counted_book([boats], [[[0.01]]], [[1000.0]])
    assert large_enough(of_book(book)[2]) is large
    assert 29_000 * 0.01 < MANY_LOSSES < 31_000 * 0.01


def test_nothing_is_paid(counted_book):
    book = counted_book([50_000], [[[0.01]]], [[1000.0]])
    cover = replace(cover_of(book), covered=np.zeros((1, 1)))
    assert side_of_schedule(book, cover).total.mean == 0.0


@pytest.mark.slow
def test_against_simulated_years(mid_size):
    """40,000 years drawn one by one, of each draw as many: quantiles within four of their deviations and a step."""
    random, years = np.random.default_rng(9), 40_000
    side = side_of_schedule(mid_size, cover_of(mid_size))
    chance, severity = mid_size.chance, mid_size.severity
    total = np.zeros(years)
    for year in range(years):
        draw = year % chance.shape[2]
        for row, boats in enumerate(mid_size.count.astype(int)):
            sinks, floods, nothing = chance[row, 0, draw], chance[row, 1, draw], chance[row, 2, draw]
            lost = (
                *random.multinomial(boats, [sinks, floods, 1 - sinks - floods])[:2],
                random.binomial(boats, nothing),
            )
            for state, number in enumerate(lost):
                bill = severity.median[row, state, 0] * np.exp(
                    severity.log_sd[state] * random.normal(size=number)
                )
                total[year] += np.minimum(bill, severity.value[row]).sum()
    for wanted in (0.1, 0.5, 0.9, 0.99):
        found = float(side.total.quantile(wanted))
        below = float((total <= found).mean())
        print(f"P(total <= {wanted:.0%} quantile) = {below:.4f}")
        assert below == pytest.approx(wanted, abs=4 * np.sqrt(wanted * (1 - wanted) / years) + 0.03)
    assert total.mean() == pytest.approx(
        side.total.mean, rel=4 * side.total.sd / side.total.mean / np.sqrt(years) + 1e-3
    )
