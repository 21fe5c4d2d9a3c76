"""Two demonstration choruses over the same changes: chord tones only, and then with the notes of the mode."""

from __future__ import annotations

from dataclasses import replace

from drills.changes.changes import Changes
from drills.lines.etude_line import Etude, etude_line
from drills.lines.etude_options import CHORD_TONES, WITH_MODE, EtudeOptions
from drills.neck.neck import Neck

__all__ = ["demonstration"]

_CHORUSES = ((CHORD_TONES, "First chorus: chord tones only"), (WITH_MODE, "Second chorus: the mode too"))


def demonstration(changes: Changes, neck: Neck, options: EtudeOptions | None = None) -> tuple[Etude, Etude]:
    """The two choruses (handbook G32): the first of chord tones, note for note; the second of mode notes
    with chord tones on the beats.

    options: density, direction, frets and seed for both; the difficulty is set here.
    Raises EtudeError when a chorus cannot be made within them.
    """
    options = options or EtudeOptions()
    made = []
    for difficulty, title in _CHORUSES:
        etude = etude_line(changes, neck, replace(options, difficulty=difficulty))
        made.append(replace(etude, line=replace(etude.line, title=title)))
    return made[0], made[1]
