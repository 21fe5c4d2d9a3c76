"""The first tries that claims are judged by: those of the running period of four weeks and of the one before.

Periods are counted from the first practice day. Counts that grow through a period, and begin anew only with the
next, allow a bound for all the days on which somebody looks; a window that slides along with today would not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain

from scheduler.days.ask_of_day import Ask, AskOfDay
from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number, practice_day_numbering
from scheduler.grade import Grade
from scheduler.log.review_log import ReviewLog
from scheduler.log.rows import skills_from_text
from scheduler.review import Review
from scheduler.statistics.counts import Count

__all__ = ["PERIOD_DAYS", "CardTries", "FirstTry", "RecentTries", "begin_of", "tries_of_log", "tries_of_reviews"]

PERIOD_DAYS = 28
"""Practice days of a period: in fewer, one player rarely tries anything often enough (common practice)."""

_EARLIEST = timedelta(hours=27)
"""So long before its midnight in UTC no review belongs to a day, in whatever time zone it begins."""


@dataclass(frozen=True, slots=True)
class CardTries:
    """The first tries at one card by practice day, and the skills it had when last tried."""

    skills: tuple[str, ...]
    days: dict[int, Count]


@dataclass(frozen=True, slots=True)
class FirstTry:
    """One first try. card: its id. clean: whether it was graded Clean or better. slip: what was named, or None."""

    card: str
    skills: tuple[str, ...]
    clean: bool
    slip: str | None = None


@dataclass(frozen=True, slots=True)
class RecentTries:
    """What claims are judged by on a practice day.

    begins: first practice day of what counts. period: first day of the running period; equal to `begins` in the
    first one. today: the day. All as `date.toordinal` counts. cards: first tries by card id. each: one by one, in the
    log's order.
    """

    begins: int
    period: int
    today: int
    cards: dict[str, CardTries]
    each: tuple[FirstTry, ...] = ()

    @property
    def since(self) -> date:
        """The first practice day that counts."""
        return date.fromordinal(self.begins)


def begin_of(first: int, today: int) -> tuple[int, int]:
    """First day of what counts, and of the running period, given the first practice day ever."""
    period = first + max(0, today - first) // PERIOD_DAYS * PERIOD_DAYS
    return max(first, period - PERIOD_DAYS), period


def tries_of_reviews(dated: Iterable[tuple[Review, int]], today: date) -> RecentTries:
    """From the reviews of a whole log in its order, each with the number of its practice day."""
    return _told(
        ((one.card, day, one.attempt, one.grade.clean, one.slip, one.skills) for one, day in dated),
        today.toordinal(),
    )


def tries_of_log(log: ReviewLog, now: datetime, day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> RecentTries:
    """From a log, without reading what lies before the days that count. Raises LogError when it cannot be read."""
    number = practice_day_numbering(day_starts_at_hour)
    today = practice_day_number(now, day_starts_at_hour)

    def asked(since: datetime | None = None) -> Iterator[_Asked]:
        with closing(log.digest_rows(since, now)) as rows:
            for card, clock_us, offset_s, grade, attempt, _, _, _, slip, skills in rows:
                clean = grade >= Grade.CLEAN
                yield card, number(clock_us, offset_s), attempt, clean, slip, skills_from_text(skills)

    first = next(asked(), None)
    if first is None:
        return RecentTries(today, today, today, {})
    begins, _ = begin_of(first[1], today)
    midnight = datetime.combine(date.fromordinal(begins), time(), UTC)
    return _told(chain([first], asked(midnight - _EARLIEST)), today)


_Asked = tuple[str, int, str, bool, str | None, tuple[str, ...]]
"""Card, practice day, attempt, whether clean, slip, skills."""


def _told(asked: Iterable[_Asked], today: int) -> RecentTries:
    """The first tries among what was asked. The first of all tells when the periods began, though it may lie before."""
    told = AskOfDay()
    begins = period = today
    cards: dict[str, CardTries] = {}
    each: list[FirstTry] = []
    for number, (card, day, attempt, clean, slip, skills) in enumerate(asked):
        if number == 0:
            begins, period = begin_of(day, today)
        if not begins <= day <= today or told.of(card, attempt, day) is not Ask.FIRST_TRY:
            continue
        days = cards[card].days if card in cards else {}
        days[day] = days.get(day, Count()) + Count(int(clean), 1)
        cards[card] = CardTries(skills, days)
        each.append(FirstTry(card, skills, clean, slip))
    return RecentTries(begins, period, today, cards, tuple(each))
