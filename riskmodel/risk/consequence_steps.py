"""What follows once a part lets go, step by step, for its explanation."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import TABLE, area_steps, barriers_against
from riskmodel.frames import each_row
from riskmodel.risk.assess import Assessment
from riskmodel.risk.frame import FIRE, NO_PATH, SINKING
from riskmodel.risk.step import Step, said
from riskmodel.trade import EndState, Trade
from riskmodel.words import in_a_thousand, money


def consequence_steps(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    """What may follow once the part has let go, what it costs, and the chances by the horizon's end."""
    following = result.following
    mine = following.rows[following.rows["item"] == place]
    losses = result.losses[result.losses["vessel_id"] == row["vessel_id"]].set_index("end_state")
    for number, path in zip(mine.index, each_row(mine), strict=True):
        state = result.trade.end_states[str(path.end_state)]
        states = following.chance[number].mean(axis=0)
        yield Step(
            "If it lets go", state.label, _by_barriers(path, states, result.trade), _origin(path, state)
        )
        loss = losses.loc[path.end_state]
        if loss["high"] > 0:
            factor = following.loss_factor[number].mean()
            yield Step("If it lets go", f"{state.label}: loss", _loss(loss, factor), state.source)
    yield Step("If it lets go", "Worst credible", row["severity"], "words of MIL-STD-882E")
    for name, (label, states_of) in _fates(result).items():
        reached = states_of & set(mine["end_state"])
        yield Step(
            "If it lets go",
            f"{label} by {result.horizon.until}",
            said(row[f"{name}_probability"]) if reached else NO_PATH,
            "chance of letting go x what follows, with the barriers as they are"
            if reached
            else "no such path",
        )
    each = row["expected_loss"] / max(row["failure_probability"], np.finfo(float).tiny)
    yield Step(
        "If it lets go", "Mean loss of one failure", money(each), "all end states, barriers as they are"
    )
    loss = f"{row['expected_loss']:,.0f} ({row['loss_low']:,.0f} to {row['loss_high']:,.0f})"
    yield Step("If it lets go", f"Expected loss by {result.horizon.until}", loss, "before insurance")


def _loss(loss: pd.Series, factor: float) -> str:
    """The mean with our doubt about it, and how far single losses spread; ``factor`` for damage that grows."""
    mean = f"mean {factor * loss['mean']:,.0f} (90 %: {factor * loss['low']:,.0f} to {factor * loss['high']:,.0f})"
    if factor != 1:
        return f"{mean}, which is {factor:.2g} of the full repair, by when it is found"
    spread = f"median {loss['median']:,.0f}, one in ten over {loss['p90']:,.0f}"
    given_up = f"; given up as not worth its repair in {100 * loss['total_loss_share']:.0f} %"
    return f"{mean}; single losses: {spread}" + (given_up if loss["total_loss_share"] >= 0.005 else "")


def _by_barriers(path: Any, states: FloatArray, trade: Trade) -> str:
    """P(end state | lets go) as it stands with no barrier working, and with each."""
    plain = f"{said(states[0])} (90 %: {in_a_thousand(path.low)} to {in_a_thousand(path.high)})"
    barriers = barriers_against(str(path.guarded), trade)
    if not barriers or states[0] == 0:
        return plain
    names = [barrier.barrier.replace("_", " ") for barrier in barriers]
    worked = [f"{said(states[1 << number])} if the {name} works" for number, name in enumerate(names)]
    if len(names) > 1:
        worked.append(f"{said(states[-1])} with both")
    return "; ".join([f"{plain} with no barrier working", *worked])


def _origin(path: Any, state: EndState) -> str:
    if path.origin != TABLE:
        return f"physics of {path.origin}, steps below; {state.status}"
    factor = f"trade {1000 * path.path_low:.3g}-{1000 * path.path_high:.3g} in 1,000"
    return f"{factor}, this boat x {path.factor_low:.2g}-{path.factor_high:.2g}; {state.status}"


def physics_steps(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    """The steps of the physics behind what may follow, area by area."""
    mine = result.following.rows[result.following.rows["item"] == place]
    for area in sorted(set(mine["origin"]) - {TABLE}):
        for what, value, source in area_steps(area, result.following, place, result.trade):
            yield Step(f"How it comes to that: {area}", what, value, source)


def _fates(result: Assessment) -> dict[str, tuple[str, set[str]]]:
    """The frame's chances of an end state: label, and the end states each holds."""
    killing = {name for name, state in result.trade.end_states.items() if state.can_kill}
    return {
        "sinking": ("Sinks the boat", set(SINKING)),
        "fire": ("Burns it", set(FIRE)),
        "kill": ("Any path that can kill", killing),
    }


def barrier_steps(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    """How ready the barriers are that stand between the part and its end states, or that it belongs to."""
    boat = list(result.fleet.vessels["vessel_id"]).index(row["vessel_id"])
    rows = result.following.rows
    states = set(rows.loc[rows["item"] == place, "end_state"])
    for barrier in result.trade.barriers:
        if barrier.end_state not in states and row["item_class"] not in barrier.needs:
            continue
        missing = [name for name in barrier.needs if name not in result.barriers.working]
        works = 0.0
        if not missing:
            works = float(
                np.prod([result.barriers.working[name][boat] for name in barrier.needs], axis=0).mean()
            )
        state = result.trade.end_states[barrier.end_state].label
        yield Step(
            "What stands between",
            f"{barrier.barrier.replace('_', ' ')}, against {state}",
            f"works {100 * works:.0f} % of the time",
            "age and last test of each of its parts",
        )
