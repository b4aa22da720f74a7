"""What a policy pays of a loss, boat by boat: deductible, limit, value, salvage, what is left out, and days on risk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.policy_days import Insured, shares_on_risk

MARKET = "market"


@dataclass(frozen=True)
class Policy:
    """Terms of a whole book; what a boat's own columns of the vessels table say comes before them.

    ``deductible`` [currency] and ``deductible_share`` (of the value): the larger of the two, of boats without their
    own. ``salvage_inside``: share of salvage and clean-up that counts towards deductible and limit; the rest is paid on
    top. ``value_share``: at most this share of ``value`` for the boat herself, of boats at market value: those that say
    so, or all where no boat of the book gives a ``value_basis``. ``without``: end states that are not covered.
    """

    deductible: float = 0.0
    deductible_share: float = 0.0
    salvage_inside: float = 1.0
    value_share: float = 1.0
    without: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Cover:
    """The terms boat by boat: ``deductible`` and ``limit`` (n,) [currency] of each loss, ``value_share`` (n,), whether
    end states are ``covered`` (n, K) (1 or 0), the share of their days ``on_risk`` (n, K), and ``salvage_inside``."""

    deductible: FloatArray
    limit: FloatArray
    value_share: FloatArray
    covered: FloatArray
    on_risk: FloatArray
    salvage_inside: float

    @classmethod
    def of_all(cls, value: FloatArray, states: int) -> Cover:
        """Everything on every day, as if there were no policy: losses before terms."""
        boats = len(value)
        every = np.ones((boats, states))
        return cls(np.zeros(boats), np.full(boats, np.inf), np.ones(boats), every, every, 1.0)

    @property
    def pays_all(self) -> bool:
        """Whether nothing is left to the owner. Where salvage stands then makes no difference."""
        whole = all((each == 1.0).all() for each in (self.value_share, self.covered, self.on_risk))
        return bool(whole and (self.deductible == 0.0).all() and np.isinf(self.limit).all())


def cover_of(result: Insured, states: Sequence[str], policy: Policy) -> Cover:
    """The cover of each boat of an assessed fleet, over its horizon.

    Raises
    ------
    ParameterError
        For a share outside 0 to 1, a deductible below 0, or an end state that no loss of the book comes to.
    """
    _refuse(policy, states)
    vessels = result.fleet.vessels
    limit = vessels["limit"].to_numpy(dtype=float)
    covered = np.array([0.0 if state in policy.without else 1.0 for state in states])
    return Cover(
        deductible=deductibles(vessels, policy),
        limit=np.where(np.isnan(limit), np.inf, limit),
        value_share=np.where(at_market_value(vessels), policy.value_share, 1.0),
        covered=np.broadcast_to(covered, (len(vessels), len(covered))),
        on_risk=shares_on_risk(result, states),
        salvage_inside=policy.salvage_inside,
    )


def at_market_value(vessels: pd.DataFrame) -> pd.Series:
    """Whether each boat is insured at market value: as she says, blank being agreed; all where no boat says."""
    basis = vessels["value_basis"]
    found: pd.Series = basis.eq(MARKET) if basis.ne("").any() else basis.eq("")
    return found


def deductibles(vessels: pd.DataFrame, policy: Policy) -> FloatArray:
    """(n,) the larger of amount and share of the value, a boat's own before the book's."""
    value, amount, percent = (
        vessels[name].to_numpy(dtype=float) for name in ("value", "deductible", "deductible_percent")
    )
    usual = np.maximum(policy.deductible, policy.deductible_share * value)
    own = np.fmax(amount, percent / 100.0 * value)
    return np.where(np.isnan(own), usual, own)


def _refuse(policy: Policy, states: Sequence[str]) -> None:
    for name in ("deductible_share", "salvage_inside", "value_share"):
        if not 0 <= getattr(policy, name) <= 1:
            raise ParameterError(f"{name} must lie in 0 to 1, got {getattr(policy, name):g}")
    if not 0 <= policy.deductible < np.inf:
        raise ParameterError(f"deductible must be 0 or more, got {policy.deductible:g}")
    unknown = sorted(policy.without - set(states))
    if unknown:
        raise ParameterError(f"what is not covered must be among {', '.join(states)}, got {unknown[0]!r}")
