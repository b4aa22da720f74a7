"""The panels of a life's figure: life curves under the trade's intervals, and the same on probability paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life import Life
from riskmodel.report.observed_life import ObservedLife, observed_life
from riskmodel.risk.lives import Lives
from riskmodel.trade import Interval

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, GREY, PALE, ACCENT = "#1f1f1f", "#8a8a8a", "#e3e3e3", "#1f5fa8"
POINTS = 160
# Probability paper shows these chances, and no lower.
PAPER_CHANCES = np.array([0.001, 0.003, 0.01, 0.03, 0.1, 0.2, 0.5, 0.8, 0.95, 0.99])
# Survivors' ages are gathered into this many ticks of the rug; one as heavy as this many lives is solid.
RUG, SOLID = 240, 3.0
MEANINGS = {"renew_by": "renew by", "typical_life": "typical life"}


@dataclass(frozen=True)
class Picture:
    """What the panels of one class draw: lives before and after its records, the records' own estimate, the trade."""

    before: Life
    after: Life
    observed: ObservedLife | None
    intervals: tuple[Interval, ...]
    oldest: float

    @property
    def moved(self) -> bool:
        """True when records, its own or those of classes it is pooled with, said something of the life."""
        before, after = self.before.nodes, self.after.nodes
        return len(self.after.rows) > 0 or not np.array_equal(before.weight, after.weight)


def picture(name: str, lives: Lives) -> Picture:
    """What there is to draw of class ``name``; the age axes run to where most have let go."""
    before, after = lives.prior[name], lives.posterior[name]
    intervals = tuple(row for row in lives.seeds[name].intervals if row.unit == "years")
    seen = float(after.rows.lower.max(initial=0.0))
    said = [(1.25 * row.low, 2.0 * row.high) for row in intervals]
    most = min(float(after.quantile(0.9).age), max(seen, *(high for _, high in said)))
    oldest = 1.04 * max(most, seen, *(low for low, _ in said))
    return Picture(before, after, observed_life(after.rows), intervals, oldest)


def draw_curves(axes: Axes, shown: Picture) -> None:
    """Chance of having let go against age: before records, with them (90 % bands), and the records' steps."""
    ages = np.linspace(0.0, shown.oldest, POINTS)
    _band(axes, ages, shown.before, GREY, "--", "before your records, with 90 % band")
    if shown.moved:
        _band(axes, ages, shown.after, ACCENT, "-", "with your records, with 90 % band")
    if shown.observed is not None:
        age, failed = _joined(shown.observed, shown.after)
        style = ":" if shown.observed.few else "-"
        label = "records alone" + (", few failures" if shown.observed.few else "")
        axes.step(age, failed, style, where="post", color=INK, linewidth=1.1, label=label, zorder=4)
    axes.set_xlim(0.0, shown.oldest)
    axes.set_ylim(0.0, 1.0)


def draw_trade(axes: Axes, shown: Picture) -> None:
    """The trade's intervals as bars over the age axis, one a row, each with its words beside it."""
    in_order = sorted(shown.intervals, key=lambda row: (row.meaning, row.low, row.high))
    for place, row in enumerate(in_order):
        _bar(axes, row, float(place), shown.oldest)
        span = f"{row.low:g}" if row.low == row.high else f"{row.low:g}–{row.high:g}"
        words = f"{MEANINGS.get(row.meaning, row.meaning)} {span}"
        words += " (needs work)" if row.grade == "needs_work" else ""
        left = row.high > 0.6 * shown.oldest and row.low > 0.4 * shown.oldest
        at = row.low if left else min(row.high, shown.oldest)
        side, gap = ("right", -5.0) if left else ("left", 5.0)
        axes.annotate(
            words, (at, place), (gap, 0.0), textcoords="offset points", ha=side, va="center", fontsize=7
        )
    axes.set_ylim(len(shown.intervals) - 0.4, -0.6)
    axes.set_xlim(0.0, shown.oldest)
    axes.set_axis_off()


def draw_small_trade(axes: Axes, shown: Picture) -> None:
    """The same without words, just over the frame of a small panel: renewals lower, typical lives higher."""
    for row in shown.intervals:
        _bar(axes, row, 1.06 if row.meaning == "renew_by" else 1.13, shown.oldest)


def draw_paper(axes: Axes, shown: Picture) -> None:
    """The same where a Weibull life is a straight line, with the ages of survivors as a rug at the foot."""
    after, observed = shown.after, shown.observed
    youngest = float(after.quantile(2 * PAPER_CHANCES[0]).age)
    if observed is not None:
        youngest = min(youngest, float(observed.age[0]))
    ages = np.geomspace(0.85 * max(youngest, shown.oldest / 300), shown.oldest, POINTS)
    colour, style = (ACCENT, "-") if shown.moved else (GREY, "--")
    low, high = after.survival_interval(ages)
    axes.fill_between(ages, _paper(1 - high), _paper(1 - low), color=colour, alpha=0.22, linewidth=0)
    axes.plot(ages, _paper(1 - after.survival(ages)), style, color=colour, linewidth=1.8)
    if observed is not None:
        base = _base(observed, after)
        points = base + (1 - base) * observed.middle
        high_enough = points >= PAPER_CHANCES[0]
        axes.plot(
            observed.age[high_enough],
            _paper(points[high_enough]),
            "o",
            color=INK,
            markersize=3,
            markerfacecolor="white",
            label="the same at the middle of its steps",
            zorder=4,
        )
    _rug(axes, shown)
    axes.set_xscale("log")
    axes.set_xlim(ages[0], ages[-1])
    axes.set_ylim(*_paper(PAPER_CHANCES[[0, -1]]) + np.array([-0.9, 0.1]))
    axes.set_yticks(_paper(PAPER_CHANCES), [f"{100 * chance:g}" for chance in PAPER_CHANCES])
    years = _round_ages(ages[0], ages[-1])
    axes.set_xticks(years, [f"{age:g}" for age in years])
    axes.set_xticks([], minor=True)


def _band(axes: Axes, ages: FloatArray, life: Life, colour: str, style: str, label: str) -> None:
    low, high = life.survival_interval(ages)
    axes.fill_between(ages, 1 - high, 1 - low, color=colour, alpha=0.22, linewidth=0)
    axes.plot(ages, 1 - life.survival(ages), color=colour, linestyle=style, linewidth=1.8, label=label)


def _joined(observed: ObservedLife, after: Life) -> tuple[FloatArray, FloatArray]:
    """The records' steps from ``start`` to ``end``, begun on the life's own curve at the start."""
    base = _base(observed, after)
    failed = base + (1 - base) * np.concatenate([[0.0], observed.failed, observed.failed[-1:]])
    return np.concatenate([[observed.start], observed.age, [observed.end]]), failed


def _bar(axes: Axes, row: Interval, place: float, oldest: float) -> None:
    """A bar from the interval's low to its high end, cut where the axis ends; a stroke where they are one."""
    colour = INK if row.meaning == "renew_by" else GREY
    ends = [row.low, max(min(row.high, oldest), row.low + 0.006 * oldest)]
    axes.plot(ends, [place, place], color=colour, linewidth=4, solid_capstyle="butt", clip_on=False)


def _base(observed: ObservedLife, after: Life) -> float:
    return float(after.failure_probability(0.0, observed.start))


def _paper(chance: FloatArray) -> FloatArray:
    """log(-log(1 - F)), cut off at the least chance shown, under which the rug lies."""
    height: FloatArray = np.log(-np.log1p(-np.clip(chance, PAPER_CHANCES[0], 1 - 1e-12)))
    return height


def _round_ages(low: float, high: float) -> list[float]:
    """1, 2, 5, 10, 20, ... between the ends."""
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    return [
        first * 10.0**power for power in powers for first in (1, 2, 5) if low <= first * 10.0**power <= high
    ]


def _rug(axes: Axes, shown: Picture) -> None:
    rows = shown.after.rows
    whole = np.isinf(rows.upper) & (rows.lower > 0)
    if not whole.any():
        return
    ages, counts = rows.lower[whole], rows.count[whole]
    edges = np.geomspace(ages.min() * 0.999, max(ages.max(), ages.min() * 1.01) * 1.001, RUG + 1)
    weight = np.histogram(ages, edges, weights=counts)[0]
    middle = np.sqrt(edges[:-1] * edges[1:])[weight > 0]
    strength = np.clip(weight[weight > 0] / SOLID, 0.12, 1.0)
    colours = [(0.12, 0.12, 0.12, float(each)) for each in strength]
    axes.vlines(middle, 0.0, 0.045, colors=colours, linewidth=1.0, transform=axes.get_xaxis_transform())
    axes.annotate(
        "survivors, each at the age last seen whole",
        (0.015, 0.052),
        xycoords="axes fraction",
        fontsize=7,
        color=INK,
    )
