"""The limits that come before money, in words: how high they are, whose they are, and what is nearest below one."""

from __future__ import annotations

import pandas as pd

from riskmodel.plan.budget.floors import SINKING_LIMIT
from riskmodel.risk import Assessment
from riskmodel.risk.ranking import KNOWN_DEFECT
from riskmodel.words import about_in, limit_in

KILL_LIMIT = "kill_path_probability"
# How a limit of the shipped table says that whoever answers for the boats sets it.
EXAMPLE = "An example"
EXAMPLES = "The limits are examples: whoever answers for the boats sets them, in settings.toml."
NO_OTHER_PATH = "No other part on the list has such a path."
NO_PATH = "No part on the list has such a path."
OWN = "The limits are the fleet's own, from its settings or trade tables."
MIXED = (
    "The limit on {own} is the fleet's own, the other an example: whoever answers for the boats sets it, in "
    "settings.toml."
)


def whose_limits(result: Assessment) -> str:
    """Whose both limits are: examples are called so."""
    kill, sinking = _kill_is_own(result), _sinking_is_own(result)
    if kill and sinking:
        return OWN
    if not (kill or sinking):
        return EXAMPLES
    return MIXED.format(own="danger to people" if kill else "sinking")


def none_over(frame: pd.DataFrame, result: Assessment) -> str:
    """What to say where no part but known defects is over the limit to kill: the limit, and the part nearest to it.

    ``frame``: the ranking with ``what``, the name of boat and part.
    """
    apart = ", known defects apart" if frame["group"].eq(KNOWN_DEFECT).any() else ""
    example = "" if _kill_is_own(result) else " (an example: settings.toml may say kill_limit)"
    return f"None is over {limit_in(result.limit)}{example}{apart}. {nearest_to_limit(frame, result.limit)}"


def nearest_to_limit(frame: pd.DataFrame, limit: float) -> str:
    """The part likeliest to kill of those that are no known defect, none of them over ``limit``, and how likely."""
    able = frame[frame["group"].ne(KNOWN_DEFECT) & (frame["kill_probability"] > 0)]
    if able.empty:
        return NO_OTHER_PATH if frame["group"].eq(KNOWN_DEFECT).any() else NO_PATH
    nearest = able.loc[able["kill_probability"].idxmax()]
    chance = float(nearest["kill_probability"])
    said = "just under it" if _reads_alike(chance, limit) else about_in(chance)
    return f"The nearest: {nearest['what']}, {said}."


def over_by(chance: float, limit: float, until: object) -> str:
    """A chance over its limit beside it, also where both read alike."""
    if _reads_alike(chance, limit):
        return f"just over the limit of {limit_in(limit)} by {until}"
    return f"{about_in(chance)} by {until}; the limit is {limit_in(limit)}"


def _reads_alike(chance: float, limit: float) -> bool:
    return about_in(chance).removeprefix("about ") == limit_in(limit)


def _kill_is_own(result: Assessment) -> bool:
    return result.fleet.settings.kill_limit is not None or _is_own(KILL_LIMIT, result)


def _sinking_is_own(result: Assessment) -> bool:
    return result.fleet.settings.sinking_limit is not None or _is_own(SINKING_LIMIT, result)


def _is_own(name: str, result: Assessment) -> bool:
    """Whether an organisation's own table says the limit."""
    return not result.trade.limits[name].meaning.startswith(EXAMPLE)
