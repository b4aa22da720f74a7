"""Which part of a book brings how much of its mean, spread and tail: shares that add up (Euler's allocation).

A segment's share of the tail is E[its loss | a year of the tail], by the derivative of its characteristic
function (Tasche 2004): E[X_g exp(-i w S)] is that derivative times the other segments' functions, and its sum
over the tail's totals is taken in the transform. Products are differentiated as products, so that no factor is
ever divided by.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, fraction
from riskmodel.errors import ParameterError
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.factors import alive
from riskmodel.exposure.kinds import Kinds, kinds_of, loss_transforms
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.mixture import node_moments, risks_mixture
from riskmodel.exposure.nodes import NodeChances
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.series import SMALL, log_of_small, money_of_small
from riskmodel.exposure.transforms import ComplexArray, Frequencies, transform

# Factors of more than this modulus are divided by; smaller ones are multiplied out.
SAFE = 1e-6


@dataclass(frozen=True, eq=False)
class _Dual:
    """A characteristic function and E[X exp(-i w X)] beside it, both (f,)."""

    value: ComplexArray
    money: ComplexArray

    def times(self, value: ComplexArray, money: ComplexArray) -> _Dual:
        return _Dual(self.value * value, self.money * value + self.value * money)


def contributions(
    risks: Risks, segment: npt.ArrayLike, level: float = 0.99, step: float | None = None
) -> pd.DataFrame:
    """Shares of each segment in a book of independent risks (checked_risks).

    Parameters
    ----------
    risks : Risks
    segment : (n,)
        A label for each risk.
    level : float
        The tail is the worst 1 - ``level`` of years.
    step : float, optional
        As in ``annual_loss``.

    Returns a frame by segment: ``mean``, ``sd``, ``tail_mean`` [currency], each adding up to the book's. Raises
    ParameterError as ``annual_loss`` does, and for labels that do not fit.
    """
    return contributions_at_nodes(risks, NodeChances(risks.chance[:, None], np.ones(1)), segment, level, step)


def contributions_at_nodes(
    risks: Risks, nodes: NodeChances, segment: npt.ArrayLike, level: float = 0.99, step: float | None = None
) -> pd.DataFrame:
    """The same mixed over nodes (mixture_loss); ``risks`` with their average chances."""
    label = np.asarray(segment)
    if label.shape != risks.chance.shape:
        raise ParameterError(
            f"segment must have one label for each of {len(risks.chance)} risks, got {label.shape}"
        )
    wanted = float(fraction("level", level))
    names, part = np.unique(label, return_inverse=True)
    parts = [np.flatnonzero(part == number) for number in range(len(names))]
    cell = nodes.cells_of(len(risks.chance))
    books = [(risks.take(rows), NodeChances(nodes.chance, nodes.weight, cell[rows])) for rows in parts]
    book, lattice = risks_mixture(risks, nodes, step)
    mean, sd = _closed_forms(books, book)
    spread = nodes.chance * (1.0 - nodes.chance)
    frequencies = alive(risks, spread.min(axis=1)[cell], lattice)
    tail = _tail(book, lattice, wanted)[frequencies]
    shares = np.zeros(len(books))
    for node, weight in enumerate(nodes.weight):
        for number, function in enumerate(_functions(books, node, lattice, frequencies)):
            shares[number] += weight * float((np.conj(tail) * function).real.sum())
    return pd.DataFrame(
        {"mean": mean, "sd": sd, "tail_mean": shares / (1.0 - wanted)}, index=pd.Index(names, name="segment")
    )


def _closed_forms(
    books: list[tuple[Risks, NodeChances]], book: LossDistribution
) -> tuple[FloatArray, FloatArray]:
    """Means of the segments, and their covariances with the total in units of its deviation."""
    found = [node_moments(nodes, risks) for risks, nodes in books]
    weight = found[0].weight
    means = np.array([each.mean for each in found])
    total = means.sum(axis=0)
    mean = means @ weight
    process = np.array([each.variance for each in found]) @ weight
    parameter = (means - mean[:, None]) @ (weight * (total - total @ weight))
    return mean, (process + parameter) / book.sd if book.sd > 0 else process


def _tail(book: LossDistribution, lattice: Lattice, level: float) -> ComplexArray:
    """Transform of which totals count in the tail mean, weighted so that a sum over the half is one over totals."""
    at = float(book.quantile(level))
    place = round((at - book.start) / book.step)
    counted = np.zeros(lattice.points)
    counted[place + 1 :] = 1.0
    if book.pmf[place] > 0:
        counted[place] = (1.0 - level - float(book.exceedance(at))) / book.pmf[place]
    found = transform(np.roll(counted, lattice.first % lattice.points)) * (2.0 / lattice.points)
    found[0] *= 0.5
    found[-1] *= 0.5 if lattice.points > 1 else 1.0
    return found


def _functions(
    books: list[tuple[Risks, NodeChances]], node: int, lattice: Lattice, frequencies: Frequencies
) -> Iterator[ComplexArray]:
    """(f,) for each segment in turn E[X_g exp(-i w S)]: its own derivative times all the others."""
    duals = [_dual(risks.with_chance(nodes.at(node)), lattice, frequencies) for risks, nodes in books]
    after = [np.ones(len(frequencies), dtype=complex)]
    for dual in duals[:0:-1]:
        after.append(after[-1] * dual.value)
    before = np.ones(len(frequencies), dtype=complex)
    for dual in duals:
        yield before * dual.money * after.pop()
        before = before * dual.value


def _dual(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> _Dual:
    """The function of one segment: small chances of one outcome by power sums, others factor by factor."""
    small = (risks.chance <= SMALL) & risks.single
    found = _Dual(np.ones(len(frequencies), dtype=complex), np.zeros(len(frequencies), dtype=complex))
    if small.any():
        some = risks.take(small)
        value = np.exp(log_of_small(some, lattice, frequencies))
        found = _Dual(value, value * money_of_small(some, lattice, frequencies))
    if not small.all():
        found = _times_factors(found, kinds_of(risks.take(~small), lattice), lattice, frequencies)
    return found


def _times_factors(found: _Dual, kinds: Kinds, lattice: Lattice, frequencies: Frequencies) -> _Dual:
    order = np.argsort(kinds.kind, kind="stable")
    values = loss_transforms(kinds, lattice, frequencies)
    moneys = loss_transforms(kinds, lattice, frequencies, power=1)
    for (block, turned), (_, money) in zip(values, moneys, strict=True):
        first, last = np.searchsorted(kinds.kind[order], [block.start, block.stop])
        for cells in np.array_split(order[first:last], max((last - first) // len(turned), 1)):
            rows, chance = kinds.kind[cells] - block.start, kinds.chance[cells, None]
            factor, slope = 1.0 + chance * (turned[rows] - 1.0), chance * money[rows]
            found = _times_block(found, factor, slope, kinds.count[cells])
    return found


def _times_block(found: _Dual, factor: ComplexArray, slope: ComplexArray, count: FloatArray) -> _Dual:
    """Times factors (c, f), each so often, with their derivatives."""
    if np.abs(factor).min(initial=1.0) > SAFE:
        value = (factor ** count[:, None]).prod(axis=0)
        return found.times(value, value * (count[:, None] * slope / factor).sum(axis=0))
    for each, money, often in zip(factor, slope, count, strict=True):
        fewer = each ** (often - 1.0)
        found = found.times(fewer * each, often * fewer * money)
    return found
