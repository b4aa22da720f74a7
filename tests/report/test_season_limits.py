"""What is over a limit stands on the page, in the words of the budget, and examples are called examples."""

from dataclasses import replace

import pytest

from riskmodel.plan.budget.floors import sinking_limit
from riskmodel.plan.budget.instead import KEEP, UNDER
from riskmodel.plan.season.calendar import season_calendar
from riskmodel.plan.season.season import season_of
from riskmodel.report.limits import EXAMPLES, MIXED, OWN
from riskmodel.report.season import season_page
from riskmodel.report.season_limits import HEAD, limits_block

pytestmark = pytest.mark.thorough


def words(text):
    return " ".join(text.replace("\n- ", " ").split())


def with_limits(fleet, vessel_id, **limits):
    return season_of(replace(fleet, settings=replace(fleet.settings, **limits)), vessel_id)


@pytest.fixture(scope="module")
def lapwing(demo_fleet):
    return season_of(demo_fleet, "L10")


def test_a_boat_over_the_limit_is_kept_ashore_or_attended(lapwing):
    said = words(limits_block(lapwing))
    chance = lapwing.totals.set_index("end_state").loc["sinking", "chance"]
    assert chance > sinking_limit(lapwing.result)
    assert said.startswith(HEAD)
    assert "the limit is 5 in 1,000." in said
    assert KEEP.capitalize() in said
    assert UNDER in said
    assert "shackles, swivels and snubber" in said


def test_the_block_follows_known_defects_and_comes_before_all_numbers(lapwing):
    page = season_page(lapwing, season_calendar(lapwing.result), 5)
    places = [page.index(head) for head in ("BEFORE THE BOAT IS USED", HEAD, "WHAT MAY HAPPEN")]
    assert places == sorted(places)
    assert max(map(len, page.splitlines())) <= 80
    assert "it lies afloat" in words(page)


def test_a_boat_under_its_limits_has_no_block(demo_fleet):
    season = with_limits(demo_fleet, "L10", sinking_limit=0.9, kill_limit=0.9)
    assert limits_block(season) == ""
    assert HEAD not in season_page(season, season_calendar(season.result), 5)


def test_a_boat_that_only_sinks_may_be_used_while_attended(demo_fleet):
    said = words(limits_block(with_limits(demo_fleet, "L10", kill_limit=0.9)))
    assert f"{KEEP.capitalize()}, until {UNDER}" in said
    assert "can kill" not in said


def test_a_part_that_can_kill_stands_alone_where_the_boat_is_under_its_limit(demo_fleet):
    said = words(limits_block(with_limits(demo_fleet, "L10", sinking_limit=0.9)))
    assert "The boat sinks" not in said
    assert "(and not used), until this is put right: shackles" in said


@pytest.mark.parametrize(
    ("kill", "sinking", "said"),
    [(None, None, EXAMPLES), (1e-4, None, MIXED.format(own="danger to people")), (1e-4, 1e-4, OWN)],
)
def test_limits_that_nobody_set_are_called_examples(demo_fleet, kill, sinking, said):
    season = with_limits(demo_fleet, "L10", kill_limit=kill, sinking_limit=sinking)
    assert said in words(limits_block(season))


def test_a_date_is_no_leave(lapwing):
    assert "a later one is no leave to use the boat" in words(limits_block(lapwing))
