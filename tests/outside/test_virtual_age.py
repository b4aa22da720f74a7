"""Work that is no renewal: virtual age (Kijima 1989), told as rows that end whole and enter again at the new age.

After the n-th piece of work, x_n later, the virtual age is V + q x_n (type I) or q (V + x_n) (type II). Adjusting is
q = 1: the age goes on. No class of the trade's has work of a smaller q yet; the rows can say it.
"""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.likelihood import log_likelihood
from riskmodel.life.tally import tally_rows

BETWEEN = (10.0, 7.0, 5.0)
SHAPE, SCALE = 2.5, 14.0


def type_one(q):
    ages = [0.0]
    for since in BETWEEN:
        ages.append(ages[-1] + q * since)
    return ages


def type_two(q):
    ages = [0.0]
    for since in BETWEEN:
        ages.append(q * (ages[-1] + since))
    return ages


def rows_after_work(ages):
    """One row a stretch between works, each ended whole; the last by letting go."""
    entry = np.array(ages[:-1])
    lower = entry + np.array(BETWEEN)
    return LifeRows(lower, np.append(np.full(len(lower) - 1, np.inf), lower[-1]), entry)


def hazard(age):
    return (np.asarray(age) / SCALE) ** SHAPE


@pytest.mark.parametrize(("ages", "after"), [(type_one, [5, 8.5, 11]), (type_two, [5, 6, 5.5])])
def test_virtual_ages_of_half_effective_work(ages, after):
    # Intervals 10, 7, 5 and q 0.5, both types.
    assert ages(0.5)[1:] == pytest.approx(after)


@pytest.mark.parametrize("ages", [type_one, type_two])
@pytest.mark.parametrize("q", [0.0, 0.5, 1.0])
def test_rows_entered_at_virtual_ages_have_the_likelihood_of_the_repaired_part(ages, q):
    virtual = np.array(ages(q))
    ends = virtual[:-1] + BETWEEN
    whole = -(hazard(ends) - hazard(virtual[:-1])).sum()
    letting_go = np.log(SHAPE / SCALE) + (SHAPE - 1) * np.log(ends[-1] / SCALE)
    found = log_likelihood(tally_rows(rows_after_work(ages(q))), SHAPE, SCALE)
    assert found == pytest.approx(whole + letting_go, rel=1e-10)


def test_work_of_no_effect_is_one_life_to_the_end():
    # q = 1, minimal repair: three stretches or one row of 22, the same answer.
    prior = WeibullPrior.from_interval(5)
    one = fit_life(LifeRows([22.0], [22.0]), prior)
    three = fit_life(rows_after_work(type_one(1.0)), prior)
    assert three.mode == pytest.approx(one.mode, rel=1e-8)
    assert three.failure_probability(22, 1) == pytest.approx(float(one.failure_probability(22, 1)), rel=1e-8)


def test_work_as_good_as_new_is_three_lives():
    prior = WeibullPrior.from_interval(5)
    apart = fit_life(LifeRows([10.0, 7.0, 5.0], [np.inf, np.inf, 5.0]), prior)
    assert fit_life(rows_after_work(type_two(0.0)), prior).mode == pytest.approx(apart.mode, rel=1e-8)


def test_adjusting_a_gland_leaves_its_age_going_on(assessed):
    item = {"item_class": "shaft_packing", "installed_on": "2018-06-01"}
    boats = ({"propulsion": "inboard_shaft", "records_from": "2018-01-01"},)
    seen = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}
    work = [
        {"item_id": "I0", "date": date, "event": "adjusted", "finding": "sound"}
        for date in ("2020-06-01", "2023-06-01")
    ]
    adjusted, alone = (assessed([item], [seen, *records], boats) for records in (work, []))
    for found in (adjusted, alone):
        rows = found.lives.history.rows
        assert rows["count"].tolist() == [1.0]
        assert rows["entry"].tolist() == [0.0]
        assert rows["lower"].tolist() == pytest.approx([7.98], abs=0.01)
        assert found["age_years"].tolist() == pytest.approx([8.0], abs=0.01)
