"""What an insurer's own claims changed, on the page of the year and in its rows."""

from __future__ import annotations

import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.claims import Recalibration, Told
from riskmodel.exposure.schedule.exposed import AnyExposure
from riskmodel.report.rank import currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.words import counted, price, ratio

METHOD = (
    "How often and how dear: factors on the model's hazard and mean loss, weighed by credibility (Bühlmann). Number: "
    "Poisson about the expected, its gamma before the claims as wide as the model's own draws; so few claims move "
    "little and many go to the record. Mean loss: log-normal likewise, never above value and clean-up. All 160 draws "
    "are moved and count alike."
)
LIMITS = (
    "Taken for granted: boats were all the time at the risk of the year ahead, laid up as in it; a loss up to the "
    "deductible (the boat's own, else claims_deductible in settings.toml, else that asked for) is no claim and is not "
    "expected to be seen. "
    "A kind of loss that was not covered then is left out with --without: else its absence is taken for a record. "
    "Boats that left the schedule, lost ones too, are not in it with their claims nor their years, so what ends boats "
    "may be seen too seldom."
)


def claims_block(answer: Answer) -> str:
    """Claims beside what the model expected, and what they move; empty without claims."""
    exposure = answer.exposure
    found = exposure.recalibration
    if found is None:
        return ""
    columns = [
        Column("What it came to"),
        Column("Claims\nseen", number=True),
        Column("Expected\n(90 %)", number=True),
        Column("As often\n(90 %)", number=True),
        Column("As dear", number=True),
    ]
    cells = [
        (
            _label(exposure, name),
            f"{told.seen:,}",
            f"{_count(told.expected)} ({_count(told.low)}-{_count(told.high)})",
            _oftener(told),
            "-" if told.severity is None else f"x {ratio(told.severity.mean)}",
        )
        for name, told in found.told.items()
    ]
    head = f"THE CLAIMS, and how they move the model, {_watch(exposure, found)}"
    words = [paragraph(each) for each in (_means(exposure), _terms(found), METHOD, LIMITS) if each]
    return "\n".join([paragraph(head), "", text_table(columns, cells), *words])


def claims_frame(exposure: AnyExposure) -> pd.DataFrame:
    """The same as figures, a row a group of end states and one, ``all``, for the book."""
    found, modelled = exposure.recalibration, exposure.modelled
    assert found is not None
    assert modelled is not None
    rows = [{"row": name, **_figures(told)} for name, told in found.told.items()]
    book = {
        "row": "all",
        "boat_years": found.watched.boat_years,
        "below_deductible": found.watched.below,
        "unused": found.unused,
        "of_boats_gone": found.watched.gone,
        "outside_policy": found.watched.outside,
        "paid_share": found.paid_share,
        "terms_share": found.terms_share,
        "mean_before_without_claims": modelled[0],
        "mean_after_without_claims": modelled[1],
        "mean_before": exposure.before.total.mean,
        "mean_after": exposure.after.total.mean,
    }
    return pd.DataFrame([*rows, book])


def _figures(told: Told) -> dict[str, float]:
    found: dict[str, float] = {
        "seen": told.seen,
        "expected": told.expected,
        "expected_low": told.low,
        "expected_high": told.high,
    }
    if told.frequency is not None:
        low, high = told.frequency.band
        found |= {"frequency": told.frequency.mean, "frequency_low": low, "frequency_high": high}
        found["frequency_credibility"] = told.frequency.credibility
    if told.severity is not None:
        found |= {"severity": told.severity.mean, "severity_log_sd": told.severity.log_sd}
        found["severity_credibility"] = told.severity.credibility
    return found


def _label(exposure: AnyExposure, name: str) -> str:
    known = exposure.result.trade.end_states
    return known[name].label if name in known else name


def _oftener(told: Told) -> str:
    if told.frequency is None:
        return "-"
    low, high = (ratio(each) for each in told.frequency.band)
    return f"x {ratio(told.frequency.mean)} ({low}-{high})"


def _count(number: float) -> str:
    return f"{number:,.0f}" if number >= 10 else f"{number:.1f}" if number >= 1 else ratio(number)


def _watch(exposure: AnyExposure, found: Recalibration) -> str:
    seen = found.watched
    since = "claims_from" if seen.stated else "the first claim, which only opens the watch"
    return f"{seen.first} ({since}) to {exposure.result.fleet.as_of}: {seen.boat_years:,.0f} boat-years"


def _means(exposure: AnyExposure) -> str:
    assert exposure.modelled is not None
    currency = currency_of(exposure.result)
    before, after = exposure.modelled
    return (
        f"Mean loss over the time ahead, {currency}: {price(before)} before terms and {price(after)} after by the "
        f"model alone; {price(exposure.before.total.mean)} and {price(exposure.after.total.mean)} with the claims."
    )


def _terms(found: Recalibration) -> str:
    said = []
    if found.watched.below:
        said.append(f"{counted(found.watched.below, 'claim')} up to the deductible not counted.")
    if found.watched.gone:
        said.append(f"{counted(found.watched.gone, 'claim')} of boats no longer in the book not counted.")
    if found.watched.outside:
        said.append(
            f"Of {counted(found.watched.outside, 'claim')} only the size counts: of days before the boat was built or "
            "outside the time it was insured (insured_since, else inception, to expiry), for which no boat-years count "
            "either."
        )
    if found.unused:
        said.append(
            f"{counted(found.unused, 'claim')} not used: not covered, or nothing this book can come to."
        )
    if found.paid_claims:
        said.append(
            f"Paid of gross: {100 * found.paid_share:.0f} % in {counted(found.paid_claims, 'claim')}, "
            f"{100 * found.terms_share:.0f} % by the terms asked for."
        )
    return " ".join(said)
