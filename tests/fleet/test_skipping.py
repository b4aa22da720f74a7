"""A fleet without its broken rows: whole boats go, their value is counted, and what is wrong as a whole refuses."""

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.fleet import LeftOut, load_fleet, load_fleet_without_bad

TODAY = datetime.date(2026, 6, 1)
BOATS = [f"B{n}" for n in range(5)]
TABLES = {
    "vessels": [["vessel_id", "propulsion", "value"], *([boat, "sterndrive", "1000"] for boat in BOATS)],
    "items": [
        ["item_id", "vessel_id", "item_class", "installed_on", "quantity"],
        *([f"I{boat}{n}", boat, "bilge_pump", "2018", "1"] for boat in BOATS for n in (0, 1)),
    ],
    "records": [
        ["item_id", "vessel_id", "date", "event", "hours"],
        *([f"I{boat}0", "", "2020-05-01", "tested", ""] for boat in BOATS),
        *([f"I{boat}1", boat, "2021-05-01", "tested", ""] for boat in BOATS),
        *(["", boat, "2022-05-01", "hauled", ""] for boat in BOATS),
    ],
    "periods": [
        ["vessel_id", "from", "to", "state"],
        *([boat, "10-21", "04-14", "ashore"] for boat in BOATS),
    ],
    "claims": [
        ["vessel_id", "loss_on", "cause", "gross"],
        *([boat, "2024-01-01", "sinking", "100"] for boat in BOATS),
    ],
}


@pytest.fixture
def broken(tmp_path):
    """The folder of the five boats with some cells written otherwise: (table, row of the file, column, text)."""

    def make(*cells):
        for name, rows in TABLES.items():
            rows = [list(row) for row in rows]
            for _, row, column, text in (each for each in cells if each[0] == name):
                rows[row - 1][rows[0].index(column)] = text
            (tmp_path / f"{name}.csv").write_text("\n".join(map(",".join, rows)) + "\n")
        return tmp_path

    return make


def without(folder):
    return load_fleet_without_bad(folder, today=TODAY)


def boats_in(fleet):
    """The boats of each table, which must be the same in all."""
    found = {name: set(getattr(fleet, name)["vessel_id"]) for name in TABLES}
    assert len(set(map(frozenset, found.values()))) == 1
    return sorted(found["vessels"])


def test_a_clean_fleet_is_what_it_always_is(broken):
    fleet, left = without(broken())
    assert left == LeftOut()
    assert fleet.vessels.equals(load_fleet(broken(), today=TODAY).vessels)


@pytest.mark.parametrize(
    "cell",
    [
        ("vessels", 3, "value", "much"),
        ("vessels", 3, "propulsion", "wings"),
        ("items", 4, "item_class", "pump"),
        ("items", 5, "quantity", "-1"),
        ("records", 3, "date", "soon"),
        ("records", 8, "event", "prayed"),
        ("records", 13, "hours", "x"),
        ("periods", 3, "to", "04-31"),
        ("claims", 3, "gross", "-5"),
    ],
)
def test_a_broken_row_of_any_table_takes_its_whole_boat(broken, cell):
    fleet, left = without(broken(cell))
    assert boats_in(fleet) == ["B0", "B2", "B3", "B4"]
    assert (left.broken, left.boats, left.homeless) == (1, 1, 0)
    assert left.rows == {"vessels": 1, "items": 2, "records": 3, "periods": 1, "claims": 1}
    assert [problem.row for problem in left.problems] == [cell[1]]


def test_the_value_left_out_is_what_can_be_read_of_it(broken):
    _, left = without(
        broken(
            ("vessels", 2, "value", "much"), ("items", 4, "quantity", "-1"), ("vessels", 4, "value", "250")
        )
    )
    assert (left.boats, left.value, left.unread) == (2, 1000.0, 1)


def test_of_two_boats_with_one_id_both_go(broken):
    fleet, left = without(broken(("vessels", 3, "vessel_id", "B0")))
    # B1's own rows name no boat of the schedule any more.
    assert boats_in(fleet) == ["B2", "B3", "B4"]
    assert (left.boats, left.value) == (2, 2000.0)
    assert left.homeless == 2 + 2 + 1 + 1


def test_of_two_parts_with_one_id_both_boats_go(broken):
    fleet, _ = without(broken(("items", 4, "item_id", "IB00")))
    assert boats_in(fleet) == ["B2", "B3", "B4"]


def test_a_record_of_two_boats_takes_both(broken):
    fleet, _ = without(broken(("records", 8, "item_id", "IB00")))
    assert boats_in(fleet) == ["B2", "B3", "B4"]


def test_a_part_of_no_boat_is_counted_apart(broken):
    fleet, left = without(broken(("items", 2, "vessel_id", "B9")))
    assert (left.broken, left.homeless, left.boats) == (1, 1, 0)
    assert left.rows == {"items": 1, "records": 1}
    assert boats_in(fleet) == BOATS


def test_a_part_without_a_boat_takes_the_one_its_record_names(broken):
    fleet, left = without(broken(("items", 5, "vessel_id", "")))
    assert boats_in(fleet) == ["B0", "B2", "B3", "B4"]
    assert (left.broken, left.boats) == (1, 1)


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ([("vessels", 1, "value", "worth")], "value must be a column"),
        ([("items", 3, "quantity", '"1,5"'), ("items", 5, "item_class", "pump")], "decimal comma"),
        ([("items", 3, "quantity", "1,5")], "must have 5 cells like the head"),
        ([("vessels", row, "value", "much") for row in range(2, 7)], "value must be a number"),
    ],
)
def test_what_is_wrong_as_a_whole_is_refused(broken, cells, says):
    with pytest.raises(TableError, match=says):
        without(broken(*cells))


def test_what_is_wrong_as_a_whole_comes_first(broken):
    with pytest.raises(TableError) as refusal:
        without(broken(("vessels", 3, "value", "much"), ("claims", 1, "gross", "whole")))
    assert [problem.file for problem in refusal.value.problems] == ["claims.csv", "vessels.csv"]


def test_settings_are_no_row(broken):
    folder = broken(("vessels", 3, "value", "much"))
    (folder / "settings.toml").write_text("colour = 1\n")
    with pytest.raises(TableError, match="colour must be a known setting"):
        without(folder)


CELLS = [
    (name, row, column)
    for name, rows in TABLES.items()
    for row in range(2, len(rows) + 1)
    for column in rows[0]
]


# Each case writes a fleet: fewer of them than elsewhere.
@settings(max_examples=20)
@given(
    st.lists(
        st.tuples(st.sampled_from(CELLS), st.sampled_from(["", "B0", "B9", "IB01", "2019", "x"])), max_size=4
    )
)
def test_whatever_cells_are_broken_what_is_left_is_clean_and_each_boat_whole(tmp_path_factory, changed):
    folder = tmp_path_factory.mktemp("boats")
    cells = {cell: text for cell, text in changed}
    rows = {name: [list(row) for row in table] for name, table in TABLES.items()}
    for (name, row, column), text in cells.items():
        rows[name][row - 1][rows[name][0].index(column)] = text
    for name, table in rows.items():
        (folder / f"{name}.csv").write_text("\n".join(map(",".join, table)) + "\n")
    try:
        fleet, left = without(folder)
    except TableError:
        # A cell takes two boats at most, so only three or more can leave none of the five.
        assert len(cells) > 2
        return
    assert len(fleet.vessels) + left.boats == len(BOATS)
    items = {
        boat: {row[0] for row in rows["items"][1:] if row[1] == boat} for boat in fleet.vessels["vessel_id"]
    }
    for boat, theirs in items.items():
        assert set(fleet.items.loc[fleet.items["vessel_id"] == boat, "item_id"]) == theirs
    assert left.broken == len({(problem.file, problem.row) for problem in left.problems})
