"""What a bilge pump really throws: its flow by static head, and what bends, check valves and hose take from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

_FOOT = 0.3048

SHUT_OFF_HEAD = 17.5 * _FOOT
"""Head [m] at which a small centrifugal bilge pump throws nothing: the middle of 15 to 20 ft (common practice, no
source)."""

HALF_FLOW_HEAD = 2.0 * _FOOT
"""Head [m] at which such a pump throws half of what its label says (common practice, no source)."""

BEND_LOSS = 0.10
"""Share of the flow lost at each right-angle bend (a trade page on installed pump tests)."""

CHECK_VALVE_LOSS = 0.15
"""Share of the flow lost at a check valve: the middle of 10 to 20 % (the same page)."""

HOSE_LOSS_PER_METRE = 0.03
"""Share of the flow lost in each metre of discharge hose (judgement; ribbed hose costs more than smooth)."""


@dataclass(frozen=True)
class PumpCurve:
    """Flow of a pump against static head, arrays that broadcast.

    ``rated_flow`` [m3/s]: the label's, at no head and without a hose; ``shut_off_head`` [m]: above it nothing comes;
    ``half_flow_head`` [m]: where half the rated flow comes, above 0 and below ``shut_off_head``.
    """

    rated_flow: npt.ArrayLike
    shut_off_head: npt.ArrayLike = SHUT_OFF_HEAD
    half_flow_head: npt.ArrayLike = HALF_FLOW_HEAD

    def __post_init__(self) -> None:
        not_negative("rated_flow", self.rated_flow)
        shut = not_negative("shut_off_head", self.shut_off_head)
        half = not_negative("half_flow_head", self.half_flow_head)
        if not ((half > 0) & (half < shut)).all():
            raise ParameterError(
                f"half_flow_head must lie above 0 and below shut_off_head, got {np.max(half):g} m"
                f" of {np.min(shut):g} m"
            )


def flow_at_head(curve: PumpCurve, static_head: npt.ArrayLike) -> FloatArray:
    """Flow [m3/s] of a pump that lifts water by ``static_head`` [m], bare of bends, valves and hose.

    q0 (1 - u) / (1 + b u) for u = head / shut-off head, with b = 1 / u_half - 2: the whole at no head, half at the
    half-flow head, nothing from the shut-off head on, falling all the way. b = 0 is a straight line, b below 0 a curve
    that bulges outward as makers draw it. A power, 1 - u^n, can have the same two points, but with half lost so
    early it would lose a quarter to the first hand's breadth of head.

    Raises ParameterError unless the head is 0 or more and finite.
    """
    lift = not_negative("static_head", static_head)
    shut = np.asarray(curve.shut_off_head, dtype=float)
    lost = np.minimum(lift / shut, 1.0)
    bend = shut / np.asarray(curve.half_flow_head, dtype=float) - 2.0
    flow: FloatArray = np.asarray(curve.rated_flow, dtype=float) * (1.0 - lost) / (1.0 + bend * lost)
    return flow


def delivered_share(
    bends: npt.ArrayLike = 0,
    check_valves: npt.ArrayLike = 0,
    hose_length: npt.ArrayLike = 0,
    *,
    bend_loss: npt.ArrayLike = BEND_LOSS,
    check_valve_loss: npt.ArrayLike = CHECK_VALVE_LOSS,
    hose_loss: npt.ArrayLike = HOSE_LOSS_PER_METRE,
) -> FloatArray:
    """Share of the flow left after right-angle bends, check valves (a count, or yes and no) and metres of hose.

    Each takes its share of what the one before left: it never falls below 0 however many there are. Raises
    ParameterError for a negative count or length, or a loss outside 0 to below 1.
    """
    kept: FloatArray = (
        _left("bend_loss", bend_loss) ** not_negative("bends", bends)
        * _left("check_valve_loss", check_valve_loss) ** not_negative("check_valves", check_valves)
        * _left("hose_loss", hose_loss) ** not_negative("hose_length", hose_length)
    )
    return kept


def pump_flow(
    rated_flow: npt.ArrayLike,
    static_head: npt.ArrayLike,
    *,
    shut_off_head: npt.ArrayLike = SHUT_OFF_HEAD,
    half_flow_head: npt.ArrayLike = HALF_FLOW_HEAD,
    bends: npt.ArrayLike = 0,
    check_valves: npt.ArrayLike = 0,
) -> FloatArray:
    """Flow [m3/s] of an installed pump: never above ``rated_flow``, never more for more head, bends or valves.

    ``flow_at_head`` times ``delivered_share``; multiply by ``delivered_share(hose_length=...)`` for a long hose.
    Both heads in metres. Raises ParameterError as those do.
    """
    curve = PumpCurve(rated_flow, shut_off_head, half_flow_head)
    flow: FloatArray = flow_at_head(curve, static_head) * delivered_share(bends, check_valves)
    return flow


def _left(name: str, loss: npt.ArrayLike) -> FloatArray:
    lost = not_negative(name, loss)
    if (lost >= 1).any():
        raise ParameterError(f"{name} must be below 1, got {lost.max()}")
    left: FloatArray = 1.0 - lost
    return left
