"""Which days a policy is on risk (inception, expiry, lay-up), and the chances that are left of those of all days."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.fleet.month_days import DAYS, day_numbers, numbers_of

Days = npt.NDArray[np.datetime64]
Mask = npt.NDArray[np.bool_]


def on_policy(inception: npt.ArrayLike, expiry: npt.ArrayLike, days: Days) -> Mask:
    """(n, m) whether each policy is on risk on each of ``days`` (m,).

    ``inception``, ``expiry`` (n,): first day on risk, first day off it; not a time (NaT) where open.
    """
    begins, ends = (np.asarray(each, dtype="datetime64[D]")[:, None] for each in (inception, expiry))
    found: Mask = (np.isnat(begins) | (days >= begins)) & (np.isnat(ends) | (days < ends))
    return found


def laid_up(first: Sequence[str], last: Sequence[str], days: Days) -> Mask:
    """(n, m) whether each of ``days`` (m,) lies in a lay-up, every year from month-day ``first`` to ``last`` (n,), both
    days in it; "" for no lay-up."""
    some = np.array([bool(each) for each in first])
    begins, ends = (day_numbers([each or "01-01" for each in texts])[:, None] for texts in (first, last))
    found: Mask = some[:, None] & ((numbers_of(days) - begins) % DAYS <= (ends - begins) % DAYS)
    return found


def share_of_days(counted: Mask, possible: Mask) -> FloatArray:
    """(n,) share of the ``possible`` days (n, m) that are ``counted``; of all days where none is possible."""
    some = possible | ~possible.any(axis=1, keepdims=True)
    found: FloatArray = (counted & some).sum(axis=1) / some.sum(axis=1)
    return found


def chance_on_risk(chance: npt.ArrayLike, share: npt.ArrayLike) -> FloatArray:
    """1 - (1 - p)**share: the chance in the days on risk, of that in all days; shapes broadcast."""
    chances, shares = not_negative("chance", chance), not_negative("share", share)
    if chances.max(initial=0.0) > 1 or shares.max(initial=0.0) > 1:
        raise ParameterError(
            f"chance and share must lie in [0, 1], got {chances.max():g} and {shares.max():g}"
        )
    certain = np.where(shares > 0, 1.0, 0.0)
    hazard = -np.log1p(-np.where(chances < 1, chances, 0.0))
    found: FloatArray = np.where(chances < 1, -np.expm1(-hazard * shares), certain)
    return found


def exclusive_on_risk(chance: FloatArray, share: FloatArray) -> FloatArray:
    """(n, k, D) chances on risk of end states that exclude each other, from those of all days and ``share`` (n, k).

    Hazards run side by side: that of any end state is what is left of theirs, each with its own share.
    """
    any_of_them = np.minimum(chance.sum(axis=1, keepdims=True), 1.0)
    part = np.divide(chance, any_of_them, out=np.zeros_like(chance), where=any_of_them > 0)
    left = part * share[:, :, None]
    whole = np.minimum(left.sum(axis=1, keepdims=True), 1.0)
    parts = np.divide(left, whole, out=np.zeros_like(left), where=whole > 0)
    found: FloatArray = parts * chance_on_risk(any_of_them, whole)
    return found
