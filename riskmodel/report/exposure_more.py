"""Further blocks of the insurer's page: boats that one place holds together, and conditions priced."""

from __future__ import annotations

from riskmodel.exposure.accumulation import SCENARIOS
from riskmodel.exposure.answer import Answer
from riskmodel.exposure.exposed import WORST
from riskmodel.frames import each_row
from riskmodel.report.rank import currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.words import money, price

TOGETHER = (
    "If it befalls every boat of the place at once from the first day: how much more is lost, in the mean after terms, "
    "over those days than over as many usual ones, and sinkings in 1,000 such times (usual days after the stroke). How "
    "often it comes is not in these figures, nor in the curve above. Frost is not worked out."
)
HEADS = {"power_cut": "No power\na week:", "nobody_comes": "No visit\na month:"}
CREDITS = (
    "Each by itself, after terms. Which boats keep it is taken to be chance. Owners pay: what the boats that keep it "
    "spend, at the trade's prices. Breaks even: what one boat that keeps it, "
    "of those it touches, takes off the expected losses, so a credit on the premium at which the book is no worse off; "
    "nobody's duty to give or to take. Whatever the numbers, work on dangerous parts is not a matter of credits."
)


def places_block(answer: Answer, top: int) -> str:
    """The places where most value lies, and what would strike all their boats."""
    columns = [
        Column("Place"),
        Column("Boats", number=True),
        Column("Value", number=True),
    ]
    for scenario in SCENARIOS:
        columns += [
            Column(f"{HEADS[scenario.name]}\nmore loss", number=True),
            Column("Sinkings\nin 1,000", number=True),
        ]
    cells = [
        (
            row.place,
            f"{row.boats:,}",
            price(row.value),
            *(cell for each in SCENARIOS for cell in _struck(row, each.name)),
        )
        for row in each_row(answer.places.head(top))
    ]
    more = len(answer.places) - top
    tail = f"\n({more} more: ask for --top {len(answer.places)}.)" if more > 0 else ""
    return f"BOATS THAT LIE TOGETHER, most value first\n\n{text_table(columns, cells)}{tail}\n{paragraph(TOGETHER)}"


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
    total = answer.exposure.after.total
    currency = currency_of(answer.exposure.result)
    exposure = answer.exposure
    plain = exposure.before.total.mean if exposure.modelled is None else exposure.modelled[0]
    gap = exposure.ranked - plain
    return paragraph(
        f"Arithmetic: totals stand {currency} {total.step:,.0f} apart; losses between are split with their mean kept, "
        f"which makes the standard deviation at most {total.errors.discretisation:,.1f} too large and no excess over "
        f"any amount more than {total.errors.moved:,.0f}. A year off that scale has a chance under "
        f"{_power(total.errors.wrap)}. The mean before terms{_of_model(answer)} is `rank`'s sum less {gap:,.2f}, for a "
        "boat that sinks does not burn as well."
    )


def _of_model(answer: Answer) -> str:
    return "" if answer.exposure.modelled is None else ", without the claims,"


def _struck(row: object, name: str) -> tuple[str, str]:
    more = getattr(row, name) - getattr(row, f"{name}_usual")
    sinkings, usual = (1000 * getattr(row, f"{name}_sinkings{which}") for which in ("", "_usual"))
    return money(more), f"{sinkings:.2g}/{usual:.2g}"


def _power(chance: float) -> str:
    return f"{max(chance, 1e-15):.0e}"
