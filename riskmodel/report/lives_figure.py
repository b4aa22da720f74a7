"""Figures of lives: one class in two panels, all classes on one sheet, and the files they are written to."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskmodel.errors import ParameterError
from riskmodel.report.figure_file import figure_kind, own_look, save_figure, save_pages
from riskmodel.report.life_panels import (
    Picture,
    draw_curves,
    draw_paper,
    draw_small_trade,
    draw_trade,
    picture,
)
from riskmodel.report.observed_life import LEAST_WATCHED
from riskmodel.risk.lives import Lives
from riskmodel.trade import Trade
from riskmodel.words import counted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ACROSS = 5
FOOT = "Estimates, not a survey. A longer life here is no reason to stretch the maker's or the trade's renewal age."
SHEET_FOOT = f"* Records and trade interval disagree: trust neither alone. {FOOT}"


def life_figure(name: str, lives: Lives, trade: Trade) -> Figure:
    """Class ``name`` in two panels: chance of having let go by age, and the same on probability paper.

    Raises ParameterError when the fleet has no such class.
    """
    if name not in lives.posterior:
        raise ParameterError(f"item class must be one of the fleet's, got {name}")
    from matplotlib.figure import Figure

    with own_look():
        shown = picture(name, lives)
        figure = Figure()
        curves, paper = _two_panels(figure, shown)
        draw_curves(curves, shown)
        draw_paper(paper, shown)
        _words(figure, shown, trade.classes[name].label)
        figure.legend(
            *_keys(curves, paper),
            loc="lower left",
            bbox_to_anchor=(0.055, 0.42 / figure.get_figheight()),
            ncols=4,
            frameon=False,
        )
    return figure


def lives_sheet(lives: Lives, trade: Trade) -> Figure:
    """Every class of the fleet on one sheet: a small life curve each, in order of name."""
    from matplotlib.figure import Figure

    names = sorted(lives.posterior)
    down = ceil(len(names) / ACROSS)
    height = 1.7 + 2.25 * down
    with own_look():
        figure = Figure(figsize=(14.0, height))
        edges = {"left": 0.04, "right": 0.99, "top": 1 - 1.05 / height, "bottom": 0.8 / height}
        grid = figure.add_gridspec(down, ACROSS, wspace=0.18, hspace=0.8, **edges)
        for place, name in enumerate(names):
            axes = figure.add_subplot(grid[place // ACROSS, place % ACROSS])
            _small(axes, picture(name, lives), trade.classes[name].label)
        title = "Chance (%) of having let go by age (years). Bars, by the trade: renew by (black), typical life (grey)"
        figure.text(0.04, 1 - 0.28 / height, title, fontsize=12, weight="bold", va="center")
        if names:
            figure.legend(
                *_keys(*figure.axes),
                loc="lower left",
                bbox_to_anchor=(0.03, 0.2 / height),
                ncols=4,
                frameon=False,
            )
        figure.text(0.04, 0.12 / height, SHEET_FOOT, fontsize=7.5)
    return figure


def write_life_figure(path: Path, name: str, lives: Lives, trade: Trade) -> None:
    """Writes the figure of one class, of the kind ``path`` names; the same lives make the same bytes."""
    save_figure(life_figure(name, lives, trade), path)


def write_lives_figures(path: Path, lives: Lives, trade: Trade) -> None:
    """Writes all classes: as .pdf the sheet and then a page a class, otherwise the sheet."""
    if figure_kind(path) != ".pdf":
        save_figure(lives_sheet(lives, trade), path)
        return
    save_pages(_pages(lives, trade), path)


def _pages(lives: Lives, trade: Trade) -> Iterator[Figure]:
    yield lives_sheet(lives, trade)
    for name in sorted(lives.posterior):
        yield life_figure(name, lives, trade)


def _two_panels(figure: Figure, shown: Picture) -> tuple[Axes, Axes]:
    """Axes for the curves, with the trade's strip over them, and for the paper; sizes in inches."""
    strip = 0.17 * len(shown.intervals) + 0.05
    panel, head, foot = 3.6, 0.78, 1.2
    height = head + strip + panel + foot
    figure.set_size_inches(11.0, height)
    edges = {"left": 0.06, "right": 0.985, "top": 1 - head / height, "bottom": foot / height}
    grid = figure.add_gridspec(2, 2, height_ratios=[strip, panel], hspace=0.0, wspace=0.16, **edges)
    curves, paper = figure.add_subplot(grid[1, 0]), figure.add_subplot(grid[:, 1])
    draw_trade(figure.add_subplot(grid[0, 0]), shown)
    curves.set_xlabel("age (years)")
    curves.set_ylabel("chance of having let go (%)")
    curves.set_yticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100"])
    paper.set_xlabel("age (years), log scale")
    paper.set_ylabel("chance of having let go (%), Weibull scale")
    return curves, paper


def _words(figure: Figure, shown: Picture, label: str) -> None:
    """Title with what was seen, a line on a conflict, and the foot with how the records were reckoned."""
    height = figure.get_figheight()
    figure.text(0.06, 1 - 0.27 / height, f"{label}: {_seen(shown)}", fontsize=12, weight="bold", va="center")
    told = "Bars: what the trade says of its life, in years."
    if shown.after.conflict:
        told = (
            "Records and trade interval disagree: trust neither alone, look at how the records were kept. "
            + told
        )
    figure.text(0.06, 1 - 0.53 / height, told, fontsize=8, va="center")
    figure.text(0.06, 0.26 / height, _reckoned(shown), fontsize=7.5)
    figure.text(0.06, 0.11 / height, FOOT, fontsize=7.5)


def _seen(shown: Picture) -> str:
    rows = shown.after.rows
    if not len(rows):
        return "no records of its own" if shown.moved else "no records, so the trade's word alone"
    failures, survivors = round(rows.failures), round(rows.survivors)
    return f"{counted(failures, 'failure') if failures else 'no failure'} and {counted(survivors, 'survivor')} seen"


def _reckoned(shown: Picture) -> str:
    observed = shown.observed
    if observed is None:
        return "Records alone: too few failures, or too few parts watched at any age, to draw."
    few = f"few failures, {observed.failures:.1f}; " if observed.few else ""
    said = f"Records alone: {few}{observed.method}; drawn while {LEAST_WATCHED:g} or more parts are watched"
    said += f", begun on the curve at {observed.start:.1f} years" if observed.start > 0 else ""
    shares = (shown.after.rows.count % 1 > 0).any()
    return said + ("; parts of unknown age count in shares." if shares else ".")


def _small(axes: Axes, shown: Picture, label: str) -> None:
    draw_curves(axes, shown)
    draw_small_trade(axes, shown)
    mark = " *" if shown.after.conflict else ""
    # Placed by hand: a title of the frame would be moved about by the bars over it.
    told = f"{label}{mark}\n{_seen(shown)}"
    axes.annotate(
        told, (0.0, 1.0), (0.0, 15.0), xycoords="axes fraction", textcoords="offset points", va="bottom"
    )
    axes.set_yticks([0.0, 0.5, 1.0], ["0", "50", "100"])
    axes.tick_params(labelsize=7)


def _keys(*panels: Axes) -> tuple[list[Any], list[str]]:
    """One key for each kind of line on the panels."""
    found: dict[str, Any] = {}
    for axes in panels:
        for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
            found.setdefault(label, handle)
    return list(found.values()), list(found)
