"""From parts letting go to end states: the physics of each boat where there is one, the judged table elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.areas import AREAS, Area
from riskmodel.consequence.flat import flat_follows
from riskmodel.consequence.follow import Follow, scenarios
from riskmodel.consequence.needs import INJURY, TABLE, could_happen, needs_of, with_shares
from riskmodel.consequence.quantities import MOST
from riskmodel.consequence.states import (
    OF_THE_YEAR,
    afloat,
    launched,
    over_states,
    summed_over_states,
    year_share,
)
from riskmodel.consequence.told import Line
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade


@dataclass(frozen=True)
class Following:
    """What may follow in a fleet: one row a part, end state and origin.

    ``rows``: ``item`` (place in the items table), ``vessel_id, item_class, end_state, origin`` (an area of physics, or
    "table"), ``guarded`` (the end state whose barriers stand in its way: an injury has those of what hurts), ``needs``
    (what it does nothing without, see needs_of), ``low, high`` (central 90 % of P(end state | lets go), no barrier
    working), and for rows of the table what they were made of (item_paths). ``chance`` (rows, S, BARRIER_STATES) and
    ``loss_factor`` (rows, S) as in Follow. ``parts`` (with_shares) and ``year``: what it was worked out from.
    """

    rows: pd.DataFrame
    chance: FloatArray
    loss_factor: FloatArray
    parts: pd.DataFrame
    year: pd.DataFrame


def item_following(parts: pd.DataFrame, year: pd.DataFrame, trade: Trade) -> Following:
    """What may follow from each part over the year its boat has.

    Parameters
    ----------
    parts : DataFrame
        One row a part with its boat's columns beside its own (``parts_on_boats``).
    year : DataFrame
        ``vessel_id, state, share, visited_every_days, shore_power``: the shares of each boat's horizon add to 1.

    The judged table comes first: a pair of class and end state that it holds is not worked out again.
    """
    cube, parts = scenarios(), with_shares(parts, year)
    paths, flat = flat_follows(parts, trade, cube)
    flat = Follow(flat.chance * _wet(paths, parts, year)[:, None, None], flat.loss_factor)
    blocks = [(paths.assign(origin=TABLE, guarded=paths["end_state"]), flat)]
    own = {pair: row for row, pair in enumerate(zip(paths["item"], paths["end_state"], strict=True))}
    for area in AREAS:
        blocks += [
            _less_judged(area, block, own, flat) for block in _of_area(area, parts, year, (trade, cube))
        ]
    return _joined([_that_could_happen(block, parts, trade) for block in blocks], parts, year)


def _of_area(
    area: Area, parts: pd.DataFrame, year: pd.DataFrame, tools: tuple[Trade, Hypercube]
) -> Iterator[tuple[pd.DataFrame, Follow]]:
    """Rows and what follows, one block an end state; each distinct kind of part is worked out once."""
    trade, cube = tools
    mine = parts[parts["item_class"].isin(area.classes(trade))]
    if mine.empty:
        return
    spread = over_states(mine, year)
    if not set(area.uses) & set(OF_THE_YEAR):
        spread = spread.drop_duplicates("item", ignore_index=True).assign(share=1.0)
    kind = spread.groupby(list(area.uses), sort=False, dropna=False).ngroup().to_numpy().astype(np.intp)
    first = np.unique(kind, return_index=True)[1]
    item, start = np.unique(spread["item"].to_numpy(), return_index=True)
    share = spread["share"].to_numpy(dtype=float)
    head = parts.loc[item, ["vessel_id", "item_class"]].assign(item=item, origin=area.name)
    found = area.follows(spread.loc[first, list(area.uses)].reset_index(drop=True), trade, cube)
    for name, follow in found.items():
        chance = summed_over_states(follow.chance, kind, share, start)
        reached = np.flatnonzero(chance.max(axis=(1, 2)) > 0)
        factor = summed_over_states(follow.loss_factor, kind, share, start)
        rows = head.iloc[reached].assign(end_state=name, guarded=area.hurts_by if name == INJURY else name)
        if name == INJURY:
            hurts = summed_over_states(found[area.hurts_by].chance, kind, share, start)[reached]
            rows["hurt_share"] = chance[reached].mean(axis=(1, 2)) / hurts.mean(axis=(1, 2))
        yield rows, Follow(np.minimum(chance[reached], MOST), factor[reached])


def _wet(paths: pd.DataFrame, parts: pd.DataFrame, year: pd.DataFrame) -> FloatArray:
    """(rows,) share of the year in which the sea can come in, for judged paths by which it does; 1 for the others."""
    share = paths["vessel_id"].map(year_share(parts, year, afloat)).to_numpy(dtype=float)
    wet: FloatArray = np.where(paths["end_state"] == "sinking_unattended", share, 1.0)
    return wet


def _that_could_happen(
    block: tuple[pd.DataFrame, Follow], parts: pd.DataFrame, trade: Trade
) -> tuple[pd.DataFrame, Follow]:
    """A block without what needs water or a running engine, on boats that have none the whole year."""
    rows, follow = block
    rows = rows.assign(needs=needs_of(rows, trade))
    keep = could_happen(rows, parts)
    return rows[keep], Follow(follow.chance[keep], follow.loss_factor[keep])


def _less_judged(
    area: Area, block: tuple[pd.DataFrame, Follow], own: Mapping[tuple[int, str], int], flat: Follow
) -> tuple[pd.DataFrame, Follow]:
    """A block without the pairs of part and end state that the table judges; people are hurt in step with its chance.

    An injury's chance is a share of what hurts, which ``_of_area`` has put beside it.
    """
    rows, follow = block
    chance = follow.chance
    if rows.empty or rows["end_state"].iloc[0] != INJURY:
        keep = np.array(
            [pair not in own for pair in zip(rows["item"], rows["end_state"], strict=True)], dtype=bool
        )
        return rows[keep], Follow(chance[keep], follow.loss_factor[keep])
    places = [own.get((item, area.hurts_by), -1) for item in rows["item"]]
    judged = np.flatnonzero(np.array(places) >= 0)
    if len(judged):
        chance = chance.copy()
        chance[judged] = (
            rows["hurt_share"].to_numpy()[judged, None, None] * flat.chance[np.array(places)[judged]]
        )
    return rows.drop(columns="hurt_share"), Follow(chance, follow.loss_factor)


def area_steps(name: str, following: Following, item: int, trade: Trade) -> tuple[Line, ...]:
    """The steps of an area's physics for one item, in the state its boat is in for most of the horizon, a lay-up ashore
    apart: nothing comes to pass in it."""
    area = next(each for each in AREAS if each.name == name)
    spread = over_states(following.parts.loc[[item]], following.year)
    spread = spread.assign(wet=launched(spread)).sort_values(["wet", "share"], ascending=False, kind="stable")
    return area.steps(spread[list(area.uses)].reset_index(drop=True), trade, scenarios())


def _joined(blocks: list[tuple[pd.DataFrame, Follow]], parts: pd.DataFrame, year: pd.DataFrame) -> Following:
    rows = pd.concat([rows for rows, _ in blocks], ignore_index=True)
    order = rows.sort_values(["item", "end_state"], kind="stable").index.to_numpy()
    chance = np.concatenate([follow.chance for _, follow in blocks])[order]
    factor = np.concatenate([follow.loss_factor for _, follow in blocks])[order]
    rows = rows.loc[order].reset_index(drop=True)
    rows["low"], rows["high"] = np.quantile(chance[:, :, 0], [0.05, 0.95], axis=1)
    return Following(rows, chance, factor, parts, year)
