"""What is still to be asked about a record, and whether an answer would be accepted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from riskmodel.errors import TableError
from riskmodel.fleet.cells import Cells, RawTable
from riskmodel.fleet.checks import Bounds, check_table
from riskmodel.fleet.links import ITEM_EVENTS
from riskmodel.fleet.nearest import suggestion
from riskmodel.fleet.schema import Field, Schema, read_schema
from riskmodel.fleet.settings import Settings, read_settings
from riskmodel.fleet.sources import fleet_folder, read_sources
from riskmodel.fleet.wording import as_csv, plain_texts

_LISTED = 12
"""As many ids are listed with a question; a longer list would bury it (judgement)."""
_OF_PARTS = ("finding", "thoroughness", "reason", "reading", "reading_unit")


@dataclass(frozen=True)
class Known:
    """What answers are held against: the fleet's ids, how it writes, and the last day a record can have."""

    ids: Mapping[str, tuple[str, ...]]
    settings: Settings
    decimal: str
    latest: date


@dataclass(frozen=True)
class Question:
    """One column to be asked for: what may be answered (empty: anything), and what an empty answer means."""

    field: Field
    choices: tuple[str, ...]
    default: str


def read_known(path: Path, today: date) -> Known:
    """What the fleet at ``path`` knows of boats, parts and words.

    Raises TableError if a table cannot be read.
    """
    settings = read_settings(fleet_folder(path))
    raw = read_sources(path, settings)
    if raw.problems:
        raise TableError(raw.problems)
    ids = {}
    for column, table in (("item_id", "items"), ("vessel_id", "vessels")):
        cells = raw.tables[table].columns.get(column) if table in raw.tables else None
        ids[column] = tuple(word for word in cells.values if word) if cells is not None else ()
    return Known(ids, settings, raw.tables["vessels"].decimal, max(settings.as_of or today, today))


def next_question(known: Known, answers: Mapping[str, str], today: date) -> Question | None:
    """The next column without an answer in ``answers`` ("" is one), or None when all is asked.

    A record about a boat is not asked for what only parts have, nor a record without a reading for its unit.
    """
    of_part = bool(answers.get("item_id"))
    needless = {"vessel_id"} if of_part else set(_OF_PARTS)
    if "reading" in answers and not answers["reading"]:
        needless.add("reading_unit")
    fields = {field.name: field for field in read_schema("records").fields}
    order = ["item_id", "vessel_id", "date", "event", *_OF_PARTS[:3], "hours", *_OF_PARTS[3:], "note"]
    for name in order:
        if name == "item_id" and answers.get("vessel_id") and not of_part:
            continue
        if name not in answers and name not in needless:
            return _question(fields[name], known, of_part, today)
    return None


def wrong_answer(question: Question, answer: str, known: Known) -> str:
    """The rule an answer breaks, in the words of the check, or "" where it breaks none."""
    name = question.field.name
    try:
        texts = plain_texts({name: answer})
    except TableError as error:
        return error.problems[0].rule
    if known.decimal == ",":
        texts = as_csv(texts, known.settings)
    word = texts.get(name, "")
    if name in known.ids and word and word not in known.ids[name]:
        table = name.removesuffix("_id")
        return f"must be in the {table}s table{suggestion(word, known.ids[name])}"
    cells = Cells(np.array([word], dtype=object), np.zeros(1, dtype=np.int64))
    asked = RawTable("answer", {name: cells}, np.ones(1, dtype=np.int64), known.decimal)
    bounds = Bounds(known.settings, known.latest, ())
    problems = check_table(asked, Schema("records", (question.field,)), bounds).problems
    return problems[0].rule if problems else ""


def _question(field: Field, known: Known, of_part: bool, today: date) -> Question:
    if field.name in known.ids:
        ids = known.ids[field.name]
        return Question(
            replace(field, required=field.name == "vessel_id"), ids if len(ids) <= _LISTED else (), ""
        )
    if field.name == "date":
        return Question(field, (), today.isoformat())
    if field.name != "event":
        return Question(field, field.enum, "")
    events = tuple(event for event in field.enum if (event in ITEM_EVENTS) == of_part)
    own = tuple(word for word, event in known.settings.event_words.items() if event in events)
    return Question(replace(field, enum=events), (*events, *own), "")
