"""Puts the classes' results back into the order of the items table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

import numpy as np
import numpy.typing as npt

from riskmodel.risk.class_risk import ClassRisk
from riskmodel.risk.draws import DRAWS


def gather(risks: Mapping[str, tuple[npt.NDArray[np.intp], ClassRisk]], items: int) -> ClassRisk:
    """One ClassRisk over all items from one per class, each with the places of its items."""
    whole = {
        field.name: np.empty(items)
        if field.name in ("mean", "low", "high", "needs_work")
        else np.empty((items, DRAWS))
        for field in fields(ClassRisk)
        if field.name != "finds"
    }
    # Classes have plans of looks of their own, some more than others.
    plans = max((risk.finds.shape[1] for _, risk in risks.values()), default=0)
    finds = np.zeros((items, plans))
    for place, risk in risks.values():
        for name, values in whole.items():
            values[place] = getattr(risk, name)
        finds[place, : risk.finds.shape[1]] = risk.finds
    return ClassRisk(**whole, finds=finds)
