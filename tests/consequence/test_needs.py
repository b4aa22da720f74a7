"""What may happen in each state of the year, over all end states: nothing without the water or the use it needs."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import background_of_boats, item_following
from riskmodel.consequence.follow import scenarios
from riskmodel.consequence.needs import RUNNING, WATER
from riskmodel.consequence.slow import slow_needs

UNDER_WAY = {"sinking_under_way", "fire_explosion", "carbon_monoxide", "injury"}
BY_THE_SEA = {"sinking_unattended", "loss_of_holding"}
# Rain through a window, wet core, a lost day: what a boat in a yard is spared as little as one afloat.
ANYWHERE = {"partial_flooding", "structural_damage", "nuisance"}
EVERY = UNDER_WAY | BY_THE_SEA | ANYWHERE | {"machinery_damage"}
STATES = {
    "in_use": EVERY,
    "on_trailer": EVERY,
    "afloat_unattended": EVERY - UNDER_WAY,
    "laid_up_afloat": EVERY - UNDER_WAY,
    "ashore": ANYWHERE,
}
AFLOAT = ("afloat", "mooring")


@pytest.fixture(scope="module")
def everything(boats_and_year, trade):
    """Every class the trade has, on a gasoline sterndrive and on a diesel sailing boat with a shaft, at two berths."""
    boats = [
        {"vessel_id": f"{kind['propulsion']}/{kept}", "kept": kept, "core": "balsa", **kind}
        for kind in (
            {"propulsion": "sterndrive", "fuel": "gasoline"},
            {"propulsion": "sail_shaft", "fuel": "diesel"},
        )
        for kept in AFLOAT
    ]
    items = [{"item_class": name, "vessel_id": boat["vessel_id"]} for name in trade.classes for boat in boats]
    return boats_and_year(items, boats)


@pytest.mark.parametrize("state", STATES)
def test_only_these_end_states_can_come_of_a_year_spent_so(everything, trade, state):
    parts, _, year = everything
    following = item_following(parts, year.assign(state=state), trade)
    happens = following.rows.loc[following.chance.max(axis=(1, 2)) > 0, "end_state"]
    assert set(happens) == STATES[state]


@pytest.mark.parametrize("state", STATES)
def test_rain_snow_and_waves_sink_only_what_lies_in_the_water(everything, trade, state):
    _, boats, year = everything
    found = background_of_boats(boats, year.assign(state=state), 1.0, trade)
    for chance in found.values():
        assert (chance > 0).any() == (state != "ashore")


def test_no_part_floods_a_boat_in_a_yard_but_those_that_let_in_the_rain(everything, trade):
    parts, _, year = everything
    following = item_following(parts, year.assign(state="ashore"), trade)
    wet = following.rows[following.rows["end_state"] == "partial_flooding"]
    assert set(wet["item_class"]) == {"portlight_bedding"}


def test_what_harms_a_drive_needs_water_or_a_running_engine_and_what_wets_a_deck_neither(everything, trade):
    parts, _, year = everything
    rows = item_following(parts, year, trade).rows
    assert rows.loc[rows["end_state"] == "machinery_damage", "needs"].isin([WATER, RUNNING]).all()
    assert (rows.loc[rows["end_state"] == "structural_damage", "needs"] == "nothing").all()
    assert set(slow_needs(trade).values()) == {WATER, RUNNING, "nothing"}


@pytest.mark.parametrize("name", ["sacrificial_anode", "bellows_drive", "shaft_packing", "deck_bedding"])
def test_half_a_year_ashore_never_harms_more_than_all_of_it_afloat_in_any_scenario(followed, trade, name):
    whole = followed([{"item_class": name}], [{"propulsion": "inboard_shaft", "core": "balsa"}])
    half = pd.concat([whole.year.assign(share=0.5), whole.year.assign(share=0.5, state="ashore")])
    cut = item_following(whole.parts, half, trade)
    state = "structural_damage" if name == "deck_bedding" else "machinery_damage"
    loss = []
    for each in (whole, cut):
        (place,) = np.flatnonzero(each.rows["end_state"] == state)
        loss.append(each.chance[place, :, 0] * each.loss_factor[place])
    if name == "deck_bedding":
        assert np.array_equal(*loss)
    else:
        assert (loss[1] < loss[0]).all()
        # It begins later and grows half as fast; what is seen in time in the yard is not counted on.
        assert (loss[1] > 0.2 * loss[0]).any()
    assert len(loss[0]) == scenarios().count
