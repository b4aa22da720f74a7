"""Hostile fleets in other files than text: workbooks and Parquet."""

from __future__ import annotations

import contextlib
import datetime
import decimal
import io
import zipfile
import zlib

import pyarrow as pa
import pyarrow.parquet
import xlsxwriter
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from .cases import SETTINGS, TABLES, Case, plain_files, rows_of
from .text_damage import cell_texts, damaged_bytes

FAR = ((1048575, 16383), (1048575, 0), (0, 16383), (300, 300), (5, 40))
SWAPS = (
    *(
        (b"</row>", b""),
        (b"<v>", b"<v>9"),
        (b't="s"', b't="n"'),
        (b't="s"', b't="d"'),
        (b't="s"', b't="e"'),
        (b't="s"', b""),
    ),
    *(
        (b't="s"', b't="inlineStr"'),
        (b' r="B2"', b""),
        (b' r="B2"', b' r="B0"'),
        (b' r="B2"', b' r="B99999999999"'),
    ),
    *(
        (b'r="2"', b'r="0"'),
        (b'r="2"', b'r="-1"'),
        (b'r="3"', b'r="2"'),
        (b"sheetData", b"sheetDatum"),
        (b"<c ", b"<d "),
    ),
    *(
        (b"<v>0</v>", b"<v>4294967296</v>"),
        (b"<v>1</v>", b"<v>-1</v>"),
        (b"<v>1</v>", b"<v/>"),
        (b"UTF-8", b"UTF-16"),
    ),
    *((b'r:id="rId1"', b'r:id="rId99"'), (b'name="items"', b'name="vessels"'), (b'name="items"', b'name=""')),
    *(
        (b"worksheets/sheet1.xml", b"worksheets/none.xml"),
        (b"sheets/sheet1", b"../../../etc/x"),
        (b"<t>", b"<t>&bad;"),
    ),
    *(
        (b"<t>", b"<t>_x001B_"),
        (b"<si>", b""),
        (b"numFmtId", b"numFmtIx"),
        (b's="1"', b's="99"'),
        (b"<dimension", b"<dim"),
    ),
)


@st.composite
def damaged_books(draw: DrawFn) -> Case:
    """A fleet in a workbook with odd cells in its sheets, or damage to its parts or its bytes."""
    content, done = draw(_odd_books())
    how = draw(st.sampled_from(["", "part", "part", "bytes"]))
    if how == "part":
        content, said = draw(_damaged_parts(content))
        done.append(said)
    elif how == "bytes":
        content, said = draw(_torn(content))
        done.append(said)
    files = {"boats.xlsx": content, "settings.toml": SETTINGS.encode()}
    return Case(files, tuple(done), draw(st.sampled_from(["boats.xlsx", "."])))


@st.composite
def damaged_parquet(draw: DrawFn) -> Case:
    """A fleet with one or two of its tables in Parquet, of odd types, without rows, or damaged."""
    files, done = plain_files(), []
    for name in draw(st.lists(st.sampled_from(sorted(TABLES)), min_size=1, max_size=2, unique=True)):
        del files[f"{name}.csv"]
        content, said = draw(_odd_parquet(TABLES[name]))
        if draw(st.integers(0, 3)) == 0:
            content, how = draw(_torn(content))
            said = f"{said}; {how}"
        files[f"{name}.parquet"] = content
        done.append(f"{name}: {said}")
    return Case(files, tuple(done))


@st.composite
def _odd_books(draw: DrawFn) -> tuple[bytes, list[str]]:
    memory, done = io.BytesIO(), []
    book = xlsxwriter.Workbook(memory, {"in_memory": True})
    styles = [
        None,
        *(book.add_format({"num_format": form}) for form in ("yyyy-mm-dd", "0.00%", "[h]:mm", "@", '"x"0')),
    ]
    for name, text in TABLES.items():
        sheet = book.add_worksheet(name)
        for row, cells in enumerate(rows_of(text)):
            for column, cell in enumerate(cells):
                if cell.isdigit() and row:
                    sheet.write_number(row, column, int(cell))
                else:
                    sheet.write_string(row, column, cell)
        count = draw(st.sampled_from([0, 0, 1, 2]))
        done += [f"{name}: {draw(_odd_cell(sheet, rows_of(text), styles))}" for _ in range(count)]
    book.close()
    return memory.getvalue(), done


@st.composite
def _odd_cell(
    draw: DrawFn, sheet: xlsxwriter.worksheet.Worksheet, rows: list[list[str]], styles: list
) -> str:
    row, column = draw(st.integers(0, len(rows) + 1)), draw(st.integers(0, len(rows[0])))
    style = draw(st.sampled_from(styles))
    how = draw(
        st.sampled_from(["number", "text", "text", "truth", "day", "formula", "far", "merged", "blank"])
    )
    number = draw(
        st.sampled_from([0, -1, 0.1, 1e300, 5e-324, 45000.5, -45000, 2958466, 60, 1e15, 0.1 + 0.2, 2024])
    )
    if how == "far":
        row, column = draw(st.sampled_from(FAR))
    text = draw(cell_texts(rows[0][min(column, len(rows[0]) - 1)]))[:32767]
    shown = draw(st.sampled_from(["#DIV/0!", "#N/A", 5, "text", "", True]))
    writers = {
        "number": lambda: sheet.write_number(row, column, number, style),
        "text": lambda: sheet.write_string(row, column, text, style),
        "truth": lambda: sheet.write_boolean(row, column, number > 0, style),
        "day": lambda: sheet.write_datetime(row, column, datetime.datetime(2024, 2, 29, 13, 5), style),
        "formula": lambda: sheet.write_formula(row, column, "=1/0", style, shown),
        "far": lambda: sheet.write_string(row, column, "stray", style),
        "merged": lambda: sheet.merge_range(row, column, row + 1, column + 1, "merged", style),
        "blank": lambda: sheet.write_blank(row, column, None, styles[1]),
    }
    # Where two would be merged over one another, the first stands.
    with contextlib.suppress(xlsxwriter.exceptions.OverlappingRange):
        writers[how]()
    return f"{how} at row {row + 1} column {column + 1} ({number:g})"


@st.composite
def _damaged_parts(draw: DrawFn, content: bytes) -> tuple[bytes, str]:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    name = draw(st.sampled_from(sorted(parts)))
    how = draw(st.sampled_from(["swap", "swap", "swap", "bytes", "gone", "renamed", "empty"]))
    if how == "swap":
        before, after = draw(st.sampled_from(SWAPS))
        holding = sorted(each for each, part in parts.items() if before in part) or [name]
        name, how = draw(st.sampled_from(holding)), f"{before!r} as {after!r}"
        parts[name] = parts[name].replace(before, after, draw(st.sampled_from([1, -1])))
    elif how == "bytes":
        try:
            parts[name], how = draw(damaged_bytes(parts[name]))
        except UnicodeDecodeError:
            parts[name] = b""
    elif how == "empty":
        parts[name] = b""
    else:
        part = parts.pop(name)
        parts |= {f"{name}.old": part} if how == "renamed" else {}
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as book:
        for each, part in parts.items():
            book.writestr(each, part)
    return memory.getvalue(), f"{name} {how}"


@st.composite
def _torn(draw: DrawFn, content: bytes) -> tuple[bytes, str]:
    """The bytes cut short, or with some bits of them flipped."""
    places = draw(st.lists(st.integers(0, len(content) - 1), min_size=1, max_size=4))
    if draw(st.booleans()):
        return content[: places[0]], f"cut at {places[0]}"
    torn = bytearray(content)
    for place in places:
        torn[place] ^= 1 << draw(st.integers(0, 7))
    return bytes(torn), f"bits flipped at {places} (checksum {zlib.crc32(bytes(torn))})"


@st.composite
def _odd_parquet(draw: DrawFn, text: str) -> tuple[bytes, str]:
    head, *body = rows_of(text)
    body = draw(st.sampled_from([body, body, body, body[:0], body[:1]]))
    columns, done = {}, [f"{len(body)} rows"]
    for place, name in enumerate(head):
        cells = [row[place] or None for row in body]
        kind = draw(st.sampled_from(["plain"] * 12 + sorted(_KINDS)))
        columns[name] = _column(cells, kind)
        done += [] if kind == "plain" else [f"{name} as {kind}"]
    if draw(st.integers(0, 4)) == 0:
        name = draw(
            st.sampled_from(["", " ", "length_ft", "VALUE", "note\x00", "x" * 1000, "__index_level_0__"])
        )
        columns[name], done = pa.nulls(len(body)), [*done, f"column {name[:20]!r}"]
    memory = io.BytesIO()
    pyarrow.parquet.write_table(pa.table(columns), memory, row_group_size=draw(st.sampled_from([1, 100])))
    return memory.getvalue(), ", ".join(done)


_DAY = datetime.datetime(2024, 2, 29, 23, 59, 59, 999999)
_KINDS = {
    "null": lambda n: pa.nulls(n),
    "null text": lambda n: pa.nulls(n, pa.string()),
    "null struct": lambda n: pa.nulls(n, pa.struct([("a", pa.int8())])),
    "bytes": lambda n: pa.array([b"\xff\xfe"] * n, pa.binary()),
    "dictionary": lambda n: pa.array(["B1"] * n).dictionary_encode(),
    "floats": lambda n: pa.array([float("nan"), float("inf"), -0.0, 1e308, 5e-324][:n], pa.float64()),
    "float32": lambda n: pa.array([3.4e38, 0.1, 1.0, -1.0, 0.0][:n], pa.float32()),
    "half": lambda n: pa.array([1.5] * n, pa.float32()).cast(pa.float16()),
    "big": lambda n: pa.array([2**64 - 1] * n, pa.uint64()),
    "bool": lambda n: pa.array([True, None, False, True, None][:n], pa.bool_()),
    "day": lambda n: pa.array([_DAY.date()] * n, pa.date32()),
    "far day": lambda n: pa.array([2**31 - 1] * n, pa.int32()).cast(pa.date32()),
    "date64": lambda n: pa.array([_DAY.date()] * n, pa.date64()),
    "ns": lambda n: pa.array([2**63 - 1] * n, pa.int64()).cast(pa.timestamp("ns")),
    "zoned": lambda n: pa.array([_DAY] * n, pa.timestamp("us", "America/New_York")),
    "odd zone": lambda n: pa.array([_DAY] * n, pa.timestamp("us", "+14:00")),
    "seconds": lambda n: pa.array([2**40] * n, pa.int64()).cast(pa.timestamp("s")),
    "time": lambda n: pa.array([_DAY.time()] * n, pa.time64("us")),
    "duration": lambda n: pa.array([datetime.timedelta(days=1)] * n, pa.duration("s")),
    "decimal": lambda n: pa.array([decimal.Decimal("1234567890.123")] * n, pa.decimal128(38, 3)),
    "list": lambda n: pa.array([[1]] * n),
    "struct": lambda n: pa.array([{"a": 1}] * n),
    "map": lambda n: pa.array([[("a", 1)]] * n, pa.map_(pa.string(), pa.int8())),
    "fixed": lambda n: pa.array([b"abcd"] * n, pa.binary(4)),
    "view": lambda n: pa.array(["B1"] * n, pa.string_view()),
}


def _column(cells: list[str | None], kind: str) -> pa.Array:
    if kind == "plain":
        numbers = all(cell is None or cell.isdigit() for cell in cells) and any(cells)
        return pa.array([cell and int(cell) for cell in cells]) if numbers else pa.array(cells, pa.string())
    found = _KINDS[kind](len(cells))
    return found if len(found) == len(cells) else pa.nulls(len(cells))
