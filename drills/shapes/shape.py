"""A shape: notes on the neck in the order they are played, each with its finger."""

from __future__ import annotations

from dataclasses import dataclass

from drills.neck.strings import StringSet
from drills.shapes.form import Form
from drills.theory.chord import Chord
from drills.theory.note import Pitch

__all__ = ["Placement", "Shape", "fingers_of", "fingers_text", "signature_of"]


@dataclass(frozen=True, slots=True)
class Placement:
    """One note on the neck.

    string: 1 is the highest. fret: 0 is the open string (or the capo).
    pitch: the spelled sounding pitch. degree: label such as ``b3``; ``8`` for the octave root.
    finger: 1 index to 4 little finger, 0 for an open string.
    """

    string: int
    fret: int
    pitch: Pitch
    degree: str
    finger: int

    @property
    def midi(self) -> int:
        """MIDI number of the sounding pitch."""
        return self.pitch.midi

    @property
    def is_root(self) -> bool:
        """Whether it sounds the chord's root, in any octave."""
        return self.degree in ("1", "8", "15")


@dataclass(frozen=True, slots=True)
class Shape:
    """A playable shape.

    chord, form, strings: what it answers. notes: in playing order (grips from the bass up).
    reach_mm: distance between its lowest and highest fretted note, in millimetres.
    cost: of the fingering, lower is easier; comparable only between fingerings of one form.
    variant: ``""`` for the usual one, else what is different: ``fingering``, ``layout``,
        ``open strings``, ``octave`` or ``locked``.
    """

    chord: Chord
    form: Form
    strings: StringSet
    notes: tuple[Placement, ...]
    reach_mm: float
    cost: int
    variant: str = ""

    @property
    def frets(self) -> tuple[int, ...]:
        """Frets in playing order."""
        return tuple(note.fret for note in self.notes)

    @property
    def fingers(self) -> tuple[int, ...]:
        """Fingers in playing order, 0 for open strings."""
        return tuple(note.finger for note in self.notes)

    @property
    def root(self) -> Placement:
        """The lowest-sounding root, or the lowest note when the root is not played."""
        roots = [note for note in self.notes if note.is_root]
        return min(roots or self.notes, key=lambda note: note.pitch.midi)

    @property
    def position(self) -> int:
        """The fret of the first finger: where it plays first, or would play."""
        fretted = [note for note in self.notes if note.finger]
        for note in fretted:
            if note.finger == 1:
                return note.fret
        if not fretted:
            return 1
        lowest = min(fretted, key=lambda note: note.finger)
        return max(1, lowest.fret - lowest.finger + 1)

    @property
    def lowest_fret(self) -> int:
        """The lowest fret played, open strings included."""
        return min(self.frets)

    @property
    def highest_fret(self) -> int:
        """The highest fret played."""
        return max(self.frets)

    @property
    def name(self) -> str:
        """The chord's name, or root and mode for a scale."""
        return f"{self.chord.root.name} {self.form.mode}" if self.form.kind == "scale" else self.chord.name

    @property
    def signature(self) -> str:
        """The movable form: the same on every root and on every set of strings tuned alike."""
        return signature_of(self.form, [(note.string, note.fret) for note in self.notes])

    @property
    def has_roll(self) -> bool:
        """Whether one finger plays two neighbouring strings at one fret in succession."""
        return self.form.kind != "grip" and any(
            a.finger and a.finger == b.finger and a.fret == b.fret and a.string != b.string
            for a, b in zip(self.notes, self.notes[1:], strict=False)
        )


def signature_of(form: Form, places: list[tuple[int, int]]) -> str:
    """A form's geometric signature: string and fret offsets from the first note.

    places: (string, fret) in playing order. Strings count as crossed strings, so
    6-5-4 and 5-4-3 share a signature when they are tuned alike, and 4-3-2 does not.
    """
    string, fret = places[0]
    offsets = ".".join(f"{string - other}{there - fret:+d}" for other, there in places)
    return f"{form.id}/{offsets}"


def fingers_text(fingers: tuple[int, ...]) -> str:
    """Fingers as written on paper and in the log: ``2 1 4 3 4``, 0 for an open string."""
    return " ".join(map(str, fingers))


def fingers_of(text: str) -> tuple[int, ...] | None:
    """Fingers read back, with or without spaces between them, or None when the text is no fingering."""
    digits = "".join(text.split())
    return tuple(map(int, digits)) if digits and set(digits) <= set("01234") else None
