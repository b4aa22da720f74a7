"""Everything an underwriter asks of a book at once: its year, where the loss sits, which places, which conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from riskmodel.exposure.accumulation import accumulations
from riskmodel.exposure.conditions import Condition, Priced, price_condition
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.schedule.exposed import AnyExposure
from riskmodel.exposure.segments import AGE, END_STATE, segments
from riskmodel.fleet import LeftOut
from riskmodel.risk import Assessment

USUAL_SEGMENTS = ("propulsion", AGE, END_STATE)
# What a boat's circumstances rest on most; a blank in any of them is filled by the trade's default.
CIRCUMSTANCES = ("water", "kept", "checked_every_days")


@dataclass(frozen=True)
class Conditions:
    """Conditions to price, each by itself: kept by a share ``compliance`` of boats, at so much for a visit more."""

    conditions: tuple[Condition, ...] = ()
    compliance: float = 0.8
    visit_cost: float = 0.0


@dataclass(frozen=True, eq=False)
class Answer:
    """``exposure``, its ``segments`` by what they were asked by, ``places`` (accumulations), ``conditions`` priced,
    shares of ``value`` that rest on defaults, and what the fleet was loaded without."""

    exposure: AnyExposure
    segments: Mapping[str, pd.DataFrame]
    places: pd.DataFrame
    conditions: tuple[Priced, ...]
    defaults: Mapping[str, float]
    left_out: LeftOut = field(default_factory=LeftOut)


def answer(
    result: Assessment,
    policy: Policy | None = None,
    by: Sequence[str] = (),
    asked: Conditions | None = None,
) -> Answer:
    """The whole answer; raises what its parts raise."""
    found = exposure_of(result, policy)
    wanted = asked or Conditions()
    return Answer(
        exposure=found,
        segments={each: segments(found, each) for each in (by or USUAL_SEGMENTS)},
        places=accumulations(found),
        conditions=tuple(
            price_condition(found, each, wanted.compliance, wanted.visit_cost) for each in wanted.conditions
        ),
        defaults=on_defaults(result),
    )


def on_defaults(result: Assessment) -> dict[str, float]:
    """Shares of the value on boats with a typical outfit, with most parts of unknown age, with a circumstance not said;
    and on boats with any of these, ``any``."""
    vessels, frame = result.fleet.vessels, result.frame
    boats = frame.assign(unknown=frame["age_years"].isna()).groupby("vessel_id")[["assumed", "unknown"]]
    told = boats.agg({"assumed": "any", "unknown": "mean"}).reindex(vessels["vessel_id"])
    given = result.fleet.given["vessels"]
    blank = ~given[list(CIRCUMSTANCES)].to_numpy(dtype=bool).all(axis=1)
    masks = {
        "outfit": told["assumed"].to_numpy(dtype=bool),
        "ages": told["unknown"].to_numpy(dtype=float) > 0.5,
        "circumstances": blank,
    }
    masks["any"] = np.logical_or.reduce(list(masks.values()))
    value = vessels["value"].to_numpy(dtype=float)
    return {name: float(value[mask].sum() / value.sum()) for name, mask in masks.items()}
