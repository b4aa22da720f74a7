"""The frozen record of what a task takes off the shelf."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Material:
    """A part or material for a task, in plain trade words: how much of it, low and high, in ``unit``.

    ``per`` part: for each part worked on; per boat: one lot serves all of them (a tub of grease).
    """

    item_class: str
    task: str
    material: str
    per: str
    low: float
    high: float
    unit: str
    note: str
    source: str
    status: str
