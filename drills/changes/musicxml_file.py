"""Opens a MusicXML file, plain or compressed, as a tree. A file too large, too deep or with entities is refused."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from drills.errors import LeadSheetError
from scheduler.plain_file import open_plain

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["MOST_BYTES", "musicxml_tree"]

MOST_BYTES = 32_000_000
"""Most bytes of XML read, plain or unpacked: some hundred times a long lead sheet."""

_DEEPEST = 200
_MOST_ELEMENTS = 1_000_000


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
        raise LeadSheetError(f"{path}: damaged compressed file ({error}); export it again") from error


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
    from xml.etree.ElementTree import TreeBuilder
    from xml.parsers import expat

    builder = TreeBuilder()
    depth = count = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth, count
        depth += 1
        count += 1
        if depth > _DEEPEST or count > _MOST_ELEMENTS:
            raise LeadSheetError(f"{path}: more elements than a lead sheet has; is this MusicXML?")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def entity(name: str, *_: object) -> None:
        raise LeadSheetError(f"{path}: declares the XML entity {str(name)[:40]!r}, which no lead sheet needs; refused")

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = entity
    parser.buffer_text = True
    try:
        parser.Parse(raw, True)
        return builder.close()
    except expat.ExpatError as error:
        reason = expat.errors.messages.get(error.code, str(error))
        where = f"{path}, line {error.lineno}, column {error.offset + 1}"
        raise LeadSheetError(f"{where}: not XML ({reason}); export it again") from error
    except (ValueError, LookupError) as error:
        if isinstance(error, LeadSheetError):
            raise
        raise LeadSheetError(f"{path}: not readable as XML ({error}); export it again") from error
