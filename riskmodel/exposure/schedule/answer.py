"""Everything an underwriter asks of a schedule at once, as exposure.answer has it for a fleet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from riskmodel.exposure.answer import CIRCUMSTANCES, USUAL_SEGMENTS, Answer, Conditions
from riskmodel.exposure.schedule.ages import UNKNOWN
from riskmodel.exposure.schedule.conditions import price_on_schedule
from riskmodel.exposure.schedule.exposed import AnyExposure, ScheduleExposure
from riskmodel.exposure.schedule.places import schedule_places
from riskmodel.exposure.schedule.reading import Counted
from riskmodel.exposure.schedule.segments import schedule_segments
from riskmodel.exposure.segments import segments
from riskmodel.fleet import LeftOut


def answer_of_schedule(
    found: ScheduleExposure, by: Sequence[str] = (), asked: Conditions | None = None
) -> Answer:
    """The whole answer about a schedule; raises what its parts raise."""
    wanted = asked or Conditions()
    return Answer(
        exposure=found,
        segments={each: schedule_segments(found, each) for each in (by or USUAL_SEGMENTS)},
        places=schedule_places(found),
        conditions=tuple(
            price_on_schedule(found, each, wanted.compliance, wanted.visit_cost) for each in wanted.conditions
        ),
        defaults=_on_defaults(found),
        left_out=_left_out(found.counted),
    )


def any_segments(exposure: AnyExposure, by: str) -> pd.DataFrame:
    """Where the loss of a fleet or of a schedule sits. Raises ParameterError as theirs do."""
    return (
        schedule_segments(exposure, by) if isinstance(exposure, ScheduleExposure) else segments(exposure, by)
    )


def _on_defaults(found: ScheduleExposure) -> dict[str, float]:
    """Shares of the value (answer.on_defaults), by kinds of boat: those most of whose parts are undated."""
    kinds, value = found.kinds, found.priced.boats @ found.book.severity.value
    given = kinds.learned.fleet.given["vessels"]
    dated = kinds.number[:, :, :UNKNOWN].sum(axis=(1, 2))
    masks = {
        "outfit": ~kinds.listed,
        "ages": dated <= 0.5 * kinds.number.sum(axis=(1, 2)),
        "circumstances": ~given[list(CIRCUMSTANCES)].to_numpy(dtype=bool).all(axis=1),
    }
    masks["any"] = np.logical_or.reduce(list(masks.values()))
    return {name: float(value[mask].sum() / value.sum()) for name, mask in masks.items()}


def _left_out(counted: Counted) -> LeftOut:
    problems = counted.problems
    broken = len({(each.file, each.row) for each in problems if each.row})
    out = counted.left_out
    rows = {"vessels": out.rows, "items": out.parts}
    return LeftOut(
        problems=problems,
        broken=broken,
        rows={name: number for name, number in rows.items() if number},
        boats=out.rows,
        value=out.value / 1000.0,
        unread=out.unread,
        homeless=counted.homeless,
    )
