"""The fleet on disk: three tables read, checked and normalised."""

from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.load import check_fleet, load_fleet
from riskmodel.fleet.settings import Settings

__all__ = ["Fleet", "Settings", "check_fleet", "load_fleet"]
