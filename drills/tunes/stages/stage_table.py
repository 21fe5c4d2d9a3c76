"""The ten stages by number and those with a name: what to do, and the lines to do it with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from drills.changes.changes import Changes
from drills.errors import EtudeError
from drills.lines.etude_options import EtudeOptions
from drills.lines.line import Line
from drills.tunes.stages.chord_tones import grips, roots, spell_down_and_alternate, spell_up
from drills.tunes.stages.connect import connect, through_guide_tones
from drills.tunes.stages.etude_stages import add_chromatics, add_mode, play, rhythm_and_space
from drills.tunes.stages.key_on_one_set import key_on_one_set, string_set_of
from drills.tunes.stages.stage_material import StageMaterial
from drills.tunes.stages.ticket import ticket_subject
from drills.tunes.stages.two_octaves import two_octaves
from drills.tunes.stages.vocabulary_stages import VOCABULARY_LINES

__all__ = ["NAMED_STAGES", "STAGES", "Stage", "StageLines", "named_subject", "stage_lines"]

LAST = 10


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage: number 1 to 10, name, and what to do in words.

    word: what a stage beside the ten is asked for by; its number is 0.
    """

    number: int
    name: str
    doing: str
    word: str = ""

    @property
    def called(self) -> str:
        """Number or word, as it is asked for."""
        return self.word or str(self.number)


STAGES: tuple[Stage, ...] = (
    Stage(1, "Roots", "Whole notes: play the root and say the chord's name. Then start from another string."),
    Stage(2, "Grips", "Hold the grip over each root and hear the tune."),
    Stage(3, "Spell up", "Root, 3rd, 5th, 7th, a note a beat."),
    Stage(4, "Spell down", "From the 7th down; then one chord up and the next down."),
    Stage(5, "Connect", "At the bar line go to the new chord's nearest tone, but not to the same note."),
    Stage(6, "Guide tones", "Thirds and sevenths only. Sing a line, play it, then the other."),
    Stage(7, "Add the mode", "Eighths: chord tones on the beats, notes of the mode between them."),
    Stage(8, "Add chromatics", "Approach chord tones from a semitone, above and below; keep chord tones on the beats."),
    Stage(9, "Rhythm and space", "Start after the beat, leave rests: two bars ask, two bars answer."),
    Stage(10, "Play", "Nothing is written. Play over the track, record it, listen to it."),
)
"""The ten stages in order (drills/RULES.md, D2)."""

NAMED_STAGES: tuple[Stage, ...] = (
    Stage(0, "Seven arpeggios of the key", "On one string set, up and back in eighths, from the lowest fret up the "
          "neck. The first exercise of all.", "key"),
    Stage(0, "Two octaves", "Each arpeggio from the lowest string to the highest, in eighths; then one up, the next "
          "down.", "octaves"),
    Stage(0, "Enclosures", "A chord tone on each beat, led into from the mode's note above and the semitone below.",
          "enclosures"),
    Stage(0, "Approaches from both sides", "A chord tone on each beat, led into from a semitone below and from the "
          "mode's note above, in turns.", "approaches"),
    Stage(0, "Passing notes", "Up the arpeggio, down from the root with the passing note that keeps chord tones on "
          "the beats.", "passing"),
    Stage(0, "Cells of four notes", "1 2 3 5, then 3 4 5 7, on every chord.", "cells"),
    Stage(0, "Arpeggios from the third to the ninth", "3 5 7 9 and back by the root, on every chord.", "ninths"),
    Stage(0, "Guide tones, each approached", "Thirds and sevenths two beats apart, each led into by one note.",
          "guides"),
)  # fmt: skip
"""Stages beside the ten, always open, each with a ticket of its own (drills/RULES.md, D2)."""


@dataclass(frozen=True, slots=True)
class StageLines:
    """A stage with its lines over given changes; stage 10 has none."""

    stage: Stage
    changes: Changes
    lines: tuple[Line, ...]


_PLAIN: dict[int, Callable[[StageMaterial], tuple[Line, ...]]] = {
    1: roots,
    2: grips,
    3: spell_up,
    4: spell_down_and_alternate,
    5: connect,
    6: through_guide_tones,
}
_NAMED: dict[str, Callable[[StageMaterial], tuple[Line, ...]]] = {
    "key": key_on_one_set,
    "octaves": two_octaves,
    **VOCABULARY_LINES,
}
_SEARCHED: dict[int, Callable[[StageMaterial, EtudeOptions], tuple[Line, ...]]] = {
    7: add_mode,
    8: add_chromatics,
    9: rhythm_and_space,
    10: play,
}


def stage_lines(number: int | str, given: StageMaterial, options: EtudeOptions | None = None) -> StageLines:
    """The lines of a stage, 1 to 10 or the word of a named one, over changes whose path is known.

    options: seed, direction, frets and owned places for the searched lines of stages 7 to 9.
    Raises EtudeError for another number or word, or when no line fits; NotPlayableError where a shape does not.
    """
    if isinstance(number, str):
        found = next((stage for stage in NAMED_STAGES if stage.word == number), None)
        if found is None:
            known = ", ".join(stage.word for stage in NAMED_STAGES)
            raise EtudeError(f"stage {number[:24]!r}: expected 1 to {LAST}, or {known}")
        lines = _NAMED[number](given)
        return StageLines(found, lines[0].changes, lines)
    if not 1 <= number <= LAST:
        raise EtudeError(f"stage {number}: expected 1 to {LAST}")
    stage = STAGES[number - 1]
    if number in _PLAIN:
        return StageLines(stage, given.changes, _PLAIN[number](given))
    options = options or EtudeOptions()
    if given.on is not None:
        options = replace(options, strings=given.on.numbers)
    return StageLines(stage, given.changes, _SEARCHED[number](given, options))


def named_subject(word: str, given: StageMaterial) -> str:
    """What the log files the ticket of a stage beside the ten under: its chords, its word and its string set.

    Raises what `stage_lines` raises.
    """
    page = stage_lines(word, given).changes
    strings = string_set_of(given).id if word == "key" else given.on.id if given.on else "all"
    return f"{ticket_subject(page, given.neck.sounding)}/{word}-{strings}"
