"""Which strings may carry the roots of a tune; where roots lie is in `drills.shapes.root_places`."""

from __future__ import annotations

from drills.changes.changes_errors import PathError
from drills.errors import TuningError
from drills.neck.neck import Neck
from drills.shapes.root_places import HandPosition, LowestFret, RootPlace, root_places

__all__ = ["HandPosition", "LowestFret", "RootPlace", "root_places", "root_strings"]


def root_strings(neck: Neck, strings: tuple[int, ...] | None = None) -> tuple[int, ...]:
    """The strings that may carry roots: those asked for, else 6, 5, 4, or the lowest three of fewer strings.

    Raises PathError when one is missing from the tuning or named twice.
    """
    if strings is None:
        top = min(6, neck.tuning.strings)
        return tuple(range(top, max(0, top - 3), -1))
    for string in strings:
        try:
            neck.tuning.open_pitch(string)
        except TuningError as error:
            raise PathError(f"path, root strings: {error}") from error
    if not strings or len(set(strings)) < len(strings):
        raise PathError(f"path, root strings: expected different strings such as 6 5 4, got {list(strings)}")
    return tuple(strings)
