"""How many losses the model takes to become claims, and how large: single losses above what each boat bears."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.credibility import Severity, log_normal_ratio
from riskmodel.exposure.payouts import Payouts
from riskmodel.exposure.severities import Severities

# Points that the square of a loss is summed over, closer together where it is small.
POINTS = 200

Boats = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Losses:
    """Single losses of boats by end state, their ``rates`` (n, K, D) a year, and what each boat bears of a loss,
    ``borne`` (n,) [currency]: up to there it is no claim."""

    severity: Severities
    rates: FloatArray
    borne: FloatArray

    @property
    def uncovered(self) -> Payouts:
        """Losses before any terms."""
        return self.severity.payouts(Cover.of_all(self.severity.value, self.rates.shape[1]))

    @property
    def least(self) -> FloatArray:
        """What is borne, beside losses (n, K, SIZES)."""
        return self.borne[:, None, None]

    def of(self, boats: Boats, places: Sequence[int]) -> Losses:
        """The losses of boats (b,) in the end states at ``places``, with rates of all draws."""
        states = np.array(places, dtype=np.intp)
        rates = self.rates[boats][:, states].mean(axis=2, keepdims=True)
        return Losses(self.severity.take(boats, states), rates, self.borne[boats])


def expected_claims(losses: Losses, years: FloatArray) -> FloatArray:
    """(K, D) expected number of claims of boats watched for ``years`` (n,)."""
    likely = losses.severity.drawn(losses.uncovered.exceedance(losses.least))
    found: FloatArray = np.einsum("nkd,n->kd", losses.rates * likely, years)
    return found


def size_of_claims(losses: Losses, places: Sequence[int], claims: pd.DataFrame) -> Severity | None:
    """What the mean of claims (``boat``, ``gross``) of some end states says of the modelled; None for no claims."""
    boats, which, count = _boats(claims)
    told = losses.of(boats, places)
    number = _summed(told, told.uncovered.exceedance(told.least))
    known: npt.NDArray[np.bool_] = np.all(number > 0, axis=1)
    if not known.any():
        return None
    mean, square = (
        _summed(told, amounts)[known] / number[known] for amounts in (_amounts(told), _squares(told))
    )
    modelled = count[known] @ mean
    process = float(count[known] @ np.maximum(square - mean**2, 0.0).mean(axis=1))
    whole = float(modelled.mean())
    gross = float(claims["gross"].to_numpy(dtype=float)[known[which]].sum())
    return log_normal_ratio(gross / whole, float(np.log1p(process / whole**2)), float(np.log(modelled).var()))


def modelled_terms(
    losses: Losses, cover: Cover, places: Sequence[int], claims: pd.DataFrame
) -> tuple[float, float]:
    """What a cover would pay of claims as large as modelled, and what they come to [currency]."""
    boats, _, count = _boats(claims)
    told = losses.of(boats, places)
    number = _summed(told, told.uncovered.exceedance(told.least)).mean(axis=1)
    paid = losses.severity.payouts(cover).mean[boats][:, list(places)]
    sums = [_summed(told, each).mean(axis=1) for each in (paid, _amounts(told))]
    each = [count @ np.divide(whole, number, out=np.zeros_like(number), where=number > 0) for whole in sums]
    return float(each[0]), float(each[1])


def _boats(claims: pd.DataFrame) -> tuple[Boats, Boats, FloatArray]:
    """The boats (b,) that claims are about, which of them each claim has, and how many claims each has."""
    boats, which, count = np.unique(
        claims["boat"].to_numpy(dtype=np.intp), return_inverse=True, return_counts=True
    )
    return boats, which, count.astype(float)


def _summed(told: Losses, sized: FloatArray) -> FloatArray:
    """(b, D) amounts (b, K, SIZES) in each draw, over end states by their rates."""
    found: FloatArray = (told.rates * told.severity.drawn(sized)).sum(axis=1)
    return found


def _amounts(told: Losses) -> FloatArray:
    """(b, K, SIZES) mean of a loss where it is a claim, 0 where it is none."""
    losses, least = told.uncovered, told.least
    found: FloatArray = losses.mean - losses.mean_upto(least) + least * losses.exceedance(least)
    return np.maximum(found, 0.0)


def _squares(told: Losses) -> FloatArray:
    """(b, K, SIZES) mean of the square of a loss where it is a claim: 2 x P(loss > x), summed above what is borne."""
    losses, least = told.uncovered, told.least
    width = np.maximum(losses.most - least, 0.0)
    amounts = least[..., None] + width[..., None] * np.linspace(0.0, 1.0, POINTS + 1) ** 2
    rates = 2.0 * amounts * losses.spread().exceedance(amounts)
    summed = (0.5 * (rates[..., 1:] + rates[..., :-1]) * np.diff(amounts, axis=-1)).sum(axis=-1)
    found: FloatArray = least**2 * losses.exceedance(least) + summed
    return found
