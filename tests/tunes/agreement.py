"""Compares our reading of chords with published analyses in Roman numerals: ``python -m tests.tunes.agreement``.

The analyses are those that come with music21 (``corpus``): 20 chorales by Bach, Riemenschneider 1 to 20, and 48
madrigals by Monteverdi. Their chords are given to the reader without key or numeral; keys and numerals come back.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from drills.changes.changes import Changes, Metre, Section, Slot, WrittenBar
from drills.harmony.harmony import analyse
from drills.harmony.home_key import home
from drills.theory.note import Note
from drills.theory.symbol import parse_chord

__all__ = ["Agreement", "analyses", "compare"]

_QUALITIES = {
    (4, 7): "", (3, 7): "m", (3, 6): "dim", (4, 8): "aug", (4, 7, 11): "maj7", (4, 7, 10): "7", (3, 7, 10): "m7",
    (3, 6, 10): "m7b5", (3, 6, 9): "dim7", (3, 7, 11): "mMaj7", (4, 8, 11): "maj7#5", (4, 8, 10): "7#5",
    (4, 6, 10): "7b5",
}  # fmt: skip


@dataclass
class Agreement:
    """Counts of chords and pages, and how often numerals in one key differ, as (theirs, ours)."""

    pages: int = 0
    homes: int = 0
    tonics: int = 0
    chords: int = 0
    keys: int = 0
    numerals: int = 0
    within_key: int = 0
    left_out: int = 0
    apart: Counter[tuple[str, str]] = field(default_factory=Counter)

    def lines(self) -> list[str]:
        """The figures as sentences."""
        return [
            f"{self.pages} pages: home key {self.homes} ({self.homes / self.pages:.1%}), "
            f"its tonic {self.tonics} ({self.tonics / self.pages:.1%})",
            f"{self.chords} chords ({self.left_out} left out): key {self.keys / self.chords:.1%}, "
            f"numeral where the key agrees {self.within_key / max(1, self.keys):.1%}, "
            f"key and numeral {self.within_key / self.chords:.1%}, numeral alone {self.numerals / self.chords:.1%}",
        ]


def analyses(composer: str) -> list[Path]:
    """The files of ``bach`` or ``monteverdi`` that hold Roman numerals."""
    from music21 import corpus

    return sorted(Path(path) for path in corpus.getPaths() if str(path).endswith(".rntxt") and composer in str(path))


def compare(paths: list[Path]) -> Agreement:
    """Reads every page and counts where we agree."""
    from music21 import converter, roman

    found = Agreement()
    for path in paths:
        score = converter.parse(path, format="romantext")
        written: list[WrittenBar] = []
        theirs: list[roman.RomanNumeral] = []
        for number in score.recurse().getElementsByClass(roman.RomanNumeral):
            root, tones = number.root(), number.pitches
            above = tuple(sorted({(tone.pitchClass - root.pitchClass) % 12 for tone in tones} - {0}))
            if above not in _QUALITIES:
                found.left_out += 1
                continue
            name = Note("CDEFGAB".index(root.step), int(root.alter)).name
            chord = parse_chord(name + _QUALITIES[above])
            beats = Fraction(number.quarterLength).limit_denominator(16) or Fraction(1)
            written.append(WrittenBar((Slot(Fraction(1), beats, chord, chord.name),), Metre(4, 4)))
            theirs.append(number)
        page = Changes("", (Section("", tuple(written)),))
        ours = analyse(page)
        first, at_home = theirs[-1].key, home(page)
        found.pages += 1
        same = at_home.key.tonic.pitch_class == first.tonic.pitchClass
        found.tonics += same
        found.homes += same and at_home.key.is_minor == (first.mode == "minor")
        for number, function in zip(theirs, ours, strict=True):
            key = (number.key.tonic.pitchClass, number.key.mode == "minor")
            mine = (function.key.tonic.pitch_class, function.key.is_minor)
            numeral = number.romanNumeralAlone
            if number.secondaryRomanNumeral is not None:
                numeral += f" of {number.secondaryRomanNumeral.romanNumeralAlone}"
            found.chords += 1
            found.keys += key == mine
            found.numerals += numeral == function.numeral
            found.within_key += key == mine and numeral == function.numeral
            if key == mine and numeral != function.numeral:
                found.apart[(numeral, function.numeral)] += 1
    return found


if __name__ == "__main__":
    for composer in sys.argv[1:] or ["bach", "monteverdi"]:
        result = compare(analyses(composer))
        print(composer, *result.lines(), *map(str, result.apart.most_common(25)), sep="\n  ")
