"""What a policy pays of a loss: deductible, limit, salvage inside or outside them, and what is left out."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError


@dataclass(frozen=True)
class Policy:
    """Terms of a whole book; a boat's own ``deductible`` and ``limit`` columns come before them.

    ``deductible`` [currency] and ``deductible_share`` (of the value): the larger of the two, of boats without their
    own. ``salvage_inside``: share of salvage and clean-up that counts towards deductible and limit; the rest is paid on
    top. ``value_share``: at most this share of ``value`` for the boat herself: 1 for an agreed value. ``without``: end
    states that are not covered.
    """

    deductible: float = 0.0
    deductible_share: float = 0.0
    salvage_inside: float = 1.0
    value_share: float = 1.0
    without: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Cover:
    """The terms boat by boat: ``deductible`` and ``limit`` (n,) [currency] of each loss, whether end states are
    ``covered`` (n, K) (1 or 0), and the shares of Policy."""

    deductible: FloatArray
    limit: FloatArray
    covered: FloatArray
    salvage_inside: float
    value_share: float

    @classmethod
    def of_all(cls, value: FloatArray, states: int) -> Cover:
        """Everything, as if there were no policy: losses before terms."""
        boats = len(value)
        return cls(np.zeros(boats), np.full(boats, np.inf), np.ones((boats, states)), 1.0, 1.0)


def cover_of(vessels: pd.DataFrame, states: Collection[str], policy: Policy) -> Cover:
    """The cover of each boat.

    Raises
    ------
    ParameterError
        For a share outside 0 to 1, a deductible below 0, or an end state that no loss of the book comes to.
    """
    for name in ("deductible_share", "salvage_inside", "value_share"):
        if not 0 <= getattr(policy, name) <= 1:
            raise ParameterError(f"{name} must lie in 0 to 1, got {getattr(policy, name):g}")
    if not 0 <= policy.deductible < np.inf:
        raise ParameterError(f"deductible must be 0 or more, got {policy.deductible:g}")
    unknown = sorted(policy.without - set(states))
    if unknown:
        raise ParameterError(f"what is not covered must be among {', '.join(states)}, got {unknown[0]!r}")
    value = vessels["value"].to_numpy(dtype=float)
    usual = np.maximum(policy.deductible, policy.deductible_share * value)
    own, limit = (vessels[name].to_numpy(dtype=float) for name in ("deductible", "limit"))
    covered = np.array([0.0 if state in policy.without else 1.0 for state in states])
    return Cover(
        deductible=np.where(np.isnan(own), usual, own),
        limit=np.where(np.isnan(limit), np.inf, limit),
        covered=np.broadcast_to(covered, (len(vessels), len(covered))),
        salvage_inside=policy.salvage_inside,
        value_share=policy.value_share,
    )
