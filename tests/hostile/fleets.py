"""A tiny fleet as grids of text, and its writers: CSV, Parquet of any types, a workbook. Nothing in it is a real boat."""

import contextlib
import csv
import io
import math
from datetime import date, datetime
from decimal import Decimal

import pyarrow as pa
import pyarrow.parquet
import xlsxwriter

DAY = "2026-06-01"
FLEET = {
    "vessels": [
        "vessel_id,propulsion,fuel,built_year,length_m,value,kept,checked_every_days,hours_per_year,core,home_port",
        "B1,sterndrive,gasoline,2000,8,40000,afloat,7,50,solid,North",
        "B2,sail_shaft,diesel,1990,10,60000,mooring,14,30,balsa,North",
    ],
    "items": [
        "item_id,vessel_id,item_class,position,installed_on,quantity,bore_mm,depth_m,renew_cost",
        "I1,B1,bellows_drive,,2019-05-02,1,,,",
        "I2,B1,bilge_pump,fore,2019,1,,,",
        "I3,B1,fuel_feed_hose,,2012-05-02,1,,,200",
        "I4,B2,shaft_packing,,2018-04-02,1,30,0.5,",
        "I5,B2,float_switch,,,1,,,",
        "I6,B2,rode_chain,,2010-04,1,,,",
    ],
    "records": [
        "item_id,vessel_id,date,event,finding,thoroughness,reason,hours,reading,reading_unit",
        "I1,,2025-05-01,inspected,sound,handled,,120,,",
        "I2,,2026-05-05,tested,failed,,,,,",
        "I3,,2018-04-02,replaced,,,scheduled,,,",
        "I4,,2025-05-01,inspected,,handled,,,6,drips/min turning",
        ",B2,2025-03-12,hauled,,,,,,",
        ",B2,2025-04-12,launched,,,,,,",
    ],
    "periods": [
        "vessel_id,from,to,state,visited_every_days,shore_power",
        "B1,10-21,04-14,ashore,30,no",
        "B1,04-15,10-20,afloat_unattended,,",
    ],
    "claims": ["vessel_id,loss_on,cause,gross,paid", "B1,2024-07-02,partial_flooding,4000,3000"],
}
SETTINGS = [f"as_of = {DAY}", 'currency = "EUR"', "kill_limit = 0.002", "claims_from = 2020-01-01"]


def grids(random, most=5):
    """The fleet's tables, some of the optional ones left out."""
    wanted = [
        "vessels",
        *(name for name in ("items", "records", "periods", "claims") if random.random() < most / 8),
    ]
    return {name: [line.split(",") for line in FLEET[name]] for name in wanted}


def csv_bytes(grid, delimiter=",", end="\n", quoting=csv.QUOTE_MINIMAL):
    """A grid as CSV in UTF-8."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, lineterminator=end, quoting=quoting).writerows(grid)
    return text.getvalue().encode("utf-8", "surrogatepass")


def parquet_bytes(grid, random):
    """A grid as Parquet, each column in a type that its texts allow, or in one that somebody chose."""
    columns, used = [], []
    for place, name in enumerate(grid[0]):
        texts = [row[place] if place < len(row) else "" for row in grid[1:]]
        columns.append(_typed(texts, random))
        used.append(name)
    target = io.BytesIO()
    table = pa.Table.from_arrays(columns, names=used)
    pyarrow.parquet.write_table(table, target, compression=random.choice(["snappy", "none", "zstd"]))
    return target.getvalue()


def _typed(texts, random):
    kinds = [_as_numbers, _as_numbers, _as_days, _as_words, _as_bytes, _as_nothing, _as_lists, _as_odd]
    made = random.choice(kinds)
    with contextlib.suppress(ValueError, ArithmeticError, pa.ArrowException, OverflowError):
        return made(texts, random)
    return pa.array([text or None for text in texts], pa.string())


def _as_numbers(texts, random):
    kind = random.choice([pa.float64(), pa.int64(), pa.float32(), pa.int8(), pa.uint64(), pa.bool_()])
    return pa.array([float(text) if text else None for text in texts], pa.float64()).cast(kind)


def _as_days(texts, random):
    kind = random.choice([pa.date32(), pa.timestamp("ns"), pa.timestamp("s", "UTC"), pa.date64()])
    return pa.array([date.fromisoformat(text) if text else None for text in texts], pa.date32()).cast(kind)


def _as_words(texts, random):
    column = pa.array([text or None for text in texts], random.choice([pa.string(), pa.large_string()]))
    return column.dictionary_encode() if random.random() < 0.5 else column


def _as_bytes(texts, random):
    tail = random.choice([b"", b"", b"\xff"])
    return pa.array([text.encode() + tail for text in texts], pa.binary())


def _as_nothing(texts, random):
    return pa.nulls(len(texts), random.choice([pa.null(), pa.string(), pa.float64(), pa.date32()]))


def _as_lists(texts, random):
    return pa.array([[text] for text in texts])


def _as_odd(texts, random):
    if random.random() < 0.5:
        return pa.array([Decimal(text) if text else None for text in texts])
    return pa.array([int(float(text)) if text else None for text in texts], pa.duration("s"))


def book_bytes(tables, random):
    """The tables as the sheets of one workbook, cells in the types a spreadsheet would give them."""
    target = io.BytesIO()
    with xlsxwriter.Workbook(target, {"in_memory": True, "nan_inf_to_errors": True}) as book:
        form = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, grid in tables.items():
            sheet = book.add_worksheet(name)
            for place, row in enumerate(grid):
                for column, text in enumerate(row):
                    _put(sheet, (place, column), text, (random, form))
            _trouble(sheet, random)
    return target.getvalue()


def _put(sheet, place, text, tools):
    random, form = tools
    if not text or len(text) > 30_000:
        return
    number = _number(text)
    if number is not None and random.random() < 0.9:
        sheet.write_number(*place, number)
    elif len(text) == 10 and random.random() < 0.5:
        with contextlib.suppress(ValueError):
            sheet.write_datetime(*place, datetime.fromisoformat(text), form)
            return
        sheet.write_string(*place, text)
    else:
        sheet.write_string(*place, text)


def _number(text):
    try:
        found = float(text)
    except ValueError:
        return None
    return found if math.isfinite(found) else None


def _trouble(sheet, random):
    """Stray cells, formulas, merged cells and cells of no type that a table has."""
    kind = random.randrange(12)
    if kind == 0:
        sheet.write(
            random.choice([5, 300, 1048575]), random.choice([0, 5, 40, 16383]), random.choice(["x", 1.5])
        )
    elif kind == 1:
        sheet.merge_range(random.randrange(4), 0, random.randrange(4, 7), random.randrange(1, 4), "merged")
    elif kind == 2:
        sheet.write_formula(
            random.randrange(4), random.randrange(6), "=1/0", None, random.choice(["#DIV/0!", 3, "a"])
        )
    elif kind == 3:
        sheet.write_boolean(random.randrange(4), random.randrange(6), True)
    elif kind == 4:
        sheet.write_blank(1048575, 16383, None)
    elif kind == 5:
        sheet.write_number(
            random.randrange(1, 4), random.randrange(6), random.choice([1e300, -1, 2958466, 0.5, 60])
        )
