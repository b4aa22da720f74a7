"""When each part is to be looked at or tested in the time ahead, by the trade's look interval and the last look."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from riskmodel.consequence import barrier_needs
from riskmodel.plan.season.dates import SeasonDates
from riskmodel.risk.looking import LOOKING, look_interval
from riskmodel.trade import ItemClass, Task, Trade

MONTHS = 12
# Pumps, switches, alarms and blowers are tested at least so often, in years (common practice, no source).
QUARTER = 0.25
# What the trade looks at oftener than this, in years, is a habit of every trip and no date (judgement).
HABIT = 0.1


@dataclass(frozen=True)
class Routine:
    """A look or test and how often it comes: every so many ``months``; 0 for every trip."""

    task: Task
    months: int


def routines(item_class: ItemClass, trade: Trade) -> tuple[Routine, ...]:
    """The looks and tests of a class that owner or yard repeat; what needs a licence is no routine."""
    often = look_interval(item_class)
    found = []
    for task in item_class.tasks:
        if task.does not in LOOKING or task.skill == "licensed":
            continue
        years = often
        if task.does == "test" and item_class.item_class in barrier_needs(trade):
            years = min(years, QUARTER)
        if years < HABIT and not task.out_of_water:
            found.append(Routine(task, 0))
        elif years < float("inf"):
            found.append(Routine(task, max(int(MONTHS * years + 1e-9), 1)))
    return tuple(found)


def look_days(
    routine: Routine, last: date | None, dates: SeasonDates, *, hidden: bool = False
) -> Iterator[date]:
    """The days ahead for one part's routine.

    Work in the water falls on the firsts of months, so many after the ``last`` look (None: since the season began);
    what is due by the first trip is done then, once, and so is what is overdue. Work ashore is done when the boat is
    there, by the yard once a year. A boat afloat in winter has its ``hidden`` barriers tested then too.
    """
    if routine.task.out_of_water and not dates.dry:
        yield from dates.haul_outs[: 1 if routine.task.skill == "yard" else None]
        return
    winter = hidden and dates.wet_winter
    # A grid of the season's own, so that the days do not move with the day of asking.
    start = dates.began.replace(year=dates.today.year - 1, day=1) if winter else dates.began.replace(day=1)
    day = start if last is None else month_later(last, routine.months)
    first = dates.today if winter else dates.first_trip
    while day <= dates.until:
        after = month_later(day, routine.months)
        if not winter:
            first = dates.use_after(day)
        if first > dates.until:
            return
        while after <= first:
            day, after = after, month_later(after, routine.months)
        done = max(day, first)
        yield done
        # A look that comes too soon after a late one is left out, but none that is due each quarter.
        day = after if after >= month_later(done, routine.months // 2) else month_later(after, routine.months)


def month_later(day: date, months: int) -> date:
    """The first of the month that lies ``months`` after the day's."""
    year, month = divmod(day.year * MONTHS + day.month - 1 + months, MONTHS)
    return date(year, month + 1, 1)
