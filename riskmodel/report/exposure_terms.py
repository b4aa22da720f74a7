"""The terms of a book in words and rows: what stands between its losses before and after them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.cover import Cover, at_market_value
from riskmodel.exposure.policy_days import policy_days
from riskmodel.exposure.schedule.exposed import AnyExposure, ScheduleExposure
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import paragraph
from riskmodel.words import counted, price

# Boats named before the others are counted.
NAMED = 5
DAYS_ALIKE = (
    "Chances after terms are those of the days on risk, from noon of inception to noon of expiry; of the days on which "
    "an end state can happen (in use, afloat, or any) all count alike. Before terms every day counts."
)


def terms_block(answer: Answer) -> str:
    """What stands between the two columns, in words."""
    exposure = answer.exposure
    vessels, cover = exposure.book.vessels, exposure.after.part.cover
    said = [*_amounts(exposure, cover), *_values(exposure, vessels), *_days(exposure)]
    labels = [exposure.result.trade.end_states[name].label for name in sorted(exposure.policy.without)]
    if labels:
        said.append(f"not covered: {', '.join(labels)}")
    words = (
        "; ".join(said) if said else "none given: no deductible, no limit, agreed value, everything covered"
    )
    timed = (cover.on_risk < 1.0).any()
    return paragraph(f"Terms: {words}." + (f" {DAYS_ALIKE}" if timed else ""))


def terms_rows(answer: Answer) -> Iterator[pd.DataFrame]:
    """Rows ``row, figure, number`` of the terms that boats' own columns make; none where no boat has such columns.

    ``deductible`` and ``limit`` (where there is one) [currency], ``value_share``, and shares of all days, ``on_risk``
    and ``laid_up``.
    """
    exposure = answer.exposure
    vessels, cover = exposure.book.vessels, exposure.after.part.cover
    own = vessels["deductible_percent"].notna() | vessels["value_basis"].ne("")
    own |= vessels[["inception", "expiry"]].notna().any(axis=1) | vessels["lay_up_from"].ne("")
    if not own.any():
        return
    frame = policy_days(exposure.result).assign(
        deductible=cover.deductible,
        limit=np.where(np.isinf(cover.limit), np.nan, cover.limit),
        value_share=cover.value_share,
    )
    figures = ["deductible", "limit", "value_share", "on_risk", "laid_up"]
    named = frame[own].rename(columns={"vessel_id": "row"})
    yield named.melt("row", figures, var_name="figure", value_name="number").dropna()


def _amounts(exposure: AnyExposure, cover: Cover) -> Iterator[str]:
    deductible, limit = bool((cover.deductible > 0).any()), bool((cover.limit < np.inf).any())
    if deductible:
        yield f"each boat's deductible on each loss{_usual(exposure)}"
    if limit:
        yield f"the limit of {_boats(exposure, cover.limit < np.inf)} on each loss"
    if exposure.policy.salvage_inside < 1 and (deductible or limit):
        yield "salvage and clean-up paid on top of both"


def _usual(exposure: AnyExposure) -> str:
    """What boats without a deductible of their own bear; nothing where that is none."""
    policy = exposure.policy
    amounts = [f"{currency_of(exposure.result)} {price(policy.deductible)}"] if policy.deductible else []
    shares = [f"{100 * policy.deductible_share:g} % of the value"] if policy.deductible_share else []
    words = " or ".join((*amounts, *shares))
    larger = ", the larger" if amounts and shares else ""
    return f" ({words}{larger} where it has none of its own)" if words else ""


def _values(exposure: AnyExposure, vessels: pd.DataFrame) -> Iterator[str]:
    share = exposure.policy.value_share
    most = f"at most {100 * share:.0f} % of the value for the boat itself"
    market = at_market_value(vessels).to_numpy()
    if (vessels["value_basis"] == "").all():
        if share < 1:
            yield most
    elif market.any():
        worth = most if share < 1 else "taken to be the whole of the value given (see --value-share)"
        yield f"{_boats(exposure, market)} at market value, {worth}"
    elif share < 1:
        yield "no boat at market value, so --value-share counts for none"


def _days(exposure: AnyExposure) -> Iterator[str]:
    result, vessels = exposure.result, exposure.book.vessels
    days = policy_days(result)
    part = days["on_risk"].between(0.0, 1.0, inclusive="neither").to_numpy()
    if part.any():
        mean = np.average(days.loc[part, "on_risk"], weights=exposure.book.count[part])
        yield f"{_boats(exposure, part)} on risk for part of the time ({100 * mean:.0f} % of the days)"
    laid_up = (days["laid_up"] > 0).to_numpy()
    if laid_up.any():
        states = (result.trade.end_states[name] for name in exposure.book.states)
        out = ", ".join(state.label for state in states if not state.covered_laid_up)
        yield f"{_boats(exposure, laid_up)} laid up for part of it, not covered then: {out or 'nothing'}"
    ended = (vessels["expiry"] <= pd.Timestamp(result.horizon.as_of)).to_numpy()
    ahead = (vessels["inception"] >= pd.Timestamp(result.horizon.until)).to_numpy()
    if ended.any():
        yield f"no loss of {_named(exposure, ended)}: policy ended by {result.horizon.as_of}"
    if ahead.any():
        yield f"no loss of {_named(exposure, ahead)}: policy begins on {result.horizon.until} or later"


def _boats(exposure: AnyExposure, which: npt.NDArray[np.bool_]) -> str:
    """How many boats the rows stand for."""
    return counted(int(exposure.book.count[which].sum()), "boat")


def _named(exposure: AnyExposure, which: npt.NDArray[np.bool_]) -> str:
    """How many boats, and the first of them by name; kinds of boats have none."""
    if isinstance(exposure, ScheduleExposure):
        return _boats(exposure, which)
    names = boat_names(exposure.result, exposure.book.vessels)[which].tolist()
    more = [f"{len(names) - NAMED} more"] if len(names) > NAMED else []
    return f"{counted(len(names), 'boat')} ({', '.join([*names[:NAMED], *more])})"
