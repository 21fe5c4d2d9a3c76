"""The error the sound floor raises when asked for something that cannot be sounded."""

from __future__ import annotations

from drills.errors import DrillsError

__all__ = ["SoundError"]


class SoundError(DrillsError, ValueError):
    """A pitch, time, tempo or loudness is out of range, or a sound file cannot be written."""
