"""Lives kept in a file come back as they were, and a file that is not whole is refused."""

import json
import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import riskmodel
from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.saved import rows_hash
from riskmodel.life.saving import load_lives, save_lives

PRIOR = WeibullPrior.from_interval(5.0, 8.0)
ROWS = LifeRows(
    [4.1, 3.0, 0.0, 7.7, 7.7], [4.1, np.inf, 2.5, 9.0, np.inf], [0, 1 / 3, 0, 0, 6], [1, 2, 1, 0.3, 1]
)
AGES, HORIZONS = np.array([0.0, 0.7, 4.0, 11.0]), np.array([1.0, 3.0, 0.25, 2.0])


@pytest.fixture(scope="module")
def lives():
    return {
        "hose": fit_life(ROWS, PRIOR),
        "bellows": fit_life(LifeRows.none(), PRIOR),
        "seal": fit_life(LifeRows([2.0, 5.0], [2.0, 5.0]), WeibullPrior.flat()),
        "pump": fit_life(LifeRows([2.0], [2.0]), WeibullPrior.flat(shape=2.0)),
    }


@pytest.fixture
def path(tmp_path):
    return tmp_path / "lives.json"


@pytest.fixture
def changed(lives, path):
    """Writes the lives, lets the caller change what stands in the file, and gives its path."""

    def change(how):
        save_lives(lives, path)
        whole = json.loads(path.read_text("utf-8"))
        how(whole)
        path.write_text(json.dumps(whole), "utf-8")
        return path

    return change


def same(one, other):
    return np.asarray(one).tobytes() == np.asarray(other).tobytes()


def test_loaded_lives_predict_the_same_bytes(lives, path):
    save_lives(lives, path)
    loaded = load_lives(path)
    assert sorted(loaded) == sorted(lives)
    for name, life in lives.items():
        assert same(
            loaded[name].failure_probability(AGES, HORIZONS), life.failure_probability(AGES, HORIZONS)
        )
        assert same(loaded[name].failure_interval(AGES, HORIZONS), life.failure_interval(AGES, HORIZONS))
        assert same(loaded[name].quantile(0.1).age, life.quantile(0.1).age)
        assert (loaded[name].mode, loaded[name].shift) == (life.mode, life.shift)


def test_priors_come_back_with_their_infinities(lives, path):
    save_lives(lives, path)
    loaded = load_lives(path)
    assert {name: life.prior for name, life in loaded.items()} == {
        name: life.prior for name, life in lives.items()
    }


def test_rows_come_back_in_order_of_age_with_equal_ones_counted(path):
    rows = LifeRows([3.0, 1.0, 3.0, 3.0], [np.inf, 1.0, np.inf, np.inf], [0, 0, 0, 2], [1, 1, 0.5, 1])
    save_lives({"hose": fit_life(rows, PRIOR)}, path)
    kept = load_lives(path)["hose"].rows
    assert kept.lower.tolist() == [1.0, 3.0, 3.0]
    assert kept.upper.tolist() == [1.0, np.inf, np.inf]
    assert kept.entry.tolist() == [0.0, 0.0, 2.0]
    assert kept.count.tolist() == [1.0, 1.5, 1.0]
    assert (kept.failures, kept.survivors) == (rows.failures, rows.survivors)


def test_a_file_says_what_wrote_it_and_from_what(lives, path):
    save_lives(lives, path, origin="Three boats, seen on 2026-06-01", notes=["one boat sold"])
    whole = json.loads(path.read_text("utf-8"))
    assert whole["format"] == "riskmodel-lives"
    assert (whole["format_version"], whole["riskmodel"]) == (1, riskmodel.__version__)
    assert whole["numpy"] == np.__version__
    assert (whole["origin"], whole["notes"]) == ("Three boats, seen on 2026-06-01", ["one boat sold"])


def test_infinity_is_written_as_null(lives, path):
    save_lives(lives, path)
    text = path.read_text("utf-8")
    assert "Infinity" not in text
    assert json.loads(text)["lives"]["seal"]["prior"]["log_age_sd"] is None


def test_the_same_lives_make_the_same_bytes_and_so_do_loaded_ones(lives, path, tmp_path):
    save_lives(lives, path)
    save_lives(dict(reversed(load_lives(path).items())), tmp_path / "again.json")
    assert path.read_bytes() == (tmp_path / "again.json").read_bytes()


def test_the_order_of_the_records_leaves_no_trace_in_the_rows(path, tmp_path):
    backwards = LifeRows(ROWS.lower[::-1], ROWS.upper[::-1], ROWS.entry[::-1], ROWS.count[::-1])
    found = []
    for rows in (ROWS, backwards):
        save_lives({"hose": fit_life(rows, PRIOR)}, path)
        found.append(json.loads(path.read_text("utf-8"))["lives"]["hose"]["data_hash"])
    assert found[0] == found[1]


@given(st.lists(st.floats(1e-6, 1e6), min_size=1, max_size=6))
@settings(max_examples=25, deadline=None)
def test_every_float_comes_back_to_the_last_bit(tmp_path_factory, ages):
    path = tmp_path_factory.mktemp("floats") / "lives.json"
    life = fit_life(LifeRows(ages, np.full(len(ages), np.inf)), PRIOR)
    save_lives({"hose": life}, path)
    loaded = load_lives(path)["hose"]
    assert same(loaded.rows.lower, sorted(set(ages)))
    for name in ("log_shape", "log_age", "log_scale", "weight", "mode"):
        assert same(getattr(loaded.nodes, name), getattr(life.nodes, name))


def test_the_hash_is_the_sha256_of_the_four_columns(lives):
    """Outside value: the sha256 of nothing, as the standard's own test vectors print it (from memory)."""
    assert rows_hash(LifeRows.none()).startswith("e3b0c44298fc1c149afbf4c8996fb924")


def test_no_life_at_all_is_a_file_too(path):
    save_lives({}, path)
    assert load_lives(path) == {}


def test_a_failed_write_leaves_the_old_file_and_no_other(lives, path, monkeypatch):
    save_lives(lives, path)
    old = path.read_bytes()

    def stop(*_):
        raise OSError("no room")

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(OSError, match="no room"):
        save_lives({}, path)
    assert path.read_bytes() == old
    assert os.listdir(path.parent) == [path.name]


@pytest.mark.parametrize("text", ["", "lives", '["riskmodel-lives"]', '{"format": "other"}', "\xff"])
def test_a_file_of_something_else_is_refused(path, text):
    path.write_text(text, "latin-1")
    with pytest.raises(ParameterError, match=r"lives\.json: must be a file of saved lives"):
        load_lives(path)


def test_a_newer_version_is_refused(changed):
    path = changed(lambda whole: whole.update(format_version=2))
    with pytest.raises(
        ParameterError, match=r"lives\.json: format_version must be 1, got 2: a newer riskmodel"
    ):
        load_lives(path)


def test_a_version_that_is_none_is_refused(changed):
    path = changed(lambda whole: whole.update(format_version="one"))
    with pytest.raises(ParameterError, match=r"format_version must be 1, got 'one'$"):
        load_lives(path)


def test_rows_other_than_those_learned_from_are_refused(changed):
    path = changed(lambda whole: whole["lives"]["hose"]["rows"]["lower"].__setitem__(0, 0.25))
    with pytest.raises(
        ParameterError, match=r"lives\.json: lives\.hose\.rows must be the rows its data_hash"
    ):
        load_lives(path)


def test_all_faults_are_told_at_once(changed):
    def spoil(whole):
        del whole["lives"]["hose"]["nodes"]["weight"]
        del whole["lives"]["hose"]["mode"]
        whole["lives"]["pump"]["prior"]["quantile"] = 2.0

    with pytest.raises(ParameterError) as caught:
        load_lives(changed(spoil))
    said = str(caught.value).splitlines()
    assert len(said) == 3
    assert said[0].endswith("lives.hose.nodes.weight is missing")
    assert said[1].endswith("lives.hose.mode is missing")
    assert said[2].endswith("lives.pump.prior cannot be: quantile must lie between 0 and 1, got 2.0")


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("prior", {}, r"lives\.hose\.prior\.log_shape is missing"),
        ("rows", [], r"lives\.hose\.rows\.lower is missing"),
        ("mode", [1.0, None], r"lives\.hose\.mode must hold numbers"),
        ("mode", [1.0], r"lives\.hose\.nodes need a mode of two numbers, got 1"),
        ("mode", "most", r"lives\.hose\.mode must hold numbers"),
        ("settled", 1, r"lives\.hose\.settled must be true or false, got 1"),
        ("nodes", None, r"lives\.hose\.nodes\.weight is missing"),
        ("data_hash", "0", r"lives\.hose\.rows must be the rows its data_hash was taken of \(0\)"),
    ],
)
def test_a_life_that_is_not_whole_is_refused(changed, key, value, says):
    path = changed(lambda whole: whole["lives"]["hose"].update({key: value}))
    with pytest.raises(ParameterError, match=says):
        load_lives(path)


@pytest.mark.parametrize(
    ("weight", "says"),
    [
        ([0.5], "must be columns of one length"),
        ([], "must be columns of one length"),
        (None, "must have weights that add to 1"),
        ([True], "must hold numbers"),
    ],
)
def test_nodes_that_cannot_be_are_refused(changed, weight, says):
    def spoil(whole):
        nodes = whole["lives"]["hose"]["nodes"]
        nodes["weight"] = [2 * each for each in nodes["weight"]] if weight is None else weight

    with pytest.raises(ParameterError, match=says):
        load_lives(changed(spoil))


def test_rows_that_cannot_be_are_refused(changed):
    path = changed(lambda whole: whole["lives"]["hose"]["rows"]["lower"].__setitem__(0, -1.0))
    with pytest.raises(
        ParameterError, match=r"lives\.hose\.rows cannot be: row 1: lower must be a finite age"
    ):
        load_lives(path)


def test_a_file_without_lives_is_refused(changed):
    path = changed(lambda whole: whole.pop("lives"))
    with pytest.raises(ParameterError, match="lives is missing"):
        load_lives(path)


def test_a_file_that_is_not_there_is_an_error_of_the_system(path):
    with pytest.raises(FileNotFoundError):
        load_lives(path)
