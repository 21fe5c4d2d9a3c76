"""What every engine that finds pitches can do, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["Engine", "Pitched"]


@dataclass(frozen=True, slots=True)
class Pitched:
    """A pitch found: semitones on the MIDI scale with their fraction, and how sure, 0 to 1."""

    pitch: float
    sure: float


class Engine(Protocol):
    """Finds the pitch that began between two stretches of sound, without knowing what was asked for.

    It keeps nothing from one onset to the next: the same sound gets the same answer, and so does louder or softer
    sound.
    """

    @property
    def name(self) -> str:
        """The word by which a log, a table and `--engine` call it."""

    @property
    def lowest(self) -> int:
        """MIDI number of the lowest note it hears."""

    @property
    def highest(self) -> int:
        """MIDI number of the highest."""

    @property
    def version(self) -> int:
        """Raised whenever it may answer otherwise than before."""

    def pitch_of(self, before: Samples, after: Samples, rate: int) -> Pitched | None:
        """The pitch that is in `after` and not in `before`, None where there is none.

        before, after: as many samples each, from just before and just after an onset, a sixteenth of a second or
        more. rate: samples a second.
        """
