"""A book's chances as hazards, and back: what is multiplied when losses come oftener or more seldom than modelled."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book

# A chance nearer to certain than this has no hazard that can be told.
NEAR_CERTAIN = 1e-12


def hazards(book: Book) -> FloatArray:
    """(n, K, D) hazards over the horizon behind a book's chances; those of exclusive end states run side by side."""
    found = np.empty_like(book.chance)
    for group in book.groups:
        states = list(group)
        chance = book.chance[:, states]
        whole = np.minimum(chance.sum(axis=1, keepdims=True), 1.0 - NEAR_CERTAIN)
        found[:, states] = chance * _ratio(-np.log1p(-whole), whole)
    return found


def with_hazards(book: Book, hazard: FloatArray) -> Book:
    """The book whose chances come of these hazards (n, K, D)."""
    chance = np.empty_like(hazard)
    for group in book.groups:
        states = list(group)
        whole = hazard[:, states].sum(axis=1, keepdims=True)
        chance[:, states] = hazard[:, states] * _ratio(-np.expm1(-whole), whole)
    return replace(book, chance=chance)


def _ratio(over: FloatArray, under: FloatArray) -> FloatArray:
    return np.divide(over, under, out=np.zeros_like(over), where=under > 0)
