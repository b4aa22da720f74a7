"""Edge cases that need a fleet on disk: no records, a class without records of its own, a class of one part."""

import numpy as np
import pytest

from riskmodel.errors import TableError
from riskmodel.risk import assess

PARTS = ["B,Wren,bellows_drive,2014-05-01", "S,Wren,float_switch,2020-05-01", "U,Wren,hose_clamps,"]


def test_t16_an_empty_records_table_gives_the_priors_own_answer(fleet):
    result = assess(fleet(PARTS, []))
    assert len(result.frame) == 3
    assert np.isfinite(result["failure_probability"]).all()
    assert (result["failure_low"] <= result["failure_high"]).all()
    assert all(result.lives.posterior[name] is prior for name, prior in result.lives.prior.items())
    assert any("lives rest on trade intervals alone" in note for note in result.notes)


def test_t43_a_class_without_records_keeps_its_prior_and_one_unknown_is_refused_with_the_nearest(fleet):
    result = assess(fleet(PARTS, ["B,,2020-07-10,failed", "B,,2020-07-12,replaced,,failure"]))
    lives = result.lives
    assert lives.posterior["float_switch"] is lives.prior["float_switch"]
    assert lives.posterior["bellows_drive"] is not lives.prior["bellows_drive"]
    with pytest.raises(TableError, match=r"items\.csv row 2: item_class .*bellows_drive"):
        fleet(["B,Wren,bellows_driv,2014-05-01"])


def test_t44_a_class_of_one_part_moves_little_from_its_prior(fleet):
    result = assess(fleet(PARTS[:1], ["B,,2024-05-01,inspected,sound"]))
    life = result.lives.posterior["bellows_drive"]
    assert life.rows.survivors == 1
    assert max(map(abs, life.shift)) < 1
    assert not life.conflict


def test_t54_a_part_in_service_is_one_row_and_one_row_only(fleet):
    history = assess(
        fleet(PARTS[:1], ["B,,2020-05-01,inspected,sound", "B,,2024-05-01,inspected,sound"])
    ).lives.history
    assert history.rows["count"].tolist() == [1.0]
    assert history.of_class("bellows_drive").survivors == 1
