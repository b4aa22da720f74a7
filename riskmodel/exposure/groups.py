"""What one boat may lose in a year, group by group of end states that exclude each other, and its transforms."""

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
from riskmodel.exposure.places import Places

ComplexArray = npt.NDArray[np.complex128]
Frequencies = npt.NDArray[np.intp]
# Complex numbers worked on at once.
AT_ONCE = 2**16
# Products (rows x columns x inner) from which the usual linear algebra calls in a second processor.
ONE_PROCESSOR = 2**18


@dataclass(frozen=True, eq=False)
class Part:
    """A book under a cover, and the ``share`` of its boats that are so, above 0: a whole book has 1.

    ``places``: what the boats that lie together share; None where every boat is by itself.
    """

    book: Book
    cover: Cover
    share: float = 1.0
    places: Places | None = None

    def sized(self, boat: int) -> FloatArray:
        """(D, K, SIZES) chances of one boat's losses on risk."""
        return self.book.sized(self.cover, boat)

    def payouts(self, boat: int) -> Payouts:
        """One boat's single losses (K, SIZES)."""
        return self.book.severity.payouts(self.cover).take(boat)


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


def boat_groups(part: Part, boat: int, lattice: Lattice, frequencies: Frequencies) -> list[Group]:
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


def product_of(groups: Sequence[Group], draws: slice) -> ComplexArray | float:
    """The factor of a boat that has these groups; 1 for none."""
    factor: ComplexArray | float = 1.0
    for group in groups:
        factor = factor * group.factor(draws)
    return factor


def mixed(shares: Sequence[float], factors: Sequence[ComplexArray | float]) -> ComplexArray | float:
    """Factors of a boat that is as in one of several parts, by its share."""
    found: ComplexArray | float = 0.0
    for share, factor in zip(shares, factors, strict=True):
        found = found + share * factor if share < 1.0 else factor
    return found


def of_equal(factor: ComplexArray | float, count: float) -> ComplexArray | float:
    """The factor of ``count`` equal boats, a whole number of them, from that of one."""
    left, power, found = round(count), factor, None
    # By squares: a logarithm would cost several products, and has no value where a loss leaves nothing.
    while True:
        if left & 1:
            found = power if found is None else found * power
        left >>= 1
        if not left:
            return 1.0 if found is None else found
        power = power * power


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


def transforms(mass: FloatArray, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(..., f) transforms of masses on the lattice's first points."""
    found: ComplexArray = np.fft.rfft(mass, lattice.points, axis=-1)
    # What is picked out lies scattered in memory: products want it in rows.
    return found if len(frequencies) == found.shape[-1] else np.ascontiguousarray(found[..., frequencies])


def by_blocks(left: FloatArray, right: FloatArray) -> FloatArray:
    """Product (d, m) of (d, k) and (k, m), a few draws at a time."""
    return np.concatenate(
        [small_product(left[some], right) for some in draw_blocks(len(left), right.shape[1])]
    )
