"""Etude lines as they are written today; ``python -m tests.tunes.etude_captures`` writes them anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from drills.changes.changes_reading import parse_changes
from drills.errors import EtudeError
from drills.lines.etude_line import Etude, change_note, demonstration, etude_line
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import Line
from drills.neck.neck import Neck
from drills.neck.tuning import parse_tuning

__all__ = ["CAPTURED", "captures", "text_of"]

CAPTURED = Path(__file__).with_name("etude_lines.txt")

TURN = "title: Turn\n| Dm7 | G7 | Cmaj7 | Am7 |"
BLUES = "| F7 | Bb7 | F7 | Cm7 F7 | Bb7 |"
MINOR = "| Dm7b5 | G7b9{V of C minor} | Cm6 | N.C. | Cm6 |"
ASKED = {
    "chord tones in eighths": (TURN, EtudeOptions(difficulty=1)),
    "mode in eighths": (TURN, EtudeOptions()),
    "chromatics in eighths": (TURN, EtudeOptions(difficulty=3, seed=2)),
    "chromatics in triplets upward": (TURN, EtudeOptions(difficulty=3, density="triplets", direction="up", seed=1)),
    "mode in quarters downward": (BLUES, EtudeOptions(density="quarters", direction="down", seed=3)),
    "phrases with space": (BLUES, EtudeOptions(difficulty=3, density="space", seed=4)),
    "minor with a bar of no chord": (MINOR, EtudeOptions(difficulty=2, seed=5)),
    "waltz within five frets": ("metre: 3/4\n| Bbmaj7 | Gm7 | Cm7 | F7 |", EtudeOptions(frets=(5, 9), seed=6)),
    "six eighths between two pitches": (
        "metre: 6/8\n| Em7 | A7 | Dmaj7 |", EtudeOptions(difficulty=3, pitches=(50, 67), seed=7),
    ),
    "seven eighths from the nut": (
        "metre: 7/8\n| Am7 | D7 | Gmaj7 |", EtudeOptions(difficulty=2, frets=(0, 4), seed=8),
    ),
    "five quarters, two chords a bar": ("metre: 5/4\n| Fmaj7 Dm7 | Gm7 C7 |", EtudeOptions(difficulty=1, seed=9)),
    "suspended and altered chords": ("| C7sus4 | C7#5 | Fm(maj7) | Bbdim7 |", EtudeOptions(difficulty=2, seed=10)),
    "chord tones in triplets": (TURN, EtudeOptions(difficulty=1, density="triplets", seed=12)),
    "quarters in waves": (BLUES, EtudeOptions(density="quarters", seed=13)),
    "upward within an octave": (BLUES, EtudeOptions(direction="up", pitches=(50, 62), seed=14)),
    "no chord first": ("| N.C. | Cm7 | F7 |", EtudeOptions(difficulty=3, seed=15)),
    "a hand that never moves": (BLUES, EtudeOptions(widest_shift=0, seed=11, density="space")),
}  # fmt: skip
"""What is asked, by name: changes and options, on a guitar played up to fret 15."""


def text_of(line: Line) -> list[str]:
    """A line as text, a row a note with everything that is known of it."""
    return [
        f"{note.bar}:{note.beat} {note.start}+{note.length} {note.place} finger {note.finger} "
        f"{note.role} {note.degree or '-'} | {note.why}"
        for note in line.notes
    ]


def _section(name: str, etude: Etude) -> list[str]:
    return [f"== {name}: {etude.line.title}, draw {etude.draw}", *text_of(etude.line), ""]


def captures(name: str) -> list[str]:
    """What is captured under a name."""
    neck = Neck()
    if name in ASKED:
        changes, options = ASKED[name]
        return _section(name, etude_line(parse_changes(changes), neck, options))
    if name == "a bass":
        bass = replace(neck, tuning=parse_tuning("E1 A1 D2 G2"), scale_mm=864, reach_limit_mm=140)
        return _section(name, etude_line(parse_changes(BLUES), bass, EtudeOptions(density="quarters", seed=1)))
    if name == "two choruses":
        first, second = demonstration(parse_changes("| Gm7 | C7 | Fmaj7 |"), neck, EtudeOptions(seed=3))
        return _section(name, first) + _section(name, second)
    etude = etude_line(parse_changes(TURN), neck, EtudeOptions(difficulty=3, seed=1))
    if name == "one note changed":
        return _section(name, change_note(etude, 5))
    if name == "one note wished, another changed":
        keys = [key for key in range(48, 72) if key != etude.line.notes[9].midi]
        for key in keys:
            try:
                wished = change_note(etude, 9, key)
            except EtudeError:
                continue
            return _section(name, change_note(wished, 3))
    raise KeyError(name)


NAMES = (*ASKED, "a bass", "two choruses", "one note changed", "one note wished, another changed")
"""Every capture, in the order of the file."""


def main() -> None:
    """Writes all captures."""
    CAPTURED.write_text("\n".join(row for name in NAMES for row in captures(name)), encoding="utf-8")


if __name__ == "__main__":
    main()
