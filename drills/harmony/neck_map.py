"""The whole neck for each chord: every place where one of its tones lies."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from drills.changes.changes import Changes
from drills.harmony.chord_timeline import Span, same_chord, spans_of
from drills.harmony.page_text import bars_said
from drills.neck.neck import Neck
from drills.shapes.chord_places import chord_places
from drills.shapes.shape import Placement
from drills.theory.altered_dominant import altered_fifth_words, with_altered_fifth
from drills.theory.chord import Chord

__all__ = ["ChordMap", "chord_map", "map_json", "map_lines", "map_speech", "neck_maps"]


@dataclass(frozen=True, slots=True)
class ChordMap:
    """Every chord tone of one chord on the neck.

    bars: numbers, in playing order, of the bars that begin with or hold the chord.
    strings: how many the instrument has. places: from string 1 down, low frets first.
    """

    chord: Chord
    text: str
    bars: tuple[int, ...]
    strings: int
    top_fret: int
    places: tuple[Placement, ...]


def chord_map(span: Span, neck: Neck, bars: tuple[int, ...]) -> ChordMap:
    """The map of a span's chord on a neck, from the open strings to the top fret."""
    places = chord_places(neck, span.spelled)
    return ChordMap(span.sounding, span.slot.text, bars, neck.tuning.strings, neck.highest, places)


def neck_maps(changes: Changes, neck: Neck) -> tuple[ChordMap, ...]:
    """A map for each different chord of the changes, in the order they are met."""
    met: list[tuple[Span, list[int]]] = []
    for span in spans_of(changes):
        if span.chord is None:
            continue
        for known, bars in met:
            if same_chord(known.spelled, span.spelled) and known.sounding.root == span.sounding.root:
                if bars[-1] != span.bar.number:
                    bars.append(span.bar.number)
                break
        else:
            met.append((span, [span.bar.number]))
    return tuple(chord_map(span, neck, tuple(bars)) for span, bars in met)


def map_lines(found: ChordMap, *, labels: str = "degrees", width: int = 80) -> list[str]:
    """The map as text: string 1 on top, fret numbers above, the root in brackets.

    labels: ``degrees`` or ``notes``. width: columns; a neck too long for it is cut into parts of like length.
    """
    shown = {(place.string, place.fret): _label(place, labels) for place in found.places}
    cell = max(3, *map(len, shown.values()))
    count = found.top_fret + 1
    parts = -(-count // max(4, (width - 4) // (cell + 1)))
    room = -(-count // parts)
    lines = wrap(f"{found.text}: every chord tone ({bars_said(found.bars)})", width)
    lines += wrap(_of_the_fifth(found), width)
    for first in range(0, count, room):
        frets = range(first, min(first + room, count))
        lines.append("   " + "".join(f" {fret:^{cell}}" for fret in frets).rstrip())
        for string in range(1, found.strings + 1):
            cells = [f"{shown.get((string, fret), ''):-^{cell}}" for fret in frets]
            lines.append(f"{string:>2} |" + "|".join(cells) + "|")
    return lines


def _of_the_fifth(found: ChordMap) -> str:
    """What is said of the fifth of an altered dominant; ``""`` of any other chord."""
    words = altered_fifth_words(found.chord)
    return f"Shown as {with_altered_fifth(found.chord).name}: {words}." if words else ""


def _label(place: Placement, labels: str) -> str:
    label = place.degree if labels == "degrees" else place.pitch.note.name
    return f"[{label}]" if place.degree == "1" else label


def map_speech(found: ChordMap) -> list[str]:
    """The map as lines to be spoken, one a string from the lowest up."""
    lines = [f"{found.text}, every chord tone.", *filter(None, [_of_the_fifth(found)])]
    for string in range(found.strings, 0, -1):
        here = [place for place in found.places if place.string == string]
        said = "; ".join(f"fret {place.fret} {place.pitch.note.name} {place.degree}" for place in here)
        lines.append(f"string {string}: {said or 'none'}.")
    return lines


def map_json(found: ChordMap) -> dict[str, Any]:
    """The map as one JSON object: chord, bars, and every place with its note and degree."""
    return {
        "chord": found.text,
        "bars": list(found.bars),
        "places": [
            {"string": place.string, "fret": place.fret, "note": place.pitch.note.name, "degree": place.degree}
            for place in found.places
        ],
    }
