"""The key and mode of every chord: the rules' functions, and the exact search against brute force."""

from __future__ import annotations

from itertools import pairwise, product

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.changes.changes_reading import parse_changes
from drills.harmony.functions import KINDS, family, reading
from drills.harmony.harmony import analyse
from drills.harmony.home_key import home_key
from drills.harmony.key_search import STATES, best_keys, change_cost, chord_costs
from drills.theory.chord_mode import mode_of
from drills.theory.interval import Interval
from drills.theory.key import parse_key
from drills.theory.mode import modes
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.signatures import signature_keys
from tests.strategies import chords, progressions


def said(text: str) -> list[str]:
    """The explanation of every chord."""
    return [str(function) for function in analyse(parse_changes(text))]


@pytest.mark.parametrize("key", signature_keys(), ids=str)
def test_major_two_five_one_is_dorian_mixolydian_ionian(key) -> None:
    """drills/RULES.md, D2, stage 7: ii Dorian, V Mixolydian, I Ionian, in all fifteen keys, spelled in the key."""
    text = " ".join(key.chord(degree).name for degree in (2, 5, 1))
    assert said(text) == [f"ii of {key}: Dorian", f"V of {key}: Mixolydian", f"I of {key}: Ionian"]


@pytest.mark.parametrize("key", signature_keys("harmonic minor"), ids=str)
def test_minor_two_five_one_is_locrian_phrygian_dominant_melodic_minor(key) -> None:
    """Rule D2, stage 7: iiø Locrian, V of minor Phrygian dominant, i melodic minor."""
    two, five = key.chord(2).name, key.chord(5).name
    text = f"{two} {five} {key.tonic}m6"
    expected = [f"ii of {key}: Locrian", f"V of {key}: Phrygian dominant", f"i of {key}: melodic minor"]
    assert said(text) == expected


def test_the_diatonic_cycle_takes_the_seven_modes() -> None:
    """Rule B5: each chord of C major takes the mode on its degree, which holds its notes."""
    assert [line.split(": ")[1] for line in said("Cmaj7 Fmaj7 Bm7b5 Em7 Am7 Dm7 G7 Cmaj7")] == [
        "Ionian", "Lydian", "Locrian", "Phrygian", "Aeolian", "Dorian", "Mixolydian", "Ionian",
    ]  # fmt: skip


def test_a_blues_is_heard_as_one_key() -> None:
    """A twelve-bar blues stays in its key; the VI is the dominant of ii (common practice)."""
    lines = said("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7")
    assert all("of F blues" in line for line in lines)
    assert lines[5] == "#iv of F blues: whole-half diminished"
    assert lines[7] == "V of ii of F blues: Phrygian dominant"


@pytest.mark.parametrize(
    ("text", "place", "line"),
    [
        ("Cmaj7 A7 Dm7 G7 Cmaj7", 1, "V of ii of C: Phrygian dominant"),
        ("Cmaj7 D7 Dm7 G7 Cmaj7", 1, "V of V of C: Mixolydian"),
        ("Cmaj7 D7 G7 Cmaj7", 1, "V of V of C: Mixolydian"),
        ("Cmaj7 C7 Fmaj7 G7 Cmaj7", 1, "V of IV of C: Mixolydian"),
        ("Cmaj7 Em7b5 A7 Dm7 G7 C6", 1, "ii of ii of C: Locrian"),
        ("Cmaj7 C#dim7 Dm7 G7 Cmaj7", 1, "#i in passing of C: altered bb7"),
        ("Cmaj7 Db7 Cmaj7", 1, "bII of C: Lydian dominant"),
        ("Fmaj7 Fm6 Cmaj7 Bb7 Cmaj7", 1, "iv of C: melodic minor"),
        ("Fmaj7 Fm6 Cmaj7 Bb7 Cmaj7", 3, "bVII of C: Lydian dominant"),
        ("Ebmaj7 Abm7 Db7 Gbmaj7 Fm7 Bb7 Ebmaj7", 1, "iv of Eb: Dorian"),
        ("Ebmaj7 Abm7 Db7 Gbmaj7 Fm7 Bb7 Ebmaj7", 2, "V of bIII of Eb: Mixolydian"),
        ("Cmaj7 Cm7 F7 Bbmaj7 Bbm7 Eb7 Abmaj7", 1, "ii of Bb: Dorian"),
        ("Cmaj7 Cm7 F7 Bbmaj7 Bbm7 Eb7 Abmaj7", 5, "V of Ab: Mixolydian"),
        ("Am7 D7 Gmaj7 Cmaj7 F#m7b5 B7 Em6", 0, "ii of G: Dorian"),
        ("Am7 D7 Gmaj7 Cmaj7 F#m7b5 B7 Em6", 5, "V of E minor: Phrygian dominant"),
        ("Dm7b5 G7alt Cm6", 1, "V of C minor: altered"),
        ("Dm7 G7#11 Cmaj7", 1, "V of C: Lydian dominant"),
        ("Dm7 G7b9 Cmaj7", 1, "V of C: Phrygian dominant"),
    ],
)
def test_functions_beyond_the_key_are_named(text: str, place: int, line: str) -> None:
    """Secondary dominants, their ii, borrowed chords, passing diminished and modulations (common practice)."""
    assert said(text)[place] == line


def test_a_stated_key_settles_what_the_ear_leaves_open() -> None:
    """The same chords are heard in the key the page states, and a stated key is spelled as stated."""
    assert said("key: C\nEm7 Am7")[0].startswith("iii of C")
    assert said("key: E minor\nEm7 Am7")[0].startswith("i of E minor")
    assert said("key: C#\nC#maj7 A#m7")[0] == "I of C#: Ionian"


def test_the_player_overrides_the_mode_and_the_choice_is_shown() -> None:
    """A mode, or a place in a key, after a chord replaces the found one and is marked as the player's."""
    assert said("Dm7{Aeolian} G7{V of C minor} Cmaj7{Lydian}") == [
        "ii of C: Aeolian (your choice)",
        "V of C: Phrygian dominant (your choice)",
        "I of C: Lydian (your choice)",
    ]


def test_no_chord_has_no_function() -> None:
    """Functions stay aligned with the places of the page."""
    found = analyse(parse_changes("| N.C. | Dm7 G7 | N.C. | Cmaj7 |"))
    assert [function is None for function in found] == [True, False, False, True, False]
    assert analyse(parse_changes("| N.C. |")) == (None,)
    assert home_key(parse_changes("| N.C. |")) is None
    assert home_key(parse_changes("Dm7 G7 Cmaj7")) == parse_key("C")


def total_cost(states: tuple[int, ...], rows: list[tuple[int, ...]]) -> int:
    """The cost of a way of hearing, by its definition."""
    enter = 4 if STATES[states[0]][1] == "blues" else 0
    moves = sum(change_cost(before, after) for before, after in pairwise(states))
    return enter + moves + sum(row[state] for row, state in zip(rows, states, strict=True))


def rows_of(text: str) -> list[tuple[int, ...]]:
    """The cost rows of a progression, with no stated key."""
    return chord_costs([(parse_chord(symbol), None) for symbol in text.split()])[0]


@settings(max_examples=25)
@given(progressions(3))
def test_the_search_equals_every_way_of_hearing_three_chords(text: str) -> None:
    """All 46,656 sequences of keys are tried: none is cheaper than the one found."""
    rows = rows_of(text)
    states, cost = best_keys(rows)
    assert cost == total_cost(tuple(states), rows)
    assert cost == min(total_cost(way, rows) for way in product(range(36), repeat=len(rows)))


@settings(max_examples=8)
@given(st.lists(chords().map(lambda chord: chord.name), min_size=10, max_size=25).map(" ".join))
def test_the_search_equals_the_shortest_path_of_networkx(text: str) -> None:
    """On longer progressions the cost equals Dijkstra's on the layered graph of keys."""
    rows = rows_of(text)
    graph = networkx.DiGraph()
    for state in range(36):
        graph.add_edge("start", (0, state), weight=total_cost((state,), rows[:1]))
        graph.add_edge((len(rows) - 1, state), "end", weight=0)
    for index in range(1, len(rows)):
        for state, after in product(range(36), repeat=2):
            graph.add_edge((index - 1, state), (index, after), weight=change_cost(state, after) + rows[index][after])
    states, cost = best_keys(rows)
    assert cost == networkx.dijkstra_path_length(graph, "start", "end") == total_cost(tuple(states), rows)


def test_every_reading_is_in_range_and_its_modes_exist() -> None:
    """Over kinds, degrees, families and what follows: costs 0 to 10, known modes, a numeral unless outside."""
    families = {family(quality) for quality in shipped_qualities()}
    assert families == {"maj", "M", "dom", "min", "tonic", "half", "dim", "sus"}
    known, count = modes(), 0
    for kind, above, chord, step in product(KINDS, range(12), families, (None, *range(12))):
        for after in families if step is not None else ("",):
            read = reading(kind, above, chord, step, after)
            assert 0 <= read.cost <= 10 and (read.cost == 10) == (read.numeral == "")
            assert all(mode in known for mode in read.modes)
            count += 1
    assert count == 3 * 12 * 8 * (1 + 12 * 8)


@given(chords())
def test_a_mode_holds_every_tone_of_its_chord(chord) -> None:
    """Whatever is preferred, the mode chosen holds the chord."""
    for preferred in ((), ("Dorian",), ("altered", "Ionian")):
        mode = mode_of(chord, preferred)
        assert {interval.semitones for interval in chord.quality.intervals} <= mode.pitch_classes


@pytest.mark.parametrize(
    ("symbol", "labels"),
    [
        ("G13", "9 13"), ("G7b9", "b9"), ("G7#9", "#9"), ("G7#11", "#11"), ("G7b13", "b13"), ("G13b9", "b9 13"),
        ("Cmaj7#11", "#11"), ("Dm11", "9 11"), ("Cm9", "9"), ("C6/9", "9"),
    ],
)  # fmt: skip
def test_a_mode_holds_the_tensions_too_where_one_does(symbol: str, labels: str) -> None:
    """An extended symbol asks for a mode with its tensions; a flat ninth replaces the plain one."""
    chord = parse_chord(symbol, reduce=True)
    tones = {interval.semitones for interval in chord.quality.intervals}
    tensions = {Interval.from_degree(label).semitones % 12 for label in labels.split()}
    assert tones | tensions <= mode_of(chord, ("Mixolydian",)).pitch_classes


@given(progressions(10), st.integers(0, 11))
def test_hearing_does_not_depend_on_the_key(text: str, semitones: int) -> None:
    """Moved by any number of semitones, a progression costs the same."""
    moved = [
        (parse_chord(symbol).transposed(Interval.from_degree(("1", "b2", "2", "b3", "3", "4", "b5", "5", "b6", "6",
                                                              "b7", "7")[semitones])), None)
        for symbol in text.split()
    ]  # fmt: skip
    assert best_keys(chord_costs(moved)[0])[1] == best_keys(rows_of(text))[1]
