"""A short line inside the frets of a shape: chord, arpeggio and scale in the same place, joined by a phrase."""

from __future__ import annotations

from fractions import Fraction

from drills.changes.changes import Changes, Metre, Section, Slot, WrittenBar
from drills.errors import EtudeError
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import CHORD_TONES, WITH_MODE, EtudeOptions
from drills.lines.line import Line
from drills.shapes.finder import ShapeFinder
from drills.shapes.same_place import mode_over
from drills.shapes.shape import Shape
from drills.theory.chord_mode import usual_mode

__all__ = ["phrase_in_place", "phrase_words"]

_METRE = Metre(4, 4)
_FRETS = 4
"""Frets a hand holds, one finger each: a window is never narrower."""


def phrase_in_place(finder: ShapeFinder, shape: Shape, seed: int = 0, mode_name: str = "") -> Line | None:
    """Two bars over the chord of an arpeggio, inside the frets of that arpeggio and of the mode over it.

    Found by the search of etude lines, so that it breaks no hard rule of drills/RULES.md, D4. seed: other phrases.
    mode_name: of the mode, the chord's usual one when empty.
    None where no line fits there.
    """
    places = [note.fret for note in shape.notes]
    scale = mode_over(finder, shape, mode_name or None)
    places += [note.fret for note in scale.notes] if scale else []
    low = min((fret for fret in places if fret), default=1)
    high = max(*places, low + _FRETS - 1)
    if high > finder.neck.highest:
        low, high = max(1, finder.neck.highest - _FRETS + 1), finder.neck.highest
    chord = shape.chord
    mode = mode_name or usual_mode(chord)
    bar = WrittenBar((Slot(Fraction(1), Fraction(4), chord, chord.name, mode),), _METRE)
    page = Changes(f"{chord.name} at fret {shape.root.fret}", (Section("", (bar, bar)),), metre=_METRE)
    for difficulty, density in ((WITH_MODE, "phrases"), (WITH_MODE, "eighths"), (CHORD_TONES, "eighths")):
        try:
            options = EtudeOptions(difficulty, density, seed=seed, frets=(low, high))
            etude = etude_line(page, finder.neck, options)
        except EtudeError:
            continue
        line = etude.line
        title = f"A phrase over {chord.name} in the same place, frets {low} to {high}"
        return Line(title, line.changes, line.tuning, line.notes)
    return None


def phrase_words(line: Line, places: bool = True) -> str:
    """A phrase beat by beat: ``1 Bb(6/6) D(5/5), 2 Eb(5/6)``; a bar that begins anew is set off by a semicolon.

    places: whether string and fret stand beside each note.
    """
    bars: dict[int, dict[int, list[str]]] = {}
    for note in line.notes:
        beats = bars.setdefault(note.bar, {})
        beats.setdefault(int(note.beat), []).append(note.place if places else note.pitch.note.name)
    return "; ".join(", ".join(f"{beat} {' '.join(said)}" for beat, said in beats.items()) for beats in bars.values())
