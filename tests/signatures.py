"""The keys of every signature, which tests go through."""

from __future__ import annotations

from drills.theory.key import Key
from drills.theory.note import Note

__all__ = ["signature_keys"]


def signature_keys(parent: str = "major") -> tuple[Key, ...]:
    """The fifteen keys of a parent scale, from seven flats to seven sharps."""
    shift = 3 if parent != "major" else 0
    by_fifths = {Note(step, alter).fifths: Note(step, alter) for step in range(7) for alter in (-1, 0, 1)}
    return tuple(Key(by_fifths[signature + shift], parent) for signature in range(-7, 8))
