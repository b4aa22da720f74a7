"""Numbers that an option cannot use: a usage error on one line, before any work is done."""

import inspect
from typing import get_args

import pytest


def options_of(app, kind):
    """Command and option of every option that takes this kind of number."""
    found = []
    for command in app.registered_commands:
        for each in inspect.signature(command.callback, eval_str=True).parameters.values():
            taken, about = get_args(each.annotation)[:2]
            if kind in (taken, *get_args(taken)):
                # The name is the first word given to the option, which takes it for a default.
                found.append((command.callback.__name__, about.default))
    return found


def refused(run, command, option, number):
    result = run(command, option, number)
    assert (result.exit_code, result.stdout) == (2, ""), (command, option, number, result.output)
    said = result.stderr.splitlines()[-1]
    assert said.startswith(f"Error: Invalid value for '{option}'"), (command, option, number, said)


def test_no_number_option_takes_what_is_no_finite_number(run, app):
    options = options_of(app, float)
    assert {("budget", "--amount"), ("begin", "--length-m"), ("exposure", "--compliance")} <= set(options)
    for command, option in options:
        for number in ("nan", "inf", "-inf", "1e999"):
            refused(run, command, option, number)


def test_no_count_is_beyond_what_a_machine_counts(run, app):
    options = [each for each in options_of(app, int) if each[1] in ("--top", "--seed")]
    assert len(options) >= 9
    for command, option in options:
        refused(run, command, option, 10**30)
        refused(run, command, option, -1)


@pytest.mark.parametrize("words", [("budget", "--amount", "-1"), ("rank", "--top", "0")])
def test_a_number_out_of_range_is_a_usage_error(run, words):
    refused(run, *words)


@pytest.mark.thorough
def test_the_largest_counts_are_taken(run, small):
    most = 2**63 - 1
    assert run("rank", small, "--seed", most, "--top", most).exit_code == 0
    assert run("budget", small, "--amount", 900, "--top", most).exit_code in (0, 5)
    assert run("exposure", small, "--top", most).exit_code == 0
    assert run("season", small, "B1", "--top", most).exit_code == 0
