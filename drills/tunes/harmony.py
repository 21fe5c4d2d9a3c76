"""The key of every chord and the mode that follows from it, by exact dynamic programming over keys.

A key is one of 36: twelve tonics, each major, minor or blues. A way of hearing the
changes gives every chord a key; its cost is the sum of

- what each chord costs in its key (``drills.tunes.functions``): 0 when it belongs there;
- CHANGE for every change of key, less (NEAR) when the tonic stays (C to C minor) or the
  signature does (C to A minor): a key is left only when staying would strain two chords
  or more;
- BLUES for entering a blues: dominants on two degrees are needed to claim one;
- OFF_STATED for every chord heard outside the key the page states at that place, so that
  a stated key wins ties and short excursions stay explained inside it;
- EDGE when the first chord is not on its tonic, and again for the last: progressions
  tend to begin and end at home.

The least cost over all ways is found exactly (Viterbi); where two ways cost the same
the key that was there longer wins, then major before minor before blues, then the
lower tonic from C. A chord that is repeated counts once. All of it is whole numbers.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

from drills.errors import TheoryError
from drills.theory.chord import Chord
from drills.theory.interval import Interval, transpose_note
from drills.theory.key import Key
from drills.theory.mode import Mode, modes
from drills.theory.note import Note
from drills.theory.spelling import common_name
from drills.tunes.changes import Changes
from drills.tunes.functions import KINDS, PASSING, Reading, family, reading
from drills.tunes.overrides import mode_of_override

__all__ = ["STATES", "Function", "analyse", "best_keys", "change_cost", "chord_costs", "home_key", "mode_of"]

CHANGE, NEAR, OFF_STATED, EDGE, BLUES = 8, 4, 2, 2, 4

STATES = tuple((tonic, kind) for kind in KINDS for tonic in range(12))
"""The keys, as (pitch class of the tonic, kind), in the order that breaks ties."""


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


def _stated(key: Key | None) -> tuple[int, bool] | None:
    return None if key is None else (key.tonic.pitch_class, key.is_minor)


def _is_stated(state: tuple[int, str], stated: tuple[int, bool]) -> bool:
    return state[0] == stated[0] and (state[1] == "minor") == stated[1]


def _runs(chords: list[tuple[Chord, Key | None]]) -> list[tuple[int, int]]:
    """Stretches of one chord in one stated key, as (first, end)."""
    runs: list[tuple[int, int]] = []
    for place, (chord, key) in enumerate(chords):
        if runs:
            before, before_key = chords[place - 1]
            if before.root == chord.root and before.quality == chord.quality and _stated(before_key) == _stated(key):
                runs[-1] = (runs[-1][0], place + 1)
                continue
        runs.append((place, place + 1))
    return runs


@lru_cache(maxsize=4096)
def _readings(root: int, chord: str, step: int | None, after: str) -> tuple[tuple[Reading, ...], tuple[int, ...]]:
    found = tuple(reading(kind, (root - tonic) % 12, chord, step, after) for tonic, kind in STATES)
    return found, tuple(one.cost for one in found)


@lru_cache(maxsize=128)
def _off(stated: tuple[int, bool]) -> tuple[int, ...]:
    return tuple(0 if _is_stated(state, stated) else OFF_STATED for state in STATES)


def change_cost(state: int, other: int) -> int:
    """Cost of going from one key to another, both as indices into STATES; 0 to stay."""
    if state == other:
        return 0
    (tonic, kind), (new, other_kind) = STATES[state], STATES[other]
    # A minor tonic lies nine semitones above that of the major key with the same signature.
    signature = (tonic + 3 * (kind == "minor")) % 12 == (new + 3 * (other_kind == "minor")) % 12
    near = tonic == new or signature and "blues" not in (kind, other_kind)
    return (NEAR if near else CHANGE) + BLUES * (other_kind == "blues")


_NEAR_KEYS = tuple(
    tuple((other, change_cost(other, state)) for other in range(36)
          if other != state and change_cost(other, state) < CHANGE + BLUES * (STATES[state][1] == "blues"))
    for state in range(36)
)  # fmt: skip
_ENTER = tuple(BLUES * (kind == "blues") for _, kind in STATES)


def best_keys(rows: list[tuple[int, ...]]) -> tuple[list[int], int]:
    """The cheapest sequence of states, as indices into STATES, and its cost.

    rows: for each chord, the cost of hearing it in each of the 36 keys.
    """
    costs = [cost + enter for cost, enter in zip(rows[0], _ENTER, strict=True)]
    back: list[list[int]] = []
    for row in rows[1:]:
        # Leaving costs the same for every far key, so only the cheapest place to leave from matters.
        cheapest = min(range(36), key=costs.__getitem__)
        leave = costs[cheapest] + CHANGE
        came, now = [], []
        for state in range(36):
            source, cost = state, costs[state]
            for other, change in _NEAR_KEYS[state]:
                if costs[other] + change < cost:
                    source, cost = other, costs[other] + change
            if leave + _ENTER[state] < cost:
                source, cost = cheapest, leave + _ENTER[state]
            came.append(source)
            now.append(cost + row[state])
        back.append(came)
        costs = now
    state = min(range(36), key=costs.__getitem__)
    total = costs[state]
    path = [state]
    for came in reversed(back):
        state = came[state]
        path.append(state)
    return path[::-1], total


def chord_costs(chords: list[tuple[Chord, Key | None]]) -> tuple[list[tuple[int, ...]], list[tuple[Reading, ...]]]:
    """For each chord, its cost in each of the 36 keys with everything but changes of key, and its readings."""
    rows, readings = [], []
    families = [family(chord.quality) for chord, _ in chords]
    last = len(chords) - 1
    for place, (chord, stated) in enumerate(chords):
        root = chord.root.pitch_class
        step = after = None
        if place < last:
            step = (chords[place + 1][0].root.pitch_class - root) % 12
            after = families[place + 1]
        found, row = _readings(root, families[place], step, after or "")
        if stated is not None:
            row = tuple(map(int.__add__, row, _off(_stated(stated))))
        if place in (0, last):
            edges = (place == 0) + (place == last)
            row = tuple(
                cost + EDGE * edges * (state[0] != root)
                for cost, state in zip(row, STATES, strict=True)
            )
        rows.append(row)
        readings.append(found)
    return rows, readings


def analyse(changes: Changes) -> tuple[Function | None, ...]:
    """The function of every chord in playing order, None for no chord; aligned with ``changes.slots``."""
    sounding = [(slot, bar.key) for bar, slot in changes.slots if slot.chord is not None]
    if not sounding:
        return tuple(None for _ in changes.slots)
    runs = _runs([(slot.chord, key) for slot, key in sounding])
    chords = [(sounding[first][0].chord, sounding[first][1]) for first, _ in runs]
    rows, readings = chord_costs(chords)
    states, _ = best_keys(rows)
    keys = _spelled_keys(chords, states, readings)
    functions: list[Function] = []
    for (first, end), state, found, key in zip(runs, states, readings, keys, strict=True):
        read = found[state]
        for slot, _ in sounding[first:end]:
            own = bool(slot.mode)
            mode = mode_of_override(slot.mode, slot.chord) if own else mode_of(slot.chord, read.modes)
            numeral = _passing_numeral(key, slot.chord.root) if read.numeral == PASSING else read.numeral
            functions.append(Function(key, STATES[state][1], numeral, mode, own))
    answers = iter(functions)
    return tuple(None if slot.chord is None else next(answers) for _, slot in changes.slots)


@lru_cache(maxsize=4096)
def mode_of(chord: Chord, preferred: tuple[str, ...]) -> Mode | None:
    """The first mode that holds the chord and its tensions, or else the chord alone.

    Tried in order: the preferred names, the usual modes of the quality, then every known
    scale. An altered fifth among the tensions replaces the perfect one (G7alt has none).
    """
    tones = {interval.semitones % 12 for interval in chord.quality.intervals}
    tensions = {Interval.from_degree(label).semitones % 12 for label in chord.tensions}
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


_ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii")


def _passing_numeral(key: Key, root: Note) -> str:
    """E.g. ``#i in passing`` for C#dim7 in C: by letters, so that Dbdim7 is ``bii``."""
    step = (root.step - key.tonic.step) % 7
    natural = transpose_note(key.tonic, Interval.from_degree(str(step + 1)))
    change = root.alter - natural.alter
    return ("#" * change if change > 0 else "b" * -change) + _ROMAN[step] + " in passing"


def _key(tonic: Note, kind: str) -> Key | None:
    try:
        return Key(tonic, "harmonic minor" if kind == "minor" else "major")
    except TheoryError:
        return None


def _spelled_keys(
    chords: list[tuple[Chord, Key | None]], states: list[int], readings: list[tuple[Reading, ...]]
) -> list[Key]:
    """The key of each chord, spelled as its chords spell it; one spelling for each stretch in one key."""
    keys: list[Key] = []
    start = 0
    while start < len(states):
        end = start
        while end < len(states) and states[end] == states[start]:
            end += 1
        tonic_class, kind = STATES[states[start]]
        votes: Counter[Key] = Counter()
        for place in range(start, end):
            chord, stated = chords[place]
            if stated is not None and _is_stated(STATES[states[place]], _stated(stated)):
                named = _key(stated.tonic, kind)
                votes[named] += 100  # what the page states outweighs what the chords suggest
                continue
            degree = readings[place][states[place]].degree
            named = degree and _key(transpose_note(chord.root, -Interval.from_degree(degree)), kind)
            if named:
                votes[named] += 1
        if votes:
            most = max(votes.values())
            key = min((k for k, count in votes.items() if count == most), key=lambda k: (abs(k.signature), k.signature))
        else:
            key = _plain_key(tonic_class, kind)
        keys.extend([key] * (end - start))
        start = end
    return keys


def _plain_key(tonic_class: int, kind: str) -> Key:
    spellings = [Note(step, alter) for step in range(7) for alter in (-1, 0, 1)]
    keys = [key for note in spellings if note.pitch_class == tonic_class and (key := _key(note, kind))]
    return min(keys, key=lambda key: (abs(key.signature), key.tonic.name != common_name(tonic_class)))


def home_key(changes: Changes) -> Key | None:
    """The key of the head when it is stated, else the local key of the last chord; None without a chord."""
    if changes.key is not None:
        return changes.key
    found = [function for function in analyse(changes) if function is not None]
    return found[-1].key if found else None
