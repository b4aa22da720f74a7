"""How fast classes age on each boat: kinds of surroundings, draws, and what records teach of a factor."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.life.weibull import log_log
from riskmodel.risk.ageing import judged_ageing, learned_ageing
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.trade import load_trade

TRADE = load_trade()
CLASSES = ("bellows_drive", "fuel_feed_hose", "float_switch", "hose_clamps")
BOATS = (
    {"vessel_id": "Usual"},
    {"vessel_id": "Hot", "climate": "tropical"},
    {"vessel_id": "Alike"},
    {"vessel_id": "Lake", "water": "fresh"},
)
SHAPE, SCALE = 3.0, 16.0
LOG_AGE = np.log(SCALE) + float(log_log(0.10)) / SHAPE


@pytest.fixture(scope="module")
def ageing(fleet_of):
    items = [{"item_class": name, "vessel_id": "Usual"} for name in CLASSES]
    return judged_ageing(fleet_of(items, boats=BOATS), TRADE)


def place(ageing, boat):
    return ageing.kind[boat]


def records(ageing, pace, name="fuel_feed_hose", number=400, seed=5):
    """Rows of one class on boats of two climates, ageing ``pace`` as fast in the tropics as in the usual waters."""
    rng = np.random.default_rng(seed)
    boat = rng.choice(["Usual", "Hot"], number)
    life = SCALE * rng.weibull(SHAPE, number) / np.where(boat == "Hot", pace, 1.0)
    end = rng.uniform(1, 15, number)
    return pd.DataFrame(
        {
            "vessel_id": boat,
            "item_class": name,
            "lower": np.minimum(life, end),
            "upper": np.where(life <= end, life, np.inf),
            "entry": 0.0,
            "count": 1.0,
        }
    )


def judged_pace(ageing, name="fuel_feed_hose"):
    return ageing.speed(name)[place(ageing, "Hot")]


def test_boats_in_like_surroundings_are_one_kind(ageing):
    assert place(ageing, "Usual") == place(ageing, "Alike")
    assert len({place(ageing, boat) for boat in ("Usual", "Hot", "Lake")}) == 3
    ids = pd.Series(["Lake", "Usual", "Alike", "Hot"])
    assert ageing.kinds_of(ids).tolist() == [place(ageing, boat) for boat in ids]


def test_the_usual_boat_ages_as_the_trade_presumes_without_doubt(ageing):
    for name in CLASSES:
        assert ageing.speed(name)[place(ageing, "Usual")] == 1.0
        assert ageing.speed_sd(name)[place(ageing, "Usual")] == 0.0


def test_rubber_ages_faster_in_the_tropics_by_the_middle_of_the_judged_range(ageing):
    # data/trade/surroundings.csv: 2 to 4.2 times, from 1.8-3.3 times per 10 degC.
    assert judged_pace(ageing) == pytest.approx(np.sqrt(2 * 4.2))
    assert ageing.speed_sd("fuel_feed_hose")[place(ageing, "Hot")] == pytest.approx(
        np.log(4.2 / 2) / 3.2897, abs=1e-4
    )


def test_metal_wastes_slower_in_fresh_water_and_rubber_does_not_care(ageing):
    assert ageing.speed("hose_clamps")[place(ageing, "Lake")] < 1
    assert ageing.speed("fuel_feed_hose")[place(ageing, "Lake")] == 1


def test_a_hot_boats_parts_are_likelier_to_let_go(rows_of):
    items = [
        {"item_class": "raw_water_hose", "vessel_id": boat["vessel_id"], "installed_on": "2016-05-01"}
        for boat in BOATS
    ]
    usual, hot, alike, lake = rows_of(items, boats=BOATS)["failure_probability"].loc[["I0", "I1", "I2", "I3"]]
    assert hot > 2 * usual
    assert (usual, usual) == pytest.approx((alike, lake))


def test_drawn_speeds_are_the_same_each_time_and_centred_on_what_is_believed(ageing):
    drawn = ageing.drawn_speed("fuel_feed_hose", Draws(3))
    assert drawn.shape == (3, DRAWS)
    assert (drawn == ageing.drawn_speed("fuel_feed_hose", Draws(3))).all()
    assert (drawn != ageing.drawn_speed("fuel_feed_hose", Draws(4))).any()
    logs = np.log(drawn)
    assert logs.mean(axis=1) == pytest.approx(np.log(ageing.speed("fuel_feed_hose")), abs=1e-9)
    assert logs.std(axis=1) == pytest.approx(ageing.speed_sd("fuel_feed_hose"), rel=0.02)


def test_a_factors_doubt_is_one_draw_for_every_class(ageing):
    hot = place(ageing, "Hot")
    hose, clamps = (
        np.log(ageing.drawn_speed(name, Draws()))[hot] for name in ("fuel_feed_hose", "hose_clamps")
    )
    assert np.corrcoef(hose, clamps)[0, 1] == pytest.approx(1.0)


def test_without_records_nothing_is_learned(ageing):
    none = records(ageing, 1.0, number=0)
    assert learned_ageing(ageing, none, {}) is ageing


def test_records_from_the_usual_surroundings_alone_teach_nothing_of_others(ageing):
    rows = records(ageing, 1.0)
    learned = learned_ageing(ageing, rows[rows["vessel_id"] == "Usual"], {"fuel_feed_hose": (SHAPE, LOG_AGE)})
    assert (learned.shift == 0).all()
    assert (learned.sd == 1).all()


@pytest.mark.parametrize(("times", "way"), [(0.6, -1), (1.6, 1)])
def test_records_move_a_factor_the_way_they_ran(ageing, times, way):
    true = times * judged_pace(ageing)
    learned = learned_ageing(ageing, records(ageing, true), {"fuel_feed_hose": (SHAPE, LOG_AGE)})
    climate = ageing.factors.index("climate")
    assert way * learned.shift[climate] > 1
    assert learned.sd[climate] < 0.5
    assert judged_pace(learned) == pytest.approx(true, rel=0.15)
    others = [n for n in range(len(ageing.factors)) if n != climate]
    assert (learned.shift[others] == 0).all()
    assert (learned.sd[others] == 1).all()


def test_what_one_class_teaches_of_a_factor_moves_every_class_by_its_own_doubt(ageing):
    rows = records(ageing, 1.6 * judged_pace(ageing))
    learned = learned_ageing(ageing, rows, {"fuel_feed_hose": (SHAPE, LOG_AGE)})
    hot = place(ageing, "Hot")
    for name in CLASSES:
        moved = np.log(learned.speed(name) / ageing.speed(name))[hot]
        assert moved == pytest.approx(
            ageing.speed_sd(name)[hot] * learned.shift[ageing.factors.index("climate")]
        )
        assert moved > 0
    assert learned.speed("bellows_drive")[place(ageing, "Usual")] == 1.0


def test_records_that_bear_the_judgement_out_sharpen_it_and_leave_its_middle(ageing):
    rows = records(ageing, judged_pace(ageing), number=3000)
    learned = learned_ageing(ageing, rows, {"fuel_feed_hose": (SHAPE, LOG_AGE)})
    climate = ageing.factors.index("climate")
    assert abs(learned.shift[climate]) < 3 * learned.sd[climate] < 0.6


def test_few_records_leave_the_judgement_nearly_as_it_was(ageing):
    rows = records(ageing, 2 * judged_pace(ageing), number=4)
    learned = learned_ageing(ageing, rows, {"fuel_feed_hose": (SHAPE, LOG_AGE)})
    climate = ageing.factors.index("climate")
    assert abs(learned.shift[climate]) < 1.5
    assert learned.sd[climate] > 0.6
