"""The key of every chord, what the chord does in it, and the mode that follows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from drills.changes.changes import Changes
from drills.changes.overrides import mode_of_override
from drills.harmony.functions import PASSING
from drills.harmony.key_search import STATES, best_keys, chord_costs, stated_key
from drills.harmony.key_spelling import passing_numeral, spelled_keys
from drills.theory.chord import Chord
from drills.theory.interval import Interval
from drills.theory.key import Key
from drills.theory.mode import Mode, modes

__all__ = ["Function", "analyse", "home_key", "mode_of"]


@dataclass(frozen=True, slots=True)
class Function:
    """What a chord does, and the mode that follows.

    key, kind: the local key; kind is ``major``, ``minor`` or ``blues``.
    numeral: place in it, "" when the key does not explain the chord.
    mode: or None when no known scale holds the chord. chosen: by the player, in the text.
    """

    key: Key
    kind: str
    numeral: str
    mode: Mode | None
    chosen: bool = False

    @property
    def key_name(self) -> str:
        """E.g. ``Bb``, ``C minor`` or ``F blues``."""
        return f"{self.key.tonic.name} blues" if self.kind == "blues" else self.key.name

    @property
    def explanation(self) -> str:
        """As shown and said: ``ii of Bb: Dorian``."""
        place = f"{self.numeral} of {self.key_name}" if self.numeral else f"outside {self.key_name}"
        mode = self.mode.name if self.mode else "no scale of the table holds it"
        return f"{place}: {mode}" + (" (your choice)" if self.chosen else "")

    def __str__(self) -> str:
        return self.explanation


def _runs(chords: list[tuple[Chord, Key | None]]) -> list[tuple[int, int]]:
    """Stretches of one chord in one stated key, as (first, end)."""
    runs: list[tuple[int, int]] = []
    for place, (chord, key) in enumerate(chords):
        if runs:
            before, before_key = chords[place - 1]
            if (
                before.root == chord.root
                and before.quality == chord.quality
                and stated_key(before_key) == stated_key(key)
            ):
                runs[-1] = (runs[-1][0], place + 1)
                continue
        runs.append((place, place + 1))
    return runs


def analyse(changes: Changes) -> tuple[Function | None, ...]:
    """The function of every chord in playing order, None for no chord; aligned with ``changes.slots``."""
    sounding = [(slot, bar.key) for bar, slot in changes.slots if slot.chord is not None]
    if not sounding:
        return tuple(None for _ in changes.slots)
    runs = _runs([(slot.sounding, key) for slot, key in sounding])
    chords = [(sounding[first][0].sounding, sounding[first][1]) for first, _ in runs]
    rows, readings = chord_costs(chords)
    states, _ = best_keys(rows)
    keys = spelled_keys(chords, states, readings)
    functions: list[Function] = []
    for (first, end), state, found, key in zip(runs, states, readings, keys, strict=True):
        read = found[state]
        for slot, _ in sounding[first:end]:
            own = bool(slot.mode)
            mode = mode_of_override(slot.mode, slot.sounding) if own else mode_of(slot.sounding, read.modes)
            numeral = passing_numeral(key, slot.sounding.root) if read.numeral == PASSING else read.numeral
            functions.append(Function(key, STATES[state][1], numeral, mode, own))
    answers = iter(functions)
    return tuple(None if slot.chord is None else next(answers) for _, slot in changes.slots)


def home_key(changes: Changes) -> Key | None:
    """The key of the head when it is stated, else the local key of the last chord; None without a chord."""
    if changes.key is not None:
        return changes.key
    found = [function for function in analyse(changes) if function is not None]
    return found[-1].key if found else None


@lru_cache(maxsize=4096)
def mode_of(chord: Chord, preferred: tuple[str, ...]) -> Mode | None:
    """The first mode that holds the chord and its tensions, or else the chord alone.

    Tried in order: the preferred names, the usual modes of the quality, then every known
    scale. An altered fifth among the tensions replaces the perfect one (G7alt has none).
    """
    tones = {interval.semitones % 12 for interval in chord.quality.intervals}
    altered = {label.lstrip("b#") for label in chord.tensions if label[0] in "b#"}
    # A 13b9 stacks a ninth that its own b9 replaces.
    labels = [label for label in chord.tensions if label not in altered]
    tensions = {Interval.from_degree(label).semitones % 12 for label in labels}
    wanted = tones | tensions
    if {1, 3, 6, 8} <= tensions:  # 7alt: b9 #9 #11 b13
        wanted = wanted - {7}
    known = modes()
    names = dict.fromkeys((*preferred, *chord.quality.modes, *known))
    for needed in (wanted, tones):
        for name in names:
            if needed <= known[name].pitch_classes:
                return known[name]
    return None
