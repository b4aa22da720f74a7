"""Parts with their boats beside them, and the pump that the physics sees on each boat."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence import boats_with_pumps, parts_on_boats
from riskmodel.consequence.flooding.battery import pump_amperes
from riskmodel.consequence.flooding.pumps import LITRES_A_MINUTE, pumps_of
from riskmodel.consequence.follow import SCENARIOS
from riskmodel.consequence.parts import PUMP

PUMP_COLUMNS = list(PUMP)
VESSELS = pd.DataFrame(
    {
        "vessel_id": ["B1", "B2", "B3"],
        "length_m": [7.0, 9.0, 11.0],
        "fuel": ["gasoline", "diesel", "diesel"],
        "source_row": [2, 3, 4],
    }
)


def part(item_class, vessel_id="B1", **columns):
    blank = dict.fromkeys(PUMP_COLUMNS, np.nan)
    return {"item_class": item_class, "vessel_id": vessel_id, "source_row": 99} | blank | columns


def items(*rows):
    return pd.DataFrame(rows)


SOME = items(
    part("bilge_pump", rated_flow_lpm=30.0, amps=2.0, bends=1.0),
    part("bilge_pump", rated_flow_lpm=70.0, amps=5.0, bends=3.0),
    part("high_water_alarm", "B2"),
    part("bilge_pump", "B3"),
    part("shaft_packing", "B2"),
)


def test_every_boat_stands_once_in_its_own_order():
    boats = boats_with_pumps(SOME, VESSELS)
    assert boats["vessel_id"].tolist() == ["B1", "B2", "B3"]
    assert boats["length_m"].tolist() == [7.0, 9.0, 11.0]


def test_a_boats_pump_is_the_largest_of_its_pumps_with_all_that_is_its_own():
    boats = boats_with_pumps(SOME, VESSELS).set_index("vessel_id")
    assert boats.loc["B1", ["pump_lpm", "pump_amps", "pump_bends"]].tolist() == [70.0, 5.0, 3.0]


def test_a_boat_that_lists_no_pump_or_none_of_its_figures_has_blanks():
    boats = boats_with_pumps(SOME, VESSELS).set_index("vessel_id")
    assert boats.loc[["B2", "B3"], list(PUMP.values())].isna().all(axis=None)


def test_a_pump_with_a_known_flow_comes_before_one_without():
    rows = items(part("bilge_pump"), part("bilge_pump", rated_flow_lpm=20.0))
    assert boats_with_pumps(rows, VESSELS)["pump_lpm"].tolist()[0] == 20.0


def test_only_a_boat_that_lists_an_alarm_has_one():
    assert boats_with_pumps(SOME, VESSELS)["alarm_fitted"].tolist() == [False, True, False]


def test_the_vessels_table_is_left_as_it_was():
    before = VESSELS.copy()
    boats_with_pumps(SOME, VESSELS)
    pd.testing.assert_frame_equal(VESSELS, before)


def test_a_part_has_its_own_columns_and_its_boats():
    boats = boats_with_pumps(SOME, VESSELS)
    parts = parts_on_boats(SOME, boats)
    assert parts["item_class"].tolist() == SOME["item_class"].tolist()
    assert parts["fuel"].tolist() == ["gasoline", "gasoline", "diesel", "diesel", "diesel"]
    assert not parts.columns.duplicated().any()
    # A column that both tables have is the boat's.
    assert parts["source_row"].tolist() == [2, 2, 3, 4, 3]


def test_parts_are_indexed_by_their_place():
    shuffled = SOME.sample(frac=1, random_state=1)
    parts = parts_on_boats(shuffled, boats_with_pumps(shuffled, VESSELS))
    assert parts.index.tolist() == list(range(len(SOME)))
    assert parts["item_class"].tolist() == shuffled["item_class"].tolist()


# What such a pump throws where it stands


@pytest.fixture(scope="module")
def pumps(kinds_of, trade, cube):
    def run(*changes):
        return pumps_of(kinds_of(*changes), trade, cube)

    return run


def test_a_pump_throws_less_than_its_label(pumps):
    found = pumps({"pump_lpm": 60.0})
    assert found.flow.shape == (1, SCENARIOS)
    assert (found.flow > 0).all()
    assert (found.flow * LITRES_A_MINUTE < 60.0).all()


def test_a_pump_nobody_described_grows_with_the_boat(pumps):
    found = pumps({"length_m": 6.0}, {"length_m": 9.0})
    assert (found.flow[1] > found.flow[0]).all()


@given(st.floats(5, 200), st.floats(1, 3))
def test_a_bigger_label_throws_more_and_draws_no_less(pumps, flow, factor):
    found = pumps({"pump_lpm": flow}, {"pump_lpm": flow * factor})
    assert (found.flow[1] >= found.flow[0]).all()
    assert (found.amperes[1] >= found.amperes[0]).all()


@pytest.mark.parametrize(
    ("column", "more"),
    [("pump_head_m", 2.0), ("pump_bends", 6.0), ("pump_check_valve", True), ("pump_hose_m", 8.0)],
)
def test_head_bends_valve_and_hose_take_from_the_flow(pumps, column, more):
    less = {"pump_head_m": 0.2, "pump_bends": 0.0, "pump_check_valve": False, "pump_hose_m": 0.5}
    found = pumps({"pump_lpm": 60.0} | less, {"pump_lpm": 60.0} | less | {column: more})
    assert (found.flow[1] < found.flow[0]).all()


def test_a_pump_lifted_to_its_shut_off_head_throws_nothing(pumps):
    found = pumps({"pump_lpm": 60.0, "pump_shut_off_m": 4.0, "pump_head_m": 4.0})
    assert found.flow == pytest.approx(np.zeros((1, SCENARIOS)), abs=1e-12)


def test_a_pump_of_its_own_draw_draws_that_and_another_what_such_pumps_draw(pumps):
    found = pumps({"pump_lpm": 60.0, "pump_amps": 3.3}, {"pump_lpm": 60.0})
    assert (found.amperes[0] == 3.3).all()
    assert found.amperes[1] == pytest.approx(
        np.full(SCENARIOS, pump_amperes(np.array(60.0 / LITRES_A_MINUTE)))
    )


def test_the_battery_is_the_boats(pumps):
    assert pumps({"battery_ah": 50.0}, {"battery_ah": 0.0}).battery_ah.tolist() == [[50.0], [0.0]]
