"""Takes the last record back that was added to a fleet's own table, every byte as it was before."""

from __future__ import annotations

from pathlib import Path

from riskmodel.atomic_write import atomic_write
from riskmodel.errors import Problem, TableError
from riskmodel.fleet.drafts import file_stamp
from riskmodel.fleet.locks import only_writer
from riskmodel.fleet.recording import refuse_in_use
from riskmodel.fleet.records_files import records_files, records_folders
from riskmodel.fleet.undo_file import Remembered, recall, undo_file


def take_back_record(path: Path | str) -> Remembered:
    """Puts the records table of the fleet at ``path`` back to what it was before ``add_record`` was last called.

    Columns that the record brought go too, and so does a table that it began. Only the last record can be taken
    back, once, and only while the table is as the record left it.

    Raises
    ------
    TableError
        If no record was added since, the table was changed since, is open elsewhere, or is held by another
        writer for too long; nothing is written.
    OSError
        If the folder or the file cannot be written.
    """
    path = Path(path)
    with only_writer(*records_folders(path)):
        table = _table(path)
        stamp = file_stamp(table)
        record, old = recall(table)
        refuse_in_use(table, stamp, "taken back")
        if old is None:
            table.unlink()
        else:
            atomic_write(table, old)
        undo_file(table).unlink(missing_ok=True)
    return record


def preview_taking_back(path: Path | str) -> Remembered:
    """The record that ``take_back_record`` would take out, with the same refusals; writes nothing."""
    return recall(_table(Path(path)))[0]


def _table(path: Path) -> Path:
    """The file a record was last added to."""
    files = records_files(path)
    remembered = [file for file in files if undo_file(file).is_file()]
    if len(remembered) == 1:
        return remembered[0]
    rule = "must hold one table with a record that was added by `riskmodel record` and not taken back since"
    got = ", ".join(file.name for file in remembered) or "none"
    raise TableError([Problem(path.resolve().name, 0, "", rule, got)])
