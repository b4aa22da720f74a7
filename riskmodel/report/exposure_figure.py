"""The insurer's year as a figure: exceedance by return period, what drives it, and the book's ages against its loss."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.exposed import BAND, WORST, Exposure, drawn_quantiles
from riskmodel.exposure.segments import AGE, segments
from riskmodel.report.life_panels import GREY, INK
from riskmodel.report.lives_figure import LOOK, UNDATED, figure_kind
from riskmodel.report.rank import currency_of
from riskmodel.words import counted, price

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# One colour for what the book pays, a lighter one for its worst years, beside ink and grey.
PAID, WORSE = "#1f5f8b", "#9dbdd3"
SHOWN_YEARS = np.geomspace(1.25, 500.0, 60)
TICKS = (2, 5, 10, 20, 50, 100, 200, 500)
LISTED = 10
NAME = 30
FOOT = (
    "Wet-system losses only: not weather, collision, theft or liability. Band: 5 % to 95 % of the draws of what is "
    "uncertain. Estimates, not a survey, and no advice on cover; no reason to leave a known defect or a path that can "
    "kill."
)


def exposure_figure(answer: Answer) -> Figure:
    """Exceedance curve with its parameter band; bars of the first segments asked for; age of the hulls against loss."""
    import matplotlib
    from matplotlib.figure import Figure

    exposure = answer.exposure
    by, frame = next(iter(answer.segments.items()))
    ages = answer.segments[AGE] if AGE in answer.segments else segments(exposure, AGE)
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(LOOK)
        figure = Figure(figsize=(9.0, 8.4))
        _curve(figure.add_axes((0.10, 0.545, 0.86, 0.37)), exposure)
        _drivers(figure.add_axes((0.22, 0.13, 0.29, 0.29)), frame, by)
        _ages(figure.add_axes((0.635, 0.13, 0.325, 0.29)), ages)
        horizon = exposure.result.horizon
        title = f"{counted(exposure.book.boats, 'boat')}, losses from {horizon.as_of} to {horizon.until}"
        figure.text(0.10, 0.955, title, fontsize=11, weight="bold", va="center")
        figure.text(0.10, 0.02, textwrap.fill(FOOT, 135), fontsize=7, va="bottom")
    return figure


def write_exposure_figure(path: Path, answer: Answer) -> None:
    """Writes the figure, of the kind ``path`` names (.png, .pdf, .svg); the same answer makes the same bytes."""
    import matplotlib

    kind = figure_kind(path)
    figure = exposure_figure(answer)
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(LOOK)
        figure.savefig(path, format=kind.removeprefix("."), metadata=UNDATED[kind])


def _curve(axes: Axes, exposure: Exposure) -> None:
    after, currency = exposure.after, currency_of(exposure.result)
    wanted = 1.0 - 1.0 / SHOWN_YEARS
    low, high = np.quantile(
        drawn_quantiles(after.total.losses, after.years.pmf, wanted), [BAND, 1.0 - BAND], axis=0
    )
    axes.fill_between(
        SHOWN_YEARS, low, high, color=PAID, alpha=0.16, linewidth=0, label="total, 90 % of the draws"
    )
    axes.plot(SHOWN_YEARS, after.total.quantile(wanted), color=PAID, linewidth=1.8, label="total after terms")
    axes.plot(
        SHOWN_YEARS, after.largest.quantile(wanted), color=INK, linewidth=1.2, label="largest single loss"
    )
    if exposure.before is not exposure.after:
        before = exposure.before.total.quantile(wanted)
        axes.plot(SHOWN_YEARS, before, color=GREY, linewidth=1.0, linestyle="--", label="total before terms")
    axes.axhline(after.total.mean, color=GREY, linewidth=0.8, linestyle=":")
    axes.text(
        SHOWN_YEARS[-1],
        after.total.mean,
        f"mean {price(after.total.mean)} ",
        ha="right",
        va="bottom",
        color=GREY,
    )
    axes.set(xscale="log", xlim=(SHOWN_YEARS[0], SHOWN_YEARS[-1]), ylim=(0, None))
    axes.set_xticks(TICKS, [str(each) for each in TICKS])
    axes.minorticks_off()
    axes.set_xlabel("Exceeded once in so many years (or such stretches of time)")
    axes.set_ylabel(f"Loss, {currency}")
    axes.yaxis.set_major_formatter(lambda value, _: price(value))
    axes.grid(color="#e4e4e4", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.legend(loc="upper left", frameon=False)


def _drivers(axes: Axes, frame: pd.DataFrame, by: str) -> None:
    """Shares of the mean and of the worst years, two bars a segment."""
    shown = frame.head(LISTED).iloc[::-1]
    _pairs(axes.barh, shown, ("share", "worst_share"), (PAID, WORSE), (0.19, -0.19))
    axes.set_yticks(
        range(len(shown)), [textwrap.shorten(name, NAME, placeholder="…") for name in shown["segment"]]
    )
    axes.set_title(
        f"Where the loss sits, by {by.replace('_', ' ')}", loc="left", fontsize=9, weight="bold", x=-0.60
    )
    axes.xaxis.set_major_formatter(lambda value, _: f"{100 * value:.0f} %")
    axes.set_xlabel("Share after terms")
    axes.legend(
        ["of the mean", f"of the worst year in {WORST}"],
        loc="upper right",
        bbox_to_anchor=(1.0, -0.14),
        frameon=False,
        ncols=2,
        columnspacing=1.0,
    )
    _plain(axes, "x")


def _ages(axes: Axes, frame: pd.DataFrame) -> None:
    """Where the value sits by age of the hull, beside where the loss sits."""
    whole = frame.assign(value_share=frame["value"] / frame["value"].sum())
    _pairs(axes.bar, whole, ("value_share", "share"), (GREY, PAID), (-0.19, 0.19))
    labels = [name.replace(" years", "").replace(" or more", "+") for name in whole["segment"]]
    axes.set_xticks(range(len(whole)), labels)
    axes.set_title("Age of the hulls, and where the loss sits", loc="left", fontsize=9, weight="bold")
    axes.yaxis.set_major_formatter(lambda value, _: f"{100 * value:.0f} %")
    axes.set_xlabel("Years since built")
    axes.legend(
        ["share of value", "share of mean loss"],
        loc="upper right",
        bbox_to_anchor=(1.0, -0.14),
        frameon=False,
        ncols=2,
        columnspacing=1.0,
    )
    _plain(axes, "y")


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


def _plain(axes: Axes, along: str) -> None:
    axes.grid(axis="x" if along == "x" else "y", color="#e4e4e4", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(length=0)
