"""What the end of a file's name promises: an answer in another form than the name says is refused."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from .edge import refuse
from .options import Format

# Ends of names that promise what one --format writes; .txt and ends that nobody knows promise nothing.
WRITTEN = {".csv": Format.CSV, ".json": Format.JSON, ".md": Format.TABLE}
PAGES = (".html", ".htm", ".xhtml", ".pdf", ".doc", ".docx", ".odt", ".rtf", ".tex", ".ppt", ".pptx")
BOOKS = (".xlsx", ".xls", ".xlsm", ".xlsb", ".ods", ".tsv", ".parquet", ".feather")
PICTURES = (".png", ".svg", ".jpg", ".jpeg", ".gif", ".webp", ".ps", ".eps")
OTHERS = (
    ".ics",
    ".xml",
    ".yaml",
    ".yml",
    ".toml",
    ".jsonl",
    ".ndjson",
    ".zip",
    ".gz",
    ".ipynb",
    ".db",
    ".sqlite",
)
ROWS = ("--format csv --out NAME.csv", "--format json --out NAME.json")
WRITES = {
    Format.TABLE: "a page is plain text (.txt)",
    Format.CSV: "--format csv writes .csv",
    Format.JSON: "--format json writes .json",
}
NEVER = frozenset((*PAGES, *BOOKS, *PICTURES, *OTHERS))


def refuse_other_suffix(out: Path | None, form: Format, also: Collection[str] = ()) -> None:
    """Usage error when the end of ``out``'s name promises another form than --format ``form`` writes.

    ``also``: ends that the command writes besides, in a form of their own; it chooses that form by the name, so that
    a --format beside it is refused.
    """
    if out is None:
        return
    end = out.suffix.lower()
    if end in also:
        if form is not Format.TABLE:
            raise refuse(f"{out}: --format {form.value} writes .{form.value}; for {end} leave --format away")
    elif not _fits(end, form):
        raise refuse(f"{out}: {WRITES[form]}, no {end}; {_instead(end, also)}")


def refuse_unless(path: Path | None, form: Format) -> None:
    """Usage error when the end of the name promises another form than the one that this file always has."""
    if path is not None and not _fits(path.suffix.lower(), form):
        raise refuse(
            f"{path}: what is written there is {form.value.upper()}: give it a name in .{form.value}"
        )


def _fits(end: str, form: Format) -> bool:
    promised = WRITTEN.get(end)
    return promised is form or (promised is None and end not in NEVER)


def _instead(end: str, also: Collection[str]) -> str:
    """What to ask for where a name promises another form."""
    if end in WRITTEN:
        return f"--format {WRITTEN[end].value} writes {end}"
    if end in PICTURES:
        return "figures are drawn by --figure, where a command has it"
    return f"for other programs: {', or '.join([*(f'--out NAME{each}' for each in also), *ROWS])}"
