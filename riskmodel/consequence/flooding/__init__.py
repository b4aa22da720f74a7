"""Flooding: what comes in, what is pumped out, how long the battery lasts, and when the hull is full."""

from riskmodel.consequence.flooding.filling import time_to_flood
from riskmodel.consequence.flooding.inflow import inflow_rate
from riskmodel.consequence.flooding.pump import pump_flow

__all__ = ["inflow_rate", "pump_flow", "time_to_flood"]
