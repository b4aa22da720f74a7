"""What a book loses in a year: a distribution on a money lattice, and what may be wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, fraction

# Chances are sums of hundreds of thousands of terms: a probability this close above a step of the curve is on it.
ROUNDING = 1e-12
# Return periods of the table a notebook shows, in years.
SHOWN_YEARS = (10, 100, 200, 1000)


@dataclass(frozen=True)
class LossErrors:
    """What the arithmetic of a distribution may be off by.

    ``discretisation`` [currency]: how much larger the lattice's standard deviation is than the true one; the
    mean is the same. ``moved`` [currency]: no expected excess over any amount is more than this too high. Both
    are 0 for losses that are multiples of the step. ``wrap``: chance of a year outside the lattice, counted
    inside it. ``truncation``: of any characteristic function and so of any one chance, for what is left of
    series and nodes of no weight. ``lumpiness``: of a mixture, the widest gap between neighbouring nodes'
    means, in the standard deviations that a year has at either; above 1 the curve shows the nodes.
    """

    discretisation: float = 0.0
    moved: float = 0.0
    wrap: float = 0.0
    truncation: float = 0.0
    lumpiness: float = 0.0


@dataclass(frozen=True, eq=False)
class LossDistribution:
    """A year's total loss. ``pmf`` (points,): chance of ``start`` + 0, 1, … times ``step`` [currency].

    ``mean`` and ``sd`` [currency] are the book's own, not the lattice's. ``process_sd`` is what chance alone
    makes of it, ``parameter_sd`` what the doubt about shared factors adds: sd² = process_sd² + parameter_sd².
    """

    mean: float
    sd: float
    pmf: FloatArray
    step: float
    start: float = 0.0
    process_sd: float = 0.0
    parameter_sd: float = 0.0
    errors: LossErrors = LossErrors()

    @cached_property
    def losses(self) -> FloatArray:
        """(points,) the totals the chances belong to [currency]."""
        found: FloatArray = self.start + np.arange(len(self.pmf), dtype=float) * self.step
        return found

    @cached_property
    def _upto(self) -> FloatArray:
        return np.minimum(np.cumsum(self.pmf), 1.0)

    @cached_property
    def _above(self) -> FloatArray:
        """(points + 1,) P(total >= each point), summed from the far end so that small chances keep their digits."""
        return np.concatenate([np.minimum(np.cumsum(self.pmf[::-1]), 1.0)[::-1], [0.0]])

    @cached_property
    def _money_above(self) -> FloatArray:
        """(points + 1,) E[total; total >= each point]."""
        return np.concatenate([np.cumsum((self.pmf * self.losses)[::-1])[::-1], [0.0]])

    def cdf(self, x: npt.ArrayLike) -> FloatArray:
        """P(total <= x), x [currency] of any shape."""
        place = self._place(x)
        found: FloatArray = np.where(place < 0, 0.0, self._upto[np.maximum(place, 0)])
        return found[()]

    def exceedance(self, x: npt.ArrayLike) -> FloatArray:
        """P(total > x), x [currency] of any shape: the chance in a year, its inverse the return period."""
        found: FloatArray = self._above[self._place(x) + 1]
        return found[()]

    def quantile(self, probability: npt.ArrayLike) -> FloatArray:
        """The least total of the lattice not exceeded with ``probability`` (0 to 1): value at risk [currency]."""
        found: FloatArray = self.losses[self._quantile_place(fraction("probability", probability))]
        return found[()]

    def tail_mean(self, probability: npt.ArrayLike) -> FloatArray:
        """Mean of the worst 1 - ``probability`` of years [currency].

        The coherent tail value at risk (expected shortfall of Acerbi & Tasche 2002): of the years that lose
        exactly the quantile only as many count as are needed. ``tail_mean_beyond`` takes the years that lose
        more.
        """
        wanted = fraction("probability", probability)
        place = self._quantile_place(wanted)
        beyond = self._money_above[place + 1] + self.losses[place] * (1.0 - wanted - self._above[place + 1])
        found: FloatArray = beyond / (1.0 - wanted)
        return found[()]

    def tail_mean_beyond(self, probability: npt.ArrayLike) -> FloatArray:
        """E[total | total > quantile] [currency]; the quantile itself where nothing lies beyond it."""
        place = self._quantile_place(fraction("probability", probability))
        chance = self._above[place + 1]
        some = chance > 0
        found: FloatArray = np.where(
            some, self._money_above[place + 1] / np.where(some, chance, 1.0), self.losses[place]
        )
        return found[()]

    def expected_excess(self, x: npt.ArrayLike) -> FloatArray:
        """E[max(total - x, 0)] [currency], x [currency]: what a cover of the whole book above x costs on average."""
        place = self._place(x) + 1
        found: FloatArray = self._money_above[place] - np.asarray(x, dtype=float) * self._above[place]
        return found[()]

    def curve(self, return_periods: npt.ArrayLike) -> FloatArray:
        """The total exceeded once in so many years on average [currency]; return periods above 1 year."""
        return self.quantile(1.0 - 1.0 / np.asarray(return_periods, dtype=float))

    def _place(self, x: npt.ArrayLike) -> npt.NDArray[np.int64]:
        """The last point at or below x; -1 before the first."""
        ratio = (np.asarray(x, dtype=float) - self.start) / self.step
        # The last digit of a ratio of two amounts must not move a total below itself.
        return np.clip(np.floor(ratio + 1e-9), -1, len(self.pmf) - 1).astype(np.int64)

    def _quantile_place(self, wanted: FloatArray) -> npt.NDArray[np.intp]:
        found = np.searchsorted(self._upto, wanted - ROUNDING)
        return np.minimum(found, len(self.pmf) - 1)

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{years:,}</td><td>{self.curve(years):,.0f}</td>"
            f"<td>{self.tail_mean(1.0 - 1.0 / years):,.0f}</td></tr>"
            for years in SHOWN_YEARS
        )
        return (
            f"<p>Annual loss: mean {self.mean:,.0f}, standard deviation {self.sd:,.0f} "
            f"(chance {self.process_sd:,.0f}, shared factors {self.parameter_sd:,.0f}).</p>"
            "<table><tr><th>once in … years</th><th>exceeded</th><th>mean of the worst such years</th></tr>"
            f"{rows}</table>"
        )
