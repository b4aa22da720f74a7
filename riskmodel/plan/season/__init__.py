"""One boat's season: its risk month by month, what to do when, and what to buy for it."""

from riskmodel.plan.season.calendar import SeasonCalendar, season_calendar
from riskmodel.plan.season.materials import season_materials
from riskmodel.plan.season.season import Season, season_of

__all__ = ["Season", "SeasonCalendar", "season_calendar", "season_materials", "season_of"]
