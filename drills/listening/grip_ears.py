"""Hears a grip: notes struck together, each looked for at its known pitch and at the pitches beside it.

Unlike single notes a grip is verified against what was asked: it is not found what was played, but whether each note
asked for sounds, or one a semitone or a tone beside it in its place. Its figures are kept apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from drills.listening.heard import Frame, Heard, Judged, NoteVerdict, Verdict
from drills.listening.hidden_string import hidden_by_another
from drills.listening.hops import Hops
from drills.listening.level import Level
from drills.listening.onsets import Onsets
from drills.listening.partials import LOWEST_DB, harmonics_of, new_peaks
from drills.listening.sound_doubts import doubts_of_sound, doubts_of_tuning

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["GRIP_VERSION", "GripEars", "StrumSound", "grip_verdict", "stroke_verdict"]

GRIP_VERSION = 4
"""Raised whenever a grip may be judged otherwise than before."""

_FIRST_S = 0.1
_STRUM_S = 0.08
"""A strum is over by then; what is looked at begins after it."""
_LENGTH_S, _BEFORE_S, _CLEAR_S = 0.4, 0.2, 0.008
_LOOK_S, _LOUDER, _STRUCK_S = 0.02, 10.0, 0.1
"""So much sound before and after an onset tells the power it brought; one that brought so many times more than the
last, so long after it, is the stroke: what came before was a noise. A strum is no longer, and its own strings do not
count (chosen on noise)."""
_NEXT_S = 0.34
"""What begins so long after a stroke is the next one, and the first has rung long enough to be looked at without it."""
_FEWEST_PEAKS = 5
"""New peaks that a stroke has at least: of noise alone there were none or one, of strokes 22 and more."""
_FADE = 0.85
"""Weight of each harmonic against the one below it."""
_NEAR_CENTS, _SHARED_CENTS = 22.0, 35.0
"""A peak this near belongs to a harmonic; harmonics this near one another tell nothing of either."""
_FULL_DB = -33.0
"""A peak this far below the strongest counts whole; what counts nothing lies at `LOWEST_DB`."""
_RIGHT, _WRONG, _GONE, _AHEAD = 0.55, 0.75, 0.2, 0.25
_FEWEST_OWN = 3
_OVERTONES = (0, 12, 19, 24, 28, 31, 36)
"""Semitones above a note of itself and its second to eighth harmonics, those of equal temperament."""
_RANG = 0.3
"""From such a score on, before the stroke, a pitch rang already (chosen)."""
_MOST_OFF_CENTS = 45


@dataclass(frozen=True, slots=True, eq=False)
class StrumSound:
    """One stroke over the strings. at_s: when it began. before, after: the sound before and after it, one channel."""

    at_s: float
    rate: int
    before: Samples
    after: Samples


@dataclass(frozen=True, slots=True, eq=False)
class GripEars:
    """All that is remembered while a grip is waited for. Make one with `start`, and a new one with each `take`.

    onset_s: when it was struck, None before. power: what that brought. before, after: the sound just before
    and after it, once it is there. next_s, next_power: when what may be a further stroke began while this one was
    looked at, and what it brought.
    """

    rate: int
    hops: Hops
    onsets: Onsets
    level: Level
    past: Samples
    onset_s: float | None = None
    power: float = 0.0
    before: Samples | None = None
    after: Samples | None = None
    next_s: float | None = None
    next_power: float = 0.0

    @classmethod
    def start(cls, rate: int) -> GripEars:
        """Ears that have heard nothing. rate: samples a second."""
        past = np.zeros(round((_BEFORE_S + _STRUM_S + _LENGTH_S + 0.3) * rate))
        return cls(rate, Hops.start(rate), Onsets.start(rate), Level.start(), past)

    @property
    def now_s(self) -> float:
        """Seconds of sound taken in."""
        return self.hops.taken / self.rate

    @property
    def complete(self) -> bool:
        """Whether all that is looked at has been heard."""
        return self.after is not None

    @property
    def stroke(self) -> StrumSound | None:
        """The stroke, once it has been heard; a further one that began meanwhile is left out of its sound."""
        if self.onset_s is None or self.before is None or self.after is None:
            return None
        after = self.after
        if self.next_s is not None:
            after = after[: round((self.next_s - self.onset_s - _STRUM_S - _CLEAR_S) * self.rate)]
        return StrumSound(self.onset_s, self.rate, self.before, after)

    def again(self) -> GripEars:
        """The ears once a stroke was heard, waiting for the next, which may have begun."""
        return replace(
            self, onset_s=self.next_s, power=self.next_power, before=None, after=None, next_s=None, next_power=0.0
        )

    @property
    def heard(self) -> tuple[Heard, ...]:
        """The stroke, as an onset without a pitch, once there was one."""
        return () if self.onset_s is None else (Heard(self.onset_s, None, 0.0, 0.0),)

    def take(self, frame: Frame) -> GripEars:
        """The ears after one more frame."""
        hops, cut = self.hops.take(frame)
        ears, taken = self, self.hops.taken
        for hop in cut:
            taken += len(hop)
            ears = ears.after_hop(hop, taken)
        return replace(ears, hops=hops)

    def finish(self) -> GripEars:
        """The ears after the last frame; a grip that rang too short to be looked at stays unheard."""
        return self

    def after_hop(self, hop: Samples, taken: int) -> GripEars:
        """The ears after one more hop of sound, `taken` samples after the beginning of the take at its end."""
        past = np.concatenate((self.past[len(hop) :], hop))
        level = self.level.take(hop)
        if self.after is not None:
            return replace(self, past=past, level=level)
        onsets, found = self.onsets.take(hop)
        onset, power, now = self.onset_s, self.power, taken / self.rate
        following, next_power = self.next_s, self.next_power
        if found is not None and found >= _FIRST_S:
            came = self._came(past, now - found)
            if onset is None or (came >= _LOUDER * power and found - onset >= _STRUCK_S):
                onset, power, following, next_power = found, came, None, 0.0
            elif following is None and found - onset >= _NEXT_S:
                following, next_power = found, came
        made = replace(
            self, past=past, level=level, onsets=onsets, onset_s=onset, power=power, next_s=following,
            next_power=next_power,
        )  # fmt: skip
        if onset is None or now < onset + _STRUM_S + _LENGTH_S:
            return made
        first = len(past) - round((now - onset - _STRUM_S) * self.rate)
        last = len(past) - round((now - onset + _CLEAR_S) * self.rate)
        before = past[max(0, last - round(_BEFORE_S * self.rate)) : last]
        after = past[first : first + round(_LENGTH_S * self.rate)]
        if len(new_peaks(before, after, self.rate)[0]) < _FEWEST_PEAKS:
            # A noise, and the stroke is still to come, or has begun.
            return made.again()
        return replace(made, before=before, after=after)

    def _came(self, past: Samples, since_s: float) -> float:
        """The power that an onset so many seconds ago brought: what rings on is no part of it."""
        look, at = round(_LOOK_S * self.rate), len(past) - round(since_s * self.rate)
        before = past[: at - round(_CLEAR_S * self.rate)][-look:]
        return max(0.0, float(np.mean(past[at : at + look] ** 2)) - float(np.mean(before**2)))


def grip_verdict(ears: GripEars, asked: Sequence[int]) -> Verdict:
    """The verdict on a grip. asked: MIDI numbers in the order of the shape."""
    doubts = doubts_of_sound(ears.level, ears.hops.lost)
    if ears.onset_s is None or ears.after is None or ears.before is None:
        unheard = tuple(NoteVerdict(midi, Judged.NOT_SURE) for midi in asked)
        return Verdict(unheard, doubts=doubts or ("I heard no grip.",))
    found = stroke_verdict(StrumSound(ears.onset_s, ears.rate, ears.before, ears.after), asked)
    return replace(found, doubts=doubts or found.doubts)


def stroke_verdict(stroke: StrumSound, asked: Sequence[int]) -> Verdict:
    """The verdict on one stroke. asked: MIDI numbers in the order of the shape."""
    hz, db = new_peaks(stroke.before, stroke.after, stroke.rate)
    off = max(
        range(-_MOST_OFF_CENTS, _MOST_OFF_CENTS + 1, 2), key=lambda cents: (_whole(asked, cents, hz, db), -abs(cents))
    )
    notes = tuple(_judged(midi, asked, off, hz, db, stroke.at_s) for midi in asked)
    rang = new_peaks(np.zeros(len(stroke.before)), stroke.before, stroke.rate)
    notes = tuple(
        one.unclaimed if _of_another(one, notes) or _hidden_by_ringing(one, off, *rang) else one for one in notes
    )
    right = sum(one.judged is Judged.RIGHT for one in notes)
    if 2 * right < len(notes):
        # Too little of it is there to say of any note that it was wrong, or how the guitar is tuned.
        return Verdict(tuple(one.held_against_nobody for one in notes))
    return Verdict(notes, tuning_cents=float(off), doubts=doubts_of_tuning(off))


def _of_another(one: NoteVerdict, notes: Sequence[NoteVerdict]) -> bool:
    """Whether what was heard in place of a note was heard in place of another one too, or is an overtone of that.

    Then nobody can say that it was played for this one.
    """
    return one.heard is not None and any(
        other.asked != one.asked and other.heard is not None and one.heard - other.heard in _OVERTONES
        for other in notes
    )


def _hidden_by_ringing(one: NoteVerdict, cents: float, peaks: Samples, db: Samples) -> bool:
    """Whether what speaks against a note may be what rang before the stroke.

    A pitch that sounded already brings little that is new when it is struck again, and seems missing; and strings that
    beat bring anew what nobody struck. peaks, db: what sounded before.
    """
    told = {Judged.MISSING: one.asked, Judged.WRONG: one.heard}.get(one.judged)
    return told is not None and _score(told, (), cents, peaks, db)[0] >= _RANG


def _there(hz: Samples, peaks: Samples, db: Samples) -> Samples:
    """For each frequency how surely a peak lies there, 0 to 1."""
    off = np.abs(1200 * np.log2(peaks[None, :] / hz[:, None]))
    found: Samples = np.where(off <= _NEAR_CENTS, _strength(db)[None, :], 0.0).max(axis=1, initial=0.0)
    return found


def _strength(db: Samples) -> Samples:
    found: Samples = np.clip((db - LOWEST_DB) / (_FULL_DB - LOWEST_DB), 0.0, 1.0)
    return found


def _whole(asked: Sequence[int], cents: int, peaks: Samples, db: Samples) -> float:
    """How well the peaks fit the grip as a whole at a tuning."""
    total = 0.0
    for midi in asked:
        hz = harmonics_of(midi, cents)
        off = 1200 * np.log2(peaks[None, :] / hz[:, None])
        near = (np.exp(-((off / _NEAR_CENTS) ** 2)) * _strength(db)[None, :]).max(axis=1)
        total += float((near * _FADE ** np.arange(len(hz))).sum())
    return total


def _score(midi: int, others: Sequence[int], cents: float, peaks: Samples, db: Samples) -> tuple[float, int]:
    """How much of a note's own harmonics is there, 0 to 1, and how many they are: those no other note has."""
    hz = harmonics_of(midi, cents)
    own = np.ones(len(hz), dtype=bool)
    for other in others:
        theirs = harmonics_of(other, cents)
        own &= (np.abs(1200 * np.log2(theirs[None, :] / hz[:, None])) > _SHARED_CENTS).all(axis=1)
    weight = np.where(own, _FADE ** np.arange(len(hz)), 0.0)
    if not own.any():
        return 0.0, 0
    return float((_there(hz, peaks, db) * weight).sum() / weight.sum()), int(own.sum())


def _judged(
    midi: int, asked: Sequence[int], cents: float, peaks: Samples, db: Samples, at_s: float | None
) -> NoteVerdict:
    others = [other for other in asked if other != midi]
    score, own = _score(midi, others, cents, peaks, db)
    # What has few harmonics of its own is there by chance too often to speak against the note.
    beside = {
        other: found
        for step in (-2, -1, 1, 2)
        if (other := midi + step) not in asked and (found := _score(other, asked, cents, peaks, db))[1] >= _FEWEST_OWN
    }
    best = max(beside, key=lambda other: beside[other][0], default=midi)
    best_score = beside[best][0] if beside else 0.0
    if own and score >= _RIGHT and score >= best_score + _AHEAD:
        hidden = hidden_by_another(midi, others, cents, peaks, db)
        return NoteVerdict(midi, Judged.NOT_SURE if hidden else Judged.RIGHT, at_s=at_s)
    if own < _FEWEST_OWN:
        return NoteVerdict(midi, Judged.NOT_SURE, at_s=at_s)
    if best_score >= _WRONG and best_score >= score + _AHEAD:
        return NoteVerdict(midi, Judged.WRONG, best, at_s)
    if score <= _GONE and best_score <= _GONE + 0.1:
        return NoteVerdict(midi, Judged.MISSING)
    return NoteVerdict(midi, Judged.NOT_SURE, at_s=at_s)
