"""Stages 7 to 10: the mode, chromatic approaches, rhythm and space, and playing."""

from __future__ import annotations

from dataclasses import replace

from drills.lines.etude_line import etude_line
from drills.lines.etude_options import WITH_CHROMATICS, WITH_MODE, EtudeOptions
from drills.lines.line import Line
from drills.tunes.stages.nearby import near_the_path
from drills.tunes.stages.stage_ground import StageGround

__all__ = ["add_chromatics", "add_mode", "play", "rhythm_and_space"]


def _etude(given: StageGround, options: EtudeOptions, title: str, **changed) -> tuple[Line, ...]:
    etude = near_the_path(lambda near: etude_line(given.changes, given.neck, near), given, replace(options, **changed))
    line = etude.line
    return (replace(line, title=title, remarks=given.remarks),)


def add_mode(given: StageGround, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 7: eighths, chord tones on the beats, notes of the chord's mode between them."""
    return _etude(given, options, "With the mode", difficulty=WITH_MODE, density="eighths")


def add_chromatics(given: StageGround, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 8: approaches from a semitone below, enclosures, and the passing tone."""
    return _etude(given, options, "With chromatics", difficulty=WITH_CHROMATICS, density="eighths")


def rhythm_and_space(given: StageGround, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 9: phrases that start off the beat and leave rests; two bars ask, two bars answer."""
    return _etude(given, options, "Rhythm and space", difficulty=WITH_MODE, density="space")


def play(given: StageGround, options: EtudeOptions) -> tuple[Line, ...]:
    """Stage 10: nothing written; play over the track, record it, listen."""
    return ()
