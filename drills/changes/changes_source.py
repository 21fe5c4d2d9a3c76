"""Finds the changes a player names: a file, a lead sheet, a shipped page, or the changes themselves."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from drills.changes.changes import Changes
from drills.changes.changes_reading import parse_changes, read_changes
from drills.configuration.shipped import decks_folder
from drills.errors import ChangesError
from drills.theory.quality import QualityTable

__all__ = ["changes_from", "known_pages", "shipped_changes"]

_LEAD_SHEETS = (".mxl", ".musicxml", ".xml")
_LONGEST_NAME = 255


def shipped_changes() -> dict[str, Path]:
    """The pages that ship with the tool, by name."""
    return {path.stem: path for path in sorted(decks_folder().glob("*.changes"))}


def known_pages(folders: Iterable[Path] = ()) -> dict[str, Path]:
    """Every page by name: those that ship, and those of `folders`, which come before a shipped one of the same name."""
    return shipped_changes() | {page.stem: page for folder in folders for page in sorted(folder.glob("*.changes"))}


def changes_from(argument: str, table: QualityTable | None = None, folders: Iterable[Path] = ()) -> Changes:
    """The changes an argument means.

    A path ending in ``.changes``, ``.mxl``, ``.musicxml`` or ``.xml``; the name of a page in
    one of `folders` or shipped, with or without ``.changes``; or else changes as text.

    Raises ChangesError or LeadSheetError naming the file, or the place in the text.
    """
    if _is_name(argument):
        path = Path(argument)
        suffix = path.suffix.lower()
        known = known_pages(folders)
        if suffix in _LEAD_SHEETS:
            from drills.changes.lead_sheet import read_musicxml  # XML is read only when a player has some

            return read_musicxml(path)
        if suffix == ".changes" and path.exists():
            return read_changes(path, table)
        if argument.removesuffix(".changes") in known:
            return read_changes(known[argument.removesuffix(".changes")], table)
        if suffix == ".changes":
            raise ChangesError(f"{argument}: no such file; shipped pages: {', '.join(known)}")
    if argument.startswith(("/", "./", "../")) and Path(argument).exists():
        raise _wrong_ending(argument)
    try:
        return parse_changes(argument, table)
    except ChangesError as error:
        # Text comes first, so that a file named Cm7 takes no chord away; what is no text may still be a file or the
        # name of a page with a slip in it.
        if not _is_name(argument):
            raise
        if Path(argument).is_file():
            raise _wrong_ending(argument) from None
        from difflib import get_close_matches  # only a wrong name pays for it

        if near := get_close_matches(argument.lower(), known_pages(folders), 3, 0.7):
            raise ChangesError(f"{argument}: no page has this name; did you mean {' or '.join(near)}?") from error
        raise


def _wrong_ending(argument: str) -> ChangesError:
    ends = ", ".join((".changes", *_LEAD_SHEETS))
    return ChangesError(f"{argument}: expected a file whose name ends in one of {ends}, or changes as text")


def _is_name(argument: str) -> bool:
    """Whether an argument names a file or a page, which holds no bar line or line end unless there is such a file."""
    if len(argument) > _LONGEST_NAME or "\0" in argument:
        return False
    suffixed = argument.lower().endswith((".changes", *_LEAD_SHEETS))
    return not set("|\n;") & set(argument) or (suffixed and Path(argument).is_file())
