"""The tables behind the physics: every quantity is used, every range holds its middle, every row has its source."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import replace
from importlib.resources import files

import pytest

from riskmodel.consequence import background_of_boats, item_following
from riskmodel.trade import load_trade
from riskmodel.trade.physics_rules import PHYSICS_TABLES

TRADE = load_trade()
TABLES = [rules.name for rules in PHYSICS_TABLES]
AREAS = ("flooding", "visit", "fire", "co", "slow", "holding", "background")
# Kinds that between them come to every figure: a default is read even where each boat has its own.
BOATS = [
    {"vessel_id": f"{kind}/{kept}", "propulsion": kind, "kept": kept, "shore_power": power}
    for kind in TRADE.propulsions
    for kept, power in (("afloat", "yes"), ("mooring", "no"), ("trailer", "no"), ("ashore", "yes"))
]


class Watched(Mapping):
    """A mapping that remembers what was asked of it."""

    def __init__(self, rows):
        self.rows, self.asked = rows, set()

    def __getitem__(self, name):
        self.asked.add(name)
        return self.rows[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


def shipped(table):
    return list(
        csv.DictReader(files("riskmodel.data.trade").joinpath(f"{table}.csv").read_text("utf-8").splitlines())
    )


@pytest.fixture(scope="module")
def asked(boats_and_year):
    """The quantities that the physics of a fleet with everything aboard reads."""
    items = [{"item_class": name, "vessel_id": boat["vessel_id"]} for boat in BOATS for name in TRADE.classes]
    parts, boats, year = boats_and_year(items, BOATS)
    watched = Watched(TRADE.physics)
    trade = replace(TRADE, physics=watched)
    item_following(parts, year, trade)
    background_of_boats(boats, year, 1.0, trade)
    return watched.asked


def test_every_quantity_of_the_table_is_used(asked):
    assert set(TRADE.physics) - asked == set()


def test_every_quantity_that_is_used_is_in_the_table(asked):
    assert asked <= set(TRADE.physics)


def test_every_quantity_is_named_for_its_area():
    assert {name.split("_")[0] for name in TRADE.physics} == set(AREAS)


@pytest.mark.parametrize("name", list(TRADE.physics))
def test_a_range_holds_its_middle_and_says_where_it_comes_from(name):
    row = TRADE.physics[name]
    assert 0 <= row.low <= row.typical <= row.high
    assert row.unit
    assert len(row.meaning) > 8
    assert row.source
    assert row.status in {"published", "common practice", "judgement", "from memory"}


@pytest.mark.parametrize("name", list(TRADE.physics))
def test_the_middle_of_a_range_lies_near_the_middle_of_its_draws(name):
    # Draws have the geometric mean of the ends as their median; a typical figure far from it would be read over.
    row = TRADE.physics[name]
    if row.low < row.high:
        middle = (row.low * row.high) ** 0.5
        assert max(row.typical / middle, middle / row.typical) < 2


@pytest.mark.parametrize(
    "name", [name for name, row in TRADE.physics.items() if row.unit in {"share", "chance"}]
)
def test_a_share_or_a_chance_is_at_most_one(name):
    assert TRADE.physics[name].high <= 1


@pytest.mark.parametrize("table", TABLES)
def test_every_row_of_the_physics_has_a_source_and_a_status(table):
    rows = shipped(table)
    assert rows
    for row in rows:
        assert row["source"]
        assert row["status"] in {"published", "common practice", "judgement", "from memory"}
        assert (row["status"] == "judgement") == ("judgement" in row["source"]), row


@pytest.mark.parametrize("table", TABLES)
def test_what_was_tuned_or_moved_says_so_beside_it_and_never_poses_as_published(table):
    for row in shipped(table):
        words = " ".join(row.values())
        if "uned " in words:
            assert row["status"] == "judgement", row


@pytest.mark.parametrize("cause", [row.cause for row in TRADE.background])
def test_a_background_cause_reads_a_word_that_its_column_can_hold(cause, boats_and_year):
    row = next(row for row in TRADE.background if row.cause == cause)
    if row.column:
        _, boats, _ = boats_and_year(
            [{"item_class": "bilge_pump"}], [{"climate": "cold", "low_transom": "yes"}]
        )
        value = boats[row.column][0]
        assert row.level == ("yes" if value is True or str(value) == "True" else value)
