"""The first tries among reviews, each with its practice day; `scheduler.days.ask_of_day` says what a first try is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number
from scheduler.review import Review

__all__ = ["asks", "dated", "first_tries"]


def dated(
    reviews: Iterable[Review], day_starts_at_hour: float = DAY_STARTS_AT_HOUR, days: Mapping[str, int] | None = None
) -> Iterator[tuple[Review, int]]:
    """Each review with the number of its practice day.

    days: the practice days that came with the reviews, by id; they go before what the hour says, since the player's
    own day may begin at another hour than that of whoever counts.
    """
    given = days or {}
    for review in reviews:
        day = given.get(review.id)
        yield review, practice_day_number(review.at, day_starts_at_hour) if day is None else day


def asks(
    reviews: Iterable[Review], day_starts_at_hour: float = DAY_STARTS_AT_HOUR, days: Mapping[str, int] | None = None
) -> Iterator[tuple[Review, int, Ask]]:
    """Each review with the number of its practice day and what it was on it.

    reviews: from the beginning of a log, in its order. days: as for `dated`.
    """
    told = AskOfDay()
    for review, day in dated(reviews, day_starts_at_hour, days):
        yield review, day, told.of(review.card, review.attempt, day)


def first_tries(
    reviews: Iterable[Review], day_starts_at_hour: float = DAY_STARTS_AT_HOUR, days: Mapping[str, int] | None = None
) -> Iterator[tuple[Review, int]]:
    """The reviews that were first tries, each with the number of its practice day."""
    return ((review, day) for review, day, ask in asks(reviews, day_starts_at_hour, days) if ask is Ask.FIRST_TRY)
