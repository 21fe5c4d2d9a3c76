"""The player's own choice of mode for a chord, as written in braces after it."""

from __future__ import annotations

from drills.errors import TheoryError
from drills.theory.chord import Chord
from drills.theory.key import parse_degree
from drills.theory.mode import Mode, minor_key_mode, mode_named, modes

__all__ = ["check_override", "mode_of_override"]


def mode_of_override(text: str, chord: Chord) -> Mode:
    """The mode that ``Dorian`` or ``V of C minor`` means for a chord.

    A mode need not hold every chord tone (C7 with the altered scale): the player's choice stands.
    Raises TheoryError when neither is recognised, or the degree is not the chord's root.
    """
    if " of " not in text and " in " not in text:
        try:
            return mode_named(text)
        except TheoryError as error:
            from difflib import get_close_matches  # only a wrong name pays for it

            known = {name.lower(): name for name in modes()}
            near = [known[name] for name in get_close_matches(text.lower(), known, n=2, cutoff=0.5)]
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            expected = "a mode such as Dorian, or a place such as V of C minor"
            raise TheoryError(f"mode {text[:40]!r}: expected {expected}{hint}") from error
    key, degree = parse_degree(text)
    root = key.notes[degree - 1]
    if root.pitch_class != chord.root.pitch_class:
        raise TheoryError(f"mode {text[:40]!r}: that degree is {root}, and the chord is {chord.name}")
    if key.parent == "harmonic minor":
        return minor_key_mode(degree)
    return key.mode(degree)


def check_override(text: str, chord: Chord) -> None:
    """Raises TheoryError unless the text names a mode for the chord."""
    mode_of_override(text, chord)
