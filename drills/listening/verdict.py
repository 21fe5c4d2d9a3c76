"""The verdict on a take: each note right, wrong, missing or not sure, what came besides, where the hand stopped."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import TYPE_CHECKING

from drills.listening.alignment import aligned
from drills.listening.heard import Judged, NoteVerdict, Target, Verdict
from drills.listening.heard_notes import HeardNote, notes_of, tuning_of
from drills.listening.sound_doubts import doubts_of_sound, doubts_of_tuning
from drills.listening.timbre import overdriven

if TYPE_CHECKING:
    from drills.listening.ears import Ears

__all__ = ["complete", "doubts_of", "judge", "over"]

_STOP_TIMES, _STOP_S = 1.8, 0.6
_ROOM_FOR_ONE = 1.5
"""Usual gaps in which a note not heard may have been played all the same."""
_REVEAL_S, _SILENCE_S = 0.3, 1.5
_ONWARD_S = 4.0
"""So long nobody who has played the first shape of a change, and is looking for the second, is interrupted."""
_FEWEST_AT_END = 2
_RINGS_S = 2.0
"""So long after its pluck a string that was left to ring may still beat, and be taken for a faint note."""
_PARTIALS = (0, 7)
"""Semitones above a string, within an octave, of its second partial and of its third."""
_SLIP = 2
"""Semitones outside the range asked for in which a faint pitch is taken for a slip of the hand."""


def judge(ears: Ears, target: Target) -> Verdict:
    """The verdict on what the ears heard. Pitches were decided without the target; here they are held against it."""
    notes = notes_of(ears.heard)
    tuning = tuning_of(ears.heard)
    taken, besides = aligned(notes, target.pitches)
    usual = _usual_gap(notes, taken)
    judged = tuple(_judged(notes, taken, besides, index, target, usual, ears.now_s) for index in range(len(taken)))
    if target.onward_at is not None and _played_on(notes, taken, besides):
        # Nobody can say where the second shape began.
        judged = (*judged[: target.onward_at], *(one.held_against_nobody for one in judged[target.onward_at :]))
    extras = tuple(note.midi for note in map(notes.__getitem__, besides) if note.midi is not None)
    doubts = doubts_of(ears, tuning, notes, besides, target)
    rounded = None if tuning is None else round(tuning, 1)
    faint = _faint(notes, besides, target)
    return Verdict(judged, extras, _stops(judged, usual), _off_click(judged, target), rounded, doubts, faint)


def complete(ears: Ears, target: Target) -> bool:
    """Whether the last note asked for has sounded, and right; of a change, with most of the second shape."""
    taken, _ = aligned(notes := notes_of(ears.heard), target.pitches)
    right = [
        place is not None and notes[place].midi == asked for place, asked in zip(taken, target.pitches, strict=True)
    ]
    onward = right[target.onward_at :] if target.onward_at is not None else right[-1:]
    return right[-1] and 2 * sum(onward) > len(onward)


def over(ears: Ears, target: Target) -> bool:
    """Whether the take can be judged: 0.3 s after the last right note, or silence once two notes were heard.

    Silence is 1.5 s, or twice the usual gap where that is longer; in a change 4 s at least before the second shape.
    """
    if not ears.heard:
        return False
    since = ears.now_s - ears.heard[-1].at_s
    if complete(ears, target):
        return since >= _REVEAL_S
    notes = [note for note in notes_of(ears.heard) if note.midi is not None]
    if len(notes) < 2:
        return False
    usual = median(after.at_s - before.at_s for before, after in zip(notes, notes[1:], strict=False))
    waits = target.onward_at is not None and len(notes) <= target.onward_at
    return since >= max(_ONWARD_S if waits else _SILENCE_S, 2 * usual)


def _usual_gap(notes: Sequence[HeardNote], taken: Sequence[int | None]) -> float | None:
    """The median gap between neighbours that both sounded, in seconds."""
    gaps = [
        notes[after].at_s - notes[before].at_s
        for before, after in zip(taken, taken[1:], strict=False)
        if before is not None and after is not None
    ]
    return median(gaps) if gaps else None


def _judged(
    notes: Sequence[HeardNote],
    taken: Sequence[int | None],
    besides: Sequence[int],
    index: int,
    target: Target,
    usual: float | None,
    end_s: float,
) -> NoteVerdict:
    asked, place = target.pitches[index], taken[index]
    if place is None:
        sure = _surely_missing(notes, taken, index, usual, end_s)
        return NoteVerdict(asked, Judged.MISSING if sure else Judged.NOT_SURE)
    note = notes[place]
    if note.midi == asked:
        return NoteVerdict(asked, Judged.RIGHT, at_s=note.at_s)
    # An octave is what ears, too, take one note for another by.
    if note.midi is None or not note.certain or (note.midi - asked) % 12 == 0:
        return NoteVerdict(asked, Judged.NOT_SURE, at_s=note.at_s)
    if _may_have_followed(notes, taken, besides, index, usual):
        return NoteVerdict(asked, Judged.NOT_SURE, at_s=note.at_s)
    return NoteVerdict(asked, Judged.WRONG, note.midi, note.at_s)


def _played_on(notes: Sequence[HeardNote], taken: Sequence[int | None], besides: Sequence[int]) -> bool:
    """Whether more was played than was asked for, between the notes that were taken or after them."""
    last = max((place for place in taken if place is not None), default=-1)
    return any(notes[place].midi is not None for place in (*besides, *range(last + 1, len(notes))))


def _may_have_followed(
    notes: Sequence[HeardNote], taken: Sequence[int | None], besides: Sequence[int], index: int, usual: float | None
) -> bool:
    """Whether the note asked for may have sounded beside the other one that was taken for it.

    It may where something without a pitch sounded between its neighbours, and where the gap to the next note has room
    for one that was not heard: then the other one was a note too many.
    """
    before = max((place for place in taken[:index] if place is not None), default=-1)
    after = min((place for place in taken[index + 1 :] if place is not None), default=len(notes))
    if any(before < place < after and notes[place].midi is None for place in besides):
        return True
    place = taken[index]
    if usual is None or place is None or after == len(notes):
        return False
    return notes[after].at_s - notes[place].at_s >= _ROOM_FOR_ONE * usual


def _faint(notes: Sequence[HeardNote], besides: Sequence[int], target: Target) -> tuple[int, ...]:
    """MIDI numbers that may have sounded besides, once the playing had begun: those of weak pitches near the shape.

    Pitches of the last seconds and of their second and third partials are none, in any octave: strings that ring
    bring them. Nor is the pitch that follows.
    """
    low, high = min(target.pitches) - _SLIP, max(target.pitches) + _SLIP
    found = []
    for place in besides:
        one = notes[place]
        if one.faint is None or not one.credible or not low <= one.faint <= high:
            continue
        before = [note for note in notes[:place] if note.midi is not None]
        ringing = [note.midi for note in before if note.midi is not None and one.at_s - note.at_s <= _RINGS_S]
        after = [note.midi for note in notes[place + 1 :] if note.midi is not None][:1]
        of_a_ring = any((one.faint - midi) % 12 in _PARTIALS for midi in ringing)
        if before and not of_a_ring and all((one.faint - midi) % 12 for midi in after):
            found.append(one.faint)
    return tuple(found)


def _surely_missing(
    notes: Sequence[HeardNote], taken: Sequence[int | None], index: int, usual: float | None, end_s: float
) -> bool:
    """Whether there was no room for a note that was played and not heard.

    The first note may have come before the ears were open. Between two neighbours a gap long enough for two leaves
    it open. At the end it takes a silence and two notes: one alone may have been too soft to be heard.
    """
    if index == 0 or usual is None:
        return False
    last = max(number for number, place in enumerate(taken) if place is not None)
    if index > last:
        left_out = len(taken) - 1 - last
        return left_out >= _FEWEST_AT_END and end_s - notes[taken[last] or 0].at_s >= _SILENCE_S
    before = taken[index - 1]
    if before is None:
        return False
    after = next(place for place in taken[index + 1 :] if place is not None)
    return notes[after].at_s - notes[before].at_s < _ROOM_FOR_ONE * usual


def _stops(judged: Sequence[NoteVerdict], usual: float | None) -> tuple[int, ...]:
    if usual is None:
        return ()
    found = []
    for place, (before, after) in enumerate(zip(judged, judged[1:], strict=False), start=2):
        if before.at_s is not None and after.at_s is not None:
            gap = after.at_s - before.at_s
            if gap > _STOP_TIMES * usual and gap > usual + _STOP_S:
                found.append(place)
    return tuple(found)


def _off_click(judged: Sequence[NoteVerdict], target: Target) -> tuple[float | None, ...]:
    """Milliseconds after the click each note belongs to; the first one belongs to the click nearest to it."""
    if target.click is None:
        return ()
    beat = 60 / target.click.tempo_bpm
    began = next(((i, n.at_s) for i, n in enumerate(judged) if n.at_s is not None), None)
    if began is None:
        return (None,) * len(judged)
    start = round((began[1] - target.click.first_s) / beat) - began[0]
    return tuple(
        None if note.at_s is None else round((note.at_s - target.click.first_s - (start + index) * beat) * 1000, 1)
        for index, note in enumerate(judged)
    )


def doubts_of(
    ears: Ears, tuning: float | None, notes: Sequence[HeardNote], besides: Sequence[int], target: Target
) -> tuple[str, ...]:
    """Why nothing should be claimed of the whole take, the weightiest first."""
    found = [*doubts_of_sound(ears.level, ears.hops.lost), *doubts_of_tuning(tuning)]
    if overdriven(ears.timbres):
        found.append("The sound is overdriven: play clean to be heard.")
    pitched = [note for note in notes if note.midi is not None]
    if not pitched and not found:
        found.append("I heard no notes.")
    elif sum(notes[place].midi is not None for place in besides) > len(target.pitches):
        found.append("I heard much besides the notes asked for.")
    return tuple(found)
