"""Opens a workbook's file as its parts, and closes it again with a few of them changed."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Mapping
from xml.sax.saxutils import quoteattr

from riskmodel.fleet.xml_places import Element, find_elements, opening_tag, spliced, with_attribute

Parts = Mapping[str, bytes]

_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_SHEET_KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_TYPES = "[Content_Types].xml"


def read_parts(content: bytes) -> dict[str, bytes]:
    """Every part of a workbook's file by its name.

    Raises zipfile.BadZipFile if the bytes are no workbook.
    """
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        return {name: book.read(name) for name in book.namelist()}


def with_parts(content: bytes, changed: Parts) -> bytes:
    """The workbook's file with these parts changed or added; all others, and their order, are the same."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(buffer, "w") as new:
        new.comment = old.comment
        for info in old.infolist():
            new.writestr(info, changed.get(info.filename, old.read(info)))
        for name in changed.keys() - set(old.namelist()):
            new.writestr(zipfile.ZipInfo(name), changed[name], zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def main_part(parts: Parts) -> str:
    """The name of the part that lists the sheets."""
    return next(target for kind, target in relations(parts, "").values() if kind.endswith("/officeDocument"))


def relations(parts: Parts, part: str) -> dict[str, tuple[str, str]]:
    """What a part leads to inside the workbook, by id: the kind of relation and the name of the part."""
    content = parts.get(relations_part(part))
    found = find_elements(content, {"Relationship"}) if content else []
    folder = posixpath.dirname(part)
    return {
        each.attributes["Id"]: (each.attributes["Type"], _joined(folder, each.attributes["Target"]))
        for each in found
        if each.attributes.get("TargetMode") != "External"
    }


def relations_part(part: str) -> str:
    """The name of the part that says what ``part`` leads to."""
    return posixpath.join(posixpath.dirname(part), "_rels", f"{posixpath.basename(part)}.rels")


def sheet_part(parts: Parts, sheet: str) -> str:
    """The name of the part that holds the sheet of this name."""
    main = main_part(parts)
    led = relations(parts, main)
    ids = {each.attributes["name"]: _relation_id(each) for each in find_elements(parts[main], {"sheet"})}
    return led[ids[sheet]][1]


def recalculated(parts: Parts) -> dict[str, bytes]:
    """The part that tells a spreadsheet program to work its formulas out anew on opening, changed to say so."""
    main = main_part(parts)
    content = parts[main]
    orders = find_elements(content, {"calcPr"})
    if not orders:
        return {}
    tag = opening_tag(content, orders[0])
    new = with_attribute(tag, "fullCalcOnLoad", "1")
    return {main: spliced(content, [(orders[0].start, orders[0].start + len(tag), new)])}


def with_sheet(content: bytes, sheet: str) -> bytes:
    """The workbook's file with an empty sheet of this name at its end."""
    parts = read_parts(content)
    main = main_part(parts)
    sheets = find_elements(parts[main], {"sheets", "sheet"})
    number = max(int(each.attributes["sheetId"]) for each in sheets if each.tag == "sheet") + 1
    taken = {*relations(parts, main), *(_relation_id(each) for each in sheets)}
    key = next(name for count in range(1, len(taken) + 2) if (name := f"rId{count}") not in taken)
    folder = posixpath.join(posixpath.dirname(main), "worksheets")
    part = next(
        name for count in range(1, len(parts) + 2) if (name := f"{folder}/sheet{count}.xml") not in parts
    )
    target = posixpath.relpath(part, posixpath.dirname(main) or ".")
    prefix = sheets[0].prefix
    listed = (
        f'<{prefix}sheet xmlns:r="{_RELATIONS}" name={quoteattr(sheet)} sheetId="{number}" r:id="{key}"/>'
    )
    led = f'Relationship Id="{key}" Type="{_RELATIONS}/worksheet" Target="{target}"/>'
    kind = f'Override PartName="/{part}" ContentType="{_SHEET_KIND}"/>'
    declaration = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    return with_parts(
        content,
        {
            main: _ended(parts[main], "sheets", listed),
            relations_part(main): _ended_alike(parts[relations_part(main)], "Relationships", led),
            _TYPES: _ended_alike(parts[_TYPES], "Types", kind),
            part: f'{declaration}<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'.encode(),
        },
    )


def _joined(folder: str, target: str) -> str:
    return posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")


def _relation_id(sheet: Element) -> str:
    """The relation a sheet is listed with; its attribute's prefix is the writer's choice."""
    return next((value for name, value in sheet.attributes.items() if re.fullmatch(r"\w+:id", name)), "")


def _ended(content: bytes, tag: str, piece: str) -> bytes:
    """The XML with a piece at the end of the element of this name."""
    (element,) = find_elements(content, {tag})
    place = content.rindex(b"</", element.start, element.end)
    return spliced(content, [(place, place, piece.encode())])


def _ended_alike(content: bytes, tag: str, piece: str) -> bytes:
    """The same, with the prefix that the element itself is written with."""
    (element,) = find_elements(content, {tag})
    return _ended(content, tag, f"<{element.prefix}{piece}")
