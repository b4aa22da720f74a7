"""The same parts on boats that are kept otherwise: who looks, where the boat lies, what it is built of."""

import pytest

ITEMS = (
    *("shaft_packing", "through_hull_seacock", "cockpit_scupper_drain", "deck_bedding", "rode_rope"),
    *("bilge_pump", "float_switch"),
)


@pytest.fixture(scope="module")
def by_boat(rows_of):
    """Sums over parts of each boat's column, for boats alike but for what is given."""

    def run(column, *kinds):
        boats = [
            {"vessel_id": f"V{n}", "propulsion": "sail_shaft", "fuel": "diesel", **kind}
            for n, kind in enumerate(kinds)
        ]
        items = [
            {"item_id": f"{boat['vessel_id']}-{name}", "vessel_id": boat["vessel_id"], "item_class": name}
            | {"installed_on": "2012-05-01"}
            for boat in boats
            for name in ITEMS
        ]
        frame = rows_of(items, boats=boats)
        return frame.groupby("vessel_id")[column].sum().tolist()

    return run


def test_the_oftener_a_boat_is_looked_at_the_less_it_sinks(by_boat):
    sinks = by_boat("sinking_probability", *({"checked_every_days": days} for days in (1, 3, 7, 14, 30, 90)))
    assert sinks == sorted(sinks)
    assert sinks[0] < 0.4 * sinks[-1]


def test_looking_changes_no_parts_own_chance(by_boat):
    chances = by_boat("failure_probability", {"checked_every_days": 1}, {"checked_every_days": 90})
    assert chances[0] == pytest.approx(chances[1], rel=1e-12)


@pytest.mark.parametrize("dry", ["trailer", "rack", "ashore"])
def test_a_boat_out_of_the_water_sinks_less_than_one_afloat(by_boat, dry):
    ashore, afloat = by_boat("sinking_probability", {"kept": dry}, {"kept": "afloat"})
    assert ashore < 0.5 * afloat


def test_a_mooring_is_no_safer_than_a_berth(by_boat):
    afloat, mooring = by_boat("sinking_probability", {"kept": "afloat"}, {"kept": "mooring"})
    assert mooring > afloat


def test_somebody_told_by_an_alarm_lowers_sinking(by_boat):
    told, not_told = by_boat("sinking_probability", {"alarm_telemetry": "yes"}, {"alarm_telemetry": "no"})
    assert told < not_told


def test_without_shore_power_more_boats_sink(by_boat):
    plugged, alone = by_boat("sinking_probability", {"shore_power": "yes"}, {"shore_power": "no"})
    assert plugged < alone


def test_a_wetter_core_costs_more(by_boat):
    losses = by_boat("expected_loss", *({"core": core} for core in ("solid", "foam", "plywood", "balsa")))
    assert losses == sorted(losses)


def test_a_dearer_boat_loses_more_and_sinks_no_oftener(by_boat):
    kinds = ({"value": 20000}, {"value": 200000})
    assert by_boat("expected_loss", *kinds)[0] < by_boat("expected_loss", *kinds)[1]
    sinks = by_boat("sinking_probability", *kinds)
    assert sinks[0] == pytest.approx(sinks[1], rel=1e-12)


def test_gasoline_burns_oftener_than_diesel(rows_of):
    # A diesel's vapour does not burn at the temperatures of a bilge (flash point over 52 C, from memory): what is left
    # is spray on something hot. By our figures 20 times less often at least.
    boats = [
        {"vessel_id": fuel, "propulsion": "inboard_shaft", "fuel": fuel} for fuel in ("gasoline", "diesel")
    ]
    items = [
        {"item_id": boat["vessel_id"], "vessel_id": boat["vessel_id"], "item_class": "fuel_feed_hose"}
        | {"installed_on": "2010-05-01"}
        for boat in boats
    ]
    fire = rows_of(items, boats=boats)["fire_probability"]
    assert fire["gasoline"] > 20 * fire["diesel"] > 0
