"""A chord: a spelled root with a quality, perhaps over another bass note."""

from __future__ import annotations

from dataclasses import dataclass

from drills.theory.interval import Interval, transpose_note
from drills.theory.note import Note
from drills.theory.quality import Quality

__all__ = ["Chord"]


@dataclass(frozen=True, slots=True)
class Chord:
    """A spelled chord.

    root, quality: what is played. bass: another lowest note (slash chord), or None.
    tensions: degree labels beyond the quality that a reduced symbol carried, e.g.
        ``("9", "13")`` for C13 read as C7; kept for the sound.
    """

    root: Note
    quality: Quality
    bass: Note | None = None
    tensions: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The ASCII name, e.g. ``Bbm7b5`` or ``C7/E``."""
        bass = f"/{self.bass.name}" if self.bass else ""
        return f"{self.root.name}{self.quality.symbol}{bass}"

    @property
    def notes(self) -> tuple[Note, ...]:
        """The spelled chord tones, root first."""
        return tuple(transpose_note(self.root, interval) for interval in self.quality.intervals)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Sounding chord tones, 0 to 11, C = 0."""
        return frozenset(note.pitch_class for note in self.notes)

    def transposed(self, interval: Interval) -> Chord:
        """The same chord an interval away, spelled by letters."""
        bass = transpose_note(self.bass, interval) if self.bass else None
        return Chord(transpose_note(self.root, interval), self.quality, bass, self.tensions)

    def same_sound(self, other: Chord) -> bool:
        """Whether an answer means the same chord, enharmonic twins (C#m7, Dbm7) included."""
        return self.quality.name == other.quality.name and self.root.pitch_class == other.root.pitch_class

    def __str__(self) -> str:
        return self.name
