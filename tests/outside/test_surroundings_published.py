"""Ageing rates at a flat prior: accelerated-life fits others printed, and lifelines' on simulated lives.

A published coefficient says how surroundings stretch log life, gamma how they speed ageing: one is minus the other.
Reference fits of the published sets: survreg of the R package survival 3.5-3 (R 4.2.2).
"""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from riskmodel.life import LifeRows, WeibullPrior
from riskmodel.life.surroundings import RatePrior, fit_in_surroundings


def published(name):
    with files("riskmodel.data.reference").joinpath(f"{name}.csv").open("r", encoding="utf-8") as table:
        return pd.read_csv(table)


def flat_fit(age, failed, design, entry=None):
    rows = LifeRows(age, np.where(failed, age, np.inf), entry)
    return fit_in_surroundings(rows, np.asarray(design), WeibullPrior.flat(), RatePrior.flat(design.shape[1]))


def assert_published(found, intercept, coefficients, shape, height):
    assert np.log(found.scale) == pytest.approx(intercept, rel=1e-5)
    assert found.gamma == pytest.approx([-value for value in coefficients], rel=1e-5)
    assert found.shape == pytest.approx(shape, rel=1e-5)
    assert found.log_likelihood == pytest.approx(height, abs=1e-6)
    assert found.used.all()
    assert found.flags == ()


def test_lung_by_sex():
    # Loprinzi and others 1994.
    table = published("lung")
    found = flat_fit(table["time"], table["status"] == 2, table[["sex"]])
    assert_published(found, 5.4885837507, [0.3955780075], 1.324348926, -1148.651565)


def test_lung_by_age_sex_and_fitness():
    # Loprinzi and others 1994; the patient without a score is left out.
    table = published("lung").dropna(subset=["ph.ecog"])
    assert len(table) == 227
    found = flat_fit(table["time"], table["status"] == 2, table[["age", "sex", "ph.ecog"]])
    coefficients = [-0.007475439409, 0.401090541193, -0.339638098309]
    assert_published(found, 6.273435251998, coefficients, 1.367785119, -1132.438746)


def test_capacitors_by_temperature_and_voltage():
    # Zelen 1959.
    table = published("capacitors")
    assert len(table) == 64
    found = flat_fit(table["time"], table["status"] == 1, table[["temperature", "voltage"]])
    assert_published(found, 13.407016880337, [-0.028904662687, -0.005910819504], 2.748693689, -244.2423433)


def test_hot_capacitors_age_faster():
    # The sign, apart from the figures: a hotter and a harder driven capacitor lives shorter.
    table = published("capacitors")
    found = flat_fit(table["time"], table["status"] == 1, table[["temperature", "voltage"]])
    assert (found.gamma > 0).all()
    ten_degrees = np.exp(10 * found.gamma[0])
    assert 1.2 < ten_degrees < 1.5


def simulated(seed, number=900):
    """Lives in two surroundings, one present or not and one by degrees; the rates are our own."""
    rng = np.random.default_rng(seed)
    design = np.column_stack([rng.integers(0, 2, number), rng.normal(size=number)]).astype(float)
    life = 12 * rng.weibull(2.5, number) / np.exp(design @ [0.5, -0.3])
    return rng, design, life


def theirs(age, failed, design, entry=None):
    from lifelines import WeibullAFTFitter

    frame = pd.DataFrame({"age": age, "failed": failed, "x": design[:, 0], "y": design[:, 1]})
    if entry is not None:
        frame["entry"] = entry
    fitter = WeibullAFTFitter()
    fitter.fit(frame, "age", "failed", entry_col=None if entry is None else "entry")
    return fitter


def assert_agree(found, fitter):
    life, shape = fitter.params_["lambda_"], fitter.params_["rho_"]
    assert found.gamma == pytest.approx([-life["x"], -life["y"]], abs=1e-3)
    assert np.log(found.scale) == pytest.approx(life["Intercept"], abs=1e-3)
    assert np.log(found.shape) == pytest.approx(shape["Intercept"], abs=1e-3)
    assert found.log_likelihood == pytest.approx(fitter.log_likelihood_, abs=1e-3)
    errors = fitter.standard_errors_["lambda_"][["x", "y"]]
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(errors.to_numpy(), rel=0.02)


def test_right_censored_lives_agree_with_lifelines():
    rng, design, life = simulated(51)
    end = rng.uniform(3, 20, len(life))
    failed, age = life <= end, np.minimum(life, end)
    assert failed.sum() >= 100
    assert_agree(flat_fit(age, failed, design), theirs(age, failed, design))


def test_late_entry_agrees_with_lifelines():
    rng, design, life = simulated(52, number=1500)
    entry = rng.uniform(0, 9, len(life))
    seen = life > entry
    life, entry, design = life[seen], entry[seen], design[seen]
    end = entry + rng.uniform(2, 8, len(life))
    failed, age = life <= end, np.minimum(life, end)
    assert failed.sum() >= 100
    assert_agree(flat_fit(age, failed, design, entry), theirs(age, failed, design, entry))
