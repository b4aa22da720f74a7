"""What stands under the curve of an insurer's page; each sentence only where what it says is so."""

from __future__ import annotations

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.words import price

# Below this share of the doubt and of the mean itself, chance hardly shows in a curve.
EVENED_OUT = 0.25


def evened_out(answer: Answer) -> str:
    """A warning where the curve tells of doubt rather than of good years and bad; else nothing."""
    total = answer.exposure.after.total
    evened = 0 < total.process_sd <= EVENED_OUT * min(total.parameter_sd, total.mean)
    if not evened or answer.exposure.book.boats < 2:
        return ""
    return (
        " Chance evens out in a book of this size: the curve is mostly doubt about all its boats at once, which does "
        "not come anew each year, and the bands are what a draw of it leaves to chance."
    )


def largest_boat(answer: Answer) -> str:
    """What the curve's tail means are of, and the boat that can lose most; or that none can lose anything."""
    exposure = answer.exposure
    most = exposure.book.severity.payouts(exposure.after.part.cover).most.max(axis=(1, 2))
    place = int(most.argmax())
    such = "Mean of such: of all years as bad or worse, after terms."
    if not most[place] > 0:
        return f"{such} No boat of this book can bring a loss after terms."
    name = boat_names(exposure.result, exposure.book.vessels).iloc[place]
    if isinstance(exposure, ScheduleExposure):
        name = f"one worth about {price(exposure.book.severity.value[place])}"
    return (
        f"{such} The largest loss one boat can bring after "
        f"terms, salvage and clean-up with it, is {currency_of(exposure.result)} {price(most[place])}: {name}."
    )
