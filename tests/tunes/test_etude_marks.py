"""What the search of an etude line is told of each note: where the hand may move, what joins, what must be told."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest

from drills.changes.changes_reading import parse_changes
from drills.harmony.chord_timeline import bar_starts, spans_of, tones_of
from drills.lines.checker import check_line
from drills.lines.checker_soft import soft_faults
from drills.lines.etude_options import EtudeOptions
from drills.lines.etude_steps import steps_of
from drills.lines.etude_text import broken_rules, why_lines
from drills.lines.hand_positions import NEVER
from drills.lines.rhythm import DENSITIES, onsets
from tests.tunes.melodies import melody
from tests.tunes.rule_lines import LINES, written

BEATS = {
    "4/4": Fraction(1), "3/4": Fraction(1), "5/4": Fraction(1), "2/2": Fraction(2), "3/2": Fraction(2),
    "6/8": Fraction(3, 2), "12/8": Fraction(3, 2), "3/8": Fraction(1, 2), "7/8": Fraction(1, 2), "8/8": Fraction(1, 2),
}  # fmt: skip
"""The felt beat of a metre in quarters (common practice)."""

PAGES = (
    "| Cm7 F7 | Bbmaj7 | Bbmaj7 | G7 Cm |", "| N.C. | D7 | D7 Gm7 | C7 Fmaj7 |", "| C7 | F | Bb7 N.C. | Bb7 Eb7 |",
    "| G7 | Cmaj7 |", "| G7 | Gm7 | Dm7 | G7sus4 | Cmaj7 |",
)  # fmt: skip


@pytest.mark.parametrize("density", DENSITIES)
@pytest.mark.parametrize("metre", BEATS)
def test_every_mark_of_a_note_is_as_the_hard_rules_say(metre, density):
    """Rules 3, 4 and 8 for a line that is not bad (common practice), told note by note in plain loops."""
    # Two beats, but no more than two quarters where the beat is a half note.
    window = Fraction(2) if BEATS[metre] == 2 else 2 * BEATS[metre]
    for text, seed in ((text, seed) for text in PAGES for seed in range(2)):
        page = parse_changes(f"metre: {metre}\n{text}")
        spans, bars = spans_of(page), bar_starts(page)
        rhythm = onsets(page, spans, density, Random(seed))
        steps = steps_of(page, spans, rhythm, EtudeOptions(density=density), (45, 76), Random(seed))
        chords: list[list] = []  # runs of one sounding chord: chord, start, end
        for span in spans:
            alike = chords and (
                (span.chord is None and chords[-1][0] is None)
                or (span.chord is not None and chords[-1][0] is not None and span.chord.same_sound(chords[-1][0]))
            )
            if alike:
                chords[-1][2] = span.end
            else:
                chords.append([span.chord, span.start, span.end])
        runs = [next(n for n, each in enumerate(chords) if each[1] <= onset.start < each[2]) for onset in rhythm]
        for number, (step, onset) in enumerate(zip(steps, rhythm, strict=True)):
            before = rhythm[number - 1] if number else None
            run, last_run = runs[number], runs[number - 1] if number else None
            # A chord that comes back after silence is the one before, to the ear.
            same = before is not None and chords[run][0].same_sound(chords[last_run][0])
            place = onset.start - bars[onset.bar]
            bar = page.bars[onset.bar].metre
            strong = place == 0 or (bar.beats % 2 == 0 and place == bar.quarters / 2) or not same
            rested = before is None or before.start + before.length < onset.start - onset.early
            assert step.same == same and step.far == rested, (text, number)
            assert step.may_move == (rested or strong), (text, number)
            assert step.join == (before is not None and (before.bar != onset.bar or not same)), (text, number)
            down = (
                before is not None
                and (chords[run][0].root.pitch_class - chords[last_run][0].root.pitch_class) % 12 == 5
            )
            if before is not None and not same and down and {4, 10} <= set(chords[last_run][0].quality.semitones):
                root = chords[last_run][0].root.pitch_class
                assert step.leading == ((root + 4) % 12, (root + 10) % 12), (text, number)
            else:
                assert step.leading is None, (text, number)
            start, end = chords[run][1], chords[run][2]
            inside = onset.start < start + window
            following = rhythm[number + 1].start if number + 1 < len(rhythm) else None
            assert step.opens == (inside and (before is None or before.start < start)), (text, number)
            ends = following is None or following >= start + window or following >= end
            assert step.closes == (inside and ends), (text, number)
            assert step.slot == max(n for n, span in enumerate(spans) if span.start <= onset.start)
            assert step.tones == tones_of(step.span) and step.fixed is None


def test_avoid_notes_stand_on_no_beat_of_a_long_metre():
    """In 3/2 with quarters the second and third beat are felt: there the fourth of a major chord may not stand."""
    page = parse_changes("metre: 3/2\n| Cmaj7 | Cmaj7 |")
    spans = spans_of(page)
    rhythm = onsets(page, spans, "quarters", Random(1))
    steps = steps_of(page, spans, rhythm, EtudeOptions(density="quarters"), (45, 76), Random(1))
    allowed = {step.onset.start: step.cost[65] < NEVER for step in steps if step.onset.start < 6}
    assert allowed == {0: False, 1: True, 2: False, 3: True, 4: False, 5: True}


@pytest.mark.parametrize("density", ["eighths", "triplets", "quarters"])
@pytest.mark.parametrize("pitches", [(50, 62), (62, 50 + 26), (0, 127), (60, 60)])
def test_pitches_outside_the_compass_or_the_wish_may_not_stand(density, pitches):
    """Lowest and highest key are included, of both the frets and the pitches asked for."""
    page = parse_changes("| Cmaj7 | F7 |")
    spans = spans_of(page)
    rhythm = onsets(page, spans, density, Random(1))
    options = EtudeOptions(difficulty=3, density=density, pitches=pitches)
    low, high = max(45, pitches[0]), min(76, pitches[1])
    for step in steps_of(page, spans, rhythm, options, (45, 76), Random(1)):
        assert all(cost >= NEVER for key, cost in enumerate(step.cost) if not low <= key <= high)
        inside = [key for key in range(low, high + 1) if key % 12 in step.tones.chord_tones]
        assert all(step.cost[key] < NEVER for key in inside if step.onset.length < 2 or key % 12 != 0)


@pytest.mark.parametrize("over", [0, 1])
def test_reasons_are_wrapped_at_80_characters(over):
    """Eighty stand on one row; one more goes on below, set in by four."""
    line = melody("| Cmaj7 |", [60])
    head = len(why_lines(line)[0]) + 1
    why = ("a " * 40)[: 80 - head - 2] + "bb" + "b" * over
    rows = why_lines(replace(line, notes=(replace(line.notes[0], why=why),)))
    assert len(rows) == 1 + over and (not over or rows[1] == f"    {why.split()[-1]}")


def test_soft_rules_are_wrapped_at_80_characters():
    """No row is longer, the longest words of the rules fill most of it, and another width is kept."""
    line = melody("| Cmaj7 | Cmaj7 |", [60 + number for number in range(12)])
    wide = broken_rules(line)
    assert wide[0] == "Hard rules that are broken:"
    assert wide.index("Soft rules, for your ear to judge:") > len(check_line(line))
    assert wide == broken_rules(line, 80) != broken_rules(line, 60) and max(map(len, broken_rules(line, 60))) <= 60
    assert all(row.startswith(("- ", "  ")) for row in wide[1:] if not row.startswith("Soft rules"))
    assert [row for row in broken_rules(line, 1_000) if row.startswith("- ")] == [
        f"- {fault}" for fault in (*check_line(line), *soft_faults(line))
    ]
    kept = written(*LINES["A"])
    assert broken_rules(kept, 1_000)[0] == "Every hard rule is kept. Soft rules, for your ear to judge:"
    assert len(broken_rules(kept, 1_000)) == 1 + len(soft_faults(kept))
    good = melody("| N.C. |", [])
    assert broken_rules(good) == ["Every hard rule is kept, and no soft rule is broken."]
