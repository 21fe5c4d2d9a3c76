"""What an export of whole events tells of each review besides: its practice day, and whether it was a first try."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_numbering
from scheduler.log.events import Event, as_us, offset_seconds
from scheduler.log.iso import day_text
from scheduler.log.rows import Row
from scheduler.review import Review

__all__ = ["day_fields"]


def day_fields(
    rows: Iterable[Row], day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> Callable[[Event], Mapping[str, Any]]:
    """A function that tells the practice day of a review in effect and whether it was the first ask of its card.

    rows: the reviews in effect, as `ReviewLog.review_rows` gives them, whole and in order. What is no review, and
    what was taken back, is told nothing of.
    """
    told, number = AskOfDay(), practice_day_numbering(day_starts_at_hour)
    found: dict[str, bool] = {}
    for review_id, clock_us, offset_s, card, _, _, _, attempt, *_ in rows:
        found[review_id] = told.of(card, attempt, number(clock_us, offset_s)) is Ask.FIRST_TRY

    def tell(event: Event) -> Mapping[str, Any]:
        if not isinstance(event.body, Review) or (first := found.get(event.id)) is None:
            return {}
        return {
            "first_of_day": first,
            "practice_day": day_text(number(as_us(event.at), offset_seconds(event.at))),
        }

    return tell
