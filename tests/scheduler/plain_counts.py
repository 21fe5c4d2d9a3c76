"""Counts from reviews, one plain function for each number: what the one quick reading of a log is held to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from datetime import date, timedelta
from statistics import median

from scheduler.days.practice_day import DAY_STARTS_AT_HOUR, practice_day_number
from scheduler.review import SECONDS_CAP, Review
from scheduler.statistics.counts import Count
from scheduler.statistics.review_counts import Key

__all__ = ["count_by_skill", "covered", "days_played", "first_tries_plainly", "median_seconds", "slips_by"]


def first_tries_plainly(
    reviews: Iterable[Review], day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> list[tuple[Review, int]]:
    """First tries by looking back from each review at all before it, each with the number of its practice day."""
    told = [(review, practice_day_number(review.at, day_starts_at_hour)) for review in reviews]
    found = []
    for place, (review, day) in enumerate(told):
        before = [(one, when) for one, when in told[:place] if one.card == review.card]
        asked = [when for one, when in before if one.attempt == "first"]
        lesson = before[0][1] if before and before[0][0].attempt == "repeat" else None
        if review.attempt == "first" and lesson != day and all(when < day for when in asked):
            found.append((review, day))
    return found


def count_by_skill(reviews: Iterable[Review], day_starts_at_hour: float = DAY_STARTS_AT_HOUR) -> dict[Hashable, Count]:
    """First-try counts by skill: a try counts once for each skill its card needed."""
    counts: dict[Hashable, Count] = defaultdict(Count)
    for review, _ in first_tries_plainly(reviews, day_starts_at_hour):
        for skill in review.skills:
            counts[skill] += Count(int(review.grade.clean), 1)
    return dict(counts)


def covered(
    reviews: Iterable[Review],
    today: date,
    key: Key,
    days: int = 30,
    day_starts_at_hour: float = DAY_STARTS_AT_HOUR,
) -> frozenset[Hashable]:
    """The groups played clean at a first try at all in the last `days` practice days, today included.

    A clean try that a wrong clock put after today counts too.
    """
    since = today.toordinal() - days + 1
    return frozenset(
        group
        for review, day in first_tries_plainly(reviews, day_starts_at_hour)
        if review.grade.clean and day >= since and (group := key(review)) is not None
    )


def days_played(
    reviews: Iterable[Review], today: date, days: int = 14, day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> int:
    """On how many of the last `days` practice days, today included, anything was graded."""
    first, last = (today - timedelta(days=days - 1)).toordinal(), today.toordinal()
    return len(
        {day for review in reviews if first <= (day := practice_day_number(review.at, day_starts_at_hour)) <= last}
    )


def median_seconds(
    reviews: Iterable[Review], key: Key, day_starts_at_hour: float = DAY_STARTS_AT_HOUR
) -> dict[Hashable, float]:
    """Median time from prompt to reveal in seconds by group, clean first tries only, capped at 60 s.

    A group should hold one kind of prompt: times of different kinds do not compare.
    """
    times: dict[Hashable, list[float]] = defaultdict(list)
    for review, _ in first_tries_plainly(reviews, day_starts_at_hour):
        if review.grade.clean and (group := key(review)) is not None:
            times[group].append(min(review.seconds, SECONDS_CAP))
    return {group: median(values) for group, values in times.items()}


def slips_by(reviews: Iterable[Review], key: Key) -> dict[Hashable, dict[str, int]]:
    """How often each slip was named at an ask, by group; only those named."""
    slips: dict[Hashable, dict[str, int]] = {}
    for review in reviews:
        if review.slip and review.attempt == "first" and (group := key(review)) is not None:
            named = slips.setdefault(group, {})
            named[review.slip] = named.get(review.slip, 0) + 1
    return slips
