"""The soft rules of drills/RULES.md, D4, one by one: a line that breaks each, and what good lines score."""

from __future__ import annotations

import ast
import re
from fractions import Fraction
from itertools import accumulate
from pathlib import Path

import pytest

from drills.changes.changes_reading import parse_changes
from drills.harmony.chord_timeline import bar_starts, spans_of, tones_of
from drills.lines import checker_soft
from drills.lines.checker_soft import SOFT_RULES, soft_faults, soft_score
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.etude_text import broken_rules
from drills.lines.line import Line, LineNote
from drills.neck.neck import Neck
from drills.neck.tuning import STANDARD
from drills.theory.note import Note, pitch_of
from tests.tunes.rule_lines import LINES, written

SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def line_of(changes: str, notes: str, lengths: str = "") -> Line:
    """A line of MIDI keys, eighths unless lengths are given (in quarters, ``r`` before one for a rest)."""
    page = parse_changes(changes)
    keys = [int(key) for key in notes.split()]
    marks = lengths.split() or ["1/2"] * len(keys)
    ends = list(accumulate(Fraction(mark.lstrip("r")) for mark in marks))
    starts = [Fraction(0), *ends]
    sounding = [(starts[i], ends[i] - starts[i]) for i, mark in enumerate(marks) if not mark.startswith("r")]
    spans, bars = spans_of(page), bar_starts(page)
    found = []
    for key, (start, length) in zip(keys, sounding, strict=True):
        span = next(each for each in spans if each.start <= start < each.end)
        name = tones_of(span).names.get(key % 12, (Note.parse("C"), ""))[0] if span.chord else Note.parse("C")
        name = name if name.pitch_class == key % 12 else Note.parse(SHARPS[key % 12])
        string = next(s for s in range(6, 0, -1) if 0 <= key - STANDARD.midi(s, 0) <= 9)
        fret = key - STANDARD.midi(string, 0)
        beat = 1 + start - bars[span.bar.number - 1]
        finger = 0 if not fret else 1
        found.append(LineNote(start, length, span.bar.number, beat, string, fret, finger, pitch_of(name, key)))
    return Line("As written", page, STANDARD, tuple(found))


def rules(line: Line) -> set[str]:
    """The numbers of the soft rules a line breaks."""
    return {fault.rule for fault in soft_faults(line)}


@pytest.mark.parametrize("letter", LINES)
def test_the_rules_lines_break_only_what_eighths_from_the_root_break(letter):
    """Lines A, B and C of D3 are eighths without a rest from the root on beat 1: rule 11, and no other."""
    assert rules(written(*LINES[letter])) == {"11"}


def test_a_soft_fault_is_told_by_the_rule_and_not_by_its_number():
    """What a player reads gives the rule's own words: a number would send him to a page he does not have."""
    shown = " ".join(broken_rules(line_of("| Cmaj7 | Cmaj7 |", "48 50 52 53 55 57 59 60 62 64 65 64", ""), 10_000))
    assert f"11 notes in one direction (the rule: {SOFT_RULES['10']})" in shown
    assert not re.search(r"\brules? [A-Z]?\d", shown)


def test_rule_10_direction_and_range():
    """Eleven notes upward are too many; four notes of a tone's range are too few, three octaves too wide."""
    up = line_of("| Cmaj7 | Cmaj7 |", "48 50 52 53 55 57 59 60 62 64 65 64", "")
    assert any(fault.rule == "10" and fault.message == "11 notes in one direction" for fault in soft_faults(up))
    narrow = line_of("| Cmaj7 |", "60 62 60 62 64 62 60 62")
    assert any("a range of 4 semitones" in fault.message for fault in soft_faults(narrow))
    wide = line_of("| Cmaj7 |", "43 52 48 64 60 55 71 72")
    assert any("a range of 29 semitones" in fault.message for fault in soft_faults(wide))
    assert "10" not in rules(line_of("| Cmaj7 |", "52 55 60 59 57 55 52 50"))


def test_rule_11_rhythm_and_phrases():
    """One length without a rest is exercise; a rest and another length are not; a phrase from the root on 1 is told."""
    assert "11" in rules(line_of("| Cmaj7 |", "52 55 59 57 55 53 52 55"))
    assert "11" not in rules(line_of("| Cmaj7 |", "52 55 59 57 55", "r1/2 1/2 1/2 1 r1/2 1/2 1/2"))
    rooted = line_of("| Cmaj7 |", "48 52 55 52", "1 1/2 1/2 2")
    assert any("begins on beat 1 and on the root" in fault.message for fault in soft_faults(rooted))


def test_rule_12_contour_and_sequence():
    """Three bars of one contour, and one figure four bars running, are told."""
    four = "| Cmaj7 | Cmaj7 | Cmaj7 | Cmaj7 |"
    found = soft_faults(line_of(four, "60 64 67 64 62 66 69 66 60 64 67 64 62 66 69 66", "1 " * 16))
    messages = [fault.message for fault in found if fault.rule == "12"]
    assert messages == ["every bar has the same contour", "the same figure 4 bars running"]
    assert "12" not in rules(line_of(four, "60 64 67 64 67 64 60 62 64 67 71 72 71 67 64 67", "1 " * 16))


def test_rule_13_targets():
    """A phrase that ends on the 7th, or off the strong beat, has no target; on the 3rd on beat 3 it has."""
    assert "13" in rules(line_of("| Cmaj7 |", "60 62 59", "1 1 2"))
    assert "13" in rules(line_of("| Cmaj7 |", "60 62 64", "1 2 1"))
    assert "13" not in rules(line_of("| Cmaj7 |", "60 62 64", "1 1 2"))


def test_rule_14_chromatics():
    """Two chromatic notes in a row, or one on the beat, are told; one between beats is not."""
    assert "14" in rules(line_of("| Cmaj7 |", "64 66 68 69 67 64 62 64"))
    assert "14" in rules(line_of("| Cmaj7 |", "64 65 66 67 64 62 60 64"))
    assert "14" not in rules(line_of("| Cmaj7 |", "64 66 67 65 64 62 60 64"))


def test_rule_15_and_16_root_order_and_root_endings():
    """Spelling up in every bar and ending on the root each time are told; one bar otherwise is enough."""
    spelled = line_of("| Cmaj7 | Dm7 |", "48 52 55 59 50 53 57 60", "1 " * 8)
    assert "15" in rules(spelled)
    assert "15" not in rules(line_of("| Cmaj7 | Dm7 |", "48 52 55 59 57 53 50 60", "1 " * 8))
    assert "16" in rules(line_of("| Cmaj7 |", "64 62 60", "1 1 2"))
    assert "16" not in rules(spelled)


def test_rule_17_movement():
    """A hand that jumps from fret 1 to fret 9 and back over one change moves more than two frets a change."""
    page = parse_changes("| Cmaj7 | Fmaj7 |")
    places = ((5, 3, 3), (4, 2, 2), (4, 10, 2), (3, 9, 1), (5, 3, 3), (4, 3, 3), (3, 2, 2), (3, 5, 4))
    notes = tuple(
        LineNote(
            Fraction(i), Fraction(1), 1 + i // 4, Fraction(1 + i % 4), string, fret, finger,
            pitch_of(Note.parse(SHARPS[STANDARD.midi(string, fret) % 12]),
                     STANDARD.midi(string, fret)),
        )
        for i, (string, fret, finger) in enumerate(places)
    )  # fmt: skip
    (fault,) = [each for each in soft_faults(Line("Jumps", page, STANDARD, notes)) if each.rule == "17"]
    assert "asks 2 at most" in fault.message or "ask 2 at most" in fault.message


def test_rule_18_passing_chords():
    """A mode note over a chord of one beat is told; over a chord of two beats it is not."""
    quick = line_of("| Cmaj7 . . A7 | Dm7 |", "64 62 60 62 64 67 71 69 65 64 62 60 62 64 65 67")
    assert "18" in rules(quick)
    assert "18" not in rules(line_of("| Cmaj7 . A7 . | Dm7 |", "64 62 60 62 61 59 61 64 65 64 62 60 62 64 65 67"))


def test_the_search_keeps_most_soft_rules():
    """Phrases with space over a 12-bar blues: of rules 12, 14, 15, 16 and 17 none is broken for ten seeds."""
    page = parse_changes("F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7 Gm7 C7 F7 C7")
    for seed in range(10):
        line = etude_line(page, Neck(), EtudeOptions(difficulty=3, density="space", seed=seed)).line
        assert not rules(line) & {"11", "12", "14", "15", "16", "17"}
        assert soft_score(line) <= 6


def test_every_soft_rule_is_named_and_shares_no_code_with_the_search():
    """Rules 10 to 18 have words, and nothing the search is made of is imported."""
    assert list(SOFT_RULES) == [str(number) for number in range(10, 19)]
    tree = ast.parse(Path(checker_soft.__file__).read_text(encoding="utf-8"))
    imported = {node.module.split(".")[-1] for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert not imported & {"etude", "etude_options", "etude_search", "etude_steps", "etude_why", "hands", "rhythm"}
