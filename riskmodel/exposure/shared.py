"""The year's loss under one scalar factor of mean one that all chances share."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.factor import Factor, enough_nodes, lognormal_factor
from riskmodel.exposure.factors import NEGLIGIBLE, alive
from riskmodel.exposure.kinds import kinds_of
from riskmodel.exposure.lattice import Lattice, choose_lattice, limits_at
from riskmodel.exposure.mixture import NodeMoments, mixed_distribution
from riskmodel.exposure.moments import moments
from riskmodel.exposure.nodes import NodeChances, node_exponents, scaled_chances
from riskmodel.exposure.powers import kind_power_spectra, power_spectra
from riskmodel.exposure.risks import Risks, checked_risks
from riskmodel.exposure.series import SMALL
from riskmodel.exposure.spectrum import Spectrum, spectrum_at
from riskmodel.exposure.transforms import ComplexArray, Frequencies
from riskmodel.exposure.window import bands_of

# Complex numbers held at once.
BLOCK = 2**20


def shared_factor_loss(
    probability: npt.ArrayLike,
    loss: npt.ArrayLike,
    shared: Factor,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """A year's total where one factor of mean one multiplies every chance.

    ``shared``: its nodes (factor, lognormal_factor). All else as in ``annual_loss``. Chances that stay small at
    the largest node are multiplied; of others the hazard is, with one exponent each that keeps their mean: none
    is ever clipped, and the mean loss is that without the factor. Raises ParameterError.
    """
    return _shared(checked_risks(probability, loss, weight, count), shared, step)


def lognormal_shared_loss(
    probability: npt.ArrayLike,
    loss: npt.ArrayLike,
    sd: float,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """The same for a log-normal factor of standard deviation ``sd``, with as many nodes as the curve needs."""
    risks = checked_risks(probability, loss, weight, count)
    found = moments(risks)
    return _shared(risks, lognormal_factor(sd, enough_nodes(sd, found.mean, found.variance**0.5)), step)


def factor_chances(chance: FloatArray, shared: Factor) -> NodeChances:
    """Chances (n,) at every node of a factor, their averages kept: small ones multiplied, the hazard of others."""
    table = chance[:, None] * shared.value
    large = chance * shared.value.max() > SMALL
    if large.any():
        values, cell = np.unique(chance[large], return_inverse=True)
        table[large] = _by_hazard(values, shared)[cell]
    return NodeChances(table, shared.weight)


def _by_hazard(chance: FloatArray, shared: Factor) -> FloatArray:
    """(c, z) chances whose hazard the factor multiplies, with the exponent that keeps each one's average."""
    sure = chance >= 1.0
    table = scaled_chances(chance[:, None], shared.value)
    exponent = node_exponents(table[~sure], shared.weight, chance[~sure])
    table[~sure] = scaled_chances(chance[~sure, None], exponent[:, None] * shared.value)
    table[sure] = 1.0
    return table


def _shared(risks: Risks, shared: Factor, step: float | None) -> LossDistribution:
    largest, least = float(shared.value.max()), float(shared.value.min())
    small = risks.chance * largest <= SMALL
    some, rest = risks.take(small), risks.take(~small)
    values, cell = np.unique(rest.chance, return_inverse=True)
    nodes = NodeChances(_by_hazard(values, shared), shared.weight, cell.ravel())
    ends = [int(np.argmin(shared.value)), int(np.argmax(shared.value))]
    spread = risks.chance * least * (1.0 - SMALL)
    at_ends = np.outer(risks.chance, shared.value[ends])
    if len(rest.chance):
        spread[~small] = (nodes.chance * (1.0 - nodes.chance)).min(axis=1)[nodes.cell]
        at_ends[~small] = nodes.chance[nodes.cell][:, ends]
    bands = bands_of(risks)
    numbers = np.array([bands.number(risks.times(column)) for column in at_ends.T])
    lattice = choose_lattice(risks, step, limits_at(bands.loss, numbers))
    frequencies = alive(risks, spread, lattice)
    spectra = _spectra((some, rest), nodes, shared, (lattice, frequencies))
    return mixed_distribution(risks, lattice, _moments(some, rest, nodes, shared), spectra)


def _moments(some: Risks, rest: Risks, nodes: NodeChances, shared: Factor) -> NodeMoments:
    """What the factor makes of the small chances' sums, and the others node by node."""
    small = moments(some)
    each = [moments(rest.with_chance(nodes.at(node))) for node in range(len(shared.weight))]
    value = shared.value
    mean = small.mean * value + np.array([one.mean for one in each])
    variance = small.squares * value - small.squared_means * value**2
    return NodeMoments(mean, variance + np.array([one.variance for one in each]), shared.weight)


def _spectra(
    books: tuple[Risks, Risks], nodes: NodeChances, shared: Factor, grid: tuple[Lattice, Frequencies]
) -> Iterator[Spectrum]:
    some, rest = books
    lattice, frequencies = grid
    sums = _power_sums(some, lattice, frequencies, float(shared.value.max()))
    for node, log in enumerate(_logs(sums, shared)):
        live = np.flatnonzero(log.real >= -NEGLIGIBLE)
        found = np.exp(log[live])
        if len(rest.chance):
            found = found * spectrum_at(rest.with_chance(nodes.at(node)), lattice, frequencies[live])
        yield Spectrum(frequencies[live], found)


def _logs(sums: ComplexArray, shared: Factor) -> Iterator[ComplexArray]:
    """(f,) log characteristic function of the small chances at each node, from their power sums (orders, f)."""
    order = np.arange(1, len(sums) + 1)
    signed = np.where(order % 2 == 1, 1.0, -1.0) / order * shared.value[:, None] ** order
    # As real numbers, for a product of real by complex would first make the factors complex.
    parts = sums.view(np.float64)
    size = max(1, BLOCK // max(sums.shape[1], 1))
    for start in range(0, len(signed), size):
        yield from (signed[start : start + size] @ parts).view(np.complex128)


def _power_sums(risks: Risks, lattice: Lattice, frequencies: Frequencies, largest: float) -> ComplexArray:
    if not len(risks.chance):
        return np.zeros((1, len(frequencies)), dtype=complex)
    if risks.single:
        return power_spectra(risks, lattice, frequencies, largest)
    return kind_power_spectra(kinds_of(risks, lattice), lattice, frequencies, largest)
