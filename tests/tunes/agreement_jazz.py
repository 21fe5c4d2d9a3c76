"""Compares our home keys with a jazz musician's: ``python -m tests.tunes.agreement_jazz FOLDER``.

FOLDER holds annotations in the JSON format of the Jazz Audio-Aligned Harmony dataset (Eremenko and others, ISMIR 2018;
repository MTG/JAAH, folder ``annotations``): your own copy, for none of it ships here. Each file has the key of a
recording and its chords in the syntax of Harte. The reader is given the chords of one chorus, without the key: the
first part of twelve bars or more of which three quarters have chords. Files with no key, or with several, are left out.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from drills.changes.changes import Changes, Metre, Section, Slot, WrittenBar
from drills.harmony.home_key import home
from drills.theory.chord import Chord
from drills.theory.note import Note
from drills.theory.symbol import parse_chord

__all__ = ["HomeAgreement", "chorus", "compare_homes", "harte_chord", "stated_home"]

LEAST_BARS = 12
"""A blues is the shortest form of a chorus."""

_SHORT = {
    "": "", "maj": "", "min": "m", "dim": "dim", "aug": "aug", "maj7": "maj7", "min7": "m7", "7": "7", "dim7": "dim7",
    "hdim7": "m7b5", "minmaj7": "mMaj7", "maj6": "6", "min6": "m6", "9": "7", "maj9": "maj7", "min9": "m7",
    "sus4": "sus4",
}  # fmt: skip
_LISTED = {
    ("3", "5", "b7"): "7", ("3", "#5", "b7"): "7#5", ("3", "b5", "b7"): "7b5", ("b3", "5", "b7"): "m7",
    ("b3", "b5", "b7"): "m7b5", ("3", "5", "7"): "maj7", ("b3", "5", "7"): "mMaj7", ("4", "5", "b7"): "7sus4",
}  # fmt: skip
_NAMES = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]
_SYNTAX = re.compile(r"(?P<root>[A-G][#b]*)(?::(?P<short>[a-z0-9]*)(?:\((?P<listed>[^)]*)\))?)?(?:/[#b]*\d+)?")


@dataclass
class HomeAgreement:
    """Counts of pages, and where home keys differ, as (theirs, ours)."""

    pages: int = 0
    homes: int = 0
    tonics: int = 0
    relatives: int = 0
    left_out: int = 0
    apart: list[tuple[str, str]] = field(default_factory=list)

    def lines(self) -> list[str]:
        """The figures as sentences."""
        return [
            f"{self.pages} pages ({self.left_out} left out: no key, several, or no whole chorus)",
            f"home key the same {self.homes} ({self.homes / max(1, self.pages):.1%}), its tonic {self.tonics}; "
            f"the relative key {self.relatives}",
            *(f"theirs {theirs}, ours {ours}" for theirs, ours in self.apart),
        ]


def harte_chord(text: str) -> Chord | None:
    """The chord of one label, without its bass and its tensions; None for ``N``. Raises ValueError for another."""
    if text == "N":
        return None
    found = _SYNTAX.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no chord label")
    if found["listed"] is not None and not found["short"]:
        tones = tuple(one.strip() for one in found["listed"].split(","))[:3]
        if tones not in _LISTED:
            raise ValueError(f"{text!r} has tones that no table here names")
        return parse_chord(found["root"] + _LISTED[tones])
    if (found["short"] or "") not in _SHORT:
        raise ValueError(f"{text!r} has a quality that no table here names")
    return parse_chord(found["root"] + _SHORT[found["short"] or ""])


def stated_home(annotation: dict[str, Any]) -> tuple[int, bool] | None:
    """Pitch class of the one key an annotation states, and whether it is minor; None where it states none or more."""
    stated = annotation.get("key", annotation.get("sandbox", {}).get("key", ()))
    names = [stated] if isinstance(stated, str) else list(stated)
    if len(names) != 1:
        return None
    found = re.fullmatch(r"([A-G])([#b]?)(?:[: ](maj|min)[a-z]*)?", names[0].strip())
    if found is None:
        return None
    tonic = Note("CDEFGAB".index(found[1]), {"": 0, "#": 1, "b": -1}[found[2]])
    return tonic.pitch_class, found[3] == "min"


def _parts(annotation: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for part in annotation.get("parts", ()):
        if "chords" in part:
            yield part
        yield from _parts(part)


def chorus(annotation: dict[str, Any]) -> Changes | None:
    """The first whole chorus as a page without a key; None where there is none that can be read."""
    beats, unit = map(int, annotation["metre"].split("/"))
    for part in _parts(annotation):
        bars = [bar.split() for line in part["chords"] for bar in line.strip().strip("|").split("|")]
        sounding = [bar for bar in bars if bar and set(bar) != {"N"}]
        if len(bars) < LEAST_BARS or 4 * len(sounding) < 3 * len(bars):
            continue
        written = []
        for bar in bars:
            length = Fraction(beats, max(1, len(bar)))
            try:
                chords = [harte_chord(label) for label in bar]
            except ValueError:
                return None
            slots = tuple(
                Slot(1 + length * place, length, chord, label)
                for place, (label, chord) in enumerate(zip(bar, chords, strict=True))
            )
            written.append(WrittenBar(slots, Metre(beats, unit)))
        return Changes("", (Section("", tuple(written)),))
    return None


def compare_homes(folder: Path) -> HomeAgreement:
    """Reads every annotation of a folder and counts where we agree on the home key."""
    counted = HomeAgreement()
    for path in sorted(folder.glob("*.json")):
        annotation = json.loads(path.read_text(encoding="utf-8"))
        theirs, page = stated_home(annotation), chorus(annotation)
        ours = None if page is None else home(page)
        if theirs is None or ours is None:
            counted.left_out += 1
            continue
        mine = (ours.key.tonic.pitch_class, ours.key.is_minor)
        counted.pages += 1
        counted.tonics += mine[0] == theirs[0]
        counted.homes += mine == theirs
        counted.relatives += mine[1] != theirs[1] and (mine[0] - theirs[0]) % 12 == (3 if theirs[1] else 9)
        if mine != theirs:
            counted.apart.append((f"{_NAMES[theirs[0]]}{' minor' * theirs[1]}", ours.name))
    return counted


if __name__ == "__main__":
    print(*compare_homes(Path(sys.argv[1])).lines(), sep="\n")
