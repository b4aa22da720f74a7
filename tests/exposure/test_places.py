"""Boats of one place have its year together: against every year of a tiny book, written out."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.exposure.book import BOATS, Book
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.exposed import side_of
from riskmodel.exposure.place_names import places_named
from riskmodel.exposure.places import Spells, rows_together
from riskmodel.exposure.severities import SIZES, Severities
from riskmodel.exposure.tails import contributions, worst_years

DRAWS = 2
# Of each boat in each of two end states that exclude one another and a third beside them; no two sums are alike, and
# none comes near AMOUNTS.
LOSS = 100.0 * np.array([1.0, 2.0, 4.0]) * 10.0 ** np.arange(4)[:, None]
AMOUNTS = (8e3, 1.8e4, 8e4, 1.8e5, 4.8e5)
GROUPS = ((0, 1), (2,))


def book_of_sure_losses(chance, loss=LOSS, ports=("Quay", "Quay", "Pool", "Pool"), boats=1):
    rows, states, _ = chance.shape
    median = np.repeat(loss[:, :, None], SIZES, axis=2)
    value = 1.5 * loss.max(axis=1)
    vessels = pd.DataFrame(
        {"vessel_id": [f"V{n}" for n in range(rows)], "value": value, "home_port": list(ports), BOATS: boats}
    )
    nowhere = np.zeros(chance.shape, np.int8), np.zeros(chance.shape)
    severity = Severities(median, np.zeros_like(median), np.full(states, 1e-9), value, *nowhere)
    return Book(vessels, tuple(f"state{n}" for n in range(states)), GROUPS, chance, severity)


@pytest.fixture(scope="module")
def tiny():
    random = np.random.default_rng(5)
    return book_of_sure_losses(random.uniform(0.02, 0.3, (4, 3, DRAWS)))


@pytest.fixture(scope="module")
def spells(tiny):
    """Two spells: one moves all states, the other leaves the third as it is."""
    random = np.random.default_rng(6)
    rises = random.uniform(1.0, 9.0, (2, 4, 3, DRAWS))
    rises[1, :, 2] = 1.0
    often = np.array([[0.1, 0.2], [0.05, 0.3]])
    return Spells(("dark", "cold"), often, rows_together(tiny.vessels), rises)


@pytest.fixture(scope="module")
def side(tiny, spells):
    return side_of(tiny, whole(tiny), spells.places(tiny))


@pytest.fixture(scope="module")
def every_year(tiny, spells):
    """Every year the tiny book can have: its chance over draws and spells, and what each boat and state loses."""
    places = spells.places(tiny)
    of_boat = [
        (own, other) for own, other in itertools.product((-1, 0, 1), (-1, 2))
    ]  # one of the first two states or neither, and the third or not
    found = []
    for draw, years in itertools.product(range(DRAWS), itertools.product(range(3), repeat=2)):
        often = np.prod([places.years[year, draw] for year in years]) / DRAWS
        chance = tiny.chance[:, :, draw].copy()
        for row in range(4):
            chance[row] *= places.times[years[row // 2], places.member[row], :, draw]
        for boats in itertools.product(of_boat, repeat=4):
            p, lost = often, np.zeros((4, 3))
            for row, (own, other) in enumerate(boats):
                p *= chance[row, own] if own >= 0 else 1.0 - chance[row, :2].sum()
                p *= chance[row, 2] if other >= 0 else 1.0 - chance[row, 2]
                for state in (own, other):
                    if state >= 0:
                        lost[row, state] = LOSS[row, state]
            found.append((p, lost))
    return np.array([p for p, _ in found]), np.array([lost for _, lost in found])


def whole(book):
    return Cover.of_all(book.severity.value, len(book.states))


def test_states_keep_their_order_in_the_tiny_book(tiny, spells):
    assert spells.places(tiny).states == (0, 1, 2)


def test_chances_averaged_over_the_years_of_a_place_are_those_given(tiny, spells):
    places = spells.places(tiny)
    np.testing.assert_allclose(np.einsum("yd,ymkd->mkd", places.years, places.times), 1.0, rtol=1e-13)
    np.testing.assert_allclose(places.years.sum(axis=0), 1.0, rtol=1e-14)
    chance = places.times * tiny.chance[np.concatenate(spells.together)]
    assert (chance[..., :2, :].sum(axis=2) <= 1.0).all()
    assert (chance[1:] >= chance[0] - 1e-15).all()


def test_every_year_written_out_has_the_same_law(side, every_year):
    chance, lost = every_year
    assert chance.sum() == pytest.approx(1.0, rel=1e-12)
    total, largest = lost.sum(axis=(1, 2)), lost.max(axis=(1, 2))
    assert side.total.mean == pytest.approx(chance @ total, rel=1e-9)
    for amount in AMOUNTS:
        assert side.total.exceedance(amount) == pytest.approx(chance @ (total > amount), rel=1e-6)
        assert side.largest.exceedance(amount) == pytest.approx(chance @ (largest > amount), rel=1e-6)


def test_contributions_are_those_of_every_year_written_out(side, every_year):
    chance, lost = every_year
    for amount in AMOUNTS:
        weight = (side.years.lattice.losses > amount).astype(float)
        found = contributions(side.part, side.years, weight)
        wanted = np.einsum("y,yrk->rk", chance * (lost.sum(axis=(1, 2)) > amount), lost)
        np.testing.assert_allclose(found, wanted, rtol=1e-6)
    ones = contributions(side.part, side.years, np.ones_like(weight))
    np.testing.assert_allclose(ones, side.mean, rtol=1e-9)


def test_contributions_add_up_to_the_tail_mean(side):
    tail = contributions(side.part, side.years, worst_years(side.total, 0.9))
    assert tail.sum() == pytest.approx(float(side.total.tail_mean(0.9)), rel=1e-9)


def test_places_move_no_mean(tiny, side):
    alone = side_of(tiny, whole(tiny))
    np.testing.assert_allclose(side.mean, alone.mean, rtol=1e-12)
    assert side.total.mean == pytest.approx(alone.total.mean, rel=1e-12)
    assert side.total.parameter_sd == pytest.approx(alone.total.parameter_sd, rel=1e-9)
    assert side.total.process_sd > alone.total.process_sd


def test_spells_that_never_come_change_nothing(tiny, spells):
    never = replace(spells, often=np.zeros_like(spells.often))
    alone = side_of(tiny, whole(tiny))
    places = side_of(tiny, whole(tiny), never.places(tiny))
    np.testing.assert_allclose(places.years.pmf, alone.years.pmf, atol=1e-13)
    np.testing.assert_allclose(places.tail, alone.tail, rtol=1e-9, atol=1e-9)


def test_one_marina_has_a_fatter_tail_than_many():
    random = np.random.default_rng(2)
    loss, chance = random.uniform(500, 9000, (12, 3)), random.uniform(0.01, 0.04, (12, 3, DRAWS))
    tails = []
    for boats_a_place in (1, 2, 12):
        ports = [f"port {n // boats_a_place}" for n in range(12)]
        book = book_of_sure_losses(chance, loss, ports)
        together = rows_together(book.vessels)
        places = None
        if together:
            rises = np.full((1, 12, 3, DRAWS), 6.0)
            places = Spells(("dark",), np.full((1, DRAWS), 0.05), together, rises).places(book)
        total = side_of(book, whole(book), places).total
        tails.append(float(total.tail_mean(0.99)))
    assert tails[0] < tails[1] < tails[2]
    assert tails[2] > 1.2 * tails[0]


def test_a_rare_year_that_strikes_a_whole_marina_does_not_wrap_around():
    chance = np.full((150, 3, DRAWS), 0.002)
    loss = np.tile([1000.0, 1000.0, 1000.0], (150, 1))
    book = book_of_sure_losses(chance, loss, ["Quay"] * 150)
    rises = np.full((1, 150, 3, DRAWS), 150.0)
    spells = Spells(("dark",), np.full((1, DRAWS), 1e-3), rows_together(book.vessels), rises)
    side = side_of(book, whole(book), spells.places(book))
    struck = spells.places(book).times[1, 0, :, 0] * 0.002
    wanted = 1e-3 * 150 * 1000.0 * struck.sum()
    over = np.where(side.total.losses > 20_000.0, side.total.losses, 0.0)
    assert side.total.pmf @ over == pytest.approx(wanted, rel=1e-6)
    assert side.total.pmf @ side.total.losses == pytest.approx(side.total.mean, rel=1e-9)


def test_a_row_of_equal_boats_is_as_many_rows(tiny, spells):
    counted = book_of_sure_losses(tiny.chance[:2], LOSS[:2], ("Quay", "Quay"), 3)
    rows = np.array([0, 1, 0, 1, 0, 1])
    written = book_of_sure_losses(tiny.chance[rows], LOSS[rows], ("Quay",) * 6)
    sides = [
        side_of(
            book, whole(book), replace(spells, together=(here,), rises=spells.rises[:, here % 2]).places(book)
        )
        for book, here in ((counted, np.arange(2)), (written, np.arange(6)))
    ]
    ours, theirs = sides
    for amount in (800.0, 1800.0, 8000.0):
        assert ours.total.exceedance(amount) == pytest.approx(theirs.total.exceedance(amount), rel=1e-6)
    np.testing.assert_allclose(ours.tail, theirs.tail.reshape(3, 2, 3).sum(axis=0), rtol=1e-4)


def test_boats_of_one_port_lie_together_and_others_by_themselves():
    vessels = pd.DataFrame(
        {"home_port": ["Quay", "", None, "Pool", "Quay", "Slip", " "], BOATS: [1, 5, 1, 1, 1, 2, 4]}
    )
    assert [list(rows) for rows in rows_together(vessels)] == [[0, 4], [5]]


@given(
    chance=st.lists(st.floats(0.0, 0.4999), min_size=2, max_size=2),
    rises=st.lists(st.floats(1.0, 1e4), min_size=4, max_size=4),
    often=st.floats(0.0, 0.5),
)
def test_no_chance_leaves_its_bounds_however_hard_a_spell_strikes(chance, rises, often):
    both = np.array(chance)[None, :, None].repeat(DRAWS, axis=2)
    both = np.concatenate([2.0 * both[:, :1] * (1 - both[:, 1:]), both[:, 1:] * 0.999, both[:, :1]], axis=1)
    book = book_of_sure_losses(np.repeat(both, 2, axis=0), LOSS[:2], ("Quay", "Quay"))
    struck = np.ones((2, 2, 3, DRAWS))
    struck[0, :, 0], struck[0, :, 2], struck[1, :, 1], struck[1, :, 0] = rises
    places = Spells(("a", "b"), np.full((2, DRAWS), often), rows_together(book.vessels), struck).places(book)
    found = places.times * book.chance[:, list(places.states)]
    assert (found >= 0).all()
    assert (found <= 1 + 1e-12).all()
    own = [places.states.index(state) for state in (0, 1) if state in places.states]
    assert (found[:, :, own].sum(axis=2) <= 1 + 1e-12).all()
    np.testing.assert_allclose(np.einsum("yd,ymkd->mkd", places.years, places.times), 1.0, rtol=1e-9)


def test_a_place_is_one_however_it_is_written():
    written = ["Harl Basin", "harl basin", " HARL  Basin", "Pool", "Harl-Basin", "", "pool", None, "-"]
    assert [list(rows) for rows in rows_together(pd.DataFrame({"home_port": written}))] == [
        [0, 1, 2, 4],
        [3, 6],
    ]
    shown = places_named(pd.Series(written))
    assert shown.tolist() == ["Harl Basin"] * 3 + ["Pool", "Harl Basin", "", "Pool", "", ""]
