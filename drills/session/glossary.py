"""Explains the words on a card, a line each, when the player asks while the card is on screen."""

from __future__ import annotations

from drills.diagrams.speech import say_chord
from drills.diagrams.text import position_name
from drills.neck.strings import StringSet
from drills.session.drill import Drill
from drills.session.session_state import Phase
from drills.theory.chord import Chord

__all__ = ["word_lines"]

ALSO = {
    "7": "dominant seventh", "m7b5": "half-diminished", "dim7": "fully diminished", "mMaj7": "minor major seventh",
    "7sus4": "suspended", "7#5": "augmented seventh", "aug": "augmented", "dim": "diminished triad",
}  # fmt: skip
"""Other names musicians use (common practice)."""


def word_lines(drill: Drill) -> list[str]:
    """Chord, degree, strings, position, grip and mode in words; of a prompt only what it says itself."""
    state, card = drill.state, drill.state.card_in_hand
    shown = state.phase is not Phase.PROMPT
    lines = []
    if card.chord is not None and (shown or card.chord.name in card.prompt):
        lines += _chord(card.chord, shown)
    if card.key is not None:
        numeral = card.call.partition(" ")[0]
        lines.append(f"{card.call}: the chord built on step {card.degree} of {card.key}, {numeral} in Roman numerals.")
    if card.strings is not None:
        lines.append(_strings(card.strings))
    if shown and (shapes := drill.shapes()):
        position = shapes[0].position
        lines.append(f"Position {position_name(position)}: the first finger at fret {position}.")
        if card.is_shape and (mode := drill.material.mode(card)) is not None:
            lines.append(f"Grip: all at once. Arpeggio: one by one. {mode.form.mode}: the scale they lie in.")
    return lines or ["Nothing to explain before the answer."]


def _chord(chord: Chord, shown: bool) -> list[str]:
    quality = chord.quality
    names = [say_chord(chord.name) + " major" * (not quality.symbol)]
    if quality.name in ALSO:
        names.append(ALSO[quality.name])
    met = f" Usually {quality.met}." if quality.met and quality.tier else ""
    lines = [f"{chord.name}: {', '.join(names)}.{met}"]
    if shown:
        tones = ", ".join(f"{degree} {note}" for degree, note in zip(quality.degrees, chord.notes, strict=True))
        lines.append(f"Degrees, b = one fret lower: {tones}.")
    return lines


def _strings(strings: StringSet) -> str:
    """``Strings 6-5-4: from 6, the thickest, to 4; 1 is the thinnest.``"""
    first, *others = strings.numbers
    if not others:
        return f"String {first}: counted from 1, the thinnest."
    return f"Strings {strings}: from {first} to {others[-1]}, counted from 1, the thinnest."
