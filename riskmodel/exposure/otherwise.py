"""The same parts on boats that are visited, or powered, otherwise: what follows is worked out anew, lives are not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import background_of_boats, boats_with_pumps, item_following, parts_on_boats
from riskmodel.fleet import Fleet, year_shares
from riskmodel.risk import Assessment
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import Consequences, outcomes


def otherwise(result: Assessment, fleet: Fleet) -> Assessment:
    """The assessment with the consequences of ``fleet``: the same boats and parts, visited or powered otherwise.

    Only ``consequences`` and the ``fleet`` are new; the frame and the benefits stay those of before. A part's own
    chance of letting go rests on neither visits nor shore power.
    """
    horizon, trade = result.horizon, result.trade
    year = year_shares(fleet, horizon.as_of, horizon.until)
    boats = boats_with_pumps(fleet.items, fleet.vessels)
    following = item_following(parts_on_boats(fleet.items, boats), year, trade)
    consequences = Consequences(
        following=following,
        background=background_of_boats(boats, year, horizon.years, trade),
        losses=result.losses,
        vessel=pd.Index(fleet.vessels["vessel_id"]).get_indexer(fleet.items["vessel_id"]),
        vessels=len(fleet.vessels),
    )
    return replace(result, consequences=consequences, learned=replace(result.learned, fleet=fleet))


def chances_otherwise(result: Assessment) -> Mapping[str, FloatArray]:
    """By end state, each boat's chance (n, DRAWS) of it under consequences that are new."""
    chance, working = result.parts.drawn, result.barriers.working
    return outcomes(chance, result.consequences, working, result.trade, Draws(result.seed)).boats
