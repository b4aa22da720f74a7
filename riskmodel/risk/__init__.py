"""Item risk: lives joined with consequences, ranked under uncertainty."""

from riskmodel.risk.assess import Assessment, assess
from riskmodel.risk.horizon import Horizon, coming_season, given_horizon, months_ahead

__all__ = ["Assessment", "Horizon", "assess", "coming_season", "given_horizon", "months_ahead"]
