"""Opens a MusicXML file, plain or compressed, as a tree. A file too large, too deep or with entities is refused."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from drills.errors import LeadSheetError
from scheduler.plain_file import open_plain

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element, TreeBuilder

__all__ = ["MOST_BYTES", "musicxml_tree"]

MOST_BYTES = 16_000_000
"""Most bytes of XML read, plain or unpacked: some fifty times a long lead sheet."""

_DEEPEST = 200
_MOST_ELEMENTS = 400_000


def musicxml_tree(path: Path) -> Element:
    """The root element of a ``.musicxml``, ``.xml`` or compressed ``.mxl`` file.

    Entity declarations are refused, and so are files too large, too deep or not XML:
    LeadSheetError names the file and what to do.
    """
    try:
        with open_plain(path) as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise LeadSheetError(f"{path}: cannot be read ({error.strerror}); check the path") from error
    if raw[:4] == b"PK\x03\x04":
        raw = _unpacked(path)
    if len(raw) > MOST_BYTES:
        raise LeadSheetError(f"{path}: expected at most {MOST_BYTES:,} bytes of XML; is this a lead sheet?")
    return _tree(path, raw)


def _unpacked(path: Path) -> bytes:
    """The score inside a compressed file, found through META-INF/container.xml (MusicXML 4.0, compressed files)."""
    try:
        with zipfile.ZipFile(path) as packed:
            container = _tree(path, _member(packed, "META-INF/container.xml"))
            named = next((e.get("full-path") for e in container.iter() if _plain(e.tag) == "rootfile"), None)
            if not named:
                raise LeadSheetError(f"{path}, META-INF/container.xml: names no score; export the file again")
            return _member(packed, named)
    except KeyError as error:
        raise LeadSheetError(f"{path}: the compressed file lacks {error.args[0]}; export it again") from error
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError) as error:
        if isinstance(error, LeadSheetError):
            raise
        raise LeadSheetError(f"{path}: damaged compressed file ({error!s:.60}); export it again") from error


def _member(packed: zipfile.ZipFile, name: str) -> bytes:
    import zlib

    try:
        with packed.open(name) as member:
            # What the directory says of the size is not believed; what comes out is counted.
            return member.read(MOST_BYTES + 1)
    except zlib.error as error:
        raise zipfile.BadZipFile(str(error)) from error


def _plain(tag: str) -> str:
    return tag.rpartition("}")[2]


def _tree(path: Path, raw: bytes) -> Element:
    from xml.etree.ElementTree import ParseError
    from xml.parsers.expat.errors import messages

    from defusedxml.common import DefusedXmlException, EntitiesForbidden
    from defusedxml.ElementTree import DefusedXMLParser

    parser = DefusedXMLParser(target=_counting(path))
    try:
        parser.feed(raw)
        root: Element = parser.close()
        return root
    except ParseError as error:
        line, column = error.position
        reason = messages.get(error.code, str(error))
        raise LeadSheetError(
            f"{path}, line {line}, column {column + 1}: not XML ({reason}); export it again"
        ) from error
    except EntitiesForbidden as error:
        raise LeadSheetError(
            f"{path}: declares the XML entity {str(error.name)[:40]!r}, which no lead sheet needs; refused"
        ) from error
    except DefusedXmlException as error:
        raise LeadSheetError(f"{path}: reads other files, which no lead sheet needs; refused") from error
    except (ValueError, LookupError) as error:
        if isinstance(error, LeadSheetError):
            raise
        raise LeadSheetError(f"{path}: not readable as XML ({error}); export it again") from error


def _counting(path: Path) -> TreeBuilder:
    """A builder of the tree that refuses one too deep or too large."""
    from xml.etree.ElementTree import TreeBuilder

    class Counting(TreeBuilder):
        depth = count = 0

        def start(self, tag: str, attributes: dict[str, str]) -> Element:
            self.depth += 1
            self.count += 1
            if self.depth > _DEEPEST or self.count > _MOST_ELEMENTS:
                raise LeadSheetError(
                    f"{path}: more than {_DEEPEST} elements deep or {_MOST_ELEMENTS:,} in all; is this a lead sheet?"
                )
            return super().start(tag, attributes)

        def end(self, tag: str) -> Element:
            self.depth -= 1
            return super().end(tag)

    return Counting()
