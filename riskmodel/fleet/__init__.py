"""The fleet on disk: tables read, checked, normalised and added to."""

from riskmodel.fleet.bad_rows import write_problems
from riskmodel.fleet.defaults import cell_value
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.load import check_fleet, load_fleet
from riskmodel.fleet.periods import states_by_day, year_shares
from riskmodel.fleet.recording import Added, add_record, preview_record
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.skipping import LeftOut, load_fleet_without_bad

__all__ = [
    "Added",
    "Fleet",
    "LeftOut",
    "Settings",
    "add_record",
    "cell_value",
    "check_fleet",
    "load_fleet",
    "load_fleet_without_bad",
    "preview_record",
    "states_by_day",
    "write_problems",
    "year_shares",
]
