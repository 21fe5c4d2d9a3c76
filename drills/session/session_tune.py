"""The tune a session is about: what is said of it before and after, and its changes to play over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from drills.cards.material import Material
from drills.changes.changes import Changes
from drills.harmony.chord_timeline import bar_starts
from drills.shapes.finder import ShapeFinder
from drills.tunes.ready.readiness import weak_joint
from drills.tunes.ready.readiness_words import weak_line
from scheduler.planning.planner import Planner

if TYPE_CHECKING:
    from drills.sound.score import Score

__all__ = ["Tune"]


@dataclass(frozen=True, slots=True)
class Tune:
    """A page of changes that a session drills.

    forecast: what is said before the first card of the day it is for, or ``""``.
    stages: where its ten stages stand, or ``""`` when none has been begun.
    """

    page: Changes
    forecast: str = ""
    stages: str = ""

    @property
    def title(self) -> str:
        """Of the page, or a word for one without."""
        return self.page.title or "the changes"

    def after(self, material: Material, planner: Planner, now: datetime) -> list[str]:
        """What is said at the end: the weakest joint so far, and the stages."""
        return [line for line in (weak_line(weak_joint(material, planner, now)), self.stages) if line]

    def track(self, finder: ShapeFinder, tempo_bpm: float, seconds: float) -> Score:
        """The changes with count-in, click, bass and grips, whole choruses for about so many seconds."""
        from drills.lines.backing import backing

        chorus_s = float(bar_starts(self.page)[-1]) * 60.0 / tempo_bpm
        rounds = max(1, round(seconds / chorus_s))
        return backing(self.page, finder, tempo_bpm=tempo_bpm, through=(0,) * rounds)
