"""Damage to tables of text: cells, rows, heads, and the bytes they are written in."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from riskmodel.fleet.schema import TABLES, read_schema

from .cases import rows_of

Rows = list[list[str]]

NUMBERS = (
    *(
        "0",
        "-0",
        "-1",
        "1",
        "2",
        "0.5",
        "1e-300",
        "5e-324",
        "1e300",
        "1e308",
        "1e309",
        "-1e308",
        "1e15",
        "1e9",
        "1e6",
    ),
    *(
        "99999999999999999999",
        "nan",
        "inf",
        "-inf",
        "1,5",
        "1.000,5",
        "0x10",
        "1_000",
        "１２",
        "٣",
        "1e",
        "+3",
        ".5",
    ),
)
DAYS = (
    *(
        "2024-02-30",
        "2023-02-29",
        "2024-02-29",
        "0000-00-00",
        "0001-01-01",
        "9999-12-31",
        "1850-01-01",
        "2200-12-31",
    ),
    *(
        "2024",
        "2024-13",
        "31/12/2024",
        "2024-W05-1",
        "2024-6-1",
        "2026-06-01",
        "2026-06-02",
        "2027-01-01",
        "19",
    ),
    *(
        "2026-05-31T23:59:59+14:00",
        "1899-12-30",
        "45000",
        "2262-04-12",
        "1677-09-20",
        "02-29",
        "2020-01",
        "1990",
    ),
)
TEXTS = (
    *(
        "",
        " ",
        "\u00a0",
        "\x1b[31mred",
        "\x07",
        "a\x00b",
        "\u202eevil",
        "\u2066x",
        "a\tb",
        "a\nb",
        "a\r\nb",
        "\u2028",
    ),
    *(
        "=1+1",
        "@SUM(A1)",
        "+cmd|x",
        "-x",
        '"',
        "'",
        "é",
        "😀",
        "\ufeff",
        "\ufffd",
        "x" * 300,
        "x" * 70_000,
        "ß",
        "İ",
    ),
    *(
        "yes",
        "no",
        "true",
        "1",
        "B1",
        "B2",
        "B9",
        "I0",
        "I4",
        "I99",
        "b1 ",
        "None",
        "NULL",
        "N/A",
        "<b>",
        "%s",
        "{0}",
    ),
    *(
        "\\",
        "--help",
        "../x",
        "NaN",
        "replaced",
        "failed",
        "sold",
        "lost",
        "hauled",
        "tested",
        "inspected",
        "suspect",
    ),
    *(
        "bilge_pump",
        "through_hull_seacock",
        "hose_clamps",
        "jet",
        "outboard",
        "electric",
        "unattended",
        "ashore",
        "gasoline",
    ),
)


@st.composite
def cell_texts(draw: DrawFn, column: str = "", others: tuple[str, ...] = ()) -> str:
    """A text for a cell: often one its column may hold at its bounds, or that others hold, else an odd one."""
    fitting = _fitting(column)
    pools = [pool for pool in (fitting, fitting, others, NUMBERS, DAYS, TEXTS) if pool]
    if draw(st.integers(0, 19)) == 0:
        return draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=6))
    return draw(st.sampled_from(draw(st.sampled_from(pools))))


def fit_cells(column: str) -> st.SearchStrategy[str]:
    """A text that the column may hold, at its bounds where it has any."""
    return st.sampled_from(_fitting(column) or ("", "x"))


@st.composite
def damaged_tables(draw: DrawFn, name: str, text: str, most: int = 3) -> tuple[bytes, tuple[str, ...]]:
    """A table's text with up to so many faults in its rows and perhaps one in its bytes, and both in words."""
    rows = rows_of(text)
    done = [draw(st.sampled_from(_EDITS))(draw, rows) for _ in range(draw(st.integers(1, most)))]
    content = written(rows).encode()
    if draw(st.integers(0, 4)) == 0:
        content, how = draw(damaged_bytes(content))
        done.append(how)
    return content, tuple(f"{name}: {each}" for each in done)


@st.composite
def extreme_tables(draw: DrawFn, name: str, text: str) -> tuple[bytes, tuple[str, ...]]:
    """A table with some cells as large, small or empty as its schema lets them be, in columns it had and others."""
    rows = rows_of(text)
    for _ in range(draw(st.integers(0, 4))):
        column = draw(st.sampled_from([field.name for field in read_schema(name).fields]))
        if column not in rows[0]:
            rows[0].append(column)
            for row in rows[1:]:
                row.append("")
        place = rows[0].index(column)
        row = draw(st.sampled_from(rows[1:]))
        row[place] = draw(fit_cells(column))
    return written(rows).encode(), (f"{name}: extremes",)


@st.composite
def damaged_bytes(draw: DrawFn, content: bytes) -> tuple[bytes, str]:
    """Other bytes than those: another encoding, a cut, a bit flipped, a byte put in, nothing at all."""
    how = draw(st.sampled_from([*_ENCODINGS, "cut", "flip", "insert", "empty", "head", "returns", "marked"]))
    place = draw(st.integers(0, max(len(content) - 1, 0)))
    if how in _ENCODINGS:
        return content.decode().encode(how, "replace"), f"in {how}"
    changed = {
        "cut": content[:place],
        "flip": content[:place]
        + bytes([content[place] ^ (1 << draw(st.integers(0, 7)))])
        + content[place + 1 :]
        if content
        else b"\x80",
        "insert": content[:place] + draw(st.sampled_from(_BYTES)) + content[place:],
        "empty": b"",
        "head": content.split(b"\n")[0],
        "returns": content.replace(b"\n", b"\r"),
        "marked": b"\xef\xbb\xbf" + content,
    }
    return changed[how], f"{how} at {place}"


def written(rows: Rows) -> str:
    """The rows as CSV."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


_ENCODINGS = ("latin-1", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "utf-7")
_BYTES = (
    b"\x00",
    b"\xff",
    b"\x80",
    b'"',
    b"\n",
    b"\r",
    b",",
    b"\n\n",
    b",,,\n",
    b"\x1a",
    b"\xc3",
    b"\xed\xa0\x80",
)


def _fitting(column: str) -> tuple[str, ...]:
    return _FITTING.get(column, ())


def _all_fitting() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for name in TABLES:
        for field in read_schema(name).fields:
            found[field.name] = (*found.get(field.name, ()), *_of_field(field))
    return found


def _of_field(field: object) -> tuple[str, ...]:
    kind, enum = field.type, tuple(field.enum or ())
    if enum:
        return (*enum, "")
    if kind in ("number", "integer"):
        bounds = [each for each in (field.minimum, field.above, field.maximum) if abs(each) < float("inf")]
        near = [f"{each:.17g}" for each in bounds]
        small = ["1"] if kind == "integer" else ["1e-9", "1e-300", "0.5"]
        return (*near, *small, "")
    if kind == "date":
        return (
            "1850-01-01",
            "1900",
            "1999-02",
            "2026-06-01",
            "2026-05-31",
            "2020-02-29",
            "2010",
            "2027-06-01",
            "",
        )
    if kind == "boolean":
        return ("yes", "no", "")
    return ("", "x")


_FITTING = _all_fitting()


def _change_cell(draw: DrawFn, rows: Rows) -> str:
    row, column = _a_place(draw, rows)
    head = rows[0][column] if column < len(rows[0]) else ""
    others = tuple({each[column] for each in rows[1:] if column < len(each)})
    before, rows[row][column] = rows[row][column], draw(cell_texts(head, tuple(sorted(others))))
    return f"row {row + 1} {head}: {before!r} to {rows[row][column][:40]!r}"


def _change_head(draw: DrawFn, rows: Rows) -> str:
    column = draw(st.integers(0, len(rows[0]) - 1))
    names = (*rows[0], *_FITTING, "length_ft", "bore_in", "unheard_of", *TEXTS)
    rows[0][column] = draw(st.sampled_from(names))
    return f"column {column} is now {rows[0][column][:40]!r}"


def _drop_column(draw: DrawFn, rows: Rows) -> str:
    column = draw(st.integers(0, len(rows[0]) - 1))
    for row in rows:
        del row[column : column + 1]
    return f"column {column} gone"


def _add_column(draw: DrawFn, rows: Rows) -> str:
    name = draw(st.sampled_from([*_FITTING, "length_ft", "notes", rows[0][0]]))
    rows[0].append(name)
    for row in rows[1:]:
        row.append(draw(cell_texts(name)))
    return f"column {name} added"


def _ragged(draw: DrawFn, rows: Rows) -> str:
    row, column = _a_place(draw, rows)
    rows[row] = rows[row][:column] if draw(st.booleans()) else [*rows[row], "more"]
    return f"row {row + 1} ragged"


def _again(draw: DrawFn, rows: Rows) -> str:
    row, _ = _a_place(draw, rows)
    rows.insert(draw(st.integers(0, len(rows))), list(rows[row]))
    return f"row {row + 1} twice"


def _drop_rows(draw: DrawFn, rows: Rows) -> str:
    first = draw(st.integers(0, max(len(rows) - 1, 0)))
    last = draw(st.sampled_from([first + 1, len(rows)]))
    del rows[first:last]
    rows or rows.append([""])
    rows[0] or rows[0].append("")
    return f"rows {first + 1} to {last} gone"


def _swap(draw: DrawFn, rows: Rows) -> str:
    one, other = draw(st.integers(0, len(rows) - 1)), draw(st.integers(0, len(rows) - 1))
    rows[one], rows[other] = rows[other], rows[one]
    return f"rows {one + 1} and {other + 1} swapped"


def _a_place(draw: DrawFn, rows: Rows) -> tuple[int, int]:
    row = draw(st.integers(min(1, len(rows) - 1), len(rows) - 1))
    rows[row] or rows[row].append("")
    return row, draw(st.integers(0, len(rows[row]) - 1))


_EDITS: tuple[Callable[[DrawFn, Rows], str], ...] = (
    *(_change_cell,) * 6,
    *(_change_head, _drop_column, _add_column, _ragged, _again, _drop_rows, _swap),
)
