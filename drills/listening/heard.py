"""The values that listening passes on: a frame of sound, a note heard, what was asked, the verdict, the proposal."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float64]
    """Samples of one channel, full scale 1."""

__all__ = ["ClickGrid", "Frame", "Heard", "Judged", "NoteVerdict", "Proposal", "Target", "Verdict"]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A piece of sound as it was captured.

    at_s: seconds from the start of the take to its first sample. samples: one channel, full scale 1.
    """

    at_s: float
    samples: Samples


@dataclass(frozen=True, slots=True)
class Heard:
    """One onset and the pitch that began there.

    at_s: seconds from the start of the take. midi: the nearest MIDI number at A4 = 440 Hz, None where no pitch
    could be made out. cents: how far the pitch lies above it, -50 to 50. sure: 0 to 1.
    """

    at_s: float
    midi: int | None
    cents: float
    sure: float

    @property
    def pitch(self) -> float | None:
        """The pitch in semitones, MIDI scale, with its fraction; None where there is none."""
        return None if self.midi is None else self.midi + self.cents / 100


@dataclass(frozen=True, slots=True)
class ClickGrid:
    """A click to play along with: beats a minute, and seconds from the start of the take to one of its beats."""

    tempo_bpm: float
    first_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Target:
    """What was asked: MIDI numbers in playing order, and the click if there is one.

    onward_at: in a change from one shape to the next, how many of the pitches are of the first; None for one shape.
    Raises ValueError when no pitch is given, or one of two shapes has none.
    """

    pitches: tuple[int, ...]
    click: ClickGrid | None = None
    onward_at: int | None = None

    def __post_init__(self) -> None:
        if not self.pitches:
            raise ValueError("target, pitches: expected at least one MIDI number, got none")
        if self.onward_at is not None and not 0 < self.onward_at < len(self.pitches):
            raise ValueError(f"target, onward_at: expected 1 to {len(self.pitches) - 1}, got {self.onward_at}")


class Judged(Enum):
    """What became of one note that was asked for."""

    RIGHT = "right"
    WRONG = "wrong"
    MISSING = "missing"
    NOT_SURE = "not sure"


@dataclass(frozen=True, slots=True)
class NoteVerdict:
    """One note that was asked for.

    asked: its MIDI number. judged: what became of it. heard: the MIDI number that sounded in its place where it is
    wrong. at_s: when it sounded, None where it did not.
    """

    asked: int
    judged: Judged
    heard: int | None = None
    at_s: float | None = None

    @property
    def unclaimed(self) -> NoteVerdict:
        """The same note, of which nothing is said but when it sounded."""
        return NoteVerdict(self.asked, Judged.NOT_SURE, at_s=self.at_s)

    @property
    def held_against_nobody(self) -> NoteVerdict:
        """The same note where it was right, and else unclaimed."""
        return self if self.judged is Judged.RIGHT else self.unclaimed


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was heard against what was asked.

    notes: in the order asked. extras: MIDI numbers that sounded besides, in order. stops: positions, from 1, of the
    notes before which the hand stopped. off_click_ms: for each note its distance from its click, None without a
    click or where it did not sound. tuning_cents: how far the guitar lies above A4 = 440 Hz, None where nothing
    was heard. doubts: reasons, in words, why nothing should be claimed of the whole take. faint: MIDI numbers that
    may have sounded besides, too weak to be held against the player.
    """

    notes: tuple[NoteVerdict, ...]
    extras: tuple[int, ...] = ()
    stops: tuple[int, ...] = ()
    off_click_ms: tuple[float | None, ...] = ()
    tuning_cents: float | None = None
    doubts: tuple[str, ...] = ()
    faint: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A grade the player may take or not.

    grade: looked, found-it, clean or in-time, None where nothing is claimed. slip: root or shape after looked, else
    None. why: one sentence to show.
    """

    grade: str | None
    slip: str | None
    why: str
