"""The errors that `drills` raises: one base class, and each is also a subclass of the nearest built-in error."""

from __future__ import annotations

__all__ = [
    "AnswerError",
    "CardPartError",
    "ChangesError",
    "DeckError",
    "DrillsError",
    "EngineError",
    "EtudeError",
    "LeadSheetError",
    "MicrophoneError",
    "NotPlayableError",
    "PathError",
    "SettingsError",
    "SoundError",
    "SymbolError",
    "TableError",
    "TheoryError",
    "TrackError",
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
    """A shape is unplayable: off the neck, off the string set, or a grip that no four fingers hold.

    The hand reaches `Neck.reach_limit_mm`, 120 mm unless set. A line of single notes is never refused for reach:
    the hand shifts. `ShapeFinder` tests the limit, and `grip_cost` of drills/shapes/grip_fingering.py what four
    fingers hold. The message is the reason.
    """


class DeckError(DrillsError, ValueError):
    """A deck file names something unknown, or a value of the wrong type."""


class CardPartError(DrillsError, TypeError):
    """A card or a moment is asked for a part that it does not have, such as a chord or a form: the tool's own fault."""


class SettingsError(DrillsError, ValueError):
    """A settings file or a setting is not usable."""


class AnswerError(DrillsError, ValueError):
    """A typed answer cannot be read; the message says what was expected. It is asked again, never graded."""


def shown(value: object, most: int = 60) -> str:
    """A value as a one-line message may repeat it: escaped like a literal, cut to `most` characters."""
    text = repr(value)
    return text if len(text) <= most else text[: most - 3] + "..."


class ChangesError(DrillsError, ValueError):
    """Changes cannot be read.

    line, column: 1-based place in the text, 0 when there is none.
    suggestions: accepted texts close to what came, best first.
    """

    def __init__(self, message: str, line: int = 0, column: int = 0, suggestions: tuple[str, ...] = ()):
        super().__init__(message)
        self.line = line
        self.column = column
        self.suggestions = suggestions


class LeadSheetError(DrillsError, ValueError):
    """A MusicXML file cannot be read as a lead sheet."""


class PathError(NotPlayableError):
    """No path of roots fits the strings, the fret window or the start asked for."""


class EtudeError(NotPlayableError):
    """No line obeys every hard rule with the options given, or an option is unknown."""


class TrackError(DrillsError, ValueError):
    """A track cannot be made: no chord, no grip, or an unknown option."""


class SoundError(DrillsError, ValueError):
    """A pitch, time, tempo or loudness is out of range, or a sound file cannot be written."""


class MicrophoneError(DrillsError, OSError):
    """No sound comes in: no library, no device, no permission, or a sound file that cannot be read."""


class EngineError(DrillsError, ImportError):
    """An engine of the ears is not installed, or its library does not load."""
