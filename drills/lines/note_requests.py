"""Reads which note of a line a player wants changed: ``2:3&`` is the second half of beat 3 in bar 2."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from drills.errors import EtudeError
from drills.lines.line import Line
from drills.lines.line_text import PARTS_OF_A_BEAT
from drills.theory.note import Note, Pitch

__all__ = ["Wish", "place_words", "wish", "wished_note"]

_COUNTS = {word: part for part, word in PARTS_OF_A_BEAT.items()}
_WISH = re.compile(rf"(\d{{1,4}}):(\d{{1,2}})([{''.join(_COUNTS)}]?)(?:=([A-G](?:b{{0,2}}|#{{0,2}}))(\d?))?")


@dataclass(frozen=True, slots=True)
class Wish:
    """A note to be changed: its bar and beat, and the note wanted there.

    note: None for any other than now. octave: of its letter, or None for the nearest to the note now.
    """

    bar: int
    beat: Fraction
    note: Note | None = None
    octave: int | None = None


def place_words(bar: int, beat: Fraction) -> str:
    """How a place is shown and asked for: ``2:3`` is bar 2, beat 3; ``2:3&`` half a beat later."""
    whole = beat // 1
    return f"{bar}:{whole}{PARTS_OF_A_BEAT.get(beat - whole, '' if beat == whole else '+')}"


def wish(text: str) -> Wish | None:
    """Reads ``2:3``, ``2:3&=Ab`` or ``2:3=Ab4``; None when it is none of these."""
    match = _WISH.fullmatch(text.strip())
    if match is None:
        return None
    beat = Fraction(int(match[2])) + _COUNTS.get(match[3], Fraction(0))
    note = Note.parse(match[4]) if match[4] else None
    return Wish(int(match[1]), beat, note, int(match[5]) if match[5] else None)


def wished_note(line: Line, wanted: Wish) -> tuple[int, int | None]:
    """The index of the note at a wish's place, and the MIDI key wanted there (None for any other).

    Raises EtudeError when no note starts there, saying which do.
    """
    here = [(index, note) for index, note in enumerate(line.notes) if note.bar == wanted.bar]
    found = next(((index, note) for index, note in here if note.beat == wanted.beat), None)
    if found is None:
        there = ", ".join(place_words(note.bar, note.beat) for _, note in here)
        bars = line.changes.bars
        silent = bars[0].number <= wanted.bar <= bars[-1].number
        has = (
            f"it has {there}"
            if here
            else "the bar is silent"
            if silent
            else f"the line has {_bars(line.notes[-1].bar)}"
        )
        raise EtudeError(f"change {place_words(wanted.bar, wanted.beat)}: no note starts there; {has}")
    index, note = found
    if wanted.note is None:
        return index, None
    if wanted.octave is not None:
        return index, Pitch(wanted.note, wanted.octave).midi
    up = (wanted.note.pitch_class - note.midi) % 12
    return index, note.midi + (up if up <= 6 else up - 12)


def _bars(last: int) -> str:
    return f"bars 1 to {last}" if last > 1 else "bar 1 alone"
