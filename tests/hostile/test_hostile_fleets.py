"""No fleet, however damaged, is a fault of ours: it is refused by name, or answered with sane numbers."""

import tempfile
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

KINDS = ("csv", "book", "parquet", "settings", "overlay")
SHORT = {"csv": 25, "book": 15, "parquet": 20, "settings": 25, "overlay": 10}
# Of each kind, in the long run; one in so many that check clears is asked more of.
LONG, ONE_IN = 4000, 6
RANDOM = st.randoms(use_true_random=False)
FREE = {"deadline": None, "suppress_health_check": list(HealthCheck), "database": None}


def judged(hostile, judge, kind, random, asked):
    """The exit codes of check, and of what is asked of a fleet that it clears."""
    with tempfile.TemporaryDirectory() as folder:
        path = hostile.write(Path(folder), kind, random)
        codes = [("check", judge.check(path))]
        if codes[0][1] == 0 and asked is not None:
            codes.append((asked[0], judge.asked(path, asked)))
    return codes


@pytest.mark.parametrize("kind", KINDS)
def test_check_refuses_or_clears_and_never_fails(hostile, judge, kind):
    @settings(max_examples=SHORT[kind], **FREE)
    @given(RANDOM)
    def holds(random):
        judged(hostile, judge, kind, random, None)

    holds()


def test_what_check_clears_is_ranked_with_sane_numbers(hostile, judge):
    @settings(max_examples=4, **FREE)
    @given(RANDOM, st.sampled_from(KINDS))
    def holds(random, kind):
        judged(hostile, judge, kind, random, ["rank", "--format", "csv"])

    holds()


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_thousands_of_hostile_fleets(hostile, judge, asked, kind):
    codes = Counter()

    @settings(max_examples=LONG, **FREE)
    @given(RANDOM, st.sampled_from(asked + [None] * (ONE_IN - 1) * len(asked)))
    def holds(random, words):
        codes.update(judged(hostile, judge, kind, random, words))

    holds()
    print(f"\n{kind}: " + ", ".join(f"{name} {code}: {n:,}" for (name, code), n in sorted(codes.items())))
