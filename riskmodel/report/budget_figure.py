"""The curve of loss averted against the money given, with the amount asked about marked on it."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from riskmodel.plan.budget.plan import Plan
from riskmodel.report.figure_file import own_look, save_figure
from riskmodel.report.life_panels import GREY, INK
from riskmodel.report.rank import currency_of
from riskmodel.words import money, price, ratio

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# One colour for what money buys, beside ink and grey.
BOUGHT = "#1f5f8b"
COMES_FIRST = ("what comes", "before money")
# Share of the axis that these words in two lines are wide, with air on both sides; share of its height that the
# words beside the mark are high (both measured on the figure).
ROOM, LOW = 0.14, 0.2
FOOT = (
    "Single tasks' loss averted, added up, before insurance; good plans for every amount, the one asked about proved. "
    "Estimates, not a survey. Where the curve is flat money averts little by this day; it is no reason to leave a "
    "known defect, a path that can kill, or rubber past its age."
)


def budget_figure(plan: Plan) -> Figure:
    """Loss averted by amount: first what comes before money, then what money buys; the amount and its plan marked."""
    from matplotlib.figure import Figure

    with own_look():
        figure = Figure(figsize=(8.0, 5.0))
        axes = figure.add_axes((0.10, 0.24, 0.86, 0.63))
        _curve(axes, plan)
        _mark(axes, plan)
        horizon = plan.result.horizon
        title = f"What more money averts, {horizon.as_of} to {horizon.until}"
        figure.text(0.10, 0.94, title, fontsize=11, weight="bold", va="center")
        figure.text(0.10, 0.04, textwrap.fill(FOOT, 118), fontsize=7, va="bottom")
    return figure


def write_budget_figure(path: Path, plan: Plan) -> None:
    """Writes the figure, of the kind ``path`` names (.png, .pdf, .svg); the same plan makes the same bytes."""
    save_figure(budget_figure(plan), path)


def _curve(axes: Axes, plan: Plan) -> None:
    curve, currency = plan.curve, currency_of(plan.result)
    amount, averted = curve["amount"].to_numpy(dtype=float), curve["averted"].to_numpy(dtype=float)
    met = curve["satisfied"].to_numpy(dtype=bool)
    first = np.argmax(met) if met.any() else len(met) - 1
    if first > 0:
        axes.axvspan(0, amount[first], color="#efefef", zorder=0)
        _name_band(axes, float(amount[first] / amount[-1]))
    axes.step(amount[: first + 1], averted[: first + 1], where="post", color=INK, linewidth=1.4)
    axes.plot(amount[first:], averted[first:], color=BOUGHT, linewidth=1.8)
    axes.set(xlim=(0, amount[-1]), ylim=(0, max(averted[-1] * 1.12, 1.0)))
    axes.set_xlabel(f"Money given, {currency}")
    axes.set_ylabel(f"Expected loss averted, {currency}")
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(lambda value, _: price(value))
    axes.grid(color="#e4e4e4", linewidth=0.6)
    axes.set_axisbelow(True)


def _name_band(axes: Axes, share: float) -> None:
    """Names the grey band, ``share`` of the axis wide: in it where the words fit, else beside it with a leader."""
    look: dict[str, Any] = {"color": GREY, "fontsize": 7.5, "va": "top"}
    if share >= ROOM:
        place = (share / 2, 0.97)
        axes.text(
            *place, f"{COMES_FIRST[0]}\n{COMES_FIRST[1]}", transform=axes.transAxes, ha="center", **look
        )
        return
    axes.annotate(
        " ".join(COMES_FIRST),
        (share / 2, 0.95),
        xycoords="axes fraction",
        xytext=(share + 0.04, 0.97),
        textcoords="axes fraction",
        ha="left",
        arrowprops={"arrowstyle": "-", "color": GREY, "linewidth": 0.7},
        **look,
    )


def _mark(axes: Axes, plan: Plan) -> None:
    """The amount asked about, and what it averts in words."""
    currency, averted = currency_of(plan.result), plan.averted
    axes.axvline(plan.amount, color=GREY, linewidth=0.9, linestyle="--")
    axes.plot([plan.amount], [averted], marker="o", color=BOUGHT, markersize=6, clip_on=False)
    said = f"{currency} {price(plan.amount)} averts {money(averted)};\n"
    if plan.satisfied:
        said += f"one more averts about {ratio(plan.shadow_price)}"
    else:
        said += "not enough for what comes first"
    right = plan.amount > 0.6 * float(plan.curve["amount"].iloc[-1])
    # Near the foot the words would print over the axis.
    low = averted < LOW * axes.get_ylim()[1]
    axes.annotate(
        said,
        (plan.amount, averted),
        xytext=(-10 if right else 10, 16 if low else -12),
        textcoords="offset points",
        ha="right" if right else "left",
        va="bottom" if low else "top",
        fontsize=8,
    )
