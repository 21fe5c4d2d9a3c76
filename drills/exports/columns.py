"""The columns about a card that the CSV of reviews carries beside the scheduler's own."""

from __future__ import annotations

from collections.abc import Callable

from drills.progress.card_parts import card_parts

__all__ = ["CARD_COLUMNS"]


def _part(name: str) -> Callable[[str], str]:
    def read(card: str) -> str:
        parts = card_parts(card)
        return getattr(parts, name) if parts else ""

    return read


CARD_COLUMNS: dict[str, Callable[[str], str]] = {
    "set": _part("strings"),
    "quality": _part("quality"),
    "root": _part("root"),
    "form": _part("form"),
    "prompt": _part("kind"),
}
"""set as ``543``, which a spreadsheet does not take for a date; quality, root, form and kind of prompt as in the id."""
