"""The path of roots: the step rule, its table and its facts, and the rules' examples."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given

from drills.changes.changes_reading import parse_changes
from drills.errors import PathError
from drills.harmony.path_text import passes_lines, path_json, path_lines, path_speech
from drills.harmony.planned_path import passes, planned_path
from drills.harmony.root_path import nearest, step_path
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning
from drills.shapes.root_places import HandPosition, RootPlace, root_places
from drills.theory.chord import Chord
from drills.theory.key import parse_key
from drills.theory.note import Note
from drills.theory.quality import shipped_qualities
from drills.theory.symbol import parse_chord
from tests.strategies import progressions

NECK = Neck()
STRINGS = (6, 5, 4)
BLUES = "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7"
CYCLE = "C7 F7 Bb7 Eb7 Ab7 Db7 Gb7 B7 E7 A7 D7 G7 C7"
DIATONIC = "Cmaj7 Fmaj7 Bm7b5 Em7 Am7 Dm7 G7 Cmaj7"


def walk(text: str, start: int, **options) -> tuple[str, int]:
    """The roots of a step-by-step path as the rules write them, and the total in frets."""
    return _written(step_path(parse_changes(text), NECK, start=start, **options))


def plan(text: str, start: int | None, **options) -> tuple[str, int]:
    """The same of a planned path."""
    return _written(planned_path(parse_changes(text), NECK, start=start, **options))


def _written(path) -> tuple[str, int]:
    roots = " ".join(f"{step.chord.root}({step.string}/{step.fret})" for step in path.steps)
    return roots, path.total_frets


@pytest.mark.parametrize(
    ("text", "start", "roots", "total"),
    [
        ("Cm7 F7 Bbmaj7", 6, "C(6/8) F(5/8) Bb(4/8)", 0),
        ("Cm7 F7 Bbmaj7", 5, "C(5/3) F(4/3) Bb(5/1)", 2),
        ("Cm7 F7 Bbmaj7", 4, "C(4/10) F(5/8) Bb(4/8)", 2),
        ("Cmaj7 Am7 Dm7 G7 Cmaj7", 6, "C(6/8) A(4/7) D(5/5) G(4/5) C(5/3)", 5),
        ("Dm7b5 G7 Cm6", 5, "D(5/5) G(4/5) C(5/3)", 2),
        (DIATONIC, 6, "C(6/8) F(5/8) B(6/7) E(5/7) A(4/7) D(5/5) G(4/5) C(5/3)", 5),
        (
            BLUES, 5,
            "F(5/8) Bb(4/8) F(5/8) F(5/8) Bb(4/8) B(4/9) F(5/8) D(6/10) G(5/10) C(4/10) F(5/8) C(6/8)", 6,
        ),
        (
            CYCLE, 6,
            "C(6/8) F(5/8) Bb(4/8) Eb(5/6) Ab(4/6) Db(5/4) Gb(4/4) B(5/2) E(4/2) A(6/5) D(5/5) G(4/5) C(5/3)", 11,
        ),
        (
            "Cmaj7 Fmaj7 Bbmaj7 Ebmaj7 Abmaj7 Dbmaj7 Gbmaj7", 6,
            "C(6/8) F(5/8) Bb(4/8) Eb(5/6) Ab(4/6) Db(5/4) Gb(4/4)", 4,
        ),
    ],
)  # fmt: skip
def test_step_by_step_paths_are_the_rules(text: str, start: int, roots: str, total: int) -> None:
    """drills/RULES.md, D1 examples and checks G18, G19, G20, G30: roots and total movement."""
    assert walk(text, start) == (roots, total)


def test_the_planned_path_is_the_rules() -> None:
    """Rules D1 and G20: planned from C(6/8) the line costs four frets, not five."""
    assert plan("Cmaj7 Am7 Dm7 G7 Cmaj7", 6) == ("C(6/8) A(4/7) D(6/10) G(5/10) C(4/10)", 4)


@pytest.mark.parametrize("tonic", ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"])
def test_a_two_five_one_from_string_6_lies_at_one_fret(tonic: str) -> None:
    """Rule G29: on strings 6, 5 and 4 at one fret, in all twelve keys."""
    key = parse_key(tonic)
    chords = " ".join(key.chord(degree).name for degree in (2, 5, 1))
    path = step_path(parse_changes(chords), NECK, start=6)
    assert [step.string for step in path.steps] == [6, 5, 4]
    assert len({step.fret for step in path.steps}) == 1


# Rule D1: how the root moves, by semitones, from strings 6, 5 and 4.
# Each entry: the (string, fret change) the table allows.
TABLE = {
    1: ({(6, 1)}, {(5, 1)}, {(6, -1), (4, 1)}),
    2: ({(6, 2)}, {(5, 2)}, {(6, 0)}),
    3: ({(5, -2)}, {(4, -2)}, {(6, 1)}),
    4: ({(5, -1)}, {(4, -1)}, {(6, 2)}),
    5: ({(5, 0)}, {(4, 0)}, {(5, -2)}),
    6: ({(5, 1)}, {(6, -1), (4, 1)}, {(5, -1)}),
    7: ({(5, 2)}, {(6, 0)}, {(5, 0)}),
    8: ({(4, -2)}, {(6, 1)}, {(5, 1)}),
    9: ({(4, -1)}, {(6, 2)}, {(5, 2)}),
    10: ({(4, 0)}, {(5, -2)}, {(4, -2)}),
    11: ({(6, -1), (4, 1)}, {(5, -1)}, {(4, -1)}),
}


def nearest_places(neck: Neck, place: RootPlace, semitones: int) -> tuple[set[tuple[int, int]], int]:
    """Every (string, fret change) with the least fret distance, recomputed from pitches alone, and that distance."""
    low, high = neck.root_frets
    target = neck.tuning.midi(place.string, place.fret) + semitones
    moves = {
        (string, fret - place.fret)
        for string in STRINGS
        for fret in range(low, high + 1)
        if (neck.tuning.midi(string, fret) - target) % 12 == 0
    }
    least = min(abs(change) for _, change in moves)
    return {move for move in moves if abs(move[1]) == least}, least


@pytest.mark.parametrize("semitones", TABLE)
@pytest.mark.parametrize("string", STRINGS)
def test_every_cell_of_the_table_is_recomputed(semitones: int, string: int) -> None:
    """Rule D1, the table: with the whole neck open these are all the nearest roots.

    From string 4 up a tone the table says string 6 at the same fret, and so on; the step
    rule then takes one of them.
    """
    neck = Neck(top_fret=36, root_frets=(1, 36))
    expected = TABLE[semitones][6 - string]
    for fret in range(13, 24):
        place = RootPlace(string, fret)
        assert nearest_places(neck, place, semitones)[0] == expected
        taken = _step_from(neck, place, semitones)
        assert (taken.string, taken.fret - fret) in expected


def _step_from(neck: Neck, place: RootPlace, semitones: int) -> RootPlace:
    names = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]
    root = neck.tuning.midi(place.string, place.fret)
    before, after = (parse_chord(names[pitch % 12] + "7") for pitch in (root, root + semitones))
    return nearest(neck, before, place, after, STRINGS, HandPosition(neck))


def test_no_change_needs_more_than_two_frets_on_an_open_neck() -> None:
    """Rule D1, first fact: on strings 6, 5 and 4 with the whole neck open, two frets at most."""
    neck = Neck(top_fret=36, root_frets=(1, 36))
    distances = [
        abs(_step_from(neck, RootPlace(string, fret), semitones).fret - fret)
        for string in STRINGS
        for fret in range(13, 25)
        for semitones in range(12)
    ]
    assert len(distances) == 3 * 12 * 12
    assert max(distances) == 2


def test_in_twelve_frets_nine_changes_in_ten_need_two_frets_or_less() -> None:
    """Rule D1, second fact: 360 of 396 cases in frets 1 to 12, and four at worst."""
    distances = [
        abs(_step_from(NECK, RootPlace(string, fret), semitones).fret - fret)
        for string in STRINGS
        for fret in range(1, 13)
        for semitones in range(1, 12)
    ]
    assert len(distances) == 396
    assert sum(distance <= 2 for distance in distances) == 360
    assert max(distances) == 4


def test_ties_go_by_strings_then_hand_then_fret() -> None:
    """Rule D1: at Bdim7 after Bb(4/8) no string is crossed; at Bm7b5 after F(5/8) the hand decides."""
    assert walk("Bb7 Bdim7", 4)[0] == "Bb(4/8) B(4/9)"
    assert walk("Fmaj7 Bm7b5", 5)[0] == "F(5/8) B(6/7)"
    hand = HandPosition(NECK)
    assert hand(parse_chord("Fmaj7"), 5, 8) == 7
    assert (hand(parse_chord("Bm7b5"), 6, 7), hand(parse_chord("Bm7b5"), 4, 9)) == (7, 9)


@given(progressions(8))
def test_every_step_obeys_the_rule_recomputed_from_pitches(text: str) -> None:
    """Each step is the least of all places by frets, strings crossed, hand movement and fret, in that order."""
    hand = HandPosition(NECK)
    path = step_path(parse_changes(text), NECK)
    for before, after in pairwise(path.steps):
        places = [
            (string, fret)
            for string in STRINGS
            for fret in range(1, 13)
            if NECK.tuning.midi(string, fret) % 12 == after.chord.root.pitch_class
        ]
        at = hand(before.chord, before.string, before.fret)

        def key(place: tuple[int, int], before=before, after=after, at=at) -> tuple:
            moved = abs(hand(after.chord, *place) - at)
            return abs(place[1] - before.fret), abs(place[0] - before.string), moved, place[1]

        assert (after.string, after.fret) == min(places, key=key)
        if (before.chord.root.pitch_class, before.chord.quality) == (after.chord.root.pitch_class, after.chord.quality):
            assert (after.string, after.fret) == (before.string, before.fret)


@pytest.mark.parametrize(
    ("quality", "down", "string"),
    [("maj7", 1, 6), ("7", 1, 5), ("6", 1, 4), ("7#5", 1, 6), ("dim7", 1, 6), ("m6", 1, 5)]
    + [("dim7", 0, 4), ("m6", 0, 4)]
    + [(name, 0, string) for name in ("m7", "m7b5", "mMaj7") for string in STRINGS],
)
def test_the_hand_lies_where_the_arpeggio_begins(quality: str, down: int, string: int) -> None:
    """Rule C5: the lowest fret is the root's, or one below it, by quality and string set."""
    for name in ("C", "F#", "Bb"):
        chord = Chord(Note.parse(name), shipped_qualities().named(quality))
        for place in root_places(NECK, chord.root, (string,)):
            assert HandPosition(NECK)(chord, string, place.fret) == place.fret - down


def test_slash_chords_go_by_the_root_and_reduced_chords_by_their_seventh() -> None:
    """Rule D1: C7/E walks from C, and C13, G7alt and Dm9 as C7, G7 and Dm7."""
    assert walk("C7/E F7", 6) == walk("C7 F7", 6)
    assert walk("Dm9 G7alt C13", 5) == walk("Dm7 G7 C7", 5)


def test_no_chord_holds_the_hand() -> None:
    """Rule D1: a bar without a chord is no step, and the next step starts where the hand was."""
    path = step_path(parse_changes("| N.C. | Cm7 | N.C. | F7 . N.C. . | Bbmaj7 |"), NECK)
    assert [(step.bar, step.string, step.fret) for step in path.steps] == [(2, 6, 8), (4, 5, 8), (5, 4, 8)]
    assert [bar for bar, _ in path.holds] == [1, 3, 4]


def test_a_loop_adds_the_move_from_last_to_first() -> None:
    """Rule D1: for a loop the move back counts, and the path says how much it is."""
    path = step_path(parse_changes("Cmaj7 Am7 Dm7 G7 Cmaj7"), NECK, loop=True)
    assert path.closing_frets == 5 and path.total_frets == 10


def test_a_tune_gets_a_pass_from_each_root_string() -> None:
    """Rule D1: three passes at once, from 6, 5 and 4."""
    found = passes(parse_changes("Cm7 F7 Bbmaj7"), NECK)
    assert [(path.steps[0].string, path.total_frets) for path in found.paths] == [(6, 0), (5, 2), (4, 2)]
    assert found.left_out == ()
    narrow = passes(parse_changes("Cm7 F7"), Neck(root_frets=(3, 8)))
    assert [path.steps[0].string for path in narrow.paths] == [6, 5]
    assert narrow.left_out[0][0] == 4 and "no C on string 4 within frets 3 to 8" in narrow.left_out[0][1]


def test_the_json_is_the_contract() -> None:
    """Method, total and steps with bar, beat, chord, note, string and fret; the beat is a plain number."""
    found = path_json(step_path(parse_changes("| Cm7 . . F7 | Bbmaj7 |"), NECK))
    assert (found["method"], found["total_frets"]) == ("step by step", 0)
    assert found["steps"] == [
        {"bar": 1, "beat": 1, "chord": "Cm7", "note": "C", "string": 6, "fret": 8},
        {"bar": 1, "beat": 4, "chord": "F7", "note": "F", "string": 5, "fret": 8},
        {"bar": 2, "beat": 1, "chord": "Bbmaj7", "note": "Bb", "string": 4, "fret": 8},
    ]
    planned = path_json(planned_path(parse_changes("metre: 3/4\n| Cm7 F7 |"), NECK))
    assert planned["method"] == "planned" and planned["steps"][1]["beat"] == 2.5


@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_the_text_always_says_the_method(width: int) -> None:
    """The title above the bars names the method and total, and no line at all is wider than the screen."""
    changes = parse_changes(BLUES)
    step, planned = step_path(changes, NECK, start=5), planned_path(changes, NECK, measure="mm")
    for path, word in ((step, "step by step"), (planned, "planned for least movement in millimetres")):
        lines = path_lines(path, width)
        title = " ".join(line for line in lines if "|" not in line)
        assert word in title and "frets in all" in title
        assert max(map(len, lines)) <= width
        assert sum(line.count("(") for line in lines if "|" in line) == 12
    assert "6 frets in all" in " ".join(path_lines(step, width))
    assert sum("Path step by step" in line for line in passes_lines(passes(changes, NECK), width)) == 3


def test_a_path_is_sayable() -> None:
    """Rule 0.10: each chord is a spoken line with string, fret, note and the way there."""
    path = step_path(parse_changes("| Cm7 . . F7 | N.C. | Bbmaj7 | % | C7 |"), NECK)
    assert path_speech(path) == [
        "Path step by step, from string 6: 0 frets in all.",
        "bar 1: Cm7, string 6 fret 8, C.",
        "bar 1 beat 4: F7, string 5 fret 8, F; same fret, 1 string across.",
        "bar 2: no chord, hold.",
        "bar 3: Bbmaj7, string 4 fret 8, Bb; same fret, 1 string across.",
        "bar 4: Bbmaj7, string 4 fret 8, Bb; stay.",
        "bar 5: C7, string 6 fret 8, C; same fret, 2 strings across.",
    ]


@pytest.mark.parametrize(
    ("text", "options", "says"),
    [
        ("Cm7", {"start": 3}, "string 3 is not among the root strings 6, 5, 4"),
        ("Cm7", {"strings": (9,)}, "string 9"),
        ("Cm7", {"strings": (6, 6)}, "expected different strings"),
        ("Cm7", {"start": RootPlace(6, 3)}, "C does not lie at string 6 fret 3"),
        ("| N.C. |", {}, "the changes hold no chord"),
    ],
)
def test_a_path_that_cannot_begin_says_why(text: str, options: dict, says: str) -> None:
    """A wrong start, string or page is refused with the choices there are."""
    with pytest.raises(PathError, match=says):
        step_path(parse_changes(text), NECK, **options)
    with pytest.raises(PathError, match=says):
        planned_path(parse_changes(text), NECK, **options)


def test_a_root_outside_a_narrow_window_is_named() -> None:
    """When a chord has no root in the window the bar, chord, strings and frets are said."""
    for way in (step_path, planned_path):
        with pytest.raises(PathError, match=r"bar 2, F7: no F on strings 6 within frets 7 to 9"):
            way(parse_changes("C7 F7"), Neck(root_frets=(7, 9)), strings=(6,))


def test_a_start_string_means_its_lowest_fretted_root() -> None:
    """In a wide window the path begins low; an open string only when it is named, or nothing else is there."""
    wide = Neck(top_fret=22, root_frets=(1, 20), open_roots=True)
    assert walk_on(wide, "C7") == (6, 8)
    assert walk_on(wide, "E7") == (6, 12)
    assert walk_on(wide, "E7", RootPlace(6, 0)) == (6, 0)
    assert walk_on(Neck(root_frets=(1, 5), open_roots=True), "E7") == (6, 0)


def walk_on(neck: Neck, text: str, start: int | RootPlace = 6) -> tuple[int, int]:
    """Where a path begins."""
    first = step_path(parse_changes(text), neck, start=start).steps[0]
    return first.string, first.fret


def test_other_tunings_take_their_own_strings() -> None:
    """On a four-string bass the roots lie on strings 4, 3 and 2, from the open pitches."""
    bass = Neck(parse_tuning("E1 A1 D2 G2"))
    path = step_path(parse_changes("Cm7 F7 Bbmaj7"), bass)
    assert [(step.string, step.fret) for step in path.steps] == [(4, 8), (3, 8), (2, 8)]
