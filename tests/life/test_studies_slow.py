"""Renewals nobody wrote down and parts taken out because they looked bad: simulated fleets, coded well and naively.

Every boat has one drive bellows, renewed since she was built: when it lets go, when a yearly look finds it needing
work, or by some owners at the trade's interval. Records begin years later, so the first part on record is of unknown
age. The fleet is written to disk as its keeper would, and read by the rules; and coded as haste would have it.
"""

import csv
import datetime

import numpy as np
import pytest

from riskmodel.fleet import load_fleet
from riskmodel.hypercube import WIDTH_90
from riskmodel.life import LifeRows, fit_life
from riskmodel.life.ages import age_table
from riskmodel.life.history import read_history
from riskmodel.life.seed import seed_class

pytestmark = pytest.mark.slow

CLASS = "bellows_drive"
AS_OF, RECORDS_FROM = 2026.4, 2014.0
BOATS = 600
# Share of open warnings that a yearly look finds, and of owners who renew at the interval: ours, for the study.
FOUND, KEEPING = 0.8, 0.45
SHAPE = 3.2


def day(year):
    return datetime.date(1970, 1, 1) + datetime.timedelta(days=round((year - 1970) * 365.25))


def lives_on_a_boat(rng, built, scale, warning, interval):
    """(start, end, how it ended) of each part in turn, in years of the calendar."""
    keeps, start, lives = rng.uniform() < KEEPING, built, []
    while start < AS_OF:
        let_go = start + scale * rng.weibull(SHAPE)
        opens = let_go - warning(rng)
        looks = np.arange(np.ceil(start - 0.35) + 0.35, let_go)
        found = looks[(looks > max(opens, start)) & (rng.uniform(size=len(looks)) < FOUND)]
        ends = {
            "failed": let_go,
            "condition": found[0] if len(found) else np.inf,
            "scheduled": start + interval if keeps else np.inf,
            "in_service": AS_OF,
        }
        how = min(ends, key=ends.get)
        lives.append((start, ends[how], how))
        start = ends[how]
    return lives


def simulated(trade, times, seed):
    """(built, lives in turn) of each boat, where lives run ``times`` what the interval says; the median life."""
    rng = np.random.default_rng(seed)
    item_class, seeded = trade.classes[CLASS], seed_class(trade.classes[CLASS], (0.2, 0.45, 0.7))
    scale = times * np.exp(seeded.prior.log_age) / (-np.log(0.9)) ** (1 / SHAPE)
    low, high = item_class.warning_low_months / 12, item_class.warning_high_months / 12

    def warning(rng):
        return np.exp(rng.normal(0.5 * np.log(low * high), np.log(high / low) / WIDTH_90))

    boats = []
    for _ in range(BOATS):
        built = float(rng.integers(1992, 2010))
        lives = lives_on_a_boat(rng, built, scale, warning, seeded.upkeep.renewal_age)
        boats.append((built, [life for life in lives if life[1] > RECORDS_FROM]))
    return boats, scale * np.log(2) ** (1 / SHAPE)


def written(boats, folder):
    """The fleet as its keeper has it: no date of installation, a sound look a year, and what ended each part."""
    vessels, items, records = [], [], []
    for number, (built, lives) in enumerate(boats):
        vessels.append([f"V{number}", "sterndrive", 30000, int(built), day(RECORDS_FROM)])
        items.append([f"I{number}", f"V{number}", CLASS])
        for start, end, how in lives:
            looks = np.arange(np.ceil(max(start, RECORDS_FROM) - 0.35) + 0.35, end - 0.01)
            records += [[f"I{number}", day(look), "inspected", "sound", ""] for look in looks]
            if how == "failed":
                records.append([f"I{number}", day(end), "failed", "failed", ""])
            if how != "in_service":
                reason = "failure" if how == "failed" else how
                finding = "failing" if how == "condition" else ""
                records.append([f"I{number}", day(end), "replaced", finding, reason])
    for name, head, rows in (
        ("vessels", ["vessel_id", "propulsion", "value", "built_year", "records_from"], vessels),
        ("items", ["item_id", "vessel_id", "item_class"], items),
        ("records", ["item_id", "date", "event", "finding", "reason"], records),
    ):
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([head, *rows])
    return load_fleet(folder, as_of=day(AS_OF), today=day(AS_OF))


def by_the_rules(trade, fleet):
    seeded = seed_class(trade.classes[CLASS], (0.2, 0.45, 0.7))
    tables = {CLASS: age_table(fit_life(LifeRows.none(), seeded.prior), seeded.upkeep)}
    return read_history(fleet, {CLASS: trade.classes[CLASS]}, tables).of_class(CLASS)


def naively(boats, trade, *, ages, removals):
    """Rows in haste: ``ages`` of undated parts are the boat's and count from new; ``removals`` are survivors."""
    warning = trade.classes[CLASS].warning_high_months / 12
    lower, upper, entry = [], [], []
    for built, lives in boats:
        for place, (start, end, how) in enumerate(lives):
            undated = ages and place == 0
            age = end - (built if undated else start)
            lower.append(age)
            removed = np.inf if removals else age + warning
            upper.append({"failed": age, "condition": removed}.get(how, np.inf))
            entry.append(0.0 if undated else max(RECORDS_FROM - start, 0.0))
    return LifeRows(lower, upper, entry)


def median(rows, trade):
    seeded = seed_class(trade.classes[CLASS], (0.2, 0.45, 0.7))
    return float(fit_life(rows, seeded.prior).quantile(0.5).age)


@pytest.mark.parametrize(("times", "seed"), [(0.8, 1), (1.0, 2), (1.25, 3)])
def test_coded_by_the_rules_the_life_is_recovered_and_coded_in_haste_it_is_not(trade, tmp_path, times, seed):
    boats, true = simulated(trade, times, seed)
    rules = by_the_rules(trade, written(boats, tmp_path))
    found = {
        "by the rules": median(rules, trade),
        "with every date known": median(naively(boats, trade, ages=False, removals=False), trade),
        "undated parts as old as their boats": median(
            naively(boats, trade, ages=True, removals=False), trade
        ),
        "removals as survivors": median(naively(boats, trade, ages=False, removals=True), trade),
        "both in haste": median(naively(boats, trade, ages=True, removals=True), trade),
    }
    ends = [how for _, lives in boats for _, _, how in lives]
    print(
        f"\n{BOATS} boats, true median life {true:.2f} years; "
        + ", ".join(f"{ends.count(how)} {how}" for how in ("failed", "condition", "scheduled", "in_service"))
    )
    for how, value in found.items():
        print(f"  {how}: {value:.2f} years, {100 * (value / true - 1):+.0f} %")
    assert found["by the rules"] == pytest.approx(true, rel=0.10)
    for how in ("undated parts as old as their boats", "removals as survivors", "both in haste"):
        assert abs(found[how] / true - 1) > 0.10, how
