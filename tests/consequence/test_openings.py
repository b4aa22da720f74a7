"""How parts open to the sea: shares that add to one, areas by bore, depths by length, and the part's own figures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding.openings import (
    MODES,
    REFERENCE_LENGTH_M,
    SIDES,
    SQUARE_MM,
    WAYS,
    opening_classes,
    ways_in,
)
from riskmodel.consequence.follow import SCENARIOS, scenarios
from riskmodel.consequence.losses import mean_of_range
from riskmodel.hypercube import WIDTH_90
from riskmodel.trade import load_trade

TRADE, CUBE = load_trade(), scenarios()
CLASSES = sorted(opening_classes(TRADE))
CLASS = st.sampled_from(CLASSES)


@pytest.fixture(scope="module")
def ways(kinds_of):
    """Ways in for kinds of part, each what it adds to packing on a plain boat."""

    def run(*changes):
        return ways_in(kinds_of(*changes), TRADE, CUBE)

    return run


@pytest.fixture(scope="module")
def every(ways):
    return ways(*({"item_class": name} for name in CLASSES))


def rows_of(name):
    return [row for row in TRADE.openings if row.item_class == name]


def test_every_array_has_a_row_for_each_kind(every):
    assert every.share.shape == every.area.shape == (len(CLASSES), SCENARIOS, WAYS)
    for values in (every.depth, every.at_berth, every.open):
        assert values.shape == (len(CLASSES), SCENARIOS)


def test_the_shares_of_the_ways_add_to_one(every):
    assert every.share.sum(axis=2) == pytest.approx(np.ones((len(CLASSES), SCENARIOS)))
    assert (every.share >= 0).all()


def test_every_hole_is_one(every):
    assert (every.area > 0).all()
    assert (every.depth >= 0).all()


def test_chances_are_chances(every):
    for values in (every.at_berth, every.open):
        assert (values >= 0).all()
        assert (values <= 1).all()


@pytest.mark.parametrize("name", CLASSES)
def test_each_class_has_each_mode_once(name):
    assert sorted(row.mode for row in rows_of(name)) == sorted(MODES)


@pytest.mark.parametrize("name", CLASSES)
def test_what_the_rows_of_a_class_share_is_said_alike_in_each(name):
    # Bore, depth, berth and open are read from the first row: a row that differs would be read over.
    shared = (
        "bore_mm",
        "depth_low_m",
        "depth_high_m",
        "at_berth_low",
        "at_berth_high",
        "open_low",
        "open_high",
    )
    assert len({tuple(getattr(row, column) for column in shared) for row in rows_of(name)}) == 1


@pytest.mark.parametrize("name", CLASSES)
def test_a_weep_is_smaller_than_a_split_and_a_split_than_a_part_come_off(every, name):
    middles = every.area[CLASSES.index(name)].reshape(SCENARIOS, len(MODES), len(SIDES)).mean(axis=2)
    assert (np.diff(middles, axis=1) > 0).all()


@pytest.mark.parametrize("name", CLASSES)
def test_most_failures_weep_and_few_come_off(name):
    share = {row.mode: row.share_low + row.share_high for row in rows_of(name)}
    assert share["weep"] > share["split"]
    assert share["weep"] > share["parted"]


@pytest.mark.parametrize("name", CLASSES)
def test_a_part_come_off_opens_no_more_than_its_bore(name):
    row = next(row for row in rows_of(name) if row.mode == "parted")
    assert row.area_high_mm2 <= np.pi / 4 * row.bore_mm**2 * 1.01


def test_an_own_bore_takes_the_place_of_the_tables_and_areas_grow_with_its_square(ways):
    usual = rows_of("shaft_packing")[0].bore_mm
    found = ways({}, {"bore_mm": usual}, {"bore_mm": 2 * usual})
    assert found.area[1] == pytest.approx(found.area[0])
    assert found.area[2] == pytest.approx(4 * found.area[0])
    assert np.array_equal(found.share[2], found.share[0])


def test_an_own_depth_takes_the_place_of_the_tables(ways):
    found = ways({}, {"depth_m": 0.33}, {"depth_m": 0.0})
    assert (found.depth[1] == 0.33).all()
    assert (found.depth[2] == 0.0).all()
    assert np.ptp(found.depth[0]) > 0


@given(CLASS, st.floats(2, 30))
def test_a_depth_nobody_gave_grows_with_the_boat(ways, name, length):
    found = ways(
        {"item_class": name, "length_m": length}, {"item_class": name, "length_m": REFERENCE_LENGTH_M}
    )
    assert found.depth[0] == pytest.approx(found.depth[1] * length / REFERENCE_LENGTH_M)


@pytest.mark.parametrize("name", CLASSES)
def test_on_a_boat_of_ten_metres_the_depth_is_the_tables(ways, name):
    row = rows_of(name)[0]
    expected = mean_of_range(np.array([row.depth_low_m]), np.array([row.depth_high_m]))
    found = ways({"item_class": name, "length_m": 10.0})
    assert found.depth.mean() == pytest.approx(expected[0], rel=1e-9)


def test_a_seacock_known_to_be_open_or_shut_is(ways):
    found = ways(*({"item_class": "head_plumbing", "open_to_sea": word} for word in ("yes", "no", "")))
    assert (found.open[0] == 1).all()
    assert (found.open[1] == 0).all()
    assert ((found.open[2] > 0) & (found.open[2] < 1)).all()


def test_two_sides_of_a_mode_lie_a_standard_deviation_either_way(every):
    row = next(row for row in rows_of("shaft_packing") if row.mode == "split")
    sides = every.area[CLASSES.index("shaft_packing"), :, 2:4]
    sd = np.log(row.area_high_mm2 / row.area_low_mm2) / WIDTH_90
    assert np.log(sides[:, 1] / sides[:, 0]) == pytest.approx(np.full(SCENARIOS, 2 * sd))
    # Twice the middle of the table and half of it, in the middle scenario the table's own.
    middle = np.median(np.sqrt(sides.prod(axis=1))) / SQUARE_MM
    assert middle == pytest.approx(np.sqrt(row.area_low_mm2 * row.area_high_mm2), rel=0.1)


def test_parts_of_a_class_open_alike_and_classes_apart(ways):
    found = ways({}, {"item_class": "sea_strainer"}, {})
    assert np.array_equal(found.area[0], found.area[2])
    assert not np.array_equal(np.argsort(found.area[0, :, 0]), np.argsort(found.area[1, :, 0]))


@given(st.lists(CLASS, min_size=1, max_size=6))
def test_kinds_together_or_alone_open_alike(ways, names):
    together = ways(*({"item_class": name} for name in names))
    for place, name in enumerate(names):
        alone = ways({"item_class": name})
        assert np.array_equal(together.area[place], alone.area[0])
        assert np.array_equal(together.depth[place], alone.depth[0])


def test_the_drive_bellows_opens_the_hull_wider_than_the_shift_bellows(every):
    drive, shift = (every.area[CLASSES.index(name)] for name in ("bellows_drive", "bellows_shift"))
    assert (drive.mean(axis=0) > shift.mean(axis=0)).all()


def test_no_barrier_and_no_exhaust_bellows_opens_the_hull():
    barriers = {"bilge_pump", "float_switch", "high_water_alarm", "engine_blower", "ventilation_duct"}
    assert not opening_classes(TRADE) & (barriers | {"bellows_exhaust"})
