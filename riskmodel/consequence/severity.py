"""Severity, probability and risk in the words of MIL-STD-882E: looked up in its tables, never multiplied.

Money and people are judged apart, and the worse of the two is the category. The standard's money bands are rescaled
by a setting of ours; what it says of injury and death is not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.trade import Trade

MONEY_SCALE = "severity_money_scale"
RISKS = ("High", "Serious", "Medium", "Low", "Eliminated")
Words = npt.NDArray[np.object_]
Categories = npt.NDArray[np.intp]


def probability_level(probability: npt.ArrayLike, trade: Trade) -> Words:
    """Letters A (frequent) to F (eliminated) of chances in [0, 1], of any shape.

    F is kept for what cannot happen: a chance of exactly 0. The least chance above 0 is E.

    Raises ParameterError for what is not a chance.
    """
    chance = not_negative("probability", probability)
    if (chance > 1).any():
        raise ParameterError(f"probability must be at most 1, got {chance[chance > 1].flat[0]}")
    levels = sorted(trade.probability_levels.values(), key=lambda level: level.level)
    found = np.full(chance.shape, levels[-1].level, dtype=object)
    # From the least likely up, so that the likeliest level a chance reaches is the last one written.
    for level in reversed(levels[:-1]):
        least = level.at_least or 0.0
        found[(chance >= least) & (chance > 0)] = level.level
    return found


def risk_level(level: npt.ArrayLike, category: npt.ArrayLike, trade: Trade) -> Words:
    """The standard's word of risk for levels (A to F) and categories (1 to 4), which broadcast.

    Raises ParameterError for an unknown level or category.
    """
    letters, numbers = np.broadcast_arrays(np.asarray(level, dtype=object), np.asarray(category))
    known = list(trade.probability_levels)
    for name, cells, allowed in (("level", letters, known), ("category", numbers, [1, 2, 3, 4])):
        strange = ~np.isin(cells.astype(str), [str(each) for each in allowed])
        if strange.any():
            raise ParameterError(
                f"{name} must be one of {', '.join(map(str, allowed))}, got {cells[strange].flat[0]}"
            )
    matrix = np.array([_matrix_row(name, trade) for name in known], dtype=object)
    rows = np.vectorize(known.index, otypes=[np.intp])(letters)
    words: Words = np.asarray(matrix[rows, numbers.astype(np.intp) - 1], dtype=object)
    return words


def money_bands(trade: Trade, scale: float | None = None) -> FloatArray:
    """Least mean loss (4,) of categories 1 to 4 [the fleet's currency]: the standard's bands times ``scale``.

    ``scale`` is the trade's setting when left out. Raises ParameterError unless it is above 0.
    """
    share = trade.limits[MONEY_SCALE].value if scale is None else scale
    if not 0 < share < np.inf:
        raise ParameterError(f"{MONEY_SCALE} must be a number above 0, got {share}")
    standard = sorted(trade.severities.values(), key=lambda each: each.category)
    return share * np.array([each.money_at_least for each in standard])


def money_category(loss: npt.ArrayLike, bands: FloatArray) -> Categories:
    """Category 1 to 4 of mean losses by money alone; ``bands`` as money_bands gives them.

    Raises ParameterError for a loss that is no amount.
    """
    amounts = not_negative("loss", loss)
    found: Categories = np.argmax(amounts[..., None] >= bands, axis=-1) + 1
    return found


def outcome_categories(losses: pd.DataFrame, trade: Trade, scale: float | None = None) -> pd.DataFrame:
    """What each end state would be on each boat: the worse of its money and its people category, and both.

    Parameters
    ----------
    losses : DataFrame
        ``vessel_id, end_state, mean``, as losses.vessel_losses gives it.
    scale : float, optional
        Of the standard's money bands; the trade's own setting when left out.

    Returns
    -------
    DataFrame
        ``vessel_id, end_state, loss, money_category, people_category, category``: 1 the worst to 4.
    """
    money = money_category(losses["mean"], money_bands(trade, scale))
    harm = {name: trade.severities[each.people_severity].category for name, each in trade.end_states.items()}
    people = losses["end_state"].map(harm).to_numpy(dtype=np.intp)
    return pd.DataFrame(
        {
            "vessel_id": losses["vessel_id"].to_numpy(),
            "end_state": losses["end_state"].to_numpy(),
            "loss": losses["mean"].to_numpy(),
            "money_category": money,
            "people_category": people,
            "category": np.minimum(money, people),
        }
    )


def outcome_cells(
    chances: pd.DataFrame, vessel_id: Sequence[str], categories: pd.DataFrame, trade: Trade
) -> pd.DataFrame:
    """Each part's every end state with its level, category and word of risk.

    Parameters
    ----------
    chances : DataFrame
        One row a part (its index labels the answer's ``item_id``), one column an end state: mean chance over the
        horizon that the part brings it about.
    vessel_id : sequence of str
        Each part's boat.
    categories : DataFrame
        As outcome_categories gives it.

    Returns
    -------
    DataFrame
        ``item_id, vessel_id, end_state, chance, level, loss, money_category, people_category, category, risk``.
    """
    items, states = chances.shape
    rows = pd.DataFrame(
        {
            "item_id": np.repeat(chances.index.to_numpy(), states),
            "vessel_id": np.repeat(np.asarray(vessel_id, dtype=object), states),
            "end_state": np.tile(chances.columns.to_numpy(), items),
            "chance": chances.to_numpy(dtype=float).ravel(),
        }
    )
    rows["level"] = probability_level(rows["chance"].to_numpy(), trade)
    rows = rows.merge(categories, on=["vessel_id", "end_state"], how="left", validate="many_to_one")
    rows["risk"] = risk_level(rows["level"].to_numpy(), rows["category"].to_numpy(), trade)
    return rows


def worst_cells(cells: pd.DataFrame) -> pd.DataFrame:
    """One row a part, in the order parts first come: the end state with the worst word of risk.

    Among equal words the worse category, then the likelier. A part that nothing can follow from stands in level F and
    category 4. Words are compared in order; nothing is multiplied.
    """
    order = {word: place for place, word in enumerate(RISKS)}
    ranked = cells.assign(
        _place=np.arange(len(cells)),
        _word=cells["risk"].map(order),
        _nothing=cells["chance"] == 0,
        _chance=-cells["chance"],
    )
    ranked = ranked.sort_values(["_word", "_nothing", "category", "_chance", "_place"], kind="stable")
    first = ranked.drop_duplicates("item_id").sort_values("_place").reset_index(drop=True)
    first["category"] = first["category"].where(~first["_nothing"], 4)
    return first[list(cells.columns)]


def cell_counts(cells: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """How many rows stand in each cell: levels A to F down, categories 1 to 4 across."""
    counts = pd.crosstab(cells["level"], cells["category"])
    return counts.reindex(index=sorted(trade.probability_levels), columns=[1, 2, 3, 4], fill_value=0)


def _matrix_row(level: str, trade: Trade) -> list[str]:
    row = trade.probability_levels[level]
    return [row.catastrophic, row.critical, row.marginal, row.negligible]
