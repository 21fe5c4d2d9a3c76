"""What a chord can be in a key: its numeral, what that explanation costs, and the modes that go with it.

The modes to try for each function stand here. `mode_of` in drills/theory/chord_mode.py chooses the first that holds
the chord, unless the player wrote one.

The tables are common practice of jazz harmony (a teacher's judgement, no source);
the modes of ii, V, I, the half-diminished ii, the V and the i of minor are those of rule D2 in drills/RULES.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from drills.theory.quality import Quality

__all__ = ["KINDS", "OUTSIDE", "PASSING", "TARGETS", "ChordFunction", "family", "reading"]

KINDS = ("major", "minor", "blues")
"""Kinds of key. In a blues the tonic and the fourth degree carry dominant sevenths."""

OUTSIDE = 10
"""Cost of a chord no row explains: more than leaving for the key that does explain it."""

PASSING = "passing"
"""Numeral of a diminished chord in passing, whose degree depends on how it is spelled."""


@dataclass(frozen=True, slots=True)
class ChordFunction:
    """One chord read in one key.

    numeral: e.g. ``ii`` or ``V of ii``, PASSING for a passing diminished chord; "" when the key
        does not explain the chord.
    degree: degree label of the root above the tonic, which also spells the tonic; "" when the
        spelling of the root says nothing about the key.
    cost: 0 for what belongs to the key, more the further it is fetched (half points of
        judgement; only sums are compared). modes: names, the usual one first.
    """

    numeral: str
    degree: str
    cost: int
    modes: tuple[str, ...]


def family(quality: Quality) -> str:
    """How a quality behaves in a key.

    ``maj`` a major seventh or sixth, ``M`` the plain triad, ``dom``, ``min``, ``tonic`` the
    minor sixth and minor with a major seventh, ``half``, ``dim``, or ``sus`` for no third and no seventh.
    """
    tones = set(quality.semitones)
    if 4 in tones:
        if 10 in tones:
            return "dom"
        return "maj" if len(tones) > 3 else "M" if 7 in tones else "dom"  # an augmented triad works as a V
    if 3 in tones:
        if 6 in tones and 7 not in tones:
            return "half" if 10 in tones else "dim"
        return "tonic" if tones & {9, 11} else "min"
    return "dom" if 10 in tones else "sus"


# degree label: (families, numeral, cost, modes). The first row that fits counts.
# Costs: 0 belongs to the key; 2 belongs to it, but says less about which key it is;
# 4 borrowed from the parallel key; 6 a colour heard now and then.
_ROWS: dict[str, tuple[tuple[str, str, str, int, str], ...]] = {
    "major": (
        ("1", "maj M sus", "I", 0, "Ionian, Lydian"),
        ("2", "min", "ii", 0, "Dorian"),
        ("3", "min", "iii", 0, "Phrygian"),
        ("4", "maj M", "IV", 0, "Lydian"),
        ("5", "dom M sus", "V", 0, "Mixolydian"),
        ("6", "min", "vi", 0, "Aeolian"),
        ("7", "half dim", "vii", 0, "Locrian"),
        ("4", "min", "iv", 4, "Dorian"),
        ("4", "tonic", "iv", 4, "melodic minor"),
        ("2", "half", "ii", 4, "Locrian"),
        ("b7", "dom", "bVII", 4, "Lydian dominant"),
        ("b6", "maj M", "bVI", 4, "Lydian"),
        ("b3", "maj M", "bIII", 4, "Lydian"),
        ("b2", "maj M", "bII", 4, "Lydian"),
        ("b2", "dom", "bII", 4, "Lydian dominant"),
        ("b6", "dom", "bVI", 4, "Lydian dominant"),
        ("#4", "half", "#iv", 4, "Locrian"),
        ("1", "dom", "I", 6, "Mixolydian"),
        ("4", "dom", "IV", 6, "Lydian dominant"),
        ("b7", "maj M", "bVII", 6, "Lydian"),
        ("6", "tonic", "vi", 6, "Dorian"),
    ),
    "minor": (
        ("1", "tonic", "i", 0, "melodic minor"),
        ("1", "min", "i", 1, "Dorian, Aeolian"),
        ("1", "sus", "i", 1, "Dorian"),
        ("2", "half", "ii", 0, "Locrian"),
        ("4", "min tonic", "iv", 0, "Dorian"),
        ("5", "dom M sus", "V", 0, "Phrygian dominant"),
        ("7", "dim", "vii", 0, "altered bb7"),
        ("b3", "maj M", "III", 2, "Ionian, Lydian augmented"),
        ("b6", "maj M", "VI", 2, "Lydian"),
        ("b7", "dom M", "VII", 2, "Mixolydian"),
        ("4", "dom M", "IV", 2, "Lydian dominant"),
        ("5", "min", "v", 2, "Phrygian"),
        ("b6", "dom", "VI", 2, "Lydian dominant"),
        ("6", "half", "vi", 2, "Locrian"),
        ("2", "min", "ii", 4, "Dorian"),
        ("b2", "maj M", "bII", 4, "Lydian"),
        ("b2", "dom", "bII", 4, "Lydian dominant"),
        ("1", "maj M", "I", 6, "Ionian"),
    ),
    "blues": (
        ("1", "dom", "I", 0, "Mixolydian"),
        ("4", "dom", "IV", 0, "Mixolydian"),
        ("5", "dom", "V", 0, "Mixolydian"),
        ("2", "min", "ii", 0, "Dorian"),
        ("#4", "dim", "#iv", 0, "whole-half diminished"),
        ("1", "M", "I", 2, "Mixolydian"),
        ("4", "M", "IV", 2, "Mixolydian"),
        ("b6", "dom", "bVI", 2, "Lydian dominant"),
        ("3", "min", "iii", 2, "Phrygian"),
        ("6", "min", "vi", 2, "Aeolian"),
        ("1", "maj", "I", 6, "Ionian"),
    ),
}

_DEGREES = ("1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7")
_SEMITONES = {label: semitones for semitones, label in enumerate(_DEGREES)}
TARGETS = {
    "major": {2: "ii", 4: "iii", 5: "IV", 7: "V", 9: "vi"},
    "minor": {3: "III", 5: "iv", 7: "V", 8: "VI", 10: "VII"},
    "blues": {2: "ii", 4: "iii", 5: "IV", 7: "V", 9: "vi"},
}
"""Degrees that may have a dominant of their own, by semitones above the tonic."""

_TO_MINOR, _TO_MAJOR = ("Phrygian dominant",), ("Mixolydian",)
_SUBSTITUTE = ("Lydian dominant",)


@lru_cache(maxsize=16384)
def reading(kind: str, above: int, chord: str, step: int | None, after: str) -> ChordFunction:
    """A chord read in a key.

    kind: of the key. above: semitones of the root above the tonic, 0 to 11.
    chord: its family. step: semitones from its root up to the root of the next
    chord, 0 to 11, or None at the end. after: the next chord's family, or "".
    """
    row = _row(kind, above, chord)
    if row is not None and row.numeral != "V" and kind != "blues" and chord == after == "dom" and step == 5:
        row = None  # a chain of dominants is one thing all the way: each is the V of the next
    best = row if row is not None else ChordFunction("", "", OUTSIDE, ())
    for other in (_dominant(kind, above, chord, step, after), _related(kind, above, chord, step, after),
                  _diminished(kind, above, chord, step, after)):  # fmt: skip
        if other is not None and other.cost < best.cost:
            best = other
    related = _related(kind, above, chord, step, after)
    if chord == "half" and related is not None:
        # On its way to a dominant a half-diminished chord is the ii of that dominant's goal, whatever degree it is.
        return replace(related, cost=best.cost)
    return best


def _row(kind: str, above: int, chord: str) -> ChordFunction | None:
    for degree, families, numeral, cost, modes in _ROWS[kind]:
        if _SEMITONES[degree] == above and chord in families.split():
            return ChordFunction(numeral, degree, cost, tuple(modes.split(", ")))
    return None


def _dominant(kind: str, above: int, chord: str, step: int | None, after: str) -> ChordFunction | None:
    """A dominant of another degree: to another dominant (3), resolved (4), by a tritone substitute (5), left open (6).

    A chain of dominants is its own explanation, so there the target need not belong to the key.
    """
    if chord != "dom":
        return None
    fifth_below, below = (above + 5) % 12, (above - 1) % 12
    targets = TARGETS[kind]
    to_minor = after in ("min", "tonic", "half", "dim")
    if step == 5 and _borrowed_tonic(kind, fifth_below, after):
        return ChordFunction("V of bIII", _DEGREES[above], 3, _TO_MAJOR)
    if step == 5:
        own = fifth_below in targets
        target = targets[fifth_below] if own else _numeral(fifth_below, to_minor)
        cost = 3 if after == "dom" else 4 if own else 8
        return ChordFunction(f"V of {target}", _DEGREES[above], cost, _TO_MINOR if to_minor else _TO_MAJOR)
    if step == 11 and below in targets:
        return ChordFunction(f"substitute V of {targets[below]}", _DEGREES[above], 5, _SUBSTITUTE)
    if fifth_below in targets:
        minor = targets[fifth_below].islower()
        return ChordFunction(f"V of {targets[fifth_below]}", _DEGREES[above], 6, _TO_MINOR if minor else _TO_MAJOR)
    return None


def _borrowed_tonic(kind: str, above: int, chord: str) -> bool:
    """Whether a chord is the bIII of major: come to by its own V, that V is no bVII on its way home."""
    return kind == "major" and above == 3 and chord in ("maj", "M")


def _numeral(above: int, minor: bool) -> str:
    degree = _DEGREES[above]
    roman = ("I", "II", "III", "IV", "V", "VI", "VII")[int(degree[-1]) - 1]
    return degree[:-1] + (roman.lower() if minor else roman)


def _related(kind: str, above: int, chord: str, step: int | None, after: str) -> ChordFunction | None:
    """The ii that goes with a dominant of another degree: a minor chord a fifth above that dominant."""
    if chord not in ("min", "half") or step != 5 or after != "dom":
        return None
    target = (above + 10) % 12
    targets = TARGETS[kind]
    if target not in targets:
        return None
    return ChordFunction(
        f"ii of {targets[target]}", _DEGREES[above], 4, ("Dorian",) if chord == "min" else ("Locrian",)
    )


def _diminished(kind: str, above: int, chord: str, step: int | None, after: str) -> ChordFunction | None:
    """A diminished chord in passing: to a root a semitone off (3), on the same root (3), or elsewhere (6)."""
    if chord != "dim":
        return None
    leads = step == 1 and after in ("min", "tonic")
    modes = ("altered bb7", "whole-half diminished") if leads else ("whole-half diminished", "Locrian")
    return ChordFunction(PASSING, "", 3 if step in (0, 1, 11) else 6, modes)
