"""Claims move a book: simulated records are recovered, few claims move little, and nothing moves without them."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.claims import groups_of, recalibration, recalibration_of
from riskmodel.exposure.cover import Cover, Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.hazards import hazards, with_hazards
from riskmodel.exposure.severities import with_means_times
from riskmodel.exposure.watched import Watched, watched

UNTIL = date(2027, 6, 1)
FIRST = date(2020, 6, 1)


def everything(book):
    return Cover.of_all(book.severity.value, len(book.states))


@pytest.fixture(scope="module")
def two(assessed, two_boats):
    return assessed(**two_boats, until=UNTIL)


@pytest.fixture(scope="module")
def claimed(two):
    """The same fleet with claims (vessel_id, cause, gross[, paid]) of one day, and settings."""

    def make(*rows, day="2024-05-02", **settings):
        columns = ["vessel_id", "cause", "gross", "paid"]
        frame = pd.DataFrame([(*row, np.nan)[:4] for row in rows], columns=columns)
        frame["loss_on"] = pd.Timestamp(day)
        frame = frame.astype({"gross": float, "paid": float})
        fleet = replace(two.fleet, claims=frame, settings=replace(two.fleet.settings, **settings))
        return replace(two, learned=replace(two.learned, fleet=fleet))

    return make


def seen_in(years, claims, borne=0.0):
    """A watch of boats for ``years`` (n,) with claims of (boat, cause, gross)."""
    frame = pd.DataFrame(claims, columns=["boat", "cause", "gross"]).assign(counts=True, paid=np.nan)
    return Watched(FIRST, True, years, np.full(len(years), borne), frame, 0)


@pytest.fixture(scope="module")
def drawn(plain):
    """A book of boats of one end state whose draws of the hazard spread by a third, losses log-normal about 2000."""

    def make(boats, hazard, log_sd=0.8):
        spread = np.random.default_rng(5).gamma(9.0, 1 / 9.0, 60)
        chance = -np.expm1(-hazard * np.tile(spread, (boats, 1)))[:, None, :]
        return plain(chance, np.full((boats, 1), 2000.0), log_sd=log_sd)

    return make


def simulated(book, years, times, seed=3, size=1.0):
    """Claims of a year's book watched for years, its hazards times a factor and its losses times a size."""
    random = np.random.default_rng(seed)
    mean = hazards(book)[:, 0].mean(axis=1) * years * times
    boats = np.repeat(np.arange(book.boats), random.poisson(mean))
    gross = size * 2000.0 * np.exp(book.severity.log_sd[0] * random.normal(size=len(boats)))
    return [(boat, "state0", float(each)) for boat, each in zip(boats, gross, strict=True)]


def test_many_claims_of_doubled_hazards_give_a_factor_of_two(drawn):
    book, years = drawn(400, 0.05), np.full(400, 10.0)
    claims = simulated(book, years, 2.0)
    assert len(claims) > 300
    found = recalibration_of(book, 1.0, seen_in(years, claims), everything(book))
    assert found.told["state0"].frequency.mean == pytest.approx(2.0, rel=0.1)
    moved = hazards(found.applied(book)).sum() / hazards(book).sum()
    assert moved == pytest.approx(found.told["state0"].frequency.mean, rel=1e-9)


def test_two_claims_where_one_is_expected_hardly_move(drawn):
    book = drawn(10, 0.02)
    found = recalibration_of(
        book, 1.0, seen_in(np.full(10, 5.0), [(1, "state0", 2000.0)] * 2), everything(book)
    )
    told = found.told["state0"]
    assert told.expected == pytest.approx(1.0, rel=0.1)
    assert 1.0 < told.frequency.mean < 1.2


def test_the_factor_is_that_of_the_closed_form(drawn):
    book, years = drawn(10, 0.02), np.full(10, 5.0)
    told = recalibration_of(book, 1.0, seen_in(years, [(1, "state0", 2000.0)] * 2), everything(book)).told[
        "state0"
    ]
    number = 5.0 * hazards(book)[:, 0].sum(axis=0)
    shape = number.mean() ** 2 / number.var()
    assert told.frequency.mean == pytest.approx((shape + 2) / (shape + number.mean()), rel=1e-6)


def test_no_claims_over_a_long_watch_lower_the_hazard(drawn):
    book = drawn(100, 0.05)
    found = recalibration_of(book, 1.0, seen_in(np.full(100, 10.0), []), everything(book))
    assert found.told["state0"].seen == 0
    assert found.told["state0"].severity is None
    assert found.told["state0"].frequency.mean < 0.3
    assert found.applied(book).severity.median == pytest.approx(book.severity.median)


def test_losses_under_the_deductible_are_not_expected_to_be_seen(drawn):
    """Half the losses are below their median: half as many claims are expected, and as many are no surprise."""
    book, years = drawn(400, 0.05), np.full(400, 10.0)
    claims = [claim for claim in simulated(book, years, 1.0) if claim[2] > 2000.0]
    told = recalibration_of(book, 1.0, seen_in(years, claims, 2000.0), everything(book)).told["state0"]
    whole = recalibration_of(book, 1.0, seen_in(years, claims), everything(book)).told["state0"]
    assert told.expected == pytest.approx(0.5 * whole.expected, rel=0.05)
    assert told.frequency.mean == pytest.approx(1.0, abs=0.12)
    assert whole.frequency.mean < 0.6


def dearer_draws(book, factor):
    """Doubt about the mean loss of all boats together: each draw lies anywhere up or down to the factor."""
    sizes = np.geomspace(1 / factor, factor, 5)
    draws = np.random.default_rng(8)
    below = np.broadcast_to(draws.integers(0, 4, book.chance.shape[2]), book.chance.shape).astype(np.int8)
    share = np.broadcast_to(draws.random(book.chance.shape[2]), book.chance.shape)
    severity = replace(book.severity, median=book.severity.median * sizes, below=below, share=share)
    return replace(book, severity=severity)


def test_many_dear_claims_move_the_mean_loss_and_two_hardly(drawn):
    book, years = dearer_draws(drawn(400, 0.05), 4.0), np.full(400, 10.0)
    modelled = (book.mean_losses(Cover.of_all(book.severity.value, 1)) / book.chance).mean()
    claims = simulated(book, years, 1.0, size=1.5)
    record = np.mean([gross for _, _, gross in claims]) / modelled
    many = recalibration_of(book, 1.0, seen_in(years, claims), everything(book))
    assert many.severity["state0"] == pytest.approx(record, rel=0.05)
    few = recalibration_of(book, 1.0, seen_in(years, claims[:2]), everything(book))
    assert few.told["state0"].severity.credibility < 0.5 < many.told["state0"].severity.credibility
    alone = replace(many, frequency={}).applied(book)
    means = [each.mean_losses(Cover.of_all(each.severity.value, 1)).sum() for each in (book, alone)]
    assert means[1] / means[0] == pytest.approx(many.severity["state0"], rel=1e-6)


def test_no_loss_comes_above_value_and_clean_up(two):
    exposure = exposure_of(two)
    severity, everything = exposure.book.severity, exposure.before.part.cover
    for factor in (0.2, 3.0, 1e6):
        moved = with_means_times(severity, np.full(len(exposure.book.states), factor))
        most = moved.payouts(everything).most
        assert (most <= severity.value[:, None, None] + severity.cleared + 1e-6).all()
        means = moved.payouts(everything).mean / severity.payouts(everything).mean
        assert (means <= factor * (1 + 1e-9)).all()
    np.testing.assert_allclose(
        with_means_times(severity, np.full(len(exposure.book.states), 0.2)).payouts(everything).mean,
        0.2 * severity.payouts(everything).mean,
        rtol=1e-9,
    )


def test_hazards_lead_back_to_the_chances(two):
    book = exposure_of(two).book
    back = with_hazards(book, hazards(book))
    np.testing.assert_allclose(back.chance, book.chance, rtol=1e-9, atol=1e-15)
    oftener = with_hazards(book, 50.0 * hazards(book))
    for group in book.groups:
        assert (oftener.chance[:, list(group)].sum(axis=1) <= 1.0).all()


def test_both_kinds_of_sinking_are_one_group_and_what_is_not_covered_is_none():
    states = ("sinking_unattended", "sinking_under_way", "machinery_damage")
    whole = Cover.of_all(np.ones(2), len(states))
    assert groups_of(states, whole) == {
        "sinking": ("sinking_unattended", "sinking_under_way"),
        "machinery_damage": ("machinery_damage",),
    }
    without = replace(whole, covered=whole.covered * np.array([1.0, 0.0, 1.0]))
    assert list(groups_of(states, without)) == ["machinery_damage"]


def test_without_claims_nothing_is_watched_and_nothing_moves(two):
    exposure = exposure_of(two, Policy(deductible=400.0))
    assert watched(two.fleet, Policy()) is None
    assert recalibration(two, exposure.book, Policy()) is None
    assert (exposure.recalibration, exposure.modelled) == (None, None)
    assert exposure.recalibrated(exposure.book) is exposure.book


def test_the_first_claim_opens_the_watch_and_does_not_count(claimed):
    result = claimed(("B1", "sinking", 9000.0), ("B2", "rot", 800.0))
    seen = watched(result.fleet, Policy())
    assert (seen.first, seen.stated) == (date(2024, 5, 2), False)
    assert seen.claims["counts"].tolist() == [False, True]
    assert seen.boat_years == pytest.approx(2 * 760 / 365.25)


def test_a_stated_day_opens_the_watch_and_every_claim_counts(claimed):
    seen = watched(claimed(("B1", "sinking", 9000.0), claims_from=FIRST).fleet, Policy())
    assert seen.claims["counts"].tolist() == [True]
    assert seen.boat_years == pytest.approx(2 * 6, rel=1e-3)


def test_a_boat_is_not_watched_before_she_was_built(claimed):
    fleet = claimed(claims_from=date(1990, 1, 1)).fleet
    fleet = replace(fleet, vessels=fleet.vessels.assign(built_year=[2026.0, 1980.0]))
    np.testing.assert_allclose(watched(fleet, Policy()).years, [151 / 365.25, 13300 / 365.25])


def test_what_was_borne_is_the_boats_own_then_the_settings_then_what_is_asked(claimed):
    fleet = claimed(claims_from=FIRST).fleet
    assert watched(fleet, Policy(deductible=300.0)).borne.tolist() == [300.0, 300.0]
    stated = replace(fleet, settings=replace(fleet.settings, claims_deductible=500.0))
    own = replace(stated, vessels=stated.vessels.assign(deductible=[np.nan, 700.0]))
    assert watched(own, Policy(deductible=300.0)).borne.tolist() == [500.0, 700.0]


def test_claims_up_to_what_was_borne_are_counted_apart(claimed):
    seen = watched(claimed(("B1", "rot", 300.0), ("B1", "rot", 301.0)).fleet, Policy(deductible=300.0))
    assert (seen.below, len(seen.claims)) == (1, 1)


def test_claims_of_a_boat_no_longer_in_the_book_are_counted_apart(claimed):
    fleet = claimed(
        ("B1", "rot", 900.0), ("B2", "rot", 900.0), ("B2", "sinking", 900.0), claims_from=FIRST
    ).fleet
    seen = watched(replace(fleet, vessels=fleet.vessels[:1]), Policy())
    assert (seen.gone, seen.claims["boat"].tolist(), len(seen.years)) == (2, [0], 1)


def test_a_year_with_claims_is_the_models_moved(claimed):
    result = claimed(*[("B1", "machinery_damage", 9000.0, 8600.0)] * 12, claims_from=FIRST)
    exposure = exposure_of(result, Policy(deductible=400.0))
    plain = exposure_of(claimed(), Policy(deductible=400.0))
    found = exposure.recalibration
    assert exposure.modelled == pytest.approx((plain.before.total.mean, plain.after.total.mean))
    place = plain.book.states.index("machinery_damage")
    told = found.told["machinery_damage"]
    assert told.frequency.mean > 1
    assert told.severity.mean > 1
    assert exposure.before.mean[:, place].sum() > plain.before.mean[:, place].sum()
    assert exposure.before.total.mean == pytest.approx(exposure.before.mean.sum(), rel=1e-9)
    assert found.paid_share == pytest.approx(8600 / 9000)
    assert 0.5 < found.terms_share < 1
    assert exposure.ranked == plain.ranked


def test_a_claim_of_what_the_policy_does_not_cover_is_counted_as_unused(claimed):
    result = claimed(("B1", "machinery_damage", 900.0), claims_from=FIRST)
    exposure = exposure_of(result, Policy(without=frozenset({"machinery_damage"})))
    assert exposure.recalibration.unused == 1
    assert "machinery_damage" not in exposure.recalibration.told


def test_a_short_time_ahead_is_moved_by_the_factors_of_a_year(claimed, two, assessed, two_boats):
    claims = claimed(*[("B1", "machinery_damage", 9000.0)] * 12, claims_from=FIRST)
    year = exposure_of(claims).recalibration
    season = replace(assessed(**two_boats, until=date(2026, 9, 1)), learned=claims.learned)
    short = exposure_of(season).recalibration
    assert short.told["machinery_damage"].expected == pytest.approx(
        year.told["machinery_damage"].expected, rel=1e-6
    )
