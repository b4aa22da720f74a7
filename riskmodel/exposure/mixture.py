"""The year's loss of risks that share what nobody knows: a mixture over nodes at which risks are independent."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.cells import cell_table, logs_at_nodes
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.factors import alive
from riskmodel.exposure.kinds import grouped
from riskmodel.exposure.lattice import Lattice, Limits, choose_lattice, limited_lattice, limits_at
from riskmodel.exposure.moments import errors
from riskmodel.exposure.nodes import NodeChances, node_weights
from riskmodel.exposure.risks import Risks, checked_risks
from riskmodel.exposure.series import SMALL
from riskmodel.exposure.smoothing import Spread, closing_spread, kernel, lumpiness
from riskmodel.exposure.spectrum import Spectrum, spectrum_at
from riskmodel.exposure.transforms import ComplexArray, Frequencies, chances
from riskmodel.exposure.window import bands_of, limits


@dataclass(frozen=True, eq=False)
class NodeMoments:
    """Mean and variance of the total at each node (z,) [currency], and the nodes' weights (z,)."""

    mean: FloatArray
    variance: FloatArray
    weight: FloatArray

    @property
    def lumpiness(self) -> float:
        """Widest gap between nodes, in deviations of a year at a node."""
        return lumpiness(self.mean, np.sqrt(self.variance), self.weight)


def mixture_loss(
    nodes: NodeChances,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """A year's total of risks independent at each node, mixed over the nodes.

    ``nodes``: chances (node_chances). ``loss``, ``weight``, ``step``, ``count``: as in ``annual_loss``. The
    mean is the sum over risks of their average chance times mean loss. ``errors.lumpiness`` above 1 says that
    the curve shows the nodes: if they stand for something without steps take ``continuous_mixture_loss``.
    Raises ParameterError.
    """
    return risks_mixture(_risks(nodes, loss, weight, count), nodes, step)[0]


def continuous_mixture_loss(
    nodes: NodeChances,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """The same where nodes stand for something that varies without steps: gaps between them are closed (smoothing).

    Mean and standard deviation are those of ``mixture_loss``; so is all else where no gap is wider than a
    deviation. Not for what happens or does not, such as a power cut: that has two nodes, and two lumps. Raises
    ParameterError.
    """
    risks = _risks(nodes, loss, weight, count)
    found = node_moments(nodes, risks)
    if found.lumpiness <= 1.0:
        return mixture_loss(nodes, loss, weight, step, count=count)
    bands, numbers = _bands(nodes, risks)
    spread = closing_spread(found.mean, found.weight, limits(bands, numbers)[0])
    lattice = limited_lattice(risks, step, _spread_limits(bands, numbers, spread))
    closed = _mixed((nodes, risks), lattice, found, spread)
    return replace(closed, errors=replace(closed.errors, lumpiness=0.0))


def risks_mixture(risks: Risks, nodes: NodeChances, step: float | None) -> tuple[LossDistribution, Lattice]:
    """The mixture of checked risks, and the lattice it stands on."""
    bands, numbers = _bands(nodes, risks)
    lattice = choose_lattice(risks, step, limits_at(bands, numbers))
    still = Spread(np.zeros(len(nodes.weight)), np.zeros(len(nodes.weight)))
    return _mixed((nodes, risks), lattice, node_moments(nodes, risks), still), lattice


def node_moments(nodes: NodeChances, risks: Risks) -> NodeMoments:
    """Mean and variance at each node in closed form, from sums by cell."""
    cell, cells = nodes.cells_of(len(risks.chance)), len(nodes.chance)
    mean, square = risks.mean_loss, risks.mean_square
    sums, squares, squared_means = (
        np.bincount(cell, risks.times(values), cells) for values in (mean, square, mean * mean)
    )
    variance = squares @ nodes.chance - squared_means @ nodes.chance**2
    return NodeMoments(sums @ nodes.chance, np.maximum(variance, 0.0), nodes.weight)


def mixed_distribution(
    risks: Risks, lattice: Lattice, found: NodeMoments, spectra: Iterator[Spectrum]
) -> LossDistribution:
    """The mixture of the nodes' characteristic functions, with what is known of it in closed form."""
    mixed = np.zeros(lattice.points // 2 + 1, dtype=complex)
    for weight, spectrum in zip(found.weight, spectra, strict=True):
        mixed[spectrum.frequencies] += weight * spectrum.value
    mean = float(found.weight @ found.mean)
    process = float(found.weight @ found.variance)
    parameter = float(found.weight @ (found.mean - mean) ** 2)
    return LossDistribution(
        mean=mean,
        sd=(process + parameter) ** 0.5,
        pmf=chances(mixed, lattice),
        step=lattice.step,
        start=lattice.first * lattice.step,
        process_sd=process**0.5,
        parameter_sd=parameter**0.5,
        errors=errors(risks, lattice, process + parameter, found.lumpiness),
    )


def _risks(
    nodes: NodeChances, loss: npt.ArrayLike, weight: npt.ArrayLike | None, count: npt.ArrayLike | None
) -> Risks:
    return checked_risks(nodes.average, loss, weight, count)


def _bands(nodes: NodeChances, risks: Risks) -> tuple[FloatArray, FloatArray]:
    """Sizes of loss (b,) and how many come in a year at each node (z, b)."""
    bands = bands_of(risks)
    numbers = [bands.number(risks.times(nodes.at(node))) for node in range(len(nodes.weight))]
    return bands.loss, np.array(numbers)


def _spread_limits(bands: FloatArray, numbers: FloatArray, spread: Spread) -> Limits:
    def within(split: float) -> tuple[float, float]:
        low, high = limits(bands, numbers, split)
        return (
            max(float((low + spread.shift - spread.half).min()), 0.0),
            float((high + spread.shift + spread.half).max()) + 2.0 * split,
        )

    return within


def _mixed(
    book: tuple[NodeChances, Risks], lattice: Lattice, found: NodeMoments, spread: Spread
) -> LossDistribution:
    """The nodes' characteristic functions, each with its kernel, mixed."""
    nodes, risks = book
    some = nodes.chance * (1.0 - nodes.chance)
    frequencies = alive(risks, some.min(axis=1)[nodes.cells_of(len(risks.chance))], lattice)

    def spectra() -> Iterator[Spectrum]:
        values = _values(nodes, risks, lattice, frequencies)
        for value, shift, half in zip(values, spread.shift, spread.half, strict=True):
            moved = value * kernel(lattice, frequencies, shift, half) if shift or half else value
            yield Spectrum(frequencies, moved)

    return mixed_distribution(risks, lattice, found, spectra())


def _values(
    nodes: NodeChances, risks: Risks, lattice: Lattice, frequencies: Frequencies
) -> Iterator[ComplexArray]:
    """(f,) characteristic function at each node: chances that are small at all of them in one go, others one by one."""
    cell = nodes.cells_of(len(risks.chance))
    small = (nodes.chance.max(axis=1) <= SMALL)[cell] & risks.single
    table = cell_table(risks.take(small), cell[small], len(nodes.chance), lattice.step)
    kept = np.minimum(nodes.chance, SMALL)
    rest, places = grouped(risks.take(~small), cell[~small])
    for node, log in enumerate(logs_at_nodes(table, kept, lattice, frequencies)):
        value = np.exp(log)
        if len(places):
            value = value * spectrum_at(rest.with_chance(nodes.chance[places, node]), lattice, frequencies)
        yield value


def mixture_of(distributions: list[LossDistribution], weight: npt.ArrayLike) -> LossDistribution:
    """Distributions of the same book at nodes of ``weight`` (z,), on one step, mixed.

    Raises ParameterError where their steps differ or the weights do not add to 1.
    """
    weights = node_weights(weight)
    step = distributions[0].step
    if len(weights) != len(distributions) or any(
        abs(one.step - step) > 1e-12 * step for one in distributions
    ):
        raise ParameterError(f"distributions must be {len(weights)}, all of step {step:g}")
    firsts = [round(one.start / step) for one in distributions]
    first, last = min(firsts), max(at + len(one.pmf) for at, one in zip(firsts, distributions, strict=True))
    pmf = np.zeros(last - first)
    for at, one, share in zip(firsts, distributions, weights, strict=True):
        pmf[at - first : at - first + len(one.pmf)] += share * one.pmf
    means = np.array([one.mean for one in distributions])
    mean = float(weights @ means)
    process = float(weights @ np.array([one.process_sd**2 for one in distributions]))
    parameter = float(
        weights @ (means - mean) ** 2 + weights @ [one.parameter_sd**2 for one in distributions]
    )
    worst = max((one.errors for one in distributions), key=lambda each: each.discretisation)
    lumps = lumpiness(means, np.array([one.sd for one in distributions]), weights)
    return LossDistribution(
        mean,
        (process + parameter) ** 0.5,
        pmf,
        step,
        first * step,
        process**0.5,
        parameter**0.5,
        replace(worst, lumpiness=lumps),
    )
