"""Vocabulary by rule (drills/RULES.md, D6): what each figure is, that it is played so, and that lines take it in."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from drills.changes.changes_reading import parse_changes, read_changes
from drills.changes.changes_source import changes_from
from drills.changes.playing_order import excerpt
from drills.configuration.shipped import decks_folder
from drills.errors import EtudeError
from drills.harmony.chord_timeline import bar_starts, spans_of, tones_of
from drills.harmony.transpose import transposed_to
from drills.lines.checker import check_line
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import CHORD_TONE, CHROMATIC, MODE_NOTE
from drills.lines.vocabulary import UNITS, needed_difficulty, sounded, unit_figures
from drills.neck.neck import Neck
from drills.neck.strings import parse_strings
from drills.shapes.finder import ShapeFinder
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines

FINDER = ShapeFinder(Neck())
WORDS = [unit.word for unit in UNITS]
KEYS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


def tones(symbol: str):
    return tones_of(spans_of(parse_changes(f"key: C\n| {symbol} |"))[0])


@pytest.mark.parametrize(
    ("symbol", "word", "figures"),
    [
        # Over C4 (MIDI key 60): above, below, the tone.
        ("C7", "enclosures", {(62, 59, 60), (65, 63, 64), (69, 66, 67), (72, 69, 70)}),
        ("C7", "passing", {(72, 71, 70)}),
        ("Cm7", "passing", {(72, 71, 70)}),
        ("Cmaj7", "passing", set()),
        ("C7", "cells", {(60, 62, 64, 67), (64, 65, 67, 70)}),
        ("C7", "ninths", {(64, 67, 70, 74)}),
        ("C7", "guides", {(63, 64), (65, 64), (69, 70), (72, 70)}),
        ("Cmaj7", "approaches", {(59, 60), (62, 60), (63, 64), (65, 64), (66, 67), (69, 67), (70, 71), (72, 71)}),
    ],
)
def test_each_figure_is_what_the_rule_says(symbol, word, figures):
    """Worked out by hand from the chord and its mode, Mixolydian, Dorian and Ionian."""
    found = set(unit_figures(word, tones(symbol), 60))
    if word == "passing":
        found = {row for row in found if row[0] == 72}
    assert found == figures


def bars_of(line):
    starts = bar_starts(line.changes)
    return [[note for note in line.notes if starts[n] <= note.start < starts[n + 1]] for n in range(len(starts) - 1)]


@pytest.mark.parametrize("word", WORDS)
@pytest.mark.parametrize("path", sorted(decks_folder().glob("*.changes"))[::3], ids=lambda path: path.stem)
def test_every_kind_over_shipped_pages(word, path):
    """Every note sounds what it is called, follows the one before and is inside its bar; notes on strong beats are
    chord tones where the kind aims at targets."""
    given = stage_material(read_changes(path), FINDER)
    (line,) = stage_lines(word, given).lines
    starts = bar_starts(line.changes)
    classes = [(span.start, span.end, set(tones_of(span).chord_tones)) for span in given.spans]
    for note in line.notes:
        assert FINDER.tuning.midi(note.string, note.fret) == note.midi and 0 <= note.fret <= FINDER.neck.highest
        assert starts[note.bar - 1] <= note.start < note.end <= starts[note.bar]
        if word in ("enclosures", "approaches", "guides") and note.why.endswith("on the beat"):
            assert any(note.midi % 12 in own for start, end, own in classes if start <= note.start < end)
    assert all(before.end <= after.start for before, after in pairwise(line.notes))


@pytest.mark.parametrize("key", KEYS)
def test_targets_are_led_into_in_all_keys(key):
    """Over ii-V-I: an enclosure is a note of the mode above and the semitone below, an approach comes from either side;
    chromatic notes are spelled a letter from their goal."""
    page = transposed_to(parse_changes("key: C\n| Dm7 | G7 | Cmaj7 | Cmaj7 |"), key)
    given = stage_material(page, FINDER)
    (line,) = stage_lines("enclosures", given).lines
    targets = [index for index, note in enumerate(line.notes) if note.why.endswith("on the beat")]
    assert len(targets) == 16
    for one, other in pairwise(targets):
        assert other - one == 3
        above, below, goal = line.notes[one + 1 : other + 1]
        assert goal.role == CHORD_TONE and below.midi == goal.midi - 1 and 1 <= above.midi - goal.midi <= 3
        if below.role == CHROMATIC:
            assert (goal.pitch.diatonic_number - below.pitch.diatonic_number) == 1
    (line,) = stage_lines("approaches", given).lines
    sides = {after.midi > before.midi for before, after in pairwise(line.notes) if "into" in before.why}
    assert sides == {True, False}


def test_rows_stand_on_each_chord():
    """Cells, ninths and passing notes over G7 and Cmaj7, worked out by hand."""
    given = stage_material(parse_changes("key: C\n| G7 | Cmaj7 |"), FINDER)
    rows = {word: [note.midi for note in bars_of(stage_lines(word, given).lines[0])[0]] for word in WORDS[2:5]}
    root = given.shapes[0].root.pitch.midi
    assert [key - root for key in rows["cells"]] == [0, 2, 4, 7, 4, 5, 7, 10]
    assert [key - root for key in rows["ninths"]] == [4, 7, 10, 14, 12, 10, 7, 4]
    assert [key - root for key in rows["passing"]] == [0, 4, 7, 10, 12, 11, 10, 9]
    # Between 8 and 7 of Cmaj7 nothing can pass.
    second = [note.midi for note in bars_of(stage_lines("passing", given).lines[0])[1]]
    assert [key - given.shapes[1].root.pitch.midi for key in second] == [0, 4, 7, 11, 12, 11, 9, 7]


@pytest.mark.parametrize("metre", ["2/4", "3/4", "5/4", "6/8", "7/8", "12/8", "2/2"])
def test_every_kind_in_other_metres(metre):
    """Bars of any length are filled, and no chromatic note is left without its goal at the end."""
    given = stage_material(parse_changes(f"metre: {metre}\n| Cm7 F7 | Bbmaj7 | G7 |"), FINDER)
    for word in WORDS:
        (line,) = stage_lines(word, given).lines
        assert line.notes[-1].role != CHROMATIC
        assert all(note.length > 0 for note in line.notes)
        assert sum(note.length for note in line.notes) == line.length


@pytest.mark.parametrize("strings", ["654", "543", "432"])
def test_every_kind_keeps_to_a_string_set(strings):
    """On three strings too."""
    on = parse_strings(strings)
    given = stage_material(parse_changes("Cm7 F7 Bbmaj7"), FINDER, on=on)
    for word in WORDS:
        (line,) = stage_lines(word, given).lines
        assert {note.string for note in line.notes} <= set(on.numbers)


@pytest.mark.parametrize(("word", "density"), [("enclosures", "triplets"), ("approaches", "eighths"),
                                               ("passing", "eighths"), ("cells", "eighths"),
                                               ("ninths", "eighths"), ("guides", "eighths")])  # fmt: skip
def test_a_line_takes_figures_in_and_breaks_no_hard_rule(word, density):
    """More of them than the same line has without being asked, in every seed; and the remark counts what sounds."""
    page = excerpt(changes_from("blues-in-f"), 1, 8)
    for seed in range(2):
        options = EtudeOptions(
            difficulty=needed_difficulty((word,)), density=density, seed=seed, frets=(4, 12), figures=(word,)
        )
        line = etude_line(page, Neck(), options).line
        plain = etude_line(page, Neck(), EtudeOptions(options.difficulty, density, seed=seed, frets=(4, 12))).line
        bars = sounded(line, word)
        assert check_line(line, frets=(4, 12)) == ()
        assert len(bars) > len(sounded(plain, word)) and len(bars) >= 3
        assert line.remarks[0].startswith(f"{word}: {len(bars)}, in bars ")
        assert plain.remarks == ()


@pytest.mark.parametrize("page", ["| Cm7 | F7 | Bbmaj7 | Bbmaj7 |", "key: C\n| Dm7b5 | G7b9 | Cm6 | Cm6 |"])
def test_a_line_leaps_on_to_a_ninth_where_that_is_asked_and_nowhere_else(page):
    """Two leaps one way that end on a note outside the chord: only a line that is to hold 3 5 7 9 has them."""
    seen = 0
    for seed in range(3):
        for figures in (("ninths",), ()):
            line = etude_line(parse_changes(page), Neck(), EtudeOptions(2, "eighths", seed=seed, figures=figures)).line
            assert check_line(line) == ()
            for one, other, third in zip(line.notes, line.notes[1:], line.notes[2:], strict=False):
                leaps = other.midi - one.midi > 2 and third.midi - other.midi > 2
                if one.bar == third.bar and leaps and third.role == MODE_NOTE:
                    assert figures and third.degree.lstrip("b#") == "2"
                    seen += 1
    assert seen >= 3


def test_enclosures_that_sound_are_enclosures():
    """Looked at note by note, apart from what made them."""
    options = EtudeOptions(difficulty=3, density="triplets", frets=(4, 12), figures=("enclosures",))
    line = etude_line(changes_from("blues-in-f"), Neck(), options).line
    seen = 0
    for above, below, goal in zip(line.notes, line.notes[1:], line.notes[2:], strict=False):
        if goal.beat.denominator == 1 and below.midi == goal.midi - 1 and 1 <= above.midi - goal.midi <= 3:
            seen += goal.role == CHORD_TONE and above.role != CHROMATIC and goal.start - above.start == Fraction(2, 3)
    assert seen >= len(sounded(line, "enclosures")) > 6


def test_what_is_no_figure_is_named():
    """Unknown words."""
    with pytest.raises(EtudeError, match=r"with 'bananas': expected some of enclosures, approaches, passing, cells"):
        needed_difficulty(("bananas",))
    with pytest.raises(EtudeError, match="figures 'bananas': expected some of"):
        list(unit_figures("bananas", tones("C7"), 60))
    assert [needed_difficulty(words) for words in ((), ("cells",), ("cells", "passing"))] == [1, 2, 3]
    silent = etude_line(changes_from("blues-in-f"), Neck(), EtudeOptions(3, "eighths", figures=("enclosures",))).line
    assert silent.remarks == ("enclosures: none fits these rhythms and frets; try another seed or density",)


def test_the_reason_of_an_enclosing_note_says_so_and_no_other_is_said_to_lie_between_chord_tones():
    """The semitone below a chord tone after the mode's note above it, in the mode or not (drills/RULES.md, D6)."""
    page = parse_changes("key: Eb\n| Fm7 | Bb7 | Ebmaj7 | Cm7 |")
    own = foreign = 0
    for seed in range(4):
        options = EtudeOptions(difficulty=3, density="triplets", seed=seed, figures=("enclosures",))
        line = etude_line(page, Neck(), options).line
        for above, below, goal in zip(line.notes, line.notes[1:], line.notes[2:], strict=False):
            beside = {above.role, goal.role}
            assert ", between chord tones" not in below.why or beside == {CHORD_TONE}
            enclosed = goal.midi - below.midi == 1 and 1 <= above.midi - goal.midi <= 3 and goal.role == CHORD_TONE
            if enclosed and below.role != CHORD_TONE and above.role == MODE_NOTE:
                assert "encloses the" in below.why
                own, foreign = own + (below.role == MODE_NOTE), foreign + (below.role == CHROMATIC)
    assert own >= 3 and foreign >= 3
