"""The keeper's optional settings.toml: how the tables are written and what holds for the whole fleet."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from riskmodel.errors import Problem, TableError
from riskmodel.files import content_of, is_folder, is_plain_file, kind_at, readable
from riskmodel.fleet.dates import FIRST_YEAR, LAST_YEAR
from riskmodel.fleet.nearest import folded, suggestion
from riskmodel.fleet.prices import price_faults
from riskmodel.fleet.problems import shown
from riskmodel.fleet.schema import read_schema

FILE = "settings.toml"
MOST_MONEY = 1e15
"""The largest amount of money read, in any currency: there are some in which a boat is worth 1e12 (judgement)."""

# What a yard with some thousands of people has in a month (judgement).
_MOST_HOURS = 1e6


@dataclass(frozen=True)
class Settings:
    """What settings.toml may say; each default stands where it says nothing.

    ``delimiter``, ``decimal`` and ``date_format`` say how CSV files are written (ISO dates when ""). ``season_start``
    and ``season_end`` are month-day texts. ``kill_limit`` and ``sinking_limit`` are probabilities: a part's of killing
    and a boat's of sinking, by the horizon. ``yard_hours_per_month`` is what a yard has for these boats.
    ``price_scale`` is what one unit of the price tables' currency costs in the fleet's. ``severity_money_scale`` is the
    share of the standard's money bands that severity goes by. ``claims_from`` is the day from which every claim was
    written down, ``claims_deductible`` what boats without a deductible of their own bore of each. ``event_words`` maps
    the keeper's words for events to ours. ``trade`` is the overlay folder as written, ``trade_folder`` its path.
    """

    delimiter: str = ","
    decimal: str = "."
    date_format: str = ""
    as_of: date | None = None
    season_start: str = ""
    season_end: str = ""
    currency: str = ""
    price_scale: float | None = None
    trade: str = ""
    trade_folder: Path | None = None
    kill_limit: float | None = None
    sinking_limit: float | None = None
    yard_hours_per_month: float | None = None
    severity_money_scale: float | None = None
    claims_from: date | None = None
    claims_deductible: float | None = None
    event_words: Mapping[str, str] = field(default_factory=dict)


def read_settings(folder: Path) -> Settings:
    """The settings in ``folder/settings.toml``; all defaults where nothing of that name stands.

    Raises TableError for what is no plain file, and with every key that is unknown or has a value it cannot have.
    """
    path = folder / FILE
    if not is_plain_file(path, FILE):
        return Settings()
    with readable(FILE, "must be a TOML file in UTF-8"):
        given = tomllib.loads(content_of(path, FILE).decode("utf-8-sig"))
    broken = [
        (key, f"must be a known setting{suggestion(key, _RULES)}", shown(given[key]))
        for key in given
        if key not in _RULES
    ]
    known = {key: value for key, value in given.items() if key in _RULES}
    broken += [
        (key, _RULES[key][0], shown(value)) for key, value in known.items() if not _RULES[key][1](value)
    ]
    if not broken:
        broken = _joint_faults(known, folder)
    if broken:
        raise _refusal(broken)
    return _settings(known, folder)


def _refusal(broken: list[tuple[str, str, str]]) -> TableError:
    return TableError([Problem(FILE, 0, key, rule, value) for key, rule, value in broken])


def _joint_faults(given: dict[str, Any], folder: Path) -> list[tuple[str, str, str]]:
    faults = []
    if given.get("delimiter", ",") == given.get("decimal", "."):
        faults.append(("decimal", "must differ from the delimiter", shown(given["decimal"])))
    for here, there in (("season_start", "season_end"), ("season_end", "season_start")):
        if here in given and there not in given:
            faults.append((there, f"must be given with {here}", "nothing"))
    if "trade" in given and not is_folder(folder / given["trade"]):
        found = kind_at(folder / given["trade"])
        value = shown(given["trade"]) + (f" ({found})" if found else "")
        faults.append(("trade", "must be a folder of tables beside the fleet's own", value))
        return faults
    return faults + price_faults(given, folder / given["trade"] if "trade" in given else None)


def _settings(given: dict[str, Any], folder: Path) -> Settings:
    values = dict(given)
    for name in ("as_of", "claims_from"):
        if name in given:
            values[name] = _day(given[name])
    if "trade" in given:
        values["trade_folder"] = folder / given["trade"]
    if "event_words" in given:
        values["event_words"] = {folded(word): event for word, event in given["event_words"].items()}
    return Settings(**values)


def _day(value: object) -> date | None:
    if isinstance(value, datetime):
        return None
    try:
        day = value if isinstance(value, date) else date.fromisoformat(str(value))
    except ValueError:
        return None
    return day if FIRST_YEAR <= day.year <= LAST_YEAR else None


def _is_date_format(value: object) -> bool:
    # Year-day-month would read a plain ISO day the wrong way round, so it is not offered.
    text = str(value)
    whole = (
        "%d" in text and any(part in text for part in ("%m", "%b", "%B")) and ("%Y" in text or "%y" in text)
    )
    return isinstance(value, str) and whole and not re.match(r"%Y.?%d", text)


def _is_month_day(value: object) -> bool:
    pattern = next(part.pattern for part in read_schema("vessels").fields if part.name == "season_start")
    return isinstance(value, str) and re.fullmatch(pattern, value) is not None


def _is_probability(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 < value < 1


def _is_share(value: object) -> bool:
    return _is_probability(value) or (isinstance(value, int | float) and value == 1 and value is not True)


def _is_amount(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= MOST_MONEY


def _is_hours(value: object) -> bool:
    return _is_amount(value) and float(str(value)) <= _MOST_HOURS


def _are_event_words(value: object) -> bool:
    events = next(part.enum for part in read_schema("records").fields if part.name == "event")
    return isinstance(value, dict) and all(event in events for event in value.values())


def _is_text(value: object) -> bool:
    return isinstance(value, str) and bool(value.strip())


_RULES: dict[str, tuple[str, Callable[[object], bool]]] = {
    "delimiter": (
        "must be a comma, a semicolon, a tab or a bar",
        lambda value: value in (",", ";", "\t", "|"),
    ),
    "decimal": ("must be a point or a comma", lambda value: value in (".", ",")),
    "date_format": ('must hold a day, a month and a year, such as "%d/%m/%Y"', _is_date_format),
    "as_of": ("must be a day such as 2026-04-01", lambda value: _day(value) is not None),
    "season_start": ("must be a month and day such as 04-15", _is_month_day),
    "season_end": ("must be a month and day such as 10-20", _is_month_day),
    "currency": ("must be text", _is_text),
    "price_scale": ("must be a number above 0", lambda value: _is_amount(value) and value != 0),
    "trade": ("must be the name of a folder", _is_text),
    "kill_limit": ("must be a probability above 0 and below 1", _is_probability),
    "sinking_limit": ("must be a probability above 0 and below 1", _is_probability),
    "yard_hours_per_month": ("must be a number of hours, 0 or more", _is_hours),
    "severity_money_scale": ("must be a number above 0 and at most 1", _is_share),
    "claims_from": ("must be a day such as 2020-01-01", lambda value: _day(value) is not None),
    "claims_deductible": ("must be an amount, 0 or more", _is_amount),
    "event_words": ("must give each of your words one of our events", _are_event_words),
}
