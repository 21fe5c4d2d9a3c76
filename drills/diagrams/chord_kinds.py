"""Chord qualities as MusicXML 4.0 says them: a kind, and degrees added, altered or taken away.

The kinds and the meaning of `degree` are those of the W3C MusicXML 4.0 schema: an altered
or subtracted degree counts from the kind's own chord, an added one from the dominant chord.
"""

from __future__ import annotations

from dataclasses import dataclass

from drills.theory.note import NATURAL_SEMITONES
from drills.theory.quality import Quality

__all__ = ["ChordKind", "kind_of"]


@dataclass(frozen=True, slots=True)
class ChordKind:
    """A kind-value and its degrees as (value, alter in semitones, ``add`` | ``alter`` | ``subtract``)."""

    value: str
    degrees: tuple[tuple[int, int, str], ...] = ()


_KINDS = {
    "1 3 5 7": ChordKind("major-seventh"),
    "1 b3 5 b7": ChordKind("minor-seventh"),
    "1 3 5 b7": ChordKind("dominant"),
    "1 b3 b5 b7": ChordKind("half-diminished"),
    "1 b3 b5 bb7": ChordKind("diminished-seventh"),
    "1 b3 5 6": ChordKind("minor-sixth"),
    "1 b3 5 7": ChordKind("major-minor"),
    "1 3 5 6": ChordKind("major-sixth"),
    # The suspended kind with a seventh is read differently by readers; the dominant form is not.
    "1 4 5 b7": ChordKind("dominant", ((3, 0, "subtract"), (4, 0, "add"))),
    "1 3 #5 b7": ChordKind("augmented-seventh"),
    "1 3 b5 b7": ChordKind("dominant", ((5, -1, "alter"),)),
    "1 3 #5 7": ChordKind("major-seventh", ((5, 1, "alter"),)),
    "1 3 b5 7": ChordKind("major-seventh", ((5, -1, "alter"),)),
    "1 b3 b5 7": ChordKind("diminished", ((7, 1, "add"),)),
    "1 3 5": ChordKind("major"),
    "1 b3 5": ChordKind("minor"),
    "1 b3 b5": ChordKind("diminished"),
    "1 3 #5": ChordKind("augmented"),
    "1 4 5": ChordKind("suspended-fourth"),
    "1 2 5": ChordKind("suspended-second"),
}


def kind_of(quality: Quality) -> ChordKind:
    """The kind of a quality; one the format has no word for is ``other`` with all its degrees added."""
    known = _KINDS.get(" ".join(quality.degrees))
    if known is not None:
        return known
    added = []
    for interval in quality.intervals[1:]:
        step = interval.steps % 7
        # An added seventh counts from the minor seventh of the dominant chord.
        natural = NATURAL_SEMITONES[step] - (step == 6)
        added.append((interval.steps + 1, interval.semitones % 12 - natural, "add"))
    return ChordKind("other", tuple(added))
