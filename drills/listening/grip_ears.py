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
from drills.listening.hops import Hops
from drills.listening.level import Level
from drills.listening.onsets import Onsets
from drills.listening.sound_doubts import doubts_of_sound, doubts_of_tuning
from drills.theory.note import hz_of_midi

if TYPE_CHECKING:
    from drills.listening.heard import Samples

__all__ = ["GRIP_VERSION", "GripEars", "grip_verdict"]

GRIP_VERSION = 2
"""Raised whenever a grip may be judged otherwise than before."""

_FIRST_S = 0.1
_STRUM_S = 0.08
"""A strum is over by then; what is looked at begins after it."""
_LENGTH_S, _BEFORE_S, _CLEAR_S = 0.4, 0.2, 0.008
_LOOK_S, _LOUDER, _STRUCK_S = 0.02, 10.0, 0.1
"""So much sound after an onset tells its power; one so many times stronger than the last, so long after it, is the
stroke: what came before was a noise. A strum is no longer, and its own strings do not count (chosen on noise)."""
_FEWEST_PEAKS = 5
"""New peaks that a stroke has at least: of noise alone there were none or one, of strokes 22 and more."""
_HARMONICS, _MOST_HZ = 8, 4000.0
_FADE = 0.85
"""Weight of each harmonic against the one below it."""
_STIFF = 1e-4
"""Inharmonicity of a guitar string, a middle value (Fletcher 1964: f_n = n f sqrt(1 + B n^2), B of 2e-5 to 3e-4)."""
_NEAR_CENTS, _SHARED_CENTS = 22.0, 35.0
"""A peak this near belongs to a harmonic; harmonics this near one another tell nothing of either."""
_LOWEST_DB, _FULL_DB = -48.0, -33.0
"""A peak this far below the strongest counts nothing, and from there on whole."""
_AROUND_BINS, _OUT_DB = 256, 13.0
_RIGHT, _WRONG, _GONE, _AHEAD = 0.55, 0.75, 0.2, 0.25
_FEWEST_OWN = 3
_MOST_OFF_CENTS = 45


@dataclass(frozen=True, slots=True, eq=False)
class GripEars:
    """All that is remembered while a grip is waited for. Make one with `start`, and a new one with each `take`.

    onset_s: when it was struck, None before. power: of the sound just after that. before, after: the sound just before
    and after it, once it is there.
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
        if found is not None and found >= _FIRST_S:
            first = len(past) - round((now - found) * self.rate)
            loud = float(np.mean(past[first : first + round(_LOOK_S * self.rate)] ** 2))
            if onset is None or (loud >= _LOUDER * power and found - onset >= _STRUCK_S):
                onset, power = found, loud
        made = replace(self, past=past, level=level, onsets=onsets, onset_s=onset, power=power)
        if onset is None or now < onset + _STRUM_S + _LENGTH_S:
            return made
        first = len(past) - round((now - onset - _STRUM_S) * self.rate)
        last = len(past) - round((now - onset + _CLEAR_S) * self.rate)
        before = past[max(0, last - round(_BEFORE_S * self.rate)) : last]
        after = past[first : first + round(_LENGTH_S * self.rate)]
        if len(_peaks(before, after, self.rate)[0]) < _FEWEST_PEAKS:
            return replace(made, onset_s=None, power=0.0)  # a noise, and the stroke is still to come
        return replace(made, before=before, after=after)


def grip_verdict(ears: GripEars, asked: Sequence[int]) -> Verdict:
    """The verdict on a grip. asked: MIDI numbers in the order of the shape."""
    doubts = doubts_of_sound(ears.level, ears.hops.lost)
    if ears.after is None or ears.before is None:
        unheard = tuple(NoteVerdict(midi, Judged.NOT_SURE) for midi in asked)
        return Verdict(unheard, doubts=doubts or ("I heard no grip.",))
    hz, db = _peaks(ears.before, ears.after, ears.rate)
    off = max(
        range(-_MOST_OFF_CENTS, _MOST_OFF_CENTS + 1, 2), key=lambda cents: (_whole(asked, cents, hz, db), -abs(cents))
    )
    notes = tuple(_judged(midi, asked, off, hz, db, ears.onset_s) for midi in asked)
    notes = tuple(replace(one, judged=Judged.NOT_SURE, heard=None) if _of_another(one, notes) else one for one in notes)
    right = sum(one.judged is Judged.RIGHT for one in notes)
    if 2 * right < len(notes):
        # Too little of it is there to say of any note that it was wrong.
        notes = tuple(
            one if one.judged is Judged.RIGHT else replace(one, judged=Judged.NOT_SURE, heard=None) for one in notes
        )
    return Verdict(notes, tuning_cents=float(off), doubts=doubts or doubts_of_tuning(off))


def _of_another(one: NoteVerdict, notes: Sequence[NoteVerdict]) -> bool:
    """Whether what was heard in place of a note was heard in place of another one too: nobody can say of which."""
    return one.heard is not None and any(other.asked != one.asked and other.heard == one.heard for other in notes)


def _peaks(before: Samples, after: Samples, rate: int) -> tuple[Samples, Samples]:
    """Frequencies of the peaks that are new, and how far each lies below the strongest, in decibels."""
    size = 1 << int(np.ceil(np.log2(len(after) * 2)))
    now = np.abs(np.fft.rfft(after * np.hanning(len(after)), size)) / (len(after) / 4)
    then = np.abs(np.fft.rfft(before * np.hanning(len(before)), size)) / (len(before) / 4)
    new = np.maximum(now - 1.1 * then, 1e-12)
    high = min(len(new) - 1, round(_MOST_HZ * 1.1 * size / rate))
    middle = new[1 : high - 1]
    at = 1 + np.flatnonzero((middle > new[: high - 2]) & (middle >= new[2:high]))
    if not len(at):
        return np.zeros(0), np.zeros(0)
    left, centre, right = np.log(now[at - 1] + 1e-12), np.log(now[at] + 1e-12), np.log(now[at + 1] + 1e-12)
    curve = left - 2 * centre + right
    # A peak of what is new need not be one of what is there: then its bin is all that is known.
    place = at + np.clip(np.where(curve < 0, 0.5 * (left - right) / np.where(curve < 0, curve, -1.0), 0.0), -0.9, 0.9)
    db = 20 * np.log10(new[at])
    db -= float(db.max())
    # What stands out of the noise around it is a peak; half the bins around hold no harmonic.
    blocks = np.array([np.median(now[first : first + _AROUND_BINS]) for first in range(0, high, _AROUND_BINS)])
    floor = np.interp(at, np.arange(len(blocks)) * _AROUND_BINS + _AROUND_BINS / 2, blocks)
    kept = (db > _LOWEST_DB) & (20 * np.log10(now[at] / (floor + 1e-12)) > _OUT_DB)
    found: tuple[Samples, Samples] = place[kept] * rate / size, db[kept]
    return found


def _harmonics(midi: int, cents: float) -> Samples:
    number = np.arange(1, _HARMONICS + 1)
    hz: Samples = hz_of_midi(midi + cents / 100) * number * np.sqrt((1 + _STIFF * number**2) / (1 + _STIFF))
    return hz[hz < _MOST_HZ]


def _there(hz: Samples, peaks: Samples, db: Samples) -> Samples:
    """For each frequency how surely a peak lies there, 0 to 1."""
    off = np.abs(1200 * np.log2(peaks[None, :] / hz[:, None]))
    found: Samples = np.where(off <= _NEAR_CENTS, _strength(db)[None, :], 0.0).max(axis=1)
    return found


def _strength(db: Samples) -> Samples:
    found: Samples = np.clip((db - _LOWEST_DB) / (_FULL_DB - _LOWEST_DB), 0.0, 1.0)
    return found


def _whole(asked: Sequence[int], cents: int, peaks: Samples, db: Samples) -> float:
    """How well the peaks fit the grip as a whole at a tuning."""
    total = 0.0
    for midi in asked:
        hz = _harmonics(midi, cents)
        off = 1200 * np.log2(peaks[None, :] / hz[:, None])
        near = (np.exp(-((off / _NEAR_CENTS) ** 2)) * _strength(db)[None, :]).max(axis=1)
        total += float((near * _FADE ** np.arange(len(hz))).sum())
    return total


def _score(midi: int, others: Sequence[int], cents: float, peaks: Samples, db: Samples) -> tuple[float, int]:
    """How much of a note's own harmonics is there, 0 to 1, and how many they are: those no other note has."""
    hz = _harmonics(midi, cents)
    own = np.ones(len(hz), dtype=bool)
    for other in others:
        theirs = _harmonics(other, cents)
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
        return NoteVerdict(midi, Judged.RIGHT, at_s=at_s)
    if own < _FEWEST_OWN:
        return NoteVerdict(midi, Judged.NOT_SURE, at_s=at_s)
    if best_score >= _WRONG and best_score >= score + _AHEAD:
        return NoteVerdict(midi, Judged.WRONG, best, at_s)
    if score <= _GONE and best_score <= _GONE + 0.1:
        return NoteVerdict(midi, Judged.MISSING)
    return NoteVerdict(midi, Judged.NOT_SURE, at_s=at_s)
