"""Finds where elements stand in the bytes of an XML file, so that a change touches nothing else in it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from xml.parsers import expat

_SPOKEN = {"v", "t"}
_TAG = re.compile(rb"<(?:[^>\"']|\"[^\"]*\"|'[^']*')*>")


@dataclass(frozen=True)
class Element:
    """One element: its local name, its name as written, its bytes' place, its attributes, its own text.

    The text is kept for cell values only; attributes go by their names as written.
    """

    tag: str
    name: str
    start: int
    end: int
    attributes: Mapping[str, str]
    text: str

    @property
    def prefix(self) -> str:
        """The namespace's prefix as written, with its colon."""
        return self.name.removesuffix(self.tag)


def find_elements(content: bytes, tags: Collection[str]) -> list[Element]:
    """The elements of these local names in the order they open, wherever they stand.

    Raises xml.parsers.expat.ExpatError if the bytes are no XML.
    """
    open_ones: list[tuple[str, int, dict[str, str], list[str]]] = []
    found: list[Element] = []

    def opened(name: str, attributes: dict[str, str]) -> None:
        if name.rpartition(":")[2] in tags:
            open_ones.append((name, parser.CurrentByteIndex, attributes, []))

    def closed(name: str) -> None:
        tag = name.rpartition(":")[2]
        if tag in tags:
            written, start, attributes, texts = open_ones.pop()
            end = _end(content, start, parser.CurrentByteIndex)
            found.append(Element(tag, written, start, end, attributes, "".join(texts)))

    def read(text: str) -> None:
        if open_ones and open_ones[-1][0].rpartition(":")[2] in _SPOKEN:
            open_ones[-1][3].append(text)

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = opened, closed
    parser.CharacterDataHandler = read
    parser.Parse(content, True)
    return sorted(found, key=lambda element: element.start)


def opening_tag(content: bytes, element: Element) -> bytes:
    """The element's opening tag; a ">" inside an attribute's quotation marks does not end it."""
    return _tag(content, element.start)


def spliced(content: bytes, changes: Sequence[tuple[int, int, bytes]]) -> bytes:
    """The content with each place (start, end) replaced by the bytes given; the places must not overlap."""
    pieces, before = [], 0
    for start, end, new in sorted(changes, key=lambda change: change[:2]):
        pieces += [content[before:start], new]
        before = end
    return b"".join([*pieces, content[before:]])


def with_attribute(tag: bytes, name: str, value: str) -> bytes:
    """An opening tag with this attribute set, the others as they are."""
    bare = without_attribute(tag, name)
    close = b"/>" if bare.endswith(b"/>") else b">"
    return bare[: -len(close)].rstrip() + f' {name}="{value}"'.encode() + close


def without_attribute(tag: bytes, name: str) -> bytes:
    """An opening tag without this attribute, the others as they are."""
    return re.sub(rb"\s" + re.escape(name.encode()) + rb"\s*=\s*(\"[^\"]*\"|'[^']*')", b"", tag, count=1)


def _end(content: bytes, start: int, place: int) -> int:
    """Where an element ends; ``place`` is where the parser closed it, before its closing tag if it has one."""
    tag = _tag(content, start)
    return start + len(tag) if tag.endswith(b"/>") else content.index(b">", place) + 1


def _tag(content: bytes, start: int) -> bytes:
    found = _TAG.match(content, start)
    assert found is not None
    return found.group()
