"""Damage that grows while nobody sees it: what it has come to after so many months, and what it comes to on average."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence.slow.undetected import Looks, hidden_months, still_hidden


@dataclass(frozen=True)
class Growth:
    """Damage against the end state's reference loss; the fields broadcast against one another.

    Nothing for ``delay_months``; then ``least``, the smallest bill for what now is damage, and ``a_month`` (above 0)
    on top for every month, until that stands at ``most``: all the core round a fitting, the whole part.
    """

    delay_months: FloatArray
    least: FloatArray
    a_month: FloatArray
    most: FloatArray


def grown(months: FloatArray, growth: Growth) -> FloatArray:
    """Damage, as a share of the reference loss, so many months after letting go; it never falls with time."""
    since = months - growth.delay_months
    damage: FloatArray = np.where(
        since > 0, growth.least + np.minimum(growth.a_month * np.maximum(since, 0.0), growth.most), 0.0
    )
    return damage


def chance_damaged(growth: Growth, looks: Looks) -> FloatArray:
    """P(damage has begun before the failure is seen)."""
    return still_hidden(growth.delay_months, looks)


def expected_damage(growth: Growth, looks: Looks) -> FloatArray:
    """Mean damage when the failure is seen, cases seen in time counted as none; a share of the reference loss.

    ``least`` x P(unseen after the delay) + ``a_month`` x the mean months unseen from then until it stands at its
    most: the integral of the growth against the chance of being still unseen.
    """
    full = growth.delay_months + growth.most / growth.a_month
    months = hidden_months(full, looks) - hidden_months(growth.delay_months, looks)
    damage: FloatArray = growth.least * chance_damaged(growth, looks) + growth.a_month * months
    return damage
