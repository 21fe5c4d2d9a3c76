"""A line played over a track, judged bar by bar: it is known when each note is due, and what the track sounds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from drills.listening.alignment import aligned
from drills.listening.heard import Judged, NoteVerdict, Target
from drills.listening.heard_notes import HeardNote, notes_of, tuning_of
from drills.listening.proposal import ON_CLICK_MS
from drills.listening.verdict import doubts_of

if TYPE_CHECKING:
    from drills.listening.ears import Ears
    from drills.listening.heard import Verdict

__all__ = ["RECORDED", "BarVerdict", "Due", "LineVerdict", "judge_line", "propose_ticket"]

RECORDED = "say with --track-from where the track began"
"""What to do where all of a recording lies early or late."""
_BEFORE_S, _AFTER_S = 0.5, 1.0
"""What sounds earlier than this before the first note that is due, or later after the last, is nobody's business."""
_AWAY_S, _AWAY = 0.06, 0.6
"""A note this far from its time costs nothing more; half a second further away it costs the second number."""
_OF_SINGLE_NOTES = ("I heard no notes", "The guitar lies")
_FEWEST, _ALL_OFF_MS = 4, 150.0
"""A player who is late by this from beginning to end does not play along; the track began at another time."""
_TRACK_S = 0.08
_STRUM_S = 0.25
"""So near its time what is heard of a grip may be any of its strings, which the track has too."""
_HEARD_THROUGH = 0.25
"""From so many tones of the track heard besides, as a share of the notes due, the track is taken to be in the sound."""


@dataclass(frozen=True, slots=True)
class Due:
    """What is to be struck at one moment.

    bar: counted as played, 1 the first. pitches: MIDI numbers, several where they are struck together. from_s,
    until_s: between these it is in its place, in seconds from the beginning of the sound; a swung eighth has no one
    place.
    """

    bar: int
    pitches: tuple[int, ...]
    from_s: float
    until_s: float

    def off_s(self, at_s: float) -> float:
        """Seconds by which a note at that time comes after its place, negative before it."""
        return at_s - min(max(at_s, self.from_s), self.until_s)


@dataclass(frozen=True, slots=True)
class BarVerdict:
    """One bar. notes: those asked for, in order. off_ms: after its place, for each that sounded.

    extras: MIDI numbers that sounded besides. faint: those that may have.
    """

    bar: int
    notes: tuple[NoteVerdict, ...]
    off_ms: tuple[float, ...] = ()
    extras: tuple[int, ...] = ()
    faint: tuple[int, ...] = ()

    @property
    def right(self) -> bool:
        """Whether every note was right and no other was heard."""
        return not self.extras and all(one.judged is Judged.RIGHT for one in self.notes)

    @property
    def on_time(self) -> bool:
        """Whether every note that sounded was in its place, or near enough."""
        return all(abs(off) <= ON_CLICK_MS for off in self.off_ms)

    @property
    def clear(self) -> bool:
        """Whether nothing in it was heard too badly to say."""
        return not self.faint and all(one.judged is not Judged.NOT_SURE for one in self.notes)


@dataclass(frozen=True, slots=True)
class LineVerdict:
    """bars: those in which something is due, in order. tuning_cents, doubts: as in `Verdict`."""

    bars: tuple[BarVerdict, ...]
    tuning_cents: float | None = None
    doubts: tuple[str, ...] = ()


def judge_line(
    ears: Ears,
    due: Sequence[Due],
    track: Iterable[tuple[float, int]] = (),
    grips: Mapping[int, Verdict] | None = None,
    mend: str = RECORDED,
) -> LineVerdict:
    """The verdict on what the ears heard while a track sounded.

    due: in order of time, one or more. track: seconds and MIDI number of what the track sounds; the same notes heard
    besides are the track's. grips: verdicts on what is struck together, by its place in `due`. mend: what to do where
    all of it lies early or late.
    """
    begin_s, end_s = due[0].from_s - _BEFORE_S, due[-1].until_s + _AFTER_S
    tuning = tuning_of(ears.heard)
    notes = [one for one in notes_of(ears.heard, repeats=True) if begin_s <= one.at_s <= end_s]
    grips = grips or {}
    single = [place for place, one in enumerate(due) if place not in grips]

    def away(note: int, place: int) -> float:
        off = abs(due[single[place]].off_s(notes[note].at_s))
        return _AWAY * min(1.0, max(0.0, off - _AWAY_S) / 0.5)

    asked = [due[place].pitches[0] for place in single]
    taken, besides = aligned(notes, asked, away) if single else ((), ())
    # What comes after the last note is heard too: the bar is not over.
    after = max((place for place in taken if place is not None), default=-1)
    besides = tuple(sorted({*besides, *(place for place in range(after + 1, len(notes)))})) if single else ()
    extras, faint, heard_through = _besides(notes, besides, due, tuple(track))
    judged = [_judged(notes, taken, besides, place, asked) for place in range(len(single))]
    by_place: dict[int, tuple[NoteVerdict, ...]] = {place: verdict.notes for place, verdict in grips.items()}
    by_place |= {place: (one,) for place, one in zip(single, judged, strict=True)}
    if not single:
        heard_through = _between_strums(notes, due, tuple(track))
    with_track = heard_through >= _HEARD_THROUGH * len(due)
    if with_track:
        # A track hides soft notes and brings others: only right ones are sure.
        by_place = {place: tuple(one.held_against_nobody for one in told) for place, told in by_place.items()}
    bars = []
    for bar in dict.fromkeys(one.bar for one in due):
        places = [place for place, one in enumerate(due) if one.bar == bar]
        told = tuple(note for place in places for note in by_place[place])
        off = tuple(
            round(due[place].off_s(note.at_s) * 1000, 1)
            for place in places for note in by_place[place] if note.at_s is not None
        )  # fmt: skip
        bars.append(BarVerdict(bar, told, off, tuple(extras.get(bar, ())), tuple(faint.get(bar, ()))))
    doubts = doubts_of(ears, tuning, notes, [], Target(tuple(pitch for one in due for pitch in one.pitches)))
    if grips:
        # Strings struck together have no one pitch, and a take of them no tuning found by ear.
        doubts = tuple(doubt for doubt in doubts if not doubt.startswith(_OF_SINGLE_NOTES))
    offs = [off for bar in bars for off in bar.off_ms]
    if len(offs) >= _FEWEST and abs(late_ms := median(offs)) > _ALL_OFF_MS:
        side = "late" if late_ms > 0 else "early"
        doubts = (*doubts, f"All of it lies {abs(late_ms) / 1000:.1f} s {side}: {mend}.")
    if with_track:
        doubts = (*doubts, "The track was heard along with the guitar: play over headphones.")
    return LineVerdict(tuple(bars), None if tuning is None else round(tuning, 1), doubts)


def _judged(
    notes: Sequence[HeardNote], taken: Sequence[int | None], besides: Sequence[int], place: int, asked: Sequence[int]
) -> NoteVerdict:
    midi, found = asked[place], taken[place]
    if found is None:
        # One alone may have been too soft to be heard; two in a row were left out.
        beside = [taken[other] for other in (place - 1, place + 1) if 0 <= other < len(taken)]
        return NoteVerdict(midi, Judged.MISSING if None in beside else Judged.NOT_SURE)
    note = notes[found]
    if note.midi == midi:
        return NoteVerdict(midi, Judged.RIGHT, at_s=note.at_s)
    before = max((one for one in taken[:place] if one is not None), default=-1)
    after = min((one for one in taken[place + 1 :] if one is not None), default=len(notes))
    unpitched = any(before < other < after and notes[other].midi is None for other in besides)
    if note.midi is None or not note.certain or (note.midi - midi) % 12 == 0 or unpitched:
        return NoteVerdict(midi, Judged.NOT_SURE, at_s=note.at_s)
    return NoteVerdict(midi, Judged.WRONG, note.midi, note.at_s)


def _besides(
    notes: Sequence[HeardNote], besides: Sequence[int], due: Sequence[Due], track: Sequence[tuple[float, int]]
) -> tuple[dict[int, list[int]], dict[int, list[int]], int]:
    """What sounded besides in each bar, what may have, and how many tones of the track were heard."""
    extras: dict[int, list[int]] = {}
    faint: dict[int, list[int]] = {}
    through = 0
    low, high = min(min(one.pitches) for one in due), max(max(one.pitches) for one in due)
    for place in besides:
        one = notes[place]
        midi = one.midi if one.midi is not None else one.faint if one.credible else None
        if midi is None:
            continue
        if any(abs(one.at_s - at) <= _TRACK_S and (midi - tone) % 12 == 0 for at, tone in track):
            through += one.midi is not None
            continue
        last = [note.midi for note in notes[:place] if note.midi is not None][-1:]
        if any((midi - other) % 12 == 0 for other in last):
            continue  # a string that rings on
        bar = min(due, key=lambda each: (abs(each.off_s(one.at_s)), each.from_s)).bar
        if one.midi is not None:
            extras.setdefault(bar, []).append(midi)
        elif low - 2 <= midi <= high + 2:
            faint.setdefault(bar, []).append(midi)
    return extras, faint, through


def _between_strums(notes: Sequence[HeardNote], due: Sequence[Due], track: Sequence[tuple[float, int]]) -> int:
    """How many tones of the track were heard where no grip is due: its bass and its own chords between."""
    return sum(
        any(abs(one.at_s - at) <= _TRACK_S and (midi - tone) % 12 == 0 for at, tone in track)
        for one in notes
        if (midi := one.midi if one.midi is not None else one.faint) is not None
        and all(abs(each.off_s(one.at_s)) > _STRUM_S for each in due)
    )


def propose_ticket(verdict: LineVerdict, untimed: str = "") -> tuple[bool | None, str]:
    """Whether the line was in time, None where that would be a guess; and a sentence to show.

    In time is what a ticket counts: every note of every bar right and within 60 ms of its place, and no other.
    untimed: where it is not known how late the sound comes in, the sentence that says what to do about it; then the
    notes are judged and time never is.
    """
    if verdict.doubts:
        return None, verdict.doubts[0] + " Your word?"
    bars = verdict.bars
    notes = [note for bar in bars for note in bar.notes]
    if unclear := [bar.bar for bar in bars if not bar.clear]:
        return None, f"I did not hear {_named(unclear)} well. Your word?"
    if 2 * sum(note.judged is Judged.RIGHT for note in notes) < len(notes):
        return None, "That sounded like something else. Your word?"
    if wrong := [bar.bar for bar in bars if not bar.right]:
        return False, f"Not through, I think: {_named(wrong)} had another note or none."
    if untimed:
        return None, f"The notes were right, I think. {untimed} Your word?"
    if off := [bar.bar for bar in bars if not bar.on_time]:
        return False, f"The notes were right, and {_named(off)} not in time."
    return True, "In time, I think."


def _named(bars: Sequence[int]) -> str:
    if len(bars) > 3:
        return f"{len(bars)} bars, from bar {bars[0]} on,"
    words = [str(bar) for bar in bars]
    return f"bar {words[0]}" if len(bars) == 1 else f"bars {', '.join(words[:-1])} and {words[-1]}"
