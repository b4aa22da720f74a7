"""The parts of a fleet by probability level and severity category, in the standard's words, as a page of text."""

from __future__ import annotations

import pandas as pd

from riskmodel.consequence.severity import money_bands
from riskmodel.frames import each_row
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.nothing_left import nothing_left_page
from riskmodel.report.rank import boat_names, currency_of, part_names
from riskmodel.report.severity_parts import (
    BARRIER,
    DEFECT,
    IN_TABLE,
    cell_words,
    deadly_parts,
    level_counts,
    levels_frame,
    money_scale,
    worst_parts,
)
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk import Assessment
from riskmodel.trade import Trade
from riskmodel.words import counted, in_a_thousand, money, price

HEADLINE = (
    "A word from this table is never a reason to leave a known defect or a dangerous part alone: put right what is "
    "known to be wrong before the boat is used again, whatever word stands here. Low and Negligible do not mean ignore."
)
TABLE_HEAD = "PARTS BY PROBABILITY LEVEL AND SEVERITY CATEGORY, with the word of risk"
DEADLY_HEAD = "WHAT CAN KILL, likeliest first, whatever it costs"
WORST_HEAD = "THE WORST CELLS, money and people together"
BARRIERS = "pumps, switches, alarms, blowers, ducts"
LEGEND = (
    "Each part is counted once, at the end state with the worst word (then the worse category, then the likelier). "
    "Levels go by the standard's example numbers; those are for the life of an item, these chances run to the day "
    "above only. A long look ahead shows worse words than a short one."
)
TAILORING = (
    "OUR TAILORING, not the standard's: its money bands times {share}, by the mean loss on the part's own boat. Injury "
    "and death are never rescaled. The category is the worse of money and people."
)


def levels_page(result: Assessment, top: int) -> str:
    """The whole page: the table, what its words mean here, and ``top`` parts of each list of the worst."""
    if left := nothing_left_page(result):
        return left
    parts = levels_frame(result)
    pieces = [
        heading(
            result.fleet.source,
            str(result.horizon.as_of),
            f"{result.horizon.until} ({result.horizon.wording})",
        ),
        paragraph(HEADLINE),
        f"{TABLE_HEAD}\n\n{_table(level_counts(parts, result.trade), result.trade)}",
        paragraph(LEGEND),
        paragraph(apart(parts)),
        _bands(result),
        _deadly(parts, result, top),
        _worst(parts, result, top),
        paragraph(f"Words and bands: {'; '.join(word_sources(result.trade))}."),
        notes_block(result.notes),
        cautions_block(result.trade),
    ]
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def apart(parts: pd.DataFrame) -> str:
    """What is not counted in the table, and why, in a sentence or two."""
    defects, barriers = (int((parts["counted"] == kind).sum()) for kind in (DEFECT, BARRIER))
    said = []
    if defects:
        said.append(f"{counted(defects, 'known defect')}, to be put right before anything here")
    if barriers:
        said.append(
            f"{counted(barriers, 'part')} whose worth is in what they stop ({BARRIERS}): see the ranking"
        )
    if not said:
        return "Every part of the fleet is in the table."
    return f"Not in the table: {'; '.join(said)}."


def tailoring(result: Assessment) -> str:
    """The sentence that says whose money bands these are."""
    scale = money_scale(result)
    share = f"1/{1 / scale:,.0f}" if scale < 1 else f"{scale:g}"
    return TAILORING.format(share=share)


def _table(counts: pd.DataFrame, trade: Trade) -> str:
    words = cell_words(trade)
    named = sorted(trade.severities.values(), key=lambda each: each.category)
    columns = [
        Column("Chance\nby the day above"),
        *(Column(f"{each.category}\n{each.word}", width=12) for each in named),
    ]
    rows = []
    for level in counts.index:
        row = trade.probability_levels[level]
        cells = [cell_text(counts.loc[level, n], words.loc[level, n]) for n in counts.columns]
        rows.append((f"{level} {row.word}: {row.meaning.split(':')[0]}", *cells))
    return text_table(columns, rows)


def cell_text(count: int, word: str) -> str:
    """ "12 High"; "- High" where no part stands."""
    return f"{count or '-'} {word}"


def _bands(result: Assessment) -> str:
    """What each category means here, by money and by injury."""
    currency = currency_of(result)
    least = money_bands(result.trade, money_scale(result))
    columns = [
        Column("Category"),
        Column(f"Money, {currency}:\nour bands"),
        Column("People: the standard's words"),
    ]
    named = sorted(result.trade.severities.values(), key=lambda each: each.category)
    rows = [
        (
            f"{each.category} {each.word}",
            f"{price(bound)} or more" if bound > 0 else f"under {price(least[place - 1])}",
            each.injury,
        )
        for place, (each, bound) in enumerate(zip(named, least, strict=True))
    ]
    return paragraph(tailoring(result)) + "\n\n" + text_table(columns, rows)


def _deadly(parts: pd.DataFrame, result: Assessment, top: int) -> str:
    """Parts on a path that can kill, by that alone: money never decides a place here."""
    shown = deadly_parts(parts, top)
    if shown.empty:
        return f"{DEADLY_HEAD}\nNo part in the table has a path that can kill."
    hurt = shown["injury_probability"].notna().any()
    columns = [
        Column("Cell"),
        Column("Boat: part"),
        Column("Most likely by"),
        Column("Can kill,\nin 1,000", number=True),
        *([Column("Injures,\nin 1,000", number=True)] if hurt else []),
    ]
    rows = [
        (
            f"{row.deadly_level}1 {row.deadly_risk}",
            name,
            result.trade.end_states[row.deadly_end_state].label,
            in_a_thousand(row.kill_probability),
            *([chance_text(row.injury_probability)] if hurt else []),
        )
        for row, name in zip(each_row(shown), parts_in_words(shown, result), strict=True)
    ]
    all_deadly = int(((parts["counted"] == IN_TABLE) & (parts["deadly_chance"] > 0)).sum())
    return f"{DEADLY_HEAD}\n\n{text_table(columns, rows)}{_more(all_deadly, len(rows))}"


def _worst(parts: pd.DataFrame, result: Assessment, top: int) -> str:
    shown = worst_parts(parts, top)
    if shown.empty:
        return f"{WORST_HEAD}\nNo part stands in the table."
    columns = [
        Column("Cell"),
        Column("Boat: part"),
        Column("May end in"),
        Column("Chance,\nin 1,000", number=True),
        Column(f"If so,\n{currency_of(result)}", number=True),
        Column("Can kill,\nin 1,000", number=True),
    ]
    rows = [
        (
            f"{row.level}{row.category} {row.risk}",
            name,
            result.trade.end_states[row.end_state].label,
            in_a_thousand(row.chance),
            money(row.loss),
            chance_text(row.kill_probability),
        )
        for row, name in zip(each_row(shown), parts_in_words(shown, result), strict=True)
    ]
    total = int((parts["counted"] == IN_TABLE).sum())
    return f"{WORST_HEAD}\n\n{text_table(columns, rows)}{_more(total, len(rows))}"


def _more(total: int, shown: int) -> str:
    more = total - shown
    return f"\n({more} more: ask for --top {total}, or --format csv for all.)" if more > 0 else ""


def parts_in_words(shown: pd.DataFrame, result: Assessment) -> list[str]:
    """ "Tern: drive bellows" for each row."""
    part, boat = part_names(result, shown), boat_names(result, shown)
    return list(boat + ": " + part.str[0].str.lower() + part.str[1:])


def chance_text(chance: float) -> str:
    """A chance in 1,000; "no path" where there is none."""
    return in_a_thousand(chance) if chance > 0 else "no path"


def word_sources(trade: Trade) -> list[str]:
    """Each source of the words once, with how sure it is."""
    told = [(row.source, row.status) for row in trade.severities.values()]
    told += [(row.source, row.status) for row in trade.probability_levels.values()]
    return list(dict.fromkeys(f"{source} ({status})" for source, status in told))
