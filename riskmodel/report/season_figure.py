"""A boat's season as a figure: chances of the end states that matter month by month, over the days of the tasks."""

from __future__ import annotations

import textwrap
from datetime import date
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from riskmodel.plan.season.calendar import GROUPS, SeasonCalendar, group_label
from riskmodel.plan.season.months import month_ends
from riskmodel.plan.season.season import Season
from riskmodel.report.figure_file import own_look, save_figure
from riskmodel.report.life_panels import GREY, INK
from riskmodel.report.season import IN_MONTH, mine_and_typical
from riskmodel.report.season_parts import states_that_matter, vessel_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Panels side by side, by how many there are: none is left alone in a row of three.
ACROSS = {1: 1, 2: 2, 4: 2}
# Bars of months that begin out of season are lighter: one ink, and no colour that would be a verdict.
OUT_OF_SEASON = "#c9c9c9"
# Inches of a row of panels, of the strip of tasks, and of the words above and below.
PANEL, STRIP, ABOVE, BELOW = 2.75, 1.35, 0.95, 0.75
WIDE = 13.0
# Names of months that fit under a panel.
MOST_NAMED = 13
LIGHT = " Light bars begin out of season."
FOOT = (
    f"Bars: chance in each month, in {IN_MONTH:,} such boats; thin lines: the 90 % band of the whole time, shared out "
    "as the bars are.{light} Every panel has a scale of its own. Estimates, not a survey: a "
    "small number is no reason to put off safety work, and the maker and the local code come first."
)


def season_figure(season: Season, calendar: SeasonCalendar) -> Figure:
    """A small panel an end state that matters, months across, and under them a strip with the days of the tasks."""
    from matplotlib.figure import Figure

    states = states_that_matter(season)
    across = ACROSS.get(len(states), 3)
    down = ceil(len(states) / across)
    height = ABOVE + PANEL * down + STRIP + BELOW
    with own_look():
        figure = Figure(figsize=(WIDE, height))
        if states:
            edges = {"left": 0.05, "right": 0.985, "top": 1 - ABOVE / height}
            bottom = (BELOW + STRIP + 0.65) / height
            grid = figure.add_gridspec(down, across, wspace=0.18, hspace=0.75, bottom=bottom, **edges)
            for place, name in enumerate(states):
                axes = figure.add_subplot(grid[place // across, place % across])
                _panel(axes, name, season, calendar)
        strip = figure.add_axes((0.15, (BELOW + 0.2) / height, 0.835, (STRIP - 0.45) / height))
        _strip(strip, season, calendar)
        _words(figure, season, calendar, height)
    return figure


def write_season_figure(path: Path, season: Season, calendar: SeasonCalendar) -> None:
    """Writes the figure, of the kind ``path`` names (.png, .pdf, .svg); the same season makes the same bytes."""
    save_figure(season_figure(season, calendar), path)


def foot(season: Season, calendar: SeasonCalendar) -> str:
    """What the figure shows, and how not to read it."""
    light = any(not calendar.dates.in_season(day) for day in season.months["start"])
    return FOOT.format(light=LIGHT if light else "")


def _panel(axes: Axes, name: str, season: Season, calendar: SeasonCalendar) -> None:
    months, total = season.months, season.totals.set_index("end_state").loc[[name]].to_dict("records")[0]
    chance = IN_MONTH * months[name].to_numpy(dtype=float)
    used = [calendar.dates.in_season(day) for day in months["start"]]
    place = np.arange(len(months))
    axes.bar(place, chance, width=0.72, color=[GREY if each else OUT_OF_SEASON for each in used])
    # A share of the season's band: how much of it falls in each month is taken as known.
    low, high = (chance * total[end] / total["chance"] for end in ("low", "high"))
    axes.vlines(place, low, high, color=INK, linewidth=0.8)
    _name_months(axes, list(months["start"]))
    axes.tick_params(length=0, labelsize=7)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel(f"in {IN_MONTH:,}")
    mine, other = mine_and_typical(season, name)
    deadly = ", can kill" if total["can_kill"] else ""
    told = f"{total['label']}{deadly}\nthis boat {mine}\ntypical boat {other}"
    axes.set_title(told, fontsize=8, loc="left", color=INK)


def _name_months(axes: Axes, starts: list[date]) -> None:
    """Months under their bars, the year with the first named and with the first named of each year."""
    step = ceil(len(starts) / MOST_NAMED)
    places = list(range(0, len(starts), step))
    words, year = [], 0
    for day in (starts[place] for place in places):
        words.append(f"{day:%b}" if day.year == year else f"{day:%b}\n{day:%Y}")
        year = day.year
    axes.set_xticks(places, words)


def _strip(axes: Axes, season: Season, calendar: SeasonCalendar) -> None:
    """A line a group of tasks, a mark a day with the number of tasks on it."""
    tasks, dates = calendar.tasks, calendar.dates
    for line, group in enumerate(GROUPS):
        # Days as whole numbers: no converter of dates, whose day nought others may have moved.
        due = [day.toordinal() for day in tasks.loc[tasks["group"] == group, "due"]]
        days, counts = np.unique(due, return_counts=True)
        axes.plot(days, np.full(len(days), line), "o", color=INK, markersize=3.5, clip_on=False)
        for day, number in zip(days, counts, strict=True):
            axes.annotate(
                str(number), (day, line), (0, 4), textcoords="offset points", ha="center", fontsize=7
            )
    first, last = dates.today.toordinal(), dates.until.toordinal()
    margin = (last - first) / 60
    axes.set(xlim=(first - margin, last + margin), ylim=(len(GROUPS) - 0.5, -0.9))
    names = [group_label(group, dates) for group in GROUPS]
    axes.set_yticks(range(len(GROUPS)), [f"{name[0].upper()}{name[1:]}" for name in names])
    firsts = month_ends(season.horizon)[:-1]
    named = firsts[:: ceil(max(len(firsts), 1) / MOST_NAMED)]
    axes.set_xticks([day.toordinal() for day in named], [f"{day:%b %Y}" for day in named])
    axes.tick_params(length=0, labelsize=7.5)
    axes.grid(axis="x", color="#e6e6e6", linewidth=0.6)
    axes.spines[:].set_visible(False)


def _words(figure: Figure, season: Season, calendar: SeasonCalendar, height: float) -> None:
    horizon = season.horizon
    title = f"The season of {vessel_name(season)}, {horizon.as_of} to {horizon.until}"
    figure.text(0.02, 1 - 0.22 / height, title, fontsize=12, weight="bold", va="center")
    figure.text(
        0.02, (BELOW + STRIP - 0.1) / height, "Tasks, and how many on the day", fontsize=8.5, va="center"
    )
    figure.text(0.02, 0.08 / height, textwrap.fill(foot(season, calendar), 190), fontsize=7.5, va="bottom")
