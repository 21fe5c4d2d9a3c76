"""Stages 5 and 6: connecting chords by the nearest tone, and guide tones."""

from __future__ import annotations

from drills.harmony.chord_timeline import Span
from drills.harmony.neck_layout import fingers_of, nearest_places
from drills.lines.guide_tones import guide_tones
from drills.lines.line import Line
from drills.shapes.shape import Placement
from drills.theory.note import Note, pitch_of
from drills.tunes.stages.stage_material import StageMaterial, note_at

__all__ = ["connect", "through_guide_tones"]

_RANGE = 24
"""Semitones above the first root at which a rising line turns: two octaves (drills/RULES.md, D4, 10)."""


def connect(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 5: at each new chord to its nearest tone; turning every chord, then carrying on to the end of the range."""
    return (
        _connected(given, "Connect, turning at every chord", turning=True),
        _connected(given, "Connect, on to the top and back", turning=False),
    )


def _keys(span: Span, low: int, high: int) -> list[int]:
    """MIDI keys of the chord's tones within the range, rising."""
    tones = {note.pitch_class for note in span.spelled.notes}
    return [key for key in range(low, high + 1) if key % 12 in tones]


def _names(span: Span) -> dict[int, tuple[Note, str]]:
    """Spelled note and degree of the chord's tones by pitch class."""
    chord = span.spelled
    return {note.pitch_class: (note, label) for note, label in zip(chord.notes, chord.quality.degrees, strict=True)}


def _join(keys: list[int], last: int, up: bool, turning: bool) -> int:
    """The tone of a new chord nearest to the last note, never the same note again.

    Turning: the nearest either way, on a tie on in the direction of travel. Carrying on:
    the nearest ahead, or behind when the range has run out.
    """
    others = [key for key in keys if key != last]
    if not turning:
        ahead = [key for key in others if (key > last) == up]
        others = ahead or others
    return min(others, key=lambda key: (abs(key - last), (key > last) != up))


def _connected(given: StageMaterial, title: str, *, turning: bool) -> Line:
    neck = given.neck
    first = given.shapes[0]
    strokes = [given.strokes(span, len(span.spelled.notes)) for span in given.spans]
    start = [place for place in first.notes if place.degree != "8"][: len(strokes[0])]
    low = min(key for key in (place.pitch.midi for place in start))
    strings = given.on.numbers if given.on else range(1, neck.tuning.strings + 1)
    lowest = min(neck.sounding.midi(string, 0) for string in strings)
    highest = max(neck.sounding.midi(string, neck.highest) for string in strings)
    bottom, top = max(lowest, low - 5), min(highest, low + _RANGE)
    keys: list[int] = []
    up = True
    for index, span in enumerate(given.spans):
        beats = len(strokes[index])
        tones = _keys(span, bottom, top)
        if index == 0:
            keys += [place.pitch.midi for place in start]
            up = True
            beats -= len(start)
        else:
            keys.append(_join(tones, keys[-1], up, turning))
            up = not up if turning else keys[-1] > keys[-2]
            beats -= 1
        for _ in range(beats):
            ahead = [key for key in tones if (key > keys[-1]) == up and key != keys[-1]]
            if not ahead:
                up = not up
                ahead = [key for key in tones if (key > keys[-1]) == up and key != keys[-1]]
            keys.append(min(ahead, key=lambda key: abs(key - keys[-1])))
    places = nearest_places(neck, keys, [(place.string, place.fret) for place in start], strings)
    fingers = fingers_of(neck, places)
    notes, number = [], 0
    nearest = "nearest tone" if turning else "nearest tone in the line's direction"
    for index, span in enumerate(given.spans):
        names = _names(span)
        for beat, (at, length) in enumerate(strokes[index]):
            name, degree = names[keys[number] % 12]
            string, fret = places[number]
            place = Placement(string, fret, pitch_of(name, keys[number]), degree, fingers[number])
            if index and not beat:
                size = abs(keys[number] - keys[number - 1])
                why = f"{degree} of {span.slot.text}: its {nearest}, {size} semitone{'s' * (size != 1)} away"
            else:
                why = f"{degree} of {span.slot.text}"
            notes.append(note_at(span, at, length, place, why))
            number += 1
    return given.line(title, notes, "connect")


def through_guide_tones(given: StageMaterial) -> tuple[Line, ...]:
    """Stage 6: thirds and sevenths only, an upper and a lower line."""
    found = guide_tones(given.changes, given.neck, given.root, given.on)
    return found.upper, found.lower
