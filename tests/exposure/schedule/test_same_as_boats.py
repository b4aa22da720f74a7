"""Boats equal in everything told lose by kind what they lose boat by boat, in every end state, to ten digits."""

import csv
import io
from importlib.resources import files

import numpy as np
import pytest

from riskmodel.exposure.cover import Cover, Policy, cover_of

TERMS = (Policy(), Policy(500.0), Policy(0.0, 0.02), Policy(500.0, without=frozenset({"fire_explosion"})))
DIGITS = 1e-10


def of_kinds(kinds, values, states, named):
    """Sums of (boats, K) by kind, those of end states by name; 0 where there is none."""
    ends = np.cumsum([count for count, _, _ in kinds])[:-1]
    summed = np.array([each.sum(axis=0) for each in np.split(values, ends)])
    return np.stack(
        [summed[:, states.index(name)] if name in states else summed[:, 0] * 0 for name in named], axis=1
    )


def of_rows(kinds, found, values):
    """The rows of a schedule's book in the order of the kinds, told by what the boats are worth and how long."""
    vessels = found.book.vessels
    keys = [(boat.get("value", 40000.0), boat.get("length_m", 8.0)) for _, boat, _ in kinds]
    rows = list(zip(vessels["value"], vessels["length_m"].round(6), strict=True))
    return values[[rows.index(key) for key in keys]]


@pytest.mark.parametrize("policy", TERMS)
def test_mean_losses_by_kind_and_end_state(equal, equal_kinds, policy):
    kinds, boats = equal
    states = kinds.book.states
    mine, theirs = (
        each.book.mean_losses(cover_of(each.result, each.book.states, policy)).mean(axis=2)
        for each in (kinds, boats)
    )
    wanted = of_kinds(equal_kinds, theirs, boats.book.states, states)
    assert (wanted.sum(axis=0) > 0).sum() >= 7
    np.testing.assert_allclose(of_rows(equal_kinds, kinds, mine), wanted, rtol=DIGITS)


def test_draw_by_draw(equal, equal_kinds):
    """Not the means alone: what is uncertain moves both alike."""
    kinds, boats = equal
    mine, theirs = (
        each.book.mean_losses(Cover.of_all(each.book.severity.value, len(each.book.states))).sum(axis=1)
        for each in (kinds, boats)
    )
    ends = np.cumsum([count for count, _, _ in equal_kinds])[:-1]
    wanted = np.array([each.sum(axis=0) for each in np.split(theirs, ends)])
    np.testing.assert_allclose(of_rows(equal_kinds, kinds, mine), wanted, rtol=DIGITS)


def test_the_year_and_what_rank_says(equal):
    kinds, boats = equal
    for side in ("before", "after"):
        mine, theirs = (getattr(each, side).total for each in (kinds, boats))
        assert mine.mean == pytest.approx(theirs.mean, rel=DIGITS)
        assert mine.sd == pytest.approx(theirs.sd, rel=1e-6)
        assert mine.quantile(0.99) == pytest.approx(theirs.quantile(0.99), abs=mine.step + theirs.step)
    assert kinds.ranked == pytest.approx(boats.ranked, rel=1e-9)
    # Equal boats have equal chances: nothing is widened.
    assert kinds.priced.widened == pytest.approx(0.0, abs=1e-6 * kinds.before.total.sd**2)


def test_the_mean_is_that_of_every_draw(equal, large):
    for found in (equal[0], large):
        for side in (found.before, found.after):
            drawn = found.book.mean_losses(side.part.cover).sum(axis=(0, 1))
            assert side.total.mean == pytest.approx(float(drawn.mean()), rel=1e-9)
            assert side.mean.sum() == pytest.approx(side.total.mean, rel=1e-9)


@pytest.mark.parametrize(("pumps", "digits"), [(1, 1e-9), pytest.param(2, 2e-4, marks=pytest.mark.thorough)])
def test_parts_in_numbers(parquet_of, by_kind, by_boat, pumps, digits):
    """Forty clamps on every list: means are held where boats have the usual number, and of barriers one."""
    parts = [
        {"item_class": "hose_clamps", "installed_on": "2012-06-01", "quantity": 40},
        {"item_class": "through_hull_seacock", "installed_on": None, "quantity": 3},
        {"item_class": "bilge_pump", "installed_on": "2015-06-01", "quantity": pumps},
    ]
    folder = parquet_of([(5, {}, parts)])
    mine, theirs = by_kind(folder).before.total.mean, by_boat(folder).before.total.mean
    assert mine == pytest.approx(theirs, rel=digits)


@pytest.mark.thorough
def test_lists_of_a_share_of_the_boats(parquet_of, by_kind, by_boat):
    """A part that every other boat has: half of one part a boat, and half the chance to first order."""
    with_, without = [{"item_class": "bellows_drive", "installed_on": "2020-06-01"}], []
    pump = [{"item_class": "bilge_pump", "installed_on": "2020-06-01"}]
    folder = parquet_of([(4, {}, [*with_, *pump]), (4, {}, [*without, *pump])])
    mine, theirs = by_kind(folder), by_boat(folder)
    assert len(mine.kinds.kind) == 1
    assert mine.before.total.mean == pytest.approx(theirs.before.total.mean, rel=0.02)


def test_typical_outfits_lose_something(parquet_of, by_kind):
    found = by_kind(parquet_of([(3, {}, [])]))
    assert (found.before.mean.sum(axis=1) > 0).all()
    assert not found.kinds.listed.any()


def test_an_organisations_own_rows(parquet_of, by_kind, tmp_path):
    """An overlay that makes partial flooding dear reaches the schedule."""
    shipped = files("riskmodel.data.trade").joinpath("end_states.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(shipped)))
    row = next(row for row in rows if row["end_state"] == "partial_flooding")
    row |= {"value_share_low": "0.3", "value_share_high": "0.5"}
    with (tmp_path / "end_states.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(row))
        writer.writeheader()
        writer.writerow(row)
    both = [by_kind(parquet_of([(3, {}, [])], each)) for each in ("", f'trade = "{tmp_path}"\n')]
    plain, dear = (dict(zip(each.book.states, each.before.mean.sum(axis=0), strict=True)) for each in both)
    assert dear["partial_flooding"] > 2 * plain["partial_flooding"]
    assert dear["machinery_damage"] == pytest.approx(plain["machinery_damage"], rel=1e-9)
