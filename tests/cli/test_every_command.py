"""Every command, in every format, for little and for ample money, on fleets at the ends of what there is to own."""

import csv
import importlib
import io
import itertools
import json
import math
import re
from datetime import date

import openpyxl
import pytest

from riskmodel.fleet import Fleet
from riskmodel.risk import Horizon

pytestmark = pytest.mark.thorough

AMOUNTS = ("0", "100", "1000", "9000", "1e6")
FORMATS = ("table", "csv", "json")
FIGURES = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}
# Commands by their words, with F where the fleet stands.
COMMANDS = (
    "check F",
    "rank F",
    "rank F --levels",
    "rank F --set kept=ashore",
    "lives F",
    "lives F --item-class bilge_pump",
    "lives F --rows",
    "lives F --intervals",
    "explain F I0",
    "season F B1",
    "exposure F",
    "exposure F --by kept --condition visits=7",
    *(f"budget F --amount {amount}" for amount in AMOUNTS),
)
DRAWN = (
    "rank F --levels",
    "lives F",
    "lives F --item-class bilge_pump",
    "season F B1",
    "exposure F",
    "budget F --amount 100",
    "budget F --amount 1e6",
)
PUMP = {"item_class": "bilge_pump", "installed_on": "2019"}
SALE = {"vessel_id": "B1", "date": "2026-05-01", "event": "sold"}
FLEETS = {
    "no items table": {},
    "no items": {"items": ()},
    "one item": {"items": [PUMP]},
    "one boat": {"items": [PUMP, {"item_class": "bellows_drive"}, {"item_class": "fuel_feed_hose"}]},
    "all sold": {"items": [PUMP], "records": [SALE]},
    "all sold without items": {"records": [SALE]},
    # New clamps ashore on a boat worth next to nothing.
    "next to nothing to lose": {
        "items": [{"item_class": "hose_clamps", "installed_on": "2026-05-01"}],
        "boats": [{"value": 0.01, "kept": "ashore", "covered": "yes"}],
    },
}
# What a computer says of a number or a name that is not there: none of it is a person's word.
NO_WORDS = re.compile(r"(?<![\w-])(nan|NaN|NaT|inf|-inf|<NA>|None(?![.\s]))(?![\w-])")


# What takes the time, by the module that commands have it from: the same for every format.
WORK = {
    "riskmodel.risk": ("assess",),
    "riskmodel.plan": ("best_plan",),
    "riskmodel.plan.what_if": ("what_if",),
    "riskmodel.plan.intervals.table": ("intervals_table",),
    "riskmodel.plan.season.season": ("season_of",),
    "riskmodel.exposure.answer": ("answer",),
}


def once_for_all(work):
    """The same function, worked out once for the same arguments; fleets are the same that were read from one folder."""
    known = {}

    def key(value):
        if isinstance(value, Fleet):
            return value.source, value.as_of
        return value if isinstance(value, str | int | float | date | Horizon | None) else id(value)

    def kept(*values, **more):
        # The arguments are kept too: what is gone may leave its id to another.
        named = (*map(key, values), *((name, key(value)) for name, value in sorted(more.items())))
        if named not in known:
            known[named] = work(*values, **more), values, more
        return known[named][0]

    return kept


@pytest.fixture(scope="module", autouse=True)
def worked_out_once():
    with pytest.MonkeyPatch.context() as patch:
        for module, names in WORK.items():
            for name in names:
                work = getattr(importlib.import_module(module), name)
                patch.setattr(f"{module}.{name}", once_for_all(work))
        yield


@pytest.fixture(scope="module", params=FLEETS)
def fleet(request, written):
    said = FLEETS[request.param]
    items = said.get("items")
    folder = written(items or None, said.get("records"), said.get("boats", ({},)), "as_of = 2026-06-01\n")
    if items == ():
        (folder / "items.csv").write_text("item_id,vessel_id,item_class\n")
    return folder


@pytest.fixture(scope="module")
def pump(written):
    return written([PUMP], settings="as_of = 2026-06-01\n")


def words_of(command, fleet):
    return [fleet if word == "F" else word for word in command.split()]


def ended_well(result):
    """It is done, or it is refused in words; never a fault of ours."""
    assert result.exit_code in (0, 2, 3, 5), result.output
    if result.exit_code in (2, 3):
        assert result.stdout == ""
        assert result.stderr.strip()
    assert not NO_WORDS.search(result.output), NO_WORDS.search(result.output)
    return result.exit_code in (0, 5)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_answer_is_a_page_and_parses_back(run, fleet, command):
    page, rows, objects = (run(*words_of(command, fleet), "--format", form) for form in FORMATS)
    assert len({each.exit_code for each in (page, rows, objects)}) == 1
    if not all([ended_well(page), ended_well(rows), ended_well(objects)]):
        return
    assert [line for line in page.stdout.splitlines() if len(line) > 80 or line != line.rstrip()] == []
    head, *cells = csv.reader(io.StringIO(rows.stdout))
    assert {len(row) for row in cells} <= {len(head)}
    parsed = json.loads(objects.stdout)
    assert len(parsed) == len(cells)
    assert all(list(row) == head for row in parsed)
    numbers = [cell for row in parsed for cell in row.values() if isinstance(cell, float)]
    assert all(math.isfinite(number) for number in numbers)


@pytest.mark.parametrize("listed", ["totals", "tasks", "materials"])
def test_every_list_of_a_season_is_a_table(run, fleet, listed):
    result = run("season", fleet, "B1", "--list", listed, "--format", "csv")
    if ended_well(result):
        head, *cells = csv.reader(io.StringIO(result.stdout))
        assert {len(row) for row in cells} <= {len(head)}


@pytest.mark.parametrize("command", DRAWN)
def test_every_figure_is_drawn_or_it_is_said_why_not(run, fleet, command, tmp_path):
    figure = tmp_path / "figure.svg"
    result = run(*words_of(command, fleet), "--figure", figure)
    if ended_well(result) and "Nothing to draw" not in result.stderr:
        assert figure.read_bytes().startswith(b"<?xml")
    else:
        assert not figure.exists()


@pytest.mark.parametrize("command", DRAWN)
@pytest.mark.parametrize("kind", FIGURES)
def test_every_figure_is_drawn_in_every_kind(run, pump, command, kind, tmp_path):
    figure = tmp_path / f"figure.{kind}"
    assert ended_well(run(*words_of(command, pump), "--figure", figure))
    assert figure.read_bytes().startswith(FIGURES[kind])


@pytest.mark.parametrize("amount", AMOUNTS)
def test_every_plan_is_a_workbook(run, fleet, amount, tmp_path):
    result = run("budget", fleet, "--amount", amount, "--out", tmp_path / "plan.xlsx")
    assert ended_well(result)
    book = openpyxl.load_workbook(tmp_path / "plan.xlsx")
    cells = itertools.chain.from_iterable(sheet.iter_rows(values_only=True) for sheet in book)
    texts = [str(cell) for row in cells for cell in row if cell is not None]
    assert texts
    assert not [text for text in texts if NO_WORDS.search(text)]


@pytest.mark.parametrize("amount", AMOUNTS)
def test_every_plan_of_the_demo_is_a_workbook(run, amount, tmp_path):
    result = run("budget", "--amount", amount, "--out", tmp_path / "plan.xlsx")
    assert ended_well(result)
    assert openpyxl.load_workbook(tmp_path / "plan.xlsx").sheetnames[0] == "summary"


def test_files_for_other_programs_are_written_for_every_fleet(run, fleet, tmp_path):
    calendar, lives = tmp_path / "boat.ics", tmp_path / "lives.json"
    if ended_well(run("season", fleet, "B1", "--calendar", calendar)):
        assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR")
    assert ended_well(run("lives", fleet, "--save", lives))
    assert json.loads(lives.read_text("utf-8"))


def test_a_record_is_tried_on_every_fleet(run, fleet):
    words = ["--event", "inspected", "--finding", "sound", "--dry-run"]
    before = {path.name: path.read_bytes() for path in fleet.iterdir()}
    ended_well(run("record", fleet, "--item", "I0", *words))
    ended_well(run("record", fleet, "--vessel", "B1", "--event", "hauled", "--dry-run"))
    assert {path.name: path.read_bytes() for path in fleet.iterdir()} == before


@pytest.mark.parametrize("propulsion", ["sterndrive", "sail_shaft", "outboard"])
def test_a_fleet_just_begun_is_ranked(run, tmp_path, propulsion):
    about = ["--propulsion", propulsion, "--length-m", "8", "--built", "2001"]
    assert ended_well(run("begin", tmp_path / "mine", *about))
    assert ended_well(run("rank", tmp_path / "mine"))
