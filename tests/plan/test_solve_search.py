"""The search through departures: it finds the least loss, and what it lets go of it says."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.plan.solving import exact
from riskmodel.plan.solving.bundles import bundles_of
from riskmodel.plan.solving.exact import Bundle, Layer, Search, nearest_first, search_bundles
from riskmodel.plan.solving.moves import AFLOAT, HAULED, Moves, Vessels

PRICE = 0.5


def layer(first, *moves):
    """A layer of (loss, further cents) numbered from ``first``."""
    loss, extra = (np.array(column) for column in zip(*moves, strict=True))
    return Layer(np.arange(first, first + len(moves)), loss.astype(float), extra)


def made_bundles(seed, count=4):
    """Bundles of an item or two, every other one with a change of mode."""
    random = np.random.default_rng(seed)
    numbers = itertools.count(0, 10)

    def some():
        extra = random.choice([-9, -5, -2, 1, 3, 8, 13], 2)
        return layer(next(numbers), *zip(random.integers(0, 6, 2), extra, strict=True))

    return [
        Bundle([some()], layer(next(numbers), (random.integers(0, 4), 7)), [some(), some()])
        if number % 2
        else Bundle([some()], None, [])
        for number in range(count)
    ]


def ways(bundle):
    """Every (loss, further cents, moves) of a bundle."""
    starts = [((0.0, 0, ()), bundle.layers)]
    if bundle.change is not None:
        change = bundle.change
        starts.append(((float(change.loss[0]), int(change.extra[0]), (int(change.move[0]),)), bundle.changed))
    for start, layers in starts:
        choices = [
            [(0.0, 0, ()), *((float(a), int(b), (int(m),)) for m, a, b in zip(*each, strict=True))]
            for each in layers
        ]
        for pick in itertools.product([start], *choices):
            yield (sum(p[0] for p in pick), sum(p[1] for p in pick), sum((p[2] for p in pick), ()))


def least_total(bundles, left):
    """The least of loss + price × cents left over every plan that fits, and its moves."""
    best = (np.inf, ())
    for pick in itertools.product(*(list(ways(bundle)) for bundle in bundles)):
        rest = left - sum(p[1] for p in pick)
        if rest >= 0:
            best = min(best, (sum(p[0] for p in pick) + PRICE * rest, sum((p[2] for p in pick), ())))
    return best


@settings(deadline=None)
@given(seed=st.integers(0, 2000), left=st.integers(-20, 30))
def test_the_search_finds_the_least_total_of_all_plans(seed, left):
    bundles = made_bundles(seed)
    search = Search(PRICE, 1e6, 0.0, 10**6)
    search_bundles(search, bundles, left)
    total, _ = least_total(bundles, left)
    assert search.found == np.isfinite(total)
    if search.found:
        assert search.total == pytest.approx(total)
    assert search.floor == np.inf


@settings(deadline=None)
@given(seed=st.integers(0, 2000), left=st.integers(-20, 30))
def test_the_path_of_the_best_plan_adds_up_to_its_total(seed, left):
    bundles = made_bundles(seed)
    search = Search(PRICE, 1e6, 0.0, 10**6)
    search_bundles(search, bundles, left)
    if not search.found:
        return
    layers = [
        each for b in bundles for each in [*b.layers, *b.changed, *([] if b.change is None else [b.change])]
    ]
    known = {int(m): (float(a), int(b)) for each in layers for m, a, b in zip(*each, strict=True)}
    path = search.path()
    assert len(path) == len(set(path))
    rest = left - sum(known[move][1] for move in path)
    assert rest >= 0
    assert sum(known[move][0] for move in path) + PRICE * rest == pytest.approx(search.total)


@settings(deadline=None)
@given(seed=st.integers(0, 2000), left=st.integers(-20, 30), most=st.integers(1, 6))
def test_no_plan_let_go_loses_less_than_the_floor(seed, left, most):
    bundles = made_bundles(seed)
    search = Search(PRICE, 1e6, 0.0, most)
    search_bundles(search, bundles, left)
    total, _ = least_total(bundles, left)
    if np.isfinite(total):
        assert min(search.floor, search.total) <= total + 1e-9
        assert search.total >= total - 1e-9


@settings(deadline=None)
@given(seed=st.integers(0, 2000), left=st.integers(0, 30), most=st.integers(0, 3))
def test_bundles_beyond_the_limit_count_in_the_floor(seed, left, most):
    bundles = made_bundles(seed)
    search = Search(PRICE, 1e6, 0.0, 10**6)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(exact, "MOST_BUNDLES", most)
        search_bundles(search, bundles, left)
    assert min(search.floor, search.total) <= least_total(bundles, left)[0] + 1e-9


def test_what_is_known_to_be_as_good_is_not_found_again():
    bundles = made_bundles(5)
    total, _ = least_total(bundles, 10)
    search = Search(PRICE, total, 1e-9, 10**6)
    search_bundles(search, bundles, 10)
    assert not search.found
    assert search.total == total


def test_an_answer_that_fits_needs_no_moves():
    search = Search(PRICE, 100.0, 0.0, 10)
    search_bundles(search, [], 4)
    assert (search.found, search.total, search.path()) == (True, 2.0, [])


def test_an_answer_too_dear_without_moves_is_no_plan():
    search = Search(PRICE, 100.0, 0.0, 10)
    search_bundles(search, [], -4)
    assert not search.found


def test_the_bundle_that_loses_least_a_cent_comes_first():
    far, near = Bundle([layer(0, (5, 10))], None, []), Bundle([layer(1, (9, -90), (50, 1))], None, [])
    assert nearest_first([far, near]) == [near, far]


def moves(*rows):
    """Moves of (vessel, mode, item, loss, further cents)."""
    vessel, mode, item, loss, extra = (np.array(column) for column in zip(*rows, strict=True))
    return Moves(vessel, mode, item, np.arange(len(rows)), loss.astype(float), extra)


TWO_VESSELS = Vessels(np.array([[0.0, 0.0], [3.0, 3.0]]), np.array([50, 50]), np.array([AFLOAT, AFLOAT]))


def test_items_of_a_vessel_that_keeps_its_mode_are_bundles_of_their_own():
    found = bundles_of(
        moves((0, AFLOAT, 0, 1, 5), (1, AFLOAT, 1, 1, 5), (0, AFLOAT, 0, 2, 8), (0, HAULED, 0, 2, 8)),
        TWO_VESSELS,
    )
    assert [bundle.change for bundle in found] == [None, None]
    assert [bundle.layers[0].move.tolist() for bundle in found] == [[0, 2], [1]]


def test_a_vessel_that_may_change_its_mode_is_one_bundle():
    found = bundles_of(
        moves((0, AFLOAT, 0, 1, 5), (0, HAULED, 0, 1, 5), (0, HAULED, 2, 1, 9), (0, HAULED, -1, 3, 50)),
        TWO_VESSELS,
    )
    assert len(found) == 1
    assert found[0].change.move.tolist() == [3]
    assert [each.move.tolist() for each in found[0].layers] == [[0]]
    assert [each.move.tolist() for each in found[0].changed] == [[2], [1]]


def test_a_vessel_whose_items_have_no_moves_may_still_change_its_mode():
    found = bundles_of(moves((1, HAULED, -1, 3, 50)), TWO_VESSELS)
    assert (found[0].layers, found[0].changed) == ([], [])
