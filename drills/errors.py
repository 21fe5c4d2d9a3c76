"""The errors the music side raises: one base, each also the nearest built-in."""

from __future__ import annotations

__all__ = [
    "AnswerError",
    "DeckError",
    "DrillsError",
    "NotPlayableError",
    "SettingsError",
    "SymbolError",
    "TableError",
    "TheoryError",
    "TuningError",
    "shown",
]


class DrillsError(Exception):
    """Anything the tool refuses; its message says what to do about it."""


class TheoryError(DrillsError, ValueError):
    """A note, interval, key, mode or degree cannot be read or does not exist."""


class SymbolError(TheoryError):
    """A chord symbol is not understood.

    text: what was given. position: 0-based place of the first character not
    understood. suggestions: accepted symbols close to it, best first.
    """

    def __init__(self, message: str, text: str, position: int, suggestions: tuple[str, ...] = ()):
        super().__init__(message)
        self.text = text
        self.position = position
        self.suggestions = suggestions


class TableError(DrillsError, ValueError):
    """A row of a shipped or player's own table contradicts itself or another row."""


class TuningError(DrillsError, ValueError):
    """A tuning, string set or neck measure is not usable."""


class NotPlayableError(DrillsError, ValueError):
    """A shape does not fit the neck, the string set or the hand; the message is the reason."""


class DeckError(DrillsError, ValueError):
    """A deck file names something unknown, or a value of the wrong type."""


class SettingsError(DrillsError, ValueError):
    """A settings file or a setting is not usable."""


class AnswerError(DrillsError, ValueError):
    """A typed answer cannot be read; the message says what was expected. It is asked again, never graded."""


def shown(value: object, most: int = 60) -> str:
    """A value as a one-line message may repeat it: escaped like a literal, cut to `most` characters."""
    text = repr(value)
    return text if len(text) <= most else text[: most - 3] + "..."
