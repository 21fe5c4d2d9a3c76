"""Lines as tablature, as speech and as data: the characters say what the line says, at every width."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction

import pytest

from drills.changes.changes_reading import parse_changes
from drills.lines.etude_line import etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line_text import count_of, line_json, line_speech, tab_lines
from drills.neck.neck import Neck
from drills.shapes.finder import ShapeFinder
from drills.tunes.stages.stage_material import stage_material
from drills.tunes.stages.stage_table import stage_lines

FINDER = ShapeFinder(Neck())


def struck(lines: list[str]) -> list[tuple[int, int]]:
    """(string, fret) read from the drawing, column by column, the lowest string of a column first."""
    found = []
    systems, system = [], {}
    for text in lines:
        match = re.match(r"^ ?(\d+) [|:]", text)
        if match:
            system[int(match[1])] = text
        elif system:
            systems.append(system)
            system = {}
    if system:
        systems.append(system)
    for system in systems:
        columns = {}
        for string, text in system.items():
            for number in re.finditer(r"\d+", text[3:]):
                columns.setdefault(number.start(), []).append((string, int(number.group())))
        for place in sorted(columns):
            found += sorted(columns[place], reverse=True)
    return found


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_the_drawing_holds_every_note_and_its_width(width):
    """Read back from the characters, strings and frets are the line's, in order, and no row is too wide."""
    given = stage_material(parse_changes("| Cm7 F7 | Bbmaj7 | N.C. . G7alt . | Ebmaj7 |"), FINDER)
    for number in range(1, 10):
        for line in stage_lines(number, given).lines:
            for row in ("", "finger", "degree", "note"):
                lines = tab_lines(line, width=width, row=row)
                assert max(map(len, lines)) <= width
                assert struck(lines) == [(note.string, note.fret) for note in line.notes]


def test_triplets_and_odd_metres_fit_forty_columns():
    """A bar too wide for the page is broken inside, and nothing is lost."""
    for text, density in (("Cm7 F7", "triplets"), ("metre: 12/8\n| Cm7 | F7 |", "eighths")):
        line = etude_line(parse_changes(text), Neck(), EtudeOptions(density=density, frets=(8, 15))).line
        lines = tab_lines(line, width=40)
        assert max(map(len, lines)) <= 40
        assert struck(lines) == [(note.string, note.fret) for note in line.notes]


def test_counts_tell_struck_held_and_silent():
    """Under the strings stand the counts: where a note is struck, a dot where it is held, r where nothing sounds."""
    line = stage_lines(1, stage_material(parse_changes("| Cm7 . F7 . | N.C. |"), FINDER)).lines[0]
    lines = tab_lines(line, row="")
    assert " ".join(lines[-1].split()) == "1 . 3 . r r r r"
    assert [count_of(Fraction(beat)) for beat in ("1", "3/2", "5/4", "7/4", "4/3", "5/3", "6/5")] == list("1&eatl+")


def test_chords_stand_over_their_beats():
    """A chord symbol begins in the column of its first beat."""
    line = stage_lines(3, stage_material(parse_changes("| Cm7 . F7 . | Bbmaj7 |"), FINDER)).lines[0]
    lines = tab_lines(line)
    chords, counts = lines[2], lines[-2]
    assert counts[chords.index("F7")] == "3" and counts[chords.index("Cm7")] == "1"


def test_a_line_is_spoken_note_by_note():
    """Each note is said with its beat, string, fret, name, part, finger and length."""
    line = stage_lines(3, stage_material(parse_changes("Cm7 F7"), FINDER)).lines[0]
    spoken = line_speech(line)
    assert spoken[0] == "Spell up."
    assert spoken[1] == "bar 1, Cm7:"
    assert spoken[3] == "  beat 2: string 6 fret 11, Eb, b3, finger 4, one beat."
    assert len(spoken) == 1 + 2 + len(line.notes)


def test_the_line_as_data():
    """The JSON has a row a note with place, time, name and reason, and survives a round trip."""
    line = etude_line(parse_changes("Cm7 F7"), Neck(), EtudeOptions(seed=1)).line
    data = json.loads(json.dumps(line_json(line)))
    assert data["kind"] == "etude line"
    assert [(row["string"], row["fret"], row["midi"]) for row in data["notes"]] == [
        (note.string, note.fret, note.midi) for note in line.notes
    ]
    assert all(row["why"] for row in data["notes"])


@pytest.mark.parametrize(
    ("length", "said"),
    [
        ("1/2", "half a beat"), ("1/3", "a third of a beat"), ("5/6", "five sixths of a beat"), ("1", "one beat"),
        ("3/2", "a beat and a half"), ("4/3", "a beat and a third"), ("2", "two beats"),
        ("11/4", "two beats and three quarters"), ("7", "7 beats"), ("2/7", "0.286 beats"),
    ],
)  # fmt: skip
def test_a_length_is_spoken_as_a_musician_counts_it(length, said):
    """A note struck early before a triplet lasts five sixths of a beat, which nobody counts as 0.833."""
    line = etude_line(parse_changes("| Cm7 | F7 |"), FINDER.neck, EtudeOptions()).line
    first, *rest = line.notes
    lengthened = replace(line, notes=(replace(first, length=Fraction(length)), *rest))
    assert line_speech(lengthened)[2].endswith(f", {said}.")
