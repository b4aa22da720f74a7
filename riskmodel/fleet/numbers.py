"""Reads texts as numbers and as yes or no, without ever guessing."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.fleet.parsed import Parsed
from riskmodel.fleet.schema import Field

DECIMAL_COMMA = 'must use the decimal mark declared: for a decimal comma write decimal = "," in settings.toml'
"""The rule that 12,5 breaks where no decimal comma is declared; reported once a table, being one mistake."""

YES_NO = ("yes", "no")
"""The words of a column that holds an answer or none; a boolean column takes no answer for no."""

_YES_NO = {"": False, "yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def parse_numbers(words: NDArray[Any], field: Field, factor: float, decimal: str) -> Parsed:
    """Numbers in the field's own unit, NaN where missing; each must keep the field's limits."""
    mark = "," if decimal == "," else r"\."
    number = re.compile(rf"[+-]?([0-9]+({mark}[0-9]*)?|{mark}[0-9]+)([eE][+-]?[0-9]+)?")
    plain = np.array([number.fullmatch(word) is not None for word in words], dtype=bool)
    # float and not pandas' own reader, which is a digit off for numbers of sixteen digits.
    read = [
        float(word.replace(",", ".")) if fine else np.nan for word, fine in zip(words, plain, strict=True)
    ]
    values = np.array(read, dtype=np.float64) * factor
    rules = np.full(len(words), "", dtype=object)
    declared = " with the decimal comma that settings.toml declares" if decimal == "," else ""
    rules[~plain & (words != "")] = f"must be a number{declared}"
    if decimal == ".":
        comma = [re.fullmatch(r"[+-]?[0-9]+,[0-9]+", word) is not None for word in words]
        rules[np.array(comma, dtype=bool)] = DECIMAL_COMMA
    rules[plain & ~np.isfinite(values)] = "must be a finite number"
    if field.type == "integer":
        rules[np.isfinite(values) & (values != np.round(values))] = "must be a whole number"
    _hold_limits(values, field, rules)
    return Parsed(np.where(rules == "", values, np.nan), rules)


def parse_yes_no(words: NDArray[Any]) -> Parsed:
    """True for yes, true and 1; False for no, false, 0 and for a missing answer."""
    known = [str(word).lower() in _YES_NO for word in words]
    values = np.array([_YES_NO.get(str(word).lower(), False) for word in words], dtype=bool)
    return Parsed(values, np.where(known, "", "must be yes or no").astype(object))


def parse_answers(words: NDArray[Any]) -> Parsed:
    """The same as ``yes``, ``no`` or "", for columns where no answer does not mean no."""
    parsed = parse_yes_no(words)
    answers = np.where(parsed.values, "yes", "no").astype(object)
    return Parsed(np.where((words == "") | (parsed.rules != ""), "", answers).astype(object), parsed.rules)


def _hold_limits(values: NDArray[np.float64], field: Field, rules: NDArray[Any]) -> None:
    fine = rules == ""
    rules[fine & (values <= field.above)] = f"must be above {field.above:g}"
    rules[fine & (values < field.minimum)] = f"must not be below {field.minimum:g}"
    rules[fine & (values > field.maximum)] = f"must not be above {field.maximum:g}"
