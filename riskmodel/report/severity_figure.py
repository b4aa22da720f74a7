"""The table of probability levels and severity categories as a figure: numbers and words on one neutral tint."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from riskmodel.consequence.severity import money_bands
from riskmodel.frames import each_row
from riskmodel.report.figure_file import own_look, save_figure
from riskmodel.report.life_panels import INK
from riskmodel.report.rank import currency_of
from riskmodel.report.severity_parts import (
    cell_words,
    deadly_parts,
    level_counts,
    levels_frame,
    money_scale,
    worst_parts,
)
from riskmodel.report.severity_view import (
    HEADLINE,
    LEGEND,
    apart,
    chance_text,
    parts_in_words,
    tailoring,
    word_sources,
)
from riskmodel.risk import Assessment
from riskmodel.words import in_a_thousand, money, price

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# One tint for every cell: a darker or brighter one would read as a verdict of its own.
TINT, FAINT = "#efefef", "#6b6b6b"
LISTED = 6
# Characters of the widest line of words under the title and at the foot, and of a name in the list.
ACROSS, NAME = 205, 52
# Places of the lists' columns: left edges of words, right edges of numbers.
EDGES = (0.0, 0.13, 0.76, 0.88, 1.0)


def levels_figure(result: Assessment) -> Figure:
    """The table with its counts and words, and beside it the parts of its worst cells with money and danger."""
    from matplotlib.figure import Figure

    parts = levels_frame(result)
    with own_look():
        figure = Figure(figsize=(14.0, 7.4))
        _cells(figure.add_axes((0.14, 0.21, 0.37, 0.60)), level_counts(parts, result.trade), result)
        _lists(figure.add_axes((0.54, 0.21, 0.44, 0.66)), parts, result)
        _words(figure, parts, result)
    return figure


def write_levels_figure(path: Path, result: Assessment) -> None:
    """Writes the figure, of the kind ``path`` names (.png, .pdf, .svg); the same assessment makes the same bytes."""
    save_figure(levels_figure(result), path)


def _cells(axes: Axes, counts: pd.DataFrame, result: Assessment) -> None:
    """Six rows of four tinted cells, worst in the corner at the top left as the standard prints it."""
    from matplotlib.patches import Rectangle

    words, trade = cell_words(result.trade), result.trade
    down, across = counts.shape
    for i, level in enumerate(counts.index):
        for j, category in enumerate(counts.columns):
            axes.add_patch(Rectangle((j + 0.02, i + 0.03), 0.96, 0.94, facecolor=TINT, edgecolor="none"))
            count = int(counts.loc[level, category])
            ink = INK if count else FAINT
            axes.text(
                j + 0.5,
                i + 0.40,
                f"{count}" if count else "–",
                fontsize=15,
                ha="center",
                va="center",
                color=ink,
            )
            axes.text(
                j + 0.5, i + 0.77, words.loc[level, category], fontsize=8, ha="center", va="center", color=ink
            )
    named = sorted(trade.severities.values(), key=lambda each: each.category)
    levels = [trade.probability_levels[name] for name in counts.index]
    least = money_bands(trade, money_scale(result))
    bands = [f"{price(bound)} {currency_of(result)} up" for bound in least[:-1]] + [
        f"under {price(least[-2])}"
    ]
    heads = [f"{each.category} {each.word}\n{band}*" for each, band in zip(named, bands, strict=True)]
    axes.set(xlim=(0, across), ylim=(down, 0))
    axes.set_xticks([n + 0.5 for n in range(across)], heads)
    meanings = [
        f"{each.level}  {each.word}\n{textwrap.fill(each.meaning.split(':')[0], 30)}" for each in levels
    ]
    axes.set_yticks([n + 0.5 for n in range(down)], meanings)
    axes.xaxis.tick_top()
    axes.tick_params(length=0, labelsize=8)
    axes.spines[:].set_visible(False)


def _lists(axes: Axes, parts: pd.DataFrame, result: Assessment) -> None:
    """Two short lists, a part in two lines: what can kill whatever it costs, then the worst cells with their money."""
    axes.set(xlim=(0, 1), ylim=(2 * LISTED + 3.2, -0.8))
    axes.axis("off")
    deadly, worst = deadly_parts(parts, LISTED), worst_parts(parts, LISTED)
    hurt = bool(deadly["injury_probability"].notna().any())
    heads = ["Cell", "What can kill, likeliest first", "", "Can kill,\nin 1,000"]
    _line(axes, 0.0, [*heads, "Injures,\nin 1,000"] if hurt else [*heads[:2], "", *heads[2:]], FAINT)
    for place, (row, name) in enumerate(zip(each_row(deadly), parts_in_words(deadly, result), strict=True)):
        cells = [f"{row.deadly_level}1 {row.deadly_risk}", _two_lines(name, row.deadly_end_state, result)]
        kills = in_a_thousand(row.kill_probability)
        cells += ["", kills, chance_text(row.injury_probability)] if hurt else ["", "", kills]
        _line(axes, place + 1.0, cells, INK)
    start = LISTED + 1.6
    heads = [
        "Cell",
        "The worst cells, money and people together",
        "Chance,\nin 1,000",
        f"If so,\n{currency_of(result)}",
    ]
    _line(axes, start, [*heads, "Can kill,\nin 1,000"], FAINT)
    for place, (row, name) in enumerate(zip(each_row(worst), parts_in_words(worst, result), strict=True)):
        cells = [f"{row.level}{row.category} {row.risk}", _two_lines(name, row.end_state, result)]
        cells += [in_a_thousand(row.chance), money(row.loss), chance_text(row.kill_probability)]
        _line(axes, start + place + 1.0, cells, INK)


def _two_lines(name: str, end_state: str, result: Assessment) -> str:
    return f"{textwrap.shorten(name, NAME, placeholder=' …')}\n{result.trade.end_states[end_state].label}"


def _line(axes: Axes, height: float, cells: list[str], ink: str) -> None:
    for place, (edge, cell) in enumerate(zip(EDGES, cells, strict=True)):
        side = "left" if place < 2 else "right"
        axes.text(edge, height, cell, fontsize=7.5, ha=side, va="center", color=ink, linespacing=1.15)


def _words(figure: Figure, parts: pd.DataFrame, result: Assessment) -> None:
    """Title, the sentence that comes first, and at the foot whose bands these are and how it was counted."""
    horizon = result.horizon
    title = f"Parts by probability level and severity category, {horizon.as_of} to {horizon.until}"
    figure.text(0.02, 0.965, title, fontsize=12, weight="bold", va="center")
    figure.text(0.02, 0.945, textwrap.fill(HEADLINE, ACROSS), fontsize=8.5, va="top")
    sources = f"Words of risk: {'; '.join(word_sources(result.trade))}. Estimates, not a survey."
    foot = (f"* {tailoring(result)}", LEGEND, apart(parts), sources)
    figure.text(
        0.02, 0.03, "\n".join(textwrap.fill(line, ACROSS) for line in foot), fontsize=7.5, va="bottom"
    )
