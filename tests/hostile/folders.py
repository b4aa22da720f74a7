"""Hostile fleets of text files: damaged tables, extreme ones, settings, and trade tables laid over the shipped ones."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from riskmodel.trade.rules import ALL_TABLES

from .cases import SETTINGS, TABLES, TRADE_FOLDER, Case, plain_files, rows_of, shipped_trade
from .text_damage import NUMBERS, TEXTS, damaged_bytes, damaged_tables, extreme_tables, written

TRADE_TABLES = tuple(sorted(rules.name for rules in ALL_TABLES))
_KEYS = {
    "delimiter": ('","', '";"', '"\\t"', '"|"'),
    "decimal": ('"."', '","'),
    "date_format": (
        '"%d/%m/%Y"',
        '"%m/%d/%y"',
        '"%Y-%d-%m"',
        '"%d%m%Y"',
        '"%d %B %Y"',
        '"%d/%m/%Y%z"',
        '"%d%m%Y%%"',
    ),
    "as_of": ("2026-06-01", "1850-01-01", "2200-12-31", "9999-12-31", '"2020-02-29"', "2026-06-01T00:00:00"),
    "season_start": ('"04-15"', '"02-29"', '"12-31"', '"13-01"'),
    "season_end": ('"10-20"', '"02-29"', '"01-01"', '"04-15"'),
    "currency": ('"EUR"', '"€"', '"\\u202e"', '"\\u001b[31m"', '"=1+1"', '" "', f'"{"x" * 400}"'),
    "price_scale": ("1", "0.9", "1e-300", "1e300", "0", "1e6", "1e-6"),
    "trade": ('"none"', '"."', '".."', '"vessels.csv"', '"/dev"', '"a\\u0000"'),
    "kill_limit": ("1e-300", "0.999999999999", "5e-324", "0.01"),
    "sinking_limit": ("1e-300", "0.999999999999", "0.02"),
    "yard_hours_per_month": ("0", "1e-300", "1e6", "10"),
    "severity_money_scale": ("1e-300", "1", "1.0", "5e-324", "0.5"),
    "claims_from": ("2020-01-01", "1850-01-01", "2200-12-31"),
    "claims_deductible": ("0", "1e15", "1e-300", "500"),
    "event_words": (
        '{ fixed = "replaced" }',
        "{}",
        '{ "" = "failed" }',
        '{ inspected = "failed" }',
        "{ x = 1 }",
    ),
    "unheard_of": ("1",),
    '"\\u202e"': ("1",),
    "[table]\nkey": ("1",),
}
_VALUES = (
    *(
        '""',
        '" "',
        '"x"',
        "true",
        "false",
        "0",
        "1",
        "-1",
        "0.5",
        "nan",
        "inf",
        "-inf",
        "1e308",
        "1e400",
        "1e-400",
    ),
    *(
        "9999999999999999999999999999",
        "2026-06-01",
        "07:32:00",
        "[]",
        "[1, [2]]",
        "{}",
        "{ a = { b = 1 } }",
        "0x10",
    ),
    *("9" * 5000, "[" * 500, '"\\uD800"', "'''\n'''", "2026-13-01", "", "= 1", '"unclosed'),
)


@st.composite
def damaged_folders(draw: DrawFn) -> Case:
    """A fleet with faults in one or two of its tables."""
    files, done = plain_files(), []
    for name in draw(st.lists(st.sampled_from(sorted(TABLES)), min_size=1, max_size=2, unique=True)):
        files[f"{name}.csv"], how = draw(damaged_tables(name, TABLES[name]))
        done += how
    if draw(st.integers(0, 9)) == 0:
        other = draw(
            st.sampled_from(
                ["Items.CSV", "claims.csv", "items.parquet", "boats.xlsx", "x" * 200, "records.CSV"]
            )
        )
        files[other] = files.get(other.lower(), b"odd")
        done.append(f"{other} put in")
    return Case(files, tuple(done))


@st.composite
def extreme_folders(draw: DrawFn) -> Case:
    """A fleet whose cells lie at the bounds of what is read, so that much of it is cleared and must be worked out."""
    files, done = plain_files(), []
    for name in draw(st.lists(st.sampled_from(sorted(TABLES)), min_size=1, max_size=3, unique=True)):
        files[f"{name}.csv"], how = draw(extreme_tables(name, TABLES[name]))
        done += how
    for name in draw(st.lists(st.sampled_from(["items", "records", "periods", "claims"]), max_size=1)):
        del files[f"{name}.csv"]
        done.append(f"{name} gone")
    return Case(files, tuple(done))


@st.composite
def hostile_settings(draw: DrawFn) -> Case:
    """A whole fleet under settings of odd kinds and sizes."""
    lines = []
    for key in draw(st.lists(st.sampled_from(sorted(_KEYS)), min_size=1, max_size=4)):
        pool = _VALUES if draw(st.integers(0, 2)) == 0 else _KEYS[key]
        lines.append(f"{key} = {draw(st.sampled_from(pool))}")
    said = {line.split(" = ")[0] for line in lines}
    for key, value in (("as_of", "2026-06-01"), ("price_scale", "0.9")):
        if key not in said and draw(st.booleans()):
            lines.insert(0, f"{key} = {value}")
    content, done = "\n".join(lines).encode(), "settings"
    if draw(st.integers(0, 9)) == 0:
        content, done = draw(damaged_bytes(content))
    return Case(plain_files() | {"settings.toml": content}, (done,))


@st.composite
def hostile_trades(draw: DrawFn) -> Case:
    """A whole fleet with one or two damaged or changed trade tables laid over the shipped ones."""
    files = plain_files() | {"settings.toml": f'trade = "{TRADE_FOLDER}"\n{SETTINGS}'.encode()}
    done: list[str] = []
    for name in draw(st.lists(st.sampled_from(TRADE_TABLES), min_size=1, max_size=2, unique=True)):
        rows = rows_of(shipped_trade(name))
        if draw(st.integers(0, 2)):
            content, how = draw(_changed_trade(name, rows))
        else:
            content, how = draw(damaged_tables(name, shipped_trade(name)))
        done += how
        file = draw(st.sampled_from([name] * 12 + [f"{name} copy", name.upper(), "unheard_of", f".{name}"]))
        files[f"{TRADE_FOLDER}/{file}.csv"] = content
    return Case(files, tuple(done))


@st.composite
def _changed_trade(draw: DrawFn, name: str, rows: list[list[str]]) -> tuple[bytes, tuple[str, ...]]:
    """A few cells of a trade table hold what others of their column hold, odd numbers, or nothing; few rows or all."""
    head, body = rows[0], rows[1:]
    done = []
    for _ in range(draw(st.integers(1, 3))):
        row, column = draw(st.integers(0, len(body) - 1)), draw(st.integers(0, len(head) - 1))
        others = sorted({each[column] for each in body})
        pools = (
            (others, others, NUMBERS, TEXTS) if draw(st.booleans()) else (_near(body[row][column]), others)
        )
        before, body[row][column] = body[row][column], draw(st.sampled_from(draw(st.sampled_from(pools))))
        done.append(f"{name} row {row + 2} {head[column]}: {before!r} to {body[row][column][:40]!r}")
    kept = body if draw(st.booleans()) else draw(st.lists(st.sampled_from(body), max_size=4))
    return written([head, *kept]).encode(), (*done, f"{name}: {len(kept)} of {len(body)} rows")


def _near(text: str) -> tuple[str, ...]:
    """Numbers about one that stands there: what its rule may let pass."""
    try:
        number = float(text)
    except ValueError:
        return ("", "0", "1")
    return tuple(
        f"{each:g}"
        for each in (0, number / 1e6, number / 2, number * 1.5, number * 10, number * 1e6, 1, 1e-9)
    )
