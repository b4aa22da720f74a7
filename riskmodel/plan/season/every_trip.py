"""What is looked at on every trip: cautions against fumes first, then the looks made too often for a date."""

from __future__ import annotations

from riskmodel.plan.season.looks_due import routines
from riskmodel.risk import Assessment

BLOWER = "engine_blower"
# For a boat that lists no blower: a nose needs none (common practice, no source).
SNIFF = "Air the spaces of engine and tanks and sniff low in them before every start and after fuelling."


def every_trip(result: Assessment) -> tuple[str, ...]:
    """Sentences for every trip with the one boat of an assessment."""
    carried = set(result.fleet.items["item_class"])
    blower = BLOWER in carried
    gasoline = result.fleet.vessels["fuel"].iloc[0] == "gasoline"
    told = {"fumes": blower, "every_trip": True}
    said = [
        each.text
        for topic, holds in told.items()
        for each in result.trade.cautions
        if holds and each.topic == topic and carried & {*each.applies_to} | {*each.applies_to} & {"all"}
    ]
    looks = [
        f"{result.trade.classes[name].label}: {routine.task.what[0].lower()}{routine.task.what[1:]}"
        for name in sorted(carried)
        for routine in routines(result.trade.classes[name], result.trade)
        if not routine.months
    ]
    return (*([SNIFF] if gasoline and not blower else []), *said, *looks)
