"""Writes the starter workbook: the tables with their heads explained, and the words each may hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from io import BytesIO
from typing import Any

from riskmodel.fleet.schema import Field, Schema, read_schema
from riskmodel.report.starter import VESSEL_ID, Boat, StarterParts
from riskmodel.trade import Trade

# An owner has no claims to file: that table is an insurer's.
STARTER_TABLES = ("vessels", "items", "records", "periods")
# Rows below the head that offer their lists of words: room for a large boat and some years of records.
LISTED_ROWS = 2000
WORDS = "words"
# The same boat gives the same bytes: the book carries the oldest date its format knows, not the clock's.
UNDATED = datetime(1980, 1, 1)

# Where each list of words stands on the words sheet, as a spreadsheet range.
Ranges = Mapping[tuple[str, str], str]


def starter_workbook(boat: Boat, parts: StarterParts, trade: Trade) -> bytes:
    """An .xlsx workbook with the sheets vessels (one row), items (the parts), records and periods (empty) and words."""
    # Imported here because only this command writes a workbook.
    from xlsxwriter import Workbook

    vessel = {"vessel_id": VESSEL_ID, **asdict(boat), "guessed_value": boat.guessed_value or ""}
    rows: dict[str, list[dict[Any, Any]]] = {
        "vessels": [vessel],
        "items": parts.items.to_dict("records"),
        "records": [],
        "periods": [],
    }
    buffer = BytesIO()
    with Workbook(buffer, {"in_memory": True}) as book:
        book.set_properties({"created": UNDATED})
        sheets = {name: book.add_worksheet(name) for name in (*STARTER_TABLES, WORDS)}
        ranges = _write_words(book, sheets[WORDS], trade)
        for name in STARTER_TABLES:
            _write_table(book, sheets[name], (read_schema(name), rows[name]), ranges)
        sheets["items"].activate()
    return buffer.getvalue()


def _write_words(book: Any, sheet: Any, trade: Trade) -> Ranges:
    """One column a list, the classes first with their plain names beside them; answers where each stands."""
    lists = {("items", "item_class"): tuple(trade.classes)}
    for table in STARTER_TABLES:
        for field in read_schema(table).fields:
            if field.enum:
                lists[table, field.name] = field.enum
    head = book.add_format({"bold": True, "bottom": 1})
    _write_column(sheet, 0, ("what item_class means", [each.label for each in trade.classes.values()]), head)
    ranges = {}
    for place, ((table, name), words) in enumerate(lists.items(), start=1):
        _write_column(sheet, place, (f"{table}: {name}", list(words)), head)
        letter = chr(ord("A") + place)
        ranges[table, name] = f"={WORDS}!${letter}$2:${letter}${len(words) + 1}"
    sheet.freeze_panes(1, 0)
    return ranges


def _write_column(sheet: Any, place: int, column: tuple[str, list[str]], head: Any) -> None:
    title, words = column
    sheet.set_column(place, place, max(len(word) for word in (title, *words)) + 2)
    sheet.write_string(0, place, title, head)
    for row, word in enumerate(words, start=1):
        sheet.write_string(row, place, word)


def _write_table(book: Any, sheet: Any, table: tuple[Schema, list[dict[Any, Any]]], ranges: Ranges) -> None:
    schema, rows = table
    # As text, so that 2019 stays a year, 04-15 stays a month and day, and 007 keeps its noughts.
    text = book.add_format({"num_format": "@"})
    heads = {
        True: book.add_format({"bold": True, "bottom": 2, "bg_color": "#DDDDDD"}),
        False: book.add_format({"bold": True, "bottom": 1}),
    }
    for place, field in enumerate(schema.fields):
        plain = field.type in ("number", "integer")
        sheet.set_column(place, place, max(len(field.name) + 3, 12), None if plain else text)
        sheet.write_string(0, place, field.name, heads[field.required])
        sheet.write_comment(0, place, _explained(field), {"x_scale": 2})
        _offer(sheet, place, field, ranges.get((schema.name, field.name)))
        for row, values in enumerate(rows, start=1):
            value = values.get(field.name, "")
            if isinstance(value, str) and value:
                sheet.write_string(row, place, value, text)
            elif value != "":
                sheet.write_number(row, place, value)
    sheet.freeze_panes(1, 1)


def _explained(field: Field) -> str:
    need = "Required. " if field.required else ""
    unit = f" Unit: {field.unit}." if field.unit else ""
    return f"{need}{field.description}{unit}"


def _offer(sheet: Any, place: int, field: Field, listed: str | None) -> None:
    """The words a cell may hold, where its column has a list; ids offer those of the table they point to."""
    source: str | list[str] | None = listed
    if field.type == "boolean":
        source = ["yes", "no"]
    elif field.reference in STARTER_TABLES or (field.name in ("vessel_id", "item_id") and not field.unique):
        source = f"={field.name.removesuffix('_id')}s!$A$2:$A${LISTED_ROWS}"
    if source is not None:
        options = {"validate": "list", "source": source, "error_title": field.name}
        sheet.data_validation(1, place, LISTED_ROWS, place, options)
