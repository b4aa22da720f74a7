"""Further blocks of the insurer's page: boats that one place holds together, and conditions priced."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.exposed import WORST, Exposure
from riskmodel.exposure.schedule.bands import LEVELS
from riskmodel.exposure.schedule.exposed import AnyExposure, ScheduleExposure
from riskmodel.exposure.schedule.side import ManySide
from riskmodel.exposure.segments import UNKNOWN
from riskmodel.exposure.spells import Scenario, scenarios_of
from riskmodel.frames import each_row
from riskmodel.report.rank import currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.trade.place_rules import NOBODY_COMES, POWER_CUT
from riskmodel.trade.places import PlaceYear
from riskmodel.words import money, price

TOGETHER = (
    "If it befalls every boat of the place at once from the first day: how much more is lost, in the mean after terms, "
    "over those days than over as many usual ones, and sinkings in 1,000 such times (usual days after the stroke)."
)
# Of a thousand boats: fewer sinkings than these are no figure anybody acts on, and would not fit the line.
LEAST_SINKINGS = 0.001
HEADS = {POWER_CUT: "No power", NOBODY_COMES: "No visit"}
CREDITS = (
    "Each by itself, after terms. Which boats keep it is taken to be chance. Owners pay: what the boats that keep it "
    "spend, at the trade's prices. Breaks even: what one boat that keeps it, "
    "of those it touches, takes off the expected losses, so a credit on the premium at which the book is no worse off; "
    "nobody's duty to give or to take. Whatever the numbers, work on dangerous parts is not a matter of credits."
)

WORKED_OUT = (
    "Worked out, not simulated: boats are independent given what is uncertain of them all (lives of classes, what "
    "follows, prices, outfits and visits that are assumed), taken in the 160 draws that `rank` has{places}. 90 %: from "
    "5 % to 95 % of those draws. A boat has at most one of sinking and burning, and one loss of each other kind. Hire "
    "lost is not in it."
)
PLACES = ", and given the year of the place they lie at"


def places_block(answer: Answer, top: int) -> str:
    """The places where most value lies, and what would strike all their boats."""
    columns = [
        Column("Place"),
        Column("Boats", number=True),
        Column("Value", number=True),
    ]
    scenarios = scenarios_of(answer.exposure.result.trade)
    for scenario in scenarios:
        columns += [
            Column(f"{_head(scenario)}\nmore loss", number=True),
            Column("Sinkings\nin 1,000", number=True),
        ]
    cells = [
        (
            row.place,
            f"{row.boats:,}",
            price(row.value),
            *(cell for each in scenarios for cell in _struck(row, each.name)),
        )
        for row in each_row(answer.places.head(top))
    ]
    more = len(answer.places) - top
    tail = f"\n({more} more: ask for --top {len(answer.places)}.)" if more > 0 else ""
    told = f"{paragraph(TOGETHER)}\n{paragraph(_in_the_curve(answer))}"
    return f"BOATS THAT LIE TOGETHER, most value first\n\n{text_table(columns, cells)}{tail}\n{told}"


def place_rows(answer: Answer) -> pd.DataFrame:
    """Spells of places in rows: yearly chances, days, factors; and the worst years with and without them."""
    rows = [
        {
            "row": each.spell,
            "chance_low": each.chance_low,
            "chance_high": each.chance_high,
            "days": each.days,
            "factor_low": each.factor_low,
            "factor_high": each.factor_high,
        }
        for each in answer.exposure.result.trade.place_years.values()
    ]
    worst = [] if isinstance(answer.exposure, ScheduleExposure) else [_worst_row(answer.exposure)]
    return pd.DataFrame([*rows, *worst])


def _worst_row(exposure: Exposure) -> dict[str, object]:
    together, apart = _worst(exposure)
    return {"row": f"worst year in {WORST}", "together": together, "apart": apart}


def worked_out(answer: Answer) -> str:
    """How the year is worked out; places are in it only where boats that lie together are."""
    exposure = answer.exposure
    places = not isinstance(exposure, ScheduleExposure) and exposure.spells is not None
    return WORKED_OUT.format(places=PLACES if places else "")


def _in_the_curve(answer: Answer) -> str:
    """What of it the curve holds, with the standing of its figures, and by how much that fattens the tail."""
    result, spells = answer.exposure.result, answer.exposure.spells
    if isinstance(answer.exposure, ScheduleExposure):
        return (
            "In the curve: nothing. In a schedule summed by kind what befalls all boats of a place at once is left out "
            f"of it{_most_together(answer)}. Worked out for the "
            f"{int(answer.places.iloc[:, -1].notna().sum()):,} largest places."
        )
    if spells is None:
        return (
            "In the curve: nothing. No two boats of this book say that they lie at one place (home_port), or no spell "
            "of places touches them."
        )
    said = "; ".join(_spell(result.trade.place_years[name]) for name in spells.names)
    together, apart = _worst(answer.exposure)
    return (
        f"In the curve: a place has at most one of these in a year, and then all its boats have it: {said}. Boats "
        "without home_port (not said) are by themselves. No mean is moved by it, for usual years have so much less. "
        f"The mean of the worst year in {WORST} is {currency_of(result)} {price(together)} with it, {price(apart)} if "
        f"no two boats lay together: {_risen(together, apart)}."
    )


def _most_together(answer: Answer) -> str:
    """What share of the book lies at the place that holds most of it; nothing where no boat says where it lies."""
    said = answer.places[answer.places["place"] != UNKNOWN]
    if said.empty:
        return ""
    share = 100 * float(said["value"].max()) / float(answer.exposure.book.value.sum())
    return (
        f", and one place holds {share:.2g} % of the value"
        if share >= 0.1
        else ", and none holds 0.1 % of the value"
    )


def _risen(together: float, apart: float) -> str:
    risen = 100 * (together / apart - 1.0) if apart > 0 else 0.0
    return f"{risen:.1f} % more" if risen >= 0.05 else "less than 0.1 % more"


def _spell(each: PlaceYear) -> str:
    often = f"{each.label} ({100 * each.chance_low:g}-{100 * each.chance_high:g} % a year, {each.status}"
    if not each.classes:
        return f"{often})"
    where = f"in {' and '.join(each.climate)} climates " if each.climate else ""
    return (
        f"{often}; {where}all that parts holding water bring about comes {each.factor_low:g}-{each.factor_high:g} "
        "times as often)"
    )


def _worst(exposure: Exposure) -> tuple[float, float]:
    after = exposure.after
    with_places, without = (float(total.tail_mean(1.0 - 1.0 / WORST)) for total in (after.total, after.apart))
    return with_places, without


def conditions_block(answer: Answer) -> str:
    """Conditions priced; empty for none."""
    if not answer.conditions:
        return ""
    currency = currency_of(answer.exposure.result)
    columns = [
        Column("Kept"),
        Column("Mean\nloss", number=True),
        Column("Less\nby", number=True),
        Column(f"Worst in {WORST}\nless by", number=True),
        Column("Owners\npay", number=True),
        Column("Breaks even,\na boat", number=True),
        Column("Of its\nloss", number=True),
    ]
    cells = [
        (
            each.told,
            price(each.mean_after),
            money(each.mean_before - each.mean_after),
            money(each.tail_before - each.tail_after),
            price(each.cost),
            money(each.credit),
            f"{100 * each.credit_share:.0f} %",
        )
        for each in answer.conditions
    ]
    share = f"{100 * answer.conditions[0].compliance:.0f} %"
    head = f"CONDITIONS, kept by {share} of the boats they touch, {currency}"
    return f"{head}\n\n{text_table(columns, cells)}\n{paragraph(CREDITS)}"


def errors_block(answer: Answer) -> str:
    """What the arithmetic may be off by, in words."""
    exposure = answer.exposure
    total, currency = exposure.after.total, currency_of(exposure.result)
    plain = exposure.before.total.mean if exposure.modelled is None else exposure.modelled[0]
    said = [
        f"Arithmetic: totals stand {currency} {total.step:,.0f} apart",
        f"{_split(exposure)}. A year off that scale has a chance under {_power(total.errors.wrap)}. The mean before "
        f"terms{_of_model(answer)} is `rank`'s sum{_once_lost(exposure.ranked - plain)}.",
    ]
    kinds = f" {_by_kind(exposure)}" if isinstance(exposure, ScheduleExposure) else ""
    return paragraph("; ".join(said) + kinds)


def _once_lost(less: float) -> str:
    return f" less {less:,.2f}, for a boat that sinks does not burn as well" if less >= 0.005 else ""


def _split(exposure: AnyExposure) -> str:
    errors = exposure.after.total.errors
    wider = f"which makes the standard deviation at most {errors.discretisation:,.1f} too large"
    if isinstance(exposure.after, ManySide):
        return f"single losses on sizes 3 % apart with their mean kept, {wider}"
    return (
        f"losses between are split with their mean kept, {wider} and no excess over any amount more than "
        f"{errors.moved:,.0f}"
    )


def _by_kind(exposure: ScheduleExposure) -> str:
    """How boats were made alike, and what that does."""
    kinds, money = exposure.counted.boats.kinds, exposure.counted.boats.money
    exact = kinds.level == money.level == 0
    how = (
        "boats of one kind are equal in everything told"
        if exact
        else f"numbers in bands (level {kinds.level} of {LEVELS - 1} for what may happen, {money.level} for what it "
        "costs), each kind at the mean of its boats"
    )
    wider = exposure.priced.widened**0.5
    return (
        f"Boats are summed as {len(exposure.kinds.kind):,} kinds and {exposure.book.rows:,} sorts of cost: {how}. That "
        f"unlike boats share a chance widens the standard deviation by chance alone by at most "
        f"{currency_of(exposure.result)} {price(wider)}."
    )


def _of_model(answer: Answer) -> str:
    return "" if answer.exposure.modelled is None else ", without the claims,"


def _head(scenario: Scenario) -> str:
    return f"{HEADS[scenario.name]}\n{scenario.days:g} days:"


def _struck(row: object, name: str) -> tuple[str, str]:
    more = getattr(row, name) - getattr(row, f"{name}_usual")
    if np.isnan(more):
        return "-", "-"
    sinkings, usual = (1000 * getattr(row, f"{name}_sinkings{which}") for which in ("", "_usual"))
    return money(more), f"{_few(sinkings)}/{_few(usual)}"


def _few(number: float) -> str:
    if 0 < number < LEAST_SINKINGS:
        return f"<{LEAST_SINKINGS:g}"
    # Two figures, and thousands as people write them.
    return f"{float(f'{number:.2g}'):,.0f}" if number >= 100 else f"{number:.2g}"


def _power(chance: float) -> str:
    return f"{max(chance, 1e-15):.0e}"
