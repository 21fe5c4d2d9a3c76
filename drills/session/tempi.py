"""The tempo written on a card: where its form stands after the passes in the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from drills.sound.tempo import next_tempo
from scheduler.grade import Grade
from scheduler.review import Review

__all__ = ["form_tempi"]


def form_tempi(reviews: Iterable[Review], tempo_bpm: float, day_of: Callable[[Review], int]) -> dict[str, float]:
    """Beats a minute by form skill, for forms that have risen above `tempo_bpm`, where every form begins.

    A pass is a first attempt graded In time at the form's tempo; a miss stands between passes.
    The tempo rises only after three clean passes on different days, by 4 to 8 (handbook E,
    common practice). Slower passes, graded Clean, count neither way.
    reviews: oldest first. day_of: the practice day of a review.
    """
    tempi: dict[str, float] = {}
    passes: dict[str, list[tuple[int, bool]]] = {}
    for review in reviews:
        if review.attempt != "first" or review.grade is Grade.CLEAN:
            continue
        form = next((skill for skill in review.skills if skill.startswith("form:")), None)
        if form is None:
            continue
        tempo = tempi.get(form, tempo_bpm)
        in_time = review.grade is Grade.IN_TIME
        if in_time and (review.tempo_bpm is None or review.tempo_bpm < tempo):
            continue
        if not in_time and form not in passes:
            continue
        played = passes.setdefault(form, [])
        played.append((day_of(review), in_time))
        risen = next_tempo(tempo, played)
        if risen > tempo:
            tempi[form] = risen
            passes[form] = []
    return tempi
