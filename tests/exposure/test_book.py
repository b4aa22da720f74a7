"""From an assessed fleet to a book and its year: by hand, against rank, and against a plain simulation."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.exposure.book import TOTAL_LOSSES, book_of
from riskmodel.exposure.cover import Cover, Policy, cover_of
from riskmodel.exposure.exposed import RETURN_PERIODS, exposure_of, side_of
from riskmodel.exposure.severities import SIZES
from riskmodel.exposure.tails import contributions, worst_years
from riskmodel.exposure.years import lattice_for, years_of

UNTIL = date(2027, 6, 1)
TERMS = Policy(deductible=400.0, deductible_share=0.005)


@pytest.fixture(scope="module")
def two(assessed, two_boats):
    return assessed(**two_boats, until=UNTIL)


@pytest.fixture(scope="module")
def exposed(two):
    return exposure_of(two, TERMS)


def whole(book):
    return Cover.of_all(book.severity.value, len(book.states))


def test_one_boat_with_one_loss_by_hand(plain):
    book = plain([[[0.2, 0.4]]], [[1000.0]])
    side = side_of(book, whole(book))
    assert side.total.mean == pytest.approx(300.0, rel=1e-9)
    assert side.total.process_sd == pytest.approx(np.sqrt((0.16 + 0.24) / 2) * 1000, rel=1e-3)
    assert side.total.parameter_sd == pytest.approx(100.0, rel=1e-9)
    assert side.total.sd**2 == pytest.approx(side.total.process_sd**2 + side.total.parameter_sd**2)
    assert side.total.exceedance(500.0) == pytest.approx(0.3, rel=1e-9)
    assert side.largest.exceedance(500.0) == pytest.approx(0.3, rel=1e-9)


def test_end_states_that_exclude_each_other_are_one_factor(plain):
    apart = plain([[[0.3], [0.4]]], [[1000.0, 3000.0]])
    together = replace(apart, groups=((0, 1),))
    both = side_of(apart, whole(apart)).total
    either = side_of(together, whole(together)).total
    assert both.exceedance(3500.0) == pytest.approx(0.12, rel=1e-6)
    assert either.exceedance(3500.0) == pytest.approx(0.0, abs=1e-12)
    assert either.exceedance(500.0) == pytest.approx(0.7, rel=1e-6)
    assert both.mean == pytest.approx(either.mean)


def test_chances_above_one_half_are_no_trouble(plain):
    book = plain([[[0.97]], [[0.9]], [[0.6]]], [[1000.0], [1000.0], [1000.0]])
    total = side_of(book, whole(book)).total
    assert total.exceedance(2500.0) == pytest.approx(0.97 * 0.9 * 0.6, rel=1e-6)
    assert total.exceedance(500.0) == pytest.approx(1 - 0.03 * 0.1 * 0.4, rel=1e-9)


def test_one_boat_with_a_rare_large_loss_does_not_wrap_around(plain):
    book = plain([[[1e-4]], *[[[0.1]]] * 20], [[1_000_000.0], *[[1000.0]] * 20])
    total = side_of(book, whole(book)).total
    assert total.exceedance(900_000.0) == pytest.approx(1e-4, rel=1e-6)
    assert total.exceedance(25_000.0) == pytest.approx(1e-4, rel=1e-6)


def test_a_draw_far_worse_than_the_others_does_not_wrap_around(plain):
    chance = np.full((300, 1, 20), 0.001)
    chance[:, 0, 0] = 0.9
    book = plain(chance, np.full((300, 1), 1000.0))
    total = side_of(book, whole(book)).total
    assert total.exceedance(230_000.0) == pytest.approx(1 / 20, rel=1e-3)
    assert total.mean == pytest.approx((0.9 + 19 * 0.001) / 20 * 300_000, rel=1e-9)


def test_a_large_book_is_near_normal_and_starts_above_nothing(plain):
    book = plain(np.full((3000, 1, 2), 0.5), np.full((3000, 1), 1000.0))
    side = side_of(book, whole(book))
    assert side.total.start > 1_000_000
    assert side.total.pmf.sum() == pytest.approx(1.0, abs=1e-9)
    assert side.total.mean == pytest.approx(1_500_000)
    assert side.total.process_sd == pytest.approx(np.sqrt(3000 * 0.25) * 1000, rel=1e-2)
    assert len(side.years.frequencies) < side.years.lattice.points // 2


def test_twice_the_boats_have_twice_the_mean_and_twice_the_variance(plain):
    random = np.random.default_rng(3)
    chance, loss = random.uniform(0, 0.2, (5, 2, 4)), random.uniform(500, 9000, (5, 2))
    one, two = plain(chance, loss), plain(np.tile(chance, (2, 1, 1)), np.tile(loss, (2, 1)))
    small, large = side_of(one, whole(one)).total, side_of(two, whole(two)).total
    assert large.mean == pytest.approx(2 * small.mean, rel=1e-12)
    assert large.process_sd**2 == pytest.approx(2 * small.process_sd**2, rel=1e-3)
    assert large.parameter_sd == pytest.approx(2 * small.parameter_sd, rel=1e-12)


def test_the_mean_is_the_sum_over_boats_of_the_mean_over_draws(exposed):
    for side in (exposed.before, exposed.after):
        assert side.total.mean == pytest.approx(side.mean.sum(), rel=1e-12)
        assert side.total.pmf @ side.total.losses == pytest.approx(side.total.mean, rel=1e-9)
        by_draw = side.years.pmf @ side.years.lattice.losses
        wanted = exposed.book.mean_losses(side.part.cover).sum(axis=(0, 1))
        np.testing.assert_allclose(by_draw, wanted, rtol=1e-9)


def test_before_terms_the_book_is_rank_but_for_boats_lost_twice(two, exposed):
    book = exposed.book
    competing = np.stack([two.boats[name] for name in book.states], axis=1)
    uncut = replace(book, chance=competing).mean_losses(exposed.before.part.cover)
    assert uncut.mean(axis=2).sum() == pytest.approx(exposed.ranked, rel=1e-9)
    boats = two.frame.groupby("vessel_id")["expected_loss"].sum().reindex(two.background.index)
    np.testing.assert_allclose(uncut.mean(axis=2).sum(axis=1), boats + two.background["loss"], rtol=1e-9)
    gap = exposed.ranked - exposed.before.total.mean
    assert 0 <= gap < 1e-2 * exposed.ranked


def test_total_losses_compete_and_never_exceed_the_chance_of_any(two, exposed):
    book = exposed.book
    total = [place for place, name in enumerate(book.states) if name in TOTAL_LOSSES]
    assert book.groups[0] == tuple(total)
    alone = np.stack([two.boats[book.states[place]] for place in total], axis=1)
    any_of_them = 1 - np.prod(1 - alone, axis=1)
    np.testing.assert_allclose(book.chance[:, total].sum(axis=1), any_of_them, rtol=1e-9)
    assert (book.chance[:, total] <= alone + 1e-15).all()


def test_single_losses_have_the_draws_own_means(exposed):
    cover = exposed.before.part.cover
    book = exposed.book
    mean = book.mean_losses(cover) / np.where(book.chance > 0, book.chance, 1.0)
    assert (mean[book.chance > 0] > 0).all()
    for boat in range(book.rows):
        sized = book.sized(cover, boat)
        np.testing.assert_allclose(sized.sum(axis=2), book.chance[boat].T, rtol=1e-12)
        sizes = book.severity.payouts(cover).mean[boat]
        np.testing.assert_allclose((sized * sizes).sum(axis=2), (mean * book.chance)[boat].T, rtol=1e-12)


def test_at_the_mean_losses_spread_as_the_ranking_says(two, exposed):
    """A size of bill whose mean is the ranking's has its share of total losses too."""
    book = exposed.book
    state = book.states.index("sinking_unattended")
    rows = two.losses[two.losses["end_state"] == "sinking_unattended"]
    payouts = book.severity.payouts(exposed.before.part.cover)
    for boat, row in enumerate(rows.itertuples()):
        value = book.severity.value[boat]
        means = payouts.mean[boat, state]
        cleared = payouts.inside[boat, state]
        shares = [
            payouts.exceedance(value + cleared[size] - 1e-6)[boat, state, size] for size in range(SIZES)
        ]
        assert np.interp(row.mean, means, shares) == pytest.approx(row.total_loss_share, abs=0.03)


def test_quantiles_agree_with_a_plain_simulation(exposed):
    book, side, times = exposed.book, exposed.after, 400
    random = np.random.default_rng(7)
    cover = side.part.cover
    payouts = book.severity.payouts(cover)
    total = np.zeros((book.chance.shape[2], times))
    largest = np.zeros_like(total)
    for boat in range(book.rows):
        sized = book.sized(cover, boat)
        for group in book.groups:
            chance = sized[:, list(group)].reshape(len(sized), -1)
            upto = np.cumsum(chance, axis=1)
            which = (random.random(total.shape)[:, :, None] > upto[:, None, :]).sum(axis=2)
            flat = {name: getattr(payouts, name)[boat, list(group)].ravel() for name in vars(payouts)}
            happens = which < chance.shape[1]
            some = {name: each[np.minimum(which, chance.shape[1] - 1)] for name, each in flat.items()}
            bill = some["median"] * np.exp(some["log_sd"] * random.normal(size=total.shape))
            under = np.minimum(bill, some["cap"]) + some["inside"] - some["deductible"]
            paid = np.where(happens, np.minimum(np.maximum(under, 0), some["limit"]) + some["outside"], 0.0)
            total += paid
            largest = np.maximum(largest, paid)
    number = total.size
    assert total.mean() == pytest.approx(side.total.mean, abs=3 * total.std() / np.sqrt(number))
    for years in (2, 5, 10, 20, 50, 100, 200):
        chance = 1 / years
        room = 3 * np.sqrt(chance * (1 - chance) / number)
        for drawn, found in ((total, side.total), (largest, side.largest)):
            quantile = float(found.quantile(1 - chance))
            # The largest loss is worked out at amounts 0.9 % apart.
            step = found.step if found is side.total else 0.01 * quantile
            assert (drawn > quantile + step).mean() <= chance + room
            assert (drawn >= quantile - 1.5 * step).mean() >= chance - room


def test_a_finer_lattice_says_the_same(exposed):
    side = exposed.after
    fine = years_of([side.part], lattice_for([side.part], 2**15))
    upto = np.cumsum(fine.pmf.mean(axis=0))
    for years in RETURN_PERIODS:
        place = np.searchsorted(upto, 1 - 1 / years)
        assert side.total.quantile(1 - 1 / years) == pytest.approx(
            fine.lattice.losses[place], abs=1.5 * side.total.step, rel=1e-3
        )


def test_contributions_add_up_to_the_mean_and_to_the_worst_years(exposed):
    side = exposed.after
    ones = contributions(side.part, side.years, np.ones(side.years.lattice.points))
    np.testing.assert_allclose(ones, side.mean, rtol=1e-9, atol=1e-9)
    assert side.tail.sum() == pytest.approx(side.total.tail_mean(0.99), rel=1e-9)
    assert (side.tail >= -1e-6).all()


def test_contributions_by_hand(plain):
    """Two boats, both lose in the worst 5 of 100 years: 0.06 of years in all hold both losses."""
    book = plain([[[0.2]], [[0.3]]], [[1000.0], [2000.0]])
    side = side_of(book, whole(book))
    weight = worst_years(side.total, 0.95)
    parts = contributions(side.part, side.years, weight)[:, 0]
    np.testing.assert_allclose(parts, [1000.0, 2000.0], rtol=2e-3)


def test_tail_means_are_never_below_quantiles_nor_bands_upside_down(exposed):
    for side in (exposed.before, exposed.after):
        table = side.table
        assert list(table["return_period"]) == list(RETURN_PERIODS)
        assert (table["tail_mean"] >= table["total"] - 1e-6).all()
        for which in ("", "_low", "_high"):
            assert (table[f"total{which}"] >= table[f"largest{which}"]).all()
        for name in ("total", "tail_mean", "largest"):
            assert (table[f"{name}_low"] <= table[f"{name}_high"]).all()
            assert (np.diff(table[name]) >= 0).all()


def test_errors_are_said_and_small(exposed):
    errors = exposed.after.total.errors
    assert 0 < errors.discretisation < 0.01 * exposed.after.total.sd
    assert 0 < errors.wrap < 1e-11


def test_terms_only_ever_take_away(two, exposed):
    assert (exposed.after.mean <= exposed.before.mean + 1e-9).all()
    same = exposure_of(two)
    assert same.after is same.before


def test_a_boats_own_deductible_and_limit_come_first(assessed, two_boats):
    boats = [
        boat | extra
        for boat, extra in zip(two_boats["boats"], ({"deductible": 0, "limit": 900}, {}), strict=True)
    ]
    result = assessed(**two_boats | {"boats": boats}, until=UNTIL)
    found = exposure_of(result, Policy(deductible=1000.0))
    np.testing.assert_allclose(found.after.part.cover.deductible, [0.0, 1000.0])
    assert found.after.part.payouts(0).most.max() == pytest.approx(900)
    assert found.after.part.payouts(1).most.max() > 900


def test_salvage_outside_pays_at_least_as_much(two):
    inside, outside = (
        exposure_of(two, Policy(deductible=2000.0, salvage_inside=share)).after.total.mean
        for share in (1.0, 0.0)
    )
    assert outside > inside


def test_what_is_not_covered_costs_nothing_after_terms(two):
    found = exposure_of(two, Policy(without=frozenset({"machinery_damage"})))
    place = found.book.states.index("machinery_damage")
    assert (found.after.mean[:, place] == 0).all()
    assert (found.before.mean[:, place] > 0).all()
    assert (found.after.tail[:, place] == 0).all()


def test_a_deductible_above_everything_leaves_nothing(two):
    found = exposure_of(two, Policy(deductible=1e9))
    assert found.after.total.mean == 0
    assert found.after.total.quantile(0.99) == 0
    assert found.after.tail.sum() == 0


def test_a_market_value_pays_less_for_the_boat(two):
    agreed, market = (exposure_of(two, Policy(value_share=share)).after.total.mean for share in (1.0, 0.6))
    assert market < agreed


@pytest.mark.parametrize(
    ("policy", "rule"),
    [
        (Policy(deductible=-1.0), "deductible must be 0 or more, got -1"),
        (Policy(deductible_share=1.2), "deductible_share must lie in 0 to 1, got 1.2"),
        (Policy(salvage_inside=-0.1), "salvage_inside must lie in 0 to 1"),
        (Policy(value_share=2.0), "value_share must lie in 0 to 1"),
        (Policy(without=frozenset({"piracy"})), "what is not covered must be among .*, got 'piracy'"),
    ],
)
def test_terms_that_cannot_be_are_refused(exposed, policy, rule):
    with pytest.raises(ParameterError, match=rule):
        cover_of(exposed.result, exposed.book.states, policy)


def test_a_schedule_without_items_is_the_normal_case(assessed):
    boats = [
        {"vessel_id": "B1"},
        {"vessel_id": "B2", "propulsion": "outboard", "value": 15000, "length_m": 6},
    ]
    found = exposure_of(assessed(boats=boats, until=UNTIL))
    assert (found.before.mean.sum(axis=1) > 100).all()
    assert found.before.total.parameter_sd > 0


def test_a_boat_with_neither_parts_nor_an_outfit_is_refused(two):
    items = two.fleet.items
    bare = replace(two.fleet, items=items[items["vessel_id"] != "B2"])
    result = replace(two, learned=replace(two.learned, fleet=bare))
    with pytest.raises(
        TableError, match=r"vessels row 3: vessel_id must list parts, or be of a kind .*, got 'B2'"
    ):
        book_of(result)


def test_the_same_input_gives_the_same_book(two, exposed):
    again = exposure_of(two, TERMS)
    np.testing.assert_array_equal(again.after.total.pmf, exposed.after.total.pmf)
    pd.testing.assert_frame_equal(again.after.table, exposed.after.table)


def test_a_notebook_shows_what_it_is_about(exposed):
    html = exposed._repr_html_()
    assert "not weather, collision, theft or liability" in html
    assert "<table" in html
