"""One life as plain JSON values and back, with a hash over its rows and a word for everything that is amiss."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.life import Life
from riskmodel.life.posterior import Posterior
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows

PRIOR = ("log_shape", "log_shape_sd", "log_age", "log_age_sd", "quantile")
ROWS = ("lower", "upper", "entry", "count")
NODES = ("log_shape", "log_age", "log_scale", "weight")
# Infinite where null is read; anywhere else null is a missing number.
ENDLESS = {"log_shape_sd", "log_age_sd", "upper"}
# Weights add to 1 only to rounding.
ROUNDING = 1e-9


@dataclass(frozen=True)
class Entry:
    """What stands in the file for one thing, where it stands, and the list to which its faults go."""

    value: Any
    place: str
    faults: list[str]

    def under(self, key: str) -> Entry:
        """The entry under ``key``; a fault, and nothing in it, when there is none."""
        if isinstance(self.value, dict) and key in self.value:
            return Entry(self.value[key], f"{self.place}.{key}", self.faults)
        self.faults.append(f"{self.place}.{key} is missing")
        return Entry(None, f"{self.place}.{key}", [])

    def wrong(self, wanted: str) -> None:
        """Notes that this is not what was ``wanted``."""
        self.faults.append(f"{self.place} {wanted}")


def life_from(life: Life) -> dict[str, Any]:
    """``life`` as values JSON can hold; null stands for infinity."""
    rows = _counted(life.rows)
    return {
        "prior": {name: _finite(getattr(life.prior, name)) for name in PRIOR},
        "data_hash": rows_hash(rows),
        "rows": {name: [_finite(value) for value in getattr(rows, name).tolist()] for name in ROWS},
        "nodes": {name: getattr(life.nodes, name).tolist() for name in NODES},
        "mode": life.nodes.mode.tolist(),
        "settled": bool(life.nodes.settled),
    }


def read_life(entry: Entry) -> Life | None:
    """The life in ``entry``; None when it has faults, which are noted there."""
    known = len(entry.faults)
    prior = _prior(entry.under("prior"))
    rows = _rows(entry.under("rows"), entry.under("data_hash"))
    nodes = entry.under("nodes")
    columns = [_numbers(nodes.under(name), name) for name in NODES]
    mode = _numbers(entry.under("mode"), "mode")
    settled = entry.under("settled")
    if len(entry.faults) == known:
        _check_nodes(nodes, columns, mode, settled)
    if len(entry.faults) > known or prior is None or rows is None:
        return None
    log_shape, log_age, log_scale, weight = columns
    return Life(prior, rows, Posterior(log_shape, log_age, log_scale, weight, mode, settled.value))


def rows_hash(rows: LifeRows) -> str:
    """sha256 over the rows' four columns, one after the other, as little-endian doubles."""
    digest = hashlib.sha256()
    for name in ROWS:
        digest.update(np.ascontiguousarray(getattr(rows, name), dtype="<f8").tobytes())
    return digest.hexdigest()


def _counted(rows: LifeRows) -> LifeRows:
    """Equal rows as one with their counts added, in order of age: the order of the records leaves no trace."""
    if len(rows) == 0:
        return rows
    table = np.column_stack([getattr(rows, name) for name in ROWS])
    table = table[np.lexsort(table.T[::-1])]
    life = table[:, :3]
    starts = np.flatnonzero(np.concatenate([[True], (life[1:] != life[:-1]).any(axis=1)]))
    lower, upper, entry = life[starts].T
    return LifeRows(lower, upper, entry, np.add.reduceat(table[:, 3], starts))


def _finite(value: float) -> float | None:
    return None if math.isinf(value) else float(value)


def _prior(entry: Entry) -> WeibullPrior | None:
    known = len(entry.faults)
    values = {name: _number(entry.under(name), name) for name in PRIOR}
    if len(entry.faults) > known:
        return None
    try:
        return WeibullPrior(**values)
    except ParameterError as fault:
        entry.wrong(f"cannot be: {fault}")
        return None


def _rows(entry: Entry, stated: Entry) -> LifeRows | None:
    known = len(entry.faults)
    columns = [_numbers(entry.under(name), name) for name in ROWS]
    if len(entry.faults) > known:
        return None
    try:
        rows = LifeRows(*columns)
    except ParameterError as fault:
        entry.wrong(f"cannot be: {fault}")
        return None
    if rows_hash(rows) != stated.value:
        entry.wrong(f"must be the rows its data_hash was taken of ({stated.value}), got {rows_hash(rows)}")
    return rows


def _number(entry: Entry, name: str) -> float:
    return float(_numbers(Entry([entry.value], entry.place, entry.faults), name)[0])


def _numbers(entry: Entry, name: str) -> FloatArray:
    """The list in ``entry`` as floats, null as infinity where it may stand for it."""
    values = entry.value if isinstance(entry.value, list) else [math.nan]
    endless = name in ENDLESS
    kinds = (int, float, type(None)) if endless else (int, float)
    if all(isinstance(value, kinds) and not isinstance(value, bool) for value in values):
        numbers = np.array([math.inf if value is None else value for value in values], dtype=float)
        if endless or np.isfinite(numbers).all():
            return numbers
    entry.wrong("must hold numbers" + (", null for infinity" if endless else ""))
    return np.zeros(max(len(values), 1))


def _check_nodes(nodes: Entry, columns: list[FloatArray], mode: FloatArray, settled: Entry) -> None:
    """What each column may hold by itself but not together."""
    lengths = {len(column) for column in columns}
    weight = columns[-1]
    if len(lengths) > 1 or not len(weight):
        nodes.wrong(f"must be columns of one length, got lengths {[len(column) for column in columns]}")
    elif (weight < 0).any() or abs(weight.sum() - 1) > ROUNDING:
        nodes.wrong(f"must have weights that add to 1, got {weight.sum()}")
    if mode.shape != (2,):
        settled.faults.append(f"{nodes.place} need a mode of two numbers, got {len(mode)}")
    if not isinstance(settled.value, bool):
        settled.wrong(f"must be true or false, got {settled.value!r}")
