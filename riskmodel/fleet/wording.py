"""Words a record as the keeper's own tables are worded: their dates, their decimal mark, plain text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

import numpy as np

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.fleet.dates import parse_dates
from riskmodel.fleet.nearest import folded
from riskmodel.fleet.problems import shown
from riskmodel.fleet.schema import read_schema
from riskmodel.fleet.settings import Settings

NUMBERS = frozenset(field.name for field in read_schema("records").fields if field.type == "number")
"""The columns of the records table that hold numbers."""

# What neither a spreadsheet nor the XML inside it can hold.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
# 1.234 may be a thousand and more where the comma is the decimal mark; 1.23, 0.234 and 1234.567 may not.
_POINT = re.compile(r"[+-]?(?:\d*\.(?:\d{1,2}|\d{4,})|\d{4,}\.\d{3}|0?\.\d{3})")


def plain_texts(record: Mapping[str, str]) -> dict[str, str]:
    """The record's texts by folded column name, trimmed, empty ones left out.

    Raises ParameterError for what is no text, TableError for text that no table can hold.
    """
    others = [f"{name!r}: {value!r}" for name, value in record.items() if not isinstance(value, str)]
    if others:
        raise ParameterError(f"a record must hold texts, got {', '.join(others)}")
    texts = {folded(name): re.sub(r"\r\n?", "\n", value).strip() for name, value in record.items()}
    problems = [
        Problem("records", 0, name, "must be plain text without control characters", ascii(shown(text)))
        for name, text in texts.items()
        if _UNWRITABLE.search(text)
    ]
    if problems:
        raise TableError(problems)
    return {name: text for name, text in texts.items() if text}


def as_csv(texts: Mapping[str, str], settings: Settings) -> dict[str, str]:
    """The texts with a day in the keeper's date format and numbers with the keeper's decimal mark.

    A number whose point could part thousands is left as it is, for the check to refuse.
    """
    written = dict(texts)
    if "date" in texts:
        written["date"] = _dated(texts["date"], settings)
    if settings.decimal == ",":
        for name in NUMBERS & texts.keys():
            if _POINT.fullmatch(texts[name]):
                written[name] = texts[name].replace(".", ",")
    return written


def as_typed(texts: Mapping[str, str], settings: Settings) -> dict[str, str]:
    """The texts with the day as an ISO date, for tables whose columns have types."""
    day = day_of(texts, settings)
    return {**texts, "date": day.isoformat()} if day else dict(texts)


def day_of(texts: Mapping[str, str], settings: Settings) -> date | None:
    """The day of the record's date; None where it is a month, a year or no date."""
    window = _window(texts.get("date", ""), settings)
    return window[0] if window and window[0] == window[1] else None


def _dated(word: str, settings: Settings) -> str:
    """A day in the keeper's format, if that says the same day; a month or a year stays as it is."""
    day = day_of({"date": word}, settings)
    if not settings.date_format or day is None:
        return word
    written = day.strftime(settings.date_format)
    return written if day_of({"date": written}, settings) == day else word


def _window(word: str, settings: Settings) -> tuple[date, date] | None:
    parsed = parse_dates(np.array([word], dtype=object), settings.date_format, False, True)
    if not word or parsed.rules[0]:
        return None
    first, last = parsed.values[0].tolist()
    return first, last
