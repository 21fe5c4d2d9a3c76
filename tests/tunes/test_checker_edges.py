"""The hard rules of a line (D4, 1 to 9) at their edges: every place, interval and fret, told in plain loops."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest

from drills.lines.checker import RULES, Fault, check_line
from drills.lines.checker_hand import hand_faults
from drills.lines.line import Line, LineNote
from drills.neck.tuning import STANDARD
from drills.theory.note import Note, pitch_of
from drills.theory.quality import shipped_qualities
from tests.tunes.melodies import melody

HALF = Fraction(1, 2)
METRES = {
    "4/4": (Fraction(4), Fraction(1), True), "3/4": (Fraction(3), Fraction(1), False),
    "2/4": (Fraction(2), Fraction(1), True), "5/4": (Fraction(5), Fraction(1), False),
    "2/2": (Fraction(4), Fraction(2), True), "6/8": (Fraction(3), Fraction(3, 2), True),
    "9/8": (Fraction(9, 2), Fraction(3, 2), False), "12/8": (Fraction(6), Fraction(3, 2), True),
    "3/8": (Fraction(3, 2), HALF, False), "7/8": (Fraction(7, 2), HALF, False), "8/8": (Fraction(4), HALF, True),
}  # fmt: skip
"""Length of a bar, length of a beat, both in quarters, and whether the bar has a middle that is strong."""


def of_rule(rule: str, line: Line, **options) -> list[Fault]:
    """The faults against one rule."""
    return [fault for fault in check_line(line, **options) if fault.rule == rule]


def places_in(metre: str) -> list[Fraction]:
    """Every place in a bar, a sixteenth apart."""
    return [Fraction(index, 4) for index in range(int(METRES[metre][0] * 4))]


@pytest.mark.parametrize("metre", METRES)
def test_strong_beats_want_chord_tones(metre):
    """Beat 1, and the middle of a bar of an even number of beats: there every other note is named with its beat."""
    length, _, even = METRES[metre]
    for key in range(60, 72):
        line = melody(f"metre: {metre}\n| Cm7 |", [key] * len(places_in(metre)), places_in(metre))
        inside = key % 12 in (0, 3, 7, 10)
        wanted = {}
        for index, place in enumerate(places_in(metre)):
            if not inside and (place == 0 or (even and place == length / 2)):
                where = "1" if place == 0 else "3" if metre.startswith("4/") else "the middle of the bar"
                wanted[index] = f"{line.notes[index].place} on beat {where} is no note of Cm7"
        assert {fault.index: fault.message for fault in of_rule("1", line)} == wanted
    assert of_rule("1", melody(f"metre: {metre}\n| N.C. |", [61], [0])) == []


@pytest.mark.parametrize("metre", METRES)
@pytest.mark.parametrize("chord", ["Cmaj7", "C7", "Cm7", "CmMaj7", "C7sus4"])
def test_avoid_notes_stand_off_the_beat_and_short(chord, metre):
    """The fourth against a major third, on a beat or a beat long; the root under a major seventh, two beats long."""
    _, beat, _ = METRES[metre]
    cases = [
        (key, place, length)
        for place in places_in(metre)
        for key in range(60, 72)
        for length in (beat / 2, beat - Fraction(1, 8), beat, 2 * beat - Fraction(1, 8), 2 * beat)
    ]
    keys, starts, lengths = map(list, zip(*cases, strict=True))
    line = melody(f"metre: {metre}\n| {chord} |", keys, starts, lengths)
    wanted = []
    for index, (key, place, length) in enumerate(cases):
        on_beat = place % beat == 0
        if chord in ("Cmaj7", "C7") and key % 12 == 5 and (on_beat or length >= beat):
            wanted.append((index, f"F(1/1) over {chord}: the fourth against its third"))
        if chord in ("Cmaj7", "CmMaj7") and key % 12 == 0 and length >= 2 * beat:
            wanted.append((index, f"C(1/-4) over {chord}: the root held over its own seventh"))
    assert [(fault.index, fault.message) for fault in of_rule("2", line)] == wanted


def test_the_flat_second_is_avoided_on_iii_only():
    """On a beat or as long as one; over the same chord as ii it is another rule's business."""
    home = "key: C\n| Em7 | Am7 | Dm7 | G7 | Cmaj7 |"
    for above, place, length in product(range(12), (0, HALF, 1, Fraction(3, 2)), (HALF, 1)):
        key = 64 + above
        found = of_rule("2", melody(home, [key], [place], [length]))
        wanted = above == 1 and (place in (0, 1) or length == 1)
        assert [fault.message for fault in found] == (["F(1/1) over Em7: the flat second on iii"] if wanted else [])
    assert of_rule("2", melody("key: D\n| Em7 | A7 | Dmaj7 |", [65], [0], [1])) == []


@pytest.mark.parametrize("size", range(-8, 9))
def test_a_bar_line_is_joined_within_a_major_third(size):
    """Four semitones either way; inside a bar any size is another rule's business."""
    page = "| Cmaj7 | Cmaj7 |"
    found = of_rule("3", melody(page, [67, 67 + size, 64], [0, 4, 5]))
    joins = [fault for fault in found if "joins" in fault.message]
    if abs(size) > 4:
        (fault,) = joins
        assert (fault.index, fault.bar, fault.beat) == (1, 2, 1)
        assert fault.message.endswith(f"joins by {abs(size)} semitones")
    else:
        assert joins == []
    assert not [fault for fault in of_rule("3", melody(page, [67, 67 + size], [2, 3])) if "joins" in fault.message]


THIRDS, SUSPENDED, TOPS = ("3", "b3", "#3"), ("2", "4"), ("7", "b7", "bb7", "6")


@pytest.mark.parametrize("quality", [quality.symbol for quality in shipped_qualities()])
def test_a_chord_is_told_by_its_third_and_seventh(quality):
    """Or what is suspended for the third and the sixth for the seventh; a triad by its third and fifth."""
    of = next(each for each in shipped_qualities() if each.symbol == quality)
    by_label = dict(zip(of.degrees, of.semitones, strict=True))
    thirds = {by_label[label] for label in by_label if label in THIRDS}
    suspended = {by_label[label] for label in by_label if label in SUSPENDED}
    tops = {by_label[label] for label in by_label if label in TOPS}
    fifths = {by_label[label] for label in by_label if label.endswith("5")}
    telling = {step % 12 for step in (thirds or suspended) | (tops or fifths)}
    name = f"C{quality}"
    for above in range(12):
        found = of_rule("3", melody(f"| {name} |", [60 + above], [0]))
        assert bool(found) == (above not in telling), (name, above)
        if found:
            assert found[0].message.startswith("neither 3rd nor 7th of C") and found[0].index == 0


@pytest.mark.parametrize(("metre", "window"), [("4/4", 2), ("3/4", 2), ("6/8", 3), ("2/2", 4), ("7/8", 1), ("12/8", 3)])
def test_a_chord_is_told_within_two_beats(metre, window):
    """Of its metre; a note at their end is too late, and where the line rests nothing is asked."""
    bar = f"metre: {metre}\n| F7 | Dm7 |"
    length = METRES[metre][0]
    for at in (Fraction(eighth, 2) for eighth in range(1, int(length * 2))):
        line = melody(bar, [62, 65], [length, length + at])
        assert bool(of_rule("3", line)) == (at >= window), at
    assert of_rule("3", melody(bar, [65], [length])) == []
    assert of_rule("3", melody(bar, [65], [length + window])) == []


def test_a_chord_that_goes_on_is_one_chord_and_a_short_one_ends_its_window():
    """The same root and quality go on over the bar line; a chord of one beat is told within it or not at all."""
    assert of_rule("3", melody("| Cm7 | Cm7 |", [63, 60], [3, 4])) == []
    assert len(of_rule("3", melody("| Cm7 | Cm |", [63, 60], [3, 4]))) == 1
    assert len(of_rule("3", melody("| Cm7 | Dbm7 |", [63, 61], [3, 4]))) == 1
    quick = "| Cm7 F7 . . |"
    assert len(of_rule("3", melody(quick, [60, 63], [0, 1]))) == 1, "Eb sounds, but over F7 already"
    assert of_rule("3", melody(quick, [63, 69], [0, 1])) == []
    assert of_rule("3", melody("| N.C. | N.C. |", [60, 61], [0, 4])) == []
    assert len(of_rule("3", melody("| N.C. | Cm7 |", [63, 60], [3, 4]))) == 1


@pytest.mark.parametrize("chord", ["G7", "Gmaj7", "Gm7", "Gdim7", "G"])
def test_a_dominants_seventh_falls_and_its_third_does_not(chord):
    """By a semitone or tone down; by none, one or two up; where its root goes down a fifth and nowhere else."""
    roots = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
    for root, key, moved in product(roots, range(67, 79), range(-4, 5)):
        line = melody(f"| {chord} | {root}m7 |", [key, key + moved], [3, 4])
        wanted = []
        if chord == "G7" and root == "C":
            if key % 12 == 5 and moved not in (-1, -2):
                wanted = [(1, f"the 7th of G7, {line.notes[0].place}, does not fall")]
            if key % 12 == 11 and moved not in (0, 1, 2):
                wanted = [(1, f"the 3rd of G7, {line.notes[0].place}, does not rise")]
        assert [(fault.index, fault.message) for fault in of_rule("4", line)] == wanted, (root, key, moved)
    assert of_rule("4", melody("| G7 | N.C. |", [77, 79], [3, 4])) == []
    assert of_rule("4", melody("| G7 Cm7 |", [77, 79], [0, 1])) == [], "inside G7 it need not fall"


def test_leaps_step_back_and_two_one_way_spell_a_chord():
    """Every pair of intervals up to an octave, over no chord at all, and a wide leap at the very end."""
    known = [
        {(root + step) % 12 for step in quality.semitones} for quality in shipped_qualities() for root in range(12)
    ]
    for first, second in product(range(-12, 13), repeat=2):
        keys = [66, 66 + first, 66 + first + second]
        wanted = []
        if abs(first) > 9 and not (1 <= abs(second) <= 2 and second * first < 0):
            wanted.append((1, f"a leap of {abs(first)} semitones is not followed by a step back"))
        if abs(first) >= 3 and abs(second) >= 3 and first * second > 0:
            classes = {key % 12 for key in keys}
            if not any(classes <= chord for chord in known):
                wanted.append((1, "two leaps in one direction spell no chord"))
        if abs(second) > 9:
            wanted.append((2, f"a leap of {abs(second)} semitones is not followed by a step back"))
        line = melody("| N.C. |", keys)
        assert [(fault.index, fault.message) for fault in of_rule("5", line)] == wanted, (first, second)
    assert [fault.index for fault in of_rule("5", melody("| N.C. |", [60, 62, 64, 75, 74]))] == []
    assert [fault.index for fault in of_rule("5", melody("| N.C. |", [60, 62, 64, 75]))] == [3]


def test_no_note_comes_twice_running_and_no_two_rock_three_times():
    """The second of two and the sixth of six are named."""
    a, b, c = 60, 62, 64
    for keys, wanted in (
        ([a, a], [1]), ([a, b], []), ([a, b, b, a], [2]), ([a, b, a, b], []), ([a, b, a, b, a], []),
        ([a, b, a, b, a, b], [5]), ([a, b, a, b, a, b, a], [5, 6]), ([c, a, b, a, b, a], []),
        ([c, a, b, a, b, a, b], [6]), ([a, b, a, b, a, c], []), ([a, b, c, a, b, c], []), ([c, b, a, b, a, b], []),
    ):  # fmt: skip
        found = of_rule("6", melody("| N.C. |", keys))
        assert [fault.index for fault in found] == wanted, keys
        assert all((fault.bar, fault.beat) == (1, 1 + Fraction(fault.index, 2)) for fault in found)
    assert of_rule("6", melody("| N.C. |", [a, a]))[0].message == "C(1/-4) twice running"
    assert of_rule("6", melody("| N.C. |", [a, b] * 3))[0].message == "C(1/-4) and D(1/-2) rock"


def test_notes_are_spelled_as_chord_and_mode_have_them():
    """The chord's names come before the mode's; a note outside both leads by letter to the next; the last is free."""
    page = "| Cm7 | F7 | Bbmaj7 |"
    right = {0: "C", 2: "D", 3: "Eb", 5: "F", 7: "G", 9: "A", 10: "Bb"}
    other = {0: "B#", 2: "C##", 3: "D#", 5: "E#", 7: "F##", 9: "G##", 10: "A#"}
    for above in range(12):
        if above in right:
            assert of_rule("7", melody(page, [60 + above], names=[right[above]])) == []
            (fault,) = of_rule("7", melody(page, [60 + above], names=[other[above]]))
            assert fault.message == f"{other[above]} over Cm7 is spelled {right[above]}" and fault.index == 0
    for name, goal, fits in (
        ("C#", "D", True), ("Db", "C", True), ("Db", "D", True), ("C#", "C", True), ("B", "C", True),
        ("Cb", "Bb", True),
        ("C#", "Eb", False), ("Db", "F", False), ("F#", "A", False), ("G#", "Bb", False), ("B", "D", False),
    ):  # fmt: skip
        keys = [60 + Note.parse(each).pitch_class for each in (name, goal)]
        found = of_rule("7", melody(page, keys, names=[name, goal]))
        assert [fault.message for fault in found] == ([] if fits else [f"{name} does not lead by letter to {goal}"])
        assert of_rule("7", melody(page, [keys[1], keys[0]], names=[goal, name])) == []
    assert of_rule("7", melody("| N.C. |", [61, 65], names=["C#", "F"])) == []


@pytest.mark.parametrize(("fret", "most", "fits"), [(0, 36, True), (36, 36, True), (37, 36, False), (-1, 36, False),
                                                    (15, 15, True), (16, 15, False)])  # fmt: skip
def test_frets_from_the_nut_to_the_top_are_on_the_neck(fret, most, fits):
    """36 is the most where nothing else is said."""
    line = melody("| N.C. |", [64 + fret], places=[(1, fret, 1)])
    found = of_rule("9", line, most_frets=most)
    assert [fault.message for fault in found] == ([] if fits else [f"fret {fret} is not on a neck of {most}"])
    if most == 36:
        assert of_rule("9", line) == found


def test_a_note_names_what_its_string_sounds():
    """On every string; the message has both keys."""
    for string in range(1, 7):
        key = STANDARD.midi(string, 5)
        assert of_rule("9", melody("| N.C. |", [key], places=[(string, 5, 1)])) == []
        (fault,) = of_rule("9", melody("| N.C. |", [key + 1], places=[(string, 5, 1)]))
        assert fault.message.endswith(f"names key {key + 1}, but the string sounds {key}")
        assert (fault.index, fault.bar, fault.beat) == (0, 1, 1)


@pytest.mark.parametrize(("fret", "fits"), [(4, False), (5, True), (7, True), (9, True), (10, False)])
def test_a_window_of_frets_holds_both_its_ends(fret, fits):
    """Outside them a fault of rule 8; without a window none."""
    line = melody("| N.C. |", [64 + fret], places=[(1, fret, 1)])
    found = of_rule("8", line, frets=(5, 9))
    assert [fault.message for fault in found] == ([] if fits else [f"{line.notes[0].place} is outside frets 5 to 9"])
    assert of_rule("8", line) == []


def test_faults_come_in_the_order_of_notes_and_then_of_rules():
    """And each says its place and its rule in words."""
    line = melody("| Cm7 | F7 |", [61, 61, 70, 64], [0, HALF, 1, 4])
    faults = check_line(line)
    assert [(fault.index, fault.rule) for fault in faults] == sorted((fault.index, fault.rule) for fault in faults)
    assert len({fault.rule for fault in faults}) > 2
    assert str(faults[0]) == f"bar 1, beat 1: Db(1/-3) on beat 1 is no note of Cm7 (the rule: {RULES['1']})"


def test_a_note_falls_in_the_chord_that_sounds_where_it_starts():
    """At its very start, to just before its end, and in the last chord for good; notes may skip chords."""
    page = "| Cm7 . Db7 D7 | Ebm7 |"
    line = melody(page, [61, 61, 61, 61], [0, Fraction(2), Fraction(3), Fraction(4)])
    assert [fault.message for fault in of_rule("1", line)] == ["Db(1/-3) on beat 1 is no note of Cm7"]
    line = melody(page, [62, 62, 62], [Fraction(2), Fraction(3), Fraction(4)])
    assert [(fault.index, fault.message) for fault in of_rule("1", line)] == [
        (0, "D(1/-2) on beat 3 is no note of Db7"), (2, "D(1/-2) on beat 1 is no note of Ebm7"),
    ]  # fmt: skip


@pytest.mark.parametrize("metre", METRES)
def test_the_hand_moves_where_a_beam_ends(metre):
    """At a bar line, in the middle of a bar of an even number of beats, and at a new chord; out of tempo anywhere."""
    length, _, even = METRES[metre]
    frets = [(6, 3, 1), (6, 10, 2)]
    for place in (Fraction(quarter, 4) for quarter in range(1, int(length * 4))):
        starts = [place - Fraction(1, 4), place]
        line = melody(f"metre: {metre}\n| N.C. |", [43, 50], starts, [Fraction(1, 4)] * 2, places=frets)
        found = [fault.index for fault in of_rule("8", line) if "moves inside" in fault.message]
        assert found == ([] if even and place == length / 2 else [1]), place
        assert of_rule("8", line, tempo=False) == []
    over_the_bar = [length - Fraction(1, 4), length]
    for page in ("| N.C. | N.C. |", "| N.C. | Cm7 |"):
        line = melody(f"metre: {metre}\n{page}", [43, 50], over_the_bar, [Fraction(1, 4)] * 2, places=frets)
        assert of_rule("8", line) == []
    changed = melody("metre: 3/4\n| Cm7 . F7 |", [43, 50], [Fraction(3, 2), 2], places=frets)
    assert of_rule("8", changed) == []


# ---- the hand


def held(string: int, fret: int, finger: int, start: float = 0.0) -> LineNote:
    """A note held so."""
    pitch = pitch_of(Note.parse("C"), 60)
    return LineNote(Fraction(start), HALF, 1, Fraction(1), string, fret, finger, pitch)


PLACES = [(string, fret, finger) for string in (2, 3, 5) for fret in (0, 1, 2, 3, 4, 6, 8) for finger in range(6)]


def between(one: tuple[int, int, int], two: tuple[int, int, int], together: bool, rested: bool) -> list[str]:
    """What a hand cannot do from one note to the next, told in plain steps; both fingers fit their frets."""
    (string, fret, finger), (other, there, second) = one, two
    said = []
    if (
        not rested
        and second
        and finger == second
        and string != other
        and not (fret == there and abs(string - other) == 1)
    ):
        said.append("hops")
    if together and not rested and fret and there:
        lower, higher = sorted([(fret, finger), (there, second)])
        if fret == there:
            # Two notes at one fret: one finger rolls, or the next finger takes the higher string.
            fits = finger == second or (abs(finger - second) == 1 and (second > finger) == (other < string)
                                        and other != string)  # fmt: skip
        else:
            fits = higher[1] > lower[1] and abs((higher[0] - lower[0]) - (higher[1] - lower[1])) <= 2
        if not fits:
            said.append("moves")
        if abs(fret - there) >= 5:
            said.append("stretches")
    return said


@pytest.mark.parametrize("first", PLACES)
def test_two_notes_under_one_hand(first):
    """Every pair of places and fingers, inside a group, at its start, after a rest and out of tempo."""
    words = {"hops from": "hops", "moves inside": "moves", "stretches the hand": "stretches", "cannot be": "cannot"}
    for second, (opens, tempo, start) in product(PLACES, ((False, True, HALF), (True, True, HALF), (False, False, HALF),
                                                          (False, True, Fraction(3, 4)))):  # fmt: skip
        notes = [held(*first), held(*second, start=start)]
        found = [
            (index, next(word for text, word in words.items() if text in message))
            for index, message in hand_faults(notes, [True, opens], tempo)
        ]
        wanted = []
        fits = [0 <= finger < 5 and (finger == 0) == (fret == 0) for _, fret, finger in (first, second)]
        if not fits[0]:
            wanted.append((0, "cannot"))
        if not fits[1]:
            wanted.append((1, "cannot"))
        elif fits[0]:
            wanted += [(1, word) for word in between(first, second, not opens and tempo, start > HALF)]
        else:
            found = [each for each in found if each[1] not in ("hops", "moves")]
            wanted = [each for each in wanted if each[1] not in ("hops", "moves")]
        assert found == wanted, (first, second, opens, tempo, start)


def test_a_hand_spans_five_frets_in_a_group():
    """First and last counted; over more it is told how many, and goes on from there; open strings span nothing."""
    for far, said in ((8, []), (9, ["stretches the hand over 6 frets"]), (11, ["stretches the hand over 8 frets"])):
        notes = [held(6, 4, 1), held(5, 6, 3, 0.5), held(4, 0, 0, 1.0), held(3, far, 4, 1.5)]
        found = [
            message for _, message in hand_faults(notes, [True, False, False, False], True) if "stretch" in message
        ]
        assert [message.partition(" ")[2] for message in found] == said
    again = [held(6, 4, 1), held(5, 9, 4, 0.5), held(4, 9, 4, 1.0), held(4, 8, 3, 1.5)]
    assert sum("stretch" in message for _, message in hand_faults(again, [True, False, False, False], True)) == 1
