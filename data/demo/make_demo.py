"""Writes the demo fleet's items and records from true lives that are written down beside them.

Run ``python data/demo/make_demo.py`` to write items.csv, records.csv and true_lives.csv anew; vessels.csv and
settings.toml are written by hand. The estuary, its boats and everything that befalls them are invented.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from riskmodel.life.seed import seed_class
from riskmodel.trade import ItemClass, load_trade, typical_outfit

FOLDER = Path(__file__).parent
SEED = 20261102
TODAY = date(2026, 11, 2)
YEAR = 365.25
# How far the truth may stand from the trade's own figures, in prior standard deviations.
TRUTH_SPREAD = 0.6
# Parts are listed one by one up to this many of a class on a boat, else as one row with a quantity.
LISTED_ONE_BY_ONE = 3
# The boat bought this autumn: nobody has listed its parts yet.
NOT_LISTED = "L25"
SOLD = {"L24": date(2025, 3, 29)}

ITEM_COLUMNS = [
    "item_id",
    "vessel_id",
    "item_class",
    "position",
    "installed_on",
    "made_on",
    "batch",
    "quantity",
    "recall",
]
RECORD_COLUMNS = [
    "item_id", "vessel_id", "date", "hours", "event", "finding", "thoroughness", "reason",
    "reading", "reading_unit", "note",
]  # fmt: skip


@dataclass(frozen=True)
class Truth:
    """A class's true Weibull life (years) and its median warning window (years)."""

    shape: float
    scale: float
    warning: float
    renewal_age: float


def main() -> None:
    """Writes the three files."""
    rng = np.random.default_rng(SEED)
    trade = load_trade()
    share = trade.care["share_renewing_at_interval"]
    truths = {name: _truth(each, tuple(share), rng) for name, each in sorted(trade.classes.items())}
    items: list[dict[str, object]] = []
    records: list[dict[str, object]] = []
    for vessel in csv.DictReader((FOLDER / "vessels.csv").read_text("utf-8").splitlines()):
        if vessel["vessel_id"] == NOT_LISTED:
            records.append(
                {"vessel_id": NOT_LISTED, "date": "2026-10-09", "event": "bought", "note": "no papers"}
            )
            continue
        outfit = typical_outfit(
            trade, vessel["propulsion"], float(vessel["length_m"]), int(vessel["built_year"])
        )
        _boat(vessel, outfit, (truths, trade.classes), (items, records), rng)
    records.sort(
        key=lambda row: (str(row["date"])[:4].ljust(4), str(row["date"]), str(row.get("item_id", "")))
    )
    _write("items.csv", ITEM_COLUMNS, items)
    _write("records.csv", RECORD_COLUMNS, records)
    rows = [
        {"item_class": n, "shape": f"{t.shape:.4f}", "scale_years": f"{t.scale:.4f}"}
        for n, t in truths.items()
    ]
    _write("true_lives.csv", ["item_class", "shape", "scale_years"], rows)


def _truth(item_class: ItemClass, shares: tuple[float, ...], rng: np.random.Generator) -> Truth:
    seed = seed_class(item_class, (shares[0], shares[1], shares[2]))
    prior = seed.prior
    shape = math.exp(prior.log_shape + TRUTH_SPREAD * prior.log_shape_sd * rng.standard_normal())
    log_age = prior.log_age + TRUTH_SPREAD * prior.log_age_sd * rng.standard_normal()
    scale = math.exp(log_age - math.log(-math.log1p(-prior.quantile)) / shape)
    return Truth(shape, scale, seed.upkeep.warning, seed.upkeep.renewal_age)


def _boat(vessel, outfit, knowledge, tables, rng) -> None:  # type: ignore[no-untyped-def]
    truths, classes = knowledge
    items, records = tables
    keeps_to_interval = rng.random() < 0.45
    for name, expected in outfit.items():
        count = int(expected) + int(rng.random() < expected - int(expected))
        if count == 0:
            continue
        rows = 1 if count > LISTED_ONE_BY_ONE else count
        for number in range(1, rows + 1):
            item_id = f"{vessel['vessel_id']}-{name.replace('_', '-')}-{number}"
            quantity = count if rows == 1 and count > 1 else 1
            item, told = _position(
                item_id, vessel, classes[name], truths[name], (quantity, keeps_to_interval), rng
            )
            item["position"] = _position_word(name, number, rows)
            items.append(item)
            records.extend(told)
    records.extend(_boat_log(vessel, rng))


def _position_word(name: str, number: int, rows: int) -> str:
    if rows == 1:
        return ""
    return ("port", "starboard", "centre")[number - 1] if rows <= 3 else str(number)


def _position(item_id, vessel, item_class, truth, habit, rng):  # type: ignore[no-untyped-def]
    """One position's lives from the boat's build to today; only what was written down comes back."""
    quantity, keeps = habit
    records_from = date.fromisoformat(vessel["records_from"])
    end = SOLD.get(vessel["vessel_id"], TODAY)
    start = date(int(vessel["built_year"]), 4, 1) + timedelta(days=int(rng.integers(0, 60)))
    told: list[dict[str, object]] = []
    while True:
        life = quantity ** (-1 / truth.shape) * truth.scale * rng.weibull(truth.shape)
        warning = truth.warning * math.exp(0.4 * rng.standard_normal())
        stop, events = _one_life(start, life, warning, (item_class, truth, keeps, end), rng)
        told += [row | {"item_id": item_id} for row in events if records_from <= row["date"] <= end]
        if stop is None or stop >= end:
            break
        start = stop
    return _item_row(item_id, vessel, item_class, (start, quantity, records_from), rng), [
        _plain(r) for r in told
    ]


def _one_life(start, life, warning, setting, rng):  # type: ignore[no-untyped-def]
    """Events of one life and the day it was renewed (None: still in service)."""
    item_class, truth, keeps, end = setting
    fails, opens = (
        start + timedelta(days=life * YEAR),
        start + timedelta(days=max(life - warning, 0.0) * YEAR),
    )
    due = start + timedelta(days=truth.renewal_age * YEAR * rng.uniform(0.9, 1.3)) if keeps else date.max
    events: list[dict[str, object]] = []
    for look in _looks(start, min(end, fails if not item_class.fails_unseen else end), rng):
        if look >= due:
            reason = "scheduled" if rng.random() < 0.9 else ""
            events.append(
                {"date": look, "event": "replaced", "reason": reason, "finding": _if(reason, "sound", "")}
            )
            return look, events
        event = _look(look, item_class, (opens, fails), rng)
        events.append(event)
        if event["finding"] in ("failing", "failed") and (look < date(2026, 3, 1) or rng.random() < 0.6):
            renewed = look + timedelta(days=int(rng.integers(1, 25)))
            reason = _if(event["finding"] == "failing", "condition", "failure")
            events.append({"date": renewed, "event": "replaced", "reason": reason})
            return renewed, events
    if fails >= end or item_class.fails_unseen:
        return None, events
    events.append({"date": fails, "event": "failed", "finding": "failed", "note": "in service"})
    renewed = fails + timedelta(days=int(rng.integers(2, 30)))
    events.append({"date": renewed, "event": "replaced", "reason": "failure"})
    return renewed, events


def _looks(start: date, stop: date, rng: np.random.Generator) -> list[date]:
    """A look that is written down: some springs, and fewer autumns."""
    days = []
    for year in range(start.year, stop.year + 1):
        for month, chance in ((4, 0.4), (10, 0.15)):
            day = date(year, month, int(rng.integers(1, 28)))
            if start < day < stop and rng.random() < chance:
                days.append(day)
    return days


def _look(
    day: date, item_class: ItemClass, window: tuple[date, date], rng: np.random.Generator
) -> dict[str, object]:
    opens, fails = window
    thoroughness = str(rng.choice(["glanced", "handled", "opened"], p=[0.3, 0.55, 0.15]))
    sees = rng.random() < {"glanced": 0.4, "handled": 0.75, "opened": 0.9}[thoroughness]
    finding = "failed" if day >= fails else "failing" if day >= opens and sees else "sound"
    if finding == "sound" and rng.random() < 0.04:
        finding = "suspect"
    tested = item_class.item_class in TESTED
    event: dict[str, object] = {"date": day, "event": _if(tested, "tested", "inspected"), "finding": finding}
    if item_class.item_class == "shaft_packing":
        drips = {"sound": rng.integers(2, 6), "suspect": rng.integers(6, 9)}.get(
            finding, rng.integers(11, 30)
        )
        event |= {"reading": int(drips), "reading_unit": "drips/min turning"}
        if finding == "suspect":
            event["event"] = "adjusted"
    return event | {"thoroughness": thoroughness}


TESTED = (
    "bilge_pump",
    "float_switch",
    "high_water_alarm",
    "engine_blower",
    "ventilation_duct",
    "through_hull_seacock",
)


def _item_row(item_id, vessel, item_class, facts, rng):  # type: ignore[no-untyped-def]
    """The part now in service: dated to the day where its renewal was written down, else loosely or not at all."""
    start, quantity, records_from = facts
    written = start >= records_from
    loose = str(start.year) if rng.random() < 0.55 else ""
    row = {"item_id": item_id, "vessel_id": vessel["vessel_id"], "item_class": item_class.item_class}
    row |= {"installed_on": start.isoformat() if written else loose, "quantity": quantity}
    if item_class.item_class.startswith("fuel") and written and rng.random() < 0.5:
        row["made_on"] = str(start.year - int(rng.integers(0, 2)))
    if item_class.item_class == "float_switch" and start.year in (2023, 2024):
        row |= {"batch": "FS-23B"}
        if rng.random() < 0.25:
            row["recall"] = "lead seal, notice of May 2026"
    return row


def _boat_log(vessel: dict[str, str], rng: np.random.Generator) -> list[dict[str, object]]:
    """Haul-outs, launches, engine hours and the odd event of the boat's own."""
    boat = vessel["vessel_id"]
    first, last = date.fromisoformat(vessel["records_from"]).year, SOLD.get(boat, TODAY).year
    rows: list[dict[str, object]] = []
    meter = float(vessel["hours_per_year"]) * (first - int(vessel["built_year"]))
    hauled_yearly = vessel["kept"] == "afloat" and rng.random() < 0.6
    for year in range(first + 1, last + 1):
        meter += float(vessel["hours_per_year"]) * rng.uniform(0.6, 1.3)
        if boat in SOLD and year == SOLD[boat].year:
            rows.append({"date": SOLD[boat], "event": "sold", "note": "to a new owner up the coast"})
            break
        if hauled_yearly or (vessel["kept"] in ("afloat", "mooring") and year % 3 == 0):
            rows.append({"date": date(year, 3, int(rng.integers(8, 22))), "event": "hauled"})
            rows.append({"date": date(year, 4, int(rng.integers(1, 5))), "event": "launched"})
        rows.append(
            {"date": date(year, 10, int(rng.integers(15, 31))), "event": "hours_read", "hours": round(meter)}
        )
    return [_plain(row | {"vessel_id": boat}) for row in rows + _odd_events(boat)]


def _odd_events(boat: str) -> list[dict[str, object]]:
    odd: dict[str, list[dict[str, object]]] = {
        "L05": [
            {"date": date(2019, 4, 6), "event": "repowered"},
            {"date": date(2019, 4, 7), "event": "meter_changed", "hours": 0},
        ],
        "L07": [{"date": date(2022, 9, 3), "event": "surveyed", "note": "for the underwriter"}],
        "L10": [{"date": date(2021, 2, 14), "event": "frozen", "note": "nine days of frost afloat"}],
        "L12": [{"date": date(2023, 7, 30), "event": "grounded", "note": "on the outer bar, floated off"}],
        "L16": [
            {"date": date(2024, 10, 5), "event": "laid_up"},
            {"date": date(2025, 4, 27), "event": "commissioned"},
        ],
    }
    return odd.get(boat, [])


def _plain(row: dict[str, object]) -> dict[str, object]:
    day = row["date"]
    return row | {"date": day.isoformat() if isinstance(day, date) else day}


def _if(condition: object, yes: str, no: str) -> str:
    return yes if condition else no


def _write(name: str, columns: list[str], rows: list[dict[str, object]]) -> None:
    with (FOLDER / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
