"""The walk-round sheet: a page to print and fill in aboard, the parts in the order one comes to them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from html import escape
from typing import Any

import pandas as pd

from riskmodel.consequence.holding import holding_classes
from riskmodel.consequence.slow import slow_pairs
from riskmodel.report.starter import Boat, StarterParts
from riskmodel.trade import ItemClass, Task, Trade

FINDINGS = ("sound", "suspect", "failing", "failed")
LOOKS = ("inspect", "test")
ON_DECK = frozenset({"loss_of_holding", "structural_damage"})
SPARE_LINES = 5

DECK = "On deck"
ASKED = "Does it work when asked: pumps, switches, alarms, air"
BELOW = "Below: cabin, bilge and engine space"
ASHORE = "Ashore, out of the water"
STATIONS = (DECK, ASKED, BELOW, ASHORE)

STYLE = """
@page { size: A4; margin: 13mm 12mm 14mm 12mm; }
* { box-sizing: border-box; }
body { font: 8.5pt/1.25 Helvetica, Arial, sans-serif; color: #000; background: #fff; }
body { margin: 0 auto; max-width: 186mm; }
h1 { font-size: 16pt; margin: 0 0 2mm; }
h2 { font-size: 11.5pt; margin: 6mm 0 0; padding-top: 1mm; border-top: 1.2pt solid #000; break-after: avoid; }
h3 { font-size: 9.5pt; margin: 0 0 0.5mm; }
p, ul { margin: 0 0 1.5mm; }
ul { padding-left: 4mm; }
.blanks { display: flex; gap: 6mm; margin: 3mm 0; }
.blanks span { flex: 1; border-bottom: 0.6pt solid #000; padding-bottom: 0.5mm; }
td.wide small { font-size: 7pt; }
.cautions { border: 0.8pt solid #000; padding: 2mm 3mm 0.5mm; margin: 3mm 0; }
.part { break-inside: avoid; margin: 3mm 0 0; }
.signs { display: grid; grid-template-columns: repeat(3, 1fr); gap: 4mm; }
table { width: 100%; border-collapse: collapse; table-layout: fixed; }
tr { break-inside: avoid; }
td { border: 0.4pt solid #000; height: 8.5mm; padding: 0.6mm 1.2mm; vertical-align: top; }
td.which { width: 18%; } td.date { width: 13%; } td.found { width: 35%; } td.wide { width: 34%; }
td.ticks { width: 42%; }
td small { display: block; font-size: 6.5pt; line-height: 1.1; }
.found span { white-space: nowrap; margin-right: 1.8mm; }
.found i { display: inline-block; width: 2.8mm; height: 2.8mm; border: 0.7pt solid #000; }
.found i { margin-right: 0.8mm; }
@media screen { body { padding: 12mm; max-width: 210mm; } }
"""

GUIDE = """
<p>The parts are those that such a boat usually carries: strike out what is not there. A date you cannot find
stays empty. In the note write how closely you looked: glanced, handled or opened.</p>
<p><b>Sound</b>: nothing to remark. <b>Suspect</b>: not as it should be, look again soon. <b>Failing</b>: as
under <i>needs work</i>. <b>Failed</b>: as under <i>lets go</i>.</p>
<p><b>Afterwards</b>, in fleet.xlsx, by the number of each part: the date on it is made_on, last renewed is
installed_on, and what was found is a row on the records sheet with the event inspected (or tested).</p>
""".strip()


def walk_round_page(boat: Boat, parts: StarterParts, trade: Trade) -> str:
    """An HTML page for A4 paper with boxes for every part: black on white, no scripts, nothing loaded."""
    title = f"Walk round {boat.name or 'the boat'}"
    sections = [_station(station, parts.items, trade) for station in STATIONS]
    body = [
        _opening(title, boat, trade),
        _cautions(parts, trade),
        *sections,
        _perhaps(parts.perhaps, trade),
        _spare(),
    ]
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{escape(title)}</title>\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n" + "\n".join(filter(None, body)) + "\n</body>\n</html>\n"
    )


def station_of(item_class: ItemClass, trade: Trade) -> str:
    """Where one stands to look at a part, told by what its loss comes to and by the trade's looks at it."""
    looks = [task for task in item_class.tasks if task.does in LOOKS]
    if item_class.item_class in _deck_classes(trade):
        return DECK
    if looks and all(task.out_of_water for task in looks):
        return ASHORE
    return ASKED if item_class.fails_unseen else BELOW


def _deck_classes(trade: Trade) -> frozenset[str]:
    """Classes that may come to an end state of the deck: by the table of paths, or worked out."""
    judged = {
        name for name, each in trade.classes.items() for path in each.paths if path.end_state in ON_DECK
    }
    grown = {name for name, end_state in slow_pairs(trade) if end_state in ON_DECK}
    return holding_classes(trade) | judged | grown


def _opening(title: str, boat: Boat, trade: Trade) -> str:
    kind = trade.propulsions[boat.propulsion].label
    of_what = f"{kind[:1].upper()}{kind[1:]}, {boat.length_m:g} m, built {boat.built_year}."
    blanks = "".join(f"<span>{word}</span>" for word in ("Date", "By", "Engine hours"))
    return f'<h1>{escape(title)}</h1>\n<p>{escape(of_what)}</p>\n<div class="blanks">{blanks}</div>\n{GUIDE}'


def _cautions(parts: StarterParts, trade: Trade) -> str:
    aboard = [name for name in trade.classes if name in {*parts.items["item_class"], *parts.perhaps}]
    lines = [escape(caution.text) for caution in trade.cautions if caution.topic == "foot"]
    for caution in trade.cautions:
        concerned = [trade.classes[name].label for name in aboard if name in caution.applies_to]
        if concerned:
            lines.append(f"{escape(caution.text)} <small>({escape('; '.join(concerned))})</small>")
    points = "\n".join(f"<li>{line}</li>" for line in lines)
    return f'<div class="cautions">\n<h3>Before you start</h3>\n<ul>\n{points}\n</ul>\n</div>'


def _station(station: str, items: pd.DataFrame, trade: Trade) -> str:
    """One place to stand: its parts, and ashore also the second looks at parts seen afloat."""
    here = [
        _part(trade.classes[str(name)], rows)
        for name, rows in items.groupby("item_class", sort=False)
        if station_of(trade.classes[str(name)], trade) == station
    ]
    again = _again_ashore(items["item_class"].unique(), trade) if station == ASHORE else ""
    return "\n".join([f"<h2>{station}</h2>", *here, again]) if here or again else ""


def _part(item_class: ItemClass, rows: pd.DataFrame) -> str:
    lines = "\n".join(_line(_which(row)) for row in rows.to_dict("records"))
    return (
        f'<section class="part">\n<h3>{escape(item_class.label)}</h3>\n<div class="signs">\n'
        f"<p><b>Look:</b> {escape(item_class.how_to_look)}</p>\n"
        f"<p><b>Needs work:</b> {escape(item_class.needs_work)}</p>\n"
        f"<p><b>Lets go:</b> {escape(item_class.lets_go)}</p>\n</div>\n<table>\n{lines}\n</table>\n</section>"
    )


def _which(row: Mapping[Hashable, Any]) -> str:
    place = f"about {row['quantity']}: note which" if row["quantity"] > 1 else row["position"]
    return f"<b>{escape(row['item_id'])}</b> {escape(place)}"


def _line(which: str) -> str:
    cells = (
        ("which", which),
        ("date", "<small>date on it</small>"),
        ("date", "<small>last renewed</small>"),
        ("found", f"<small>found</small>{_squares(FINDINGS)}"),
        ("note", "<small>note</small>"),
    )
    return "<tr>" + "".join(f'<td class="{name}">{text}</td>' for name, text in cells) + "</tr>"


def _squares(words: Iterable[str]) -> str:
    return "".join(f"<span><i></i>{word}</span>" for word in words)


def _again_ashore(names: Iterable[str], trade: Trade) -> str:
    """Looks that need the boat out of the water, at parts that stand under another heading."""
    looks: list[tuple[ItemClass, Task]] = [
        (trade.classes[name], task)
        for name in names
        for task in trade.classes[name].tasks
        if task.does in LOOKS and task.out_of_water and station_of(trade.classes[name], trade) != ASHORE
    ]
    points = "\n".join(f"<li>{escape(each.label)}: {escape(task.what)}</li>" for each, task in looks)
    return (
        f'<section class="part">\n<h3>Again, while ashore</h3>\n<ul>\n{points}\n</ul>\n</section>'
        if looks
        else ""
    )


def _perhaps(names: Iterable[str], trade: Trade) -> str:
    """Parts that fewer than half of such boats carry: a line each, with a square for being there at all."""
    rows = "\n".join(_perhaps_line(trade.classes[name]) for name in names)
    return f"<h2>Perhaps also aboard</h2>\n<table>\n{rows}\n</table>" if rows else ""


def _perhaps_line(item_class: ItemClass) -> str:
    return (
        f'<tr><td class="wide"><b>{escape(item_class.label)}</b>'
        f"<small>{escape(item_class.how_to_look)}</small></td>"
        f'<td class="found ticks"><small>aboard? found</small>{_squares(("aboard", *FINDINGS))}</td>'
        '<td class="note"><small>date on it, last renewed, note</small></td></tr>'
    )


def _spare() -> str:
    rows = "\n".join([_line("<small>part and place</small>")] * SPARE_LINES)
    return f"<h2>Aboard, and not on this sheet</h2>\n<table>\n{rows}\n</table>"
