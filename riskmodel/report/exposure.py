"""The insurer's year as a page of text: mean and tail, where the loss sits, which places, what conditions change."""

from __future__ import annotations

from typing import Any

import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.exposed import WORST
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.frames import each_row
from riskmodel.report.exposure_claims import claims_block, claims_frame
from riskmodel.report.exposure_curve import evened_out, largest_boat
from riskmodel.report.exposure_left_out import left_out_frame, left_out_notes, recalled_block
from riskmodel.report.exposure_more import (
    conditions_block,
    errors_block,
    place_rows,
    places_block,
    worked_out,
)
from riskmodel.report.exposure_terms import terms_block, terms_rows
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.words import counted, money, price

ONLY = (
    "WET-SYSTEM LOSSES ONLY: not weather, collision, theft or liability. Rain and snow that fill a boat with nobody "
    "aboard, and waves over a low transom, are in."
)
NO_ADVICE = (
    "An estimate of losses, no advice on cover or price. Wear and slow damage are often left to the owner: leave end "
    "states out with --without. A known defect, or a path that can kill, is seen to whatever a book says: see `rank`."
)
YEAR = 360
LARGEST = ("largest", "largest_low", "largest_high")


def exposure_page(answer: Answer, top: int) -> str:
    """The whole page; at most ``top`` rows of each list."""
    result = answer.exposure.result
    horizon = result.horizon
    schedule = isinstance(answer.exposure, ScheduleExposure)
    parts = [
        heading(result.fleet.source, str(horizon.as_of), f"{horizon.until} ({horizon.wording})"),
        recalled_block(answer),
        *(paragraph(f"LEFT OUT: {note}") for note in left_out_notes(answer)),
        paragraph(ONLY),
        _book(answer),
        _year(answer),
        claims_block(answer),
        _curve(answer),
        *(_segments(answer, by, frame, top) for by, frame in answer.segments.items()),
        "" if schedule else _boats(answer, top),
        places_block(answer, top),
        conditions_block(answer),
        errors_block(answer),
        paragraph(worked_out(answer)),
        paragraph(NO_ADVICE),
        notes_block(result.notes),
        cautions_block(result.trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def exposure_rows(answer: Answer) -> pd.DataFrame:
    """Every figure of the answer in its own row: ``table, row, figure, value``; the numbers whole."""
    exposure = answer.exposure
    tables = {"year": _year_frame(answer)}
    for name, side in {"before": exposure.before, "after": exposure.after}.items():
        tables[f"curve {name} terms"] = side.table.rename(columns={"return_period": "row"})
    for by, frame in answer.segments.items():
        tables[f"segment {by}"] = frame.rename(columns={"segment": "row"})
    if not isinstance(exposure, ScheduleExposure):
        tables["boat"] = _boat_frame(answer).drop(columns="boat").rename(columns={"vessel_id": "row"})
    tables["place"] = answer.places.rename(columns={"place": "row"})
    if exposure.recalibration is not None:
        tables["claims"] = claims_frame(exposure)
    if answer.left_out.problems:
        tables["left out"] = left_out_frame(answer)
    if isinstance(exposure, ScheduleExposure) and exposure.counted.recalled:
        tables["known defects"] = pd.DataFrame([{"row": "under recall", "parts": exposure.counted.recalled}])
    tables["spell of a place"] = place_rows(answer)
    if answer.conditions:
        tables["condition"] = pd.DataFrame(
            [
                {key: value for key, value in vars(each).items() if key not in ("total", "told")}
                | {"row": each.told}
                for each in answer.conditions
            ]
        )
    long = [
        frame.melt("row", var_name="figure", value_name="number").assign(table=name)
        for name, frame in tables.items()
    ]
    long += [each.assign(table="terms") for each in terms_rows(answer)]
    # One of the figures is the value of boats: the column of all of them has that name only in the end.
    whole = (
        pd.concat(long, ignore_index=True)
        .dropna(subset="number", ignore_index=True)
        .rename(columns={"number": "value"})
    )
    whole = whole[["table", "row", "figure", "value"]]
    return whole.assign(row=whole["row"].astype(str), value=whole["value"].astype(float))


def _book(answer: Answer) -> str:
    book, currency = answer.exposure.book, currency_of(answer.exposure.result)
    shares = answer.defaults
    rest = (
        f"{_percent(shares['any'])} of the value rests on defaults: {_percent(shares['outfit'])} on boats with no list "
        f"of parts (typical outfit), {_percent(shares['ages'])} where most parts' ages are unknown, "
        f"{_percent(shares['circumstances'])} where water, kept or checked_every_days is not said."
    )
    value = f"{counted(book.boats, 'boat')}, {currency} {price(book.value.sum())} in all."
    return paragraph(f"{value} {rest}")


def _year(answer: Answer) -> str:
    frame = _year_frame(answer)
    currency = currency_of(answer.exposure.result)
    heads = (f"{head}\n{currency}" for head in ("Before terms", "After terms"))
    columns = [Column("Over the time ahead"), *(Column(head, number=True) for head in heads)]
    cells = [(row.row, price(row.before), price(row.after)) for row in each_row(frame)]
    return f"THE BOOK, {_span(answer)}\n\n{text_table(columns, cells)}\n{terms_block(answer)}"


def _year_frame(answer: Answer) -> pd.DataFrame:
    sides = (answer.exposure.before.total, answer.exposure.after.total)
    rows = {
        "mean loss": [each.mean for each in sides],
        "standard deviation": [each.sd for each in sides],
        "of it by chance alone (process)": [each.process_sd for each in sides],
        "of it by doubt about all boats (parameter)": [each.parameter_sd for each in sides],
    }
    return pd.DataFrame(rows.values(), columns=["before", "after"]).assign(row=list(rows))


def _curve(answer: Answer) -> str:
    before, after = answer.exposure.before, answer.exposure.after
    unit, said = money_unit(float(before.table["total_high"].max()), 1e6)
    # One loss is a small thing beside the total of a large book.
    one, words = money_unit(float(after.table["largest_high"].max()), 1e6)
    of_one = f",{words or ' whole'}" if one != unit else ""
    columns = [
        Column("Once in\nyears", number=True),
        Column("Total,\nbefore", number=True),
        Column("Total after terms\n(90 %)", number=True),
        Column("Mean of\nsuch", number=True),
        Column(f"Largest one loss\n(90 %){of_one}", number=True),
    ]
    scaled = (after.table.set_index("return_period") / unit).reset_index()
    scaled[list(LARGEST)] *= unit / one
    cells = [
        (
            f"{row.return_period}",
            money(gross / unit),
            _banded(row, "total"),
            money(row.tail_mean),
            _banded(row, "largest"),
        )
        for row, gross in zip(each_row(scaled), before.table["total"], strict=True)
    ]
    currency = currency_of(answer.exposure.result)
    head = f"HOW BAD A BAD YEAR IS: exceeded once in so many such {stretches(answer)}, {currency}{said}"
    named = largest_boat(answer) + evened_out(answer)
    return f"{head}\n\n{text_table(columns, cells)}\n{paragraph(named)}"


def _segments(answer: Answer, by: str, frame: pd.DataFrame, top: int) -> str:
    unit, said = money_unit(float(answer.exposure.book.value.sum()), 1e9)
    columns = [
        Column(by.replace("_", " ").capitalize()),
        Column("Boats", number=True),
        Column("Value", number=True),
        Column("Mean,\nbefore", number=True),
        Column("Mean,\nafter", number=True),
        Column("Share", number=True),
        Column(f"Worst year\nin {WORST}", number=True),
        Column("Share", number=True),
    ]
    cells = [
        (
            row.segment,
            f"{row.boats:,}",
            price(row.value / unit),
            price(row.before / unit),
            price(row.after / unit),
            _percent(row.share),
            price(row.worst / unit),
            _percent(row.worst_share),
        )
        for row in each_row(frame.head(top))
    ]
    head = f"WHERE THE LOSS SITS, by {by.replace('_', ' ')}" + (f",{said}" if said else "")
    return f"{head}\n\n{text_table(columns, cells)}{_more(frame, top)}"


def _boat_frame(answer: Answer) -> pd.DataFrame:
    exposure = answer.exposure
    vessels = exposure.book.vessels
    frame = pd.DataFrame({"vessel_id": vessels["vessel_id"], "boat": boat_names(exposure.result, vessels)})
    frame = frame.assign(
        value=vessels["value"],
        before=exposure.before.mean.sum(axis=1),
        after=exposure.after.mean.sum(axis=1),
        worst=exposure.after.tail.sum(axis=1),
    )
    return frame.sort_values(["worst", "vessel_id"], ascending=[False, True], kind="stable").reset_index(
        drop=True
    )


def _boats(answer: Answer, top: int) -> str:
    frame = _boat_frame(answer)
    whole = max(float(answer.exposure.after.tail.sum()), 1e-12)
    columns = [
        Column("Boat"),
        Column("Value", number=True),
        Column("Mean,\nbefore", number=True),
        Column("Mean,\nafter", number=True),
        Column(f"Worst year\nin {WORST}", number=True),
        Column("Share", number=True),
    ]
    cells = [
        (
            f"{row.boat} ({row.vessel_id})" if row.boat != row.vessel_id else row.boat,
            price(row.value),
            price(row.before),
            price(row.after),
            price(row.worst),
            _percent(row.worst / whole),
        )
        for row in each_row(frame.head(top))
    ]
    return f"THE BOATS behind the worst year in {WORST}\n\n{text_table(columns, cells)}{_more(frame, top)}"


def money_unit(largest: float, fits: float) -> tuple[float, str]:
    """What amounts are divided by so that the largest stays short (below ``fits``, in thousands a tenth of it), and how
    that is said."""
    if largest < fits:
        return 1.0, ""
    return (1e3, " thousand") if largest < 1e2 * fits else (1e6, " million")


def _banded(row: Any, name: str) -> str:
    low, high = getattr(row, f"{name}_low"), getattr(row, f"{name}_high")
    return f"{money(getattr(row, name))} ({money(low)}-{money(high)})"


def _percent(share: float) -> str:
    if share <= 0:
        return "0 %"
    if share < 0.005:
        return "<1 %"
    return f"{100 * share:.0f} %" if share >= 1 else f"{min(round(100 * share), 99)} %"


def _more(frame: pd.DataFrame, top: int) -> str:
    more = len(frame) - top
    return f"\n({more} more: ask for --top {len(frame)}, or --format csv for all.)" if more > 0 else ""


def _span(answer: Answer) -> str:
    horizon = answer.exposure.result.horizon
    return f"{horizon.as_of} to {horizon.until}"


def stretches(answer: Answer) -> str:
    """What a return period counts: years, or stretches as long as the time ahead."""
    days = (answer.exposure.result.horizon.until - answer.exposure.result.horizon.as_of).days
    return "years" if days >= YEAR else f"stretches of {days} days"
