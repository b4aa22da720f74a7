"""The fleet on disk: tables read, checked, normalised and added to."""

from riskmodel.fleet.bad_rows import write_problems
from riskmodel.fleet.defaults import cell_value
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.guesses import GUESSED, value_is_guess
from riskmodel.fleet.load import check_fleet, load_fleet
from riskmodel.fleet.periods import states_by_day, year_shares
from riskmodel.fleet.recording import Added, Repeat, add_record, preview_record
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.skipping import LeftOut, load_fleet_without_bad
from riskmodel.fleet.undoing import preview_taking_back, take_back_record

__all__ = [
    "GUESSED",
    "Added",
    "Fleet",
    "LeftOut",
    "Repeat",
    "Settings",
    "add_record",
    "cell_value",
    "check_fleet",
    "load_fleet",
    "load_fleet_without_bad",
    "preview_record",
    "preview_taking_back",
    "states_by_day",
    "take_back_record",
    "value_is_guess",
    "write_problems",
    "year_shares",
]
