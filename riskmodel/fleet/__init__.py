"""The fleet on disk: tables read, checked, normalised and added to."""

from riskmodel.fleet.defaults import cell_value
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.load import check_fleet, load_fleet
from riskmodel.fleet.periods import states_by_day, year_shares
from riskmodel.fleet.recording import Added, add_record, preview_record
from riskmodel.fleet.settings import Settings

__all__ = [
    "Added",
    "Fleet",
    "Settings",
    "add_record",
    "cell_value",
    "check_fleet",
    "load_fleet",
    "preview_record",
    "states_by_day",
    "year_shares",
]
