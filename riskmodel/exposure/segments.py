"""Where a book's loss sits: contributions of segments to the mean and to the worst years, which they add up to."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.book import grown_outcomes
from riskmodel.exposure.exposed import Exposure
from riskmodel.exposure.place_names import places_named
from riskmodel.exposure.places import PLACE

# Years of age at which bands begin (judgement: decades, as schedules have them).
AGE_BANDS = (0, 10, 20, 30, 40)
UNKNOWN = "not said"
# What no part brings about: rain, snow and waves.
WEATHER = "no part's doing"
AGE, END_STATE, ITEM_CLASS = "age", "end_state", "item_class"


def segments(exposure: Exposure, by: str) -> pd.DataFrame:
    """Contributions by ``by``: a vessels column, or age (of the hull, in bands), end_state or item_class.

    Returns
    -------
    DataFrame
        ``segment, boats, value, before, after`` (mean loss before and after terms), ``share`` (of the mean after),
        ``worst`` (part in the mean of the worst year in a hundred, after terms) and ``worst_share``; the dearest
        first, age in its order. ``before``, ``after`` and ``worst`` add up to the book's. End states and classes of
        parts cut across boats, so their ``boats`` and ``value`` are those that can have them.

    Raises
    ------
    ParameterError
        For a column that the vessels table does not have.
    """
    across: dict[str, Callable[[Exposure], tuple[list[str], FloatArray]]] = {
        END_STATE: _by_state,
        ITEM_CLASS: _by_class,
    }
    if by in across:
        names, share = across[by](exposure)
    else:
        names, share = _by_words(segment_words(exposure.book.vessels, by, exposure.result.horizon.as_of.year))
    return _summed(exposure, names, share, in_order=by == AGE)


def segment_words(vessels: pd.DataFrame, by: str, year: int) -> pd.Series:
    """The segment of each boat (n,) in words. Raises ParameterError for a column that there is not."""
    if by == AGE:
        return age_bands(vessels["built_year"], year)
    if by not in vessels.columns:
        also = ", ".join((AGE, END_STATE, ITEM_CLASS))
        raise ParameterError(f"--by must name a column of vessels, or {also}, got {by!r}")
    words = vessels[by]
    if pd.api.types.is_bool_dtype(words):
        return words.map({True: "yes", False: "no"})
    if pd.api.types.is_numeric_dtype(words):
        return words.map(lambda number: UNKNOWN if np.isnan(number) else f"{number:g}")
    told = places_named(words) if by == PLACE else words.astype(str)
    return told.where(words.notna() & (told != ""), UNKNOWN)


def age_bands(built: pd.Series, year: int) -> pd.Series:
    """Ages of hulls in a year, in bands of years in words."""
    age = np.maximum(year - built.to_numpy(dtype=float), 0.0)
    place = np.searchsorted(AGE_BANDS, np.nan_to_num(age), side="right") - 1
    words = [f"{low}-{high - 1} years" for low, high in pairwise(AGE_BANDS)]
    words.append(f"{AGE_BANDS[-1]} years or more")
    return pd.Series(np.where(np.isnan(age), UNKNOWN, np.array(words)[place]), index=built.index)


def _by_words(words: pd.Series) -> tuple[list[str], FloatArray]:
    names = sorted(words.unique())
    share = (words.to_numpy()[:, None] == np.array(names)[None, :]).astype(float)
    return names, share[:, None, :]


def _by_state(exposure: Exposure) -> tuple[list[str], FloatArray]:
    states = exposure.book.states
    labels = [exposure.result.trade.end_states[name].label for name in states]
    return labels, np.eye(len(states))[None]


def _by_class(exposure: Exposure) -> tuple[list[str], FloatArray]:
    """Shares (n, K, classes) of each boat's loss in each end state, by the class of the part that brings it about.

    Losses of one end state cost alike whatever part brings them, so shares of the chance are shares of the loss, save
    where a loss grows with the time undetected.
    """
    result, book = exposure.result, exposure.book
    items = result.fleet.items
    names = sorted(items["item_class"].unique())
    column = pd.Index(names).get_indexer(items["item_class"])
    found = np.zeros((book.rows, len(book.states), len(names) + 1))
    grown = grown_outcomes(result, result.parts.drawn, result.barriers.working)
    for place, state in enumerate(book.states):
        if state in grown:
            loss = grown[state].loss.mean(axis=1)
            np.add.at(found[:, place], (result.consequences.vessel, column), loss)
            found[:, place, -1] = grown[state].background_loss
            continue
        if state in result.chances:
            np.add.at(found[:, place], (result.consequences.vessel, column), result.chances[state].to_numpy())
        if state in result.background:
            found[:, place, -1] = result.background[state].to_numpy()
    whole = found.sum(axis=2, keepdims=True)
    share = np.divide(found, whole, out=np.zeros_like(found), where=whole > 0)
    labels = [result.trade.classes[name].label for name in names]
    return [*labels, WEATHER], share


def _summed(exposure: Exposure, names: list[str], share: FloatArray, *, in_order: bool) -> pd.DataFrame:
    """Sums of (n, K) arrays over shares that broadcast to (n, K, segments)."""
    book, after = exposure.book, exposure.after
    money = {"before": exposure.before.mean, "after": after.mean, "worst": after.tail}
    have = np.broadcast_to(share, (*after.mean.shape, len(names))) * (exposure.before.mean > 0)[:, :, None]
    boats = have.any(axis=1)
    frame = pd.DataFrame({"segment": names, "boats": (book.count @ boats).astype(np.int64)})
    frame["value"] = book.value @ boats
    for name, values in money.items():
        frame[name] = np.einsum("nk,nks->s", values, np.broadcast_to(share, (*values.shape, len(names))))
    frame["share"] = frame["after"] / max(after.total.mean, np.finfo(float).tiny)
    frame["worst_share"] = frame["worst"] / max(float(frame["worst"].sum()), np.finfo(float).tiny)
    frame = frame[["segment", "boats", "value", "before", "after", "share", "worst", "worst_share"]]
    frame = frame[frame["boats"] > 0]
    if not in_order:
        frame = frame.sort_values(["after", "segment"], ascending=[False, True], kind="stable")
    return frame.reset_index(drop=True)
