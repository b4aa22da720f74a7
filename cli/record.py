"""riskmodel record: add a service record, safely."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from datetime import date as day
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, refuse, say
from .options import Debug, Quiet

if TYPE_CHECKING:
    from riskmodel.fleet.asking import Question
    from riskmodel.fleet.recording import Added


def record(
    fleet: Annotated[Path, typer.Argument(metavar="FLEET", help="Folder or workbook of the fleet.")],
    item: Annotated[str, typer.Option("--item", help="Id of the part the record is about.")] = "",
    vessel: Annotated[
        str, typer.Option("--vessel", help="Id of the boat, for what happens to all of it.")
    ] = "",
    date: Annotated[str, typer.Option("--date", help="Day, month or year it happened; today.")] = "",
    event: Annotated[str, typer.Option("--event", help="What happened, such as inspected or hauled.")] = "",
    finding: Annotated[str, typer.Option("--finding", help="What was found, such as sound.")] = "",
    thoroughness: Annotated[
        str, typer.Option("--thoroughness", help="How closely it was looked at, such as handled.")
    ] = "",
    reason: Annotated[str, typer.Option("--reason", help="Why the work was done, such as scheduled.")] = "",
    reading: Annotated[str, typer.Option("--reading", help="A measured value.")] = "",
    reading_unit: Annotated[str, typer.Option("--reading-unit", help="The unit of the reading.")] = "",
    hours: Annotated[str, typer.Option("--hours", help="The engine meter, in hours.")] = "",
    note: Annotated[str, typer.Option("--note", help="Anything else worth keeping.")] = "",
    ask: Annotated[bool, typer.Option("--ask", help="Ask for what was not given.")] = False,
    again: Annotated[
        bool, typer.Option("--again", help="It happened twice: add it though another record says the same.")
    ] = False,
    undo: Annotated[
        bool, typer.Option("--undo", help="Take back the last record that was added this way.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show what would be added or taken back; write nothing.")
    ] = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Add a service record, safely: refused if check would refuse it, and written whole or not at all."""
    with edge(debug):
        given = {"item_id": item, "vessel_id": vessel, "date": date, "event": event, "finding": finding}
        given |= {"thoroughness": thoroughness, "reason": reason, "reading": reading}
        given |= {"reading_unit": reading_unit, "hours": hours, "note": note}
        texts = {column: text for column, text in given.items() if text.strip()}
        if undo and (texts or ask or again):
            raise refuse("--undo takes back the last record: it goes with --dry-run only")
        try:
            said = _taken_back(fleet, dry_run) if undo else _added(fleet, texts, (ask, again, dry_run))
        except OSError as error:
            raise refuse(f"{fleet} cannot be written to: {error.strerror}") from None
        if not quiet:
            say(said)


def _added(fleet: Path, texts: Mapping[str, str], asked: tuple[bool, bool, bool]) -> str:
    from riskmodel.fleet.recording import Repeat, add_record, preview_record

    ask, again, dry_run = asked
    if ask:
        texts = _asked(fleet, texts)
    repeat = Repeat.MEANT if again else Repeat.REFUSED
    added = (preview_record if dry_run else add_record)(fleet, texts, repeat=repeat)
    return _said(added, "Would add to" if dry_run else "Added to")


def _taken_back(fleet: Path, dry_run: bool) -> str:
    from riskmodel.fleet.undoing import preview_taking_back, take_back_record

    record = (preview_taking_back if dry_run else take_back_record)(fleet)
    return f"{'Would take' if dry_run else 'Took'} back from {record.file} row {record.row}: {record.line}"


def _asked(fleet: Path, given: Mapping[str, str]) -> dict[str, str]:
    """The record with an answer for every column that was open; the end of the input leaves the rest blank."""
    from riskmodel.fleet.asking import next_question, read_known, wrong_answer

    today = day.today()
    known = read_known(fleet, today)
    answers = dict(given)
    while (question := next_question(known, answers, today)) is not None:
        say(_prompt(question), nl=False)
        line = sys.stdin.readline()
        if not line:
            say("")
            break
        answer = line.strip() or question.default
        if wrong := wrong_answer(question, answer, known):
            say(f"  {question.field.name} {wrong}.")
        else:
            answers[question.field.name] = answer
    return answers


def _prompt(question: Question) -> str:
    words = f" ({', '.join(question.choices)})" if question.choices else ""
    blank = "empty: about the boat" if question.field.name == "item_id" else "empty to leave blank"
    empty = "" if question.field.required else blank
    left = f"empty for {question.default}" if question.default else empty
    return f"{question.field.name}{words}{f' [{left}]' if left else ''}: "


def _said(added: Added, what: str) -> str:
    lines = [f"{what} {added.file} row {added.row}: {added.line}"]
    if added.new_columns:
        lines.append(f"New at the end of its head: {', '.join(added.new_columns)}.")
    return "\n".join([*lines, *added.notes])
