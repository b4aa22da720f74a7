"""riskmodel rank --set: the difference a change would make."""

import csv
import io

import pytest

pytestmark = pytest.mark.thorough


def test_the_difference_is_printed_instead_of_the_ranking(run):
    told = run("rank", "--set", "checked_every_days=3", "--top", "3", "--quiet")
    assert told.exit_code == 0
    assert "WHAT IF" in told.stdout
    assert "BEFORE THE BOAT IS USED AGAIN" not in told.stdout


def test_csv_has_a_row_a_boat(run):
    told = run("rank", "--set", "renew=hose>10", "--format", "csv", "--quiet")
    rows = list(csv.DictReader(io.StringIO(told.stdout)))
    assert len(rows) == 24
    assert {"vessel_id", "loss_before", "loss_after", "saved"} <= set(rows[0])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("kept=moon", "kept must be a known word"),
        ("X9:kept=ashore", "names no boat of this fleet"),
        ("nothing", "must be COLUMN=VALUE"),
    ],
)
def test_what_cannot_be_is_refused_without_a_traceback(run, change, says):
    told = run("rank", "--set", change, "--quiet")
    assert told.exit_code in (2, 3)
    assert says in told.stderr
    assert "Traceback" not in told.stderr


def test_it_does_not_go_with_levels(run):
    told = run("rank", "--set", "kept=ashore", "--levels", "--quiet")
    assert told.exit_code == 2
    assert "not both" in told.stderr
