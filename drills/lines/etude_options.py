"""What the player may ask of an etude line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from drills.errors import EtudeError
from drills.lines.rhythm import DENSITIES
from drills.neck.neck import Neck

__all__ = ["CHORD_TONES", "DIRECTIONS", "WITH_CHROMATICS", "WITH_MODE", "EtudeOptions"]

CHORD_TONES, WITH_MODE, WITH_CHROMATICS = 1, 2, 3
"""Difficulties: chord tones only; notes of the mode between them; approaches from a semitone too."""

DIRECTIONS = ("waves", "up", "down")
"""The shape the line leans towards: up and down in turns, or rising or falling every two bars."""


@dataclass(frozen=True, slots=True)
class EtudeOptions:
    """Options of an etude line.

    difficulty: 1 to 3, see CHORD_TONES, WITH_MODE and WITH_CHROMATICS.
    density: one of ``quarters``, ``eighths``, ``triplets``, ``space``.
    direction: one of DIRECTIONS. seed: other seeds, other lines; the same seed, the same line.
    frets: lowest and highest fret to use, both included; None for fret 1 to the top of the neck.
    pitches: lowest and highest MIDI key, or None for what the frets hold.
    widest_shift: most frets the hand moves at once, 0 to 12.
    strings: those that may be played, lowest-sounding first; None for all.
    figures: kinds of figure the line takes in where they fit, the words of `drills.lines.vocabulary.UNITS`.
    places: for each chord, counted over the changes' slots in playing order, the (string, fret)
        places allowed; None for all. See `drills.lines.owned_forms`.
    """

    difficulty: int = WITH_MODE
    density: str = "eighths"
    direction: str = "waves"
    seed: int = 0
    frets: tuple[int, int] | None = None
    pitches: tuple[int, int] | None = None
    widest_shift: int = 3
    strings: tuple[int, ...] | None = None
    figures: tuple[str, ...] = ()
    places: Mapping[int, frozenset[tuple[int, int]]] | None = field(default=None, hash=False)

    def __post_init__(self) -> None:
        checks = (
            ("difficulty", self.difficulty in (1, 2, 3), "1, 2 or 3", self.difficulty),
            ("density", self.density in DENSITIES, f"one of {', '.join(DENSITIES)}", self.density),
            ("direction", self.direction in DIRECTIONS, f"one of {', '.join(DIRECTIONS)}", self.direction),
            ("range", not self.pitches or self.pitches[0] <= self.pitches[1], "lowest and highest pitch", self.pitches),
            ("widest_shift", 0 <= self.widest_shift <= 12, "0 to 12 frets", self.widest_shift),
        )
        for name, fine, expected, came in checks:
            if not fine:
                raise EtudeError(f"etude line, {name}: expected {expected}, got {came!r}")

    def window(self, neck: Neck) -> tuple[int, int]:
        """Lowest and highest fret on that neck; raises EtudeError unless they span four frets or more."""
        low, high = self.frets or (1, neck.highest)
        if not 0 <= low < low + 3 <= high <= neck.highest:
            raise EtudeError(
                f"etude line, frets: expected four frets or more within 0 to {neck.highest}, got {low} to {high}"
            )
        return low, high
