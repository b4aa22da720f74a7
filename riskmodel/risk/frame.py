"""The item risk frame: one row a part, in rank order, with its reasons in words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import INJURY, MONEY_SCALE, outcome_categories
from riskmodel.fleet import Fleet
from riskmodel.risk.class_risk import ClassRisk
from riskmodel.risk.hours import running_hours
from riskmodel.risk.lives import Lives
from riskmodel.risk.outcomes import SINKING, Outcomes
from riskmodel.risk.ranking import KNOWN_DEFECT, assign_groups, rank_bands, ranks
from riskmodel.risk.why import reasons
from riskmodel.trade import Trade

FIRE = ("fire_explosion",)
NO_PATH = "does not apply"
# An end state is a credible outcome when it may follow from at least this share of failures (judgement).
CREDIBLE = 0.005


def item_risk_frame(
    fleet: Fleet,
    where: pd.DataFrame,
    caused: tuple[pd.DataFrame, pd.DataFrame],
    risk: tuple[ClassRisk, Outcomes],
    chosen: tuple[pd.DataFrame, FloatArray, npt.NDArray[np.bool_]],
    tools: tuple[Lives, Trade, float],
) -> pd.DataFrame:
    """The frame of DEVELOPERS.md's glossary, ranked; ``caused``: the rows of what may follow, and the losses."""
    lives, trade, limit = tools
    best, averted, overdue = chosen
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
    for name, states in (
        ("sinking", SINKING),
        ("fire", FIRE),
        ("kill", _killing(trade)),
        ("injury", (INJURY,)),
    ):
        frame[f"{name}_probability"] = any_of(result.probability, states, len(items))
    for name, drawn in (("sinking", result.sink), ("kill", result.kill)):
        frame[f"{name}_low"], frame[f"{name}_high"] = np.quantile(drawn, [0.05, 0.95], axis=1)
    frame["expected_loss"] = result.loss.mean(axis=1)
    frame["loss_low"], frame["loss_high"] = np.quantile(result.loss, [0.05, 0.95], axis=1)
    frame["severity"] = severity(*caused, fleet, trade)
    frame["best_task"], frame["task_does"] = best["task"].to_numpy(), best["does"].to_numpy()
    frame["task_cost"], frame["haul_out_cost"] = best["cost"].to_numpy(), best["haul_out"].to_numpy()
    frame["task_skill"], frame["task_looks"] = best["skill"].to_numpy(), best["looks"].to_numpy()
    frame["loss_averted"], frame["look_value"] = averted.mean(axis=1), best["look_value"].to_numpy()
    frame["averted_per_cost"] = frame["loss_averted"] / np.maximum(frame["task_cost"], trade.unit)
    defect = (where["defect"] != "").to_numpy()
    frame["group"] = assign_groups(defect, frame["kill_probability"].to_numpy(), limit).to_numpy()
    frame["overdue"] = overdue
    frame = pd.concat([frame, _ranked(frame, result, averted, trade)], axis=1)
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


def _ranked(frame: pd.DataFrame, result: Outcomes, averted: FloatArray, trade: Trade) -> pd.DataFrame:
    """Ranks by the means, with bands by the draws, in the order of ``frame``; ties go by item_id.

    A known defect is no probability: defects stand in the order of their danger in every draw.
    """
    dangers = danger(frame, trade)
    named = np.argsort(frame["item_id"].to_numpy(dtype=str), kind="stable")
    ordered = frame.iloc[named].reset_index(drop=True)
    cost = np.maximum(ordered["task_cost"].to_numpy(), trade.unit)[:, None]
    defect = (ordered["group"] == KNOWN_DEFECT).to_numpy()
    fixed, means = dangers[named][:, None], ordered["loss_averted"].to_numpy()[:, None]
    kill = np.where(defect[:, None], fixed, result.kill[named])
    drawn = ranks(
        ordered["group"], kill, np.where(defect[:, None], means, averted[named]), averted[named] / cost
    )
    likely = np.where(defect, dangers[named], ordered["kill_probability"].to_numpy())[:, None]
    mean = ranks(ordered["group"], likely, means, ordered["averted_per_cost"].to_numpy()[:, None])
    bands = rank_bands(drawn, mean[:, 0], int(defect.sum()))
    return bands.set_index(named).sort_index()


def severity(rows: pd.DataFrame, losses: pd.DataFrame, fleet: Fleet, trade: Trade) -> list[str]:
    """MIL-STD-882E's word for the worst end state that is credible once the part lets go, on its own boat.

    Credible: its chance may reach CREDIBLE on this boat. A barrier has the word of the worst end state it stands
    against. "does not apply" where a part has no path and stands against nothing.
    """
    scale = fleet.settings.severity_money_scale or trade.limits[MONEY_SCALE].value
    found = outcome_categories(losses, trade, scale).set_index(["vessel_id", "end_state"])["category"]
    words = {each.category: each.word for each in trade.severities.values()}
    guarded = guarded_states(trade)
    worst = np.full(len(fleet.items), len(words) + 1)
    present = set(zip(rows["vessel_id"], rows["end_state"], strict=True))
    boats = zip(fleet.items["vessel_id"], fleet.items["item_class"], strict=True)
    for place, (vessel, name) in enumerate(boats):
        # A barrier on a boat with nothing to stop stands against nothing.
        stands = [found[vessel, state] for state in guarded.get(name, ()) if (vessel, state) in present]
        if stands:
            worst[place] = min(stands)
    category = found.loc[pd.MultiIndex.from_frame(rows[["vessel_id", "end_state"]])].to_numpy()
    grade = np.where(rows["high"] >= CREDIBLE, category, len(words))
    np.minimum.at(worst, rows["item"].to_numpy(), grade)
    return [words.get(each, NO_PATH) for each in worst]


def guarded_states(trade: Trade) -> dict[str, set[str]]:
    """Per barrier class, the end states it stands against."""
    guarded: dict[str, set[str]] = {}
    for barrier in trade.barriers:
        for name in barrier.needs:
            guarded.setdefault(name, set()).add(barrier.end_state)
    return guarded


def danger(frame: pd.DataFrame, trade: Trade) -> FloatArray:
    """How much a known defect endangers boat and people: its own chance of sinking or killing, or, for a part that
    stands between, its boat's whole chance of the end states it stands against."""
    own: FloatArray = frame[["sinking_probability", "kill_probability"]].max(axis=1).to_numpy(dtype=float)
    boats = frame.groupby("vessel_id")[["sinking_probability", "fire_probability"]].transform("sum")
    for name, states in guarded_states(trade).items():
        column = "fire_probability" if states & set(FIRE) else "sinking_probability"
        here = (frame["item_class"] == name).to_numpy()
        own[here] = np.maximum(own[here], boats[column].to_numpy()[here])
    return own


__all__ = ["KNOWN_DEFECT", "SINKING", "item_risk_frame"]
