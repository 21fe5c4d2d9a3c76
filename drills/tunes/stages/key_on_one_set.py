"""The stage `key`: the seven arpeggios of a page's key on one string set, in time.

The chords come in the order in which they lie along the set, from the lowest fret up: so the hand goes up the
neck once and meets every degree (drills/RULES.md, G26, common practice).
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from drills.changes.changes import Changes, Metre, Section, Slot, WrittenBar
from drills.errors import NotPlayableError
from drills.harmony.chord_timeline import spans_of
from drills.harmony.home_key import home_key
from drills.lines.line import Line, LineNote
from drills.neck.strings import StringSet, core_sets
from drills.shapes.form import ARPEGGIO
from drills.shapes.shape import Shape
from drills.theory.chord import Chord
from drills.theory.key import Key
from drills.tunes.stages.stage_material import StageMaterial, note_at, up_and_down

__all__ = ["key_changes", "key_on_one_set", "string_set_of"]

_METRE = Metre(4, 4)


def string_set_of(given: StageMaterial) -> StringSet:
    """The set asked for, or the lowest a player begins with. Raises NotPlayableError where the tuning has none."""
    if given.on is not None:
        return given.on
    sets = core_sets(given.finder.tuning)
    if not sets:
        raise NotPlayableError("no string set of this tuning rises; name one with its strings from low to high")
    return sets[0]


def _key_of(given: StageMaterial) -> Key:
    """The home of the page; a plain minor key's chords are those of its signature."""
    key = home_key(given.changes)
    if key is None:
        raise NotPlayableError("the page has no key; write one at its head, such as key: Bb")
    return Key(key.tonic, "natural minor") if key.parent == "harmonic minor" else key


def _chords_along(given: StageMaterial) -> list[tuple[Chord, str, Shape]]:
    """Each chord of the key with its degree and its arpeggio, by the fret of its root."""
    key, strings = _key_of(given), string_set_of(given)
    found = []
    for degree, chord in enumerate(key.chords(), 1):
        shape = given.finder.find(chord, ARPEGGIO, strings)
        found.append((shape.root.fret, degree, chord, shape))
    found.sort(key=lambda each: each[:2])
    return [(chord, f"degree {degree} of {key.name}", shape) for _, degree, chord, shape in found]


def key_changes(given: StageMaterial) -> Changes:
    """The seven chords as changes, a bar of four each. Raises NotPlayableError where one does not fit the set."""
    bars = []
    for chord, _, _ in _chords_along(given):
        bars.append(WrittenBar((Slot(Fraction(1), Fraction(4), chord, chord.name),), _METRE))
    key = _key_of(given)
    page = given.changes
    return Changes(
        f"The seven chords of {key.name}", (Section("", tuple(bars)),), key=key, metre=_METRE, tempo=page.tempo,
        feel=page.feel,
    )  # fmt: skip


def key_on_one_set(given: StageMaterial) -> tuple[Line, ...]:
    """The line: each arpeggio up to its octave and back in eighths, a bar a chord."""
    page = key_changes(given)
    notes: list[LineNote] = []
    half = Fraction(1, 2)
    for span, (chord, degree, shape) in zip(spans_of(page), _chords_along(given), strict=True):
        for place, number in zip(up_and_down(shape.notes, 8), range(8), strict=True):
            why = f"{place.degree} of {chord.name}, {degree}"
            notes.append(note_at(span, span.start + number * half, half, place, why))
    title = f"Seven arpeggios of {_key_of(given).name} on {string_set_of(given)}"
    return (replace(given.line(title, notes, "key"), changes=page, remarks=()),)
