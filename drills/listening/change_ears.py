"""Hears a change from one grip to the next: the first stroke and the one that leaves it, each verified as a grip is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from drills.listening.grip_ears import GripEars, StrumSound, stroke_verdict
from drills.listening.heard import Frame, Judged, NoteVerdict, Verdict
from drills.listening.sound_doubts import doubts_of_sound

if TYPE_CHECKING:
    from drills.listening.heard import Heard, Target
    from drills.listening.hops import Hops
    from drills.listening.level import Level

__all__ = ["ChangeEars", "change_over", "change_verdict"]

_MOST_STROKES = 16
"""So many strokes are looked at; a player who strums on is not followed for ever."""


@dataclass(frozen=True, slots=True, eq=False)
class ChangeEars:
    """All that is remembered of a take of two grips. Make one with `start`, and a new one with each `take`.

    waiting: the ears for the stroke to come. strokes: those that were heard, in order.
    """

    waiting: GripEars
    strokes: tuple[StrumSound, ...] = ()

    @classmethod
    def start(cls, rate: int) -> ChangeEars:
        """Ears that have heard nothing. rate: samples a second."""
        return cls(GripEars.start(rate))

    @property
    def hops(self) -> Hops:
        """What was cut of the sound so far."""
        return self.waiting.hops

    @property
    def level(self) -> Level:
        """How loud the take was so far."""
        return self.waiting.level

    @property
    def now_s(self) -> float:
        """Seconds of sound taken in."""
        return self.waiting.now_s

    @property
    def heard(self) -> tuple[Heard, ...]:
        """The stroke that is being looked at, as an onset without a pitch, where there is one."""
        return self.waiting.heard

    def take(self, frame: Frame) -> ChangeEars:
        """The ears after one more frame."""
        hops, cut = self.hops.take(frame)
        waiting, strokes, taken = self.waiting, self.strokes, self.hops.taken
        for hop in cut:
            taken += len(hop)
            waiting = waiting.after_hop(hop, taken)
            if (stroke := waiting.stroke) is not None:
                strokes = (*strokes, stroke)[:_MOST_STROKES]
                waiting = waiting.again()
        return ChangeEars(replace(waiting, hops=hops), strokes)

    def finish(self) -> ChangeEars:
        """The ears after the last frame; a grip that rang too short to be looked at stays unheard."""
        return self


def change_over(ears: ChangeEars, target: Target) -> bool:
    """Whether a stroke was heard that left the first grip."""
    return _second(ears.strokes, *_two(target)) is not None


def change_verdict(ears: ChangeEars, target: Target) -> Verdict:
    """The verdict on both grips, the notes of the first before those of the second.

    target: its `onward_at` says where the second begins. The first stroke counts as the first grip. The second is the
    first later stroke that leaves the first, which may be struck again. off_click_ms: of each
    stroke from the beat nearest to it, for each of its notes.
    """
    first_asked, second_asked = _two(target)
    doubts = doubts_of_sound(ears.level, ears.hops.lost)
    stroke = _second(ears.strokes, first_asked, second_asked)
    if stroke is None:
        said = "I heard one grip and no other after it." if ears.strokes else "I heard no grip."
        notes = ears.strokes and _verdict(ears.strokes[0], first_asked).notes
        unheard = tuple(NoteVerdict(midi, Judged.NOT_SURE) for midi in target.pitches[len(notes) :])
        return Verdict((*notes, *unheard), doubts=doubts or (said,))
    first, second = _verdict(ears.strokes[0], first_asked), _verdict(stroke, second_asked)
    notes = (*first.notes, *second.notes)
    doubts = doubts or first.doubts or second.doubts
    return Verdict(notes, off_click_ms=_off_click(notes, target), tuning_cents=first.tuning_cents, doubts=doubts)


def _two(target: Target) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return target.pitches[: target.onward_at], target.pitches[target.onward_at :]


@lru_cache(maxsize=4 * _MOST_STROKES)
def _verdict(stroke: StrumSound, asked: tuple[int, ...]) -> Verdict:
    return stroke_verdict(stroke, asked)  # asked at every frame of a live take


def _right(verdict: Verdict) -> int:
    return sum(one.judged is Judged.RIGHT for one in verdict.notes)


def _second(strokes: Sequence[StrumSound], first: tuple[int, ...], second: tuple[int, ...]) -> StrumSound | None:
    """The stroke that left the first grip, None where there was none."""
    return next((stroke for stroke in strokes[1:] if _leaves(stroke, first, second)), None)


def _leaves(stroke: StrumSound, first: tuple[int, ...], second: tuple[int, ...]) -> bool:
    """Whether a stroke is the second grip: it fits that no worse than the first, and is not all of the first.

    Where the second holds all of the first a note that only the second has tells, and where both are the same any
    stroke does.
    """
    told = _verdict(stroke, second)
    if set(first) <= set(second):
        more = set(second) - set(first)
        return not more or any(one.asked in more and one.judged is Judged.RIGHT for one in told.notes)
    of_first = _right(_verdict(stroke, first))
    return of_first < len(first) and _right(told) >= of_first


def _off_click(notes: Sequence[NoteVerdict], target: Target) -> tuple[float | None, ...]:
    if target.click is None:
        return ()
    beat_s, first_s = 60 / target.click.tempo_bpm, target.click.first_s
    return tuple(
        None if one.at_s is None else round(((one.at_s - first_s + beat_s / 2) % beat_s - beat_s / 2) * 1000, 1)
        for one in notes
    )
