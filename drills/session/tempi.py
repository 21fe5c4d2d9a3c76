"""The tempo written on a card: where its form stands after the passes in the log."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any

from drills.sound import tempo
from drills.sound.tempo import next_tempo
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR
from scheduler.grade import Grade
from scheduler.review import Review

__all__ = ["FormTempi"]


class FormTempi:
    """Beats a minute by form skill, brought forward review by review.

    `scheduler.saved.learned_states` keeps it beside the log.

    A pass is a first attempt graded In time at the form's tempo. The tempo rises only after
    clean passes on three different days, by 4 to 8 (drills/RULES.md, E, common practice), and only
    with a pass: a miss raises nothing. Slower passes, graded Clean, count neither way.
    tempo_bpm: where every form begins. day_of: the practice day of a review.
    """

    def __init__(
        self, tempo_bpm: float, day_of: Callable[[Review], int], day_starts_at_hour: float = DAY_STARTS_AT_HOUR
    ):
        self.tempo_bpm, self.day_of, self.day_starts_at_hour = tempo_bpm, day_of, day_starts_at_hour
        self.risen: dict[str, float] = {}
        self._days: dict[str, list[int]] = {}

    def record(self, review: Review) -> None:
        """Learn from one review."""
        if review.grade is not Grade.IN_TIME or review.attempt != "first" or review.tempo_bpm is None:
            return
        form = next((skill for skill in review.skills if skill.startswith("form:")), None)
        tempo = self.tempo_of(form)
        if form is None or review.tempo_bpm < tempo:
            return
        days, day = self._days.setdefault(form, []), self.day_of(review)
        if day not in days:
            days.append(day)
        risen = next_tempo(tempo, [(day, True) for day in days])
        if risen > tempo:
            self.risen[form] = risen
            del self._days[form]

    def tempo_of(self, form: str | None) -> float:
        """Beats a minute of a form; of None, where every form begins."""
        usual = float(self.tempo_bpm)
        return usual if form is None else self.risen.get(form, usual)

    def rests_on(self) -> list[Any]:
        """What this rests on besides the reviews: the settings, and the rule by which a tempo rises."""
        return [self.tempo_bpm, self.day_starts_at_hour, _rule()]

    def export(self) -> list[Any]:
        """The state, as a JSON value."""
        return [self.risen, self._days]

    def restore(self, state: Any) -> None:
        """Take over what `export` gave."""
        self.risen, self._days = state

    def history_from(self, history: Callable[[], Iterable[Review]]) -> None:
        """Nothing is ever taken back here."""


@cache
def _rule() -> str:
    """A digest that differs for every other version of the two modules that make a tempo rise."""
    texts = (Path(module).read_bytes() for module in (__file__, tempo.__file__))
    return hashlib.blake2b(b"".join(texts), digest_size=16).hexdigest()
