"""Which part of a year a policy is on risk: inception, expiry and lay-up."""

from __future__ import annotations

import datetime

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

Days = npt.NDArray[np.datetime64]


def share_on_risk(
    inception: npt.ArrayLike,
    expiry: npt.ArrayLike,
    year: tuple[datetime.date, datetime.date],
    laid_up: tuple[npt.ArrayLike, npt.ArrayLike] | None = None,
) -> FloatArray:
    """(n,) share of the days of ``year`` (first day, first day after it) on which the policy is on risk.

    ``inception``, ``expiry`` (n,): first day on risk, first day off it; not a time (NaT) where open.
    ``laid_up``: first and first-after days of one lay-up each, during which the policy is off risk; NaT for
    none. Days count alike (judgement): where losses follow the season, chances by month come before.

    Raises
    ------
    ParameterError
        For a year or a policy that ends before it begins.
    """
    first, last = (np.datetime64(day, "D") for day in year)
    if last <= first:
        raise ParameterError(f"year must end after it begins, got {first} to {last}")
    begins, ends = _days(inception, first), _days(expiry, last)
    if (begins > ends).any():
        place = int(np.argmax(begins > ends))
        raise ParameterError(
            f"expiry must not be before inception, got {begins[place]} to {ends[place]} at row {place}"
        )
    begins, ends = np.maximum(begins, first), np.minimum(ends, last)
    days = _length(begins, ends)
    if laid_up is not None:
        away, back = _days(laid_up[0], last), _days(laid_up[1], last)
        days = days - _length(np.maximum(begins, away), np.minimum(ends, back))
    found: FloatArray = days / float((last - first) / np.timedelta64(1, "D"))
    return found


def chance_on_risk(chance: npt.ArrayLike, share: npt.ArrayLike) -> FloatArray:
    """1 - (1 - p)**share: the chance in the days on risk, of that in the whole year; shapes broadcast."""
    chances, shares = not_negative("chance", chance), not_negative("share", share)
    if chances.max(initial=0.0) > 1 or shares.max(initial=0.0) > 1:
        raise ParameterError(
            f"chance and share must lie in [0, 1], got {chances.max():g} and {shares.max():g}"
        )
    certain = np.where(shares > 0, 1.0, 0.0)
    hazard = -np.log1p(-np.where(chances < 1, chances, 0.0))
    found: FloatArray = np.where(chances < 1, -np.expm1(-hazard * shares), certain)
    return found


def _days(values: npt.ArrayLike, otherwise: np.datetime64) -> Days:
    days = np.atleast_1d(np.asarray(values, dtype="datetime64[D]"))
    return np.where(np.isnat(days), otherwise, days)


def _length(begins: Days, ends: Days) -> FloatArray:
    days: FloatArray = np.maximum((ends - begins) / np.timedelta64(1, "D"), 0.0)
    return days
