"""What the records teach beyond single classes: the fleet against the trade, surroundings, hours, lots."""

from __future__ import annotations

from riskmodel.report.text import paragraph
from riskmodel.risk.lives import Lives
from riskmodel.trade import Trade
from riskmodel.words import ratio

# A factor is worth a line once the records have moved it, or sharpened it, by this much of its doubt (judgement).
MOVED, SHARPENED = 0.3, 0.8
# A shift that one decimal shows as none.
LEAST_MOVED = 0.05


def taught(lives: Lives, trade: Trade) -> list[str]:
    """Paragraphs, in the order of how much they say."""
    return [*_pooled(lives), *_surroundings(lives), *_clocks(lives, trade), *_lots(lives, trade)]


def _pooled(lives: Lives) -> list[str]:
    low, middle, high = lives.pooled.factor
    failures = lives.pooled.failures
    if failures == 0:
        return [
            paragraph(
                "No failure is on record of a class with a renewal interval: the trade's reading stands."
            )
        ]
    return [
        paragraph(
            f"The fleet as a whole: from {_counted(failures, 'recorded failure')}, lives in this fleet run "
            f"{middle:.2g} times those that the trade's renewal intervals seed (90 %: {low:.2g} to {high:.2g}). "
            "Renewals of unwritten reason are read as sound here; where the other reading matters a line of its own "
            "says so."
        )
    ]


def _surroundings(lives: Lives) -> list[str]:
    ageing = lives.ageing
    lines = []
    for place, factor in enumerate(ageing.factors):
        shift, sd = float(ageing.shift[place]), float(ageing.sd[place])
        if abs(shift) < MOVED and sd > SHARPENED:
            continue
        lines.append(
            paragraph(
                f"Surroundings, {factor}: the records {_moved(shift)}, and leave {100 * sd:.0f} % of that doubt."
            )
        )
    return lines


def _moved(shift: float) -> str:
    """How far along the judged doubt, and which way; what would read as nothing is said to be none."""
    if abs(shift) < LEAST_MOVED:
        return "leave ageing in the middle of the judged doubt"
    side = "faster" if shift > 0 else "slower"
    return f"move ageing {abs(shift):.1f} of the judged doubt toward the {side} end"


def _clocks(lives: Lives, trade: Trade) -> list[str]:
    lines = []
    for name, both in lives.clocks.items():
        hours = both.by_hours.quantile(0.1)
        told = (
            "nearly together: the records cannot tell them apart"
            if both.entangled
            else "apart enough to be told apart"
        )
        lines.append(
            paragraph(
                f"{trade.classes[name].label} goes by years and by running hours: 10 % by {float(hours.age):.0f} hours "
                f"(90 %: {float(hours.lower):.0f} to {float(hours.upper):.0f}). Age and hours run {told} (correlation "
                f"{both.correlation:.2f}). Failures were shared between the two by expectation, so the spreads are a "
                "little too small."
            )
        )
    return lines


def _lots(lives: Lives, trade: Trade) -> list[str]:
    lines = []
    for (name, mark), lot in sorted(lives.lots.items()):
        if lot.failures == 0 and lot.expected < 1:
            continue
        lines.append(
            paragraph(
                f"Lot {mark} of {trade.classes[name].label.lower()}: {_counted(lot.failures, 'failure')} where "
                f"{ratio(lot.expected)} were to be expected; its parts are taken to fail {lot.mean:.2g} times as "
                "often as their class."
            )
        )
    return lines


def _counted(number: float, noun: str) -> str:
    """A count, which lives of unknown age may leave a fraction of."""
    return f"1 {noun}" if number == 1 else f"{round(number, 2):g} {noun}s"
