"""Reads texts: free ones as they are, chosen ones against the words a field knows."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.fleet.nearest import folded, suggestion
from riskmodel.fleet.parsed import Parsed

_MOST_SUGGESTIONS = 200
"""Distinct unknown words that get a suggestion; each costs about a millisecond, and nobody reads more."""


def parse_text(words: NDArray[Any], pattern: str) -> Parsed:
    """The texts as they are; where the field has a pattern, each must keep it."""
    rules = np.full(len(words), "", dtype=object)
    if pattern:
        # A spreadsheet turns 04-15 into a day of the current year; month and day are still what was typed.
        words = np.array([re.sub(r"^\d{4}-(\d\d-\d\d)$", r"\1", word) for word in words], dtype=object)
        broken = [bool(word) and re.fullmatch(pattern, word) is None for word in words]
        rules[np.array(broken, dtype=bool)] = "must be a month and day such as 04-15"
    return Parsed(words, rules)


def parse_chosen(words: NDArray[Any], known: Collection[str], own: Mapping[str, str]) -> Parsed:
    """The known word each text stands for, without regard to capitals, spaces and hyphens.

    ``own`` maps the keeper's folded words to known ones.
    """
    values = np.array([_known_word(word, known, own) for word in words], dtype=object)
    rules = np.full(len(words), "", dtype=object)
    unknown = [place for place, word in enumerate(values) if word and word not in known]
    shown = ": " + ", ".join(known) if len(known) <= 12 else ""
    for count, place in enumerate(unknown):
        rules[place] = "must be a known word" + (
            (suggestion(words[place], known) or shown) if count < _MOST_SUGGESTIONS else ""
        )
    return Parsed(np.where(rules == "", values, "").astype(object), rules)


def _known_word(word: str, known: Collection[str], own: Mapping[str, str]) -> str:
    if word in known or not word:
        return word
    fold = folded(word)
    return own.get(fold, fold)
