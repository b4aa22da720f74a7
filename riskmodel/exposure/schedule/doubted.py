"""The doubt that boats of a schedule share, whose outfit is assumed or whose visits nobody has told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence import vessel_losses
from riskmodel.exposure.book import drawn_prices
from riskmodel.exposure.doubt import ATTENDANCE, LONGER, MOST_CHANCE, OUTFIT, Doubt
from riskmodel.exposure.schedule.risks import KindRisks, blocks, kind_risks, total_losses
from riskmodel.exposure.schedule.standing_for import Kinds, some_kinds
from riskmodel.risk import Horizon
from riskmodel.risk.draws import Draws


def doubt_of_kinds(kinds: Kinds, risks: KindRisks, horizon: Horizon, seed: int) -> Doubt:
    """The doubt about a schedule (doubt.doubt_of), by row of Kinds."""
    draws, care = Draws(seed), kinds.learned.trade.care
    powers = _powers(kinds, risks, horizon, seed)
    return Doubt(
        outfit=care[OUTFIT].typical * draws.normal(OUTFIT),
        attendance=care[ATTENDANCE].typical * draws.normal(ATTENDANCE),
        assumed=~kinds.listed,
        power={name: powers[:, place] for place, name in enumerate(risks.states)},
    )


def with_doubt(risks: KindRisks, kinds: Kinds, doubt: Doubt, seed: int) -> KindRisks:
    """The risks with the doubt in them; mean losses before terms stay as they were."""
    losses = vessel_losses(kinds.learned.fleet.vessels, kinds.learned.trade)
    losses = losses[losses["end_state"].isin(risks.states)]
    alone = np.empty_like(risks.alone)
    for some in blocks(len(alone)):
        rows = slice(some.start * len(risks.states), some.stop * len(risks.states))
        price = drawn_prices(Draws(seed), losses.iloc[rows], risks.states)
        for name, factor in risks.growth.items():
            price[:, risks.states.index(name)] *= factor[some]
        alone[some] = doubt.of(some).applied(risks.states, risks.alone[some], price)
    return replace(risks, alone=alone, held=total_losses(alone, risks.states))


def _powers(kinds: Kinds, risks: KindRisks, horizon: Horizon, seed: int) -> FloatArray:
    """(r, K) the power of the time between visits with which mean hazards go where that is not told, 0 elsewhere."""
    found = np.zeros(risks.alone.shape[:2])
    fleet = kinds.learned.fleet
    rows = np.flatnonzero(~fleet.given["vessels"]["checked_every_days"].to_numpy(dtype=bool))
    if not len(rows):
        return found
    some = some_kinds(kinds, rows)
    boats = some.learned.fleet.vessels
    rarer = replace(
        some.learned.fleet, vessels=boats.assign(checked_every_days=LONGER * boats["checked_every_days"])
    )
    later = kind_risks(replace(some, learned=replace(some.learned, fleet=rarer)), horizon, risks.states, seed)
    usual, other = (
        -np.log1p(-np.minimum(each.mean(axis=2), MOST_CHANCE)) for each in (risks.alone[rows], later.alone)
    )
    times = np.divide(other, usual, out=np.ones_like(usual), where=(usual > 0) & (other > 0))
    found[rows] = np.log(times) / np.log(LONGER)
    return found
