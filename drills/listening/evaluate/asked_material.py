"""What is asked in simulated takes: arpeggios of the usual deck, scales, two octaves, roots, changes of chord."""

from __future__ import annotations

from drills.cards.deck import find_deck, read_deck
from drills.cards.material import gather
from drills.neck.neck import Neck
from drills.shapes.answers import shapes_named
from drills.shapes.finder import ShapeFinder
from drills.theory.quality import shipped_qualities

__all__ = ["MATERIAL", "asked_of_material"]

MATERIAL = ("arpeggios", "scales", "two-octaves", "roots", "changes")

_ROOTS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
_MODES = ("Ionian", "Dorian", "Mixolydian", "Aeolian")
_QUALITIES = ("maj7", "7", "m7", "m7b5")


def asked_of_material(kind: str) -> list[tuple[int, ...]]:
    """The shapes of one of MATERIAL as MIDI numbers, of changes both in a row. Raises ValueError for another word."""
    if kind not in MATERIAL:
        raise ValueError(f"material: expected one of {', '.join(MATERIAL)}, got {kind[:40]!r}")
    if kind == "arpeggios":
        material = gather(read_deck(find_deck("first", None)), Neck())
        shapes = [material.answer(card) for card in list(material.cards.values())[::3]]
    elif kind == "changes":
        material = gather(read_deck(find_deck("transitions", None)), Neck())
        pairs = [(material.answer(card), material.after(card)) for card in material.cards.values()]
        return [tuple(note.midi for one in pair if one is not None for note in one.notes) for pair in pairs]
    elif kind == "roots":
        return sorted({(asked[0],) for asked in asked_of_material("arpeggios")})
    else:
        scales = kind == "scales"
        form = "scale" if scales else "arpeggio-two-octaves"
        names = [
            f"{root}{' ' if scales else ''}{what}" for root in _ROOTS for what in (_MODES if scales else _QUALITIES)
        ]
        finder = ShapeFinder(Neck())
        shapes = [
            shape for name in names for shape in shapes_named(finder, name, form, None, shipped_qualities())[0][:1]
        ]
    return [tuple(note.midi for note in shape.notes) for shape in shapes]
