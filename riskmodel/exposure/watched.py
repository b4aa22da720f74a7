"""What an insurer's claims are held against: the boat-years they come from, and the losses that became claims."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import boat_counts
from riskmodel.exposure.cover import Policy, deductibles
from riskmodel.fleet import Fleet
from riskmodel.units import DAYS_PER_YEAR

Days = npt.NDArray[np.datetime64]


@dataclass(frozen=True, eq=False)
class Watched:
    """The claims of a fleet and the time they were seen in.

    ``first``: the day from which claims count; ``stated``: whether settings.toml said so, else it is that of the
    earliest claim, which opens the watch and is itself no part of it. ``years`` (n,): of each row's boats together.
    ``borne`` (n,): a loss up to this [currency] was no claim. ``claims``: those above it, with ``boat`` (place in the
    vessels table) and ``counts`` (whether they fall in the boat's watch). ``below``: how many were not above it;
    ``gone``: claims of boats that are in the tables still but no longer in the book, sold ones; ``outside``: claims
    above it of days before the boat was insured or after her policy ended.
    """

    first: date
    stated: bool
    years: FloatArray
    borne: FloatArray
    claims: pd.DataFrame
    below: int
    gone: int = 0
    outside: int = 0

    @property
    def boat_years(self) -> float:
        """Years watched, all boats together."""
        return float(self.years.sum())


def watched(fleet: Fleet, policy: Policy) -> Watched | None:
    """The claims of a fleet, or None where it has none and nobody says from which day there were none.

    A boat is watched from that day on, though not before the first day of the year she was built in, nor before she was
    insured (``insured_since``, else inception) or after her policy's expiry, where these are told. What was borne: a
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
    begins, expiry = _begun(fleet, first), _days(fleet, "expiry")
    day = claims["loss_on"].to_numpy().astype("datetime64[D]")
    counts = (day >= begins[boat]) & ~(day >= expiry[boat])
    outside = int((above & ~counts).sum())
    if stated is None:
        counts[int(claims["loss_on"].to_numpy().argmin())] = False
    told = claims.assign(boat=boat, counts=counts)[above].reset_index(drop=True)
    return Watched(
        first=first,
        stated=stated is not None,
        years=_years(fleet, begins, expiry),
        borne=borne,
        claims=told,
        below=int((~above).sum()),
        gone=int(gone.sum()),
        outside=outside,
    )


def _begun(fleet: Fleet, first: date) -> Days:
    """(n,) the first day on which each boat is watched."""
    built = np.nan_to_num(fleet.vessels["built_year"].to_numpy(dtype=float), nan=float(first.year))
    begun = (built.astype(int) - 1970).astype("datetime64[Y]").astype("datetime64[D]")
    since, inception = _days(fleet, "insured_since"), _days(fleet, "inception")
    insured = np.where(np.isnat(since), inception, since)
    found: Days = np.maximum(np.fmax(begun, insured), np.datetime64(first))
    return found


def _days(fleet: Fleet, name: str) -> Days:
    return fleet.vessels[name].to_numpy().astype("datetime64[D]")


def _years(fleet: Fleet, begins: Days, expiry: Days) -> FloatArray:
    ends = np.fmin(expiry, np.datetime64(fleet.as_of))
    days = np.maximum((ends - begins) / np.timedelta64(1, "D"), 0.0)
    years: FloatArray = boat_counts(fleet.vessels) * days / DAYS_PER_YEAR
    return years


def _borne(fleet: Fleet, policy: Policy) -> FloatArray:
    stated = fleet.settings.claims_deductible
    return deductibles(fleet.vessels, policy if stated is None else Policy(deductible=stated))
