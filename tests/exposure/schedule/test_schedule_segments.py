"""Where a schedule's loss sits: by whatever column, segments add up to the whole; so do places, and the tail."""

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure.accumulation import accumulations
from riskmodel.exposure.exposed import WORST
from riskmodel.exposure.schedule.places import schedule_places
from riskmodel.exposure.schedule.segments import schedule_segments
from riskmodel.exposure.schedule.side import ManySide
from riskmodel.exposure.segments import segments

pytestmark = pytest.mark.thorough

EACH_BOAT = (
    "propulsion",
    "home_port",
    "age",
    "length_m",
    "checked_every_days",
    "built_year",
    "value",
    "deductible",
)
ACROSS = ("end_state", "item_class")


@pytest.mark.parametrize("by", [*EACH_BOAT, *ACROSS])
@pytest.mark.parametrize("size", ["equal", "large"])
def test_segments_add_up(request, size, by):
    found = request.getfixturevalue(size)
    found = found[0] if size == "equal" else found
    frame = schedule_segments(found, by)
    assert frame["before"].sum() == pytest.approx(found.before.total.mean, rel=1e-9)
    assert frame["after"].sum() == pytest.approx(found.after.total.mean, rel=1e-9)
    assert frame["worst"].sum() == pytest.approx(found.after.tail.sum(), rel=1e-9)
    assert frame["share"].sum() == pytest.approx(1.0, rel=1e-9)
    if by in EACH_BOAT:
        assert frame["boats"].sum() == found.book.boats
        assert frame["value"].sum() == pytest.approx(found.book.value.sum(), rel=1e-9)


@pytest.mark.parametrize("by", ["propulsion", "age", "end_state"])
def test_segments_are_those_boat_by_boat(equal, by):
    mine, theirs = schedule_segments(equal[0], by), segments(equal[1], by)
    both = mine.merge(theirs, on="segment", suffixes=("", "_boats"))
    assert len(both) == len(theirs)
    for name in ("before", "after"):
        np.testing.assert_allclose(both[name], both[f"{name}_boats"], rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(both["worst"], both["worst_boats"], rtol=2e-3, atol=1.0)


def test_classes_share_as_boat_by_boat(equal):
    mine, theirs = schedule_segments(equal[0], "item_class"), segments(equal[1], "item_class")
    both = mine.merge(theirs, on="segment", suffixes=("", "_boats"))
    np.testing.assert_allclose(both["after"].sum(), theirs["after"].sum(), rtol=1e-6)
    np.testing.assert_allclose(
        both["after"], both["after_boats"], rtol=2e-2, atol=1e-3 * theirs["after"].sum()
    )


def test_the_tail_adds_up(large):
    assert isinstance(large.after, ManySide)
    for side in (large.before, large.after):
        assert side.tail.sum() == pytest.approx(float(side.total.tail_mean(1 - 1 / WORST)), rel=1e-12)
        assert (side.tail > -1e-9).all()


def test_an_unknown_column(equal):
    with pytest.raises(
        ParameterError, match=r"--by must name what tells boats of a schedule apart .* got 'colour'"
    ):
        schedule_segments(equal[0], "colour")


def test_places_add_up(large):
    frame = schedule_places(large)
    assert frame["boats"].sum() == large.book.boats
    assert frame["value"].sum() == pytest.approx(large.book.value.sum(), rel=1e-9)
    assert frame["mean"].sum() == pytest.approx(large.after.total.mean, rel=1e-9)
    assert (frame["value"].diff().dropna() <= 0).all()
    # Boats that do not say where they lie are not struck together.
    struck = frame.set_index("place")["power_cut"]
    assert struck.notna().to_dict() == {"north": True, "south": True, "not said": False}


def test_places_are_those_boat_by_boat(parquet_of, by_kind, by_boat):
    pump = [
        {"item_class": name, "installed_on": "2018-06-01"}
        for name in ("bilge_pump", "float_switch", "bellows_drive")
    ]
    kinds = [
        (2, {"home_port": "north", "shore_power": "yes"}, pump),
        # A place is one however it is written.
        (1, {"home_port": " NORTH", "shore_power": "yes"}, pump),
        (4, {"home_port": "south", "value": 60000.0, "shore_power": "yes"}, pump),
    ]
    folder = parquet_of(kinds)
    mine, theirs = schedule_places(by_kind(folder)), accumulations(by_boat(folder))
    assert list(mine["place"]) == list(theirs["place"])
    for name in mine.columns.drop("place"):
        np.testing.assert_allclose(mine[name], theirs[name], rtol=2e-2, err_msg=name)
