"""Reads the answer a player types. An answer that cannot be read is explained and is not graded."""

from __future__ import annotations

import re
from collections.abc import Iterable

from drills.errors import AnswerError, DrillsError, shown
from drills.neck.neck import MOST_FRETS
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.quality import QualityTable
from drills.theory.symbol import parse_chord

__all__ = ["places_text", "read_chord", "read_fret", "read_notes", "read_places"]


def read_fret(text: str) -> int:
    """A fret: ``4``, ``fret 4``, ``open``."""
    match = re.fullmatch(r"(?:fret\s*)?(\d{1,2}|open|o)", text.strip().lower())
    fret = -1 if match is None else int(match[1]) if match[1].isdecimal() else 0
    if not 0 <= fret <= MOST_FRETS:
        raise AnswerError(f"Type a fret, such as 4, or 0 for the open string; {shown(text, 24)} is none.")
    return fret


def read_places(text: str, strings: int) -> tuple[tuple[int, int], ...]:
    """Places as (string, fret): ``6/8 5/7``, commas or not, in the order typed; strings: how many there are."""
    plain = re.sub(r"string\s*(\d+)[\s,]*fret\s*(\d+)", r"\1/\2", text.strip().lower())
    parts = [part for part in re.split(r"[\s,;]+", re.sub(r"\s*[/:]\s*", "/", plain)) if part]
    places = []
    for part in parts or [text]:
        match = re.fullmatch(r"\(?[a-g]?[b#]*\(?(\d{1,2})/(\d{1,2})\)?", part)
        if match is None:
            raise AnswerError(f"Type string/fret for each place, such as 6/8 5/7; {shown(part, 24)} is none.")
        places.append((int(match[1]), int(match[2])))
    for string, fret in places:
        if not 1 <= string <= strings or fret > MOST_FRETS:
            raise AnswerError(f"There is no string {string} fret {fret} here: strings are 1 to {strings}.")
    return tuple(places)


def read_chord(text: str, table: QualityTable, asked: Chord) -> Chord:
    """A chord's name as musicians write it: ``C#m7``, ``Dbm7``, ``c#-7``, ``C# min7``.

    asked: the chord the card asks for. Raises AnswerError when the text names none, with two examples that are not it.
    """
    try:
        return parse_chord(text, table)
    except DrillsError as error:
        one, other, *_ = _others(asked)
        message = f"Type a chord's name, such as {one.name} or {other.name}; {shown(text, 24)} is none."
        raise AnswerError(message) from error


_EXAMPLES = ("C#m7", "Ebmaj7", "G7", "Abm7b5")


def _others(asked: Chord) -> list[Chord]:
    """Chords to show as examples where one is asked for: none of its quality, and none with its notes."""
    chords = [parse_chord(name) for name in _EXAMPLES]
    return [chord for chord in chords if chord.quality != asked.quality and chord.pitch_classes != asked.pitch_classes]


def read_notes(text: str, asked: Chord) -> tuple[Note, ...]:
    """Note names, apart or run together in capitals: ``C Eb Gb Bb``, ``c eb gb bb``, ``CEbGbBb``.

    asked: the chord to be spelled. Raises AnswerError when the text is no notes, with an example of another chord.
    """
    example = " ".join(note.name for note in _others(asked)[0].notes)
    parts = [part for part in re.split(r"[\s,;-]+", text.strip()) if part]
    if len(parts) == 1:
        parts = re.findall(r"[A-G](?:[b♭]+|[#♯x]*)|.", parts[0])
    try:
        found = tuple(Note.parse(part) for part in parts)
    except DrillsError as error:
        raise AnswerError(f"Type the notes from the root up, such as {example}. {error}") from error
    if not found:
        raise AnswerError(f"Type the notes from the root up, such as {example}.")
    return found


def places_text(places: Iterable[tuple[int, int]]) -> str:
    """Places as a player types them: ``6/8 5/7``."""
    return " ".join(f"{string}/{fret}" for string, fret in places)
