"""What if: the same fleet with boats kept otherwise, parts fitted or old ones renewed."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskmodel.errors import ParameterError
from riskmodel.fleet import Fleet, cell_value
from riskmodel.risk import Assessment, assess
from riskmodel.risk.prices import priced_trade
from riskmodel.trade import Trade
from riskmodel.words import counted

FIT, RENEW = "fit", "renew"
# What a boat is, not how it is kept: changed, it would be another boat.
FIXED = ("vessel_id", "name", "propulsion", "built_year")
# boat (optional), what, the sign, to what
CHANGE = re.compile(r"^(?:(?P<boat>[^:=]+):)?(?P<what>[^:=]+)=(?P<value>.*)$")
OLDER = re.compile(r"^(?P<name>[^>]+?)(?:>(?P<years>[^>]+))?$")
FORM = "must be COLUMN=VALUE, fit=CLASS or renew=CLASS>YEARS, with BOAT: before it for one boat"


@dataclass(frozen=True)
class Change:
    """One change: of ``boat`` ("" all), a vessels column or FIT or RENEW, and to what."""

    boat: str
    what: str
    value: str


@dataclass(frozen=True)
class Difference:
    """The fleet as it is and as it would be: both assessments, what was changed in words, ``renewed`` item_ids (parts
    fitted among them) and what they cost."""

    before: Assessment
    after: Assessment
    told: tuple[str, ...]
    renewed: tuple[str, ...]
    cost: float


def read_change(text: str) -> Change:
    """A change from its words; raises ParameterError for words of another form."""
    found = CHANGE.match(text.strip())
    if not found or not found["value"].strip():
        raise ParameterError(f"--set {FORM}, got {text!r}")
    return Change((found["boat"] or "").strip(), found["what"].strip(), found["value"].strip())


def what_if(before: Assessment, fleet: Fleet, changes: tuple[Change, ...]) -> Difference:
    """The difference that changes would make, over the same horizon and with the same draws.

    ``fleet`` is the one ``before`` assesses. Lives are learned again: a renewal is a record like any other.

    Raises ParameterError for a boat, class or column that there is not, or a value that it cannot hold.
    """
    trade = priced_trade(fleet.settings)
    changed, told, renewed = fleet, [], []
    for change in changes:
        changed, said, parts = _changed(changed, before, change, trade)
        told.append(said)
        renewed += parts
    after = assess(changed, until=before.horizon, seed=before.asked_seed)
    fitted = sorted(set(after.frame["item_id"]) - set(before.frame["item_id"]))
    cost = _cost(before, renewed) + _cost(after, fitted)
    return Difference(before, after, tuple(told), (*renewed, *fitted), cost)


def by_boat(difference: Difference) -> pd.DataFrame:
    """One row a boat, most saved first: ``vessel_id``, and before and after, ``loss`` (parts and background),
    ``sinking_probability``, ``kill_probability``."""
    sides = [_of_boats(each) for each in (difference.before, difference.after)]
    both = sides[0].join(sides[1], lsuffix="_before", rsuffix="_after")
    both["saved"] = both["loss_before"] - both["loss_after"]
    return both.sort_values(["saved", "vessel_id"], ascending=[False, True]).reset_index()


def _of_boats(result: Assessment) -> pd.DataFrame:
    parts = result.frame.groupby("vessel_id")[
        ["expected_loss", "sinking_probability", "kill_probability"]
    ].sum()
    frame = parts.reindex(result.background.index).fillna(0.0)
    weather = result.background["sinking_unattended"]
    return pd.DataFrame(
        {
            "loss": frame["expected_loss"] + result.background["loss"],
            "sinking_probability": np.minimum(frame["sinking_probability"] + weather, 1.0),
            "kill_probability": np.minimum(frame["kill_probability"], 1.0),
        }
    ).rename_axis("vessel_id")


def _changed(fleet: Fleet, before: Assessment, change: Change, trade: Trade) -> tuple[Fleet, str, list[str]]:
    boats = fleet.vessels["vessel_id"]
    if change.boat and change.boat not in set(boats):
        raise ParameterError(f"--set names no boat of this fleet: {change.boat!r}")
    here = boats.eq(change.boat) if change.boat else pd.Series(True, index=boats.index)
    where = change.boat or "every boat"
    if change.what == FIT:
        return *_fitted(fleet, before, change, here, trade), []
    if change.what == RENEW:
        return _renewed(fleet, before, change, here, trade)
    if change.what in FIXED:
        raise ParameterError(
            f"--set cannot change {change.what}: it says what the boat is, not how it is kept"
        )
    value = cell_value("vessels", change.what, change.value)
    column = fleet.vessels[change.what].mask(here, value)
    vessels = fleet.vessels.assign(**{change.what: column.astype(fleet.vessels[change.what].dtype)})
    return replace(fleet, vessels=vessels), f"{change.what} is {change.value} on {where}", []


def _fitted(
    fleet: Fleet, before: Assessment, change: Change, here: pd.Series, trade: Trade
) -> tuple[Fleet, str]:
    """One new part of a class on each boat that has none of it; typical outfits become lists of parts by it."""
    name = change.value
    if name not in trade.classes:
        raise ParameterError(f"--set fit must name a class of parts, got {name!r}")
    items = fleet.items
    bare = ~fleet.vessels["vessel_id"].isin(items["vessel_id"])
    having = set(items.loc[items["item_class"] == name, "vessel_id"])
    fits = fleet.vessels["propulsion"].isin(trade.classes[name].propulsion)
    lacking = fleet.vessels[here & fits & ~bare & ~fleet.vessels["vessel_id"].isin(having)]
    new = pd.DataFrame({"vessel_id": lacking["vessel_id"], "item_class": name, "quantity": 1.0})
    new["item_id"] = new["vessel_id"] + f"/new-{name}"
    new["installed_after"] = new["installed_by"] = pd.Timestamp(before.horizon.as_of)
    whole = _appended(items, new)
    given = pd.concat(
        [
            fleet.given["items"],
            pd.DataFrame(True, index=range(len(new)), columns=fleet.given["items"].columns),
        ],
        ignore_index=True,
    )
    label = trade.classes[name].label.lower()
    return replace(fleet, items=whole, given={**fleet.given, "items": given}), (
        f"{label} fitted today on {counted(len(lacking), 'boat')} that carry such and list none"
    )


def _renewed(
    fleet: Fleet, before: Assessment, change: Change, here: pd.Series, trade: Trade
) -> tuple[Fleet, str, list[str]]:
    """Parts of a class, or of every class whose name holds the word, that are or may be over an age, renewed today."""
    found = OLDER.match(change.value)
    assert found
    word, years = found["name"].strip(), _years(found["years"])
    classes = {name for name in trade.classes if name == word or word in name.split("_")}
    if not classes:
        raise ParameterError(f"--set renew must name a class of parts or a word in one, got {word!r}")
    items, where = before.fleet.items, before.standing
    age = where["age_years"].fillna(where["oldest"]).to_numpy(dtype=float)
    mine = items["item_class"].isin(classes) & items["vessel_id"].isin(fleet.vessels.loc[here, "vessel_id"])
    old = items[mine & (age > years) & ~items["assumed"]]
    day = pd.Timestamp(before.horizon.as_of)
    rows = pd.DataFrame(
        {"item_id": old["item_id"], "vessel_id": old["vessel_id"], "date": day, "date_by": day}
    )
    records = _appended(fleet.records, rows.assign(event="replaced", reason="scheduled", note="what if"))
    unknown = int(where.loc[old.index, "age_years"].isna().sum())
    told = f"{counted(len(old), 'part')} ({word}{f' over {years:g} years' if years else ''}) renewed today"
    if unknown:
        told += f", {unknown} of them of unknown age that may be older"
    return replace(fleet, records=records), told, list(old["item_id"])


def _appended(frame: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """``frame`` and the rows below it, in its own columns and types; what the rows leave out is blank."""
    blank = {
        column: ("" if kind == object else False if kind == bool else 0)  # noqa: E721 - numpy's own kinds
        for column, kind in frame.dtypes.items()
        if kind in (object, bool) or pd.api.types.is_integer_dtype(kind)
    }
    whole = rows.reindex(columns=frame.columns)
    for column, value in blank.items():
        if column not in rows:
            whole[column] = value
    typed = whole.astype(frame.dtypes.to_dict())
    return typed if frame.empty else pd.concat([frame, typed], ignore_index=True) if len(typed) else frame


def _years(text: str | None) -> float:
    if text is None:
        return 0.0
    try:
        years = float(text)
    except ValueError:
        years = -1.0
    if not 0 <= years < np.inf:
        raise ParameterError(f"--set renew must give years as a number from 0 up, got {text!r}")
    return years


def _cost(before: Assessment, renewed: list[str]) -> float:
    """What renewing these parts costs by the trade's tasks; parts lifted on one boat each pay the lift here."""
    tasks = before.tasks[before.tasks["does"] == "renew"]
    named = before.fleet.items["item_id"].to_numpy()[tasks["item"]]
    cheapest = tasks.assign(item_id=named).groupby("item_id")["cost"].min()
    return float(cheapest.reindex(renewed).fillna(0.0).sum())
