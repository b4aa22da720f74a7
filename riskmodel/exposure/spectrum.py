"""The characteristic function of a book on its lattice, at the frequencies that matter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.exposure.factors import alive, alive_under, large_factors, log_small
from riskmodel.exposure.kinds import kinds_of
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.series import SMALL, log_at, log_of_small, order_sums, reach_of
from riskmodel.exposure.transforms import ComplexArray, Frequencies

# Between its limits a book of many losses is 15 to 30 deviations wide, and dead where |w - 1| is above some 10 steps by
# a deviation: the series is first worked out so far, by the points of the lattice and twice over, and again if need be.
LIKELY_REACH = 600.0


@dataclass(frozen=True, eq=False)
class Spectrum:
    """E exp(-i w S) ``value`` (f,) at the ``frequencies`` (f,) of a lattice's real transform; elsewhere negligible."""

    frequencies: Frequencies
    value: ComplexArray

    def whole(self, lattice: Lattice) -> ComplexArray:
        """At every frequency of the half that a real transform has."""
        found = np.zeros(lattice.points // 2 + 1, dtype=complex)
        found[self.frequencies] = self.value
        return found


def spectrum_of(risks: Risks, lattice: Lattice) -> Spectrum:
    """The total of independent risks at the frequencies where it may matter."""
    largest = float(risks.chance.max(initial=0.0))
    if risks.single and largest <= SMALL:
        return _of_small(risks, lattice, largest)
    frequencies = alive(risks, risks.chance * (1.0 - risks.chance), lattice)
    return Spectrum(frequencies, spectrum_at(risks, lattice, frequencies))


def spectrum_at(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) E exp(-i w S) of independent risks: small chances by power sums, others as exact factors."""
    if not risks.single:
        return _of_kinds(risks, lattice, frequencies, np.zeros(len(frequencies), dtype=complex))
    small = risks.chance <= SMALL
    if small.all():
        found: ComplexArray = np.exp(log_of_small(risks, lattice, frequencies))
        return found
    log = log_of_small(risks.take(small), lattice, frequencies)
    return _of_kinds(risks.take(~small), lattice, frequencies, log)


def _of_small(risks: Risks, lattice: Lattice, largest: float) -> Spectrum:
    """Small chances only, up to the ``largest``: the odds by point that the series needs say where the book dies."""
    reach = LIKELY_REACH / lattice.points
    while True:
        sums = order_sums(risks, lattice, reach)
        # p (1 - p) is the odds times (1 - p)².
        frequencies = alive_under(sums.first * (1.0 - largest) ** 2)
        needed = reach_of(lattice, frequencies)
        if needed <= reach or not sums.split:
            return Spectrum(frequencies, np.exp(log_at(sums, frequencies)))
        reach = needed


def _of_kinds(risks: Risks, lattice: Lattice, frequencies: Frequencies, log: ComplexArray) -> ComplexArray:
    """Risks grouped by kind, times what has the log characteristic function ``log`` (f,)."""
    kinds = kinds_of(risks, lattice)
    if (kinds.chance <= SMALL).any():
        log = log + log_small(kinds, lattice, frequencies)
    value: ComplexArray = np.exp(log)
    for factors, count in large_factors(kinds, lattice, frequencies):
        powered = factors if (count == 1).all() else factors ** count[:, None]
        value = value * powered.prod(axis=0)
    return value
