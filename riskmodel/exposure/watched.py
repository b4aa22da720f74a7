"""What an insurer's claims are held against: the boat-years they come from, and the losses that became claims."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.cover import Policy, deductibles
from riskmodel.fleet import Fleet
from riskmodel.units import DAYS_PER_YEAR


@dataclass(frozen=True, eq=False)
class Watched:
    """The claims of a fleet and the time they were seen in.

    ``first``: the day from which claims count; ``stated``: whether settings.toml said so, else it is that of the
    earliest claim, which opens the watch and is itself no part of it. ``years`` (n,): of each boat. ``borne`` (n,): a
    loss up to this [currency] was no claim. ``claims``: those above it, with ``boat`` (place in the vessels table) and
    ``counts`` (whether they fall in the watch). ``below``: how many were not above it;
    ``gone``: claims of boats that are in the tables still but no longer in the book, sold ones.
    """

    first: date
    stated: bool
    years: FloatArray
    borne: FloatArray
    claims: pd.DataFrame
    below: int
    gone: int = 0

    @property
    def boat_years(self) -> float:
        """Years watched, all boats together."""
        return float(self.years.sum())


def watched(fleet: Fleet, policy: Policy) -> Watched | None:
    """The claims of a fleet, or None where it has none and nobody says from which day there were none.

    A boat is watched from that day on, though not before the first day of the year she was built in, nor before the
    inception of her policy where that is told. What was borne: a
    boat's own ``deductible``, else ``claims_deductible`` of settings.toml, else what ``policy`` takes for such boats.
    """
    stated, borne = fleet.settings.claims_from, _borne(fleet, policy)
    boat = pd.Index(fleet.vessels["vessel_id"]).get_indexer(fleet.claims["vessel_id"])
    gone = boat < 0
    claims, boat = fleet.claims[~gone], boat[~gone]
    if claims.empty and stated is None:
        return None
    first = stated or claims["loss_on"].min().date()
    above = claims["gross"].to_numpy(dtype=float) > borne[boat]
    counts = np.ones(len(claims), dtype=bool)
    if stated is None:
        counts[int(claims["loss_on"].to_numpy().argmin())] = False
    told = claims.assign(boat=boat, counts=counts)[above].reset_index(drop=True)
    return Watched(
        first, stated is not None, _years(fleet, first), borne, told, int((~above).sum()), int(gone.sum())
    )


def _years(fleet: Fleet, first: date) -> FloatArray:
    built = np.nan_to_num(fleet.vessels["built_year"].to_numpy(dtype=float), nan=float(first.year))
    begun = (built.astype(int) - 1970).astype("datetime64[Y]").astype("datetime64[D]")
    inception = fleet.vessels["inception"].to_numpy().astype("datetime64[D]")
    begun = np.fmax(begun, inception)
    days = np.datetime64(fleet.as_of) - np.maximum(begun, np.datetime64(first))
    years: FloatArray = np.maximum(days / np.timedelta64(1, "D"), 0.0) / DAYS_PER_YEAR
    return years


def _borne(fleet: Fleet, policy: Policy) -> FloatArray:
    stated = fleet.settings.claims_deductible
    return deductibles(fleet.vessels, policy if stated is None else Policy(deductible=stated))
