"""Damages what a keeper hands in: cells, rows, heads, bytes, workbooks, settings and an organisation's trade tables.

Each mutator takes a random.Random, which may be one that hypothesis draws from, so that a case can shrink.
"""

import csv
import io
import json
import zipfile
from importlib.resources import files

WORDS = [
    *(
        "",
        " ",
        "nan",
        "inf",
        "-inf",
        "-1",
        "0",
        "-0",
        "1e308",
        "1e-308",
        "1e15",
        "1e14",
        "1e-9",
        "0.5",
        "200",
        "100000",
    ),
    *(
        "12,5",
        "1.2.3",
        "0x10",
        "1_000",
        "=1+1",
        "@SUM(A1)",
        "+1",
        "-1+1",
        "'x",
        "\u202eevil\u2066",
        "\x1b[31mred",
        "\u200b",
    ),
    *(
        "a\nb",
        "a\r\nb",
        '"',
        ";",
        "\t",
        "|",
        "0001-01-01",
        "9999-12-31",
        "1850-01-01",
        "2199-12-31",
        "2019",
        "2019-05",
    ),
    *(
        "31/12/2019",
        "2026-06-01",
        "2026-06-02",
        "2030-01-01",
        "2019-02-30",
        "2019-05-14T12:00",
        "yes",
        "no",
        "TRUE",
    ),
    *(
        "\u0661\u0662",
        "\U0001f6a4",
        "e\u0301",
        "B1",
        "B2",
        "I1",
        "I2",
        "02-29",
        "02-30",
        "any",
        "unknown",
        "9" * 400,
        "\u2028",
    ),
]
ENCODINGS = ["latin-1", "utf-16", "utf-16-le", "utf-8-sig", "cp1252", "utf-32"]


def schema(table):
    """The fields of one of the fleet's tables, as its descriptor has them."""
    return json.loads(files("riskmodel.data.schema").joinpath(f"{table}.json").read_text("utf-8"))["fields"]


def legal_extreme(field, random):
    """A value at the very edge of what a field may hold."""
    limits = field.get("constraints", {})
    if "enum" in limits:
        return random.choice(limits["enum"])
    if field["type"] in ("number", "integer"):
        low = limits.get("minimum", limits.get("exclusiveMinimum", 0))
        high = limits.get("maximum", 1e6)
        tiny = [1e-9, 1e-3, 0.1] if field["type"] == "number" else [1]
        return repr(random.choice([low, high, *(low + each for each in tiny)]))
    if field["type"] == "date":
        return random.choice(["1850-01-01", "2026-06-01", "2026-05", "2026", "1999-12-31", "2199-12-31"])
    if field["type"] == "boolean":
        return random.choice(["yes", "no"])
    return random.choice(["02-29", "12-31", "01-01", "x", "B1", "I1"])


def with_legal_extremes(name, grid, random):
    """A column of the schema, there or not, with values at its edges: what a check lets through and nobody expects."""
    field = random.choice(schema(name))
    head = grid[0]
    if field["name"] not in head:
        for place, row in enumerate(grid):
            row.append(field["name"] if place == 0 else "")
    column = head.index(field["name"])
    for row in grid[1:]:
        if random.random() < 0.7 and field["name"] not in ("vessel_id", "item_id"):
            row[column] = legal_extreme(field, random)


def with_a_bad_cell(name, grid, random):
    """Any word in any cell, the head's too."""
    row = random.choice(grid)
    if row:
        row[random.randrange(len(row))] = random.choice(WORDS) if random.random() < 0.99 else "x" * 140_000


def with_a_bad_row(name, grid, random):
    """A row twice, gone, ragged, empty, or elsewhere."""
    place = random.randrange(len(grid))
    kind = random.randrange(6)
    if kind == 0:
        grid.insert(place, list(grid[place]))
    elif kind == 1 and len(grid) > 1:
        del grid[place]
    elif kind == 2:
        grid[place] = grid[place][: random.randrange(len(grid[place]) + 1)]
    elif kind == 3:
        grid[place] = [*grid[place], random.choice(WORDS)]
    elif kind == 4:
        grid.insert(place, [""] * random.randrange(3))
    else:
        random.shuffle(grid)


def with_a_bad_column(name, grid, random):
    """A column twice, gone, renamed, nameless, or a stranger's."""
    kind, width = random.randrange(5), len(grid[0])
    if not width:
        return
    place = random.randrange(width)
    if kind == 0:
        for row in grid:
            row.extend(row[place : place + 1])
    elif kind == 1:
        for row in grid:
            del row[place : place + 1]
    elif kind == 2:
        names = [
            "",
            "VESSEL ID",
            "length_ft",
            "bore_in",
            "depth_ft",
            "value_usd",
            "\ufeffvessel_id",
            "hours",
            *WORDS,
        ]
        grid[0][place] = random.choice(names)
    elif kind == 3:
        for number, row in enumerate(grid):
            row.append("" if number == 0 else random.choice(WORDS))
    else:
        for number, row in enumerate(grid):
            row.append("notes" if number == 0 else random.choice(WORDS))


GRIDS = [
    with_legal_extremes,
    with_legal_extremes,
    with_legal_extremes,
    with_a_bad_cell,
    with_a_bad_cell,
    with_a_bad_row,
    with_a_bad_column,
]


def damaged(content, random):
    """Bytes cut, flipped, doubled, filled with nothing, or in another encoding."""
    kind = random.randrange(7)
    if kind == 0 or not content:
        return content[: random.randrange(len(content) + 1)]
    place = random.randrange(len(content))
    if kind == 1:
        return content[:place] + bytes([content[place] ^ (1 << random.randrange(8))]) + content[place + 1 :]
    if kind == 2:
        return content[:place] + b"\0" * random.randrange(1, 9) + content[place:]
    if kind == 3:
        return content[:place] + bytes([random.randrange(256)]) + content[place:]
    if kind == 4:
        return content[:place] + content[place + random.randrange(1, 40) :]
    if kind == 5:
        return random.choice(
            [b"", b"\n", b"\xef\xbb\xbf", b"\xff\xfe", b"PK\x03\x04", b"PAR1", content + content]
        )
    text = content.decode("utf-8", "replace") + random.choice(["", "\u00e9"])
    return text.encode(random.choice(ENCODINGS), "replace")


def damaged_book(content, random):
    """A workbook with one of its parts damaged, gone or twice as long; or with its zip damaged."""
    if random.random() < 0.3:
        return damaged(content, random)
    target = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        victim = random.choice(old.namelist())
        for name in old.namelist():
            part = old.read(name)
            if name == victim:
                part = damaged_xml(part, random)
            if part is not None:
                new.writestr(name, part)
    return target.getvalue()


def damaged_xml(part, random):
    """XML with a value, a tag or a reference changed; None for a part that is gone."""
    kind = random.randrange(6)
    if kind == 0:
        return None
    if kind == 1:
        return damaged(part, random)
    places = [place for place in range(len(part)) if part[place : place + 1] in (b'"', b"<", b">")]
    if not places:
        return part
    place = random.choice(places) + 1
    end = place + random.randrange(4)
    new = random.choice(
        [b"", b"-1", b"99999999999", b"XFD1048576", b"s", b"e", b"\x80", b"<", b"&#0;", b"&x;", b"e5"]
    )
    return part[:place] + new + part[end:]


def settings_lines(random):
    """Lines of settings.toml: known keys with values they may have, may not have, and unknown keys."""
    values = [
        *(
            "1",
            "0",
            "-1",
            "1.5",
            "0.5",
            "1e308",
            "1e-308",
            "inf",
            "nan",
            "true",
            "[]",
            "{}",
            '""',
            '","',
            '";"',
            '"\\t"',
        ),
        *(
            "2026-06-01",
            "0001-01-01",
            "9999-12-31",
            "2026-06-01T12:00:00",
            '"2026-06-01"',
            '"02-29"',
            '"12-31"',
            '"01-01"',
        ),
        *(
            '"%d/%m/%Y"',
            '"%d.%m.%y"',
            '"%Y%d"',
            '"EUR"',
            '"\\u202e"',
            '"."',
            '".."',
            '"/"',
            '"ours"',
            "9" * 400,
            "0.999999",
        ),
        *('{"seen" = "inspected"}', '{"x" = "y"}', '{"" = "tested"}', "2000-01-01", "100", "1e-6", "1e15"),
    ]
    keys = [
        *("delimiter", "decimal", "date_format", "as_of", "season_start", "season_end", "currency", "trade"),
        *("kill_limit", "sinking_limit", "yard_hours_per_month", "severity_money_scale", "claims_from"),
        *("claims_deductible", "event_words", "colour", "Kill_limit"),
    ]
    lines = {}
    for _ in range(random.randrange(1, 4)):
        key = random.choice(keys)
        lines[key] = f"{key} = {random.choice(values)}"
    if "season_start" in lines:
        lines["season_end"] = f"season_end = {random.choice(values)}"
    return list(lines.values())


def overlay(random):
    """One of the trade's tables, some of its rows, with cells changed, scaled, swapped or dropped; its name and bytes."""
    names = sorted(
        each.name for each in files("riskmodel.data.trade").iterdir() if each.name.endswith(".csv")
    )
    name = random.choice(names)
    rows = list(csv.reader(files("riskmodel.data.trade").joinpath(name).read_text("utf-8").splitlines()))
    kept = [rows[0], *(list(rows[random.randrange(1, len(rows))]) for _ in range(random.randrange(1, 4)))]
    for _ in range(random.randrange(1, 4)):
        _change(kept, rows, random)
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(kept)
    content = text.getvalue().encode()
    if random.random() < 0.1:
        content = damaged(content, random)
    return (name if random.random() < 0.97 else name[1:]), content


def _change(kept, rows, random):
    row = random.choice(kept[1:])
    if not row:
        return
    place = random.randrange(len(row))
    kind = random.randrange(8)
    if kind == 0:
        row[place] = random.choice(WORDS)
    elif kind == 1:
        del row[place]
    elif kind == 2:
        row[place] = random.choice([each[place] for each in rows[1:] if place < len(each)] or [""])
    else:
        numbers = [at for at, cell in enumerate(row) if _is_number(cell)]
        for at in numbers if random.random() < 0.3 else numbers and [random.choice(numbers)]:
            value = (
                float(row[at]) * 10.0 ** random.randrange(-6, 7)
                if random.random() < 0.7
                else random.choice([0, 1, 1e9])
            )
            row[at] = f"{value:g}"


def _is_number(cell):
    try:
        float(cell)
    except ValueError:
        return False
    return True
