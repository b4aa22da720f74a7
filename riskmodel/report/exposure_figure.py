"""The insurer's year as a figure: exceedance by return period, what drives it, and the book's ages against its loss."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.answer import Answer
from riskmodel.exposure.exposed import BAND, WORST, Quantiles, quantiles_of
from riskmodel.exposure.schedule.answer import any_segments
from riskmodel.exposure.schedule.side import AnySide
from riskmodel.exposure.segments import AGE
from riskmodel.report.exposure import money_unit, stretches
from riskmodel.report.figure_file import own_look, save_figure
from riskmodel.report.life_panels import GREY, INK
from riskmodel.report.rank import currency_of
from riskmodel.words import counted, price

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# One colour for what the book pays, a lighter one for its worst years, beside ink and grey: told apart by lightness.
PAID, WORSE = "#1f5f8b", "#9dbdd3"
RULE = "#e4e4e4"
SHOWN_YEARS = np.geomspace(1.25, 500.0, 60)
NOT_EXCEEDED = 1.0 - 1.0 / SHOWN_YEARS
TICKS = (2, 5, 10, 20, 50, 100, 200, 500)
LISTED = 10
# Letters of a segment's name that fit beside its bars (measured on the figure).
NAME = 28
# Amounts up to this fit beside the axis; larger ones are told in thousands or millions.
FITS = 1e7
# Where heads begin, as shares of the figure's width.
LEFT, MIDDLE = 0.022, 0.575
ONLY = "Wet-system losses only: not weather, collision, theft or liability."
FOOT = (
    "Bands: 5 % to 95 % of the draws of what is uncertain of all boats at once. Estimates, not a survey, and no advice "
    "on cover; no reason to leave a known defect or a path that can kill."
)


def exposure_figure(answer: Answer) -> Figure:
    """Exceedance curve with its parameter band; bars of the first segments asked for; age of the hulls against loss."""
    from matplotlib.figure import Figure

    exposure = answer.exposure
    by, frame = next(iter(answer.segments.items()))
    ages = answer.segments[AGE] if AGE in answer.segments else any_segments(exposure, AGE)
    with own_look():
        figure = Figure(figsize=(9.0, 8.6))
        _curve(figure.add_axes((0.10, 0.535, 0.86, 0.345)), answer)
        _drivers(figure.add_axes((0.22, 0.125, 0.28, 0.295)), frame, by)
        _ages(figure.add_axes((0.64, 0.125, 0.32, 0.295)), ages)
        horizon = exposure.result.horizon
        title = f"{counted(exposure.book.boats, 'boat')}, losses from {horizon.as_of} to {horizon.until}"
        figure.text(LEFT, 0.965, title, fontsize=11, weight="bold", va="center")
        figure.text(LEFT, 0.94, ONLY, va="center")
        figure.text(LEFT, 0.015, textwrap.fill(FOOT, 150), fontsize=7, va="bottom")
    return figure


def write_exposure_figure(path: Path, answer: Answer) -> None:
    """Writes the figure, of the kind ``path`` names (.png, .pdf, .svg); the same answer makes the same bytes."""
    save_figure(exposure_figure(answer), path)


def _curve(axes: Axes, answer: Answer) -> None:
    """Total (aggregate) and largest single loss (occurrence) by return period, with the totals' bands."""
    exposure = answer.exposure
    after, before = exposure.after, exposure.before
    unit, said = money_unit(float(before.table["total_high"].max()), FITS)
    over = ", after terms" if before is not after else ""
    if over:
        _total(axes, before, unit, (GREY, "--", "total of all losses (aggregate), before terms"))
    _total(axes, after, unit, (PAID, "-", f"total of all losses (aggregate){over}"))
    largest = after.largest.quantile(NOT_EXCEEDED) / unit
    axes.plot(SHOWN_YEARS, largest, color=INK, linewidth=1.2, label=f"largest single loss (occurrence){over}")
    mean = after.total.mean / unit
    axes.axhline(mean, color=GREY, linewidth=0.8, linestyle=":")
    axes.text(SHOWN_YEARS[-1], mean, f"mean{over.replace(',', '')} {price(mean)} ", ha="right", va="bottom")
    axes.set(xscale="log", xlim=(SHOWN_YEARS[0], SHOWN_YEARS[-1]), ylim=(0, None))
    axes.set_xticks(TICKS, [str(each) for each in TICKS])
    axes.minorticks_off()
    axes.set_xlabel(f"Exceeded once in so many {stretches(answer)}, on average")
    axes.set_ylabel(f"Loss, {currency_of(exposure.result)}{said}")
    axes.yaxis.set_major_formatter(lambda value, _: price(value))
    _headed(axes, "How bad a bad year is, with the band of 90 % of the draws", LEFT)
    axes.legend(loc="upper left", frameon=False)
    _ruled(axes, "both")


def _band(quantiles: Quantiles) -> FloatArray:
    """(2, years) the total exceeded once in SHOWN_YEARS: 5 % and 95 % over the draws [currency]."""
    found: FloatArray = np.quantile(quantiles.drawn_total, [BAND, 1.0 - BAND], axis=0)
    return found


def _total(axes: Axes, side: AnySide, unit: float, look: tuple[str, str, str]) -> None:
    """The total on one side of the terms in its band, in ``unit`` [currency]; ``look``: colour, line and label."""
    colour, style, label = look
    quantiles = quantiles_of(side.years, side.total, side.largest, NOT_EXCEEDED)
    band = _band(quantiles) / unit
    axes.fill_between(SHOWN_YEARS, *band, color=colour, alpha=0.16, linewidth=0)
    for edge in band:
        axes.plot(SHOWN_YEARS, edge, color=colour, alpha=0.7, linewidth=0.5, linestyle=style)
    axes.plot(SHOWN_YEARS, quantiles.total / unit, color=colour, linewidth=1.7, linestyle=style, label=label)


def _drivers(axes: Axes, frame: pd.DataFrame, by: str) -> None:
    """Shares of the mean and of the worst years, two bars a segment; segments not listed have one pair together."""
    shown = _with_others(frame).iloc[::-1]
    _pairs(axes.barh, shown, ("share", "worst_share"), (PAID, WORSE), (0.19, -0.19))
    axes.set_yticks(range(len(shown)), [_short(name) for name in shown["segment"]], linespacing=0.9)
    _headed(axes, f"Where the loss sits, by {by.replace('_', ' ')}", LEFT)
    axes.xaxis.set_major_formatter(lambda value, _: f"{100 * value:.0f} %")
    axes.set_xlabel("Share of the loss")
    _keyed(axes, ["of the mean", f"of the worst year in {WORST}"])
    _ruled(axes, "x")
    axes.tick_params(length=0)


def _with_others(frame: pd.DataFrame) -> pd.DataFrame:
    """The dearest segments, and the rest summed in a last row."""
    if len(frame) <= LISTED + 1:
        return frame
    rest = frame.iloc[LISTED:]
    others = rest[["share", "worst_share"]].sum().to_frame().T.assign(segment=f"{len(rest)} others")
    return pd.concat([frame.head(LISTED), others], ignore_index=True)


def _short(name: str) -> str:
    """A name that fits beside the bars: without brackets at its end, then in two lines, then cut."""
    said = name.replace("_", " ")
    said = said if len(said) <= NAME else re.sub(r" \([^()]*\)$", "", said)
    return textwrap.fill(textwrap.shorten(said, 2 * NAME - 6, placeholder="…"), NAME)


def _ages(axes: Axes, frame: pd.DataFrame) -> None:
    """Where the value sits by age of the hull, beside where the loss sits."""
    whole = frame.assign(value_share=frame["value"] / frame["value"].sum())
    _pairs(axes.bar, whole, ("value_share", "share"), (GREY, PAID), (-0.19, 0.19))
    labels = [name.replace(" years", "").replace(" or more", "+") for name in whole["segment"]]
    axes.set_xticks(range(len(whole)), labels)
    _headed(axes, "Age of the hulls, and where the loss sits", MIDDLE)
    axes.yaxis.set_major_formatter(lambda value, _: f"{100 * value:.0f} %")
    axes.set_xlabel("Years since built")
    axes.set_ylabel("Share of the whole book")
    _keyed(axes, ["of the value", "of the mean loss"])
    _ruled(axes, "y")
    axes.tick_params(length=0)


def _pairs(
    draw: object,
    frame: pd.DataFrame,
    columns: tuple[str, str],
    colours: tuple[str, str],
    shifts: tuple[float, float],
) -> None:
    assert callable(draw)
    for column, colour, shift in zip(columns, colours, shifts, strict=True):
        draw(np.arange(len(frame)) + shift, frame[column], 0.36, color=colour)


def _headed(axes: Axes, title: str, left: float) -> None:
    """A bold head that begins at ``left`` of the figure (0 to 1), whatever stands beside the axes."""
    place = axes.get_position()
    x = (left - place.x0) / place.width
    axes.set_title(title, loc="left", fontsize=9, weight="bold", x=x)


def _keyed(axes: Axes, labels: list[str]) -> None:
    """The key of two kinds of bars, under their axis."""
    axes.legend(
        labels, loc="upper right", bbox_to_anchor=(1.0, -0.13), frameon=False, ncols=2, columnspacing=1.0
    )


def _ruled(axes: Axes, along: Literal["x", "y", "both"]) -> None:
    axes.grid(axis=along, color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
