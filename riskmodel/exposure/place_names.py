"""Names of places: capitals, spaces and hyphens tell no two apart, and each is shown as it was first spelt."""

from __future__ import annotations

from collections.abc import Iterable

import pandas as pd

from riskmodel.fleet.nearest import folded


def first_spellings(names: Iterable[str]) -> dict[str, str]:
    """For each name, in the order they come, the first spelling of its place; "" where it says nothing."""
    first: dict[str, str] = {"": ""}
    return {name: first.setdefault(folded(name), " ".join(name.split())) for name in names}


def places_named(port: pd.Series) -> pd.Series:
    """(n,) the place of each boat as it is first spelt, "" where it is not said."""
    told = port.where(port.notna(), "").astype(str)
    return told.map(first_spellings(told.unique()))
