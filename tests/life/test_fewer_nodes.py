"""A life on every other node: averages the same to one in 100,000, in outright conflict to one in 10,000."""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.life import fewer_nodes

PRIOR = WeibullPrior.from_shape_and_quantile(shape=(1.5, 4.0), quantile=(0.1, 3.0, 9.0))
ROWS = {
    "none": LifeRows.none(),
    "one failure": LifeRows([4.0], [4.0]),
    "survivors": LifeRows([6.0, 9.0], [np.inf, np.inf], count=[40, 20]),
    "intervals": LifeRows([2.0, 3.0, 5.0], [4.0, 3.5, np.inf], entry=[1.0, 0.0, 2.0]),
    "many": LifeRows(np.linspace(2, 14, 60), np.linspace(2, 14, 60)),
    "conflict": LifeRows([0.2, 0.3, 0.4], [0.2, 0.3, 0.4], count=[5, 5, 5]),
}


@pytest.fixture(scope="module", params=ROWS)
def life(request):
    return fit_life(ROWS[request.param], PRIOR)


def error(life):
    """What an average may err by: rows that contradict their interval leave a lopsided posterior."""
    return 1e-4 if life.conflict else 1e-5


@pytest.mark.parametrize("horizon", [0.25, 1.0, 5.0])
def test_average_chances_err_by_less_than_anyone_prints(life, horizon):
    ages = np.array([0.0, 0.5, 2.0, 5.0, 9.0, 15.0, 30.0, 60.0])
    few, all_ = (each.failure_probability(ages, horizon) for each in (fewer_nodes(life), life))
    assert few == pytest.approx(all_, abs=error(life))


def test_survival_errs_as_little(life):
    ages = np.linspace(0, 40, 81)
    assert fewer_nodes(life).survival(ages) == pytest.approx(life.survival(ages), abs=error(life))


def test_about_a_quarter_of_the_nodes_are_left_and_weigh_one(life):
    few = fewer_nodes(life).nodes
    assert 0.05 < len(few.weight) / len(life.nodes.weight) < 0.3
    assert few.weight.sum() == pytest.approx(1.0)
    assert len(few.log_shape) == len(few.log_age) == len(few.log_scale) == len(few.weight)


def test_thinning_twice_is_thinning_once(life):
    once = fewer_nodes(life)
    assert fewer_nodes(once) is once


def test_only_the_contradiction_is_in_conflict():
    assert [name for name, rows in ROWS.items() if fit_life(rows, PRIOR).conflict] == ["conflict"]


def test_the_life_itself_keeps_its_nodes(life):
    before = len(life.nodes.weight)
    fewer_nodes(life)
    assert len(life.nodes.weight) == before
