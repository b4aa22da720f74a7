"""Parts of a class as arrays: ages and gaps, unknown ages, and the same parts renewed or tested."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.life import LifeRows, fit_life
from riskmodel.life.ages import age_table, age_weights
from riskmodel.life.looks import Looks, window_nodes
from riskmodel.life.lots import learn_lot
from riskmodel.life.seed import seed_class
from riskmodel.risk.chances import chance_of_one, posterior_parameters
from riskmodel.risk.parts import Parts, ages_of, as_new, as_tested, pick, unknown_ages
from riskmodel.trade import load_trade

SEED = seed_class(load_trade().classes["raw_water_hose"], (0.2, 0.45, 0.7))
LIFE = fit_life(LifeRows.none(), SEED.prior)
NODES = posterior_parameters(LIFE)


@pytest.fixture(scope="module")
def table():
    return age_table(LIFE, SEED.upkeep)


def standing(*rows):
    usual = {
        "age_known": True,
        "age_years": 5.0,
        "gap_years": 0.0,
        "oldest": 20.0,
        "youngest": 0.0,
        "limit": 20.0,
    }
    return pd.DataFrame([usual | row for row in rows])


UNKNOWN = {"age_known": False, "age_years": np.nan}


def parts_of(frame, table, **more):
    age, gap = ages_of(frame, table)
    cell, ages, weights = unknown_ages(frame, table)
    number = len(frame)
    given = {
        **{
            "age": age,
            "gap": gap,
            "quantity": np.ones(number),
            "cell": cell,
            "ages": ages,
            "weights": weights,
        },
        **{"kind": np.zeros(number, dtype=np.intp), "speed": np.ones((1, 1)), "reach": np.ones(number)},
        **{"looks": None, "windows": window_nodes(0.25, 1.5), "lot": np.full(number, -1), "lots": ()},
        **{"lot_correction": 1.0, "hours": np.zeros(number), "rate": np.ones(number)},
        **{"unmetered": np.zeros(number), "rate_sd": 0.5},
    }
    return Parts(**(given | more))


def test_known_ages_are_split_into_when_it_last_worked_and_since(table):
    frame = standing({}, {"gap_years": 2.0}, {"gap_years": 9.0}, {"gap_years": np.nan})
    age, gap = ages_of(frame, table)
    assert gap.tolist() == [0.0, 2.0, 5.0, 5.0]
    assert (age + gap).tolist() == [5.0] * 4


def test_an_unknown_age_keeps_its_gap_for_the_sum_over_ages(table):
    age, gap = ages_of(standing(UNKNOWN | {"gap_years": 3.0}, UNKNOWN | {"gap_years": np.nan}), table)
    assert age.tolist() == [0.0, 0.0]
    assert gap[0] == 3.0
    assert np.isnan(gap[1])


def test_without_a_table_every_age_counts_as_known():
    cell, _, weights = unknown_ages(standing({}, UNKNOWN), None)
    assert cell.tolist() == [-1, -1]
    assert weights.shape[0] == 0


def test_like_unknown_ages_share_a_cell(table):
    frame = standing(UNKNOWN, {}, UNKNOWN | {"oldest": 8.0, "limit": 8.0}, UNKNOWN | {"oldest": 20.04})
    cell, ages, weights = unknown_ages(frame, table)
    assert cell[1] == -1
    assert cell[0] == cell[3] != cell[2]
    assert weights.shape == (2, 3, len(ages))
    assert weights.sum(axis=2) == pytest.approx(np.ones((2, 3)))
    assert (weights >= 0).all()


def test_no_unknown_age_is_over_the_boats(table):
    cell, ages, weights = unknown_ages(standing(UNKNOWN | {"oldest": 8.0, "limit": 8.0}), table)
    assert weights[cell[0]][:, ages > 8.0].sum() < 0.05
    assert (weights[cell[0]][:, ages > 8.0 * 1.1] == 0).all()


def test_the_mean_of_an_unknown_age_is_that_of_its_table(table):
    _, ages, weights = unknown_ages(standing(UNKNOWN | {"oldest": 30.0, "limit": 30.0}), table)
    assert weights[0] @ ages == pytest.approx(age_weights(table, 30.0, 0.0, 30.0) @ table.ages, rel=1e-9)


def test_an_older_part_in_the_fleet_moves_no_other(table):
    young = UNKNOWN | {"oldest": 8.0, "limit": 8.0}
    _, few, alone = unknown_ages(standing(young), table)
    cell, ages, both = unknown_ages(standing(young, UNKNOWN | {"oldest": 60.0, "limit": 60.0}), table)
    assert (ages[: len(few)] == few).all()
    np.testing.assert_allclose(both[cell[0]][:, : len(few)], alone[0], rtol=1e-12, atol=1e-15)
    assert (both[cell[0]][:, len(few) :] == 0).all()


def test_owners_who_renew_more_have_younger_parts(table):
    _, ages, weights = unknown_ages(standing(UNKNOWN | {"oldest": 30.0, "limit": 30.0}), table)
    few, usual, many = weights[0] @ ages
    assert few > usual > many


def test_picked_parts_are_those_parts(table):
    frame = standing({"age_years": 1.0}, UNKNOWN, {"age_years": 7.0, "gap_years": 1.0})
    looks = Looks(np.array([[-1.0], [-2.0], [-3.0]]), np.full((3, 1, 4), 0.5))
    some = pick(parts_of(frame, table, looks=looks), np.array([2, 0]))
    assert some.age.tolist() == [6.0, 1.0]
    assert some.gap.tolist() == [1.0, 0.0]
    assert some.looks.age.ravel().tolist() == [-3.0, -1.0]
    assert (some.cell == -1).all()


def test_looked_tells_where_a_look_is_on_record(table):
    looks = Looks(np.array([[-np.inf, -1.0], [-np.inf, -np.inf]]), np.ones((2, 2, 3)))
    assert parts_of(standing({}, {}), table, looks=looks).looked.tolist() == [True, False]
    assert parts_of(standing({}, {}), table).looked.tolist() == [False, False]


def worn(table):
    """One part of each sort: old, tested a while ago, of unknown age, and of a bad lot with hours on it."""
    frame = standing({"age_years": 14.0}, {"gap_years": 2.0}, UNKNOWN, {"age_years": 9.0})
    looks = Looks(np.full((4, 1), -0.5), np.full((4, 1, 3), 0.4))
    lot = np.array([-1, -1, -1, 0])
    return parts_of(
        frame,
        table,
        looks=looks,
        lot=lot,
        lots=(learn_lot(5, 0.5, 0.4),),
        lot_correction=1.02,
        reach=np.array([1.3, 1.0, 1.0, 1.0]),
        hours=np.array([900.0, 0, 300, 700]),
        unmetered=np.array([0.0, 5, 0, 0]),
    )


def test_renewed_parts_are_new_and_nothing_clings_to_them(table):
    new = as_new(worn(table))
    for zero in (new.age, new.gap, new.hours, new.unmetered):
        assert (zero == 0).all()
    assert (new.cell == -1).all()
    assert (new.lot == -1).all()
    assert (new.reach == 1).all()
    assert not new.looked.any()
    year = np.ones(4)
    expected = LIFE.failure_probability(np.zeros(4), year)
    assert chance_of_one(new, NODES, year) @ NODES.weight == pytest.approx(expected, rel=1e-9)


def test_renewal_lowers_the_chance_of_every_worn_part(table):
    before, after = (
        chance_of_one(some, NODES, np.ones(4)) @ NODES.weight for some in (worn(table), as_new(worn(table)))
    )
    assert (after < before).all()


def test_tested_parts_work_today_at_todays_age(table):
    frame = standing(
        {"age_years": 6.0, "gap_years": 2.0}, {"age_years": 6.0, "gap_years": np.nan}, {"age_years": 6.0}
    )
    tested = as_tested(parts_of(frame, table))
    assert tested.age.tolist() == [6.0, 6.0, 6.0]
    assert (tested.gap == 0).all()
    chance = chance_of_one(tested, NODES, np.ones(3)) @ NODES.weight
    assert chance == pytest.approx(LIFE.failure_probability(np.full(3, 6.0), 1.0), rel=1e-9)


def test_a_test_never_raises_the_chance_of_being_dead(table):
    frame = standing({"gap_years": 2.0}, UNKNOWN | {"gap_years": np.nan}, UNKNOWN | {"gap_years": 3.0})
    parts = parts_of(frame, table)
    now, tested = (chance_of_one(some, NODES, np.full(3, 0.5)) for some in (parts, as_tested(parts)))
    assert (tested @ NODES.weight < now @ NODES.weight).all()


def test_a_test_leaves_an_unknown_age_unknown(table):
    parts = parts_of(standing(UNKNOWN | {"gap_years": np.nan}), table)
    assert as_tested(parts).cell.tolist() == parts.cell.tolist() == [0]
