"""The season's page and figure: 80 columns, the order that matters, true numbers, no colour of a verdict."""

import re

import pytest

from riskmodel.errors import ParameterError
from riskmodel.plan.season.calendar import BEFORE_USE, season_calendar
from riskmodel.plan.season.season import ANY_SINKING, season_of
from riskmodel.report.icalendar import event_uid
from riskmodel.report.season import HEADS, about_band, amount, in_month, mine_and_typical, season_page
from riskmodel.report.season_events import events_of
from riskmodel.report.season_figure import OUT_OF_SEASON, season_figure, write_season_figure
from riskmodel.report.season_parts import (
    LISTS,
    MOST_STATES,
    calendar_file,
    rows_of,
    states_that_matter,
    vessel_name,
)
from riskmodel.risk import months_ahead

pytestmark = pytest.mark.thorough

STARTS = {".png": b"\x89PNG", ".pdf": b"%PDF", ".svg": b"<?xml"}


@pytest.fixture(scope="module")
def whimbrel(demo_fleet):
    season = season_of(demo_fleet, "L05")
    return season, season_calendar(season.result)


@pytest.fixture(scope="module")
def page(whimbrel):
    return season_page(*whimbrel, 10)


@pytest.fixture(scope="module")
def figure(whimbrel):
    return season_figure(*whimbrel)


def words(text):
    return " ".join(text.split())


def test_no_line_is_longer_than_eighty_columns(page):
    assert max(map(len, page.splitlines())) <= 80


def test_defects_come_before_all_numbers_and_then_the_order_of_the_day(page):
    heads = [
        HEADS[BEFORE_USE],
        "WHAT MAY HAPPEN",
        "MONTH BY MONTH",
        "WHAT MATTERS MOST",
        "BEFORE THE FIRST TRIP",
    ]
    heads += ["AT HAUL-OUT", "IN THE WATER", "EVERY TRIP", "TO HAVE AT HAND"]
    places = [page.index(head) for head in heads]
    assert places == sorted(places)


def test_every_known_defect_is_on_the_page(whimbrel, page):
    season, _ = whimbrel
    for defect in season.result.frame.loc[season.result.frame["group"] == "known defect", "defect"]:
        # The words of a narrow cell stand on lines of their own.
        assert set(defect.split()) <= set(page.split())


def test_the_boat_stands_beside_a_typical_one(whimbrel, page):
    season, _ = whimbrel
    mine, other = mine_and_typical(season, ANY_SINKING)
    assert f"{mine} such boats by 2027-10-31, beside {other} of typical boats" in words(page)
    assert "90 % band" in words(page)


def test_what_can_kill_stands_before_what_costs(page):
    table = page.split("WHAT MAY HAPPEN BY")[1].split("MONTH BY MONTH")[0]
    assert table.index("fire or explosion") < table.index("engine or drive damage")
    assert table.index("sinking under way") < table.index("sinking with nobody aboard")


def test_a_small_number_is_no_leave(page):
    assert "A small number is no leave to put off a task below" in words(page)
    assert "Low risk is no reason to skip safety work." in words(page)


def test_every_task_of_the_calendar_is_on_the_page(whimbrel, page):
    _, calendar = whimbrel
    for task in calendar.tasks["task"].unique():
        assert set(task.split("_")) <= set(page.split())
    for line in calendar.every_trip:
        assert line in words(page)


def test_months_and_their_sum_are_those_of_the_season(whimbrel, page):
    season, _ = whimbrel
    table = page.split("MONTH BY MONTH")[1]
    assert re.search(r"^Nov 2026 \*", table, re.MULTILINE)
    assert re.search(r"^Apr 2027  ", table, re.MULTILINE)
    assert "* begins out of season" in words(table)
    together = re.search(r"^Together +(.*)$", table, re.MULTILINE)[1].split()
    expected = [in_month(season.months[name].sum()) for name in states_that_matter(season)]
    assert together == expected


def test_that_no_periods_are_given_is_said(whimbrel, page):
    assert "No periods are given" in words(page)


def test_a_boat_without_defects_says_so(demo_fleet):
    season = season_of(demo_fleet, "L01")
    page = season_page(season, season_calendar(season.result), 3)
    assert "None on record." in page
    assert "more: ask for --top" in page


def test_a_boat_without_a_list_is_told_that_its_parts_are_assumed(demo_fleet):
    season = season_of(demo_fleet, "L25")
    assert "a typical outfit is assumed" in words(season_page(season, season_calendar(season.result), 3))


def test_a_boat_in_use_has_a_next_trip(fleet_of):
    season = season_of(fleet_of([{"item_class": "bilge_pump"}]), "B1")
    page = season_page(season, season_calendar(season.result), 3)
    assert "BEFORE THE NEXT TRIP" in page
    assert vessel_name(season) == "B1"


def test_a_short_time_ahead_makes_a_page_too(fleet_of):
    fleet = fleet_of([{"item_class": "drain_plug", "installed_on": "2026-05-01"}])
    season = season_of(fleet, "B1", months_ahead(fleet.as_of, 1))
    calendar = season_calendar(season.result)
    assert "TO HAVE AT HAND: parts and materials for the work above\nNone." in season_page(
        season, calendar, 3
    )
    season_figure(season, calendar)


@pytest.mark.parametrize(
    ("chance", "low", "high", "said"),
    [
        (0.0031, 0.0011, 0.0079, "about 3 in 1,000 (1 to 8)"),
        (0.00031, 0.00004, 0.0008, "about 3 in 10,000 (under 1 to 8)"),
        (0.41, 0.3, 0.53, "about 41 in 100 (30 to 53)"),
        (0.00002, 0.0, 0.0001, "under 1 in 10,000"),
        (0.9999, 0.99, 1.0, "about 99 in 100 (99 to 100)"),
    ],
)
def test_chances_are_said_as_people_say_them(chance, low, high, said):
    assert about_band(chance, low, high) == said


@pytest.mark.parametrize(
    ("chance", "said"), [(0.0, "-"), (0.00005, "<1"), (0.00023, "2.3"), (0.0123, "123"), (0.2, "2,000")]
)
def test_a_month_is_never_said_to_be_nought_where_there_is_a_path(chance, said):
    assert in_month(chance) == said


def test_amounts_are_in_whole_pieces_and_parts_of_metres():
    class Row:
        low, high, unit = 0.1, 0.3, "tubes"

    assert amount(Row()) == "1 tube"
    Row.low, Row.high, Row.unit = 1.5, 4.0, "m"
    assert amount(Row()) == "1.5 to 4 m"
    Row.low, Row.high, Row.unit = 2.0, 4.0, "clamps"
    assert amount(Row()) == "2 to 4 clamps"


@pytest.mark.parametrize("which", LISTS)
def test_each_list_stands_alone_in_a_file(whimbrel, which):
    frame = rows_of(*whimbrel, which)
    assert len(frame) > 3
    assert set(frame["vessel_id"]) == {"L05"}
    assert set(frame["as_of"]) == {"2026-11-02"}
    assert set(frame["until"]) == {"2027-10-31"}


def test_events_are_the_tasks_each_with_its_cautions(whimbrel):
    season, calendar = whimbrel
    events = events_of(season, calendar)
    assert len(events) == len(calendar.tasks)
    assert len({event_uid(event.key) for event in events}) == len(events)
    for event, item_class in zip(events, calendar.tasks["item_class"], strict=True):
        if item_class.startswith("fuel_"):
            assert "Fuel work is for a qualified person" in event.description
        if item_class in ("bellows_drive", "through_hull_seacock"):
            assert "hull openings are worked on ashore" in event.description
        assert "not a survey" in event.description
        assert event.summary.startswith("Whimbrel: ")


def test_the_calendar_file_is_the_same_each_time(whimbrel):
    assert calendar_file(*whimbrel) == calendar_file(*whimbrel)


def test_the_figure_has_a_panel_an_end_state_and_a_strip_of_tasks(whimbrel, figure):
    season, calendar = whimbrel
    states = states_that_matter(season)
    assert 1 <= len(states) <= MOST_STATES
    assert len(figure.axes) == len(states) + 1
    numbers = [int(text.get_text()) for text in figure.axes[-1].texts]
    assert sum(numbers) == len(calendar.tasks)


def test_bars_are_the_months_chances(whimbrel, figure):
    season, _ = whimbrel
    for axes, name in zip(figure.axes, states_that_matter(season), strict=False):
        heights = [bar.get_height() for bar in axes.patches]
        assert heights == pytest.approx(list(10_000 * season.months[name]))
        assert axes.get_ylim()[0] == 0


def test_panels_say_the_season_with_its_band_and_the_typical_boats(whimbrel, figure):
    season, _ = whimbrel
    for axes, name in zip(figure.axes, states_that_matter(season), strict=False):
        mine, other = mine_and_typical(season, name)
        assert axes.get_title(loc="left").endswith(f"this boat {mine}\ntypical boat {other}")


def test_no_ink_is_coloured(figure):
    from matplotlib.colors import to_rgb

    inks = [bar.get_facecolor() for axes in figure.axes for bar in axes.patches]
    inks += [text.get_color() for axes in figure.axes for text in axes.texts]
    for ink in inks:
        red, green, blue = to_rgb(ink)
        assert red == green == blue


def test_bars_out_of_season_are_lighter(whimbrel, figure):
    from matplotlib.colors import to_hex

    shades = [to_hex(bar.get_facecolor()) for bar in figure.axes[0].patches]
    assert shades[:5] == [OUT_OF_SEASON] * 5
    assert OUT_OF_SEASON not in shades[5:]


def test_no_words_run_out_of_the_figure_or_into_the_words_beside(figure):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure).draw()
    edge = figure.bbox
    boxes = [text.get_window_extent() for text in figure.texts]
    boxes += [label.get_window_extent() for label in figure.axes[-1].get_yticklabels()]
    boxes += [axes.get_tightbbox() for axes in figure.axes[:-1]]
    assert all(box.x0 >= 0 and box.x1 <= edge.x1 and box.y0 >= 0 and box.y1 <= edge.y1 for box in boxes)
    for place, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[place + 1 :])


def test_many_months_are_named_here_and_there(fleet_of, two_boats):
    fleet = fleet_of(**two_boats)
    season = season_of(fleet, "B2", months_ahead(fleet.as_of, 40))
    drawn = season_figure(season, season_calendar(season.result))
    assert len(drawn.axes[0].get_xticks()) <= 13
    assert len(drawn.axes[0].patches) == 40


@pytest.mark.parametrize("kind", STARTS)
def test_it_is_written_as_its_name_says_and_the_same_each_time(whimbrel, tmp_path, kind):
    first, second = tmp_path / f"a{kind}", tmp_path / f"b{kind}"
    write_season_figure(first, *whimbrel)
    write_season_figure(second, *whimbrel)
    assert first.read_bytes().startswith(STARTS[kind])
    assert first.read_bytes() == second.read_bytes()


def test_another_kind_of_file_is_refused(whimbrel, tmp_path):
    with pytest.raises(ParameterError, match="a figure's name must end in"):
        write_season_figure(tmp_path / "season.jpg", *whimbrel)
