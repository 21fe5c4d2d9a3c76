"""Keys: diatonic seventh chords and degrees."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from drills.errors import TheoryError
from drills.theory.chord import Chord
from drills.theory.interval import OCTAVE, Interval, transpose_note
from drills.theory.mode import MODAL, PARENTS, Mode, modes, parent_degrees
from drills.theory.note import Note, plain_accidentals
from drills.theory.quality import Quality, shipped_qualities

__all__ = [
    "KEYS_BY_FOURTHS", "Key", "diatonic_qualities", "parse_degree", "parse_drilled_key", "parse_key", "raised_seventh",
]  # fmt: skip

KEYS_BY_FOURTHS = ("C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G")
"""Order in which keys are usually learned, the cycle of fourths (drills/RULES.md, B2, common practice)."""

_LONGEST = 80
"""No name of a key or degree is longer; it bounds the work."""

_NAMED = {"maj": "maj7", "m": "m7", "m7b5": "m7b5", "ø": "m7b5", "°": "dim7", "dim": "dim7", "o": "dim7"}
"""Qualities a degree may carry besides a plain 7, which means the key's own seventh (common practice)."""

_FIFTHS_ABOVE = (0, 2, 4, -1, 1, 3, 5)
"""How many fifths the degrees of a major scale lie above its tonic: what a mode's signature lacks."""

_ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii")


@cache
def diatonic_qualities(parent: str, size: int = 4) -> tuple[Quality, ...]:
    """Qualities of the seven chords of a parent scale, by stacking thirds.

    size: 4 for seventh chords, 3 for triads; raises TheoryError otherwise.
    """
    if size not in (3, 4):
        raise TheoryError(f"chord of {size} notes: expected 3 for triads or 4 for sevenths")
    scale = parent_degrees(parent)
    stacked = scale + tuple(interval + OCTAVE for interval in scale)
    by_semitones = {quality.semitones: quality for quality in shipped_qualities()}
    return tuple(
        by_semitones[tuple(stacked[i + 2 * j].semitones - scale[i].semitones for j in range(size))] for i in range(7)
    )


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic and a scale: ``major``, ``harmonic minor``, ``melodic minor``, or a key of `MODAL` such as ``Dorian``."""

    tonic: Note
    parent: str = "major"

    def __post_init__(self) -> None:
        if self.parent not in PARENTS and self.parent not in MODAL:
            known = ", ".join((*PARENTS, *MODAL))
            raise TheoryError(f"key of {self.tonic}, scale {self.parent!r}: expected one of {known}")
        if abs(self.signature) > 7:
            raise TheoryError(
                f"key {self.name}: its signature would need {abs(self.signature)} sharps or flats; "
                "expected at most 7, use the enharmonic twin"
            )

    @property
    def is_minor(self) -> bool:
        """Whether its third is minor."""
        return parent_degrees(self.parent)[2].semitones == 3

    @property
    def major_or_minor(self) -> Key:
        """The key itself, or for a modal one the minor or major key on its tonic, by its third."""
        if self.parent not in MODAL:
            return self
        return Key(self.tonic, "harmonic minor" if self.is_minor else "major")

    @property
    def signature(self) -> int:
        """Sharps (positive) or flats (negative) of the key signature, -7 to 7."""
        if self.parent in MODAL:
            return self.tonic.fifths - _FIFTHS_ABOVE[modes()[MODAL[self.parent]].degree - 1]
        return self.tonic.fifths - (3 if self.is_minor else 0)

    @property
    def name(self) -> str:
        """E.g. ``Bb``, ``C minor``, ``C melodic minor`` or ``D Dorian``; plain minor means harmonic."""
        suffix = {"major": "", "harmonic minor": " minor"}.get(self.parent, f" {self.parent}")
        return f"{self.tonic.name}{suffix}"

    @property
    def scale_name(self) -> str:
        """The tonic and its scale, nothing left to be understood: ``C major``, ``C harmonic minor``."""
        return f"{self.tonic.name} {self.parent}"

    @property
    def notes(self) -> tuple[Note, ...]:
        """The seven spelled notes from the tonic."""
        return tuple(transpose_note(self.tonic, interval) for interval in parent_degrees(self.parent))

    def _check(self, degree: int) -> None:
        if not 1 <= degree <= 7:
            raise TheoryError(f"degree {degree} of {self.name}: expected 1 to 7")

    def chord(self, degree: int, size: int = 4) -> Chord:
        """The chord on a degree, 1 to 7, spelled in the key; size 4 for sevenths, 3 for triads."""
        self._check(degree)
        return Chord(self.notes[degree - 1], diatonic_qualities(self.parent, size)[degree - 1])

    def chords(self, size: int = 4) -> tuple[Chord, ...]:
        """The seven diatonic chords."""
        return tuple(self.chord(degree, size) for degree in range(1, 8))

    def mode(self, degree: int) -> Mode:
        """The mode on a degree, 1 to 7."""
        self._check(degree)
        parent, place = self.parent, degree
        if parent in MODAL:
            parent, place = "major", (modes()[MODAL[parent]].degree + degree - 2) % 7 + 1
        return next(mode for mode in modes().values() if (mode.parent, mode.degree) == (parent, place))

    def roman(self, degree: int) -> str:
        """The degree as a numeral, upper case for a major third: ``ii``, ``V``."""
        self._check(degree)
        third = diatonic_qualities(self.parent)[degree - 1].semitones[1]
        numeral = _ROMAN[degree - 1]
        return numeral.upper() if third == 4 else numeral

    def degree_name(self, degree: int) -> str:
        """As a bandleader calls it: ``ii of Bb``."""
        return f"{self.roman(degree)} of {self.name}"

    def transposed(self, interval: Interval) -> Key:
        """The key an interval away; raises TheoryError beyond seven sharps or flats."""
        return Key(transpose_note(self.tonic, interval), self.parent)

    def __str__(self) -> str:
        return self.name


def parse_key(text: str) -> Key:
    """Reads ``Bb``, ``B-flat major``, ``c minor``, ``Cm``, ``C melodic minor``, ``A natural minor``, ``D Dorian``.

    Plain minor is the harmonic minor, whose V is a dominant (common practice).
    Raises TheoryError otherwise.
    """
    plain = plain_accidentals(" ".join(text[:_LONGEST].split()))
    match = len(text) <= _LONGEST and re.fullmatch(
        r"([A-Ga-g](?:[b#]{0,2}|[- ]?(?:flat|sharp)))\s*(m|(?i:min|minor|maj|major|harmonic minor|melodic minor"
        r"|natural minor|aeolian|ionian|dorian|phrygian|lydian|mixolydian|locrian)|)",
        plain,
    )
    if not match:
        raise TheoryError(
            f"key {text[:40]!r}: expected such as Bb, F#, C minor, C melodic minor, A natural minor or D Dorian"
        )
    scale = _SAME_SCALE.get(match[2].lower(), match[2].lower())
    if scale.capitalize() in MODAL or scale in MODAL:
        return Key(Note.parse(match[1]), scale if scale in MODAL else scale.capitalize())
    parent = scale if scale in PARENTS else "harmonic minor" if scale[:2] in ("m", "mi") else "major"
    return Key(Note.parse(match[1]), parent)


_SAME_SCALE = {"aeolian": "natural minor", "ionian": "major"}


def parse_drilled_key(text: str) -> Key:
    """A key whose seven chords are asked: as `parse_key`, but a plain minor is the natural minor.

    A player who asks for the chords of C minor means those of its signature; the raised seventh makes others beside
    them, see `raised_seventh` (common practice). Raises TheoryError.
    """
    key = parse_key(text)
    said = " ".join(text.split()).lower()
    if key.parent == "harmonic minor" and "harmonic" not in said:
        return Key(key.tonic, "natural minor")
    return key


def raised_seventh(key: Key) -> tuple[Chord, ...]:
    """The chords of a natural minor key that its raised seventh changes, from the tonic up; none for other keys."""
    if key.parent != "natural minor":
        return ()
    plain, raised = key.chords(), Key(key.tonic, "harmonic minor").chords()
    return tuple(chord for chord, other in zip(raised, plain, strict=True) if chord != other)


def parse_degree(text: str) -> tuple[Key, int]:
    """Reads ``ii of Bb``, ``V7 of C minor``, ``viiø of Db``: the key and the degree 1 to 7.

    Raises TheoryError otherwise, also when a quality is named that the key does not have there.
    """
    match = len(text) <= _LONGEST and re.fullmatch(
        r"\s*([ivIV]{1,3})(7|maj7|m7b5|m7|ø7?|°7?|dim7|o7|)\s+(?:of|in)\s+(.+)", text
    )
    if not match or match[1].lower() not in _ROMAN:
        raise TheoryError(f"degree {text[:40]!r}: expected such as 'ii of Bb' or 'V of C minor'")
    key, degree = parse_key(match[3]), _ROMAN.index(match[1].lower()) + 1
    named = _NAMED.get(match[2].strip("7"))
    if named and named != key.chord(degree).quality.name:
        here = f"{key.degree_name(degree)} is {key.chord(degree)}"
        raise TheoryError(f"degree {text!r}: {here}, not {named}; leave {match[2]!r} out")
    return key, degree
