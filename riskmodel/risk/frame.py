"""The item risk frame: one row a part, in rank order, with its reasons in words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.risk.class_risk import ClassRisk
from riskmodel.risk.hours import running_hours
from riskmodel.risk.lives import Lives
from riskmodel.risk.outcomes import Outcomes
from riskmodel.risk.ranking import KNOWN_DEFECT, assign_groups, rank_bands, ranks
from riskmodel.risk.why import reasons
from riskmodel.trade import Trade

SINKING = ("sinking_unattended", "sinking_under_way")
FIRE = ("fire_explosion",)
NO_PATH = "does not apply"
# An end state is a credible outcome when it may follow from at least this share of failures (judgement).
CREDIBLE = 0.005
SEVERITIES = ("Negligible", "Marginal", "Critical", "Catastrophic")


def item_risk_frame(
    fleet: Fleet,
    where: pd.DataFrame,
    paths: pd.DataFrame,
    risk: tuple[ClassRisk, Outcomes],
    chosen: tuple[pd.DataFrame, FloatArray],
    tools: tuple[Lives, Trade, float],
) -> pd.DataFrame:
    """The frame of DEVELOPERS.md's glossary, ranked."""
    lives, trade, limit = tools
    best, averted = chosen
    parts, result = risk
    items = fleet.items
    frame = items[["item_id", "vessel_id", "item_class", "position"]].copy()
    frame["age_years"] = where["age_years"]
    frame["hours"] = running_hours(fleet)
    frame["failure_probability"], frame["failure_low"], frame["failure_high"] = (
        parts.mean,
        parts.low,
        parts.high,
    )
    frame["needs_work_probability"] = parts.needs_work
    for name, states in (("sinking", SINKING), ("fire", FIRE), ("kill", _killing(trade))):
        frame[f"{name}_probability"] = any_of(result.probability, states, len(items))
    frame["expected_loss"] = result.loss.mean(axis=1)
    frame["loss_low"], frame["loss_high"] = np.quantile(result.loss, [0.05, 0.95], axis=1)
    frame["severity"] = severity(paths, len(items), trade)
    frame["best_task"], frame["task_does"] = best["task"].to_numpy(), best["does"].to_numpy()
    frame["task_cost"], frame["haul_out_cost"] = best["cost"].to_numpy(), best["haul_out"].to_numpy()
    frame["task_skill"] = best["skill"].to_numpy()
    frame["loss_averted"] = averted.mean(axis=1)
    frame["averted_per_cost"] = frame["loss_averted"] / np.maximum(frame["task_cost"], 1.0)
    defect = (where["defect"] != "").to_numpy()
    frame["group"] = assign_groups(defect, frame["kill_probability"].to_numpy(), limit).to_numpy()
    frame = pd.concat([frame, _ranked(frame, result, averted)], axis=1)
    frame["defect"] = where["defect"].to_numpy()
    frame["assumed"] = items["assumed"].to_numpy()
    frame["why"] = reasons(fleet, where, frame, lives)
    return frame.sort_values("rank", ignore_index=True)


def any_of(probability: Mapping[str, FloatArray], states: tuple[str, ...], items: int) -> FloatArray:
    """Chance (items,) of any of these end states: parts' shares of one boat's fate add up, bounded by 1."""
    total = np.zeros(items)
    for state in states:
        total += probability.get(state, 0.0)
    return np.minimum(total, 1.0)


def _killing(trade: Trade) -> tuple[str, ...]:
    return tuple(name for name, state in trade.end_states.items() if state.can_kill)


def _ranked(frame: pd.DataFrame, result: Outcomes, averted: FloatArray) -> pd.DataFrame:
    """Ranks by the means, with bands by the draws, in the order of ``frame``; ties go by item_id."""
    named = np.argsort(frame["item_id"].to_numpy(dtype=str), kind="stable")
    ordered = frame.iloc[named].reset_index(drop=True)
    cost = np.maximum(ordered["task_cost"].to_numpy(), 1.0)[:, None]
    drawn = ranks(ordered["group"], result.kill[named], averted[named], averted[named] / cost)
    columns = [
        ordered[name].to_numpy()[:, None] for name in ("kill_probability", "loss_averted", "averted_per_cost")
    ]
    bands = rank_bands(drawn, ranks(ordered["group"], *columns)[:, 0])
    return bands.set_index(named).sort_index()


def severity(paths: pd.DataFrame, items: int, trade: Trade) -> list[str]:
    """MIL-STD-882E's word for the worst end state that is credible once the part lets go.

    Credible: its chance may reach CREDIBLE on this boat. "does not apply" where a part has no path of its own.
    """
    grade = paths["end_state"].map(
        {name: SEVERITIES.index(each.severity) for name, each in trade.end_states.items()}
    )
    worst = np.full(items, -1)
    worst[paths["item"].to_numpy()] = 0
    np.maximum.at(
        worst, paths["item"].to_numpy(), grade.where(paths["high"] >= CREDIBLE, 0).to_numpy(dtype=int)
    )
    return [SEVERITIES[place] if place >= 0 else NO_PATH for place in worst]


__all__ = ["KNOWN_DEFECT", "item_risk_frame"]
