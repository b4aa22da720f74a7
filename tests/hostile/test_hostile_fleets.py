"""Damaged and extreme fleets: each is refused by name or worked out whole, and never a fault of ours.

The suite tries a few, the same at every run; ``-m slow -s`` tries 20,000 and says how they ended. A case that fails is
printed with what was done to the whole fleet of ``cases.py``, line by line; one of each kind, after all were tried.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from .books import damaged_books, damaged_parquet
from .folders import damaged_folders, extreme_folders, hostile_settings, hostile_trades
from .judging import OTHERS

KINDS = {
    "tables": damaged_folders(),
    "extremes": extreme_folders(),
    "settings": hostile_settings(),
    "trade": hostile_trades(),
    "workbooks": damaged_books(),
    "parquet": damaged_parquet(),
}
# One assessment takes as long as ten checks: of what check clears, one in so many is ranked, and one in so many of
# those is asked something else.
RANKED_ONE_IN, OTHERS_ONE_IN = 8, 4
PARTS, CASES = 4, 20_000
FREE = settings(deadline=None, database=None, suppress_health_check=list(HealthCheck))


def try_cases(judge, kind, ranked_one_in, **how):
    """Checks each case drawn, and ranks some of those that were cleared; the judge keeps what broke a promise."""

    # Numbers beyond those of the other commands ask for none of them.
    @settings(FREE, **how)
    @given(
        KINDS[kind],
        st.sampled_from(range(ranked_one_in)),
        st.sampled_from(range(OTHERS_ONE_IN * len(OTHERS))),
    )
    def try_one(case, turn, other):
        judge.try_one(case, turn == ranked_one_in - 1, other if other < len(OTHERS) else None)

    return try_one


@pytest.mark.parametrize("kind", KINDS)
def test_a_few_hostile_fleets_are_refused_or_worked_out(judge, kind):
    try_cases(judge, kind, 25, max_examples=4, derandomize=True)()
    assert not judge.failed, "\n\n".join(judge.failed.values())
    assert sum(n for (command, _), n in judge.codes.items() if command == "check") >= 4


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.parametrize("kind", KINDS)
def test_twenty_thousand_hostile_fleets_are_refused_or_worked_out(judge, kind, part):
    cases = -(-CASES // (PARTS * len(KINDS)))
    seed(1000 + part)(try_cases(judge, kind, RANKED_ONE_IN, max_examples=cases))()
    print(f"\n{kind}, part {part + 1} of {PARTS}\n{judge.summary()}")
    assert not judge.failed, "\n\n".join(judge.failed.values())
