"""A small book with every term, claims, places, doubt and conditions at once: its year against plain loops."""

from dataclasses import replace
from datetime import date
from math import erf, exp, log, sqrt

import numpy as np
import pytest

from riskmodel.exposure.accumulation import accumulations
from riskmodel.exposure.answer import Answer, on_defaults
from riskmodel.exposure.conditions import price_condition, read_condition
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import WORST, exposure_of, side_of
from riskmodel.exposure.hazards import hazards
from riskmodel.exposure.segments import segments
from riskmodel.exposure.spells import Scenario
from riskmodel.exposure.years_largest import largest_of
from riskmodel.report.exposure import exposure_page, exposure_rows
from riskmodel.words import price

pytestmark = pytest.mark.thorough

FIRST, AS_OF, UNTIL = date(2021, 6, 1), date(2026, 6, 1), date(2027, 6, 1)
POLICY = Policy(deductible_share=0.005, salvage_inside=0.5, value_share=0.6, without=frozenset({"nuisance"}))
DRAWS, YEARS = 4, 20_000


@pytest.fixture(scope="module")
def exposed(everything):
    return exposure_of(everything, POLICY)


@pytest.fixture(scope="module")
def worst(exposed):
    return float(exposed.after.total.tail_mean(1.0 - 1.0 / WORST))


def test_it_is_all_there(exposed):
    assert [rows.tolist() for rows in exposed.spells.together] == [[2, 3], [0, 1]]
    assert exposed.doubt.assumed.tolist() == [False, False, False, True, False]
    assert [bool(any(power[row] for power in exposed.doubt.power.values())) for row in (2, 3)] == [
        True,
        False,
    ]
    assert exposed.recalibration.watched.outside == 1
    assert (exposed.after.part.cover.on_risk < 1).any(axis=1).tolist() == [True, True, False, False, False]


def normal(z):
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def bill_upto(amount, median, sd):
    """E[min(bill, amount)] of a log-normal bill."""
    if amount <= 0:
        return 0.0
    away = log(amount / median) / sd
    return median * exp(sd * sd / 2) * normal(away - sd) + amount * normal(-away)


def mean_paid(boat, state, size, exposed):
    """Mean of one loss after terms, from what the boat's row and the policy say."""
    severity, vessel = exposed.book.severity, exposed.book.vessels.iloc[boat]
    if exposed.book.states[state] in POLICY.without:
        return 0.0
    median, sd = severity.median[boat, state, size], severity.log_sd[state]
    cleared = severity.cleared[boat, state, size]
    percent = 2.0 if boat == 3 else 0.5
    borne, limit = percent / 100 * vessel["value"], 9000.0 if boat == 4 else float("inf")
    cap = (0.6 if boat == 2 else 1.0) * vessel["value"]
    inside = cleared * POLICY.salvage_inside
    sure = min(max(inside - borne, 0.0), limit)
    low = max(borne - inside, 0.0)
    high = min(low + limit - sure, cap)
    layer = bill_upto(high, median, sd) - bill_upto(min(low, cap), median, sd) if high > low else 0.0
    return sure + layer + cleared - inside


def on_risk(chance, share):
    """Chances on risk of end states that exclude each other: hazards side by side, on fewer days never likelier."""
    any_of_them = sum(chance)
    if any_of_them == 0:
        return chance
    hazard = [-log(1.0 - any_of_them) * each / any_of_them for each in chance]
    left = [one * part for one, part in zip(hazard, share, strict=True)]
    reached = 1.0 - exp(-sum(left))
    found = [reached * one / sum(left) if sum(left) > 0 else 0.0 for one in left]
    return [min(one, whole) for one, whole in zip(found, chance, strict=True)]


def test_the_mean_after_terms_is_that_of_a_plain_loop(exposed):
    book, cover = exposed.book, exposed.after.part.cover
    total = 0.0
    for boat in range(book.rows):
        mine = 0.0
        for group in book.groups:
            for state in group:
                paid = [
                    mean_paid(boat, state, size, exposed) for size in range(book.severity.median.shape[2])
                ]
                for draw in range(book.chance.shape[2]):
                    chance = on_risk(
                        [book.chance[boat, k, draw] for k in group], [cover.on_risk[boat, k] for k in group]
                    )
                    below, share = (
                        int(book.severity.below[boat, state, draw]),
                        book.severity.share[boat, state, draw],
                    )
                    one = (1 - share) * paid[below] + (share * paid[below + 1] if share else 0.0)
                    mine += chance[group.index(state)] * one / book.chance.shape[2]
        assert exposed.after.mean[boat].sum() == pytest.approx(mine, rel=1e-9)
        total += mine
    assert exposed.after.total.mean == pytest.approx(total, rel=1e-9)
    assert (exposed.after.mean <= exposed.before.mean * (1 + 1e-9)).all()


def test_a_boat_that_comes_on_risk_half_way_is_on_risk_for_the_days_left(exposed):
    share = exposed.after.part.cover.on_risk[0, exposed.book.states.index("machinery_damage")]
    assert share == pytest.approx((UNTIL - date(2026, 12, 1)).days / (UNTIL - AS_OF).days)


def test_the_lattice_keeps_the_mean_and_the_law_is_whole(exposed):
    for side in (exposed.before, exposed.after):
        assert side.total.pmf.sum() == pytest.approx(1.0, abs=1e-9)
        assert side.total.pmf @ side.total.losses == pytest.approx(side.total.mean, rel=1e-7)
        assert side.mean.sum() == pytest.approx(side.total.mean, rel=1e-9)


def test_claims_leave_the_expected_number_with_the_mean_and_spread_of_the_posterior(exposed):
    book, found = exposed.book, exposed.recalibration
    told = found.told["machinery_damage"]
    place = book.states.index("machinery_damage")
    number = np.zeros(book.chance.shape[2])
    # B1's policy has not begun; B4 bears 2 % of 90,000, the others what settings.toml says.
    for boat, borne in ((1, 400), (2, 400), (3, 1800), (4, 400)):
        medians = book.severity.median[boat, place]
        above = [normal(log(median / borne) / book.severity.log_sd[place]) for median in medians]
        likely = book.severity.drawn(np.broadcast_to(above, (*book.chance.shape[:2], len(above))))[
            boat, place
        ]
        number += hazards(book)[boat, place] * likely * (AS_OF - FIRST).days / (UNTIL - AS_OF).days
    assert told.seen == 1
    assert number.mean() == pytest.approx(told.expected * told.frequency.mean, rel=1e-6)
    assert number.std() == pytest.approx(told.expected * told.frequency.sd, rel=1e-6)


def test_segments_of_every_kind_add_up(exposed, worst):
    for by in (
        "propulsion",
        "age",
        "end_state",
        "item_class",
        "home_port",
        "value_basis",
        "checked_every_days",
    ):
        frame = segments(exposed, by)
        assert frame["before"].sum() == pytest.approx(exposed.before.total.mean, rel=1e-9), by
        assert frame["after"].sum() == pytest.approx(exposed.after.total.mean, rel=1e-9), by
        assert frame["worst"].sum() == pytest.approx(worst, rel=1e-6), by


def test_contributions_add_up_to_the_tail(exposed, worst):
    assert exposed.after.tail.sum() == pytest.approx(worst, rel=1e-6)
    assert exposed.before.tail.sum() == pytest.approx(float(exposed.before.total.tail_mean(0.99)), rel=1e-6)


def test_places_fatten_the_tail_and_move_no_mean(exposed, worst):
    apart = exposed.after.apart
    assert apart.mean == pytest.approx(exposed.after.total.mean, rel=1e-12)
    assert float(apart.tail_mean(0.99)) < worst
    assert apart.process_sd < exposed.after.total.process_sd
    assert apart.parameter_sd == pytest.approx(exposed.after.total.parameter_sd, rel=1e-9)


def test_a_place_over_a_usual_year_loses_what_the_year_loses(exposed):
    usual = Scenario("usual", "nothing at all", (UNTIL - AS_OF).days, lambda fleet: fleet)
    frame = accumulations(exposed, scenarios=(usual,))
    np.testing.assert_allclose(frame["usual"], frame["mean"], rtol=1e-9)
    np.testing.assert_allclose(frame["usual_usual"], frame["mean"], rtol=1e-9)


@pytest.mark.parametrize("text", ["renew=raw_water_hose>3", "visits=3"])
def test_a_condition_kept_by_nobody_changes_nothing_and_by_all_everything(exposed, worst, text):
    nobody, half, everybody = (price_condition(exposed, read_condition(text), share) for share in (0, 0.5, 1))
    assert nobody.mean_after == pytest.approx(nobody.mean_before, rel=1e-12)
    assert nobody.tail_after == pytest.approx(worst, rel=1e-9)
    assert everybody.mean_after < half.mean_after < nobody.mean_after
    assert half.mean_after == pytest.approx(0.5 * (nobody.mean_after + everybody.mean_after), rel=1e-9)
    saved = everybody.mean_before - everybody.mean_after
    assert everybody.credit * everybody.boats == pytest.approx(saved, rel=1e-9)
    assert everybody.tail_after < half.tail_after < nobody.tail_after


@pytest.fixture(scope="module")
def few(exposed):
    """The same year after terms in a few draws, with spells that come oftener and strike harder."""
    book, spells = exposed.book, exposed.spells
    severity = replace(
        book.severity, below=book.severity.below[:, :, :DRAWS], share=book.severity.share[:, :, :DRAWS]
    )
    fewer = replace(book, chance=np.minimum(5.0 * book.chance[:, :, :DRAWS], 0.3), severity=severity)
    harder = replace(
        spells,
        often=np.minimum(4.0 * spells.often[:, :DRAWS], 0.3),
        rises=1.0 + 8.0 * (spells.rises[..., :DRAWS] - 1.0),
    )
    return side_of(fewer, exposed.after.part.cover, harder.places(fewer))


@pytest.fixture(scope="module")
def simulated(few):
    """Totals and largest losses (DRAWS, YEARS), year by year as it would happen."""
    random = np.random.default_rng(7)
    part, book = few.part, few.part.book
    total, largest = np.zeros((DRAWS, YEARS)), np.zeros((DRAWS, YEARS))
    place_of = {int(row): number for number, rows in enumerate(part.places.together) for row in rows}
    for draw in range(DRAWS):
        spells = [
            random.choice(len(part.places.years), YEARS, p=part.places.years[:, draw])
            for _ in part.places.together
        ]
        for boat in range(book.rows):
            chance = book.chances(part.cover)[boat, :, draw]
            payouts = part.payouts(boat)
            for group in book.groups:
                mine = np.tile(chance[list(group)], (YEARS, 1))
                if boat in place_of and part.places.touches(group):
                    by_year = [
                        part.places.of(boat, year, group)[draw] for year in range(len(part.places.years))
                    ]
                    mine *= np.array(by_year)[spells[place_of[boat]]]
                upto = np.cumsum(mine, axis=1)
                assert upto.max() <= 1 + 1e-12
                which = (random.random(YEARS)[:, None] > upto).sum(axis=1)
                for number, state in enumerate(group):
                    struck = np.flatnonzero(which == number)
                    more = random.random(len(struck)) < book.severity.share[boat, state, draw]
                    size = book.severity.below[boat, state, draw] + more
                    bill = payouts.median[state, size] * np.exp(
                        payouts.log_sd[state, size] * random.normal(size=len(struck))
                    )
                    repair = np.minimum(bill, payouts.cap[state, size]) + payouts.inside[state, size]
                    under = np.maximum(repair - payouts.deductible[state, size], 0)
                    lost = np.minimum(under, payouts.limit[state, size]) + payouts.outside[state, size]
                    total[draw, struck] += lost
                    largest[draw, struck] = np.maximum(largest[draw, struck], lost)
    return total, largest


def test_the_law_of_each_draw_is_that_of_a_simulation(few, simulated):
    total, _ = simulated
    losses = few.years.lattice.losses
    for draw in range(DRAWS):
        pmf = few.years.pmf[draw]
        sd = sqrt(pmf @ losses**2 - (pmf @ losses) ** 2)
        assert total[draw].mean() == pytest.approx(pmf @ losses, abs=4.5 * sd / sqrt(YEARS))
        for amount in np.quantile(total[draw], [0.5, 0.8, 0.9, 0.99, 0.998]) + 50.0:
            # Losses that stand between two points are split over both.
            high, low = (pmf[losses > amount + off * few.years.lattice.step].sum() for off in (-6, 6))
            off = 4.5 * sqrt(high / YEARS)
            assert low - off <= (total[draw] > amount).mean() <= high + off


def test_the_largest_loss_of_each_draw_is_that_of_a_simulation(few, simulated):
    found = largest_of(few.part)
    amounts, upto = found.amounts, found.upto
    for draw in range(DRAWS):
        for place in range(1, len(amounts), 150):
            exact = upto[draw, place]
            off = 4.5 * sqrt(exact * (1 - exact) / YEARS) + 1e-3
            assert (simulated[1][draw] <= amounts[place]).mean() == pytest.approx(exact, abs=off)


def test_rows_say_what_the_page_says(everything, exposed):
    conditions = (price_condition(exposed, read_condition("renew=raw_water_hose>3"), 0.5),)
    by = {each: segments(exposed, each) for each in ("home_port", "end_state")}
    answer = Answer(exposed, by, accumulations(exposed), conditions, on_defaults(everything))
    page = exposure_page(answer, 20)
    assert max(map(len, page.splitlines())) <= 80
    rows = exposure_rows(answer).set_index(["table", "row", "figure"])["value"]
    lines = [line.split() for line in page.splitlines()]
    year = rows.loc["year"]
    shown = [line[-2:] for line in lines if line[:2] in (["mean", "loss"], ["standard", "deviation"])]
    assert shown == [
        [price(year.loc[(row, side)]) for side in ("before", "after")]
        for row in ("mean loss", "standard deviation")
    ]
    for table, side in (("segment home_port", "after"), ("segment end_state", "after"), ("boat", "after")):
        for row, value in rows.loc[table].xs(side, level="figure").items():
            assert any(line and line[0] == row.split()[0] and price(value) in line for line in lines), (
                table,
                row,
            )
    assert rows.loc[("condition", conditions[0].told, "mean_after")] == pytest.approx(
        conditions[0].mean_after
    )
    assert rows.loc[("claims", "all", "outside_policy")] == 1
    curve = rows.loc["curve after terms"].unstack()
    curve.index = curve.index.astype(int)
    assert curve.sort_index()["total"].is_monotonic_increasing
    assert (curve["total_low"] <= curve["total"] + 1e-9).all()
