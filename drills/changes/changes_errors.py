"""The errors the tunes floor raises, with the place in the text where there is one."""

from __future__ import annotations

from drills.errors import DrillsError, NotPlayableError

__all__ = ["ChangesError", "EtudeError", "LeadSheetError", "PathError", "TrackError"]


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
