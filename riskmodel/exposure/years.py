"""A book's year, draw by draw: the total on a money lattice by multiplying exact factors, and the largest loss."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.payouts import Payouts, on_points
from riskmodel.exposure.window import limits

ComplexArray = npt.NDArray[np.complex128]
# Points of the lattice: the step is below a hundredth of the deviation, and `errors` says what that does.
POINTS = 2**13
# Sizes of loss that the limits of a total are worked out from, each a fixed factor above the one below.
SIZES_OF_LIMITS, SPAN_OF_LIMITS = 48, 2.0**20
# Boats between two looks at which frequencies still matter.
BETWEEN_LOOKS = 8
# A modulus below this, times the points of a lattice, is below the last digit of a chance.
NEGLIGIBLE = 1e-20
# Complex numbers worked on at once.
AT_ONCE = 2**16
# Products (rows x columns x inner) from which the usual linear algebra calls in a second processor.
ONE_PROCESSOR = 2**18
# Points between nothing and the largest single loss.
LARGEST_POINTS = 1500


@dataclass(frozen=True, eq=False)
class Part:
    """A book under a cover, and the ``share`` of its boats that are so, above 0: a whole book has 1."""

    book: Book
    cover: Cover
    share: float = 1.0

    def sized(self, boat: int) -> FloatArray:
        """(D, K, SIZES) chances of one boat's losses on risk."""
        return self.book.sized(self.cover, boat)

    def payouts(self, boat: int) -> Payouts:
        """One boat's single losses (K, SIZES)."""
        return self.book.severity.payouts(self.cover).take(boat)


@dataclass(frozen=True, eq=False)
class Years:
    """Totals of a year by draw: ``pmf`` (D, points) on ``lattice``, and the transforms it came from, ``spectrum``
    (D, f) at ``frequencies`` (f,)."""

    lattice: Lattice
    pmf: FloatArray
    spectrum: ComplexArray
    frequencies: npt.NDArray[np.intp]


def years_of(parts: Sequence[Part], lattice: Lattice) -> Years:
    """The total by draw: boats are independent given a draw, and each is as in one of ``parts``, by its share.

    A boat's factor is the product over groups of end states that exclude each other of 1 + sum p (phi - 1), mixed over
    the parts. Every factor has modulus at most 1, so a frequency is dropped once it is negligible in every draw.
    """
    frequencies = np.arange(lattice.points // 2 + 1)
    draws = parts[0].book.chance.shape[2]
    spectrum = np.ones((draws, len(frequencies)), dtype=complex)
    count = parts[0].book.count
    for boat in range(parts[0].book.rows):
        groups = [boat_groups(part, boat, lattice, frequencies) for part in parts]
        for some in draw_blocks(draws, len(frequencies)):
            one = _mixed([each.share for each in parts], groups, some)
            spectrum[some] *= of_equal(one, count[boat])
        if boat % BETWEEN_LOOKS == BETWEEN_LOOKS - 1:
            kept = np.abs(spectrum).max(axis=0) > NEGLIGIBLE
            if not kept.all():
                spectrum, frequencies = spectrum[:, kept], frequencies[kept]
    return Years(lattice, _chances(spectrum, frequencies, lattice), spectrum, frequencies)


@dataclass(frozen=True, eq=False)
class Group:
    """End states of one boat that exclude each other: ``states``, their chances by size of bill ``sized`` (D, k x
    SIZES), a loss's ``mass`` (k x SIZES, m) on the lattice's first points, and its transform less 1, ``moved``."""

    states: tuple[int, ...]
    sized: FloatArray
    mass: FloatArray
    moved: ComplexArray

    def factor(self, draws: slice) -> ComplexArray:
        """(d, f) transform of what the group costs in a year."""
        found = times_real(self.sized[draws], self.moved)
        found += 1.0
        return found


def boat_groups(part: Part, boat: int, lattice: Lattice, frequencies: npt.NDArray[np.intp]) -> list[Group]:
    """The groups of one boat that can cost anything."""
    sized, payouts = part.sized(boat), part.payouts(boat)
    found = []
    for group in part.book.groups:
        states = list(group)
        mine = sized[:, states].reshape(len(sized), -1)
        paid = payouts.take(np.array(states, dtype=np.intp))
        if mine.any() and paid.most.any():
            mass = lattice_mass(paid, lattice.step)
            mass = mass.reshape(-1, mass.shape[-1])
            found.append(Group(group, mine, mass, transforms(mass, lattice, frequencies) - 1.0))
    return found


def draw_blocks(draws: int, frequencies: int) -> Iterator[slice]:
    """A few draws at a time: what is worked on stays near the processor."""
    width = max(AT_ONCE // max(frequencies, 1), 1)
    for start in range(0, draws, width):
        yield slice(start, min(start + width, draws))


def _mixed(shares: list[float], groups: list[list[Group]], draws: slice) -> ComplexArray | float:
    found: ComplexArray | float = 0.0
    for share, mine in zip(shares, groups, strict=True):
        factor: ComplexArray | float = 1.0
        for group in mine:
            factor = factor * group.factor(draws)
        found = found + share * factor if share < 1.0 else factor
    return found


def of_equal(factor: ComplexArray | float, count: float) -> ComplexArray | float:
    """The factor of ``count`` equal boats from that of one."""
    if count == 1.0:
        return factor
    # A loss may be certain to leave nothing at a frequency: its logarithm has no end, and its power is nothing.
    with np.errstate(divide="ignore", invalid="ignore"):
        found: ComplexArray = np.exp(count * np.log(np.asarray(factor, dtype=complex)))
    return np.where(np.asarray(factor) == 0.0, 0.0, found)


def _chances(spectrum: ComplexArray, frequencies: npt.NDArray[np.intp], lattice: Lattice) -> FloatArray:
    whole = np.zeros((len(spectrum), lattice.points // 2 + 1), dtype=complex)
    whole[:, frequencies] = spectrum
    turned = np.roll(np.fft.irfft(whole, lattice.points, axis=1), -(lattice.first % lattice.points), axis=1)
    return np.maximum(turned, 0.0)


def times_real(real: FloatArray, turned: ComplexArray) -> ComplexArray:
    """Product (D, f) of a real (D, k) and a complex (k, f) matrix, at half the work of two complex ones."""
    found: ComplexArray = small_product(real, turned.view(np.float64)).view(np.complex128)
    return found


def small_product(left: FloatArray, right: FloatArray) -> FloatArray:
    """Product of (d, k) and (k, m) in pieces that one processor does by itself: waiting for another costs more."""
    width = max(ONE_PROCESSOR // max(left.size, 1), 1)
    found = np.empty((len(left), right.shape[1]))
    for start in range(0, right.shape[1], width):
        np.matmul(left, right[:, start : start + width], out=found[:, start : start + width])
    return found


def lattice_mass(payouts: Payouts, step: float) -> FloatArray:
    """(..., m) chances of a loss on the points 0, step, 2 step, … up to the largest."""
    count = int(np.ceil(payouts.most.max() / step)) + 2
    return on_points(payouts, step * np.arange(count, dtype=np.float64))


def transforms(mass: FloatArray, lattice: Lattice, frequencies: npt.NDArray[np.intp]) -> ComplexArray:
    """(..., f) transforms of masses on the lattice's first points."""
    found: ComplexArray = np.fft.rfft(mass, lattice.points, axis=-1)
    # What is picked out lies scattered in memory: products want it in rows.
    return found if len(frequencies) == found.shape[-1] else np.ascontiguousarray(found[..., frequencies])


def lattice_for(parts: Sequence[Part], points: int = POINTS) -> Lattice:
    """A lattice outside which no draw's total falls but for a chance of window.OUTSIDE on either side."""
    number, sizes = expected_numbers(parts)
    if not sizes.any():
        return Lattice(1.0, 0, 2, True)
    # Slopes at which a limit is infinite are passed over.
    with np.errstate(over="ignore"):
        low, high = limits(sizes, number)
        # Room for what the lattice splits between two points.
        low, high = limits(sizes, number, spread=1.1 * float(high.max() - low.min()) / points)
    lowest, top = float(low.min()), sum(_most(part) for part in parts)
    step = (min(float(high.max()), 1.01 * top) - lowest) / (points - 4)
    return Lattice(step, int(lowest / step), points, False)


def expected_numbers(parts: Sequence[Part]) -> tuple[FloatArray, FloatArray]:
    """(D, s) expected yearly numbers of losses of about each size (s,), by draw, spread so as to widen the total."""
    most = max(float(part.book.severity.payouts(part.cover).most.max()) for part in parts)
    if most <= 0:
        return np.zeros((1, 1)), np.zeros(1)
    sizes = np.concatenate([[0.0], np.geomspace(most / SPAN_OF_LIMITS, most, SIZES_OF_LIMITS)])
    number = np.zeros((parts[0].book.chance.shape[2], len(sizes)))
    for part in parts:
        for boat, count in enumerate(part.book.count):
            sized = count * part.share * part.sized(boat)
            mass = on_points(part.payouts(boat), sizes)
            number += _by_blocks(sized.reshape(len(sized), -1), mass.reshape(-1, len(sizes)))
    return number, sizes


def largest_of(part: Part) -> tuple[FloatArray, FloatArray]:
    """Amounts (m,) and P(the largest single loss of the year is at most each) (D, m), draw by draw."""
    most = float(part.book.severity.payouts(part.cover).most.max())
    amounts = np.linspace(0.0, max(most, 1.0), LARGEST_POINTS)
    upto = np.ones((part.book.chance.shape[2], len(amounts)))
    for boat, count in enumerate(part.book.count):
        sized = part.sized(boat)
        above = part.payouts(boat).spread().exceedance(amounts)
        for group in part.book.groups:
            states = list(group)
            below = 1.0 - _by_blocks(
                sized[:, states].reshape(len(sized), -1), above[states].reshape(-1, len(amounts))
            )
            upto *= below if count == 1.0 else below**count
    return amounts, np.clip(upto, 0.0, 1.0)


def _by_blocks(left: FloatArray, right: FloatArray) -> FloatArray:
    return np.concatenate(
        [small_product(left[some], right) for some in draw_blocks(len(left), right.shape[1])]
    )


def _most(part: Part) -> float:
    """The most a book could lose: the worst of each group on every boat."""
    most = part.book.severity.payouts(part.cover).most.max(axis=2)
    return float(
        sum(most[:, list(group)].max(axis=1) @ part.book.count for group in part.book.groups if group)
    )
