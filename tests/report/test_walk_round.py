"""The walk-round sheet names every part once, asks for what the tables need, and loads nothing."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from riskmodel.fleet.schema import read_schema
from riskmodel.report.starter import Boat, starter_parts
from riskmodel.report.walk_round import (
    ASHORE,
    ASKED,
    BELOW,
    DECK,
    FINDINGS,
    STATIONS,
    station_of,
    walk_round_page,
)
from riskmodel.trade import load_trade

TRADE = load_trade()
YACHT = Boat("sail_shaft", 10.4, 1998, 42000, "Tern")
RUNABOUT = Boat("sterndrive", 7.2, 2009, 38000)
KINDS = tuple(TRADE.propulsions)
VOID = {"meta", "br", "hr", "img", "input", "link"}


class Page(HTMLParser):
    """Reads a page into its tags and its text, and fails on a tag that is not closed in turn."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.open, self.words = [], [], []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def page(boat=YACHT):
    return walk_round_page(boat, starter_parts(boat, TRADE), TRADE)


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_stands_on_the_sheet_once_under_its_own_number(kind):
    boat = Boat(kind, 9.0, 2001, 45000)
    html = page(boat)
    Page(html)
    for number in starter_parts(boat, TRADE).items["item_id"]:
        assert html.count(f"<b>{number}</b>") == 1


@pytest.mark.parametrize("kind", KINDS)
def test_every_class_aboard_says_how_to_look_and_what_to_look_for(kind):
    boat = Boat(kind, 9.0, 2001, 45000)
    text = Page(page(boat)).text
    for name in starter_parts(boat, TRADE).items["item_class"].unique():
        each = TRADE.classes[name]
        for words in (each.label, each.how_to_look, each.needs_work, each.lets_go):
            assert words in text


def test_nothing_is_loaded_from_anywhere_and_nothing_runs():
    html = page()
    tags = [tag for tag, _ in Page(html).tags]
    assert not {"script", "link", "img", "iframe", "object", "form", "input"} & set(tags)
    assert not re.search(r"https?:|url\(|@import|src=|href=", html)


def test_it_is_laid_out_for_paper_in_black_on_white():
    html = page()
    assert "size: A4" in html
    assert "break-inside: avoid" in html
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", html)) == {"#000", "#fff"}


def test_the_squares_are_the_findings_that_records_accept():
    finding = next(field for field in read_schema("records").fields if field.name == "finding")
    assert set(FINDINGS) == set(finding.enum) - {"unknown"}


def test_every_row_asks_for_dates_finding_and_note():
    html = page(RUNABOUT)
    rows = [row for row in re.findall(r"<tr>.*?</tr>", html) if 'class="which"' in row]
    assert len(rows) > len(starter_parts(RUNABOUT, TRADE).items)
    for row in rows:
        assert all(word in row for word in ("date on it", "last renewed", "note"))
        assert row.count("<i></i>") == len(FINDINGS)


def test_a_row_of_many_parts_asks_which():
    html = page()
    clamps = starter_parts(YACHT, TRADE).items.set_index("item_class").loc["hose_clamps"]
    assert f"<b>{clamps['item_id']}</b> about {clamps['quantity']}: note which" in html


def test_parts_are_grouped_by_where_one_stands():
    stations = {name: station_of(each, TRADE) for name, each in TRADE.classes.items()}
    assert stations["rode_rope"] == stations["deck_bedding"] == DECK
    assert stations["float_switch"] == stations["engine_blower"] == ASKED
    assert stations["through_hull_seacock"] == stations["shaft_packing"] == BELOW
    assert stations["bellows_drive"] == stations["sacrificial_anode"] == ASHORE
    assert set(stations.values()) == set(STATIONS)


def test_a_part_that_an_organisation_has_adrift_is_looked_at_on_deck():
    gasket = TRADE.classes["sea_strainer"]
    own = replace(gasket, paths=(replace(gasket.paths[0], end_state="loss_of_holding"),))
    trade = replace(TRADE, classes={**TRADE.classes, "sea_strainer": own})
    assert station_of(gasket, TRADE) == BELOW
    assert station_of(own, trade) == DECK


def test_a_station_without_parts_has_no_heading():
    parts = starter_parts(YACHT, TRADE)
    deck = [station_of(TRADE.classes[name], TRADE) == DECK for name in parts.items["item_class"]]
    only_deck = walk_round_page(YACHT, type(parts)(parts.items[deck], ()), TRADE)
    assert f"<h2>{DECK}</h2>" in only_deck
    assert not any(f"<h2>{station}</h2>" in only_deck for station in (ASKED, BELOW, ASHORE))


def test_the_second_look_ashore_at_a_seacock_is_asked_for():
    again = page().split("Again, while ashore")[1]
    assert TRADE.classes["through_hull_seacock"].label in again


def test_cautions_stand_before_the_first_part():
    text = Page(page()).text
    first = text.index(DECK)
    for caution in TRADE.cautions:
        if caution.topic == "foot" or "shaft_packing" in caution.applies_to:
            assert text.index(caution.text) < first


def test_cautions_of_parts_that_are_not_aboard_are_left_out():
    rode = next(caution for caution in TRADE.cautions if caution.topic == "exhaust_gas")
    assert rode.text in page(YACHT)
    assert rode.text not in page(Boat("outboard", 5.0, 2015, 9000))


def test_parts_that_may_be_aboard_have_a_line_each():
    tail = Page(page()).text.split("Perhaps also aboard")[1]
    perhaps = starter_parts(YACHT, TRADE).perhaps
    assert perhaps
    assert all(TRADE.classes[name].label in tail for name in perhaps)


def test_the_head_names_the_boat_and_leaves_the_day_blank():
    text = Page(page()).text
    assert text.startswith("Walk round Tern Walk round Tern Sailing yacht")
    assert "10.4 m, built 1998. Date By Engine hours" in text
    assert "Walk round the boat" in page(RUNABOUT)


def test_a_name_with_marks_of_its_own_breaks_nothing():
    html = page(Boat("outboard", 5.0, 2015, 9000, '<b>"Tern" & Co</b>'))
    assert "&lt;b&gt;&quot;Tern&quot; &amp; Co&lt;/b&gt;" in html
    Page(html)


def test_the_same_boat_gives_the_same_page():
    assert page() == page()
